// Covers the time simulation: closed-form answers of a d.c. motor, its warm-up, energy, ends of travel, cut-outs, what
// the handset makes of a control, interlocks.
#include "simulation/run.h"

#include <gtest/gtest.h>

#include <cmath>

#include "base/triple.h"
#include "motor/thermal.h"
#include "simulation/fixture.h"

using namespace simulation;
using fixture::drive;
using fixture::geared;
using fixture::hub;
using fixture::script;

namespace {

Outcome run_for(const Machine& m, const Script& s, Options o = {}) {
  return run(m, s, {}, o);
}

}  // namespace

TEST(Simulation, StepResponseIsTheClosedFormOfADcMotor) {
  // Any text on d.c. machines: w(t) = w_end (1 - e^{-t/tau}), tau = R J/(k_t k_e), R with the supply's in series.
  for (const double ohms : {0.0, 0.9}) {
    for (const double load_nmm : {0.0, 40.0}) {
      const Machine m{{drive("winch", load_nmm, load_nmm)}, {hub(9, ohms)}};
      Options o;
      o.sample_s = 0.005;
      const Outcome out = run_for(m, script({"winch"}, {{0, {1}}, {0.3, {1}}}), o);
      const motor::Constants c = geared();
      const double r = c.resistance_ohm + ohms;
      const double tau = r * m.drives[0].inertia_nmm_s2 / (c.torque_nmm_per_a * c.emf_v_s);
      const double end = (9 - r * (c.no_load_current_a + load_nmm / c.torque_nmm_per_a)) / c.emf_v_s;
      ASSERT_GT(out.samples.size(), 50u);
      for (const Sample& s : out.samples)
        EXPECT_NEAR(s.speed_rad_s[0], end * (1 - std::exp(-s.time_s / tau)), 2e-4 * end) << s.time_s;
    }
  }
}

// A start is over long before the next row of a long script; the peak is told all the same.
TEST(Simulation, PeaksDoNotDependOnHowManyRowsAreTold) {
  const Machine m{{drive("winch", 40, 40)}, {hub(9, 0.9)}};
  const Outcome brief = run_for(m, script({"winch"}, {{0, {1}}, {1, {0}}, {2, {0}}}));
  const Outcome drawn_out = run_for(m, script({"winch"}, {{0, {1}}, {1, {0}}, {600, {0}}}));
  EXPECT_EQ(brief.most_current_a, drawn_out.most_current_a);
  EXPECT_EQ(brief.most_speed_rad_s, drawn_out.most_speed_rad_s);
  EXPECT_EQ(brief.least_voltage_v, drawn_out.least_voltage_v);
  EXPECT_EQ(brief.most_hub_current_a, drawn_out.most_hub_current_a);
  // A standing start: the current of the stalled motor behind both resistances, all but what half a step of motion
  // takes.
  const double stall_a = 9 / (geared().resistance_ohm + 0.9);
  EXPECT_NEAR(brief.most_current_a[0], stall_a, 0.02 * stall_a);
  EXPECT_LT(brief.most_current_a[0], stall_a);
}

TEST(Simulation, HalvingTheStepQuartersTheError) {
  const Machine m{{drive("winch", 30, 30)}, {hub(9, 0.9)}};
  const auto speed = [&](double step_s) {
    Options o;
    o.step_s = step_s;
    return run_for(m, script({"winch"}, {{0, {1}}, {0.064, {1}}}), o).samples.back().speed_rad_s[0];
  };
  const motor::Constants c = geared();
  const double r = c.resistance_ohm + 0.9;
  const double tau = r * m.drives[0].inertia_nmm_s2 / (c.torque_nmm_per_a * c.emf_v_s);
  const double exact =
      (9 - r * (c.no_load_current_a + 30 / c.torque_nmm_per_a)) / c.emf_v_s * (1 - std::exp(-0.064 / tau));
  const double coarse = speed(8e-3) - exact, fine = speed(4e-3) - exact;
  EXPECT_NEAR(coarse / fine, 4, 0.2);
}

