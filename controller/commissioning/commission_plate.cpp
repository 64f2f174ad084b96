#include "commissioning/commission_plate.h"

#include "commissioning/output_proofs.h"
#include "commissioning/watchdog_proof.h"
#include "link/modbus_line.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace stripwright {

static constexpr double restS = 5, arrivalS = 60, afterFirstMoveS = 10, lookS = 0.5;

SensorWidths widthsOf(const PlateLink& link)
{
    SensorWidths widths;
    ModbusLine line(link, 1.5);
    if (!line.open(1.5, 0.2))
        return widths;
    line.settle(1.0);
    const int unit = link.sensor.unit.value_or(link.unit);
    const auto gives = [&](int count) {
        std::uint16_t words[2];
        return line.read({link.sensor.table, link.sensor.address, count, unit}, words) ||
               !line.lastException();
    };
    const SensorWidths found{gives(1), link.sensor.address < 65535 && gives(2)};
    return found.one || found.two ? found : widths;
}

static CandidateTable tableFor(const CommissioningJob& job, const SensorWords& words)
{
    return {sensorCandidates(job.draft, words, job.widths), {job.plateC, job.draft.link.noSensorRaw}};
}

static std::string listed(const CandidateTable& table, const std::vector<size_t>& rows)
{
    std::string text;
    for (size_t i : rows)
        text += (text.empty() ? "" : "; ") + table.inWords(i);
    return text;
}

// Those that read like some temperature one by one, the others as a number.
static std::string everyRow(const CandidateTable& table)
{
    std::vector<size_t> near;
    size_t none = 0;
    for (size_t i = 0; i < table.rows().size(); ++i) {
        const CandidateRow& row = table.rows()[i];
        none += row.meansNone;
        if (!row.meansNone && std::abs(row.readsC) < 1000)
            near.push_back(i);
    }
    std::string text = listed(table, near);
    const auto add = [&](size_t count, const char* what) {
        if (count > 0)
            text += (text.empty() ? "" : "; ") + std::to_string(count) + what;
    };
    add(none, " read no number, or a value for \"no sensor\"");
    add(table.rows().size() - near.size() - none, " are beyond 1000 °C");
    return text;
}

static std::string nothingSensible(const CommissioningJob& job, const CandidateTable& table)
{
    std::vector<size_t> drifted;
    for (size_t i = 0; i < table.rows().size(); ++i)
        if (table.rows()[i].drifted)
            drifted.push_back(i);
    if (!drifted.empty())
        return "what makes sense moves without any heat asked for: " + listed(table, drifted) +
               ". If the plate gets warmer by itself, pull its mains plug: a relay sticks. If it is still "
               "cooling, wait. Else this is not the sensor's register";
    const RegisterField& at = job.draft.link.sensor;
    static const char* const tables[] = {"coil", "discrete", "input", "holding"};
    char where[120];
    std::snprintf(where, sizeof where, "%s register %d of unit %d", tables[static_cast<size_t>(at.table)],
                  at.address, at.unit.value_or(job.draft.link.unit));
    return std::string("nothing that ") + where +
           " may mean is the temperature of a cold plate: " + everyRow(table) +
           ". Check the address (a manual that counts from 1 says one more than \"address\"; put its number "
           "such as 40001 into \"document_number\"), the table (input or holding), the unit, and that the "
           "sensor is plugged in";
}

// Two scales of one raw value move together: no heat decides between them, a thermometer does.
static std::string cannotBeToldApart(const CommissioningJob& job, const CandidateTable& table)
{
    const std::vector<size_t> sensible = table.sensible();
    for (size_t a : sensible)
        for (size_t b : sensible)
            if (a < b && moveAlike(table.rows()[a].field, table.rows()[b].field))
                return "these make sense and would move alike, so that heat cannot tell them apart: " +
                       listed(table, {a, b}) +
                       (job.plateC ? ". Let the plate come to the temperature of the room, in which they are "
                                     "further apart, or give \"scale\" from the manual"
                                   : ". Say what a thermometer on the plate reads (in the terminal "
                                     "--plate-C), or give "
                                     "\"scale\" from the manual");
    return {};
}

