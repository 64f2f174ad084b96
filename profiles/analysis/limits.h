#pragma once

#include "analysis/hand_times.h"
#include "analysis/metrics.h"
#include "materials/bench_sheet.h"
#include "thermal/station.h"

#include <string>
#include <vector>

namespace stripwright {

/// What is measured of a station's curve.
enum class Metric {
    SteepestRise,   ///< K/s over slopeWindowS
    SoakTime,       ///< s in the paste's band on the way up
    TimeAbove,      ///< s at or above levelC
    Peak,           ///< °C
    MeanCooling,    ///< K/s, peak to levelC
    SteepestFall,   ///< K/s over slopeWindowS
    TimeToPeak,     ///< s from 25 °C or start + 5 K
    LiquidForHands, ///< s from when every joint is liquid to the last fall below levelC
    Wetting, ///< s from when the solder under an LED just set down has melted to the last fall below levelC
    SpentBefore, ///< s from the first rise through levelC until the last LED is set down
    Shock,       ///< K, joint over new LED at set-down
};

/// One thing that must hold, about one station. `id` is stable: "joint_6/above_liquidus", "lens_5/peak".
struct Limit {
    std::string id;
    StationId station;
    std::string what; ///< In words: "time above liquidus, site 6".
    Metric metric = Metric::Peak;
    double levelC = 0;      ///< For times above and MeanCooling; lower edge of the band for SoakTime.
    double upperLevelC = 0; ///< Upper edge of the band for SoakTime.
    std::optional<double> min, max;
    bool habit = false;    ///< Trade habit: shown and aimed at, but breaking it does not forbid the run.
    bool protects = false; ///< About a part that is to survive, not about a joint that is to be made.
    double skipS = 0;      ///< Left out from the beginning of the station's curve.
    std::optional<double> onlyIfReachesC; ///< Of a curve that stays below, nothing is asked.
    std::optional<double> untilReachesC;  ///< Measured until the curve first rises through it, not beyond.

    bool needsHands() const; ///< Cannot be measured without knowing when the hands did what.

    const char* unit() const;  ///< "K/s", "s", "K" or "°C".
    double halfWindow() const; ///< Scale of the normalised margin: half of max - min, or a tenth of a lone
                               ///< limit (a temperature's counted from 25 °C).
};

/// The part of its station's curve that a limit is about: by skipS and untilReachesC.
Curve partToMeasure(const Limit& limit, Curve curve);

/// The limit's metric taken from a curve of its station; none if the curve has no such value (never reached),
/// or if hands are needed and not given.
std::optional<double> measure(const Limit& limit, Curve curve, const SiteWork* work = nullptr);

bool applies(const Limit& limit, Curve curve); ///< Whether anything is asked of it: Limit::onlyIfReachesC.

/// Distance to the nearest side, positive inside; a value that is none counts as missing its min by all of
/// it.
double marginOf(const Limit& limit, std::optional<double> value);

/// A limit with what a plan predicts or a run measured.
struct MarginRow {
    Limit limit;
    std::optional<double> low, nominal, high; ///< As it gets coldest, as stated, and hottest; a measured run
                                              ///< fills nominal only.
    double margin = 0;                        ///< Worst of those present, in the limit's unit (K for °C).
    double normalisedMargin = 0;              ///< margin / halfWindow.
};

/// A station's curve, and for a limit that needs it what the hands did there.
struct Judged {
    Curve curve;
    std::optional<SiteWork> work = {};
};

/// A limit judged on the curves of its station that there are. A curve without the metric counts as in
/// marginOf(); with no curve at all, or none of which anything is asked, nothing is judged, and the margin is
/// infinite.
MarginRow marginRow(const Limit& limit, std::optional<Judged> low, std::optional<Judged> nominal,
                    std::optional<Judged> high);

bool aboutNewLed(const Limit& limit);

/// Site whose lens or its glue the limit protects; 0: it is about something else.
int lensSiteOf(const Limit& limit);

/// Sites whose lens breaks a limit that is no habit, rising.
std::vector<int> lostLenses(const std::vector<MarginRow>& rows);

/// Worst normalised margin first; limits before habits when both are broken.
void sortWorstFirst(std::vector<MarginRow>& rows);

} // namespace stripwright
