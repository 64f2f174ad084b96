#pragma once

namespace stripwright {

/// Free convection of air at the two faces of a horizontal strip [W/m²K]: up-face Nu = 0.96 Ra^1/6 below Ra
/// 200, 0.59 Ra^1/4 to 10⁴, 0.54 Ra^1/4 above; down-face 0.27 Ra^1/4; L = width / 2, air at the film
/// temperature (heat-transfer textbooks). Within about 25 %.
struct FreeConvection {
    double upWPerM2K = 0, downWPerM2K = 0;
};
FreeConvection freeConvection(double stripWidthMm, double surfaceC, double airC);

} // namespace stripwright
