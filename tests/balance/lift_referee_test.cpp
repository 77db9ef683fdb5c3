// Covers load chart cells by their other formulation: in the pose a cell was found in, contact forces that only push,
// force and moment balance, joints within what they hold; the payload maximised by linear programming (CBC). Poses are
// worked out here with matrices of their own.
#include <coin/Cbc_C_Interface.h>
#include <gtest/gtest.h>

#include <Eigen/Geometry>
#include <cmath>
#include <numbers>
#include <optional>
#include <vector>

#include "balance/lifting_machine.h"
#include "balance/sample_loader.h"
#include "base/triple.h"

using namespace balance;  // NOLINT: a test of one namespace

namespace {

constexpr double kPi = std::numbers::pi;
constexpr double kEndless_n = 1e7;

/// Rows over columns (contacts first, payload last), greatest payload.
struct Programme {
  int columns = 0;
  std::vector<std::vector<double>> rows;
  std::vector<double> low, high;

  void row(std::vector<double> values, double least, double most) {
    rows.push_back(std::move(values));
    low.push_back(least);
    high.push_back(most);
  }
  /// nullopt: no load at all can be held; kEndless_n: any load can.
  [[nodiscard]] std::optional<double> greatest() const {
    std::vector<int> start{0}, index;
    std::vector<double> value, least(static_cast<std::size_t>(columns), 0),
        most(static_cast<std::size_t>(columns), 1e30);
    std::vector<double> cost(static_cast<std::size_t>(columns), 0);
    cost.back() = -1;
    most.back() = kEndless_n;
    for (int c = 0; c < columns; ++c) {
      for (std::size_t r = 0; r < rows.size(); ++r) {
        if (rows[r][static_cast<std::size_t>(c)] == 0) continue;
        index.push_back(static_cast<int>(r));
        value.push_back(rows[r][static_cast<std::size_t>(c)]);
      }
      start.push_back(static_cast<int>(index.size()));
    }
    Cbc_Model* model = Cbc_newModel();
    Cbc_setParameter(model, "logLevel", "0");
    Cbc_setLogLevel(model, 0);
    Cbc_loadProblem(model, columns, static_cast<int>(rows.size()), start.data(), index.data(), value.data(),
                    least.data(), most.data(), cost.data(), low.data(), high.data());
    Cbc_solve(model);
    std::optional<double> out;
    if (Cbc_isProvenOptimal(model) != 0) {
      out = -Cbc_getObjValue(model);
    }
    Cbc_deleteModel(model);
    return out;
  }
};

struct Posed {
  Eigen::Affine3d frame;
  Eigen::Vector3d axis, centre;
  double weight_n = 0;
};

std::vector<Posed> pose(const LiftingMachine& m, const std::vector<double>& joint) {
  std::vector<Posed> out;
  for (std::size_t i = 0; i < m.bodies.size(); ++i) {
    const Body& b = m.bodies[i].weighed.body;
    Posed p;
    p.frame = b.parent < 0 ? Eigen::Affine3d::Identity() : out[static_cast<std::size_t>(b.parent)].frame;
    p.frame.translate(Eigen::Vector3d(b.origin.x_mm, b.origin.y_mm, b.origin.z_mm));
    const Eigen::Vector3d axis(b.axis.x_mm, b.axis.y_mm, b.axis.z_mm);
    p.axis = p.frame.linear() * axis;
    if (b.joint == Joint::turns) p.frame.rotate(Eigen::AngleAxisd(joint[i], axis));
    p.centre = p.frame * Eigen::Vector3d(b.centre.x_mm, b.centre.y_mm, b.centre.z_mm);
    p.weight_n = b.mass_g * 9.81e-3;
    out.push_back(p);
  }
  return out;
}

/// Greatest payload in the pose with these joints.
std::optional<double> referee(const LiftingMachine& m, const SupportState& state, const std::vector<double>& joint,
                              const LiftPose& asked) {
  const std::vector<Posed> bodies = pose(m, joint);
  const Eigen::Vector3d hook =
      bodies[static_cast<std::size_t>(m.hook_body)].frame * Eigen::Vector3d(m.hook.x_mm, m.hook.y_mm, m.hook.z_mm);
  const double s = std::sin(m.slope.angle_rad), c = std::cos(m.slope.angle_rad);
  const Eigen::Vector3d g(s * std::cos(m.slope.downhill_rad), s * std::sin(m.slope.downhill_rad), -c);

  std::vector<Point2> contact;
  std::vector<std::vector<std::size_t>> of_support;
  for (const Support& p : state.supports) {
    of_support.push_back({contact.size()});
    contact.push_back(p.from);
    if (!p.is_line()) continue;
    of_support.back().push_back(contact.size());
    contact.push_back(p.to);
  }
  Programme lp;
  const std::size_t n = contact.size();
  lp.columns = static_cast<int>(n + 1);
  // Balance along the plane's normal and of moments about the plane's axes through its origin; forces along the plane
  // pass through it and have no such moment.
  std::vector<double> up(n + 1, 0), about_x(n + 1, 0), about_y(n + 1, 0);
  double up_own = 0, x_own = 0, y_own = 0;
  for (std::size_t i = 0; i < n; ++i) {
    up[i] = 1;
    about_x[i] = contact[i].y_mm;
    about_y[i] = -contact[i].x_mm;
  }
  for (const Posed& b : bodies) {
    const Eigen::Vector3d moment = b.centre.cross(b.weight_n * g);
    up_own += b.weight_n * g[2];
    x_own += moment[0];
    y_own += moment[1];
  }
  const Eigen::Vector3d hung = hook.cross(g);
  up[n] = g[2];
  about_x[n] = hung[0];
  about_y[n] = hung[1];
  lp.row(up, -up_own, -up_own);
  lp.row(about_x, -x_own, -x_own);
  lp.row(about_y, -y_own, -y_own);
  // Each rocker in balance about its pin, the ground's forces parallel to gravity.
  for (const Rocker& r : state.rockers) {
    std::vector<double> pin(n + 1, 0);
    const Point2 a = state.supports[static_cast<std::size_t>(r.a)].from,
                 b = state.supports[static_cast<std::size_t>(r.b)].from;
    const Eigen::Vector3d beam = Eigen::Vector3d(b.x_mm - a.x_mm, b.y_mm - a.y_mm, 0).normalized();
    for (const int end : {r.a, r.b}) {
      const std::size_t i = of_support[static_cast<std::size_t>(end)][0];
      const Eigen::Vector3d arm(contact[i].x_mm - r.pivot.x_mm, contact[i].y_mm - r.pivot.y_mm, -r.pivot.z_mm);
      // Force along -g with normal part 1, moment about the pin square to beam and plane.
      pin[i] = arm.cross(-g / c).dot(beam.cross(Eigen::Vector3d::UnitZ()));
    }
    lp.row(pin, 0, 0);
  }
  for (const JointLimit& limit : m.joint_limits) {
    const auto j = static_cast<std::size_t>(limit.body);
    const Eigen::Vector3d pivot = bodies[j].frame.translation(), axis = bodies[j].axis;
    double own = 0;
    for (std::size_t i = 0; i < bodies.size(); ++i) {
      int up_tree = static_cast<int>(i);
      while (up_tree > limit.body) up_tree = m.bodies[static_cast<std::size_t>(up_tree)].weighed.body.parent;
      if (up_tree != limit.body) continue;
      own += (bodies[i].centre - pivot).cross(bodies[i].weight_n * g).dot(axis);
    }
    const double per_n = (hook - pivot).cross(g).dot(axis);
    std::vector<double> moment(n + 1, 0);
    moment[n] = per_n;
    const double set = limit.body == m.slew_body   ? asked.slew_rad
                       : limit.body == m.luff_body ? asked.luff_rad
                                                   : m.postures[static_cast<std::size_t>(asked.posture)].joint[j];
    const double holds = limit.holds(set);
    if (std::fabs(own) > holds) return 0;
    lp.row(moment, -holds - own, holds - own);
  }
  for (const PayloadLimit& limit : m.payload_limits) {
    std::vector<double> load(n + 1, 0);
    load[n] = 1;
    lp.row(load, 0, limit.greatest_n(asked));
  }
  return lp.greatest();
}

/// Hard ground: the lean of a tipping machine depends on the line it tips about, which the programme does not know.
void harden(LiftingMachine& m) {
  for (SupportState& s : m.states) {
    for (Support& p : s.supports) p.stiffness_n_per_mm = 1e12;
  }
}

}  // namespace

