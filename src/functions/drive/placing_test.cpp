// Covers how drives are put in their place: the kit as numbers, rooms and lattices, boxes round openings, mirror
// images, beams against all partitions, orders of stages, wider rooms, loads.
#include "functions/drive/placing.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>
#include <set>
#include <tuple>

#include "assembly/order.h"
#include "functions/drive/frame_parts.h"
#include "functions/drive/gears.h"
#include "functions/drive/route_kit.h"
#include "functions/luff/fixture.h"
#include "routing/checker.h"

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
  const auto cells = drive::cells_of_all(site, lattice::Cells(std::vector<Point3>{{1, 2, 3}}));
  ASSERT_EQ(cells.size(), 1U);
  EXPECT_EQ(cells[0].body, 2);
  // [2, 3] mirrored in y = 0 is [-3, -2]; [1, 2] in x = 2.5 is [3, 4].
  EXPECT_EQ(cells[0].cells.list(), (std::vector<Point3>{{1, -3, 3}, {1, 2, 3}, {3, 2, 3}, {11, 2, 3}}));
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

TEST(RouteKit, FullBushesServeOnlyWhereTheStockHasNoHalfOnes) {
  Bench b;
  stock::Catalogue catalogue = *b.brief.catalogue;
  for (const auto& [id, length_p] : {std::pair("bush_half", 0.5), std::pair("bush_full", 1.0)}) {
    stock::PartClass part;
    part.id = part.name = id;
    part.family = stock::Family::bush;
    part.data = stock::Bush{length_p};
    catalogue.classes.push_back(part);
  }
  b.brief.catalogue = std::make_shared<stock::Catalogue>(catalogue);
  const stock::ClassId half = *catalogue.find("bush_half"), full = *catalogue.find("bush_full");
  EXPECT_EQ(drive::bushes_of(catalogue, 1), std::vector{half});
  EXPECT_EQ(drive::bushes_of(catalogue, 2), std::vector{full});
  const auto bush_hp = [&](int halves, int fulls, bool may_use_half) {
    auto stock = std::make_shared<stock::Stock>(lift_fixture::plenty(catalogue));
    lift_fixture::set_count(*stock, catalogue, "bush_half", halves);
    lift_fixture::set_count(*stock, catalogue, "bush_full", fulls);
    b.brief.stock = stock;
    brief::Function f = b.function;
    if (!may_use_half) f.must_not_use = {half};
    return drive::route_kit(b.brief, f, b.table, b.gears, 1).bush_hp;
  };
  EXPECT_EQ(bush_hp(9, 9, true), 1);
  EXPECT_EQ(bush_hp(0, 9, true), 2);
  EXPECT_EQ(bush_hp(9, 9, false), 2);
  EXPECT_EQ(bush_hp(0, 0, true), 1) << "what lacks is told as half bushes";
}

TEST(RouteKit, JoinersOfTheShortestKindJoinAnyTwoAxles) {
  Bench b;
  stock::Catalogue catalogue = *b.brief.catalogue;
  for (const auto& [id, length_p] : {std::pair("joiner_3", 3.0), std::pair("joiner_2", 2.0)}) {
    stock::PartClass part;
    part.id = part.name = id;
    part.family = stock::Family::joiner;
    part.data = stock::Bush{length_p};
    catalogue.classes.push_back(part);
  }
  stock::PartClass universal;
  universal.id = universal.name = "universal";
  universal.family = stock::Family::joiner;
  catalogue.classes.push_back(universal);
  b.brief.catalogue = std::make_shared<stock::Catalogue>(catalogue);
  const auto kit_of = [&](int twos, int threes) {
    auto stock = std::make_shared<stock::Stock>(lift_fixture::plenty(catalogue));
    lift_fixture::set_count(*stock, catalogue, "joiner_2", twos);
    lift_fixture::set_count(*stock, catalogue, "joiner_3", threes);
    b.brief.stock = stock;
    return drive::route_kit(b.brief, b.function, b.table, b.gears, 1);
  };
  EXPECT_EQ(kit_of(0, 0).joiners, 0) << "a universal joint joins nothing";
  EXPECT_EQ(kit_of(0, 5).joiner_hp, 6);
  routing::Kit kit = kit_of(3, 5);
  EXPECT_EQ(kit.axles.size(), 8U) << "none are joined before they are asked for";
  routing::join_axles(kit);
  EXPECT_EQ(kit.joiner_hp, 4);
  EXPECT_EQ(kit.joiners, 3);
  EXPECT_EQ(kit.axles.size(), 8U + 8U * 8U) << "lengths 2 to 9, ordered pairs";
  std::size_t at = 8;
  while (kit.axles[at].length_p != 12 || kit.axles[at].low_part != 1) ++at;
  EXPECT_EQ(routing::axle_text(kit, static_cast<int>(at)), "3 + 9");

  auto problem = std::make_shared<routing::Problem>();
  problem->kit = kit;
  auto layout = std::make_shared<routing::Layout>();
  routing::PlacedShaft joined;
  joined.axle = static_cast<int>(at);
  joined.from_hp = 4;
  joined.to_hp = 28;
  layout->shafts = {joined};
  EXPECT_EQ(routing::joint_hp(kit, joined), 10);
  const drive::Placed placed{nullptr, problem, layout, {}};
  const candidate::Demand demand = drive::demand_of(*catalogue.find("motor_small"), 1, placed, b.brief, b.function);
  const auto count = [&](const char* id) {
    int n = 0;
    for (const candidate::Need& need : demand.needs)
      if (std::find(need.accepts.begin(), need.accepts.end(), *catalogue.find(id)) != need.accepts.end())
        n += need.count;
    return n;
  };
  EXPECT_EQ(count("axle_3"), 1);
  EXPECT_EQ(count("axle_9"), 1);
  EXPECT_EQ(count("joiner_2"), 1);
  EXPECT_EQ(count("joiner_3"), 0);
}

