// Covers the time simulation against SUNDIALS' CVODE (BDF, tolerance 1e-10) on the differential equations written down
// anew, seven cases.
#include <cvode/cvode.h>
#include <gtest/gtest.h>
#include <nvector/nvector_serial.h>
#include <sundials/sundials_context.h>
#include <sunnonlinsol/sunnonlinsol_fixedpoint.h>

#include <cmath>
#include <functional>

#include "simulation/fixture.h"
#include "simulation/run.h"

using namespace simulation;
using fixture::drive;
using fixture::geared;
using fixture::hub;
using fixture::script;

namespace {

using Rates = std::function<void(double, const double*, double*)>;

int call(double t, N_Vector y, N_Vector ydot, void* data) {
  (*static_cast<const Rates*>(data))(t, N_VGetArrayPointer(y), N_VGetArrayPointer(ydot));
  return 0;
}

/// State at `end`; `stops`: times at which the right side jumps.
std::vector<double> integrated(const Rates& rates, std::vector<double> y0, std::vector<double> stops) {
  SUNContext context = nullptr;
  EXPECT_EQ(SUNContext_Create(nullptr, &context), 0);
  N_Vector y = N_VMake_Serial(static_cast<sunindextype>(y0.size()), y0.data(), context);
  double t = 0;
  for (const double stop : stops) {
    void* solver = CVodeCreate(CV_ADAMS, context);
    SUNNonlinearSolver fixed = SUNNonlinSol_FixedPoint(y, 0, context);
    EXPECT_EQ(CVodeInit(solver, call, t, y), CV_SUCCESS);
    CVodeSStolerances(solver, 1e-9, 1e-10);
    CVodeSetUserData(solver, const_cast<Rates*>(&rates));
    CVodeSetMaxNumSteps(solver, 1000000);
    CVodeSetNonlinearSolver(solver, fixed);
    CVodeSetStopTime(solver, stop);
    EXPECT_GE(CVode(solver, stop, y, &t, CV_NORMAL), 0);
    t = stop;
    SUNNonlinSolFree(fixed);
    CVodeFree(&solver);
  }
  std::vector<double> out(N_VGetArrayPointer(y), N_VGetArrayPointer(y) + y0.size());
  N_VDestroy(y);
  SUNContext_Free(&context);
  return out;
}

const motor::Constants kMotor = geared();

/// Acceleration of one motor at a port voltage, input 1, moving forward.
double pull(double volts, double speed, double load_nmm, double inertia) {
  const double amps = (volts - kMotor.emf_v_s * speed) / kMotor.resistance_ohm;
  return (kMotor.torque_nmm_per_a * (amps - kMotor.no_load_current_a) - load_nmm) / inertia;
}

double amps_at(double volts, double speed) {
  return (volts - kMotor.emf_v_s * speed) / kMotor.resistance_ohm;
}

}  // namespace

TEST(Referee, OneMotorBehindASaggingSupply) {
  const Machine m{{drive("a", 35, 35)}, {hub(9, 1.2)}};
  const double j = m.drives[0].inertia_nmm_s2;
  const auto y = integrated(
      [&](double, const double* s, double* d) {
        const double amps = (9 - kMotor.emf_v_s * s[0]) / (kMotor.resistance_ohm + 1.2);
        d[0] = pull(9 - 1.2 * amps, s[0], 35, j);
        d[1] = s[0];
      },
      {0, 0}, {0.12});
  const Outcome out = run(m, script({"a"}, {{0, {1}}, {0.12, {1}}}), {});
  EXPECT_NEAR(out.samples.back().speed_rad_s[0], y[0], 1e-4 * y[0]);
  EXPECT_NEAR(out.samples.back().position[0], y[1], 1e-4 * y[1]);
}

