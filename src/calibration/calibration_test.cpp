// Covers bench tests: the fit against closed forms, recovery of known parameters from noisy readings, refusal of a bad
// row, weighings, and faults of the file at their place.
#include <gtest/gtest.h>

#include <cmath>

#include "calibration/bench.h"
#include "calibration/fit.h"
#include "candidate/running.h"
#include "candidate/test_parts.h"

using namespace calibration;
using brief::Parameter;

namespace {

/// Normal number from two uniform ones (Box & Muller, 1958).
double normal(std::uint64_t seed, std::uint64_t stream, std::uint64_t k) {
  const double u = 1 - base::uniform_draw(seed, stream, k), v = base::uniform_draw(seed, stream + 1000, k);
  return std::sqrt(-2 * std::log(u)) * std::cos(2 * 3.14159265358979 * v);
}

/// A motor that lifts through a train: time and greatest force, as a kind tells them.
struct World {
  brief::Brief brief;
  candidate::Candidate lift, run;
  std::vector<assessment::Chosen> chosen;

  World() {
    brief.catalogue = candidate::test::parts();
    for (auto& f : brief.parameters.figure) f.value = base::Triple::exact(1);
    const auto set = [&](Parameter p, base::Triple t) {
      brief.parameters.figure[static_cast<std::size_t>(p)].value = t;
    };
    set(Parameter::motor_torque_factor, {0.85, 1, 1.1});
    set(Parameter::motor_speed_factor, {0.9, 1, 1.08});
    set(Parameter::spur_efficiency, {0.85, 0.9, 0.95});
    set(Parameter::pin_friction, {0.1, 0.2, 0.35});
    brief.functions.resize(2);
    brief.functions[0].id = "lift";
    brief.functions[1].id = "run";
    brief.bodies.resize(2);
    brief.bodies[0] = {};
    brief.bodies[0].id = "chassis";
    brief.bodies[0].mass_g = {800, 1000, 1200};
    brief.bodies[0].mass_is_estimate = true;
    brief.bodies[1].id = "boom";
    brief.bodies[1].mass_g = {140, 150, 160};
    const auto catalogue_motor = std::get<stock::Motor>(brief.catalogue->classes[0].data);
    const auto evaluate = [catalogue_motor](double load, bool friction) {
      return [=](const brief::Sample& s) {
        const motor::Constants c = candidate::motor_constants(catalogue_motor, s);
        const double e = s[Parameter::spur_efficiency] * s[Parameter::spur_efficiency];
        const double asked = load * (friction ? 1 + s[Parameter::pin_friction] : 1) / e;
        const motor::Operation op = motor::operate(c, {9 * s[Parameter::supply_voltage_factor], 0.9}, asked);
        candidate::Evaluation out;
        out.margins = {candidate::at_most("time", 100 / std::max(op.speed_rad_s, 1e-3), 10, "s"),
                       candidate::at_least(
                           "force", motor::line(c, {9 * s[Parameter::supply_voltage_factor], 0.9}).stall_torque_nmm * e,
                           load, "N")};
        return out;
      };
    };
    lift.evaluate = evaluate(40, true);
    run.evaluate = evaluate(12, false);
    lift.nominal = lift.evaluate(brief.parameters.nominal());
    run.nominal = run.evaluate(brief.parameters.nominal());
    chosen = {{&brief.functions[0], &lift}, {&brief.functions[1], &run}};
  }
};

std::vector<Row> readings(const World& w, const brief::Sample& truth, std::uint64_t round) {
  std::vector<Row> out;
  std::uint64_t stream = 0;
  const auto add = [&](const char* what, const char* of, double value, double sigma) {
    Row r;
    r.what = what;
    r.of = of;
    r.spread = sigma;
    r.value = value + sigma * normal(77, stream++, round);
    r.where = {"bench_tests.csv", static_cast<int>(out.size()) + 2, 1};
    out.push_back(r);
  };
  const auto lift = w.lift.evaluate(truth), run = w.run.evaluate(truth);
  add("time", "lift", lift.margins[0].capability, 0.02 * lift.margins[0].capability);
  add("force", "lift", lift.margins[1].capability, 0.03 * lift.margins[1].capability);
  add("time", "run", run.margins[0].capability, 0.02 * run.margins[0].capability);
  add("stall_torque_nmm", "motor", 120 * truth[Parameter::motor_torque_factor], 3);
  return out;
}

}  // namespace

TEST(Fit, LinearCaseIsTheClosedForm) {
  // One input, prior m, s; n readings of it with e: precision 1/s^2 + n/e^2, mean weighted by precision.
  const std::vector<Measured> readings{{11, 2}, {13, 2}, {12.5, 2}};
  const Fit f = fit({{10, 3}}, readings, [](const std::vector<double>& x) { return std::vector<double>(3, x[0]); });
  const double precision = 1 / 9.0 + 3 / 4.0;
  EXPECT_NEAR(f.estimate[0], (10 / 9.0 + 36.5 / 4) / precision, 1e-9);
  EXPECT_NEAR(f.sigma[0], 1 / std::sqrt(precision), 1e-9);
  EXPECT_TRUE(f.converged);
}

