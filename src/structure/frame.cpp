#include "structure/frame.h"

#include <algorithm>
#include <cmath>

#include "base/check.h"
#include "structure/frame_matrices.h"

namespace structure {
namespace internal {

Sparse FrameMatrices::assemble(const std::vector<Matrix12>& members, const std::vector<Matrix6>& joint_springs) const {
  std::vector<Eigen::Triplet<double>> entries;
  entries.reserve(144 * (members.size() + frame.joints.size()));
  const auto add = [&](int a, int b, const Matrix12& k) {
    for (int r = 0; r < 12; ++r) {
      const int row = number[static_cast<std::size_t>(6 * (r < 6 ? a : b) + r % 6)];
      if (row < 0) continue;
      for (int s = 0; s < 12; ++s) {
        const int column = number[static_cast<std::size_t>(6 * (s < 6 ? a : b) + s % 6)];
        if (column >= 0 && k(r, s) != 0) entries.emplace_back(row, column, k(r, s));
      }
    }
  };
  for (std::size_t i = 0; i < members.size(); ++i) {
    add(frame.members[i].a, frame.members[i].b, transform[i].transpose() * members[i] * transform[i]);
  }
  for (std::size_t i = 0; i < frame.joints.size(); ++i) {
    const FrameJoint& j = frame.joints[i];
    Matrix6 turn = Matrix6::Zero();
    turn.block<3, 3>(0, 0) = turn.block<3, 3>(3, 3) = joint_axes[i];
    const Matrix6 k = turn.transpose() * joint_springs[i] * turn;
    Matrix12 both;
    both << k, -k, -k, k;
    add(j.a, j.b, both);
  }
  Sparse out(free, free);
  out.setFromTriplets(entries.begin(), entries.end());
  return out;
}

Vector12 FrameMatrices::member_displacement(int member, const std::vector<Six>& displacement) const {
  const FrameMember& m = frame.members[static_cast<std::size_t>(member)];
  Vector12 u;
  for (int i = 0; i < 6; ++i) {
    u(i) = displacement[static_cast<std::size_t>(m.a)][static_cast<std::size_t>(i)];
    u(i + 6) = displacement[static_cast<std::size_t>(m.b)][static_cast<std::size_t>(i)];
  }
  return transform[static_cast<std::size_t>(member)] * u;
}

Vector6 FrameMatrices::joint_displacement(int joint, const std::vector<Six>& displacement) const {
  const FrameJoint& j = frame.joints[static_cast<std::size_t>(joint)];
  Vector6 u;
  for (std::size_t i = 0; i < 6; ++i) {
    u(static_cast<Eigen::Index>(i)) =
        displacement[static_cast<std::size_t>(j.b)][i] - displacement[static_cast<std::size_t>(j.a)][i];
  }
  Vector6 own;
  own << joint_axes[static_cast<std::size_t>(joint)] * u.head<3>(),
      joint_axes[static_cast<std::size_t>(joint)] * u.tail<3>();
  return own;
}

std::vector<Six> FrameMatrices::spread(const Eigen::VectorXd& free_displacement) const {
  std::vector<Six> out(frame.nodes.size(), Six{});
  for (std::size_t i = 0; i < number.size(); ++i) {
    if (number[i] >= 0) out[i / 6][i % 6] = free_displacement(number[i]);
  }
  return out;
}

namespace {

/// Whether the factored matrix has a direction without stiffness, and which. Compares each pivot with the diagonal that
/// stood there: dimensionless, so millimetres and radians can share a matrix. A hundred members in a row leave a ratio
/// of 1e-7; rounding leaves about 1e-15.
std::optional<Mechanism> find_mechanism(const FrameMatrices& m, const Sparse& k) {
  constexpr double kNoStiffness = 1e-12;
  if (m.free == 0) return std::nullopt;
  if (m.factor.info() == Eigen::Success) {
    const Eigen::VectorXd before = m.factor.permutationP() * Eigen::VectorXd(k.diagonal());
    const Eigen::VectorXd pivots = m.factor.vectorD();
    bool held = true;
    for (Eigen::Index i = 0; i < pivots.size(); ++i) held = held && pivots(i) > kNoStiffness * before(i);
    if (held) return std::nullopt;
  }
  // Inverse iteration on a matrix made just stiff enough to be factored; the start has no symmetry to miss a shape by.
  Sparse lifted = k;
  double largest = 0;
  for (int i = 0; i < m.free; ++i) largest = std::max(largest, k.coeff(i, i));
  for (int i = 0; i < m.free; ++i) lifted.coeffRef(i, i) += 1e-9 * std::max(k.coeff(i, i), 1e-9 * largest);
  const Eigen::SimplicialLDLT<Sparse> factor(lifted);
  Eigen::VectorXd shape(m.free);
  for (int i = 0; i < m.free; ++i) shape(i) = 1 + 0.37 * std::sin(1.7 * i + 0.3);
  for (int step = 0; step < 4; ++step) {
    shape = factor.solve(shape);
    shape /= shape.cwiseAbs().maxCoeff();
  }
  Mechanism out;
  out.shape = m.spread(shape);
  double most = -1;
  for (std::size_t n = 0; n < out.shape.size(); ++n) {
    for (std::size_t f = 0; f < 6; ++f) {
      const double size = std::fabs(out.shape[n][f]);
      if (size > most * (1 + 1e-9)) {
        most = size;
        out.node = static_cast<int>(n);
        out.freedom = static_cast<Freedom>(f);
      }
    }
  }
  return out;
}

}  // namespace
}  // namespace internal

using internal::FrameMatrices;
using internal::Matrix12;
using internal::Vector12;

std::optional<std::string> fault(const Frame& frame) {
  const int nodes = static_cast<int>(frame.nodes.size());
  const auto in_range = [&](int n) { return n >= 0 && n < nodes; };
  for (const FrameNode& n : frame.nodes) {
    for (const double c : n.at_mm) {
      if (!std::isfinite(c)) return "node '" + n.name + "' has no finite place";
    }
  }
  for (const FrameMember& m : frame.members) {
    const std::string who = "member '" + m.name + "' ";
    if (!in_range(m.a) || !in_range(m.b)) return who + "ends at a node that does not exist";
    const BarSection& s = m.section;
    for (const double v :
         {s.area_mm2, s.second_y_mm4, s.second_z_mm4, s.torsion_mm4, m.material.e_mpa, m.material.g_mpa}) {
      if (!(v > 0) || !std::isfinite(v))
        return who + "needs a positive area, second moments, torsion constant, E and G";
    }
    if (!(m.mass_g_mm >= 0)) return who + "has a negative mass";
    const auto axes = internal::member_axes(frame, m);
    if (!(axes.length_mm > 1e-9)) return who + "has no length";
    const Eigen::Vector3d up = internal::vector_of(m.up);
    if (!(up.cross(axes.rows.row(0).transpose()).norm() > 1e-6 * up.norm())) {
      return who + "points along its own 'up' direction";
    }
    if (internal::condense(m, internal::elastic_stiffness(m, axes.length_mm), Vector12::Zero()).singular) {
      return who + "is loose at both ends in a way that lets it move by itself";
    }
  }
  for (const FrameJoint& j : frame.joints) {
    const std::string who = "joint '" + j.name + "' ";
    if (!in_range(j.a) || !in_range(j.b) || j.a == j.b) return who + "needs two different nodes that exist";
    if (!(internal::vector_of(j.axis).norm() > 0)) return who + "has no axis";
    for (const double k : j.stiffness) {
      if (!(k >= 0) || !std::isfinite(k)) return who + "has a stiffness that is negative or not a number";
    }
    if (j.stiffness[1] != j.stiffness[2] || j.stiffness[4] != j.stiffness[5]) {
      return who + "must be equally stiff all round its axis";
    }
    const auto& a = frame.nodes[static_cast<std::size_t>(j.a)];
    const auto& b = frame.nodes[static_cast<std::size_t>(j.b)];
    if ((internal::vector_of(a.at_mm) - internal::vector_of(b.at_mm)).norm() > 1e-6) {
      return who + "joins nodes '" + a.name + "' and '" + b.name + "', which lie apart";
    }
  }
  return std::nullopt;
}

FrameModel::FrameModel(Frame frame) {
  const auto wrong = fault(frame);
  KW_CHECK(!wrong, wrong.value_or(""));
  auto m = std::make_shared<FrameMatrices>();
  m->frame = std::move(frame);
  for (const FrameNode& n : m->frame.nodes) {
    for (const bool held : n.held) m->number.push_back(held ? -1 : m->free++);
  }
  for (const FrameMember& member : m->frame.members) {
    m->axes.push_back(internal::member_axes(m->frame, member));
    m->transform.push_back(internal::transformation(m->axes.back(), member));
    m->full.push_back(internal::elastic_stiffness(member, m->axes.back().length_mm));
    m->condensed.push_back(internal::condense(member, m->full.back(), Vector12::Zero()).k);
  }
  for (const FrameJoint& j : m->frame.joints) {
    m->joint_axes.push_back(internal::joint_rows(j.axis));
    m->springs.emplace_back(internal::Vector6(j.stiffness.data()).asDiagonal());
  }
  if (m->free > 0) {
    const internal::Sparse k = m->assemble(m->condensed, m->springs);
    m->factor.compute(k);
    m->mechanism = internal::find_mechanism(*m, k);
  }
  matrices_ = std::move(m);
}

const Frame& FrameModel::frame() const {
  return matrices_->frame;
}

const std::optional<Mechanism>& FrameModel::mechanism() const {
  return matrices_->mechanism;
}

namespace {

/// Solves for global nodal forces (6 per node) and per-member equivalent forces that are already among them; `relative`
/// holds a joint's dislocation.
FrameState solve_forces(const FrameMatrices& m, const std::vector<Six>& nodal,
                        const std::vector<Vector12>& member_force, int dislocated, const Six& relative) {
  KW_CHECK(!m.mechanism, "the frame can move without resistance");
  std::vector<Six> total = nodal;
  const auto add = [&](int node, int first, const Eigen::Vector3d& v) {
    for (int i = 0; i < 3; ++i) total[static_cast<std::size_t>(node)][static_cast<std::size_t>(first + i)] += v(i);
  };
  for (std::size_t i = 0; i < member_force.size(); ++i) {
    const Vector12 f = m.transform[i].transpose() * member_force[i];
    const FrameMember& member = m.frame.members[i];
    add(member.a, 0, f.segment<3>(0));
    add(member.a, 3, f.segment<3>(3));
    add(member.b, 0, f.segment<3>(6));
    add(member.b, 3, f.segment<3>(9));
  }
  const internal::Vector6 put_off(relative.data());
  if (dislocated >= 0) {
    const auto joint = static_cast<std::size_t>(dislocated);
    const internal::Vector6 f = m.springs[joint] * put_off;
    const internal::Matrix3 back = m.joint_axes[joint].transpose();
    const FrameJoint& j = m.frame.joints[joint];
    add(j.b, 0, back * f.head<3>());
    add(j.b, 3, back * f.tail<3>());
    add(j.a, 0, -(back * f.head<3>()));
    add(j.a, 3, -(back * f.tail<3>()));
  }
  Eigen::VectorXd rhs = Eigen::VectorXd::Zero(m.free);
  for (std::size_t i = 0; i < m.number.size(); ++i) {
    if (m.number[i] >= 0) rhs(m.number[i]) = total[i / 6][i % 6];
  }
  FrameState out;
  out.displacement = m.spread(m.free > 0 ? Eigen::VectorXd(m.factor.solve(rhs)) : rhs);

  // Forces from the displacements, and what they leave over at held freedoms is the ground's.
  std::vector<Six> inner(m.frame.nodes.size(), Six{});
  const auto gather = [&](int node, const Eigen::Vector3d& force, const Eigen::Vector3d& moment) {
    for (int i = 0; i < 3; ++i) {
      inner[static_cast<std::size_t>(node)][static_cast<std::size_t>(i)] += force(i);
      inner[static_cast<std::size_t>(node)][static_cast<std::size_t>(i + 3)] += moment(i);
    }
  };
  for (std::size_t i = 0; i < m.frame.members.size(); ++i) {
    const Vector12 q = m.member_displacement(static_cast<int>(i), out.displacement);
    const Vector12 f = m.condensed[i] * q - (member_force.empty() ? Vector12::Zero().eval() : member_force[i]);
    out.end_force.emplace_back();
    for (int k = 0; k < 12; ++k) out.end_force.back()[static_cast<std::size_t>(k)] = f(k);
    const Vector12 global = m.transform[i].transpose() * f;
    gather(m.frame.members[i].a, global.segment<3>(0), global.segment<3>(3));
    gather(m.frame.members[i].b, global.segment<3>(6), global.segment<3>(9));
  }
  for (std::size_t i = 0; i < m.frame.joints.size(); ++i) {
    internal::Vector6 spring = m.joint_displacement(static_cast<int>(i), out.displacement);
    if (static_cast<int>(i) == dislocated) spring -= put_off;
    const internal::Vector6 f = m.springs[i] * spring;
    out.joint_force.emplace_back();
    for (int k = 0; k < 6; ++k) out.joint_force.back()[static_cast<std::size_t>(k)] = f(k);
    const internal::Matrix3 back = m.joint_axes[i].transpose();
    gather(m.frame.joints[i].b, back * f.head<3>(), back * f.tail<3>());
    gather(m.frame.joints[i].a, -(back * f.head<3>()), -(back * f.tail<3>()));
  }
  out.reaction.assign(m.frame.nodes.size(), Six{});
  for (std::size_t n = 0; n < m.frame.nodes.size(); ++n) {
    for (std::size_t f = 0; f < 6; ++f) {
      if (m.frame.nodes[n].held[f]) out.reaction[n][f] = inner[n][f] - nodal[n][f];
    }
  }
  return out;
}

}  // namespace

FrameState FrameModel::solve(const Loads& loads) const {
  const FrameMatrices& m = *matrices_;
  std::vector<Six> nodal(m.frame.nodes.size(), Six{});
  for (const NodeLoad& l : loads.nodes) {
    KW_CHECK(l.node >= 0 && l.node < static_cast<int>(nodal.size()), "a load acts on a node that does not exist");
    for (std::size_t i = 0; i < 6; ++i) nodal[static_cast<std::size_t>(l.node)][i] += l.load[i];
  }
  std::vector<Eigen::Vector3d> spread_load;
  for (const FrameMember& member : m.frame.members) {
    // g/mm times m/s^2 is 1e-3 N/mm.
    spread_load.push_back(1e-3 * member.mass_g_mm * internal::vector_of(loads.gravity_m_s2));
  }
  for (const SpanLoad& l : loads.spans) {
    KW_CHECK(l.member >= 0 && l.member < static_cast<int>(spread_load.size()), "a load acts on no member");
    spread_load[static_cast<std::size_t>(l.member)] += internal::vector_of(l.force_n_mm);
  }
  std::vector<Vector12> member_force;
  for (std::size_t i = 0; i < m.frame.members.size(); ++i) {
    const auto& axes = m.axes[i];
    const Vector12 f = internal::uniform_forces(axes.rows * spread_load[i], axes.length_mm);
    member_force.push_back(internal::condense(m.frame.members[i], m.full[i], f).f);
  }
  return solve_forces(m, nodal, member_force, -1, {});
}

FrameState FrameModel::solve_unit(int node, Freedom freedom) const {
  std::vector<Six> nodal(matrices_->frame.nodes.size(), Six{});
  KW_CHECK(node >= 0 && node < static_cast<int>(nodal.size()), "a unit load acts on a node that does not exist");
  nodal[static_cast<std::size_t>(node)][static_cast<std::size_t>(freedom)] = 1;
  return solve_forces(*matrices_, nodal, {}, -1, {});
}

FrameState FrameModel::dislocate(int joint, const Six& relative) const {
  KW_CHECK(joint >= 0 && joint < static_cast<int>(matrices_->frame.joints.size()), "there is no such joint");
  return solve_forces(*matrices_, std::vector<Six>(matrices_->frame.nodes.size(), Six{}), {}, joint, relative);
}

MemberShare FrameModel::member_share(int member, const FrameState& unit, const FrameState& load) const {
  const auto& m = *matrices_;
  KW_CHECK(member >= 0 && member < static_cast<int>(m.frame.members.size()), "there is no such member");
  const Vector12 left = m.member_displacement(member, unit.displacement);
  const Vector12 right = m.member_displacement(member, load.displacement);
  const Matrix12& k = m.condensed[static_cast<std::size_t>(member)];
  const auto part = [&](std::initializer_list<int> rows) {
    double sum = 0;
    for (const int r : rows) {
      for (const int s : rows) sum += left(r) * k(r, s) * right(s);
    }
    return sum;
  };
  return {part({0, 6}), part({3, 9}), part({2, 4, 8, 10}), part({1, 5, 7, 11})};
}

double FrameModel::joint_share(int joint, const FrameState& unit, const FrameState& load) const {
  const auto& m = *matrices_;
  KW_CHECK(joint >= 0 && joint < static_cast<int>(m.frame.joints.size()), "there is no such joint");
  const internal::Vector6 right = m.joint_displacement(joint, load.displacement);
  double sum = 0;
  for (std::size_t i = 0; i < 6; ++i) {
    sum += unit.joint_force[static_cast<std::size_t>(joint)][i] * right(static_cast<Eigen::Index>(i));
  }
  return sum;
}

Frame subdivided(const Frame& frame, int parts) {
  KW_CHECK(parts >= 1, "a member is cut into at least one part");
  Frame out;
  out.nodes = frame.nodes;
  out.joints = frame.joints;
  for (const FrameMember& m : frame.members) {
    const auto end = [&](int node, const Vec3& offset) {
      return Eigen::Vector3d(internal::vector_of(frame.nodes[static_cast<std::size_t>(node)].at_mm) +
                             internal::vector_of(offset));
    };
    const Eigen::Vector3d from = end(m.a, m.offset_a_mm), to = end(m.b, m.offset_b_mm);
    int last = m.a;
    for (int i = 0; i < parts; ++i) {
      FrameMember piece = m;
      piece.a = last;
      if (i > 0) {
        piece.offset_a_mm = {};
        piece.loose_a = {};
      }
      if (i + 1 < parts) {
        const Eigen::Vector3d at = from + (to - from) * (i + 1) / parts;
        out.nodes.push_back({m.name + " " + std::to_string(i + 1), {at.x(), at.y(), at.z()}, {}});
        piece.b = last = static_cast<int>(out.nodes.size()) - 1;
        piece.offset_b_mm = {};
        piece.loose_b = {};
      }
      out.members.push_back(piece);
    }
  }
  return out;
}

}  // namespace structure