TEST(Simulation, WarmUpIsExponential) {
  // Held fast at the port's limit, so the current is constant. One mass: x = P R (1 - e^{-t/RC}) while the copper's
  // growth is left out; with it the exact two-mass step.
  DriveModel held = drive("winch", 500, 500);
  held.port_limit_a = 0.6;
  held.thermal = {20, 1e-9, 4, 1e9, 1000};
  const Machine m{{held}, {hub(9, 0)}};
  Options o;
  o.sample_s = 10;
  const Outcome out = run_for(m, script({"winch"}, {{0, {1}}, {160, {1}}}), o);
  for (const Sample& s : out.samples) {
    const double r = geared().resistance_ohm;
    EXPECT_NEAR(s.winding_k[0], motor::warmed(held.thermal, {}, r, 0.6, s.time_s).winding_k, 0.05) << s.time_s;
    const double p = r * 0.36;
    const double grown = p * 20 / (1 - motor::kCopperPerKelvin * p * 20);  // MOTOR-06's law, with its own time constant
    const double tau = 80 / (1 - motor::kCopperPerKelvin * p * 20);
    EXPECT_NEAR(s.winding_k[0], grown * (1 - std::exp(-s.time_s / tau)), 0.05) << s.time_s;
  }
}

TEST(Simulation, LoweredLoadRunsTheMotorAtTheSpeedOfItsLine) {
  // The load helps: T = -25 at the shaft; in the end w = (U - R (I0 + T/k_t))/k_e.
  const Machine m{{drive("winch", 40, -25)}, {hub(9, 0)}};
  const Outcome out = run_for(m, script({"winch"}, {{0, {-0.5}}, {1, {-0.5}}}));
  const motor::Constants c = geared();
  const double expected = (4.5 - c.resistance_ohm * (c.no_load_current_a - 25 / c.torque_nmm_per_a)) / c.emf_v_s;
  EXPECT_NEAR(out.samples.back().speed_rad_s[0], -expected, 1e-6 * expected);
}

TEST(Simulation, WithoutInputAShortedMotorCreepsUnderItsLoad) {
  const Machine m{{drive("winch", 60, -50)}, {hub(9, 0)}};
  const Outcome out = run_for(m, script({"winch"}, {{0, {0}}, {2, {0}}}));
  EXPECT_NEAR(out.samples.back().speed_rad_s[0], -motor::shorted_creep_speed_rad_s(geared(), 50), 1e-6);
  const Machine light{{drive("winch", 10, -5)}, {hub(9, 0)}};  // its own friction holds this one
  EXPECT_EQ(run_for(light, script({"winch"}, {{0, {0}}, {2, {0}}})).samples.back().speed_rad_s[0], 0);
}

TEST(Simulation, EnergyAddsUpToAThousandthOfWhatFlowed) {
  for (std::uint64_t round = 0; round < 12; ++round) {
    const auto draw = [&](std::uint64_t stream) { return base::uniform_draw(11, stream, round); };
    Machine m;
    m.hubs = {hub(9, 0.5 + draw(0), 1.3)};
    std::vector<std::string> names;
    for (std::uint64_t i = 0; i < 4; ++i) {
      names.push_back("d" + std::to_string(i));
      DriveModel d = drive(names.back().c_str(), 70 * draw(10 + i), 60 * draw(20 + i) - 30);
      d.drive.forward_efficiency = 0.6 + 0.4 * draw(30 + i);
      d.drive.backward_efficiency = draw(40 + i);
      d.drive.ratio = 0.1 + draw(50 + i);
      d.drive.motors = 1 + static_cast<int>(2 * draw(60 + i));
      if (draw(70 + i) < 0.5) d.port_limit_a = 0.4 + draw(80 + i);
      if (i == 3) {
        d.drive.endless = false;
        d.drive.at = {-2, 0.5, 3};
        d.drive.per_rad = {0.5, 0.3, 0.8};
        d.drive.plus_nmm = {10, 40, 20};
        d.drive.minus_nmm = {5, -30, 10};
        d.drive.plus_free_nmm = d.drive.minus_free_nmm = {1, 2, 1};
        d.soft_ends = false;
      }
      m.drives.push_back(std::move(d));
    }
    Script s = script(names, {});
    for (int k = 0; k < 20; ++k) {
      Step step{k * 0.7, {}, {}};
      for (std::uint64_t i = 0; i < 4; ++i)
        step.input.push_back(std::round(4 * draw(100 + 4 * static_cast<std::uint64_t>(k) + i) - 2) / 2);
      s.steps.push_back(step);
    }
    const Outcome out = run_for(m, s);
    EXPECT_LT(out.energy.error(), 1e-3) << round;
    EXPECT_GT(out.energy.source, 1);
  }
}

