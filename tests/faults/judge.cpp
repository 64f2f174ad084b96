#include "judge.h"

#include <cmath>

namespace stripwright::faults {

namespace {

bool isHeatingPhase(Phase phase)
{
    return phase == Phase::Preheat || phase == Phase::Soak || phase == Phase::Reflow;
}

class Judge {
public:
    Judge(Stand& stand, Trace trace, double sinceS, double tripAboveC)
        : stand_(stand), setting_(stand.setting), row_(*setting_.row), trace_(std::move(trace)),
          sinceS_(sinceS), tripAboveC_(tripAboveC)
    {
        measure();
        describe();
    }

    Verdict verdict(Answer answer)
    {
        const bool endsByPlan =
            answer == Answer::GoOn || answer == Answer::Warn || answer == Answer::OffOrGoOn;
        if (endsByPlan && !first("trip")) // what the plan ended no fault did
            verdict_.frameS = verdict_.heatOffS = verdict_.jointRiseK = verdict_.lensRiseK = std::nullopt;
        verdict_.why = whyRed(answer);
        if (verdict_.why.empty())
            verdict_.why = whyTooHot();
        verdict_.is = verdict_.why.empty() ? Verdict::Is::Ok : Verdict::Is::Red;
        return verdict_;
    }

private:
    double since(const Trace::Row& row) const
    {
        return row_.clock == Clock::Wall ? row.wallS - sinceS_ : row.plantS - trace_.at(sinceS_).plantS;
    }

    // What the trace, one cycle and a machine with other work may add.
    double slackS() const { return row_.clock == Clock::Wall ? 0.3 : 0.3 + 0.05 * setting_.speed; }
    bool inTime(const std::optional<double>& s) const
    {
        return s && *s <= row_.boundIn(setting_.phase) + slackS();
    }

    void measure()
    {
        if (!isHeatingPhase(setting_.phase) && !trace_.heated(sinceS_))
            return;
        if (const Trace::Row* off = trace_.offFrame(sinceS_))
            verdict_.frameS = since(*off);
        if (const Trace::Row* off = trace_.heatEnded(sinceS_))
            verdict_.heatOffS = std::max(0.0, since(*off));
        if (!verdict_.frameS && !verdict_.heatOffS)
            return;
        const Trace::Row& then = trace_.at(sinceS_);
        double jointC = then.jointC, lensC = then.lensC;
        for (const Trace::Row& row : trace_.rows)
            if (row.wallS >= sinceS_) {
                jointC = std::max(jointC, row.jointC);
                lensC = std::max(lensC, row.lensC);
            }
        verdict_.jointRiseK = jointC - then.jointC;
        verdict_.lensRiseK = lensC - then.lensC;
    }

    static std::string firstWords(const std::string& text)
    {
        const std::string words = text.substr(0, text.find_first_of(":;("));
        return words.substr(0, 60);
    }

    const Event* first(const char* severity) const
    {
        for (const Client::Heard& heard : stand_.client->events)
            if (heard.wallS >= sinceS_ && heard.event.severity == severity)
                return &heard.event;
        return nullptr;
    }

    void describe()
    {
        const std::string errors = stand_.controllerErrors();
        std::string& said = verdict_.response;
        const auto add = [&](const std::string& text) { said += (said.empty() ? "" : "; ") + text; };
        if (!stand_.client->refusals.empty())
            add("refused: " + firstWords(stand_.client->refusals.back()));
        if (const Event* trip = first("trip"))
            add("stopped: " + firstWords(trip->text));
        else if (const Event* warning = first("warning"))
            add("warned: " + firstWords(warning->text));
        if (errors.find("heater off, read back") != std::string::npos)
            add("guardian: heater off");
        if (trace_.says("watchdog", sinceS_))
            add("plate cut");
        if (!stand_.actSays.empty())
            add(stand_.actSays);
        if (!said.empty())
            return;
        const RunState state = stand_.client->status.state;
        said = state == RunState::Running || state == RunState::Holding ? "goes on"
               : verdict_.frameS                                        ? "heater off"
                                                                        : "stays off";
    }