TEST(LiftReferee, CellsAreOptimaOfTheirLinearProgrammes) {
  int compared = 0, tipping = 0, zero = 0;
  std::vector<int> governed(9, 0);
  for (std::uint64_t round = 0; round < 700; ++round) {
    const auto draw = [&](std::uint64_t s) { return base::uniform_draw(77, s, round); };
    LiftingMachine m = sample::loader();
    harden(m);
    for (LiftingBody& b : m.bodies) b.weighed.body.mass_g *= 0.5 + draw(b.weighed.body.mass_g > 500 ? 0 : 1);
    m.bodies[1].weighed.body.centre.x_mm = -80 * draw(2);
    if (round % 2 == 1) m.slope = {0.15 * draw(3), 2 * kPi * draw(4)};
    for (JointLimit& limit : m.joint_limits) {
      for (double& v : limit.holds.value) v *= 0.3 + 2 * draw(10 + static_cast<std::uint64_t>(limit.kind));
    }
    m.payload_limits[0].greatest_n = [rope = 4 + 20 * draw(20)](const LiftPose&) { return rope; };
    const int state = static_cast<int>(3 * draw(21)), posture = static_cast<int>(5 * draw(22));
    const double slew = 2 * kPi * draw(23);
    Lifter lifter(m, {});
    const auto [low, high] = lifter.radius_range_mm(posture);
    const double radius = low + (high - low) * draw(24);
    const LiftDetail d = lifter.detail(state, posture, slew, radius);
    ASSERT_TRUE(d.cell.reached);
    ASSERT_NE(d.cell.governs, Limit::sag);
    LiftPose asked;
    asked.posture = posture;
    asked.slew_rad = slew;
    asked.luff_rad = d.cell.luff_rad;
    const auto expected = referee(m, m.states[static_cast<std::size_t>(state)], d.joint, asked);
    EXPECT_NEAR(d.cell.greatest_n, expected.value_or(0), 2e-6 * (1 + d.cell.greatest_n)) << round;
    ++compared;
    ++governed[static_cast<std::size_t>(d.cell.governs)];
    tipping += d.cell.governs == Limit::tipping && d.cell.greatest_n > 0;
    zero += d.cell.greatest_n == 0;
  }
  EXPECT_GE(compared, 500);
  EXPECT_GT(tipping, 100);
  EXPECT_LT(zero, 200);
  for (const Limit l : {Limit::luff, Limit::knuckle, Limit::hoist, Limit::slew}) {
    EXPECT_GT(governed[static_cast<std::size_t>(l)], 5) << name_of(l);
  }
}

