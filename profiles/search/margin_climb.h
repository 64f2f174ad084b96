#pragma once

#include "search/aimed_margins.h"
#include "search/candidate_curve.h"

namespace stripwright {

/// Climbs the merit of a candidate in steps of at first `reach` strides, each by a linear program: margins
/// are nearly linear as long as no curve loses or gains a crossing, and the box shrinks where they were not.
/// Returns the merit reached, by superposition.
double climb(CandidateCurve& candidate, const AimedMargins& margins, const Merit& merit, double reach);

} // namespace stripwright
