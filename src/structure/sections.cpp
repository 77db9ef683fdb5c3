#include "structure/sections.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/check.h"
#include "structure/beam.h"

namespace structure {
namespace {

constexpr double kPi = std::numbers::pi;

double rectangle_torsion_mm4(double a_mm, double b_mm) {
  return torsion_constant_mm4({Form::rectangle, a_mm, b_mm});
}

}  // namespace

BarSection bar_section(const Section& s) {
  const double w = s.width_mm, t = s.thick_mm, k = torsion_constant_mm4(s);
  switch (s.form) {
    case Form::round:
      return {kPi * w * w / 4, second_moment_mm4(s), second_moment_mm4(s), k};
    case Form::rectangle:
      return {w * t, second_moment_mm4(s), w * t * t * t / 12, k};
    case Form::cross:
      return {(2 * w - t) * t, second_moment_mm4(s), second_moment_mm4(s), k};
  }
  return {};
}

BarSection tube_section(double diameter_mm, double bore_mm) {
  KW_CHECK(bore_mm >= 0 && bore_mm < diameter_mm, "a tube's bore is smaller than the tube");
  const double fourth = std::pow(diameter_mm, 4) - std::pow(bore_mm, 4);
  return {kPi * (diameter_mm * diameter_mm - bore_mm * bore_mm) / 4, kPi * fourth / 64, kPi * fourth / 64,
          kPi * fourth / 32};
}

BarSection box_section(double height_mm, double breadth_mm, double wall_mm, double seam) {
  KW_CHECK(wall_mm > 0 && 2 * wall_mm < std::min(height_mm, breadth_mm), "a tube's walls leave room between them");
  KW_CHECK(seam >= 0 && seam <= 1, "a seam carries a share between 0 and 1");
  const double h = height_mm, b = breadth_mm, t = wall_mm, hi = h - 2 * t, bi = b - 2 * t;
  const double perimeter_mm = 2 * (h - t + b - t);
  const double enclosed_mm2 = (h - t) * (b - t);
  const double open_mm4 = perimeter_mm * t * t * t / 3;
  const double closed_mm4 = 4 * enclosed_mm2 * enclosed_mm2 * t / perimeter_mm;
  return {h * b - hi * bi, (b * h * h * h - bi * hi * hi * hi) / 12, (h * b * b * b - hi * bi * bi * bi) / 12,
          open_mm4 + seam * (closed_mm4 - open_mm4)};
}

BarSection holed_section(const HoledBar& bar) {
  const double h = bar.height_mm, b = bar.breadth_mm, r = bar.hole_mm / 2, p = bar.pitch_mm;
  KW_CHECK(h > 0 && b > 0 && p > 0, "a holed bar has a height, a breadth and a pitch");
  KW_CHECK(bar.hole_mm >= 0 && bar.hole_mm < h && bar.hole_mm <= p, "a hole is smaller than its bar and its pitch");
  const BarSection solid = bar_section({Form::rectangle, h, b});
  if (r == 0) return solid;
  // Flexibilities over the hole by the midpoint rule in the angle x = r sin(a), where the integrand is smooth; the
  // solid rest of the pitch adds its own. 64 slices are beyond the accuracy of the model by far.
  constexpr int kSlices = 64;
  double area = 0, second_y = 0, second_z = 0, torsion = 0;
  for (int i = 0; i < kSlices; ++i) {
    const double angle = (i + 0.5) / kSlices * kPi / 2;
    const double chord = 2 * r * std::cos(angle), dx = 2 * r * std::cos(angle) * kPi / 2 / kSlices;
    const double t = (h - chord) / 2, e = (h + chord) / 4;
    area += dx / (2 * b * t);
    second_y += dx / (b * (h * h * h - chord * chord * chord) / 12);
    second_z += dx / (2 * t * b * b * b / 12);
    torsion += dx / std::min(solid.torsion_mm4, 2 * rectangle_torsion_mm4(b, t) + 2 * e * e * 5 / 6 * b * t);
  }
  const double rest = p - 2 * r;
  return {p / (area + rest / solid.area_mm2), p / (second_y + rest / solid.second_y_mm4),
          p / (second_z + rest / solid.second_z_mm4), p / (torsion + rest / solid.torsion_mm4)};
}

BarSection loose_stack(const BarSection& one, int count) {
  KW_CHECK(count >= 1, "a stack holds at least one bar");
  return {one.area_mm2 * count, one.second_y_mm4 * count, one.second_z_mm4 * count, one.torsion_mm4 * count};
}

}  // namespace structure
