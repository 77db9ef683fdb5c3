#include "trial/swing.h"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>

#include "balance/mass.h"

namespace trial {
namespace {

double omega_of(double rope_mm) {
  return std::sqrt(balance::kGravity * 1e3 / rope_mm);
}

/// The swing whose jump a linear one is.
double nonlinear_rad(double linear_rad) {
  return linear_rad >= 2 ? std::numbers::pi : 2 * std::asin(linear_rad / 2);
}

}  // namespace

double swing_of_jump_rad(double speed_mm_s, double rope_mm) {
  return nonlinear_rad(speed_mm_s / (omega_of(rope_mm) * rope_mm));
}

double softened(double rope_mm, double ramp_s, double lag_s) {
  const double omega = omega_of(rope_mm), half = omega * ramp_s / 2;
  return (half > 1e-9 ? std::fabs(std::sin(half) / half) : 1) / std::hypot(1, omega * lag_s);
}

SlewSwing slew_swing(double rate_rad_s, double radius_mm, double angle_rad, double rope_mm, double ramp_s,
                     double lag_s) {
  SlewSwing out;
  if (!(rate_rad_s > 0) || !(angle_rad > 0)) return out;
  const double omega = omega_of(rope_mm);
  // The input rises over the ramp, stays, and falls from `turn_s` on; too short a way never sees all of it.
  const double most = ramp_s > 0 ? std::min(1.0, std::sqrt(angle_rad / (rate_rad_s * ramp_s))) : 1;
  const double turn_s = most < 1 ? most * ramp_s : angle_rad / rate_rad_s;
  const double end_s = turn_s + most * ramp_s + 5 * lag_s;
  // Duhamel's integral with the hook's velocity as it is: the swing at t is minus the real part of
  // e^(i omega t) integral v e^(-i omega t), which by parts is that of the acceleration once the hook stands.
  constexpr double kStep_s = 5e-4;
  std::complex<double> x, y;
  double share = 0, at = 0, largest_mm = 0;
  const std::complex<double> i{0, 1};
  for (double t = 0; t < end_s; t += kStep_s) {
    const double rises = ramp_s > 0 ? std::min(t / ramp_s, most) : 1;
    const double falls = t < turn_s ? 0 : ramp_s > 0 ? (t - turn_s) / ramp_s : most;
    const double input = std::max(rises - falls, 0.0);
    share = lag_s > 0 ? input + (share - input) * std::exp(-kStep_s / lag_s) : input;
    const double rate = rate_rad_s * share;
    at += rate * kStep_s / 2;
    const std::complex<double> turn = std::exp(-i * (omega * (t + kStep_s / 2)));
    x += -rate * radius_mm * std::sin(at) * kStep_s * turn;
    y += rate * radius_mm * std::cos(at) * kStep_s * turn;
    at += rate * kStep_s / 2;
    if (t >= turn_s) continue;
    const std::complex<double> back = std::exp(i * (omega * (t + kStep_s)));
    largest_mm = std::max(largest_mm, std::hypot((back * x).real(), (back * y).real()));
  }
  const double left_mm = std::sqrt((std::norm(x) + std::norm(y)) / 2 + std::abs(x * x + y * y) / 2);
  out.during_rad = nonlinear_rad(largest_mm / rope_mm);
  out.after_rad = nonlinear_rad(left_mm / rope_mm);
  return out;
}

double most_slew_swing_rad(double rate_rad_s, double radius_mm, double angle_rad, double rope_mm, double ramp_s,
                           double lag_s) {
  constexpr int kLooks = 12;
  const double period_s = 2 * std::numbers::pi / omega_of(rope_mm);
  double most = 0;
  for (int k = 0; k <= kLooks; ++k) {
    const double angle = angle_rad + rate_rad_s * period_s * (static_cast<double>(k) / kLooks - 0.5);
    if (!(angle > 0)) continue;
    const SlewSwing s = slew_swing(rate_rad_s, radius_mm, angle, rope_mm, ramp_s, lag_s);
    most = std::max({most, s.during_rad, s.after_rad});
  }
  return most;
}

double swing_moment_nmm(double weight_n, double swing_rad, double out_mm, double height_mm) {
  constexpr int kSteps = 200;
  double most = 0;
  const double end = std::min(swing_rad, std::numbers::pi / 2);
  for (int k = 0; k <= kSteps; ++k) {
    const double phi = end * k / kSteps, pull = weight_n * (3 * std::cos(phi) - 2 * std::cos(swing_rad));
    most = std::max(most, pull * (std::cos(phi) * out_mm + std::sin(phi) * height_mm) - weight_n * out_mm);
  }
  return most;
}

}  // namespace trial
