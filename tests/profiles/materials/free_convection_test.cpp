#include "materials/free_convection.h"

#include <gtest/gtest.h>

namespace stripwright {
namespace {

struct Film {
    double widthMm, surfaceC, up, down;
};

// Computed from textbook correlations and tabulated air at 25 °C ambient, printed to whole W/m²K.
class FreeConvectionFilm : public testing::TestWithParam<Film> {};
TEST_P(FreeConvectionFilm, IsThatOfTheTextbookTable)
{
    const FreeConvection film = freeConvection(GetParam().widthMm, GetParam().surfaceC, 25);
    EXPECT_NEAR(film.upWPerM2K, GetParam().up, 0.6);
    EXPECT_NEAR(film.downWPerM2K, GetParam().down, 0.6);
}
INSTANTIATE_TEST_SUITE_P(Widths, FreeConvectionFilm,
                         testing::Values(Film{10, 100, 16, 7}, Film{10, 150, 18, 8}, Film{15, 100, 15, 7},
                                         Film{15, 150, 16, 8}, Film{20, 100, 14, 6}, Film{20, 150, 15, 7},
                                         Film{30, 100, 11, 6}, Film{30, 150, 13, 6}));

} // namespace
} // namespace stripwright