TEST(Referee, TwoUnlikeMotorsShareOneSupply) {
  DriveModel heavy = drive("b", 60, 60);
  heavy.inertia_nmm_s2 *= 5;
  const Machine m{{drive("a", 20, 20), heavy}, {hub(9, 0.9)}};
  const double j = m.drives[0].inertia_nmm_s2;
  const auto y = integrated(
      [&](double, const double* s, double* d) {
        // U = E - r (I1 + I2) with both currents linear in U.
        const double g = 1 / kMotor.resistance_ohm;
        const double volts = (9 + 0.9 * g * kMotor.emf_v_s * (s[0] + s[1])) / (1 + 0.9 * 2 * g);
        d[0] = pull(volts, s[0], 20, j);
        d[1] = pull(volts, s[1], 60, 5 * j);
      },
      {0, 0}, {0.25});
  const Outcome out = run(m, script({"a", "b"}, {{0, {1, 1}}, {0.25, {1, 1}}}), {});
  EXPECT_NEAR(out.samples.back().speed_rad_s[0], y[0], 1e-4 * y[0]);
  EXPECT_NEAR(out.samples.back().speed_rad_s[1], y[1], 1e-4 * y[1]);
}

TEST(Referee, ATorqueThatChangesAlongTheTravel) {
  DriveModel d = drive("boom", 0, 0);
  d.drive.endless = false;
  d.drive.at = {0, 2, 5};
  d.drive.per_rad = {0.2, 0.1, 0.3};
  d.drive.plus_nmm = {60, 10, 45};
  d.drive.minus_nmm = d.drive.plus_free_nmm = d.drive.minus_free_nmm = {0, 0, 0};
  d.inertia_nmm_s2 *= 3;
  const Machine m{{d}, {hub(9, 0)}};
  const auto table = [](double q, double a, double b, double c) {
    return q < 2 ? a + (b - a) * q / 2 : b + (c - b) * (q - 2) / 3;
  };
  const auto y = integrated(
      [&](double, const double* s, double* f) {
        f[0] = pull(9, s[0], table(s[1], 60, 10, 45), d.inertia_nmm_s2);
        f[1] = s[0] * table(s[1], 0.2, 0.1, 0.3);
      },
      {0, 0}, {0.6});
  const Outcome out = run(m, script({"boom"}, {{0, {1}}, {0.6, {1}}}), {});
  EXPECT_NEAR(out.samples.back().position[0], y[1], 1e-3 * y[1]);
  EXPECT_NEAR(out.samples.back().speed_rad_s[0], y[0], 1e-3 * y[0]);
}

TEST(Referee, APortThatLimitsTheCurrent) {
  DriveModel d = drive("a", 30, 30);
  d.port_limit_a = 0.6;
  d.inertia_nmm_s2 *= 4;
  const Machine m{{d}, {hub(9, 0.5)}};
  const auto y = integrated(
      [&](double, const double* s, double* f) {
        const double free = (9 - kMotor.emf_v_s * s[0]) / (kMotor.resistance_ohm + 0.5);
        const double amps = std::min(0.6, free);
        f[0] = (kMotor.torque_nmm_per_a * (amps - kMotor.no_load_current_a) - 30) / d.inertia_nmm_s2;
      },
      {0}, {0.4});
  const Outcome out = run(m, script({"a"}, {{0, {1}}, {0.4, {1}}}), {});
  EXPECT_NEAR(out.samples.back().speed_rad_s[0], y[0], 1e-3 * y[0]);
}

TEST(Referee, SpeedingUpThenBrakingOnShortedTerminals) {
  DriveModel d = drive("a", 8, 8);
  d.inertia_nmm_s2 *= 10;
  const Machine m{{d}, {hub(9, 0.9)}};
  const auto y = integrated(
      [&](double t, const double* s, double* f) {
        if (t < 0.5) {
          const double amps = (9 - kMotor.emf_v_s * s[0]) / (kMotor.resistance_ohm + 0.9);
          f[0] = pull(9 - 0.9 * amps, s[0], 8, d.inertia_nmm_s2);
        } else {
          f[0] = pull(0, s[0], 8, d.inertia_nmm_s2);
        }
      },
      {0}, {0.5, 0.7});
  const Outcome out = run(m, script({"a"}, {{0, {1}}, {0.5, {0}}, {0.7, {0}}}), {});
  ASSERT_GT(y[0], 1);
  EXPECT_NEAR(out.samples.back().speed_rad_s[0], y[0], 2e-3 * y[0]);
}

