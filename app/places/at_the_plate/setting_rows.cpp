#include "at_the_plate/setting_rows.h"

#include "at_the_plate/register_row.h"
#include "widgets/figure_field.h"
#include "widgets/look.h"

#include <QHBoxLayout>
#include <QLabel>
#include <QLineEdit>
#include <QPushButton>

#include <algorithm>

namespace stripwright {

static constexpr size_t mostSettings = 16; // of a plate link

SettingRows::SettingRows(QWidget* parent) : QWidget(parent)
{
    column_ = new QVBoxLayout(this);
    column_->setContentsMargins(0, 0, 0, 0);
    column_->setSpacing(space::s);
    more_ = new QPushButton(tr("Add a setting"));
    more_->setObjectName("addSetting");
    more_->setAutoDefault(false);
    column_->addWidget(more_, 0, Qt::AlignLeft);
    connect(more_, &QPushButton::clicked, this, [this] {
        add({.at = {.address = 0, .coding = "uint16"}});
        rows_.back().name->setFocus();
        decide();
        emit changed();
    });
}

void SettingRows::add(const SettingDraft& setting)
{
    Row row;
    row.kept = setting.kept;
    row.whole = new QWidget;
    auto* lines = new QVBoxLayout(row.whole);
    lines->setContentsMargins(0, 0, 0, 0);
    lines->setSpacing(space::xs);
    auto* first = new QHBoxLayout;
    first->setSpacing(space::xs);
    row.name = new QLineEdit(setting.name);
    row.name->setPlaceholderText(tr("name, such as own ramp off"));
    row.name->setAccessibleName(tr("Setting, name"));
    row.value = new FigureField({tr("Setting, value"), {}, -1e9, 1e9});
    row.value->setMaximumWidth(12 * fontMetrics().averageCharWidth());
    row.value->show(setting.value);
    auto* away = new QPushButton(tr("Take out"));
    away->setAutoDefault(false);
    away->setAccessibleName(tr("Take this setting out"));
    first->addWidget(row.name, 1);
    first->addWidget(words(tr("stands at"), Type::Secondary, true));
    first->addWidget(row.value);
    first->addWidget(away);
    lines->addLayout(first);
    row.at = new RegisterRow({.name = tr("Setting"),
                              .start = setting.at,
                              .tables = {"holding", "coil"},
                              .asks = RegisterRow::Asks::CodingAndScale,
                              .scaleUnit = {},
                              .optional = false});
    lines->addWidget(row.at);
    column_->insertWidget(static_cast<int>(rows_.size()), row.whole);
    connect(row.name, &QLineEdit::textChanged, this, &SettingRows::changed);
    connect(row.value, &FigureField::changed, this, &SettingRows::changed);
    connect(row.at, &RegisterRow::changed, this, &SettingRows::changed);
    connect(away, &QPushButton::clicked, this, [this, whole = row.whole] {
        remove(whole);
        emit changed();
    });
    rows_.push_back(row);
}

void SettingRows::remove(const QWidget* whole)
{
    const auto found = std::ranges::find(rows_, whole, &Row::whole);
    found->whole->hide();
    found->whole->deleteLater();
    rows_.erase(found);
    decide();
}

void SettingRows::decide()
{
    more_->setEnabled(rows_.size() < mostSettings);
}

void SettingRows::show(const std::vector<SettingDraft>& settings)
{
    while (!rows_.empty())
        remove(rows_.back().whole);
    for (const SettingDraft& setting : settings)
        add(setting);
    decide();
}

std::vector<SettingDraft> SettingRows::value() const
{
    std::vector<SettingDraft> settings;
    for (const Row& row : rows_)
        settings.push_back({row.name->text(), row.at->value(), row.value->value().value_or(0), row.kept});
    return settings;
}

QStringList SettingRows::problems() const
{
    QStringList problems;
    for (const Row& row : rows_) {
        if (row.name->text().trimmed().isEmpty())
            problems += tr("A setting has no name.");
        for (const QString& one : {row.value->problem(), row.at->problem()})
            if (!one.isEmpty())
                problems += one;
    }
    return problems;
}

} // namespace stripwright
