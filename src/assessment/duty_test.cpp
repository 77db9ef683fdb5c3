// Covers the working cycle: shared sag, run time against a hand-stepped discharge, exclusions, heat and remedies.
#include <gtest/gtest.h>

#include <cmath>

#include "assessment/duty_model.h"
#include "assessment/internal.h"
#include "assessment/leads.h"
#include "candidate/test_parts.h"
#include "motor/thermal.h"

using namespace assessment;

namespace {

/// Two functions with a motor each on one hub.
struct World {
  brief::Brief brief;
  candidate::Candidate winch, fan;
  std::vector<Chosen> chosen;
  std::vector<PortUse> ports;

  World() {
    brief.catalogue = candidate::test::parts();
    brief.supply.hubs = {stock::ClassId{1}};
    brief.supply.packs = {{stock::Chemistry::alkaline, 6, 9, base::Triple::exact(0.9), {830, 1300, 2200}}};
    for (auto& f : brief.parameters.figure) f.value = base::Triple::exact(1);
    brief.functions.resize(2);
    brief.functions[0].id = "winch";
    brief.functions[1].id = "fan";
    winch = with_drive(45);
    fan = with_drive(20);
    chosen = {{&brief.functions[0], &winch}, {&brief.functions[1], &fan}};
    ports = {{0, 1, "winch", 0, 0, 1300, 0, 0, stock::ClassId{-1}},
             {0, 2, "fan", 0, 0, 1300, 0, 0, stock::ClassId{-1}}};
    brief.duty = {{"lift", {0}, 1, 20}, {"both", {0, 1}, 1, 10}, {"pause", {}, 1, 30}};
    brief.duty_is_default = false;
  }

  static candidate::Candidate with_drive(double motor_nmm) {
    candidate::Candidate c;
    candidate::Drive d;
    d.motor = stock::ClassId{0};
    d.at = {0};
    d.per_rad = {1};
    d.plus_nmm = d.minus_nmm = {motor_nmm};
    d.plus_free_nmm = d.minus_free_nmm = {0};
    d.heaviest_nmm = motor_nmm;
    c.drives = {d};
    return c;
  }
};

}  // namespace

TEST(Duty, SpeedFallsByTheSagOfBoth) {
  const World w;
  const DutyPower d = judge_duty(w.brief, w.chosen, w.ports, {}, {});
  ASSERT_TRUE(d.judged);
  ASSERT_EQ(d.phases.size(), 3u);
  const auto m = motor::constants(motor::ratings(9, 120, 380, 90, 1300));
  const double i1 = m.no_load_current_a + 45 / m.torque_nmm_per_a, i2 = m.no_load_current_a + 20 / m.torque_nmm_per_a;
  // Half-empty alkaline cells: 0.83 of the voltage, 1.3 of the resistance (cells.cpp).
  const double u = 9 * 0.83 - 0.9 * 1.3 * (i1 + i2);
  EXPECT_NEAR(d.phases[1].hub_voltage_v[0], u, 1e-9);
  EXPECT_NEAR(d.phases[1].hub_current_ma[0], 1000 * (i1 + i2), 1e-6);
  const double alone = (9 - 0.9 * i1 - m.resistance_ohm * i1) / m.emf_v_s;
  EXPECT_NEAR(d.phases[1].runs[0].speed_share, (u - m.resistance_ohm * i1) / m.emf_v_s / alone, 1e-9);
  EXPECT_EQ(d.phases[2].hub_current_ma[0], 0);
  EXPECT_NEAR(d.mean_current_ma, 1000 * (20 * i1 + 10 * (i1 + i2)) / 60, 1e-6);
}