TEST(Referee, PartInputAndALoadThatHelps) {
  DriveModel d = drive("a", 50, -30);
  d.drive.ratio = 0.4;
  d.drive.backward_efficiency = 0.7;
  d.drive.forward_efficiency = 0.8;
  d.inertia_nmm_s2 *= 2;
  const Machine m{{d}, {hub(9, 0.9)}};
  const auto y = integrated(
      [&](double, const double* s, double* f) {
        // s[0]: speed downwards. Input 0.6: U = 9 - 0.9 (0.6 I) while it draws, the open voltage otherwise.
        double amps = (0.6 * 9 - kMotor.emf_v_s * s[0]) / (kMotor.resistance_ohm + 0.9 * 0.36);
        if (amps < 0) amps = amps_at(0.6 * 9, s[0]);
        f[0] = (kMotor.torque_nmm_per_a * (amps - kMotor.no_load_current_a) + 30 * 0.4 * 0.7) / d.inertia_nmm_s2;
        f[1] = s[0] * 0.4;
      },
      {0, 0}, {0.5});
  const Outcome out = run(m, script({"a"}, {{0, {-0.6}}, {0.5, {-0.6}}}), {});
  EXPECT_NEAR(out.samples.back().speed_rad_s[0], -y[0], 1e-4 * y[0]);
  EXPECT_NEAR(out.samples.back().position[0], -y[1], 1e-3 * y[1]);
}

TEST(Referee, MotorsOfOneShaftOnTwoHubsBesideAnotherMotor) {
  DriveModel both = drive("a", 70, 70);
  both.drive.motors = 2;
  both.elsewhere = {{1, 1, 0}};
  DriveModel other = drive("b", 40, 40);
  other.hub = 1;
  other.inertia_nmm_s2 *= 3;
  const Machine m{{both, other}, {hub(9, 0.6), hub(8, 1.4)}};
  const double j = both.inertia_nmm_s2, r = kMotor.resistance_ohm, k = kMotor.emf_v_s;
  const auto volts_of = [&](const double* s) {
    // Hub 1 feeds one motor; hub 2 the shaft's other one and the other drive's: U2 = E2 - r2 (I_a + I_b).
    const double u1 = 9 - 0.6 * (9 - k * s[0]) / (r + 0.6);
    const double u2 = (8 + 1.4 / r * k * (s[0] + s[1])) / (1 + 2 * 1.4 / r);
    return std::pair{u1, u2};
  };
  const auto y = integrated(
      [&](double, const double* s, double* f) {
        const auto [u1, u2] = volts_of(s);
        const double mean = (amps_at(u1, s[0]) + amps_at(u2, s[0])) / 2;
        f[0] = (kMotor.torque_nmm_per_a * (mean - kMotor.no_load_current_a) - 35) / j;
        f[1] = pull(u2, s[1], 40, 3 * j);
      },
      {0, 0}, {0.2});
  const Outcome out = run(m, script({"a", "b"}, {{0, {1, 1}}, {0.2, {1, 1}}}), {});
  const Sample& end = out.samples.back();
  EXPECT_NEAR(end.speed_rad_s[0], y[0], 1e-4 * y[0]);
  EXPECT_NEAR(end.speed_rad_s[1], y[1], 1e-4 * y[1]);
  const auto [u1, u2] = volts_of(y.data());
  EXPECT_NEAR(end.voltage_v[0], u1, 1e-3 * u1);
  EXPECT_NEAR(end.voltage_v[1], u2, 1e-3 * u2);
  EXPECT_EQ(out.unsettled, 0);
  EXPECT_LT(out.energy.error(), 1e-3);
}