TEST(Fit, NonlinearCaseSitsAtTheLeastCost) {
  const std::vector<Prior> priors{{1, 0.3}, {2, 0.5}};
  const std::vector<Measured> readings{{2.6, 0.05}, {4.9, 0.2}};
  const Model model = [](const std::vector<double>& x) { return std::vector<double>{x[0] * x[1], x[0] + x[1] * x[1]}; };
  const Fit f = fit(priors, readings, model);
  const auto cost = [&](double a, double b) {
    const auto y = model({a, b});
    return std::pow((a - 1) / 0.3, 2) + std::pow((b - 2) / 0.5, 2) + std::pow((2.6 - y[0]) / 0.05, 2) +
           std::pow((4.9 - y[1]) / 0.2, 2);
  };
  const double best = cost(f.estimate[0], f.estimate[1]);
  for (int i = -20; i <= 20; ++i) {
    for (int k = -20; k <= 20; ++k) EXPECT_LE(best, cost(f.estimate[0] + 0.01 * i, f.estimate[1] + 0.01 * k) + 1e-9);
  }
}

TEST(Calibration, RecoversKnownParametersInNineOfTenRuns) {
  // 200 seeded worlds: true parameters drawn from the priors, readings with noise, each informed parameter's interval
  // (5 to 95 % of the triple it is told as) must hold the truth.
  int held = 0, told = 0;
  double narrower = 0;
  for (std::uint64_t round = 0; round < 200; ++round) {
    World w;
    const brief::Sample truth = w.brief.parameters.draw(5, round);
    document::Diagnostics d;
    const auto out = calibrate(w.brief, w.chosen, readings(w, truth, round), d);
    if (!out) continue;  // a refused reading counts as a miss below
    bool all = true;
    for (const Parameter p : {Parameter::motor_torque_factor, Parameter::motor_speed_factor, Parameter::spur_efficiency,
                              Parameter::pin_friction}) {
      const base::Triple& t = w.brief.parameters.at(p).value;
      all = all && truth[p] >= t.low && truth[p] <= t.high;
    }
    held += all ? 1 : 0;
    for (const Narrowed& n : out->narrowed) {
      narrower += n.narrower;
      ++told;
    }
  }
  EXPECT_GE(held, 180);
  ASSERT_GT(told, 200);
  EXPECT_GT(narrower / told, 0.1);
}

TEST(Calibration, WhatIsToldNarrowsAndFitsBetter) {
  World w;
  const World before;
  const brief::Sample truth = w.brief.parameters.draw(5, 3);
  document::Diagnostics d;
  const auto out = calibrate(w.brief, w.chosen, readings(w, truth, 3), d);
  ASSERT_TRUE(out);
  double miss_before = 0, miss_after = 0;
  for (const Reading& r : out->readings) {
    miss_before += std::pow((r.row.value - r.before) / r.sigma, 2);
    miss_after += std::pow((r.row.value - r.after) / r.sigma, 2);
  }
  EXPECT_LT(miss_after, miss_before);
  for (const Narrowed& n : out->narrowed) {
    EXPECT_GE(n.after.low, n.before.low);
    EXPECT_LE(n.after.high, n.before.high);
    EXPECT_GT(n.narrower, 0);
    EXPECT_TRUE(n.after.ordered());
  }
  // What no reading touches stays as it was.
  EXPECT_EQ(w.brief.parameters.at(Parameter::worm_friction).value,
            before.brief.parameters.at(Parameter::worm_friction).value);
}

TEST(Calibration, RefusesTheRowThatCannotBe) {
  World w;
  const World untouched;
  auto rows = readings(w, w.brief.parameters.nominal(), 1);
  rows[2].value *= 1.6;
  document::Diagnostics d;
  EXPECT_FALSE(calibrate(w.brief, w.chosen, rows, d));
  ASSERT_EQ(d.sorted().size(), 1u);
  EXPECT_EQ(d.sorted().front().code, "bench.inconsistent");
  EXPECT_EQ(d.sorted().front().where.line, rows[2].where.line);
  for (std::size_t i = 0; i < w.brief.parameters.figure.size(); ++i)
    EXPECT_EQ(w.brief.parameters.figure[i].value, untouched.brief.parameters.figure[i].value);
}

