#include "heat_path/heat_path_place.h"

#include "models/margin_table.h"
#include "models/plan_verdict.h"
#include "models/wording.h"
#include "widgets/curve_view.h"
#include "widgets/heat_row.h"
#include "widgets/look.h"
#include "widgets/margin_ladder.h"
#include "widgets/message_line.h"
#include "widgets/plan_plot.h"

#include <QHBoxLayout>
#include <QLabel>
#include <QPushButton>
#include <QScrollArea>
#include <QSplitter>

namespace stripwright {

HeatPathPlace::HeatPathPlace(QWidget* parent) : QWidget(parent)
{
    title_ = words({}, Type::Title);
    state_ = words({}, Type::Secondary, true);
    verdict_ = new MessageLine;
    verdict_->setObjectName("verdict");
    span_ = new QPushButton(tr("Show cool-down"));
    span_->setCheckable(true);
    curves_ = new CurveView;
    curves_->setObjectName("planCurves");
    curves_->setEmptyText(tr("The predicted curves stand here as soon as the sheet has a plan."));
    margins_ = new MarginTable(this);
    auto* ladder = new MarginLadder(margins_);

    heats_ = new HeatRow;

    auto* helpPage = new QWidget;
    helpPage->setObjectName("helpPage");
    help_ = new QVBoxLayout(helpPage);
    help_->setContentsMargins(0, 0, space::s, 0);
    help_->setSpacing(space::s);
    auto* helpScroll = new QScrollArea;
    helpScroll->setFrameShape(QFrame::NoFrame);
    helpScroll->setWidgetResizable(true);
    helpScroll->setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
    helpScroll->setWidget(helpPage);
    auto* help = new QWidget;
    auto* helpColumn = new QVBoxLayout(help);
    helpColumn->setContentsMargins(space::m, 0, 0, 0);
    helpColumn->setSpacing(space::s);
    try_ = new QPushButton(tr("Try changes"));
    try_->setObjectName("tryChanges");
    try_->setToolTip(
        tr("Plans again with each thing the hands could change: lenses, blocks, fan, paste, plate."));
    helpColumn->addWidget(words(tr("What would help")));
    helpColumn->addWidget(helpScroll, 1);
    helpColumn->addWidget(try_);

    auto* head = new QHBoxLayout;
    head->addWidget(title_);
    head->addSpacing(space::m);
    head->addWidget(state_, 1);
    head->addWidget(span_);
    auto* lower = new QSplitter(Qt::Horizontal);
    lower->setChildrenCollapsible(false);
    lower->addWidget(ladder);
    lower->addWidget(help);
    lower->setStretchFactor(0, 4);
    lower->setStretchFactor(1, 1);
    help->setMinimumWidth(220);
    auto* halves = new QSplitter(Qt::Vertical);
    halves->setChildrenCollapsible(false);
    halves->addWidget(curves_);
    halves->addWidget(lower);
    halves->setStretchFactor(0, 3);
    halves->setStretchFactor(1, 2);
    halves->setSizes({430, 300});
    auto* page = new QVBoxLayout(this);
    page->setContentsMargins(space::l, space::l, space::l, space::m);
    page->setSpacing(space::s);
    page->addLayout(head);
    page->addWidget(heats_);
    page->addWidget(verdict_);
    page->addWidget(halves, 1);

    connect(heats_, &HeatRow::heatChosen, this, &HeatPathPlace::heatChosen);
    connect(try_, &QPushButton::clicked, this, &HeatPathPlace::adviceWanted);
    connect(span_, &QPushButton::toggled, this, [this](bool on) {
        withCoolDown_ = on;
        curves_->showWhole();
        refresh();
    });
}

void HeatPathPlace::setPlan(std::shared_ptr<const HeatPlan> plan, bool planning, const QString& failure,
                            bool advising)
{
    const bool fresh = plan != plan_ || advising != advising_;
    plan_ = std::move(plan);
    advising_ = advising;
    showVerdict(planning, failure);
    if (fresh)
        refresh();
}

void HeatPathPlace::setHeats(const std::shared_ptr<const JobPlan>& job, size_t chosen, const HeatsDone& done)
{
    heats_->showHeats(job, chosen, done);
}

void HeatPathPlace::showVerdict(bool planning, const QString& failure)
{
    title_->setText(plan_ ? QString::fromStdString(plan_->sheet.title) : tr("Heat path"));
    state_->setText(planning ? tr("planning…")
                    : plan_  ? tr("predicted (est.), dashed; band: coldest to hottest case")
                             : "");
    if (!failure.isEmpty())
        verdict_->say(tr("No plan could be made: %1").arg(failure));
    else if (plan_)
        verdict_->say(verdictOf(*plan_), plan_->runnable || plan_->sheet.targets().empty()
                                             ? MessageLine::Tone::Plain
                                             : MessageLine::Tone::Abnormal);
}

void HeatPathPlace::refresh()
{
    if (!plan_)
        return;
    PlanPlot plot = plotOf(*plan_);
    curves_->setSpan(0, withCoolDown_ ? plot.endS : plot.workEndS);
    curves_->setMarks(std::move(plot.limits), std::move(plot.fields), std::move(plot.stages));
    curves_->setCurves(std::move(plot.curves));
    span_->setVisible(plot.endS > plot.workEndS + 1);
    margins_->setRows(plan_->margins);
    showHelp();
}

void HeatPathPlace::showHelp()
{
    while (QLayoutItem* item = help_->takeAt(0)) {
        delete item->widget();
        delete item;
    }
    for (const Suggestion& suggestion : plan_->suggestions) {
        auto* label = words(QString::fromStdString(suggestion.what));
        label->setWordWrap(true);
        auto* row = new QWidget;
        auto* line = new QHBoxLayout(row);
        line->setContentsMargins(0, 0, 0, 0);
        line->setSpacing(space::s);
        line->addWidget(label, 1);
        if (suggestion.sheet) {
            auto* take = new QPushButton(tr("Take"));
            take->setToolTip(tr("Changes the sheet; can be undone there."));
            take->setAccessibleName(tr("Take: %1").arg(label->text()));
            connect(take, &QPushButton::clicked, this,
                    [this, sheet = *suggestion.sheet] { emit sheetWanted(sheet, tr("take a change")); });
            line->addWidget(take, 0, Qt::AlignTop);
        }
        help_->addWidget(row);
    }
    try_->setEnabled(!advising_ && !plan_->sheet.targets().empty());
    if (plan_->suggestions.empty()) {
        auto* nothing = words(advising_         ? tr("Trying out what would help…")
                              : plan_->runnable ? tr("Every limit is kept. Changes that keep more lenses or "
                                                     "leave more room can be tried.")
                                                : tr("Nothing is known that would mend what is broken."),
                              Type::Base, true);
        nothing->setWordWrap(true);
        help_->addWidget(nothing);
    }
    for (const std::string& warning : plan_->warnings) {
        auto* label = new MessageLine;
        help_->addWidget(label);
        label->say(QString::fromStdString(warning), MessageLine::Tone::Plain);
    }
    help_->addStretch();
}

} // namespace stripwright
