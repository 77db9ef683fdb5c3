// Rack-and-pinion steering in plan: positions by Newton on both tie rods at once, forces by the work of small steps,
// the kind's answers with it.
#include "functions/steer/rack.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <random>

namespace steer = functions::steer;

namespace {

constexpr double kPi = std::numbers::pi;

steer::Rack sample() {
  steer::Rack r;
  r.arm = {2, 6};      // 1 p in, 3 p behind
  r.pinion = {-2, 0};  // 1 p behind the axle
  r.side = 1;          // the bar behind it
  r.half_bar_hp = 10;  // 5 p
  r.radius_mm = 8;
  return r;
}
steer::Axle axle() {
  return {8, 28, 176, 30 * kPi / 180};
}

}  // namespace

TEST(SteerRack, StraightAheadEverythingIsSymmetric) {
  const steer::Rack r = sample();
  // Pinion 8 mm behind the axle, its pitch circle 8 mm, the bar 4 mm further.
  EXPECT_NEAR(steer::line_mm(r, axle()), -8 - 8 - 4, 1e-12);
  // Arm's end (-24, 56 - 8), bar's end (-20, 40).
  EXPECT_NEAR(steer::tie_mm(r, axle()), std::hypot(-4, 8), 1e-12);
  const auto s = steer::rack_spot(r, axle(), 0);
  ASSERT_TRUE(s);
  EXPECT_NEAR(s->shift_mm, 0, 1e-12);
  EXPECT_NEAR(s->right_rad, 0, 1e-12);
  EXPECT_NEAR(s->left_w, s->right_w, 1e-12);
}

// Second route: both tie rods keep their length when the wheels stand as told; rates by central differences.
TEST(SteerRack, TieRodsKeepTheirLengthAndRatesAreDifferences) {
  std::mt19937 random(7);
  std::uniform_real_distribution<double> angle(-0.5, 0.5);
  const steer::Rack r = sample();
  const steer::Axle a = axle();
  const double length = steer::tie_mm(r, a), line = steer::line_mm(r, a), e = 40;
  int checked = 0;
  for (int i = 0; i < 200; ++i) {
    const double left = angle(random);
    const auto s = steer::rack_spot(r, a, left);
    if (!s) continue;
    const auto end = [](double rad, double x, double y, double kingpin) {
      return std::pair{std::cos(rad) * x - std::sin(rad) * y, kingpin + std::sin(rad) * x + std::cos(rad) * y};
    };
    const auto [lx, ly] = end(left, -24, -8, 56);
    const auto [rx, ry] = end(s->right_rad, -24, 8, -56);
    EXPECT_NEAR(std::hypot(lx - line, ly - (e + s->shift_mm)), length, 1e-9);
    EXPECT_NEAR(std::hypot(rx - line, ry - (-e + s->shift_mm)), length, 1e-9);
    const double h = 1e-5;
    const auto up = steer::rack_spot(r, a, left + h), down = steer::rack_spot(r, a, left - h);
    if (!up || !down) continue;
    const double ds = up->shift_mm - down->shift_mm;
    EXPECT_NEAR(s->left_w, 2 * h / ds, 1e-5 * std::fabs(s->left_w));
    EXPECT_NEAR(s->right_w, (up->right_rad - down->right_rad) / ds, 1e-5 * std::fabs(s->right_w));
    // Without friction the bar does the work of both moments.
    const steer::RackEffort effort = steer::rack_effort(r, *s, 50, {0, 2.4});
    EXPECT_NEAR(effort.rack_n * std::fabs(ds), 50 * (2 * h + std::fabs(up->right_rad - down->right_rad)),
                1e-4 * effort.rack_n * std::fabs(ds));
    EXPECT_NEAR(effort.pinion_nmm, effort.rack_n * 8, 1e-9);
    // With friction it asks more, by the mesh's loss and the pins'.
    EXPECT_GT(steer::rack_effort(r, *s, 50, {0.2, 2.4, 0.93, 20 * kPi / 180}).pinion_nmm, effort.pinion_nmm / 0.93);
    ++checked;
  }
  EXPECT_GT(checked, 100);
}

// With the tie rods in line with the bar and upright arms of no lead, the wheels turn alike: sin d = s/arm to first
// order; the turning force is 2 M/arm at straight ahead.
TEST(SteerRack, ForceStraightAheadIsBothMomentsOverTheArm) {
  steer::Rack r = sample();
  r.arm = {0, 6};
  r.pinion = {-3, 0};  // 12 mm behind, the bar at 24 mm: in line with the arms' ends
  const auto s = steer::rack_spot(r, axle(), 0);
  ASSERT_TRUE(s);
  EXPECT_NEAR(s->left_mm, 24, 1e-9);
  EXPECT_NEAR(s->left_t, 1, 1e-12);
  EXPECT_NEAR(steer::rack_effort(r, *s, 60, {0, 2.4}).rack_n, 2 * 60 / 24.0, 1e-9);
  // Friction by hand: tie rods turn with the arms' ends only, so each pin slips by the wheel's turn, kingpins too.
  const double mu = 0.2, loss = mu * 2.4;
  const double tie = 60 / (24 - 2 * loss);
  EXPECT_NEAR(steer::rack_effort(r, *s, 60, {mu, 2.4, 0.9, 20 * kPi / 180}).pinion_nmm,
              2 * tie / (1 - mu * std::tan(20 * kPi / 180)) * 8 / 0.9, 1e-6);
}