    bool said() const { return first("warning") || first("trip"); }

    // Nobody would end the heat any more.
    bool orphanedHeat() const { return !stand_.workerLives() && !trace_.heatEnded(sinceS_); }

    std::string whyRed(Answer answer) const
    {
        const bool heats = isHeatingPhase(setting_.phase);
        if (orphanedHeat() && row_.kind != Kind::Plate && answer != Answer::AskedOff)
            return "heat stays on and nobody is left to end it";
        if (stand_.actFailed)
            return "the second controller was not refused";
        switch (answer) {
        case Answer::NoStart:
        case Answer::MustStop:
            return whyStarted(answer);
        case Answer::Off:
            if (!heats)
                return trace_.heated(sinceS_) ? "heat came on" : "";
            if (!verdict_.heatOffS)
                return "the heat never ended";
            return inTime(verdict_.heatOffS) || row_.kind == Kind::Line ? lateFrame() : "heat ended too late";
        case Answer::AskedOff:
            if (!heats)
                return first("trip") ? "" : "nothing was said";
            return !verdict_.frameS          ? "heat was never asked to end"
                   : inTime(verdict_.frameS) ? ""
                                             : "asked too late";
        case Answer::Warn:
            if (!said())
                return "nothing was said";
            return whyNotAsItWas(true);
        case Answer::GoOn:
            return whyNotAsItWas(false);
        case Answer::OffOrGoOn:
        case Answer::None:
            return "";
        }
        return "";
    }

    // On a dead line the plate ends the heat; the controller's own asking, or the plate's cut, is what must
    // be in time.
    std::string lateFrame() const
    {
        if (row_.kind != Kind::Line)
            return "";
        if (inTime(verdict_.frameS) || inTime(verdict_.heatOffS))
            return verdict_.heatOffS &&
                           *verdict_.heatOffS <=
                               std::max(3.0, row_.boundS) * (row_.clock == Clock::Wall ? 1 : setting_.speed) +
                                   slackS()
                       ? ""
                       : "the plate's cut came too late";
        return "asked too late";
    }

    // Whatever the fault: above the plan's limit heat is asked to end at once.
    std::string whyTooHot() const
    {
        constexpr double boundS = 0.5;
        double aboveSinceS = INFINITY;
        bool asked = false;
        for (const Trace::Row& row : trace_.rows) {
            asked = row.event == "off frame" || (asked && row.event != "on frame");
            if (row.shownC <= tripAboveC_)
                aboveSinceS = INFINITY;
            else
                aboveSinceS = std::min(aboveSinceS, row.plantS);
            if (!asked && row.wallS > sinceS_ && row.plantS - aboveSinceS > boundS + slackS())
                return "heat was on above the plan's limit";
        }
        return "";
    }

    std::string whyNotAsItWas(bool warned) const
    {
        const bool trip = first("trip");
        if (isHeatingPhase(setting_.phase)) {
            if (trip)
                return "tripped";
            if (stand_.client->closed && stand_.setting.row->act != Act::WindowGone)
                return "the controller ended";
            const RunState state = stand_.client->status.state;
            return state == RunState::Stopping ? "stopped" : "";
        }
        if (trace_.heated(sinceS_) && !warned)
            return "heat came on";
        return trip && !warned ? "tripped" : "";
    }

    std::string whyStarted(Answer answer) const
    {
        if (answer == Answer::NoStart)
            return trace_.heated(sinceS_) ? "it heated" : "";
        const Trace::Row* on = nullptr;
        for (const Trace::Row& row : trace_.rows)
            if (!on && row.wallS >= sinceS_ && (row.event == "on frame" || row.heat > 0))
                on = &row;
        if (!on)
            return "";
        const Trace::Row* off = trace_.offFrame(on->wallS);
        if (row_.enable) // it is the enable output that must go
            off = trace_.heatEnded(on->wallS);
        if (!off)
            return "heat was never asked to end";
        const double tookS = off->plantS - on->plantS;
        return tookS <= row_.boundS + slackS() ? "" : "ended too late";
    }

