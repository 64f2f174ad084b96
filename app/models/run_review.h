#pragma once

#include "messages/solder_mark_text.h"
#include "models/recorded_runs.h"

#include <QString>

namespace stripwright {

/// One curve of a run over the time since it started. NaN where there was no valid value: never bridge it.
struct RunCurve {
    std::optional<StationId> station; ///< None: the joints of the targets, estimated while it ran.
    std::vector<double> timeS, valueC;
};

/// The curves of a run that a plate gave: its sensor as the plate, every "truth_<station>_C" channel as that
/// station, and the nominal estimate of the target joints.
std::vector<RunCurve> curvesOf(const std::vector<Sample>& samples);

/// What the hands said of the solder, and when.
struct TimedMark {
    double timeS = 0;
    MarkedSolder mark;
};
std::vector<TimedMark> marksOf(const std::vector<Event>& events);

/// "site 6 not liquid yet", "site 6 liquid": of a mark, as short as it goes.
QString markName(const MarkedSolder& mark);

/// What such a curve is called beside its end: "plate sensor", "joint, est.", "joint 6, simulated".
QString runCurveName(const RunCurve& curve);

/// What the figures of a run are taken from: a real plate has its sensor and an estimate of the joints, a
/// simulated one tells its own temperatures too.
enum class MeasuredBy { PlateSensor, JointEstimate, Simulation };

struct MeasuredMargins {
    std::vector<MarginRow> rows; ///< Worst first.
    std::vector<MeasuredBy> by;  ///< As rows.
};

/// Every limit of the sheet that a run can answer, with the measured value as nominal, worst first. Metrics
/// are taken from all samples, not from what is drawn; samples without a value are left out. With a single
/// target and no channel of its own, the joint is judged by the live estimate. Of a run that still goes on
/// (`finished` false) only upper limits are judged: a least time or peak may still come.
/// A new LED is judged from when its card was said to be done; where none was, by the run's own curve and the
/// sheet's hands, if the run was still heated or its solder liquid by then. One that was not set down is not
/// judged. `planned`: the plan's, which tell how warm an LED is that was warmed first; of others: as the
/// room.
MeasuredMargins measuredMargins(const BenchSheet& sheet, const std::vector<Sample>& samples,
                                const std::vector<Event>& events, bool finished,
                                const std::vector<NewLed>& planned = {});

/// The rows alone.
std::vector<MarginRow> measuredRows(const BenchSheet& sheet, const std::vector<Sample>& samples,
                                    const std::vector<Event>& events, bool finished,
                                    const std::vector<NewLed>& planned = {});

/// The highest that the estimate of the joints came to while it ran.
struct EstimatedPeak {
    double lowC = 0, nominalC = 0, highC = 0; ///< Each its own highest.
};
std::optional<EstimatedPeak> estimatedPeak(const std::vector<Sample>& samples);

/// How long a part that had to be protected was over its highest temperature.
struct TimeOverLimit {
    std::string what;
    double seconds = 0;
};
std::vector<TimeOverLimit> timesOverLimits(const BenchSheet& sheet, const std::vector<Sample>& samples);

/// The joint is estimated to be hotter than the plate's sensor shows, while that still rises: it shows the
/// plate as it was some seconds ago.
bool sensorLagsBehindJoint(const std::vector<Sample>& samples);

/// When the plan's times came in the run: profile time stands still while the plate cannot follow. Times the
/// run has not come to are counted on from its last sample.
std::vector<double> runTimesOf(const std::vector<double>& planTimeS, const std::vector<Sample>& samples);

/// "completed", "interrupted: the controller died", ... in words, with the reason that was recorded.
QString outcomeText(const RunSummary& summary);

/// Its sheet's title, and which heat of its job it was where there are several.
QString titleOf(const RunSummary& summary, const std::optional<HeatPlan>& plan);

/// "2026-11-25T09:10:00Z" as the user's local date and time.
QString startedText(const RunSummary& summary);

} // namespace stripwright