TEST(LiftReferee, TippingAloneIsFeasibleUpToItsLoad) {
  // Without drives, also where no load tips the machine.
  int endless = 0;
  for (std::uint64_t round = 0; round < 150; ++round) {
    const auto draw = [&](std::uint64_t s) { return base::uniform_draw(78, s, round); };
    LiftingMachine m = sample::loader();
    harden(m);
    m.joint_limits.clear();
    m.payload_limits.clear();
    for (LiftingBody& b : m.bodies) b.give = {};
    for (Support& p : m.states[2].supports) {  // tracks beyond much of the reach
      p.from = {3 * p.from.x_mm, 3 * p.from.y_mm};
      p.to = {3 * p.to.x_mm, 3 * p.to.y_mm};
    }
    m.slope = {0.2 * draw(0), 2 * kPi * draw(1)};
    const int state = static_cast<int>(3 * draw(2)), posture = static_cast<int>(5 * draw(3));
    const double slew = 2 * kPi * draw(4);
    Lifter lifter(m, {});
    const auto [low, high] = lifter.radius_range_mm(posture);
    const LiftDetail d = lifter.detail(state, posture, slew, low + (high - low) * draw(5));
    const auto expected = referee(m, m.states[static_cast<std::size_t>(state)], d.joint, {});
    if (std::isinf(d.cell.tipping_n)) {
      ++endless;
      EXPECT_EQ(expected.value_or(0), kEndless_n) << round;
    } else {
      EXPECT_NEAR(d.cell.tipping_n, expected.value_or(0), 2e-6 * (1 + d.cell.tipping_n)) << round;
    }
  }
  EXPECT_GT(endless, 10);
  EXPECT_LT(endless, 100);
}
