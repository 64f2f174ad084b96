#include "widgets/heat_row.h"

#include "models/sheet_model.h"
#include "models/wording.h"
#include "rules/wording.h"
#include "widgets/look.h"

#include <QHBoxLayout>
#include <QLabel>
#include <QPushButton>
#include <QScrollArea>
#include <QStyle>

#include <algorithm>

namespace stripwright {

HeatRow::HeatRow(Head head, QWidget* parent) : QWidget(parent)
{
    setObjectName("heats");
    shown_ = words({});
    shown_->setObjectName("heatShown");
    // Many heats scroll in their row: they must not widen the window beyond the screen.
    auto* buttons = new QScrollArea;
    buttons->setFrameShape(QFrame::NoFrame);
    buttons->setWidgetResizable(true);
    buttons->setVerticalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
    buttons->setMinimumWidth(0);
    buttons->setSizePolicy(QSizePolicy::Ignored, QSizePolicy::Fixed);
    auto* inside = new QWidget;
    buttons->setWidget(inside);
    row_ = new QHBoxLayout(inside);
    row_->setContentsMargins(0, 0, 0, 0);
    row_->setSpacing(space::s);
    auto* whole = new QHBoxLayout(this);
    whole->setContentsMargins(0, 0, 0, 0);
    whole->setSpacing(space::m);
    whole->addWidget(shown_);
    shown_->setHidden(head == Head::None);
    whole->addWidget(buttons, 1);
    hide();
}

void HeatRow::showHeats(const std::shared_ptr<const JobPlan>& job, size_t chosen, const HeatsDone& done)
{
    const size_t count = job && job->heats.size() > 1 ? job->heats.size() : 0;
    setVisible(count > 0);
    if (job != job_) {
        job_ = job;
        while (QLayoutItem* item = row_->takeAt(0)) {
            delete item->widget();
            delete item;
        }
        for (size_t i = 0; i < count; ++i) {
            auto* button = new QPushButton;
            button->setObjectName(QStringLiteral("heat%1").arg(i + 1));
            button->setCheckable(true);
            connect(button, &QPushButton::clicked, this, [this, i] { emit heatChosen(i); });
            row_->addWidget(button);
        }
        if (count > 0) {
            row_->addStretch();
            const int height = row_->itemAt(0)->widget()->sizeHint().height();
            findChild<QScrollArea*>()->setFixedHeight(height +
                                                      style()->pixelMetric(QStyle::PM_ScrollBarExtent));
        }
    }
    if (count > 0)
        shown_->setText(tr("Shown: heat %1 of %2").arg(std::min(chosen, count - 1) + 1).arg(count));
    for (size_t i = 0; i < count; ++i) {
        const HeatPlan& plan = job->heats[i];
        const bool isDone = i < done.size() && !done[i].empty();
        const QString mark = isDone ? QStringLiteral("✓ ") : plan.runnable ? QString() : QStringLiteral("▲ ");
        auto* button = static_cast<QPushButton*>(row_->itemAt(int(i))->widget());
        button->setText(
            tr("%1%2  %3 %4")
                .arg(mark)
                .arg(plan.heat)
                .arg(QString::fromStdString(inWords(plan.sheet.heat)), sitesText(plan.sheet.targets())));
        button->setToolTip(tr("%1, plate from %2. Each is started by itself.")
                               .arg(heatText(plan), placeText(plan.sheet.plateStartMm)) +
                           (isDone ? '\n' + tr("Run to its end.") : QString()) +
                           (plan.runnable ? QString() : '\n' + tr("Not runnable.")));
        button->setChecked(i == chosen);
    }
    if (count > 0)
        findChild<QScrollArea*>()->ensureWidgetVisible(
            row_->itemAt(int(std::min(chosen, count - 1)))->widget());
}

} // namespace stripwright
