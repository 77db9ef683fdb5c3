// Covers functions/drive: the search against the definition of non-domination by brute force, the operating point
// against an energy balance, demand of one and two sides, what locks, what the musts do.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>

#include "functions/drive/drive.h"
#include "functions/luff/fixture.h"
#include "motor/supply.h"

namespace drive = functions::drive;
using drive::Powertrain;

namespace {

constexpr double kRadPerRpm = std::numbers::pi / 30;

/// Judges by stall torque and speed alone, so that the quick bound is the judgement.
drive::Query query_of(const brief::Brief& b, double torque_nmm, double speed_rad_s) {
  drive::Query q;
  q.least_torque_nmm = torque_nmm;
  q.least_speed_rad_s = speed_rad_s;
  q.train.min_stages = 0;
  q.train.max_stages = 2;
  q.judge = [&b, torque_nmm, speed_rad_s](const Powertrain& p) {
    const drive::Machine m = drive::machine(p, b, b.parameters.nominal());
    const drive::State s = drive::state(p, m, b.system(), torque_nmm);
    const double force = s.stall_torque_nmm / torque_nmm, speed = s.speed_rad_s / speed_rad_s;
    return drive::Judged{std::min({force, speed, candidate::kMarginCap}),
                         drive::stepped_current_ma(s.current_ma),
                         "force",
                         0,
                         0,
                         "N mm"};
  };
  return q;
}

}  // namespace

TEST(Drive, OperatingPointClosesTheEnergyBalance) {
  const brief::Brief b = lift_fixture::crane();
  const gearing::MeshTable table = gearing::find_meshes(*b.catalogue);
  const auto motor = *b.catalogue->find("motor_large");
  const int mesh = table.find(*b.catalogue->find("gear_8"), *b.catalogue->find("gear_24"), gearing::MeshType::spur);
  ASSERT_GE(mesh, 0);
  const int one[] = {mesh};
  for (const int motors : {1, 2}) {
    const Powertrain p{motor, motors, gearing::Train::of(table, one)};
    const drive::Machine m = drive::machine(p, b, b.parameters.nominal());
    const double load_nmm = 90;
    const drive::State s = drive::state(p, m, b.system(), load_nmm);
    // Second route: the linear line at the sagging supply, solved for speed from U = E - R_s I and T = k_t (I - I0).
    const double motor_nmm = load_nmm / 3 / m.forward / motors;
    const double current_a = m.motor.no_load_current_a + motor_nmm / m.motor.torque_nmm_per_a;
    const double feed_v = b.supply.voltage_v - b.supply.resistance_ohm * current_a * motors;
    const double speed = (feed_v - m.motor.resistance_ohm * current_a) / m.motor.emf_v_s;
    EXPECT_NEAR(s.current_ma, 1000 * current_a * motors, 1e-6);
    EXPECT_NEAR(s.speed_rad_s, speed / 3, 1e-9);
    // 0.93 per mesh, two shafts lose 2 % each.
    EXPECT_NEAR(m.forward, 0.93 * 0.98 * 0.98, 1e-12);
    EXPECT_NEAR(drive::quick_state(m, load_nmm).speed_rad_s, s.speed_rad_s, 1e-12);
    EXPECT_FALSE(s.self_locking);
  }
}

TEST(Drive, StallTorqueIsWhereTheSpeedEnds) {
  const brief::Brief b = lift_fixture::crane();
  const Powertrain p{*b.catalogue->find("motor_small"), 1, {}};
  const drive::Machine m = drive::machine(p, b, b.parameters.nominal());
  const double stall = drive::stall_torque_nmm(m);
  EXPECT_GT(drive::quick_state(m, stall * 0.999).speed_rad_s, 0);
  EXPECT_EQ(drive::quick_state(m, stall * 1.001).speed_rad_s, 0);
}