TEST(Duty, RunTimeMatchesEmptyingTheCellsSecondBySecond) {
  const World w;
  const DutyPower d = judge_duty(w.brief, w.chosen, w.ports, {}, {});
  const DutyModel model(w.brief, w.chosen, w.ports);
  const motor::Cells& cells = model.cells()[0];
  // Currents do not depend on the depth while nothing stalls, so a plain sum of cycles is exact.
  const auto m = motor::constants(motor::ratings(9, 120, 380, 90, 1300));
  const double i1 = m.no_load_current_a + 45 / m.torque_nmm_per_a, i2 = m.no_load_current_a + 20 / m.torque_nmm_per_a;
  double depth = 0, minutes = 0;
  const auto stalls = [&](double current_a, double own_a) {
    const double u = motor::open_voltage_v(cells, depth) - motor::resistance_ohm(cells, depth) * current_a;
    return u <= m.resistance_ohm * own_a;
  };
  std::string why = "cells empty";
  while (depth < 1) {
    if (stalls(i1 + i2, i1)) {
      why = "\"winch\" stalls";
      break;
    }
    depth += 20 * motor::depth_per_s(cells, i1) + 10 * motor::depth_per_s(cells, i1 + i2);
    minutes += 1;
  }
  EXPECT_EQ(d.ends_by, why);
  EXPECT_NEAR(d.run_time_min.nominal, minutes, 0.03 * minutes);
}

TEST(Duty, TheIntervalSpansTheCellsAndNarrowsWithWhatIsKnown) {
  World w;
  const Options options;
  std::vector<std::vector<candidate::Evaluation>> worlds(200, std::vector<candidate::Evaluation>(2));
  const DutyPower wide = judge_duty(w.brief, w.chosen, w.ports, worlds, options);
  EXPECT_LT(wide.run_time_min.low, 0.95 * wide.run_time_min.nominal);
  EXPECT_GT(wide.run_time_min.high, 1.05 * wide.run_time_min.nominal);
  w.brief.supply.packs[0].capacity_mah = {1290, 1300, 1310};
  const DutyPower narrow = judge_duty(w.brief, w.chosen, w.ports, worlds, options);
  EXPECT_LT(narrow.run_time_min.high - narrow.run_time_min.low, 0.3 * (wide.run_time_min.high - wide.run_time_min.low));
}

TEST(Duty, TellsPairsThatOverloadTheHubAndAnotherHubThatHelps) {
  World w;
  auto catalogue = std::make_shared<stock::Catalogue>(*w.brief.catalogue);
  std::get<stock::Hub>(catalogue->classes[1].data).total_current_ma = 800;
  w.brief.catalogue = catalogue;
  Assessment a;
  a.power.ports = w.ports;
  a.power.duty = judge_duty(w.brief, w.chosen, w.ports, {}, {});
  ASSERT_EQ(a.power.duty.exclusions.size(), 1u);
  EXPECT_EQ(a.power.duty.exclusions[0].limit, 800);
  EXPECT_GT(a.power.duty.exclusions[0].value, 800);
  auto has = [](const std::vector<Finding>& all, const char* code) {
    return std::find_if(all.begin(), all.end(), [&](const Finding& f) { return f.code == code; });
  };
  std::vector<Finding> found = duty_findings(w.brief, w.chosen, a);
  ASSERT_NE(has(found, "duty.together"), found.end());
  EXPECT_TRUE(has(found, "duty.together")->remedies.empty());
  ASSERT_NE(has(found, "duty.hub_limit"), found.end());
  const Finding& limit = *has(found, "duty.hub_limit");
  ASSERT_EQ(limit.remedies.size(), 1u);
  EXPECT_LT(limit.remedies[0].after, 1);
  // A second hub: the pair is still excluded on one, and moving one of them is a remedy that was tried.
  w.brief.supply.hubs.push_back(stock::ClassId{1});
  w.brief.supply.packs.push_back(w.brief.supply.packs[0]);
  found = duty_findings(w.brief, w.chosen, a);
  ASSERT_EQ(has(found, "duty.together")->remedies.size(), 1u);
  EXPECT_LT(has(found, "duty.together")->remedies[0].after, 800);
}

