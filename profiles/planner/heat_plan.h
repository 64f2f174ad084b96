#pragma once

#include "analysis/limits.h"
#include "planner/plate_response.h"
#include "rules/passes.h"

#include <nlohmann/json_fwd.hpp>

namespace stripwright {

/// A stretch of the plan with a name: "preheat", "soak", "reflow", "peak", "cooling", "cool-down"; in a
/// release "warm-up", "letting go", in a bake "warm-up", "bake".
struct Stage {
    std::string name;
    double startS = 0, endS = 0;
};

/// What makes a hand card show.
enum class Raised {
    ByTime,       ///< Profile time, from atS to untilS.
    WhenNotSeated ///< Only the controller, when a thermocouple on the strip says it does not lie on the
                  ///< plate.
};

/// What the hands do, one at a time.
struct HandCard {
    std::string id;                 ///< "lay-strip", "swap-led-6", "lift-strip", ...
    double atS = 0;                 ///< Profile time it shows; < 0: before the heat starts.
    double untilS = 0;              ///< Profile time it is over.
    std::string text;               ///< One sentence: what to do.
    std::string plateDoes;          ///< What the plate does meanwhile.
    std::string otherwise;          ///< What happens if it is not done.
    bool mustConfirm = false;       ///< The heat does not start until the hands say done. Only for atS < 0.
    Raised raised = Raised::ByTime; ///< Of another than ByTime, atS and untilS are 0 and mean nothing.
    bool asksLiquid = false; ///< Solder turns liquid while it is up: the hands are asked whether it has.

    bool comesByTime() const { return raised == Raised::ByTime; }
};

/// Contact at which JointModel::poor stands, of the contact's low: a strip that lies badly or not at all.
constexpr double poorShareOfLow = 0.25;

/// Stand-in for one target joint, for the live estimate, at several contacts.
struct JointModel {
    int site = 0;
    using Fit = PlateResponse;
    Fit low, nominal, high;  ///< By contact alone, all else as stated.
    std::optional<Fit> poor; ///< At poorShareOfLow of low; plans in older run logs have none.
};

constexpr size_t partModelsMost = 24; ///< So that a control cycle stays cheap.

/// Stand-in for a part with a highest temperature that the plan comes near to. At poorer contact than low it
/// is colder than `low`.
struct PartModel {
    StationId station;
    double maxC = 0;
    std::optional<double> nearC, nearMostS; ///< Longest time above nearC, for a part that has one.
    PlateResponse low, nominal, high;
};

/// Predicted curve of one station at the times of the plan: as it gets coldest, as stated, and hottest, out
/// of what the sheet allows (search/scenario.h).
struct PlanCurve {
    StationId station;
    std::vector<double> lowC, nominalC, highC;
};

/// The LED that a Swap sets down at a site, from then on.
struct NewLed {
    int site = 0;
    double setDownS = 0;
    double startC = 0;     ///< The LED's own temperature then, as stated.
    double stepK = 0;      ///< Of its pad over that, as it gets hottest.
    double padLowestC = 0; ///< Of its pad as it dips, as it gets coldest, and when after set-down.
    double padLowestAfterS = 0;
    std::optional<double> liquidAfterS; ///< After set-down, as it gets coldest; none: never again.
    std::vector<double> timeS, bodyC;   ///< As stated; fine at first, then as the plan's times.
};

/// Something that would help, in words with its effect. Advice only.
struct Suggestion {
    std::string what;
    std::optional<BenchSheet> sheet; ///< With the change made; not kept in a plan's file.
};

/// The answer to a bench sheet. Self-contained: who runs it needs no shelf.
struct HeatPlan {
    BenchSheet sheet;
    int heat = 1, ofHeats = 1;         ///< Place among the heats of its job.
    bool runnable = false;             ///< Every limit that is no habit is kept in every scenario.
    std::vector<std::string> refusals; ///< Reasons not to run that are no number, e.g. an alloy rule.
    std::vector<std::string> warnings;
    std::vector<double>
        timeS; ///< Profile time, 0 to end, rising; 1 s apart, in the hold of a bake up to 60 s.
    std::vector<double> plateC;    ///< Plate body reference.
    std::vector<double> duty;      ///< Feed-forward as stated, 0 to 1, held from each time to the next;
                                   ///< already ahead of plateC by the element's lag. 0 from heaterOffS on.
    double heaterOffS = 0;         ///< No heat from here on, whatever the loop says.
    std::optional<double> liftAtS; ///< Planned moment of lifting the strip off.
    std::optional<HandTimes>
        hands; ///< When the hands are done with each target, where they work on liquid joints.
    std::vector<NewLed> newLeds;   ///< In a Swap heat.
    std::vector<PlanCurve> curves; ///< Targets' joints and bodies, protected parts.
    std::vector<JointModel> joints;
    std::vector<PartModel> parts;   ///< Smallest margin first, at most partModelsMost.
    std::vector<MarginRow> margins; ///< Worst first.
    std::vector<SitePasses> passes; ///< Of every site that has an LED after the heat, in order.
    std::vector<Stage> stages;
    std::vector<HandCard> cards;
    std::vector<Suggestion> suggestions;
    double safeBelowC = 45; ///< Log and wait until plate and strip are below.
    double tripAboveC = 0;  ///< Plate temperature at which heat goes off at once.
    /// What a plate with a loop of its own comes to, at most, when all that drives it dies at the worst
    /// moment.
    std::optional<double> leftAloneAtMostC;
};

nlohmann::json toJson(const HeatPlan& plan);

/// Throws BadInput with every problem. A plan that is not runnable reads well; running it is refused
/// elsewhere.
HeatPlan readHeatPlan(const std::string& text, const std::string& fileName);

} // namespace stripwright
