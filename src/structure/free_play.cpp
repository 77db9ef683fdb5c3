#include <algorithm>
#include <cmath>

#include "base/check.h"
#include "structure/frame_matrices.h"
#include "structure/play.h"

namespace structure {
namespace {

using internal::Matrix6;
using internal::Vector6;

/// The ways a joint can play, each a group of forces whose norm counts: end p, end q of the pin, along, about, tilt.
/// Columns of `pick` turn a joint force into the group's components.
struct Group {
  int joint = 0;
  double clearance = 0;
  Eigen::Matrix<double, 2, 6> pick = Eigen::Matrix<double, 2, 6>::Zero();
};

std::vector<Group> groups_of(const std::vector<Clearance>& clearances, const Frame& frame) {
  std::vector<Group> out;
  for (std::size_t i = 0; i < clearances.size(); ++i) {
    const Clearance& c = clearances[i];
    const Six& k = frame.joints[i].stiffness;
    const auto add = [&](double clearance, std::initializer_list<std::array<double, 3>> entries) {
      Group g;
      g.joint = static_cast<int>(i);
      g.clearance = clearance;
      for (const auto& e : entries) g.pick(static_cast<int>(e[0]), static_cast<int>(e[1])) = e[2];
      out.push_back(g);
    };
    if (c.diametral_mm > 0) {
      KW_CHECK(c.engaged_mm > 0, "a pin with clearance needs the length it is engaged over");
      const double l = c.engaged_mm;
      add(c.diametral_mm / 2, {{0, 1, 0.5}, {0, 5, 1 / l}, {1, 2, 0.5}, {1, 4, -1 / l}});
      add(c.diametral_mm / 2, {{0, 1, 0.5}, {0, 5, -1 / l}, {1, 2, 0.5}, {1, 4, 1 / l}});
    }
    if (c.axial_mm > 0 && k[0] > 0) add(c.axial_mm, {{0, 0, 1}});
    if (c.turn_rad > 0 && k[3] > 0) add(c.turn_rad, {{0, 3, 1}});
    if (c.tilt_rad > 0 && k[4] > 0) add(c.tilt_rad, {{0, 4, 1}, {1, 5, 1}});
  }
  return out;
}

/// A joint's springs from its compliance: its own plus one per group; what it does not hand on stays free.
Matrix6 springs(const Six& stiffness, const Matrix6& play_compliance) {
  std::vector<int> held;
  for (int i = 0; i < 6; ++i) {
    if (stiffness[static_cast<std::size_t>(i)] > 0) held.push_back(i);
  }
  const auto n = static_cast<Eigen::Index>(held.size());
  Eigen::MatrixXd compliance(n, n);
  for (Eigen::Index r = 0; r < n; ++r) {
    for (Eigen::Index s = 0; s < n; ++s) {
      const auto a = held[static_cast<std::size_t>(r)], b = held[static_cast<std::size_t>(s)];
      compliance(r, s) = play_compliance(a, b) + (a == b ? 1 / stiffness[static_cast<std::size_t>(a)] : 0);
    }
  }
  const Eigen::MatrixXd inverse = compliance.ldlt().solve(Eigen::MatrixXd::Identity(n, n));
  Matrix6 out = Matrix6::Zero();
  for (Eigen::Index r = 0; r < n; ++r) {
    for (Eigen::Index s = 0; s < n; ++s) {
      out(held[static_cast<std::size_t>(r)], held[static_cast<std::size_t>(s)]) = (inverse(r, s) + inverse(s, r)) / 2;
    }
  }
  return out;
}

}  // namespace

FreePlay free_play(const FrameModel& model, const FrameState& unit, int node, Freedom freedom,
                   const std::vector<Clearance>& clearances, const FreePlayOptions& options) {
  const internal::FrameMatrices& m = model.matrices();
  KW_CHECK(clearances.size() == m.frame.joints.size(), "one clearance per joint");
  FreePlay out;
  const auto motions = [&](const std::vector<Six>& forces) {
    std::vector<double> each;
    for (std::size_t i = 0; i < forces.size(); ++i) each.push_back(greatest_motion(clearances[i], forces[i]));
    return each;
  };
  const auto sum = [](const std::vector<double>& each) {
    double s = 0;
    for (const double x : each) s += x;
    return s;
  };
  out.bound_by_joint = out.by_joint = motions(unit.joint_force);
  out.bound = out.free = sum(out.by_joint);
  const std::vector<Group> groups = groups_of(clearances, m.frame);
  const int row = m.number[static_cast<std::size_t>(6 * node) + static_cast<std::size_t>(freedom)];
  if (groups.empty() || out.bound == 0 || row < 0) return out;

  // Members and beddings must stay stiff beside the play: their share of the energy is kept at 1e-4.
  const double own = unit.displacement[static_cast<std::size_t>(node)][static_cast<std::size_t>(freedom)];
  const double scale = 1e4 * own / out.bound;
  Eigen::VectorXd load = Eigen::VectorXd::Zero(m.free);
  load(row) = 1;
  std::vector<Six> forces = unit.joint_force;
  Eigen::SimplicialLDLT<internal::Sparse> factor;
  const auto norm = [&](const Group& g, const Six& f) { return (g.pick * Vector6(f.data())).norm(); };
  while (out.rounds < options.most_rounds && out.free - out.at_least > options.gap * out.free) {
    ++out.rounds;
    // A group that carries nearly nothing keeps a floor, so that the matrix stays sound; it costs at most the floor.
    const double floor = 1e-5 * out.bound;
    std::vector<Matrix6> compliance(forces.size(), Matrix6::Zero());
    std::vector<double> before;
    for (const Group& g : groups) {
      before.push_back(std::max(norm(g, forces[static_cast<std::size_t>(g.joint)]), floor / g.clearance));
      // Energy of the group: scale c/|f_old| |f|^2.
      compliance[static_cast<std::size_t>(g.joint)] +=
          scale * g.clearance / before.back() * g.pick.transpose() * g.pick;
    }
    std::vector<Matrix6> joint_springs;
    for (std::size_t i = 0; i < forces.size(); ++i) {
      joint_springs.push_back(springs(m.frame.joints[i].stiffness, compliance[i]));
    }
    factor.compute(m.assemble(m.condensed, joint_springs));
    if (factor.info() != Eigen::Success) break;
    const Eigen::VectorXd u = factor.solve(load);
    const std::vector<Six> displacement = m.spread(u);
    for (std::size_t i = 0; i < forces.size(); ++i) {
      const Vector6 f = joint_springs[i] * m.joint_displacement(static_cast<int>(i), displacement);
      for (std::size_t k = 0; k < 6; ++k) forces[i][k] = f(static_cast<Eigen::Index>(k));
    }
    const std::vector<double> each = motions(forces);
    if (const double total = sum(each); total < out.free) {
      out.free = total;
      out.by_joint = each;
    }
    // The same shape, shrunk until every joint stays inside its clearance, is a motion that can be made.
    double excess = 0;
    for (std::size_t g = 0; g < groups.size(); ++g) {
      excess = std::max(excess, norm(groups[g], forces[static_cast<std::size_t>(groups[g].joint)]) / before[g]);
    }
    if (excess > 0) out.at_least = std::max(out.at_least, u(row) / (scale * excess));
  }
  return out;
}

}  // namespace structure
