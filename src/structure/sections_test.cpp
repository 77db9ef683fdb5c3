// Covers sections: solid ones against integrals over their area, tubes in closed form, holed bars in their limits;
// their stiffness is judged in calculix_test.cpp.
#include "structure/sections.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "base/check.h"

using namespace structure;  // NOLINT: a test of one namespace

namespace {

/// Area and second moments by counting small cells.
template <class Inside>
BarSection counted(double half, const Inside& inside) {
  constexpr int kCells = 1200;
  const double cell = 2 * half / kCells;
  BarSection out;
  for (int i = 0; i < kCells; ++i) {
    for (int j = 0; j < kCells; ++j) {
      const double y = (i + 0.5) * cell - half, z = (j + 0.5) * cell - half;
      if (!inside(y, z)) continue;
      out.area_mm2 += cell * cell;
      out.second_y_mm4 += z * z * cell * cell;
      out.second_z_mm4 += y * y * cell * cell;
    }
  }
  return out;
}

void expect_near(const BarSection& a, const BarSection& b, double relative) {
  EXPECT_NEAR(a.area_mm2, b.area_mm2, relative * b.area_mm2);
  EXPECT_NEAR(a.second_y_mm4, b.second_y_mm4, relative * b.second_y_mm4);
  EXPECT_NEAR(a.second_z_mm4, b.second_z_mm4, relative * b.second_z_mm4);
}

}  // namespace

TEST(Sections, SolidOnesAreTheIntegralsOverTheirArea) {
  expect_near(bar_section({Form::rectangle, 8, 5}),
              counted(4, [](double y, double z) { return std::fabs(z) < 4 && std::fabs(y) < 2.5; }), 4e-3);
  expect_near(bar_section({Form::round, 5}), counted(2.5, [](double y, double z) { return std::hypot(y, z) < 2.5; }),
              2e-3);
  expect_near(bar_section({Form::cross, 4.8, 1.8}),
              counted(2.4, [](double y, double z) { return std::fabs(y) < 0.9 || std::fabs(z) < 0.9; }), 4e-3);
  expect_near(tube_section(4.8, 3),
              counted(2.4, [](double y, double z) { return std::hypot(y, z) < 2.4 && std::hypot(y, z) > 1.5; }), 3e-3);
  expect_near(box_section(24, 32, 1.5),
              counted(16, [](double y,
                             double z) { return std::fabs(z) < 12 && !(std::fabs(z) < 10.5 && std::fabs(y) < 14.5); }),
              6e-3);
}

TEST(Sections, CrossKeepsItsOwnTorsionConstant) {
  // The handbook "cross shaft" would be 43 % stiffer at t = w/2 (STRUCT-05 and the trap beside it).
  EXPECT_NEAR(bar_section({Form::cross, 2, 1}).torsion_mm4, 1.064, 0.003);
  EXPECT_LT(bar_section({Form::cross, 4.8, 1.8}).torsion_mm4,
            0.6 * 2 * bar_section({Form::cross, 4.8, 1.8}).second_y_mm4);
}

TEST(Sections, TubeSeamGoesFromOpenToClosed) {
  // Bredt against strips: a closed thin tube is hundreds of times stiffer than the same tube slit open.
  const double h = 20, b = 30, t = 0.5;
  EXPECT_NEAR(box_section(h, b, t, 0).torsion_mm4, 2 * (19.5 + 29.5) * t * t * t / 3, 1e-9);
  EXPECT_NEAR(box_section(h, b, t, 1).torsion_mm4, 4 * std::pow(19.5 * 29.5, 2) * t / (2 * (19.5 + 29.5)), 1e-9);
  EXPECT_GT(box_section(h, b, t, 1).torsion_mm4, 500 * box_section(h, b, t, 0).torsion_mm4);
  // Round tube: both second moments together are the torsion constant.
  const BarSection tube = tube_section(4.8, 3);
  EXPECT_NEAR(tube.torsion_mm4, tube.second_y_mm4 + tube.second_z_mm4, 1e-12);
}

TEST(Sections, HoledBarLiesBetweenItsLigamentsAndSolid) {
  for (const double d : {1.0, 2.5, 4.0, 4.9, 6.0}) {
    const BarSection holed = holed_section({7.8, 7.4, d, 8}), solid = bar_section({Form::rectangle, 7.8, 7.4});
    const double ligaments = 7.4 * (7.8 - d);
    EXPECT_LT(holed.area_mm2, solid.area_mm2);
    EXPECT_GT(holed.area_mm2, ligaments);
    EXPECT_GT(holed.second_y_mm4, 7.4 * (std::pow(7.8, 3) - std::pow(d, 3)) / 12 * 0.98);
    EXPECT_LT(holed.second_y_mm4, solid.second_y_mm4);
    EXPECT_LT(holed.second_z_mm4, solid.second_z_mm4);
    EXPECT_GT(holed.second_z_mm4, ligaments * 7.4 * 7.4 / 12);
    EXPECT_LT(holed.torsion_mm4, solid.torsion_mm4);
  }
  const BarSection none = holed_section({7.8, 7.4, 0, 8}), solid = bar_section({Form::rectangle, 7.8, 7.4});
  expect_near(none, solid, 1e-12);
  EXPECT_NEAR(none.torsion_mm4, solid.torsion_mm4, 1e-9);
  // Holes far apart hardly matter.
  EXPECT_NEAR(holed_section({8, 8, 4, 400}).area_mm2, 64, 0.02 * 64);
  EXPECT_THROW((void)holed_section({8, 8, 7, 8}), base::InternalFault);
  EXPECT_THROW((void)holed_section({8, 9, 4, 8}), base::InternalFault);
}

TEST(Sections, LooseBarsSideBySideAddUp) {
  const BarSection one = bar_section({Form::rectangle, 8, 4}), three = loose_stack(one, 3);
  EXPECT_DOUBLE_EQ(three.second_y_mm4, 3 * one.second_y_mm4);
  EXPECT_DOUBLE_EQ(three.second_z_mm4, 3 * one.second_z_mm4);
}
