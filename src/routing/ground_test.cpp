// Covers ground.h: what fits where on a plane, against the solids themselves point by point and slot by slot.
#include "routing/ground.h"

#include <gtest/gtest.h>

#include <random>

#include "routing/test_kit.h"

namespace routing {
namespace {

/// Rooms, keep-outs and walls drawn at random (a fixed seed); `along` half-pitches long.
Problem room(std::mt19937& draw, Axis axis, int along) {
  const auto between = [&](int low, int high) { return std::uniform_int_distribution<int>(low, high)(draw); };
  Problem p;
  p.kit = test_kit::spur_kit({{8, 4, 1}, {16, 4, 2}, {24, 4, 1}, {40, 4, 2}});
  p.wheels_outside = between(0, 1) == 1;
  const Cross low{between(-9, 0), between(-9, 0)}, size{between(6, 24), between(6, 24)};
  const int from = between(-5, 5);
  p.box = {lattice::point(axis, low, from),
           lattice::point(axis, {low.u_hp + size.u_hp, low.v_hp + size.v_hp}, from + along)};
  for (int w = from + between(-1, 4); w < from + along + 1; w += between(3, 20))
    p.walls.at_hp[static_cast<std::size_t>(lattice::index(axis))].push_back(w);
  for (int k = between(0, 5); k > 0; --k) {
    const Cross at{low.u_hp + between(-3, size.u_hp), low.v_hp + between(-3, size.v_hp)};
    const int start = from + between(-4, along);
    p.keep_outs.push_back(
        {lattice::point(axis, at, start),
         lattice::point(axis, {at.u_hp + between(1, 8), at.v_hp + between(1, 8)}, start + between(1, 40))});
  }
  return p;
}

/// Second route: the cylinder itself, in the box and clear of each keep-out.
bool stands(const Problem& p, Axis axis, Cross at, int from, int to, double radius_mm) {
  const Round solid{axis, at, static_cast<double>(from), static_cast<double>(to), radius_mm};
  const double h = p.kit.half_pitch_mm();
  if (!hull(solid, h).inside(p.box)) return false;
  return std::none_of(p.keep_outs.begin(), p.keep_outs.end(),
                      [&](const Box3& k) { return clash(solid, k, h, p.kit.clearance_mm); });
}

}  // namespace

TEST(Plane, TellsWhatTheSolidsThemselvesTell) {
  std::mt19937 draw(20);
  int fitting = 0, not_fitting = 0;
  // Rows of one word, of two and of three.
  for (const int along : {11, 40, 64, 90, 128, 150}) {
    for (int run = 0; run < 6; ++run) {
      const Axis axis = lattice::kAxes[static_cast<std::size_t>(run % 3)];
      const Problem p = room(draw, axis, along);
      const Plane plane(p, axis);
      const std::vector<int>& walls = p.walls.along(axis);
      const int first = plane.first_slot(), end = first + plane.slots();
      ASSERT_EQ(plane.slots(), along);
      for (int i = 0; i < plane.points(); i += 1 + run) {
        const Cross c = plane.at(i);
        for (int s = first; s < end; ++s) {
          EXPECT_EQ(plane.axle_fits(c, s), stands(p, axis, c, s, s + 1, p.kit.axle_radius_mm));
          EXPECT_EQ(plane.bush_fits(c, s), stands(p, axis, c, s, s + 1, p.kit.bush_radius_mm));
        }
        for (std::size_t w = 0; w < p.kit.wheels.size(); ++w) {
          const Wheel& wheel = p.kit.wheels[w];
          bool somewhere = false;
          for (int s = first; s < end; ++s) {
            bool fits = stands(p, axis, c, s, s + wheel.width_hp, wheel.outer_radius_mm);
            for (const int wall : walls) fits = fits && (s >= wall + 1 || s + wheel.width_hp <= wall - 1);
            if (!p.wheels_outside && !walls.empty())
              fits = fits && s >= walls.front() - 1 && s + wheel.width_hp <= walls.back() + 1;
            ASSERT_EQ(plane.wheel_fits(static_cast<int>(w), c, s), fits)
                << "along " << along << ", run " << run << ", wheel " << wheel.name << ", point " << c.u_hp << ","
                << c.v_hp << ", slot " << s;
            somewhere = somewhere || fits;
            ++(fits ? fitting : not_fitting);
          }
          EXPECT_EQ(plane.wheel_fits_somewhere(static_cast<int>(w), c), somewhere);
        }
      }
    }
  }
  EXPECT_GT(fitting, 20'000);
  EXPECT_GT(not_fitting, 20'000);
}

}  // namespace routing