namespace {

/// A shaft along y with a drum-like body on it at (x 0, z 0), in a room.
std::shared_ptr<const drive::Site> drum_site(const Box3& room) {
  auto site = std::make_shared<drive::Site>();
  site->body = 1;
  site->room = room;
  routing::Output out;
  out.name = "drum";
  out.places = {drive::shaft_with(Axis::y, {0, 0}, 0, 2, 8, "drum")};
  site->outputs = {out};
  return site;
}

}  // namespace

TEST(Placers, AnIdlerBridgesTheDistanceOrTurnsTheSenseOfALongerTrain) {
  // 8:24 twice leads over two pitches and two pitches, and turns in the motor's sense. With the motor held seven
  // pitches from the drum only a longer row reaches it; wherever the motor is, only another mesh turns the other way.
  const Bench b;
  const stock::ClassId motor = *b.brief.catalogue->find("motor_small");
  const drive::Powertrain plain{motor, 1, b.train({{"gear_8", "gear_24"}, {"gear_8", "gear_24"}})};
  drive::Placers placers(b.brief, b.function, 2);
  for (const bool turn : {false, true}) {
    auto site = std::make_shared<drive::Site>(*drum_site({{-20, -20, -20}, {24, 20, 20}}));
    if (turn) {
      site->outputs.front().sense = -1;
    } else {
      site->motor_at = drive::MotorAt{{14, -5, 0}, Axis::y};
    }
    ASSERT_TRUE(drive::may_help(drive::Help::idlers, plain.train, placers.kit()));
    const drive::Placers::First none = placers.first(motor, 1, site, {plain.train});
    ASSERT_LT(none.train, 0);
    EXPECT_FALSE(none.ended);
    const drive::Placers::First found = placers.with_help(drive::Help::idlers, plain, site);
    ASSERT_NE(found.placed, nullptr) << turn;
    EXPECT_TRUE(routing::check(*found.placed->problem, *found.placed->layout).empty());
    EXPECT_TRUE(assembly::order_of(*found.placed->problem, *found.placed->layout).complete());
    const gearing::Train train = drive::trains_of(*found.placed, b.table).front();
    EXPECT_EQ(train.idlers.size(), 1U);
    // Three meshes turn the other way round than two.
    EXPECT_EQ(train.ratio(), base::Rational(-1, 9));
    EXPECT_EQ(train.without_idlers(b.table)->key(*b.brief.catalogue), plain.train.key(*b.brief.catalogue));
  }
}

