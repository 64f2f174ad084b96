#include "models/sheet_notes.h"

#include "materials/drying_bake.h"

#include "models/wording.h"
#include "rules/running_temperature.h"

#include <QCoreApplication>

namespace stripwright {

namespace {

QString say(const char* text)
{
    return QCoreApplication::translate("sheet_notes", text);
}

QString text(const std::string& words)
{
    return QString::fromStdString(words);
}

void addWindow(std::vector<SheetNote>& notes, const Paste& paste, const QString& topic, const Window& window,
               const QString& unit, int decimals)
{
    const QString words = windowText(window, unit, decimals);
    if (words.isEmpty())
        return;
    SheetNote note{SheetNote::Kind::Fact, topic, words, paste.habit.whole, text(paste.source)};
    const bool minHabit = window.min && window.minIsHabit, maxHabit = window.max && window.maxIsHabit;
    if (minHabit && maxHabit)
        note.habit = true;
    else if (minHabit)
        note.text += say(" (lower side is trade habit)");
    else if (maxHabit)
        note.text += say(" (upper side is trade habit)");
    notes.push_back(note);
}

/// Behind a figure that is habit in an entry that is not habit as a whole.
QString habitMark(const Habit& habit, const char* key)
{
    return !habit.whole && habit.of(key) ? say(" (trade habit)") : QString();
}

bool meltingIsHabit(const Alloy& alloy)
{
    return alloy.habit.of("solidus_C") || alloy.habit.of("liquidus_C");
}

QString meltingText(const Alloy& alloy)
{
    QString words =
        alloy.solidusC == alloy.liquidusC
            ? say("melts at %1 °C").arg(figure(alloy.liquidusC, 0))
            : say("solidus %1 °C, liquidus %2 °C").arg(figure(alloy.solidusC, 0), figure(alloy.liquidusC, 0));
    if (alloy.movableAboveC < alloy.solidusC)
        words += say(", joints may move above %1 °C").arg(figure(alloy.movableAboveC, 0));
    return words;
}

/// Those that a joint of this heat is held to: a charge's until it melts, of a paste that goes nowhere none.
void addPasteWindows(std::vector<SheetNote>& notes, const BenchSheet& sheet)
{
    const Paste& paste = sheet.paste;
    const bool swap = sheet.heat == HeatKind::Swap;
    const bool charge = swap && sheet.way == SwapWay::ChargeLaidCold;
    const bool joint = sheet.heat == HeatKind::Fit || (swap && sheet.way == SwapWay::TwoHeats);
    if (!joint && !charge)
        return;
    const auto held = [&](Window window) {
        if (charge)
            window.min.reset();
        return window;
    };
    const QString celsius = QStringLiteral("°C"), seconds = QStringLiteral("s"),
                  slope = QStringLiteral("K/s");
    addWindow(notes, paste, charge ? say("ramp until the charge melts") : say("ramp"), held(paste.rampCPerS),
              slope, 1);
    if (const QString band = windowText(paste.soakBandC, celsius, 0); !band.isEmpty())
        addWindow(notes, paste, say("soak, %1").arg(band), held(paste.soakTimeS), seconds, 0);
    if (charge)
        return;
    addWindow(notes, paste, say("above %1 °C").arg(figure(paste.countLiquidusC, 0)), paste.aboveLiquidusS,
              seconds, 0);
    addWindow(notes, paste, say("peak"), paste.peakC, celsius, 0);
    addWindow(notes, paste, say("cooling"), paste.coolingCPerS, slope, 1);
    addWindow(notes, paste, say("time to peak"), paste.timeToPeakS, seconds, 0);
}

QString bakeText(const BenchSheet& sheet)
{
    const std::string& level = sheet.strip.led.moistureLevel;
    QString words = level.empty() ? say("moisture level not stated, taken as 5a")
                                  : say("moisture level %1").arg(QString::fromStdString(level));
    for (const double temperatureC : bakeTemperaturesC)
        if (const auto hours = bakeHours(sheet.strip.led, temperatureC, sheet.bake.overFloorLifeH))
            words += say("; %1 h at %2 °C").arg(figure(*hours, 0), figure(temperatureC, 0));
    return words;
}

} // namespace

std::vector<SheetNote> notesOf(const BenchSheet& sheet, const HeatPlan* plan)
{
    std::vector<SheetNote> notes;
    if (plan) {
        for (const std::string& why : plan->refusals)
            notes.push_back({SheetNote::Kind::Refusal, {}, text(why), false, {}});
        for (const std::string& why : plan->warnings)
            notes.push_back({SheetNote::Kind::Warning, {}, text(why), false, {}});
    }
    const Paste& paste = sheet.paste;
    if (sheet.usesFreshSolder())
        notes.push_back({SheetNote::Kind::Fact, say("new alloy"),
                         text(paste.alloy.name) + ": " + meltingText(paste.alloy),
                         meltingIsHabit(paste.alloy), text(paste.alloy.source)});
    notes.push_back(sheet.oldAlloy
                        ? SheetNote{SheetNote::Kind::Fact, say("old solder"),
                                    text(sheet.oldAlloy->name) + ": " + meltingText(*sheet.oldAlloy),
                                    meltingIsHabit(*sheet.oldAlloy), text(sheet.oldAlloy->source)}
                        : SheetNote{SheetNote::Kind::Fact,
                                    say("old solder"),
                                    say("unknown: planned for the worst that may be there"),
                                    false,
                                    {}});
    addPasteWindows(notes, sheet);
    notes.push_back({SheetNote::Kind::Fact, say("LED body"),
                     say("up to %1 °C").arg(figure(sheet.strip.led.bodyMaxC, 0)),
                     sheet.strip.led.habit.of("body_max_C"), text(sheet.strip.led.source)});
    if (sheet.heat == HeatKind::Bake)
        notes.push_back({SheetNote::Kind::Fact, say("bake"), bakeText(sheet),
                         sheet.strip.led.habit.of("moisture_level"),
                         QStringLiteral("IPC/JEDEC J-STD-033, user bake of bodies up to 1.4 mm")});
    notes.push_back({SheetNote::Kind::Fact, say("reflow passes"),
                     say("up to %1, the factory's included").arg(sheet.strip.led.passesAllowed),
                     sheet.strip.led.habit.of("passes_allowed"), text(sheet.strip.led.source)});
    if (const auto running = runningTemperature(sheet))
        notes.push_back({SheetNote::Kind::Fact, say("in service"),
                         say("joints run at about %1 °C (est.)").arg(figure(running->jointC, 0)) +
                             (running->junctionC
                                  ? say(", LED junctions at about %1 °C").arg(figure(*running->junctionC, 0))
                                  : QString()),
                         false,
                         say("own estimate: %1 % of the LED's power is heat, the strip at one temperature")
                             .arg(figure(100 * heatShareOfPower, 0))});
    if (sheet.strip.lens) {
        const Lens& lens = *sheet.strip.lens;
        notes.push_back({SheetNote::Kind::Fact, say("lens"),
                         say("foot up to %1 °C").arg(figure(lens.footMaxC, 0)) +
                             habitMark(lens.habit, "foot_max_C") +
                             say(", optic up to %1 °C").arg(figure(lens.bodyMaxC, 0)) +
                             habitMark(lens.habit, "body_max_C"),
                         lens.habit.whole, text(lens.source)});
    }
    if (sheet.strip.glue) {
        const Glue& glue = *sheet.strip.glue;
        notes.push_back(
            {SheetNote::Kind::Fact, say("glue"),
             say("holds to %1 °C").arg(figure(glue.holdC, 0)) + habitMark(glue.habit, "hold_C") +
                 (glue.letsGo ? say(", lets go between %1 and %2 °C")
                                        .arg(figure(glue.releaseLowC, 0), figure(glue.releaseHighC, 0)) +
                                    habitMark(glue.habit, "release_high_C")
                              : say(", never softens: cut it")),
             glue.habit.whole, text(glue.source)});
    }
    notes.push_back({SheetNote::Kind::Fact, say("contact"),
                     say("%1–%2 W/m²K, planned for all of it")
                         .arg(figure(sheet.contact.lowWPerM2K, 0), figure(sheet.contact.highWPerM2K, 0)),
                     sheet.contact.habit.of("low_W_per_m2K") || sheet.contact.habit.of("high_W_per_m2K"),
                     text(sheet.contact.source)});
    return notes;
}

} // namespace stripwright