TEST(Duty, RestAndOneMoreHubLengthenTheRunTimeByWhatTheyTakeOffTheCells) {
  World w;
  w.winch = World::with_drive(30);  // turns until the cells are empty
  w.chosen[0].candidate = &w.winch;
  Assessment a;
  a.power.ports = w.ports;
  a.power.duty = judge_duty(w.brief, w.chosen, w.ports, {}, {});
  ASSERT_EQ(a.power.duty.ends_by, "cells empty");
  a.power.run_time_min = a.power.duty.run_time_min;
  const double before_min = a.power.run_time_min.nominal;
  // Every phase with a load has the winch in it, so a cycle takes charge in proportion to the share that it still
  // works.
  const double wanted_min = 1.5 * before_min;
  std::vector<Remedy> found = run_time_remedies(w.brief, w.chosen, a, wanted_min);
  ASSERT_EQ(found.size(), 1u);  // no hub is left
  const Remedy rest = found[0];
  EXPECT_EQ(rest.text, "rest \"winch\" 34 % of the time it works now");
  EXPECT_TRUE(rest.enough);
  EXPECT_NEAR(rest.after, before_min / 0.66, 1e-3 * rest.after);
  EXPECT_LT(before_min / 0.67, wanted_min);  // one per cent less would not do
  // As the project would say it: both phases cut, and the pause they leave.
  ASSERT_EQ(rest.amendments.size(), 3u);
  brief::Brief changed = w.brief;
  for (std::size_t i = 0; i < 2; ++i) {
    EXPECT_EQ(rest.amendments[i].id, w.brief.duty[i].id);
    EXPECT_EQ(rest.amendments[i].key, "time_s");
    changed.duty[i].time_s *= 0.66;
  }
  EXPECT_EQ(rest.amendments[2].op, Amendment::Op::add);
  changed.duty.push_back({"pause 2", {}, 1, 0.34 * 30});
  EXPECT_NEAR(judge_duty(changed, w.chosen, w.ports, {}, {}).run_time_min.nominal, rest.after, 1e-9 * rest.after);
  // A cycle that nobody told follows from the share of time.
  w.brief.duty_is_default = true;
  w.brief.functions[0].duty = 0.5;
  found = run_time_remedies(w.brief, w.chosen, a, wanted_min);
  ASSERT_EQ(found[0].amendments.size(), 1u);
  EXPECT_EQ(found[0].amendments[0].key, "duty");
  w.brief.duty_is_default = false;

  // One more hub for the winch alone: then a cycle takes only the winch's current from it, the fan's from the other.
  a.parts = {{1, stock::ClassId{1}, "hub", "", 2, 1, 0}};
  found = run_time_remedies(w.brief, w.chosen, a, wanted_min);
  ASSERT_EQ(found.size(), 2u);
  const DutyModel model(w.brief, w.chosen, w.ports);
  const motor::Cells& cells = model.cells()[0];
  const auto m = motor::constants(motor::ratings(9, 120, 380, 90, 1300));
  const double winch_a = m.no_load_current_a + 30 / m.torque_nmm_per_a;
  const double winch_min = 1 / (30 * motor::depth_per_s(cells, winch_a));  // cycles of a minute until it is empty
  EXPECT_NEAR(found[1].after, winch_min, 0.01 * winch_min);
  EXPECT_EQ(found[1].enough, found[1].after >= wanted_min);
  ASSERT_EQ(found[1].amendments.size(), 1u);
  EXPECT_EQ(found[1].amendments[0].key, "hubs");
  // Nothing short of never working would reach this: then resting is no way out.
  for (const Remedy& r : run_time_remedies(w.brief, w.chosen, a, 1000 * before_min))
    EXPECT_EQ(r.text.find("rest"), std::string::npos) << r.text;
}