TEST(Simulation, WorkOnTheLoadIsItsTorqueOverTheWay) {
  // Up a rising torque: the work is the integral of the table, whatever the speed did.
  DriveModel d = drive("boom", 0, 0);
  d.drive.endless = false;
  d.drive.at = {0, 1};
  d.drive.per_rad = {0.1, 0.1};
  d.drive.plus_nmm = {10, 50};
  d.drive.minus_nmm = {0, 0};
  d.drive.plus_free_nmm = d.drive.minus_free_nmm = {0, 0};
  const Machine m{{d}, {hub(9, 0.9)}};
  const Outcome out = run_for(m, script({"boom"}, {{0, {1}}, {5, {1}}}));
  EXPECT_NEAR(out.samples.back().position[0], 1, 0.02);
  // 10 rad of the shaft at 30 N mm on average.
  EXPECT_NEAR(out.energy.load, 0.3, 0.002 * 0.3 + 0.02);
  ASSERT_EQ(out.events.size(), 1u);
  EXPECT_EQ(out.events[0].text, "boom: at its end, up");
}

TEST(Simulation, CutOutOpensAtItsTimeAndClosesAgain) {
  DriveModel held = drive("winch", 500, 500);
  HubModel h = hub(9, 0);
  h.cut_out = {0.9, 20};
  const Machine m{{held}, {h}};
  const Outcome out = run_for(m, script({"winch"}, {{0, {1}}, {60, {1}}}));
  ASSERT_GE(out.events.size(), 2u);
  EXPECT_EQ(out.events[0].text, "hub 1: cut out");
  // Closed form of the cold curve at the stalled motor's 1.3 A; looked at every 0.1 s.
  EXPECT_NEAR(out.events[0].time_s, motor::cut_out_time_s(h.cut_out, 1.3), 0.11);
  EXPECT_EQ(out.events[1].text, "hub 1: on again");
}

TEST(Simulation, AnEngineFollowsItsRuleAndTheScriptOverridesIt) {
  DriveModel fan = drive("fan", 5, 5);
  fan.looks_only = true;
  const Machine m{{drive("winch", 40, 40), fan}, {hub(9, 0)}};
  Options o;
  o.engine = [](double, double others) { return others > 0.1 ? 0.8 : 0.25; };
  const Outcome free = run_for(m, script({"winch"}, {{0, {0}}, {1, {1}}, {3, {1}}}), o);
  EXPECT_NEAR(free.samples[free.samples.size() / 4].input[1], 0.25, 1e-12);
  EXPECT_NEAR(free.samples.back().input[1], 0.8, 1e-12);
  const Outcome told = run_for(m, script({"winch", "fan"}, {{0, {0, 1}}, {3, {1, 1}}}), o);
  EXPECT_EQ(told.samples.back().input[1], 1);
}

TEST(Simulation, RampsLimitHowFastAnInputChanges) {
  const Machine m{{drive("winch", 10, 10)}, {hub(9, 0)}};
  Options o;
  o.handling = {{0.5, 1, 0, 1}};
  o.sample_s = 0.05;
  const Outcome out = run_for(m, script({"winch"}, {{0, {1}}, {1, {1}}}), o);
  for (const Sample& s : out.samples) EXPECT_NEAR(s.input[0], std::min(1.0, s.time_s / 0.5), 0.01);
}

TEST(Simulation, SoftEndsTakeTheInputBackOverTheirZone) {
  DriveModel d = drive("boom", 20, 20);
  d.drive.endless = false;
  d.drive.at = {0, 1};
  d.drive.per_rad = {0.05, 0.05};
  d.drive.plus_nmm = d.drive.minus_nmm = {20, 20};
  d.drive.plus_free_nmm = d.drive.minus_free_nmm = {0, 0};
  const Machine m{{d}, {hub(9, 0)}};
  Options o;
  o.handling = {{0, 0.8, 0.25, 0.4}};
  o.sample_s = 0.01;
  const Outcome out = run_for(m, script({"boom"}, {{0, {1}}, {3, {-1}}, {6, {-1}}}), o);
  int slow = 0;
  for (const Sample& s : out.samples) {
    const bool up = s.time_s < 3 - 1e-9;
    const double left = up ? 1 - s.position[0] : s.position[0];
    EXPECT_NEAR(std::fabs(s.input[0]), 0.8 * std::clamp(left / 0.25, 0.4, 1.0), 1e-9) << s.time_s;
    slow += left > 0 && left < 0.2;
  }
  EXPECT_GT(slow, 20);
  EXPECT_EQ(out.samples[290].position[0], 1);
  EXPECT_EQ(out.samples.back().position[0], 0);
}

