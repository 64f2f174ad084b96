#include "sheet/sheet_form.h"

#include "models/quantity.h"
#include "models/sheet_model.h"
#include "models/wording.h"
#include "widgets/choice_field.h"
#include "widgets/look.h"
#include "widgets/message_line.h"

#include <QGridLayout>
#include <QLabel>
#include <QLineEdit>
#include <QPushButton>

namespace stripwright {

namespace {

constexpr const char* unknownAlloy = "?";

struct HeatChoice {
    HeatKind heat;
    const char *id, *text;
};
struct WayChoice {
    SwapWay way;
    const char *id, *text;
};
constexpr WayChoice wayChoices[] = {
    {SwapWay::SolderLeft, "solder-left",
     QT_TRANSLATE_NOOP("stripwright::SheetForm", "on the solder left, with flux")},
    {SwapWay::TinnedLed, "tinned-led", QT_TRANSLATE_NOOP("stripwright::SheetForm", "with a tinned LED")},
    {SwapWay::WarmedLed, "warmed-led",
     QT_TRANSLATE_NOOP("stripwright::SheetForm", "with an LED warmed on the strip")},
    {SwapWay::ChargeLaidCold, "charge-laid-cold",
     QT_TRANSLATE_NOOP("stripwright::SheetForm", "with a charge of solder laid cold")},
    {SwapWay::TwoHeats, "two-heats",
     QT_TRANSLATE_NOOP("stripwright::SheetForm", "two heats: remove, then fit with paste")},
};

struct PaceChoice {
    Hands::Pace pace;
    const char *id, *text;
};
constexpr PaceChoice paceChoices[] = {
    {Hands::Pace::Usual, "usual", QT_TRANSLATE_NOOP("stripwright::SheetForm", "usual: 15 s a site")},
    {Hands::Pace::Quick, "quick", QT_TRANSLATE_NOOP("stripwright::SheetForm", "quick: 8 s a site")},
    {Hands::Pace::Careful, "careful", QT_TRANSLATE_NOOP("stripwright::SheetForm", "careful: 25 s a site")},
};
constexpr const char *ownMeasuredPace = "measured", *offeredPace = "measured-in-runs";

constexpr HeatChoice heatChoices[] = {
    {HeatKind::Swap, "swap", QT_TRANSLATE_NOOP("stripwright::SheetForm", "swap: old off, new on")},
    {HeatKind::Fit, "fit", QT_TRANSLATE_NOOP("stripwright::SheetForm", "fit: onto bare pads")},
    {HeatKind::Remove, "remove", QT_TRANSLATE_NOOP("stripwright::SheetForm", "remove only")},
    {HeatKind::Release, "release",
     QT_TRANSLATE_NOOP("stripwright::SheetForm", "release lenses: soften glue")},
    {HeatKind::Bake, "bake", QT_TRANSLATE_NOOP("stripwright::SheetForm", "bake: dry the LEDs")},
};

QString paceText(const Hands& hands)
{
    return SheetForm::tr("%1 s a site").arg(figure(hands.siteS, 0));
}

template <class Entry> void fill(ChoiceField* field, const std::vector<Entry>& entries)
{
    for (const Entry& entry : entries)
        field->addChoice(QString::fromStdString(entry.name), QString::fromStdString(entry.id),
                         entry.habit.whole);
}

template <class Entry> const Entry* entryOf(const std::vector<Entry>& entries, const QString& id)
{
    return findById(entries, id.toStdString());
}

} // namespace

SheetForm::SheetForm(const Shelf& shelf, QWidget* parent) : QWidget(parent), shelf_(&shelf)
{
    grid_ = new QGridLayout(this);
    grid_->setContentsMargins(0, 0, 0, 0);
    grid_->setHorizontalSpacing(space::s);
    grid_->setVerticalSpacing(space::xs); // the sites below need the height
    grid_->setColumnStretch(1, 4);
    grid_->setColumnStretch(4, 3);
    grid_->setColumnMinimumWidth(2, space::l);

    paste_ = addChoice(0, 0, tr("&Paste"), tr("choose paste"), [this](BenchSheet sheet, const QString& id) {
        if (const Paste* paste = entryOf(shelf_->pastes, id))
            sheet.paste = *paste;
        return sheet;
    });
    oldAlloy_ = addChoice(2, 0, tr("&Old solder"), tr("choose old solder"),
                          [this](BenchSheet sheet, const QString& id) {
                              const Alloy* alloy = entryOf(shelf_->alloys, id);
                              sheet.oldAlloy = alloy                ? std::optional(*alloy)
                                               : id == unknownAlloy ? std::nullopt
                                                                    : sheet.oldAlloy;
                              return sheet;
                          });
    strip_ = addChoice(4, 0, tr("Strip &type"), tr("choose strip type"),
                       [this](BenchSheet sheet, const QString& id) {
                           const StripType* strip = entryOf(shelf_->strips, id);
                           return strip ? onStrip(std::move(sheet), *strip) : sheet;
                       });
    plate_ = addChoice(6, 0, tr("P&late"), tr("choose plate"), [this](BenchSheet sheet, const QString& id) {
        const PlateType* plate = entryOf(shelf_->plates, id);
        return plate ? onPlate(std::move(sheet), *plate) : sheet;
    });
    plate_->setObjectName("plateChoice");
    contact_ =
        addChoice(8, 0, tr("&Contact"), tr("choose contact"), [this](BenchSheet sheet, const QString& id) {
            if (const ContactCondition* contact = entryOf(shelf_->contacts, id))
                sheet.contact = *contact;
            return sheet;
        });
    heat_ = addChoice(0, 3, tr("&Heat"), tr("choose kind of heat"), [](BenchSheet sheet, const QString& id) {
        for (const HeatChoice& choice : heatChoices)
            if (id == choice.id)
                sheet.heat = choice.heat;
        return sheet;
    });
    cooling_ = addChoice(2, 3, tr("Coolin&g"), tr("choose cooling"), [](BenchSheet sheet, const QString& id) {
        sheet.cooling.fan = id == "fan";
        return sheet;
    });
    lift_ = addNumber(
        4, 3, tr("L&ift strip below"), tr("°C; empty: stays"), 30, 300, tr("set lifting"),
        [](BenchSheet sheet, double value) {
            sheet.cooling.liftBelowC = value;
            return sheet;
        },
        [](BenchSheet sheet) {
            sheet.cooling.liftBelowC.reset();
            return sheet;
        });
    plateStart_ =
        addNumber(6, 3, tr("Plate &from"), tr("mm"), -300, 1500, tr("move plate"),
                  [](BenchSheet sheet, double value) { return withPlateAt(std::move(sheet), value); });
    ambient_ = addNumber(8, 3, tr("&Ambient"), tr("°C"), 0, 45, tr("set ambient"),
                         [](BenchSheet sheet, double value) {
                             sheet.air = stillAir(sheet.strip.widthMm, value);
                             return sheet;
                         });
    way_ =
        addChoice(10, 0, tr("S&wap by"), tr("choose way to swap"), [](BenchSheet sheet, const QString& id) {
            for (const WayChoice& choice : wayChoices)
                if (id == choice.id)
                    sheet.way = choice.way;
            return sheet;
        });
    hands_ = addChoice(10, 3, tr("Ha&nds"), tr("choose pace of the hands"),
                       [this](BenchSheet sheet, const QString& id) {
                           for (const PaceChoice& choice : paceChoices)
                               if (id == choice.id)
                                   sheet.hands = handsOf(choice.pace);
                           if (id == offeredPace && offered_)
                               sheet.hands = *offered_;
                           return sheet;
                       });
    for (const WayChoice& choice : wayChoices)
        way_->addChoice(tr(choice.text), choice.id);
    way_->addRefused(
        tr("paste onto the hot pad"),
        tr("Not a way: on a hot pad the solvents of paste boil at once, spatter and lift the LED."));
    for (const PaceChoice& choice : paceChoices)
        hands_->addChoice(tr(choice.text), choice.id);
    fill(paste_, shelf.pastes);
    oldAlloy_->addChoice(tr("unknown: plan for the worst"), unknownAlloy);
    fill(oldAlloy_, shelf.alloys);
    fill(strip_, shelf.strips);
    fill(plate_, shelf.plates);
    fill(contact_, shelf.contacts);
    for (const HeatChoice& choice : heatChoices)
        heat_->addChoice(tr(choice.text), choice.id);
    cooling_->addChoice(tr("plate cools by itself"), "still");
    cooling_->addChoice(tr("fan after heater off"), "fan");
    addSites(12);
}

void SheetForm::setShelf(const Shelf& shelf)
{
    shelf_ = &shelf;
    const QSignalBlocker quiet(plate_);
    plate_->clear();
    fill(plate_, shelf.plates);
    plate_->setChoice(QString::fromStdString(sheet_.plate.id));
}

ChoiceField* SheetForm::addChoice(int row, int column, const QString& text, const QString& editName,
                                  const Change& change)
{
    auto* field = new ChoiceField(QString(text).remove('&'));
    auto* label = words(text);
    label->setBuddy(field);
    grid_->addWidget(label, row, column);
    grid_->addWidget(field, row, column + 1);
    connect(field, &ChoiceField::chosen, this,
            [this, editName, change](const QString& id) { emit wanted(change(sheet_, id), editName); });
    return field;
}

void SheetForm::offerMeasuredHands(const MeasuredHands& measured)
{
    offered_ = paceOf(measured);
    const int at = hands_->findData(offeredPace);
    if (!offered_ && at >= 0)
        hands_->removeItem(at);
    if (offered_) {
        const QString runs = measured.runs == 1 ? tr("1 run") : tr("%1 runs").arg(measured.runs);
        const QString name = tr("as measured in %1: %2").arg(runs, paceText(*offered_));
        if (at < 0)
            hands_->addChoice(name, offeredPace);
        hands_->setItemText(hands_->findData(offeredPace), name);
    }
    showHands();
}

// A pace measured earlier stands in the sheet, beside the one that runs tell now.
void SheetForm::showHands()
{
    const Hands& hands = sheet_.hands;
    const bool asOffered = offered_ && hands == *offered_;
    const bool own = hands.pace == Hands::Pace::Measured && !asOffered;
    const int at = hands_->findData(ownMeasuredPace);
    if (!own && at >= 0)
        hands_->removeItem(at);
    if (own) {
        if (at < 0)
            hands_->addChoice({}, ownMeasuredPace);
        hands_->setItemText(hands_->findData(ownMeasuredPace), tr("measured: %1").arg(paceText(hands)));
        hands_->setChoice(ownMeasuredPace);
    } else if (asOffered) {
        hands_->setChoice(offeredPace);
    }
    for (const PaceChoice& choice : paceChoices)
        if (choice.pace == hands.pace)
            hands_->setChoice(choice.id);
}

QLineEdit* SheetForm::addNumber(int row, int column, const QString& text, const QString& unit, double min,
                                double max, const QString& editName,
                                const std::function<BenchSheet(BenchSheet, double)>& change,
                                const std::function<BenchSheet(BenchSheet)>& empty)
{
    auto* field = new QLineEdit;
    field->setAccessibleName(QString(text).remove('&'));
    field->setPlaceholderText(unit);
    auto* label = words(text);
    label->setBuddy(field);
    auto* message = new MessageLine;
    grid_->addWidget(label, row, column);
    grid_->addWidget(field, row, column + 1);
    grid_->addWidget(message, row + 1, column, 1, 2);
    connect(field, &QLineEdit::editingFinished, this, [=, this] {
        if (!field->isModified())
            return;
        if (field->text().trimmed().isEmpty() && empty) {
            message->say({});
            emit wanted(empty(sheet_), editName);
            return;
        }
        QString why;
        const auto value = readQuantity(field->text(), unit.section(';', 0, 0), min, max, why);
        message->say(value ? QString() : tr("%1 The last value stays.").arg(why));
        if (value)
            emit wanted(change(sheet_, *value), editName);
    });
    return field;
}

void SheetForm::addSites(int row)
{
    sites_ = new QLineEdit;
    sites_->setObjectName("sitesField");
    sites_->setAccessibleName(tr("Sites"));
    sites_->setPlaceholderText(tr("such as 6, 8-9"));
    auto* label = words(tr("&Sites"));
    label->setBuddy(sites_);
    auto* buttons = new QHBoxLayout;
    buttons->setSpacing(space::s);
    const auto addButton = [&](const QString& text, const char* name, std::function<void()> act) {
        auto* button = new QPushButton(text);
        button->setObjectName(name);
        connect(button, &QPushButton::clicked, this, std::move(act));
        buttons->addWidget(button);
        return button;
    };
    addButton(tr("Replace"), "markReplace", [this] { markSites(SiteState::Replace); });
    addButton(tr("Keep"), "markKeep", [this] { markSites(SiteState::Good); });
    addButton(tr("Lens off"), "markLensOff", [this] { markLenses(LensState::Off); });
    addButton(tr("Lens on"), "markLensOn", [this] { markLenses(LensState::On); });
    releaseLens_ = addButton(tr("Release"), "markLensRelease", [this] { markLenses(LensState::Release); });
    releaseLens_->setToolTip(tr("In a heat that releases lenses: this lens comes off in it."));
    sitesMessage_ = new MessageLine;
    sitesMessage_->setObjectName("sitesMessage");
    connect(sites_, &QLineEdit::returnPressed, this, [this] { markSites(SiteState::Replace); });
    grid_->addWidget(label, row, 0);
    buttons->insertWidget(0, sites_, 1);
    grid_->addLayout(buttons, row, 1, 1, 4);
    grid_->addWidget(sitesMessage_, row + 1, 0, 1, 5);
}

std::vector<int> SheetForm::sitesWritten()
{
    QString why;
    const auto sites = readSites(sites_->text(), int(sheet_.sites.size()), why);
    if (sites && sites->empty())
        why = tr("Write the sites first, such as 6, 8-9.");
    sitesMessage_->say(why);
    return sites.value_or(std::vector<int>());
}

void SheetForm::markSites(SiteState state)
{
    const std::vector<int> sites = sitesWritten();
    const bool replace = state == SiteState::Replace;
    if (!sites.empty())
        emit wanted(withReplace(sheet_, sites, replace),
                    (replace ? tr("mark %1 to replace") : tr("keep %1")).arg(sitesText(sites)));
}

void SheetForm::markLenses(LensState lens)
{
    const std::vector<int> sites = sitesWritten();
    if (!sites.empty())
        emit wanted(withLens(sheet_, sites, lens), lensEditText(lens, sitesText(sites)));
}

QString lensEditText(LensState lens, const QString& sites)
{
    switch (lens) {
    case LensState::Off:
        return SheetForm::tr("lens off at %1").arg(sites);
    case LensState::Release:
        return SheetForm::tr("release lens at %1").arg(sites);
    case LensState::On:
        break;
    }
    return SheetForm::tr("lens on at %1").arg(sites);
}

void SheetForm::showSheet(const BenchSheet& sheet)
{
    sheet_ = sheet;
    paste_->setChoice(QString::fromStdString(sheet.paste.id));
    oldAlloy_->setChoice(sheet.oldAlloy ? QString::fromStdString(sheet.oldAlloy->id) : QString(unknownAlloy));
    strip_->setChoice(QString::fromStdString(sheet.strip.id));
    plate_->setChoice(QString::fromStdString(sheet.plate.id));
    contact_->setChoice(QString::fromStdString(sheet.contact.id));
    for (const HeatChoice& choice : heatChoices)
        if (choice.heat == sheet.heat)
            heat_->setChoice(choice.id);
    way_->setEnabled(sheet.heat == HeatKind::Swap);
    for (const WayChoice& choice : wayChoices)
        if (choice.way == sheet.way)
            way_->setChoice(choice.id);
    hands_->setEnabled(sheet.heat == HeatKind::Swap || sheet.heat == HeatKind::Remove);
    showHands();
    releaseLens_->setEnabled(sheet.heat == HeatKind::Release && sheet.strip.lens);
    cooling_->setChoice(sheet.cooling.fan ? "fan" : "still");
    const auto put = [](QLineEdit* field, std::optional<double> value, const QString& unit) {
        if (field->hasFocus() && field->isModified())
            return; // still being typed
        field->setText(value ? shortFigure(*value) + ' ' + unit : QString());
        field->setModified(false);
    };
    put(lift_, sheet.cooling.liftBelowC, tr("°C"));
    put(plateStart_, sheet.plateStartMm, tr("mm"));
    put(ambient_, sheet.air.ambientC, tr("°C"));
}

} // namespace stripwright