TEST(Duty, TellsMotorsThatStallOrOverheatInTheCycle) {
  World w;
  w.winch = World::with_drive(130);  // beyond its stall torque of 120 N mm on fresh cells already
  w.chosen[0].candidate = &w.winch;
  w.brief.duty = {{"lift", {0}, 1, 3600}};
  Assessment a;
  a.power.ports = w.ports;
  a.power.duty = judge_duty(w.brief, w.chosen, w.ports, {}, {});
  const std::vector<Finding> found = duty_findings(w.brief, w.chosen, a);
  const auto has = [&](const char* code) {
    return std::find_if(found.begin(), found.end(), [&](const Finding& f) { return f.code == code; });
  };
  ASSERT_NE(has("duty.stall"), found.end());
  const Finding& stall = *has("duty.stall");
  EXPECT_GT(stall.numbers[0].value, 130.0 / 120);  // the cells sag as well
  ASSERT_EQ(stall.remedies.size(), 1u);
  EXPECT_LT(stall.remedies[0].after * 130, 120);
  ASSERT_NE(has("duty.heat"), found.end());
  EXPECT_EQ(has("duty.heat")->function, "winch");
}

TEST(Duty, NamesWhatStallsFirst) {
  World w;
  w.winch = World::with_drive(95);
  w.chosen[0].candidate = &w.winch;
  const DutyPower d = judge_duty(w.brief, w.chosen, w.ports, {}, {});
  EXPECT_EQ(d.stalls_first, "winch");
  EXPECT_GT(d.stalls_first_depth, 0);
  EXPECT_LT(d.stalls_first_depth, 1);
  // At that depth the winch's stall torque is its load.
  const DutyModel model(w.brief, w.chosen, w.ports);
  const motor::Supply s = motor::supply_at(model.cells()[0], d.stalls_first_depth);
  const auto line = motor::line(model.plugged()[0].motor, {s.open_voltage_v, s.resistance_ohm, 1.3});
  EXPECT_NEAR(line.stall_torque_nmm, 95, 1e-3);
}

TEST(Leads, CablesAreGivenExactlyWhereTheyReach) {
  // Against every way of giving them, on random small cases.
  for (std::uint64_t round = 0; round < 500; ++round) {
    std::vector<double> lacks, cables;
    for (std::uint64_t i = 0; i < 3; ++i) lacks.push_back(std::floor(6 * base::uniform_draw(3, i, round)) - 1);
    for (std::uint64_t i = 0; i < 3; ++i) cables.push_back(std::floor(5 * base::uniform_draw(4, i, round)));
    std::vector<std::size_t> order{0, 1, 2};
    bool any = false;
    do {
      bool good = true;
      for (std::size_t i = 0; i < 3; ++i) good = good && (lacks[i] <= 0 || cables[order[i]] >= lacks[i]);
      any = any || good;
    } while (std::next_permutation(order.begin(), order.end()));
    const auto given = give_cables(lacks, cables);
    ASSERT_EQ(given.has_value(), any) << round;
    if (!given) continue;
    for (std::size_t i = 0; i < 3; ++i)
      EXPECT_TRUE(lacks[i] <= 0 || cables[static_cast<std::size_t>((*given)[i])] >= lacks[i]);
  }
}

TEST(Duty, HeatFollowsTheRootMeanSquareCurrent) {
  const World w;
  const DutyPower d = judge_duty(w.brief, w.chosen, w.ports, {}, {});
  ASSERT_EQ(d.warmth.size(), 2u);
  const auto m = motor::constants(motor::ratings(9, 120, 380, 90, 1300));
  const double i1 = m.no_load_current_a + 45 / m.torque_nmm_per_a;
  const motor::Thermal th = candidate::motor_thermal(w.winch.drives[0], w.brief);
  EXPECT_NEAR(d.warmth[0].steady_rise_k, motor::winding_rise_k(m.resistance_ohm, i1, th.total_k_per_w()), 1e-9);
  EXPECT_NEAR(d.warmth[0].end_rise_k, motor::winding_rise_k(m.resistance_ohm, i1 * std::sqrt(0.5), th.total_k_per_w()),
              1e-9);
}