TEST(Placers, WhereNothingElseStandsASearchTriesLongTrainsOverIdlers) {
  // Only two meshes make the ratio, and they turn the output in the motor's sense; the other one is wanted.
  const Bench b;
  const auto site_with = [&](int sense) {
    auto site = std::make_shared<drive::Site>(*drum_site({{-20, -20, -20}, {20, 20, 20}}));
    site->outputs.front().sense = sense;
    return std::shared_ptr<const drive::Site>(site);
  };
  const auto kept = [&](int sense) {
    drive::Placers placers(b.brief, b.function, 2);
    drive::Query q;
    q.train.min_stages = q.train.max_stages = 2;
    q.train.most_right_angles = 0;
    q.least_torque_nmm = q.most_torque_nmm = 1;
    q.least_speed_rad_s = 0.1;
    q.site = site_with(sense);
    q.placers = &placers;
    const stock::ClassId wanted = *b.brief.catalogue->find("motor_small");
    q.judge = [&](const drive::Powertrain& p) {
      // Of all trains one serves: 8:24 twice.
      const bool it = p.motor == wanted && p.train.ratio().abs() == base::Rational(1, 9) && p.train.needs().size() <= 3;
      return drive::Judged{it ? 1.5 : 0, 100, "torque", 1, 1, "N mm"};
    };
    candidate::RejectionLog log;
    return drive::powertrains(b.brief, b.function, q, log, {}).kept;
  };
  for (const drive::Powertrain& p : kept(1)) EXPECT_TRUE(p.train.idlers.empty());
  EXPECT_FALSE(kept(1).empty());
  const std::vector<drive::Powertrain> turned = kept(-1);
  ASSERT_FALSE(turned.empty());
  for (const drive::Powertrain& p : turned) {
    EXPECT_EQ(p.train.idlers.size(), 1U);
    EXPECT_EQ(p.train.ratio(), base::Rational(-1, 9));
  }
}

TEST(Placers, AnIdlerBridgesTheDistanceThatAPairDoesNotSpan) {
  // 8:24 spans two pitches; with the motor held five pitches from the drum only a row of wheels reaches it.
  const Bench b;
  const stock::ClassId motor = *b.brief.catalogue->find("motor_small");
  auto site = std::make_shared<drive::Site>(*drum_site({{-20, -20, -20}, {20, 20, 20}}));
  site->motor_at = drive::MotorAt{{10, -5, 0}, Axis::y};
  const drive::Powertrain plain{motor, 1, b.train({{"gear_8", "gear_24"}})};
  drive::Placers placers(b.brief, b.function, 2);
  const drive::Placers::First none = placers.first(motor, 1, site, {plain.train});
  ASSERT_LT(none.train, 0);
  EXPECT_FALSE(none.ended);
  const drive::Placers::First found = placers.with_help(drive::Help::idlers, plain, site);
  ASSERT_NE(found.placed, nullptr);
  EXPECT_TRUE(routing::check(*found.placed->problem, *found.placed->layout).empty());
  EXPECT_TRUE(assembly::order_of(*found.placed->problem, *found.placed->layout).complete());
  const gearing::Train train = drive::trains_of(*found.placed, b.table).front();
  ASSERT_FALSE(train.idlers.empty());
  EXPECT_EQ(train.ratio().abs(), base::Rational(1, 3));
  EXPECT_EQ(train.without_idlers(b.table)->key(*b.brief.catalogue), plain.train.key(*b.brief.catalogue));
  // The parts are those of the layout, and cost: an idler takes a mesh's and a bearing's share of the power.
  const drive::Powertrain laid_out{motor, 1, train};
  int wheels = 0;
  for (const gearing::GearUse& use : train.needs()) wheels += use.count;
  EXPECT_EQ(wheels, static_cast<int>(found.placed->layout->wheels.size()));
  const brief::Sample nominal = b.brief.parameters.nominal();
  const drive::Machine without = drive::machine(plain, b.brief, nominal);
  const drive::Machine with = drive::machine(laid_out, b.brief, nominal);
  EXPECT_DOUBLE_EQ(with.ratio, without.ratio);
  EXPECT_NEAR(with.forward,
              without.forward * std::pow(with.meshes.spur * (1 - with.meshes.bearing_loss), train.idlers.size()),
              1e-12);
  // Several layouts, all of these wheels; asked again the same.
  const std::vector<drive::Placed> best = placers.best(laid_out, site, 3);
  ASSERT_FALSE(best.empty());
  for (const drive::Placed& at : best) EXPECT_EQ(drive::trains_of(at, b.table).front().text(), train.text());
  EXPECT_EQ(placers.with_help(drive::Help::idlers, plain, site).placed, found.placed);
  // Loads are told of every shaft, the idler's too.
  candidate::Candidate c;
  drive::tell_place(*found.placed, b.brief, c);
  EXPECT_TRUE(
      std::any_of(c.notes.begin(), c.notes.end(), [](const std::string& n) { return n.starts_with("idler: "); }));
  drive::tell_loads(laid_out, *found.placed, with, b.brief, 30, c);
  const auto told = std::count_if(c.figures.begin(), c.figures.end(), [](const candidate::Figure& f) {
    return f.name.starts_with("bearing load by the teeth, shaft ");
  });
  EXPECT_EQ(told, static_cast<std::ptrdiff_t>(found.placed->layout->shafts.size()));
}

