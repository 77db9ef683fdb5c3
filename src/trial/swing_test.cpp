// The closed forms of a swinging load against a pendulum that is integrated step by step.
#include "trial/swing.h"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <functional>
#include <numbers>

#include "balance/mass.h"

namespace trial {
namespace {

constexpr double kDeg = std::numbers::pi / 180;
constexpr double kG = balance::kGravity * 1e3;  // mm/s^2

/// A point on a rope of length l in space, the hook point where `at` says: velocity Verlet with the rope as a
/// constraint (positions put back on the sphere, a SHAKE step), nothing of the closed form in it. Largest angle from
/// plumb within [from, to].
double largest_rad(const std::function<std::array<double, 2>(double)>& at, double rope_mm, double from_s, double to_s) {
  constexpr double kStep_s = 2e-5;
  std::array<double, 3> now{at(0)[0], at(0)[1], -rope_mm}, before = now;
  double most = 0;
  for (double t = 0; t < to_s; t += kStep_s) {
    std::array<double, 3> next{};
    for (int k = 0; k < 3; ++k)
      next[static_cast<std::size_t>(k)] = 2 * now[static_cast<std::size_t>(k)] - before[static_cast<std::size_t>(k)];
    next[2] -= kG * kStep_s * kStep_s;
    const auto hook = at(t + kStep_s), old = at(t);
    // Along the rope as it lies now, so that the constraint does no work.
    const std::array<double, 3> along{now[0] - old[0], now[1] - old[1], now[2]};
    for (int i = 0; i < 8; ++i) {
      const double x = next[0] - hook[0], y = next[1] - hook[1], z = next[2];
      const double off = x * x + y * y + z * z - rope_mm * rope_mm;
      const double share = off / (2 * (x * along[0] + y * along[1] + z * along[2]));
      for (int k = 0; k < 3; ++k) next[static_cast<std::size_t>(k)] -= share * along[static_cast<std::size_t>(k)];
    }
    before = now;
    now = next;
    if (t < from_s) continue;
    most = std::max(most, std::acos(std::clamp(-now[2] / rope_mm, -1.0, 1.0)));
  }
  return most;
}

TEST(Swing, AJumpIsItsEnergy) {
  // v^2/2 = g l (1 - cos theta): at v^2 = 2 g l the rope comes level, at v^2 = 4 g l over the top.
  EXPECT_NEAR(swing_of_jump_rad(std::sqrt(2 * kG * 200), 200), 90 * kDeg, 1e-9);
  EXPECT_NEAR(swing_of_jump_rad(std::sqrt(4 * kG * 200), 200), 180 * kDeg, 1e-6);
  for (const double v : {50.0, 300.0, 900.0}) {
    const double stepped = largest_rad([&](double t) { return std::array{v * t, 0.0}; }, 150, 0, 1.0);
    EXPECT_NEAR(swing_of_jump_rad(v, 150), stepped, 0.005 * stepped) << v;
  }
}

TEST(Swing, ARampAndALagTakeOfIt) {
  const double v = 60, rope = 200;
  for (const double ramp : {0.1, 0.4, 0.9, 1.3}) {
    const auto place = [&](double t) {
      return std::array{t < ramp ? v * t * t / (2 * ramp) : v * (t - ramp / 2), 0.0};
    };
    EXPECT_NEAR(softened(rope, ramp, 0) * swing_of_jump_rad(v, rope), largest_rad(place, rope, ramp, ramp + 1.2),
                0.01 * swing_of_jump_rad(v, rope))
        << ramp;
  }
  for (const double lag : {0.03, 0.1}) {
    const auto place = [&](double t) { return std::array{v * (t - lag * (1 - std::exp(-t / lag))), 0.0}; };
    EXPECT_NEAR(softened(rope, 0, lag) * swing_of_jump_rad(v, rope), largest_rad(place, rope, 6 * lag, 6 * lag + 1.2),
                0.02 * swing_of_jump_rad(v, rope))
        << lag;
  }
  // A whole period's ramp leaves nothing.
  EXPECT_NEAR(softened(rope, 2 * std::numbers::pi * std::sqrt(rope / kG), 0), 0, 1e-9);
}

TEST(Swing, SlewingIsBothKicksAndTheCircleBetween) {
  for (const auto& [rate, angle] :
       {std::pair{0.3, 90 * kDeg}, {0.5, 120 * kDeg}, {0.8, 60 * kDeg}, {1.0, 180 * kDeg}}) {
    const double radius = 300, rope = 180, time = angle / rate;
    const auto place = [&](double t) {
      const double phi = rate * std::min(t, time);
      return std::array{radius * std::cos(phi), radius * std::sin(phi)};
    };
    const SlewSwing s = slew_swing(rate, radius, angle, rope, 0, 0);
    EXPECT_NEAR(s.during_rad, largest_rad(place, rope, 0, time), 0.03 * s.during_rad + 0.002) << rate;
    EXPECT_GE(most_slew_swing_rad(rate, radius, angle, rope, 0, 0), std::max(s.during_rad, s.after_rad) - 1e-9);
    EXPECT_NEAR(s.after_rad, largest_rad(place, rope, time, time + 1.0), 0.07 * s.during_rad + 0.002) << rate;
  }
}

TEST(Swing, ASwingPullsAsItsEnergySays) {
  // Small: out of plumb by theta it pulls G theta sideways at the hook's height; beyond the line the extra tension
  // G theta^2 at its lowest.
  const double g = 2, theta = 0.02;
  EXPECT_NEAR(swing_moment_nmm(g, theta, 0, 300), g * theta * 300, 0.001 * g * theta * 300);
  EXPECT_NEAR(swing_moment_nmm(g, theta, 200, 0), g * theta * theta * 200, 0.01 * g * theta * theta * 200);
  EXPECT_EQ(swing_moment_nmm(g, 0, 200, 300), 0);
}

}  // namespace
}  // namespace trial