namespace {

class Commissioning {
public:
    Commissioning(const CommissioningJob& job, Surroundings& around, CandidateTable& table,
                  WatchedProbe& probe)
        : job_(job), around_(around), table_(table), probe_(probe)
    {
    }

    /// What refuses; empty: proven, or the probe was stopped.
    std::string run(CommissioningResult& result)
    {
        for (auto step :
             {&Commissioning::proveWrite, &Commissioning::findSensible, &Commissioning::findMoved})
            if (std::string refusal = (this->*step)(); !refusal.empty() || !probe_.why().empty())
                return refusal;
        PlateLink link = linkWithSensor(job_.draft, table_.rows()[table_.sensible().front()].field);
        std::string refusal = proveEnable(probe_, link, table_, heat_, around_);
        if (refusal.empty() && probe_.why().empty()) {
            const WatchdogVerdict verdict = proveWatchdog(probe_, link, table_, heat_, around_);
            refusal = verdict.refusal;
            link.watchdogProvenS = verdict.provenS;
            result.leftOpen = verdict.leftOpen;
        }
        if (refusal.empty() && probe_.why().empty())
            result.link = link;
        return refusal;
    }

private:
    std::string proveWrite()
    {
        around_.tellStep("heater off, read back");
        const bool ok = probe_.plate().heaterOff();
        const std::string why = ok ? "heater off was written and read back" : probe_.plate().lastError();
        around_.tellProof(Proof::Write, ok, why);
        return ok ? std::string()
                  : "heater off cannot be read back: " + why +
                        ". Check the register that \"drive\" names, its table and its unit, and that the "
                        "plate is not in local mode";
    }

    std::string findSensible()
    {
        around_.tellStep("at rest");
        table_.beginRest();
        if (!probe_.hold({}, restS))
            return {};
        if (!probe_.reading())
            return "the plate stopped answering: " + probe_.plate().lastError();
        table_.endRest();
        around_.tellCandidates(table_);
        if (table_.sensible().empty())
            return nothingSensible(job_, table_);
        return cannotBeToldApart(job_, table_);
    }

    std::string findMoved()
    {
        const bool duty = job_.draft.link.drive == DriveKind::Duty;
        around_.tellStep(duty ? "10 % of its heat for 5 s" : "set-point 10 K above its reading for 5 s");
        double warmestC = job_.plateC.value_or(0);
        if (!job_.plateC)
            for (size_t i : table_.sensible())
                warmestC = std::max(warmestC, table_.rows()[i].readsC);
        const double fromS = around_.plantS(), fromDutyS = probe_.givenDutyS();
        if (!probe_.hold({.duty = smallDuty, .setpointC = warmestC + setpointAboveK}, shortHeatS))
            return {};
        around_.tellStep("heater off, waiting for the heat to arrive");
        double firstMoveS = 0;
        const auto arrived = [&] {
            if (firstMoveS == 0 && !table_.moved().empty())
                firstMoveS = around_.plantS();
            return firstMoveS > 0 && around_.plantS() >= firstMoveS + afterFirstMoveS;
        };
        if (!probe_.hold({}, arrivalS, arrived))
            return {};
        const std::vector<size_t> moved = table_.moved();
        if (moved.size() != 1) {
            around_.tellProof(Proof::Sensor, false,
                              "one candidate must move, not " + std::to_string(moved.size()));
            return notOneMoved(moved);
        }
        const CandidateRow& row = table_.rows()[moved.front()];
        around_.tellProof(Proof::Sensor, true, table_.inWords(moved.front()));
        heat_ = {row.movedK, probe_.givenDutyS() - fromDutyS, around_.plantS() - fromS};
        table_.keepOnly(moved.front());
        return {};
    }

    std::string notOneMoved(const std::vector<size_t>& moved) const
    {
        const std::string seen = ": " + listed(table_, table_.sensible()) + ". ";
        if (moved.empty())
            return "no candidate moved with the heat" + seen + rampInWords() +
                   "Is the heater connected and its supply on, is this the sensor's register, is the sensor "
                   "in the plate, is the heat register the right one?";
        return "more than one candidate moved with the heat" + seen +
               (job_.plateC
                    ? "Give \"type\", \"order\" or \"scale\" from the manual"
                    : "Say what a thermometer on the cold plate reads (in the terminal --plate-C), or give "
                      "\"type\", \"order\" or \"scale\" from the manual");
    }