TEST(Placers, AxlesAreJoinedOnlyWhereShaftsLackALongEnoughOne) {
  Bench b;
  stock::Catalogue catalogue = *b.brief.catalogue;
  stock::PartClass sleeve;
  sleeve.id = sleeve.name = "joiner";
  sleeve.family = stock::Family::joiner;
  sleeve.data = stock::Bush{2};
  catalogue.classes.push_back(sleeve);
  b.brief.catalogue = std::make_shared<stock::Catalogue>(catalogue);
  const stock::ClassId motor = *catalogue.find("motor_small");
  // A drum at either end of the shaft, further apart than the longest axle left in the stock spans.
  auto site = std::make_shared<drive::Site>(*drum_site({{-20, -30, -20}, {20, 30, 20}}));
  routing::Place place = drive::shaft_with(Axis::y, {0, 0}, -8, -6, 8, "drum");
  place.attachments.push_back({6, 8, 8, "second drum"});
  site->outputs.front().places = {place};
  const drive::Powertrain train{motor, 1, b.train({{"gear_8", "gear_24"}})};
  const auto ask = [&](int joiners, bool long_axles) {
    auto stock = std::make_shared<stock::Stock>(lift_fixture::plenty(catalogue));
    lift_fixture::set_count(*stock, catalogue, "joiner", joiners);
    for (const char* id : {"axle_6", "axle_7", "axle_8", "axle_9"})
      if (!long_axles) lift_fixture::set_count(*stock, catalogue, id, 0);
    b.brief.stock = stock;
    drive::Placers placers(b.brief, b.function, 2);
    const drive::Placers::First plain = placers.first(motor, 1, site, {train.train});
    if (plain.train >= 0) return std::tuple(true, plain.lacked_axle, 0);
    const drive::Placers::First found = placers.with_help(drive::Help::joined, train, site);
    if (found.placed == nullptr) return std::tuple(false, plain.lacked_axle, 0);
    EXPECT_TRUE(routing::check(*found.placed->problem, *found.placed->layout).empty());
    EXPECT_TRUE(assembly::order_of(*found.placed->problem, *found.placed->layout).complete());
    return std::tuple(false, plain.lacked_axle, drive::joiners_in(*found.placed));
  };
  EXPECT_EQ(ask(2, true), std::tuple(true, false, 0)) << "a long enough axle serves, so none are joined";
  EXPECT_EQ(ask(0, false), std::tuple(false, true, 0));
  EXPECT_EQ(ask(2, false), std::tuple(false, true, 1));
}

TEST(WiderRoom, IsTheSmallestInWhichTheTrainStands) {
  const Bench b;
  const stock::ClassId motor = *b.brief.catalogue->find("motor_small");
  const gearing::Train train = b.train({{"gear_8", "gear_24"}});
  const Box3 narrow{{-4, -20, -4}, {4, 20, 4}};
  bool found = false, cut_short = false;  // a search that ended early before the first room in which it stands
  const auto stands = [&](const Box3& room) {
    drive::Placers placers(b.brief, b.function, 2);
    const drive::Placers::First first = placers.first(motor, 1, drum_site(room), {train});
    cut_short = cut_short || (!found && first.ended);
    return first.train >= 0;
  };
  ASSERT_FALSE(stands(narrow));
  cut_short = false;
  // The other route: every room one face wider, pitch by pitch.
  int least_p = 0;
  std::set<std::string> sides;
  for (int by_p = 1; by_p <= 4 && least_p == 0; ++by_p) {
    for (const Axis axis : lattice::kAxes) {
      for (const bool high : {true, false}) {
        Box3 room = narrow;
        if (high) {
          room.high.set(axis, room.high.at(axis) + 2 * by_p);
        } else {
          room.low.set(axis, room.low.at(axis) - 2 * by_p);
        }
        if (!stands(room)) continue;
        found = true;
        least_p = by_p;
        sides.insert(std::string("towards ") + (high ? "greater " : "smaller ") +
                     std::string(1, lattice::letter(axis)));
      }
    }
  }
  ASSERT_GT(least_p, 0);
  drive::Placers placers(b.brief, b.function, 2);
  candidate::RejectionLog log;
  placers.tell_wider_room(log);
  EXPECT_TRUE(log.take().empty()) << "nothing was without a place";
  placers.remember_unplaced({motor, 1, b.train({{"gear_8", "gear_40"}})}, drum_site(narrow), 0.7);
  placers.remember_unplaced({motor, 1, train}, drum_site(narrow), 1.2);
  placers.tell_wider_room(log);
  const auto told = log.take();
  ASSERT_EQ(told.size(), 1U);
  EXPECT_EQ(told[0].code, "drive.wider_room");
  EXPECT_EQ(told[0].shortfall, least_p);
  EXPECT_TRUE(std::any_of(sides.begin(), sides.end(), [&](const std::string& s) {
    return told[0].text.find(s) != std::string::npos;
  })) << told[0].text;
  EXPECT_NE(told[0].text.find("8:24"), std::string::npos) << told[0].text;
  EXPECT_EQ(told[0].text.find("not searched to the end") != std::string::npos, cut_short) << told[0].text;
}

