#pragma once

#include "materials/materials.h"

namespace stripwright {

/// What is known of the plate that a heat is to run on: from its link, as far as it was learnt.
struct ConnectedPlate {
    std::string name;
    /// Learnt on it, as a plate type's figures; size, highest temperature and id mean nothing here.
    std::optional<PlateType> learnt;
    std::optional<double> capacityError, lossError, lagError; ///< Standard errors as shares.
    bool fanLearnt = false, switchesFan = false;
    bool bySetpoint = false;    ///< Its own loop drives its heater.
    double watchdogProvenS = 0; ///< Silence after which it was found cut; 0: never tried.
    bool hasWatchdog = false;
};

/// Where the plate that a plan was made for and the one that is connected differ by more than is known of
/// both, each in a sentence with both figures: "planned for bench-plate-100: 194 J/K; this plate: 243 J/K
/// (+25 %)". Empty: nowhere. `fan`: the plan has it blow.
std::vector<std::string> plateDifferences(const PlateType& planned, const ConnectedPlate& plate,
                                          double ambientC, bool fan);

} // namespace stripwright
