// Covers how uncertain masses spread to the whole machine: by hand, against drawn machines, laws of turning.
#include "balance/mass_spread.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <vector>

using balance::Body;
using balance::Joint;
using balance::MassSource;
using balance::Vec3;
using balance::WeighedBody;

namespace {

WeighedBody lump(double mass_g, double sd_g, Vec3 at, Vec3 centre_sd = {}) {
  return {{-1, Joint::fixed, {}, {0, 0, 1}, 0, 0, mass_g, at}, MassSource::measured, sd_g, centre_sd};
}

/// Invented harbour crane: carrier, slewing house, boom raised by 0.6 rad.
std::vector<WeighedBody> crane(double slew) {
  return {
      {{-1, Joint::fixed, {0, 0, 20}, {0, 0, 1}, 0, 0, 900, {5, 0, 10}}, MassSource::measured, 5, {2, 2, 3}},
      {{0, Joint::turns, {10, 0, 40}, {0, 0, 1}, slew, 0, 400, {-20, 0, 30}}, MassSource::catalogue, 12, {4, 1, 2}},
      {{1, Joint::turns, {15, 0, 25}, {0, -1, 0}, 0.6, 0, 120, {110, 0, 0}}, MassSource::estimated, 24, {15, 2, 3}}};
}

/// A standard normal number from two uniform ones (Box & Muller 1958).
double normal(std::uint64_t stream, std::uint64_t index) {
  const double u = base::uniform_draw(11, 2 * stream, index), v = base::uniform_draw(11, 2 * stream + 1, index);
  return std::sqrt(-2 * std::log(1 - u)) * std::cos(2 * std::numbers::pi * v);
}

}  // namespace

TEST(MassSpread, TwoLumpsByHand) {
  // c = 75; (r - c) s/M = -75 x 2/400 and 25 x 6/400; own centre 4 x 100/400.
  const std::vector<WeighedBody> two = {lump(100, 2, {0, 0, 0}, {4, 0, 0}), lump(300, 6, {100, 0, 0})};
  const auto spread = mass_spread(two);
  EXPECT_DOUBLE_EQ(spread.total.at.x_mm, 75);
  EXPECT_DOUBLE_EQ(spread.mass_sd_g, std::sqrt(40.0));
  EXPECT_DOUBLE_EQ(spread.centre_sd_mm.x_mm, std::sqrt(0.375 * 0.375 * 2 + 1));
  EXPECT_EQ(spread.centre_sd_mm.y_mm, 0);
  EXPECT_EQ(spread.weigh_next, 0);
  EXPECT_NEAR(spread.weigh_next_share, (0.140625 + 1) / (0.28125 + 1), 1e-12);
  EXPECT_EQ(spread.measured_g, 400);
}

TEST(MassSpread, MatchesDrawnMachines) {
  const auto bodies = crane(0.8);
  const auto spread = mass_spread(bodies);
  constexpr std::uint64_t kDraws = 20000;
  double sum[4] = {}, square[4] = {};
  for (std::uint64_t k = 0; k < kDraws; ++k) {
    std::vector<Body> drawn;
    for (std::size_t i = 0; i < bodies.size(); ++i) {
      Body b = bodies[i].body;
      b.mass_g += bodies[i].mass_sd_g * normal(10 * i, k);
      b.centre = b.centre + Vec3{bodies[i].centre_sd_mm.x_mm * normal(10 * i + 1, k),
                                 bodies[i].centre_sd_mm.y_mm * normal(10 * i + 2, k),
                                 bodies[i].centre_sd_mm.z_mm * normal(10 * i + 3, k)};
      drawn.push_back(b);
    }
    const auto all = balance::total_mass(drawn);
    const double value[4] = {all.mass_g, all.at.x_mm, all.at.y_mm, all.at.z_mm};
    for (int j = 0; j < 4; ++j) {
      sum[j] += value[j];
      square[j] += value[j] * value[j];
    }
  }
  const double expected[4] = {spread.mass_sd_g, spread.centre_sd_mm.x_mm, spread.centre_sd_mm.y_mm,
                              spread.centre_sd_mm.z_mm};
  for (int j = 0; j < 4; ++j) {
    const double mean = sum[j] / kDraws, sd = std::sqrt(square[j] / kDraws - mean * mean);
    EXPECT_NEAR(sd, expected[j], 0.03 * expected[j]) << j;  // 20,000 draws know a deviation to 0.5 %
  }
}

TEST(MassSpread, TurningTheWholeMachineTurnsItsSpread) {
  for (double turn = 0.3; turn < 6; turn += 0.7) {
    auto bodies = crane(0.4);
    const auto before = mass_spread(bodies);
    bodies[0].body.joint = Joint::turns;
    bodies[0].body.angle_rad = turn;
    const auto after = mass_spread(bodies);
    for (double d = 0; d < 6; d += 0.5) EXPECT_NEAR(after.along_mm(d + turn), before.along_mm(d), 1e-12);
    EXPECT_NEAR(after.centre_sd_mm.z_mm, before.centre_sd_mm.z_mm, 1e-12);
    EXPECT_EQ(after.mass_sd_g, before.mass_sd_g);
  }
}

TEST(MassSpread, DeviationsBySource) {
  EXPECT_NEAR(balance::usual_mass_sd_g(MassSource::measured, 0), 1, 1e-12);
  EXPECT_NEAR(balance::usual_mass_sd_g(MassSource::estimated, 100), 20, 1e-12);
  EXPECT_LT(balance::usual_mass_sd_g(MassSource::measured, 500), balance::usual_mass_sd_g(MassSource::catalogue, 500));
  // Symmetric triangle of half-width w: w/sqrt 6 (any textbook of statistics).
  EXPECT_NEAR(balance::sd_of({90, 100, 110}), 10 / std::sqrt(6.0), 1e-12);
  EXPECT_EQ(balance::sd_of(base::Triple::exact(5)), 0);
}
