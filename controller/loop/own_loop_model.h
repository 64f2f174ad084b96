#pragma once

#include "materials/materials.h"

namespace stripwright {

/// The loop inside a plate, followed from outside by what it was told and what it reads, and turned round:
/// which set-point makes it give a wanted duty. Its integral is no unknown then: it is what the set-points so
/// far have made of it. Starts as a loop at rest.
class OwnLoopModel {
public:
    explicit OwnLoopModel(const OwnLoopFigures& figures) : figures_(figures) {}

    /// The loop has had this set-point for dtS, while its reading went from the last one to this.
    /// Returns the mean duty it gave meanwhile, 0 to mostDuty.
    double advance(double setpointC, double readingC, double dtS);
    /// As advance(), and the plate tells what it gives: what the integral must be follows from that.
    void correct(double setpointC, double readingC, double toldDuty);
    void rest(double readingC); ///< Told to give no heat: its integral is forgotten.

    double setpointForC(double duty, double readingC) const; ///< By its present state, unbounded.
    double furthestC(double inS) const; ///< That the set-point it works by can be in so long; any: infinity.
    double duty(double setpointC, double readingC) const;    ///< By its present state.
    double unclipped(double setpointC, double readingC) const; ///< What duty() would be without bounds.

private:
    double worksByC(double setpointC, double readingC) const;

    OwnLoopFigures figures_;
    double integral_ = 0, slopeCPerS_ = 0;
    double lastC_ = 0;
    std::optional<double> rampedC_; // where its own ramp has brought the set-point; none: heat has not begun
    bool started_ = false;
};

} // namespace stripwright
