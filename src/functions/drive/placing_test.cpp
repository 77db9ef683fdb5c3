// Covers how drives are put in their place: the kit as numbers, rooms and lattices, boxes round openings, mirror
// images, beams against all partitions, orders of stages.
#include "functions/drive/placing.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <numeric>
#include <set>

#include "functions/drive/frame_parts.h"
#include "functions/drive/gears.h"
#include "functions/drive/route_kit.h"
#include "functions/luff/fixture.h"

namespace drive = functions::drive;
using lattice::Axis;
using lattice::Box3;
using lattice::Point3;

namespace {

struct Bench {
  brief::Brief brief = lift_fixture::crane();
  brief::Function function;
  std::vector<gearing::GearStock> gears;
  gearing::MeshTable table;
  Bench() {
    function.body = 1;
    gears = drive::gears_for(brief, function);
    std::vector<stock::ClassId> classes;
    for (const auto& g : gears) classes.push_back(g.part);
    table = gearing::find_meshes(*brief.catalogue, classes);
  }
  [[nodiscard]] gearing::Train train(std::initializer_list<std::pair<const char*, const char*>> pairs) const {
    std::vector<int> meshes;
    for (const auto& [a, b] : pairs)
      meshes.push_back(table.find(*brief.catalogue->find(a), *brief.catalogue->find(b), gearing::MeshType::spur));
    return gearing::Train::of(table, meshes);
  }
};

/// Shaft with bearings, for beams.
routing::PlacedShaft shaft(lattice::Cross at, std::vector<int> walls) {
  routing::PlacedShaft s;
  s.at = at;
  s.bearings_hp = std::move(walls);
  return s;
}

}  // namespace

TEST(RouteKit, WheelsPairsAndAxlesAreThoseOfTheStock) {
  const Bench b;
  const routing::Kit kit = drive::route_kit(b.brief, b.function, b.table, b.gears, 2);
  ASSERT_EQ(kit.wheels.size(), b.gears.size());
  ASSERT_EQ(kit.pairs.size(), b.table.meshes.size());
  EXPECT_EQ(kit.copies, 2);
  EXPECT_DOUBLE_EQ(kit.axle_radius_mm, 2.4);
  const auto wheel = [&](const char* id) {
    return *std::find_if(kit.wheels.begin(), kit.wheels.end(),
                         [&](const routing::Wheel& w) { return w.id == stock::index(*b.brief.catalogue->find(id)); });
  };
  // Pitch radius m z / 2, tip one addendum (= m) beyond: ISO 21771-1, ISO 53 profile A.
  EXPECT_DOUBLE_EQ(wheel("gear_24").pitch_radius_mm, 12);
  EXPECT_DOUBLE_EQ(wheel("gear_24").outer_radius_mm, 13);
  EXPECT_EQ(wheel("gear_24").width_hp, 2) << "7 mm need two slots of 4 mm";
  EXPECT_EQ(wheel("worm_1").width_hp, 4);
  EXPECT_EQ(wheel("gear_24").count, 6);
  // 8:24 on two pitches, 8:40 on three, exactly (centre distance m (z1 + z2) / 2).
  const std::vector<int> pairs = drive::pairs_of(b.train({{"gear_8", "gear_24"}, {"gear_8", "gear_40"}}), b.table);
  EXPECT_EQ(kit.pairs[static_cast<std::size_t>(pairs[0])].offsets.front().dx_hp, 4);
  EXPECT_EQ(kit.pairs[static_cast<std::size_t>(pairs[0])].offsets.front().misfit_um, 0);
  EXPECT_EQ(kit.pairs[static_cast<std::size_t>(pairs[1])].offsets.front().dx_hp, 6);
  for (const routing::Pair& p : kit.pairs) {
    for (const routing::PairOffset& o : p.offsets) EXPECT_LE(o.misfit_um, 200) << "the kit system's own limit";
  }
  ASSERT_EQ(kit.axles.size(), 8U);
  for (std::size_t i = 0; i < kit.axles.size(); ++i) EXPECT_EQ(kit.axles[i].length_p, static_cast<int>(i) + 2);
  brief::Function without = b.function;
  without.must_not_use = {*b.brief.catalogue->find("axle_5")};
  EXPECT_EQ(drive::route_kit(b.brief, without, b.table, b.gears, 1).axles.size(), 7U);
}