    std::string rampInWords() const
    {
        const std::optional<double> ramp = job_.draft.link.ownRampCPerS;
        if (!ramp || *ramp * shortHeatS >= setpointAboveK)
            return {};
        char text[160];
        std::snprintf(text, sizeof text,
                      "Its own ramp, %g C/s, let its set-point rise by only %.1f K in that time: set it "
                      "faster, or off. ",
                      *ramp, *ramp * shortHeatS);
        return text;
    }

    const CommissioningJob& job_;
    Surroundings& around_;
    CandidateTable& table_;
    WatchedProbe& probe_;
    KnownHeat heat_;
};

// The silence that proved the watchdog has set its bit, and a plate that latches it could not be heated
// after.
std::string leavesNoBitSet(Plate& plate, const PlateLink& link, Surroundings& around)
{
    if (!link.clearWatchdog) {
        around.tellStep("the plate's watchdog bit stands set from this proof. If it stays so until the plate "
                        "is told to clear it, name that register as \"clear_watchdog\" in the plate link "
                        "file: until it was read clear it cannot tell of a new cut");
        return {};
    }
    constexpr double lookAgainS = 0.5;
    WatchdogAtRest atRest;
    while (!atRest.mayHeat() && !atRest.refusal()) {
        const auto reading = plate.read();
        if (!reading)
            return "the plate could not be read while its watchdog bit was cleared: " + plate.lastError();
        atRest.look(plate, *reading, around.wallS());
        around.waitUntil(around.plantS() + lookAgainS);
    }
    if (atRest.refusal())
        return atRest.refusal();
    around.tellStep("the plate's watchdog bit, set by this proof, is cleared");
    return {};
}

// Read and switched off as every other program will: what the steps have shown must hold there too.
std::string provesUnderItsLink(const PlateLink& link, Surroundings& around, bool& heaterOff)
{
    const auto plate = around.openAgain(link);
    const auto reading = plate->read();
    if (!reading)
        return "the finished link cannot be read: " + plate->lastError();
    if (reading->sensorFault)
        return "the finished link reads no temperature";
    heaterOff = plate->heaterOff();
    return heaterOff && reading->watchdogTripped ? leavesNoBitSet(*plate, link, around) : std::string();
}

} // namespace

void listCandidates(const CommissioningJob& job, Surroundings& around)
{
    const auto plate = around.open(probingLink(job.draft, job.widths, true));
    std::optional<CandidateTable> table;
    while (!around.stopped()) {
        if (const auto reading = plate->read()) {
            if (!table)
                table = tableFor(job, sensorWordsOf(*reading));
            table->take(sensorWordsOf(*reading));
            around.tellCandidates(*table);
        } else {
            around.tellStep(plate->lastError());
        }
        around.waitUntil(around.plantS() + lookS);
    }
}

CommissioningResult commissionPlate(const CommissioningJob& job, Surroundings& around)
{
    CommissioningResult result;
    const PlateLink probing = probingLink(job.draft, job.widths, false);
    SensorWords words{};
    {
        const auto plate = around.open(probing);
        const auto reading = plate->read();
        if (!reading)
            throw LinkError("the plate was opened but cannot be read: " + plate->lastError());
        words = sensorWordsOf(*reading);
    }
    CandidateTable table = tableFor(job, words);
    table.take(words);
    WatchedProbe probe(around, probing, table);
    std::string refusal = Commissioning(job, around, table, probe).run(result);
    result.heaterOff = probe.off();
    result.stopped = around.stopped();
    if (refusal.empty() && !probe.why().empty())
        refusal = (result.stopped ? "" : "broken off: ") + probe.why();
    if (result.link && refusal.empty() && result.heaterOff) {
        probe.close();
        try {
            refusal = provesUnderItsLink(*result.link, around, result.heaterOff);
        } catch (const LinkError& error) {
            refusal = error.what();
        }
    }
    if (!refusal.empty()) {
        result.refusals.push_back(refusal);
        result.link.reset();
    }
    return result;
}

} // namespace stripwright
