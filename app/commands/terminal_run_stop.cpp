#include "commands/terminal_run.h"

#include "commands/commands.h"
#include "commands/hot_plate_words.h"
#include "commands/wrapped.h"
#include "rules/wording.h"

#include <csignal>

namespace stripwright {

// Its heater went off where the plan has it so, and not before.
bool TerminalRun::heatRanToItsEnd()
{
    readPlan();
    const auto& status = live_.status();
    constexpr double roundingS = 1;
    return status && !status->trip && firstTrip_.empty() && status->state == RunState::Cooling && plan_ &&
           status->profileS >= plan_->heaterOffS - roundingS;
}

std::string TerminalRun::hotWords()
{
    readPlan();
    return hotPlateWords(plan_, live_.status().value_or(Status()),
                         live_.samples().empty() ? std::nullopt : std::optional(live_.samples().back()));
}

// Only who left in good order knows whether it goes on.
QString TerminalRun::whereTheRecordIs(bool leftInGoodOrder)
{
    if (result_.runKey.empty())
        return {};
    const std::string runs = followed_ ? followed_->runsFile : setup_->runsFile.string();
    return QStringLiteral("\nThe record%1 is run %2 in %3")
        .arg(!leftInGoodOrder ? ""
             : followed_      ? ", which goes on without this terminal,"
                              : " ends here; it",
             QString::fromStdString(result_.runKey), QString::fromStdString(inOnePiece(runs)));
}

QString TerminalRun::wordsOfALostController()
{
    if (!live_.runIsOn())
        return live_.phaseText();
    return live_.phaseText() + "\nLast read: " + QString::fromStdString(hotWords()) + whereTheRecordIs(false);
}

void TerminalRun::stop()
{
    if (stopped_ && signals_.last() != SIGINT) { // a hang-up behind a kill is no wish to leave
        live_.stopHeating();
        return;
    }
    if (stopped_) {
        finish(exitInternalFailure,
               QStringLiteral("Left before \"heater off\" was read back: the heater may be ON. Switch the "
                              "plate off at the mains if it stays hot.\n") +
                   QString::fromStdString(hotWords()) + whereTheRecordIs(false));
        return;
    }
    const auto& status = live_.status();
    const bool causeSeen = status && status->trip && status->trip->causeSeen; // such as heat nobody asked for
    const bool cools =
        live_.live() && status->state == RunState::Cooling && readBackOff(*status) && !causeSeen;
    const bool byKey = signals_.last() == SIGINT || signals_.last() == SIGTSTP || signals_.last() == SIGQUIT;
    if (cools && byKey && !std::exchange(coolingSaid_, true)) {
        progress_.say(std::string("The heater is off already, read back; the cooling goes on being recorded. "
                                  "Once more ") +
                      (followed_ ? "leaves it to itself." : "ends the record here."));
        progress_.say(hotWords());
        live_.stopHeating();
        return;
    }
    stopped_ = true;
    if (!live_.heatMayBeOn() && !live_.runIsOn()) {
        finish(exitStoppedByOperator, QStringLiteral("Stopped before any heat."));
        return;
    }
    ranToItsEnd_ = cools && heatRanToItsEnd();
    neverHeated_ = live_.live() && status->state == RunState::Starting;
    progress_.say(!cools      ? "Stopping the heat: \"heater off\" is sent, and read back before this ends."
                  : followed_ ? "Leaving."
                              : "Ending the record.");
    live_.stopHeating();
}

void TerminalRun::stopChanged()
{
    if (coolingSaid_ && live_.stop() == LiveRun::Stop::NotConfirmed) {
        stopped_ = true; // what was read back before holds no more
        ranToItsEnd_ = false;
    }
    if (!stopped_)
        return;
    if (live_.stop() == LiveRun::Stop::NotConfirmed) {
        progress_.say("\"Heater off\" is NOT confirmed: it may be on. Switch the plate off at the mains. "
                      "Ctrl+C again to leave.");
        progress_.say(hotWords());
    }
    if (live_.stop() != LiveRun::Stop::OffConfirmed)
        return;
    const auto& status = live_.status();
    const std::string first = status && status->trip ? status->trip->text : firstTrip_;
    const QString behind =
        "\nAt this stop: " + QString::fromStdString(lowered(hotWords())) + whereTheRecordIs(true);
    if (!first.empty())
        finish(exitStoppedByLimit, QStringLiteral("Stopped by a limit: %1. Heater off, read back.")
                                           .arg(QString::fromStdString(first)) +
                                       behind);
    else if (ranToItsEnd_)
        finish(exitOk,
               QStringLiteral("The heat ran to its end by the plan; %1. Heater off, read back.")
                       .arg(followed_ ? "you left while it cooled" : "you ended its record while it cooled") +
                   behind);
    else if (neverHeated_)
        finish(exitStoppedByOperator,
               QStringLiteral("Stopped by the operator before any heat: heater off, read back."));
    else
        finish(exitStoppedByOperator,
               QStringLiteral("Stopped by the operator: heater off, read back.") + behind);
}

} // namespace stripwright
