#pragma once

#include "analysis/metrics.h"
#include "materials/bench_sheet.h"

#include <string>
#include <vector>

namespace stripwright {

/// What is measured of a station's curve.
enum class Metric {
    SteepestRise, ///< K/s over slopeWindowS
    SoakTime,     ///< s in the paste's band on the way up
    TimeAbove,    ///< s at or above levelC
    Peak,         ///< °C
    MeanCooling,  ///< K/s, peak to levelC
    SteepestFall, ///< K/s over slopeWindowS
    TimeToPeak,   ///< s from 25 °C or start + 5 K
};

/// One thing that must hold, about one station. `id` is stable: "joint_6/above_liquidus", "lens_5/peak".
struct Limit {
    std::string id;
    std::string station; ///< "joint_6", "body_6", "glue_5", "lens_5", "plate", "dielectric".
    std::string what;    ///< In words: "time above liquidus, site 6".
    Metric metric = Metric::Peak;
    double levelC = 0;      ///< For TimeAbove and MeanCooling; lower edge of the band for SoakTime.
    double upperLevelC = 0; ///< Upper edge of the band for SoakTime.
    std::optional<double> min, max;
    bool habit = false;    ///< Trade habit: shown and aimed at, but breaking it does not forbid the run.
    bool protects = false; ///< About a part that is to survive, not about a joint that is to be made.

    const char* unit() const;  ///< "K/s", "s" or "°C".
    double halfWindow() const; ///< Scale of the normalised margin: half of max - min, or a tenth of a lone
                               ///< limit (a temperature's counted from 25 °C).
};

/// Every limit of a sheet: what its kind of heat needs (where joints melt the paste's windows for each target
/// joint, none in a Remove heat, and the old alloy's need; else releaseLimits or bakeLimits), and the caps of
/// every part that stays. A side that is trade habit
/// gives a limit with habit = true; where a sourced one stands beside it, its id ends in
/// "_habit".
std::vector<Limit> limitsOf(const BenchSheet& sheet);

/// The limit's metric taken from a curve of its station; none if the curve has no such value (never reached).
std::optional<double> measure(const Limit& limit, Curve curve);

/// Distance to the nearest side, positive inside; a value that is none counts as missing its min by all of
/// it.
double marginOf(const Limit& limit, std::optional<double> value);

/// A limit with what a plan predicts or a run measured.
struct MarginRow {
    Limit limit;
    std::optional<double> low, nominal,
        high;                      ///< For low, nominal and high contact; a measured run fills nominal only.
    std::optional<double> warmAir; ///< For high contact in a warmer room with thinner films; parts only.
    double margin = 0;             ///< Worst of those present, in the limit's unit (K for °C).
    double normalisedMargin = 0;   ///< margin / halfWindow.
};

/// A limit judged on the curves of its station that there are. A curve without the metric counts as in
/// marginOf(); with no curve at all nothing is judged, and the margin is infinite.
MarginRow marginRow(const Limit& limit, std::optional<Curve> low, std::optional<Curve> nominal,
                    std::optional<Curve> high, std::optional<Curve> warmAir = {});

/// Site whose lens or its glue the limit protects; 0: it is about something else.
int lensSiteOf(const Limit& limit);

/// Sites whose lens breaks a limit that is no habit, rising.
std::vector<int> lostLenses(const std::vector<MarginRow>& rows);

/// Worst normalised margin first; limits before habits when both are broken.
void sortWorstFirst(std::vector<MarginRow>& rows);

} // namespace stripwright