TEST(Drive, SearchKeepsExactlyTheNonDominatedPowertrains) {
  brief::Brief b = lift_fixture::crane();
  auto scarce = std::make_shared<stock::Stock>(*b.stock);
  lift_fixture::set_count(*scarce, *b.catalogue, "gear_8", 2);
  lift_fixture::set_count(*scarce, *b.catalogue, "gear_40", 1);
  b.stock = scarce;
  brief::Function f;
  f.id = "turn";
  for (const double torque_nmm : {20.0, 60.0, 120.0}) {
    const double speed_rad_s = 30 * kRadPerRpm;
    const drive::Query q = query_of(b, torque_nmm, speed_rad_s);
    candidate::RejectionLog log;
    const drive::Powertrains found = drive::powertrains(b, f, q, log, {});
    ASSERT_TRUE(found.complete);

    struct Option {
      std::string key;
      drive::Judged judged;
      stock::ClassId motor;
      std::map<stock::ClassId, int> gears;
    };
    std::vector<Option> all;
    const gearing::MeshTable table = gearing::find_meshes(*b.catalogue);
    std::vector<gearing::GearStock> gears;
    for (std::size_t i = 0; i < b.catalogue->classes.size(); ++i) {
      const stock::ClassId id{static_cast<int>(i)};
      gears.push_back({id, b.stock->count_of(id)});
    }
    gearing::TrainQuery wide = q.train;
    wide.low = base::Rational(1, 1000000);
    wide.high = base::Rational(1000);
    for (const gearing::Train& train : gearing::find_trains(table, gears, wide)) {
      for (const stock::ClassId motor : b.catalogue->of(stock::Family::motor)) {
        const Powertrain p{motor, 1, train};
        Option o{drive::key_of(p, *b.catalogue), q.judge(p), motor, {}};
        for (const gearing::GearUse& use : train.needs()) o.gears[use.part] = use.count;
        if (o.judged.worst >= candidate::kNearMiss) all.push_back(std::move(o));
      }
    }
    const auto beats = [](const Option& x, const Option& y) {
      if (x.motor != y.motor || x.judged.worst < y.judged.worst ||
          x.judged.current_ma > y.judged.current_ma * (1 + 1e-9)) {
        return false;
      }
      return std::all_of(x.gears.begin(), x.gears.end(), [&](const auto& g) {
        const auto other = y.gears.find(g.first);
        return other != y.gears.end() && g.second <= other->second;
      });
    };
    std::vector<std::string> expected, got;
    for (const Option& y : all) {
      const bool beaten = std::any_of(all.begin(), all.end(),
                                      [&](const Option& x) { return x.key != y.key && beats(x, y) && !beats(y, x); });
      if (!beaten) expected.push_back(y.key);
    }
    for (const Powertrain& p : found.kept) got.push_back(drive::key_of(p, *b.catalogue));
    std::sort(expected.begin(), expected.end());
    std::sort(got.begin(), got.end());
    EXPECT_FALSE(expected.empty()) << torque_nmm;
    EXPECT_EQ(got, expected) << torque_nmm;
  }
}

TEST(Drive, TwoSidesNeedExactlyTwice) {
  const brief::Brief b = lift_fixture::crane();
  const gearing::MeshTable table = gearing::find_meshes(*b.catalogue);
  const int one[] = {table.find(*b.catalogue->find("gear_8"), *b.catalogue->find("gear_24"), gearing::MeshType::spur)};
  const Powertrain p{*b.catalogue->find("motor_small"), 1, gearing::Train::of(table, one)};
  brief::Function f;
  const candidate::Demand single = drive::demand_of(p, b, f);
  f.sides = 2;
  const candidate::Demand pair = drive::demand_of(p, b, f);
  ASSERT_EQ(single.needs.size(), pair.needs.size());
  for (std::size_t i = 0; i < single.needs.size(); ++i) EXPECT_EQ(2 * single.needs[i].count, pair.needs[i].count);
  EXPECT_EQ(pair.ports, 2);
}

TEST(Drive, OnlyAWormLocksAndAHeldLoadNeedsOne) {
  const brief::Brief b = lift_fixture::crane();
  const gearing::MeshTable table = gearing::find_meshes(*b.catalogue);
  const int worm[] = {table.find(*b.catalogue->find("worm_1"), *b.catalogue->find("gear_24"), gearing::MeshType::worm)};
  ASSERT_GE(worm[0], 0);
  const Powertrain locking{*b.catalogue->find("motor_small"), 1, gearing::Train::of(table, worm)};
  const drive::Machine m = drive::machine(locking, b, b.parameters.nominal());
  EXPECT_TRUE(drive::state(locking, m, b.system(), 50).self_locking);
  const Powertrain open{*b.catalogue->find("motor_small"), 1, {}};
  const drive::State s = drive::state(open, drive::machine(open, b, b.parameters.nominal()), b.system(), 50);
  EXPECT_FALSE(s.self_locking);
  EXPECT_LT(s.hold_margin, 1);
}

TEST(Drive, MustsAndBansAreKept) {
  const brief::Brief b = lift_fixture::crane();
  brief::Function f;
  f.id = "turn";
  f.must_use = {*b.catalogue->find("gear_40"), *b.catalogue->find("motor_large")};
  f.must_not_use = {*b.catalogue->find("gear_8")};
  candidate::RejectionLog log;
  const drive::Powertrains found = drive::powertrains(b, f, query_of(b, 40, 2), log, {});
  ASSERT_FALSE(found.kept.empty());
  for (const Powertrain& p : found.kept) {
    EXPECT_EQ(p.motor, f.must_use[1]);
    const auto uses = p.train.needs();
    EXPECT_TRUE(std::any_of(uses.begin(), uses.end(), [&](const auto& u) { return u.part == f.must_use[0]; }));
    EXPECT_TRUE(std::none_of(uses.begin(), uses.end(), [&](const auto& u) { return u.part == f.must_not_use[0]; }));
  }
}

TEST(Drive, SaysInNumbersWhyNothingServes) {
  const brief::Brief b = lift_fixture::crane();
  brief::Function f;
  f.id = "turn";
  candidate::RejectionLog log;
  const drive::Powertrains found = drive::powertrains(b, f, query_of(b, 1e6, 100), log, {});
  EXPECT_TRUE(found.kept.empty());
  const auto reasons = log.take();
  ASSERT_FALSE(reasons.empty());
  EXPECT_EQ(reasons[0].code, "drive.motor_too_weak");
  EXPECT_NE(reasons[0].text.find("N mm"), std::string::npos);
}