    Stand& stand_;
    const Setting& setting_;
    const Row& row_;
    const Trace trace_;
    const double sinceS_, tripAboveC_;
    Verdict verdict_;
};

// Of a row that the controller meets before it is ready.
Verdict atTheStart(Stand& stand)
{
    Verdict verdict;
    if (!stand.startController()) {
        const std::string errors = stand.controllerErrors();
        verdict.response = "no start: " + errors.substr(0, errors.find('\n')).substr(0, 90);
        verdict.is = errors.empty() ? Verdict::Is::Red : Verdict::Is::Ok;
        return verdict;
    }
    stand.startRun();
    stand.watch(5);
    bool newFile = false;
    for (const auto& entry : std::filesystem::directory_iterator(stand.folder())) {
        const std::string name = entry.path().filename();
        newFile = newFile || (name.find(".runs") != std::string::npos && name != "bench.runs" &&
                              !name.ends_with("-wal") && !name.ends_with("-shm"));
    }
    const bool heated = readTrace(stand.tracePath()).heated(0);
    verdict.response = !stand.client->refusals.empty()
                           ? "refused: " + stand.client->refusals.front().substr(0, 60)
                       : newFile ? "a new file"
                                 : "started";
    verdict.is = !heated || newFile ? Verdict::Is::Ok : Verdict::Is::Red;
    return verdict;
}

} // namespace

Verdict tryOut(const Setting& setting, const HeatPlan& plan, const std::string& planText)
{
    const Row& row = *setting.row;
    const Answer answer = row.answers[static_cast<size_t>(setting.phase)];
    Stand stand(setting, plan, planText);
    stand.startPlate();
    if (row.act == Act::RunsCorrupt || row.act == Act::WrongWordOrder)
        return atTheStart(stand);
    if (!stand.startController())
        throw std::runtime_error("the controller did not start: " + stand.controllerErrors());
    if ((row.act == Act::KillFront || row.act == Act::StopFront) && !stand.hasFront())
        return {Verdict::Is::NotApplicable, "nobody stands in front"};
    stand.reachPhase();
    stand.doIt();
    const double boundWallS = row.boundIn(setting.phase) / (row.clock == Clock::Wall ? 1 : setting.speed);
    if (answer == Answer::NoStart || answer == Answer::MustStop) {
        stand.watch(1.5);
        if (row.act != Act::BadRecipe)
            stand.startRun();
        stand.watch(3 + boundWallS + 12 / setting.speed);
    } else {
        constexpr double heatSpreadsS = 8; // plant: until joint and lens have passed their peak
        constexpr double untilItShowsS = 35;
        const double plantS = heatSpreadsS + (row.countsFromFault(setting.phase) ? 0 : untilItShowsS);
        stand.watch(boundWallS + 0.8 + plantS / setting.speed);
    }
    if (!setting.traces.empty())
        std::filesystem::copy_file(stand.tracePath(),
                                   std::filesystem::path(setting.traces) /
                                       (std::string(row.name) + "-" +
                                        phaseNames[static_cast<size_t>(setting.phase)] +
                                        (setting.line == Line::Tcp ? "-tcp.csv" : "-tty.csv")),
                                   std::filesystem::copy_options::overwrite_existing);
    const Trace trace = readTrace(stand.tracePath());
    const Trace::Row* from =
        row.countsFromFault(setting.phase) ? nullptr : trace.countsFrom(row.from, stand.beganS());
    return Judge(stand, trace, from ? from->wallS : stand.beganS(), plan.tripAboveC).verdict(answer);
}

} // namespace stripwright::faults