TEST(WiderRoom, EndsAtItsLimitAndNeverCrossesTheMirror) {
  const Bench b;
  const stock::ClassId motor = *b.brief.catalogue->find("motor_small");
  auto site = std::make_shared<drive::Site>(*drum_site({{-1, 0, -1}, {1, 4, 1}}));
  site->keep_outs = {{{-40, -40, 2}, {40, 40, 40}}, {{-40, -40, -40}, {40, 40, -2}}};
  site->images = {{std::nullopt, 0, 0}};
  drive::Placers placers(b.brief, b.function, 2);
  placers.remember_unplaced({motor, 1, b.train({{"gear_8", "gear_24"}})}, site, 1);
  candidate::RejectionLog log;
  placers.tell_wider_room(log);
  const auto told = log.take();
  ASSERT_EQ(told.size(), 1U);
  EXPECT_NE(told[0].text.find("no place was found in a room up to 4 pitches wider"), std::string::npos) << told[0].text;
}

TEST(Loads, OfAPlacedTrainAreThoseOfTheTrainAndItsShafts) {
  const Bench b;
  const stock::ClassId motor = *b.brief.catalogue->find("motor_small");
  const gearing::Train train = b.train({{"gear_8", "gear_24"}, {"gear_8", "gear_24"}});
  const drive::Powertrain p{motor, 1, train};
  drive::Placers placers(b.brief, b.function, 2);
  const auto site = drum_site({{-30, -16, -30}, {30, 24, 30}});
  const auto placed = placers.best(p, site, 1);
  ASSERT_EQ(placed.size(), 1U);
  const drive::Machine m = drive::machine(p, b.brief, b.brief.parameters.nominal());
  candidate::Candidate c;
  drive::tell_loads(p, placed[0], m, b.brief, 120, c);
  const auto figure = [&](const std::string& name) {
    const auto at = std::find_if(c.figures.begin(), c.figures.end(), [&](const auto& f) { return f.name == name; });
    EXPECT_NE(at, c.figures.end()) << name;
    return at == c.figures.end() ? 0 : at->value;
  };
  // Of the last mesh by hand: the output's torque, with what its own bearings and the mesh lose, over the wheel's
  // radius of 12 mm.
  const gearing::TrainLoad load = gearing::torque_at_stages(train, 120, m.meshes, m.teeth);
  EXPECT_NEAR(figure("tooth load, B to C"), load.tooth_force_n[1], 1e-9);
  EXPECT_NEAR(figure("tooth load, A to B"), load.tooth_force_n[0], 1e-9);
  EXPECT_NEAR(load.tooth_force_n[1], 120 / (1 - m.meshes.bearing_loss) / m.meshes.spur / 12, 1e-6);
  // Balance: the bearings of the output's shaft share one tooth force F / cos a, so the greater has at least half of
  // it.
  const double pressed_n =
      load.tooth_force_n[1] / std::cos(b.brief.system().pressure_angle_deg * std::numbers::pi / 180);
  EXPECT_GE(figure("bearing load by the teeth, shaft C"), pressed_n / 2 - 1e-9);
  const bool overhung = std::any_of(placed[0].layout->wheels.begin(), placed[0].layout->wheels.end(),
                                    [](const routing::PlacedWheel& w) { return w.overhung; });
  const bool told = std::any_of(c.notes.begin(), c.notes.end(), [](const std::string& n) {
    return n.find("beyond its last bearing") != std::string::npos;
  });
  EXPECT_EQ(overhung, told);
}