TEST(RouteKit, AMotorStandsBehindItsFaceAndTurnsByAQuarter) {
  stock::PartClass part;
  part.data = stock::Motor{9, {}, {}, {}, {}, 6, 4, 3};
  const routing::Terminal t = drive::motor_body(part, Axis::y, {10, 4, 20}, 1, false);
  EXPECT_EQ(t.solids.front(), (Box3{{6, -8, 17}, {14, 4, 23}}));
  EXPECT_EQ(drive::motor_body(part, Axis::y, {10, 4, 20}, -1, true).solids.front(), (Box3{{7, 4, 16}, {13, 16, 24}}));
  EXPECT_EQ(drive::motor_body(part, Axis::z, {0, 0, 0}, 1, false).solids.front(), (Box3{{-4, -3, -12}, {4, 3, 0}}));
}

TEST(Room, IsTheOwnOneOrTheEnvelopeOnTheBodysLattice) {
  brief::Brief b = lift_fixture::crane();
  brief::Function f;
  // upper: pivot (0, 0, 100), envelope x -120..40, y -60..60, z 100..180.
  const drive::Room room = drive::room_of(b, f, 1);
  EXPECT_TRUE(room.is_default);
  EXPECT_EQ(room.box, (Box3{{-42, -27, -12}, {22, 27, 32}}));
  EXPECT_EQ(room.note,
            "room not given: the envelope of \"upper\" and 6 p round it, x -21 to 11, y -13.5 to 13.5, z -6 to 16 p");
  f.room = Box3{{0, 0, 0}, {4, 4, 4}};
  EXPECT_EQ(drive::room_of(b, f, 1).box, *f.room);
  EXPECT_TRUE(drive::room_of(b, f, 1).note.empty());
  f.room.reset();
  b.bodies[1].size_mm = {0, 0, 0};
  EXPECT_EQ(drive::room_of(b, f, 1).box, (Box3{{-16, -16, -16}, {16, 16, 16}}));
  EXPECT_FALSE(drive::room_of(b, f, 1).note.empty());
}

TEST(Room, WhatIsFixedToABodySharesItsLattice) {
  brief::Brief b = lift_fixture::crane();
  b.bodies.push_back({"cab", 1, {}, base::Triple::exact(50), false, {20, 0, 150}, {40, 40, 40}});
  EXPECT_EQ(drive::lattice_of(b, 4).body, 1);
  EXPECT_EQ(drive::lattice_of(b, 4).origin_mm.z_mm, 100);
  EXPECT_EQ(drive::lattice_of(b, -1).body, 0);
  EXPECT_EQ(drive::lattice_of(b, 0).origin_mm.z_mm, 0);
  std::vector<std::string> notes;
  EXPECT_EQ(drive::lattice_of(b, 1).nearest({8, 0, 104}, "the hook", notes), (Point3{2, 0, 1}));
  EXPECT_TRUE(notes.empty());
  EXPECT_EQ(drive::lattice_of(b, 1).nearest({9, 0, 104}, "the hook", notes), (Point3{2, 0, 1}));
  ASSERT_EQ(notes.size(), 1U);
  EXPECT_EQ(notes[0], "the hook is off the holes by 1 mm and taken at (1, 0, 0.5) p");
}

TEST(Site, OutsideIsEveryCellOfTheHullThatNoOpeningHas) {
  const Box3 hull{{-3, -2, 0}, {6, 5, 4}};
  const std::vector<Box3> open{{{-3, -2, 0}, {2, 3, 3}}, {{1, 1, 1}, {4, 9, 2}}, {{5, 4, 3}, {6, 5, 4}}};
  std::vector<Point3> all, left;
  drive::add_cells(hull, all);
  for (const Box3& b : drive::outside(hull, open)) {
    EXPECT_TRUE(b.inside(hull));
    drive::add_cells(b, left);
  }
  std::vector<Point3> expected;
  for (const Point3& p : all) {
    const Box3 cell{p, {p.x_hp + 1, p.y_hp + 1, p.z_hp + 1}};
    if (std::none_of(open.begin(), open.end(), [&](const Box3& o) { return cell.inside(o); })) expected.push_back(p);
  }
  std::sort(left.begin(), left.end());
  std::sort(expected.begin(), expected.end());
  EXPECT_EQ(left, expected) << "each once, so the boxes do not overlap either";
}

TEST(Site, ImagesFillTheMirroredCells) {
  drive::Site site;
  site.body = 2;
  site.images = {{std::nullopt, 0, 0}, {5, std::nullopt, 0}, {std::nullopt, std::nullopt, 10}};
  const auto cells = drive::cells_of_all(site, {{1, 2, 3}});
  ASSERT_EQ(cells.size(), 1U);
  EXPECT_EQ(cells[0].body, 2);
  // [2, 3] mirrored in y = 0 is [-3, -2]; [1, 2] in x = 2.5 is [3, 4].
  EXPECT_EQ(cells[0].cells, (std::vector<Point3>{{1, -3, 3}, {1, 2, 3}, {3, 2, 3}, {11, 2, 3}}));
}

