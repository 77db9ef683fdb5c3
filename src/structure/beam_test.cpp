// Covers closed beam formulas against published numbers and against integrating the moment twice.
#include "structure/beam.h"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <utility>
#include <vector>

using structure::Form;
using structure::second_moment_mm4;

namespace {

/// Deflection of a simply supported beam by integrating M/(E I) twice; returns its largest value and place.
structure::Deflection integrated(double length, double ei, const std::function<double(double)>& moment) {
  constexpr int kSteps = 40000;
  const double dx = length / kSteps;
  double slope = 0, w = 0;
  std::vector<double> curve(kSteps + 1, 0.0);
  for (int i = 0; i < kSteps; ++i) {
    const double bend = moment((i + 0.5) * dx) / ei;
    w += slope * dx - bend * dx * dx / 2;
    slope -= bend * dx;
    curve[static_cast<std::size_t>(i) + 1] = w;
  }
  structure::Deflection out;
  for (int i = 0; i <= kSteps; ++i) {
    const double value = curve[static_cast<std::size_t>(i)] - w * i / kSteps;  // tilt back so that both ends rest
    if (value > out.value_mm) out = {value, i * dx};
  }
  return out;
}

}  // namespace

TEST(Beam, PublishedCases) {
  // STRUCT-06: Roark, Shigley Table A-9; recomputed, 1e-4 relative. E = 2300 MPa.
  const double upright = second_moment_mm4({Form::rectangle, 8, 4}),
               square = second_moment_mm4({Form::rectangle, 8, 8});
  EXPECT_NEAR(structure::cantilever_tip_mm(2, 50, 2300, upright), 0.21230, 2.1e-5);
  EXPECT_NEAR(structure::simple_beam_point(10, 160, 80, 2300, square).value_mm, 1.08696, 1.1e-4);
  EXPECT_NEAR(structure::simple_beam_uniform_mm(0.05, 160, 2300, square), 0.54348, 5.4e-5);
  const auto off = structure::simple_beam_point(10, 160, 40, 2300, square);
  EXPECT_NEAR(off.value_mm, 0.75953, 7.6e-5);
  EXPECT_NEAR(off.at_mm, 70.557, 1e-3);
}

TEST(Beam, DeflectionsMatchIntegratingTheMoment) {
  const double ei = 2300 * 341.0;
  for (const double a : {15.0, 40.0, 80.0, 130.0}) {
    const auto numeric =
        integrated(160, ei, [&](double x) { return x < a ? 10 * (160 - a) / 160 * x : 10 * a / 160 * (160 - x); });
    const auto closed = structure::simple_beam_point(10, 160, a, 2300, 341);
    EXPECT_NEAR(closed.value_mm, numeric.value_mm, 1e-5);
    EXPECT_NEAR(closed.at_mm, a <= 80 ? numeric.at_mm : 160 - numeric.at_mm, 0.02);
  }
  const auto uniform = integrated(160, ei, [](double x) { return 0.05 * x * (160 - x) / 2; });
  EXPECT_NEAR(structure::simple_beam_uniform_mm(0.05, 160, 2300, 341), uniform.value_mm, 1e-5);
}

TEST(Beam, CantileverTipIsTheCurvesEnd) {
  EXPECT_DOUBLE_EQ(structure::cantilever_deflection_mm(3, 70, 70, 2000, 50),
                   structure::cantilever_tip_mm(3, 70, 2000, 50));
  const double h = 1e-4;
  const double slope = (structure::cantilever_deflection_mm(3, 70, 70, 2000, 50) -
                        structure::cantilever_deflection_mm(3, 70, 70 - h, 2000, 50)) /
                       h;
  EXPECT_NEAR(structure::cantilever_tip_slope_rad(3, 70, 2000, 50), slope, 1e-7);
  // A uniform load is many small end loads: integral of w_tip for a load at x.
  double sum = 0;
  for (int i = 0; i < 1000; ++i) {
    const double x = (i + 0.5) * 0.07;
    const double at_x = structure::cantilever_tip_mm(0.2 * 0.07, x, 2000, 50);
    sum += at_x + structure::cantilever_tip_slope_rad(0.2 * 0.07, x, 2000, 50) * (70 - x);
  }
  EXPECT_NEAR(structure::cantilever_uniform_tip_mm(0.2, 70, 2000, 50), sum, 1e-4 * sum);
}

TEST(Beam, EulerColumnOfTheTimberExample) {
  // STRUCT-07: Beer & Johnston, Mechanics of Materials (statement askfilo.com 3335323039353136, numbers from memory).
  for (const auto& [load_n, side_mm] : {std::pair{100e3, 98.34}, std::pair{200e3, 116.95}}) {
    const double i = second_moment_mm4({Form::rectangle, side_mm, side_mm});
    EXPECT_NEAR(structure::euler_load_n(2000, 13000, i) / 2.5, load_n, 5e-4 * load_n);
  }
  EXPECT_NEAR(structure::euler_load_n(100, 2000, 50, 2), structure::euler_load_n(200, 2000, 50), 1e-12);
}
