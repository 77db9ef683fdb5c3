#include "structure/sections.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "base/check.h"
#include "structure/beam.h"

namespace structure {
namespace {

constexpr double kPi = std::numbers::pi;

/// Shares of the solid bar's A, I_y, I_z, K that a square cell with a round hole keeps; C3D20R bricks in CalculiX,
/// whole cells in a row, Poisson's ratio 0.353. Halving the bricks changes them by 0.2 %. The program that made them is
/// the disabled case in calculix_test.cpp.
using CellShares = std::array<double, 4>;
constexpr std::array<double, 7> kHoleShare{0, 0.2, 0.35, 0.5, 0.6, 0.7, 0.8};
constexpr std::array<double, 4> kBreadthShare{0.125, 0.25, 0.5, 1};
constexpr CellShares kWhole{1, 1, 1, 1};
constexpr std::array<std::array<CellShares, 7>, 4> kCells{{
    {{kWhole,
      {0.9134, 0.9982, 0.9359, 0.9454},
      {0.7636, 0.9826, 0.8209, 0.8513},
      {0.5918, 0.9281, 0.6675, 0.7173},
      {0.4779, 0.8549, 0.5535, 0.6061},
      {0.3653, 0.7428, 0.4356, 0.4749},
      {0.2527, 0.5837, 0.3157, 0.3184}}},
    {{kWhole,
      {0.9143, 0.9982, 0.9293, 0.9281},
      {0.7644, 0.9827, 0.8076, 0.8121},
      {0.5923, 0.9285, 0.6509, 0.6535},
      {0.4784, 0.8554, 0.5371, 0.5253},
      {0.3658, 0.7434, 0.4206, 0.3799},
      {0.2533, 0.5847, 0.3023, 0.2217}}},
    {{kWhole,
      {0.9162, 0.9983, 0.9226, 0.9116},
      {0.7672, 0.9831, 0.7903, 0.7675},
      {0.5947, 0.9295, 0.6278, 0.5801},
      {0.4804, 0.8571, 0.5136, 0.4379},
      {0.3675, 0.7457, 0.3984, 0.2897},
      {0.2548, 0.5875, 0.2816, 0.1502}}},
    {{kWhole,
      {0.9178, 0.9983, 0.9189, 0.9279},
      {0.7715, 0.9833, 0.7773, 0.7904},
      {0.5999, 0.9308, 0.6089, 0.5945},
      {0.4851, 0.8596, 0.4944, 0.4416},
      {0.3715, 0.7497, 0.3802, 0.2854},
      {0.2579, 0.5927, 0.2653, 0.1455}}},
}};

/// Lagrange's cubic through the four rows [first, first + 4) around `at`.
template <std::size_t N>
std::size_t first_of_four(const std::array<double, N>& rows, double at) {
  std::size_t first = 0;
  while (first + 4 < N && at > rows[first + 2]) ++first;
  return first;
}
template <std::size_t N>
double weight(const std::array<double, N>& rows, std::size_t first, std::size_t i, double at) {
  double w = 1;
  for (std::size_t j = first; j < first + 4; ++j) {
    if (j != i) w *= (at - rows[j]) / (rows[i] - rows[j]);
  }
  return w;
}

/// Cubic in the hole's share and in the logarithm of the breadth's.
CellShares cell_shares(double hole, double breadth) {
  std::array<double, 4> logs{};
  for (std::size_t i = 0; i < 4; ++i) logs[i] = std::log2(kBreadthShare[i]);
  const std::size_t first = first_of_four(kHoleShare, hole);
  CellShares out{};
  for (std::size_t row = 0; row < 4; ++row) {
    const double across = weight(logs, 0, row, std::log2(breadth));
    for (std::size_t i = first; i < first + 4; ++i) {
      const double w = across * weight(kHoleShare, first, i, hole);
      for (std::size_t k = 0; k < 4; ++k) out[k] += w * kCells[row][i][k];
    }
  }
  return out;
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
  const double h = bar.height_mm, b = bar.breadth_mm, d = bar.hole_mm, p = bar.pitch_mm;
  KW_CHECK(h > 0 && b > 0 && p > 0 && d >= 0, "a holed bar has a height, a breadth and a pitch");
  // A billionth of slack, so that sizes computed from pitches do not trip over rounding.
  KW_CHECK(d <= kHoleShare.back() * h * (1 + 1e-9), "a hole is at most 0.8 of its bar's height");
  KW_CHECK(h <= p * (1 + 1e-9) && b <= h * (1 + 1e-9), "a bar is no higher than its pitch and no broader than high");
  const BarSection solid = bar_section({Form::rectangle, h, b});
  const CellShares cell = cell_shares(d / h, std::clamp(b / h, kBreadthShare.front(), kBreadthShare.back()));
  // Cell and solid rest of the pitch in a row: flexibilities add up.
  const auto mixed = [&](double value, double share) { return p / (h / (share * value) + (p - h) / value); };
  return {mixed(solid.area_mm2, cell[0]), mixed(solid.second_y_mm4, cell[1]), mixed(solid.second_z_mm4, cell[2]),
          mixed(solid.torsion_mm4, cell[3])};
}

BarSection loose_stack(const BarSection& one, int count) {
  KW_CHECK(count >= 1, "a stack holds at least one bar");
  return {one.area_mm2 * count, one.second_y_mm4 * count, one.second_z_mm4 * count, one.torsion_mm4 * count};
}

}  // namespace structure
