// Statics along the travel: closed forms without friction, energy balance with friction, time against a fine integral.
#include "functions/luff/travel.h"

#include <algorithm>

#include "functions/luff/evaluate.h"
#include "functions/luff/fixture.h"
#include "functions/luff/present.h"

namespace functions::luff {
namespace {

using lift_fixture::kRad;

std::vector<double> angles(double low_deg, double high_deg, int n) {
  std::vector<double> out;
  for (int i = 0; i < n; ++i) out.push_back((low_deg + (high_deg - low_deg) * i / (n - 1)) * kRad);
  return out;
}

MomentTable constant_table(const std::vector<double>& angle_rad, double moment_nmm, double weight_n) {
  MomentTable t;
  t.angle_rad = angle_rad;
  t.factor = {0.9, 1, 1.1};
  for (Extremes& e : t.at) {
    e.most_nmm.assign(angle_rad.size(), moment_nmm);
    e.least_nmm = e.most_nmm;
    e.most_parent_rad.assign(angle_rad.size(), 0);
    e.weight_n = weight_n;
  }
  return t;
}

const linkage::ActuatorTriangle kTriangle{{0, 0}, {24, -48}, {72, -8}};

TEST(LuffTravel, WithoutFrictionTheForceIsMomentOverLeverAndOneTheSameBothWays) {
  const std::vector<double> a = angles(0, 60, kAngles);
  const Geometry g = drive::travel_of(kTriangle, a);
  const linkage::Screw screw{5, 2, 0.2, 0, 0, 0};
  const Friction none = friction_of(screw, 0, 2.4);
  const Cycle c = cycle_of(g, constant_table(a, 700, 3), 1, none);
  for (std::size_t i = 0; i < a.size(); ++i) {
    const double force = linkage::actuator_force_n(linkage::pose(kTriangle, a[i]), 700);
    EXPECT_NEAR(c.force_n[i], std::fabs(force), 1e-9 * std::fabs(force));
    EXPECT_NEAR(c.raise_nmm[i], linkage::raise_torque_nmm(screw, std::fabs(force)), 1e-9);
    EXPECT_NEAR(c.lower_nmm[i], linkage::lower_torque_nmm(screw, std::fabs(force)), 1e-9);
  }
  double stroke = 0;
  for (const double s : g.share_mm) stroke += s;
  EXPECT_NEAR(stroke, g.stroke_mm, 1e-9);
}

TEST(LuffTravel, FrictionInThePinsTakesTheEnergyTheRodPutsIn) {
  // Over a small turn: rod work = load work + friction circle x force x turning of each pin. Turning of the eyes by
  // finite differences of the rod's direction, which shares nothing with the closed form.
  const double step = 1e-5, f = 0.25, r = 2.4, weight = 4;
  for (const double at_deg : {5.0, 30.0, 55.0}) {
    const double at = at_deg * kRad;
    const Geometry g = drive::travel_of(kTriangle, {at - step, at, at + step});
    const linkage::Screw screw{5, 2, 0.2, 0, 0, 0};
    const auto direction = [&](double t) {
      const double x = 72 * std::cos(t) + 8 * std::sin(t) - 24, z = 72 * std::sin(t) - 8 * std::cos(t) + 48;
      return std::atan2(z, x);
    };
    const double rod_turn = (direction(at + step) - direction(at - step)) / (2 * step);
    const double turning = std::fabs(rod_turn) + std::fabs(1 - rod_turn);
    for (const double moment : {900.0, -900.0}) {
      const RodForce rod = rod_force(moment, g.lever_mm[1], g.eyes[1], weight, friction_of(screw, f, r));
      const double force = rod.opposing_n > 0 ? rod.opposing_n : -rod.helping_n;
      const double lost = f * r * (std::fabs(force) * (turning + 1) + weight);
      EXPECT_NEAR(force * g.lever_mm[1], moment + lost, 1e-4 * 900);
      EXPECT_GT(std::fabs(rod.opposing_n + rod.helping_n), 0);
    }
  }
}

TEST(LuffTravel, ALoadThatHelpsLessThanTheFrictionStillOpposes) {
  const Friction f{0.3, 2.4, 0.4, 0.1};
  EXPECT_GT(rod_force(-1, 30, 1, 10, f).opposing_n, 0);
  EXPECT_GT(rod_force(-100, 30, 1, 10, f).helping_n, 0);
  EXPECT_TRUE(std::isinf(rod_force(50, 1.0, 1, 10, f).opposing_n));
}

TEST(LuffTravel, TimeOverTheTravelEqualsAFineIntegralAndTheLinkagesOwnSweep) {
  const brief::Brief b = lift_fixture::crane();
  const drive::Powertrain p{*b.catalogue->find("motor_large"), 1, {}};
  const drive::Machine machine = drive::machine(p, b, b.parameters.nominal());
  const linkage::Screw screw{5, 2, 0.2, 0, 0, 0};
  const auto moment = [](double angle) { return 1100 * std::cos(angle) - 150; };
  const auto time = [&](int n, double pin_friction) {
    MomentTable t = constant_table(angles(0, 60, n), 0, 4);
    for (Extremes& e : t.at) {
      for (std::size_t i = 0; i < t.size(); ++i) e.most_nmm[i] = e.least_nmm[i] = moment(t.angle_rad[i]);
    }
    const Geometry g = drive::travel_of(kTriangle, t.angle_rad);
    return drive::travel_time_s(g, cycle_of(g, t, 1, friction_of(screw, pin_friction, 2.4)).raise_nmm, 2,
                                drive::speed_line(machine));
  };
  ASSERT_TRUE(std::isfinite(time(kAngles, 0.2)));
  EXPECT_NEAR(time(kAngles, 0.2), time(4801, 0.2), 1e-3 * time(4801, 0.2));
  // Without friction in the pins the linkage's Simpson sweep of |h|/v must say the same.
  const linkage::Travel sweep = linkage::travel(kTriangle, 0, 60 * kRad, 400, moment, [&](double resisting_n) {
    return drive::quick_state(machine, linkage::raise_torque_nmm(screw, resisting_n)).speed_rad_s * screw.lead_mm /
           (2 * std::numbers::pi);
  });
  ASSERT_TRUE(sweep.arrives);
  EXPECT_NEAR(time(kAngles, 0), sweep.time_s, 1e-3 * sweep.time_s);
}

TEST(LuffTravel, AStalledDriveNeverArrives) {
  const brief::Brief b = lift_fixture::crane();
  const drive::Machine machine = drive::machine({*b.catalogue->find("motor_small"), 1, {}}, b, b.parameters.nominal());
  const Geometry g = drive::travel_of(kTriangle, angles(0, 60, 5));
  const double stall = drive::stall_torque_nmm(machine);
  EXPECT_TRUE(std::isfinite(drive::travel_time_s(g, {1, 1, 0.99 * stall, 1, 1}, 2, drive::speed_line(machine))));
  EXPECT_TRUE(std::isinf(drive::travel_time_s(g, {1, 1, 1.01 * stall, 1, 1}, 2, drive::speed_line(machine))));
}

}  // namespace
}  // namespace functions::luff
