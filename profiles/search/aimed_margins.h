#pragma once

#include "search/limit_rows.h"
#include "search/minimax_step.h"
#include "search/unit_response.h"
#include "search/whole_model.h"

#include <set>

namespace stripwright {

/// The margins a search steers by, of any plate curve in microseconds: superposed unit responses, plus what
/// the whole model last had over them. Of many like limits those near the worst are watched.
class AimedMargins {
public:
    /// Curves are superposed in steps of stepS about a level of typicalC.
    AimedMargins(const HeatTask& task, double stepS, double endS, double typicalC,
                 const std::optional<StripDraw>& draw = {});

    const StripDraw& draw() const { return draw_; } ///< If none was given, the model's once it has learnt.
    double stepS() const { return stepS_; }

    void learn(const PredictedHeat& answer); ///< Watches what is near its limit there, and is right about it.
    void correctBy(const PredictedHeat& answer); ///< Only is right about it; its steps may be finer.
    void giveUpParts(const PredictedHeat& answer, double below);

    /// A plate curve with what the watched stations make of it, one after the other.
    struct WatchedCurves {
        std::vector<double> plateC, bendsS;
        std::vector<double> stationsC;
    };
    WatchedCurves superpose(const PlateReference& reference) const;

    /// The aims, then what each bend of the plate curve may make of them: slopes before and after it, and how
    /// clear a joint's curve is of levels there. For curves of as many bends the same rows, until something
    /// is learnt or given up.
    std::vector<AimedMargin> of(const WatchedCurves& curves) const;

    double merit(const Merit& merit, const PredictedHeat& answer) const;
    double worst(const PredictedHeat& answer) const; ///< Normalised, of jobs and parts not given up.

private:
    /// A limit as the search sees it, with the columns of the response that decide it.
    struct Aim {
        Limit limit;
        AimKind kind;
        std::vector<size_t> curves; ///< Places in watched_. None: about the plate itself.
        size_t ofHands = 0;         ///< Place of its site among the hands'.
    };

    static std::vector<Level> clearOf(const Aim& aim);
    static bool ofSlopes(const Aim& aim);
    void watch(const PredictedHeat& answer);
    void watch(const Limit& limit);
    size_t watch(const Column& column); ///< Place in watched_.
    std::optional<HandTimes> handsOf(const WatchedCurves& curves) const;
    void addResidue(double heaterOffS, size_t samples, std::vector<double>& stationsC) const;
    std::vector<AimedMargin> marginsOf(const PredictedHeat& answer) const; ///< One an aim.

    const HeatTask& task_;
    const BenchSheet& sheet_;
    const double stepS_, endS_, typicalC_;
    UnitResponse response_;
    const bool drawIsGiven_;
    StripDraw draw_;
    std::vector<Aim> aims_;
    std::vector<size_t> watched_;    ///< Columns of the response.
    std::set<std::string> givenUp_;  ///< Ids of limits.
    std::vector<size_t> handJoints_; ///< Places in watched_ of the hands' joints as they get coldest.
    std::vector<std::vector<double>> startC_; ///< Of new LEDs by scenario and site, as last predicted.
    std::vector<double> timeS_, residue_;
    size_t residueSamples_ = 0;
    double residueOffS_ = 0;
};

} // namespace stripwright