TEST(Beams, AreTheFewestAndThenTheShortestOfAllPartitions) {
  const std::vector<int> lengths_p{2, 3, 5, 7, 9};
  std::uint64_t state = 5;
  const auto below = [&](int n) {
    state = state * 6364136223846793005ULL + 1442695040888963407ULL;
    return static_cast<int>((state >> 33) % static_cast<std::uint64_t>(n));
  };
  // One group: shortest length, 0 = cannot be.
  const auto length_of = [&](const std::vector<lattice::Cross>& g) {
    int span = -1;
    for (const bool along_u : {true, false}) {
      bool row = true;
      int low = 1000, high = -1000;
      for (const lattice::Cross c : g) {
        const int at = along_u ? c.u_hp : c.v_hp;
        row = row && (along_u ? c.v_hp == g[0].v_hp : c.u_hp == g[0].u_hp) &&
              (at - (along_u ? g[0].u_hp : g[0].v_hp)) % 2 == 0;
        low = std::min(low, at);
        high = std::max(high, at);
      }
      if (row) span = (high - low) / 2 + 1;
    }
    if (span < 0) return 0;
    for (const int l : lengths_p)
      if (l >= std::max(span, static_cast<int>(g.size()) + drive::kPinsPerBeam)) return l;
    return 0;
  };
  int shared = 0;
  for (int round = 0; round < 200; ++round) {
    routing::Layout layout;
    std::set<lattice::Cross> holes;
    for (int i = 1 + below(5); i > 0; --i) holes.insert({2 * below(5) + below(2), 2 * below(2)});
    for (const lattice::Cross c : holes) layout.shafts.push_back(shaft(c, {7}));
    const std::vector<lattice::Cross> list(holes.begin(), holes.end());
    // Every partition, by restricted growth.
    std::pair<int, int> best{1000, 0};
    std::vector<std::size_t> group(list.size(), 0);
    const auto descend = [&](auto&& self, std::size_t i, std::size_t groups) -> void {
      if (i == list.size()) {
        int total = 0;
        for (std::size_t g = 0; g < groups; ++g) {
          std::vector<lattice::Cross> members;
          for (std::size_t k = 0; k < list.size(); ++k) {
            if (group[k] == g) members.push_back(list[k]);
          }
          const int l = length_of(members);
          if (l == 0) return;
          total += l;
        }
        best = std::min(best, {static_cast<int>(groups), total});
        return;
      }
      for (std::size_t g = 0; g <= groups; ++g) {
        group[i] = g;
        self(self, i + 1, std::max(groups, g + 1));
      }
    };
    descend(descend, 0, 0);
    const std::vector<drive::BeamUse> beams = drive::beams_of(layout, lengths_p);
    std::pair<int, int> got{static_cast<int>(beams.size()), 0};
    std::set<lattice::Cross> held;
    for (const drive::BeamUse& b : beams) {
      got.second += b.length_p;
      held.insert(b.holes.begin(), b.holes.end());
      shared += b.holes.size() > 1 ? 1 : 0;
    }
    EXPECT_EQ(got, best) << round;
    EXPECT_EQ(held, holes);
  }
  EXPECT_GT(shared, 50);
}

TEST(Beams, StandInTheirOwnWalls) {
  routing::Layout layout;
  layout.shafts = {shaft({0, 0}, {3, 9}), shaft({4, 0}, {3})};
  const std::vector<drive::BeamUse> beams = drive::beams_of(layout, std::vector<int>{3, 5});
  ASSERT_EQ(beams.size(), 2U);
  EXPECT_EQ(beams[0].wall_hp, 3);
  EXPECT_EQ(beams[0].length_p, 5) << "two bearings and two pins are four holes";
  EXPECT_EQ(beams[1].wall_hp, 9);
  EXPECT_EQ(beams[1].length_p, 3);
  EXPECT_TRUE(drive::beams_of(layout, {}).empty());
}

TEST(Orders, AreAllOthersOnce) {
  const Bench b;
  EXPECT_TRUE(drive::other_orders(b.train({{"gear_8", "gear_24"}}), false).empty());
  EXPECT_EQ(drive::other_orders(b.train({{"gear_8", "gear_24"}, {"gear_8", "gear_40"}}), false).size(), 1U);
  EXPECT_EQ(drive::other_orders(b.train({{"gear_8", "gear_24"}, {"gear_8", "gear_24"}}), false).size(), 0U);
  const gearing::Train three = b.train({{"gear_8", "gear_24"}, {"gear_8", "gear_40"}, {"gear_24", "gear_40"}});
  EXPECT_EQ(drive::other_orders(three, false).size(), 5U);
  ASSERT_EQ(drive::other_orders(three, true).size(), 1U);
  EXPECT_EQ(drive::other_orders(three, true)[0].stages.back().driver_teeth, 24);
}