namespace {

/// A drive of function 0 that goes from 0 to 1, and an endless one of function 1.
Machine legs_and_crane() {
  DriveModel legs = drive("legs", 20, 20), crane = drive("crane", 20, 20);
  legs.drive.endless = false;
  legs.drive.at = {0, 1};
  legs.drive.per_rad = {0.05, 0.05};
  legs.drive.plus_nmm = legs.drive.minus_nmm = {20, 20};
  legs.drive.plus_free_nmm = legs.drive.minus_free_nmm = {0, 0};
  crane.function = 1;
  return {{legs, crane}, {hub(9, 0)}};
}

Options locked(Interlock::Rule rule) {
  Options o;
  o.interlocks = {{rule, 0, 1, "crane and legs"}};
  o.sample_s = 0.01;
  return o;
}

constexpr double kTimeToLock_s = 0.02;  // a sample and the step in which the order is given

}  // namespace

TEST(Interlocks, OfTwoTheOneThatRunsAlreadyStays) {
  const Machine m = legs_and_crane();
  for (const bool legs_first : {true, false}) {
    const double first = legs_first ? 1 : 0, second = 1 - first;
    const Outcome out =
        run(m, script({"legs", "crane"}, {{0, {first, second}}, {0.3, {1, 1}}, {0.8, {second, first}}, {1.2, {0, 0}}}),
            {"legs", "crane"}, locked(Interlock::Rule::not_together));
    const std::size_t a = legs_first ? 0 : 1, b = 1 - a;
    for (const Sample& s : out.samples) {
      EXPECT_FALSE(s.input[0] != 0 && s.input[1] != 0) << s.time_s;
      if (s.time_s > 0.3 && s.time_s < 0.79) {
        EXPECT_EQ(s.input[a], 1) << s.time_s;
        EXPECT_EQ(s.input[b], 0) << s.time_s;
      }
      if (s.time_s > 0.8 + kTimeToLock_s && s.time_s < 1.19) {
        EXPECT_EQ(s.input[b], 1) << s.time_s;
      }
    }
    const auto told = std::count_if(out.events.begin(), out.events.end(),
                                    [](const Event& e) { return e.text == "held back: crane and legs"; });
    EXPECT_EQ(told, 1);
  }
}

TEST(Interlocks, TheCraneWaitsForTheLegsToBeDown) {
  const Outcome out = run(legs_and_crane(), script({"legs", "crane"}, {{0, {1, 1}}, {3, {1, 1}}}), {"legs", "crane"},
                          locked(Interlock::Rule::not_before_there));
  bool waited = false, ran = false;
  for (const Sample& s : out.samples) {
    if (s.position[0] < 0.99 - 0.01) {
      EXPECT_EQ(s.input[1], 0) << s.time_s;
      waited = true;
    } else if (s.position[0] >= 0.99 + 0.01) {
      EXPECT_EQ(s.input[1], 1) << s.time_s;
      ran = true;
    }
  }
  EXPECT_TRUE(waited && ran);
}

TEST(Interlocks, NothingDrivesOffWhileTheLegsAreDown) {
  const Outcome out = run(legs_and_crane(), script({"legs", "crane"}, {{0, {0, 1}}, {0.3, {1, 1}}, {3, {1, 1}}}),
                          {"legs", "crane"}, locked(Interlock::Rule::not_while_away));
  for (const Sample& s : out.samples) {
    if (s.time_s > 0 && s.time_s < 0.3) {
      EXPECT_EQ(s.input[1], 1) << s.time_s;
    }
    if (s.position[0] > 0.02) {
      EXPECT_EQ(s.input[1], 0) << s.time_s;
    }
  }
  EXPECT_EQ(out.samples.back().position[0], 1);
}

TEST(Simulation, TheTippingMarginIsAskedWithTheScriptsLoads) {
  const Machine m = legs_and_crane();
  Options o;
  o.sample_s = 0.1;
  o.tipping = [](const std::vector<double>& position, const std::vector<double>& load) {
    return 10 * load[1] + position[0];
  };
  Script s = script({"legs"}, {{0, {0}}, {0.5, {0}}, {1, {0}}});
  s.loads = {"crane"};
  s.steps[0].load = {0.2};
  s.steps[1].load = {0.7};
  s.steps[2].load = {std::nan("")};
  for (const Sample& row : run(m, s, {"legs", "crane"}, o).samples)
    EXPECT_DOUBLE_EQ(row.tipping_deg, row.time_s < 0.5 - 1e-9 ? 2 : 7) << row.time_s;
}
