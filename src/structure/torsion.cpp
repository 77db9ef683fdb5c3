#include "structure/torsion.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>

#include "base/check.h"
#include "base/text.h"

namespace structure {
namespace {

constexpr double kPi = std::numbers::pi;

/// Series of Timoshenko & Goodier for a rectangle a >= b: K = c2 a b^3, tau = T/(c1 a b^2).
struct RectangleFactors {
  double c1, c2;
};
RectangleFactors rectangle_factors(double a, double b) {
  const double ratio = a / b;
  double k_sum = 0, tau_sum = 0;
  // Terms fall with n^-5 and with 1/cosh; 60 odd terms are beyond double precision.
  for (int n = 1; n < 120; n += 2) {
    const double x = n * kPi * ratio / 2;
    k_sum += std::tanh(x) / std::pow(n, 5);
    tau_sum += 1 / (double(n) * n * std::cosh(std::min(x, 700.0)));
  }
  const double c2 = (1 - 192 / (std::pow(kPi, 5) * ratio) * k_sum) / 3;
  const double peak = 1 - 8 / (kPi * kPi) * tau_sum;  // tau = G theta b * peak
  return {c2 / peak, c2};
}

/// K/w^4 of a cross with straight arms over t/w: STRUCT-05, own finite differences, three grids extrapolated.
constexpr std::size_t kRows = 7;
constexpr std::array<double, kRows> kArm = {0.25, 0.30, 0.40, 0.50, 0.60, 0.75, 1.0};
constexpr std::array<double, kRows> kCross = {0.01005, 0.01712, 0.03823, 0.06651, 0.09598, 0.12835, 0.14058};

/// Two crossed strips, the classic lower bound; K over it changes slowly, so it is what gets interpolated.
double crossed_strips(double arm_share) {
  return (2 - arm_share) * arm_share * arm_share * arm_share / 3;
}

/// Within 0.3 % of fresh finite differences between the rows (see the test).
double cross_factor(double arm_share) {
  const double thick = kArm[kRows - 2];
  if (arm_share >= thick) {
    // The stress dies out towards the corners of a square, so small notches take away little: third order in their
    // side.
    const double notch = (1 - arm_share) / (1 - thick);
    return kCross[kRows - 1] - (kCross[kRows - 1] - kCross[kRows - 2]) * notch * notch * notch;
  }
  // Cubic of Lagrange through the four rows around the place.
  std::size_t first = 0;
  while (first + 5 < kRows && arm_share > kArm[first + 2]) ++first;
  double ratio = 0;
  for (std::size_t i = first; i < first + 4; ++i) {
    double term = kCross[i] / crossed_strips(kArm[i]);
    for (std::size_t j = first; j < first + 4; ++j) {
      if (j != i) term *= (arm_share - kArm[j]) / (kArm[i] - kArm[j]);
    }
    ratio += term;
  }
  return ratio * crossed_strips(arm_share);
}

/// Volume of the heap of slope 1 over a cross: distance to the border, integrated.
double cross_heap_mm3(double w, double t) {
  const double h = t / 2, arm = (w - t) / 2;
  if (arm >= h) {
    // Middle: cones around the four inner corners. Arm: a roof of width t with a hip at its tip.
    const double middle = 4 * h * h * h * (std::numbers::sqrt2 + std::asinh(1.0)) / 3;
    const double one_arm = h * h * arm - h * h * h / 3;
    return middle + 4 * one_arm;
  }
  // Short arms: their tips reach into the middle; no tidy form. Midpoint rule over one quarter.
  constexpr int kSteps = 400;
  const double cell = w / 2 / kSteps;
  double sum = 0;
  for (int i = 0; i < kSteps; ++i) {
    for (int j = 0; j < kSteps; ++j) {
      const double x = (i + 0.5) * cell, y = (j + 0.5) * cell;
      if (x > h && y > h) continue;
      double distance = std::min(w / 2 - x, w / 2 - y);
      if (x > h) {
        distance = std::min(distance, h - y);
      } else if (y > h) {
        distance = std::min(distance, h - x);
      } else {
        distance = std::min(distance, std::hypot(h - x, h - y));
      }
      sum += distance;
    }
  }
  return 4 * sum * cell * cell;
}

void check(const Section& s) {
  KW_CHECK(s.width_mm > 0, "a section has a width");
  KW_CHECK(s.form == Form::round || s.thick_mm > 0, "a section has a thickness");
  if (s.form == Form::cross) {
    const double share = s.thick_mm / s.width_mm;
    KW_CHECK(share >= kArm.front() && share <= kArm.back(),
             "cross arm " + base::plain(share, 3) + " of the width, known from 0.25 to 1");
  }
}

}  // namespace

Section section_of(const stock::AxleSection& axle) {
  return {axle.cross ? Form::cross : Form::round, axle.width_mm, axle.arm_mm};
}

double torsion_constant_mm4(const Section& s) {
  check(s);
  const double w = s.width_mm;
  switch (s.form) {
    case Form::round:
      return kPi * std::pow(w, 4) / 32;
    case Form::rectangle: {
      const double a = std::max(w, s.thick_mm), b = std::min(w, s.thick_mm);
      return rectangle_factors(a, b).c2 * a * b * b * b;
    }
    case Form::cross:
      return cross_factor(s.thick_mm / w) * std::pow(w, 4);
  }
  return 0;
}

double twist_rad(const Section& section, double torque_nmm, double length_mm, double shear_modulus_mpa) {
  KW_CHECK(shear_modulus_mpa > 0, "a shear modulus is positive");
  return torque_nmm * length_mm / (shear_modulus_mpa * torsion_constant_mm4(section));
}

double peak_shear_mpa(const Section& s, double torque_nmm) {
  check(s);
  KW_CHECK(s.form != Form::cross, "a sharp re-entrant corner has no finite elastic peak; use full_yield_torque_nmm");
  const double torque = std::fabs(torque_nmm);
  if (s.form == Form::round) return 16 * torque / (kPi * std::pow(s.width_mm, 3));
  const double a = std::max(s.width_mm, s.thick_mm), b = std::min(s.width_mm, s.thick_mm);
  return torque / (rectangle_factors(a, b).c1 * a * b * b);
}

double full_yield_torque_nmm(const Section& s, double shear_mpa) {
  check(s);
  double heap_mm3 = 0;
  switch (s.form) {
    case Form::round:
      heap_mm3 = kPi * std::pow(s.width_mm, 3) / 24;
      break;
    case Form::rectangle: {
      const double a = std::max(s.width_mm, s.thick_mm), b = std::min(s.width_mm, s.thick_mm);
      heap_mm3 = b * b * (3 * a - b) / 12;
      break;
    }
    case Form::cross:
      heap_mm3 = cross_heap_mm3(s.width_mm, s.thick_mm);
      break;
  }
  return 2 * shear_mpa * heap_mm3;
}

double torsion_margin(const Section& section, double torque_nmm, double allowable_shear_mpa) {
  if (torque_nmm == 0) return std::numeric_limits<double>::infinity();
  return full_yield_torque_nmm(section, allowable_shear_mpa) / std::fabs(torque_nmm);
}

}  // namespace structure