TEST(Calibration, AWeighingReplacesAnEstimateAndChecksAnEntry) {
  World w;
  document::Diagnostics d;
  Row row;
  row.what = "mass_g";
  row.of = "chassis";
  row.value = 1430;
  const auto out = calibrate(w.brief, w.chosen, {row}, d);
  ASSERT_TRUE(out);
  EXPECT_FALSE(w.brief.bodies[0].mass_is_estimate);
  EXPECT_NEAR(w.brief.bodies[0].mass_g.nominal, 1430, 1e-9);
  row.of = "boom";
  row.value = 260;
  EXPECT_FALSE(calibrate(w.brief, w.chosen, {row}, d));
  EXPECT_EQ(d.sorted().front().code, "bench.inconsistent");
}

TEST(Calibration, AReadingAtAShareOfTheInputIsHeldAgainstThatShare) {
  // The second route is the motor at 60 % of the voltage.
  World w;
  const brief::Sample nominal = w.brief.parameters.nominal();
  const motor::Constants c =
      candidate::motor_constants(std::get<stock::Motor>(w.brief.catalogue->classes[0].data), nominal);
  const double e = std::pow(nominal[Parameter::spur_efficiency], 2);
  const double slow_s = 100 / motor::operate(c, {0.6 * 9, 0.9}, 12 / e).speed_rad_s;
  document::Diagnostics read;
  const auto rows =
      parse_rows("what,of,value,input_percent\ntime,run," + std::to_string(slow_s) + ",60\n", "bench_tests.csv", read);
  ASSERT_EQ(rows.size(), 1u);
  EXPECT_DOUBLE_EQ(rows[0].input, 0.6);
  document::Diagnostics d;
  const auto out = calibrate(w.brief, w.chosen, rows, d);
  ASSERT_TRUE(out) << d.sorted().front().message;
  EXPECT_NEAR(out->readings[0].before, slow_s, 1e-5 * slow_s);  // as many digits as the file has
  // The same time at the full input cannot be.
  Row full = rows[0];
  full.input = 1;
  World other;
  document::Diagnostics refused;
  EXPECT_FALSE(calibrate(other.brief, other.chosen, {full}, refused));
}

TEST(Calibration, ALiftedMassIsWhatTheFunctionSaysItLifts) {
  World w;
  w.lift.lifts_g = [evaluate = w.lift.evaluate](const brief::Sample& s) {
    return 3 * evaluate(s).margins[1].capability - 20;
  };
  Row row;
  row.what = "lifted_mass_g";
  row.of = "lift";
  const double expected_g = w.lift.lifts_g(w.brief.parameters.nominal());
  row.value = 0.95 * expected_g;
  row.where = {"bench_tests.csv", 2, 1};
  document::Diagnostics d;
  const auto out = calibrate(w.brief, w.chosen, {row}, d);
  ASSERT_TRUE(out);
  EXPECT_EQ(out->readings[0].unit, "g");
  EXPECT_NEAR(out->readings[0].before, expected_g, 1e-9 * expected_g);
  EXPECT_LT(out->readings[0].after, expected_g);
  EXPECT_GT(out->readings[0].after, row.value);
  row.of = "run";
  document::Diagnostics none;
  EXPECT_FALSE(calibrate(w.brief, w.chosen, {row}, none));
  EXPECT_EQ(none.sorted().front().code, "bench.lifts_nothing");
  EXPECT_EQ(none.sorted().front().where.line, 2);
}

TEST(BenchFile, FaultsAreToldAtTheirPlace) {
  const auto codes = [](const char* text) {
    document::Diagnostics d;
    const std::vector<Row> rows = parse_rows(text, "bench_tests.csv", d);
    World w;
    if (!d.has_errors()) static_cast<void>(calibrate(w.brief, w.chosen, rows, d));
    std::vector<std::string> out;
    for (const document::Diagnostic& p : d.sorted()) out.push_back(p.code);
    return out;
  };
  using V = std::vector<std::string>;
  EXPECT_EQ(codes("what,of,value\ntime,lift,fast\n"), V{"bench.not_a_number"});
  EXPECT_EQ(codes("what,of\ntime,lift\n"), V{"bench.no_column"});
  EXPECT_EQ(codes("what,of,value,spred\ntime,lift,9,1\n"), V{"bench.unknown_column"});
  EXPECT_EQ(codes("what,of,value\ntime,lifft,9\n"), V{"bench.unknown_name"});
  EXPECT_EQ(codes("what,of,value\ntimes,lift,9\n"), V{"bench.unknown_what"});
  EXPECT_EQ(codes("what,of,value,spread\ntime,lift,9,0\n"), V{"bench.no_spread"});
  EXPECT_EQ(codes("what,of,value,input_percent\ntime,lift,9,0\n"), V{"bench.input"});
  EXPECT_EQ(codes("what,of,value,input_percent\nmass_g,boom,150,50\n"), V{"bench.input"});
  EXPECT_EQ(codes("what;of;value;spread\ntime;lift;6,8;0,5\n"), V{});
}
