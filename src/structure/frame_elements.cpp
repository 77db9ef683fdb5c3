#include <cmath>

#include "structure/frame_matrices.h"

namespace structure::internal {

Eigen::Vector3d vector_of(const Vec3& v) {
  return {v[0], v[1], v[2]};
}

MemberAxes member_axes(const Frame& frame, const FrameMember& m) {
  const auto& a = frame.nodes[static_cast<std::size_t>(m.a)];
  const auto& b = frame.nodes[static_cast<std::size_t>(m.b)];
  const Eigen::Vector3d along =
      vector_of(b.at_mm) + vector_of(m.offset_b_mm) - vector_of(a.at_mm) - vector_of(m.offset_a_mm);
  MemberAxes out;
  out.length_mm = along.norm();
  const Eigen::Vector3d x = along / out.length_mm;
  const Eigen::Vector3d y = vector_of(m.up).cross(x).normalized();
  out.rows << x.transpose(), y.transpose(), x.cross(y).transpose();
  return out;
}

Matrix3 joint_rows(const Vec3& axis) {
  const Eigen::Vector3d x = vector_of(axis).normalized();
  // The global axis that lies least along x keeps the cross product far from zero; ties go to the first.
  Eigen::Vector3d other = Eigen::Vector3d::UnitX();
  if (std::fabs(x.y()) < std::fabs(x.x()) - 1e-9) other = Eigen::Vector3d::UnitY();
  if (std::fabs(x.z()) < std::min(std::fabs(x.x()), std::fabs(x.y())) - 1e-9) other = Eigen::Vector3d::UnitZ();
  const Eigen::Vector3d y = other.cross(x).normalized();
  Matrix3 rows;
  rows << x.transpose(), y.transpose(), x.cross(y).transpose();
  return rows;
}

namespace {

/// One plane of bending: deflection w and turn at both ends (rows i), scaled c [12, 6L, ..., 4L^2, 2L^2]; `sign` is -1
/// in the x-z plane, where a positive turn about y lowers w.
void add_bending(Matrix12& k, const std::array<int, 4>& i, double sign, double a, double b, double c, double d) {
  // a: w-w, b: w-turn, c: turn-turn same end, d: turn-turn far end
  const double m[4][4] = {{a, b, -a, b}, {b, c, -b, d}, {-a, -b, a, -b}, {b, d, -b, c}};
  for (int r = 0; r < 4; ++r) {
    for (int s = 0; s < 4; ++s) {
      const bool flips = (r + s) % 2 == 1;
      k(i[static_cast<std::size_t>(r)], i[static_cast<std::size_t>(s)]) += (flips ? sign : 1) * m[r][s];
    }
  }
}

void add_axial(Matrix12& k, int first, double value) {
  k(first, first) += value;
  k(first + 6, first + 6) += value;
  k(first, first + 6) -= value;
  k(first + 6, first) -= value;
}

constexpr std::array<int, 4> kPlaneXy{1, 5, 7, 11}, kPlaneXz{2, 4, 8, 10};

}  // namespace

Matrix12 elastic_stiffness(const FrameMember& m, double l) {
  Matrix12 k = Matrix12::Zero();
  add_axial(k, 0, m.material.e_mpa * m.section.area_mm2 / l);
  add_axial(k, 3, m.material.g_mpa * m.section.torsion_mm4 / l);
  const double z = m.material.e_mpa * m.section.second_z_mm4 / (l * l * l);
  const double y = m.material.e_mpa * m.section.second_y_mm4 / (l * l * l);
  add_bending(k, kPlaneXy, 1, 12 * z, 6 * z * l, 4 * z * l * l, 2 * z * l * l);
  add_bending(k, kPlaneXz, -1, 12 * y, 6 * y * l, 4 * y * l * l, 2 * y * l * l);
  return k;
}

Matrix12 geometric_stiffness(const FrameMember& m, double l) {
  Matrix12 k = Matrix12::Zero();
  for (const auto& [plane, sign] : {std::pair{kPlaneXy, 1.0}, std::pair{kPlaneXz, -1.0}}) {
    add_bending(k, plane, sign, 6 / (5 * l), 0.1, 2 * l / 15, -l / 30);
  }
  add_axial(k, 3, (m.section.second_y_mm4 + m.section.second_z_mm4) / (m.section.area_mm2 * l));
  return k;
}

Condensed condense(const FrameMember& m, const Matrix12& k, const Vector12& f) {
  std::vector<int> loose;
  for (int i = 0; i < 6; ++i) {
    if (m.loose_a[static_cast<std::size_t>(i)]) loose.push_back(i);
  }
  for (int i = 0; i < 6; ++i) {
    if (m.loose_b[static_cast<std::size_t>(i)]) loose.push_back(i + 6);
  }
  Condensed out{k, f};
  // Symmetric elimination one by one. The ratio of a pivot to what stood there before tells whether anything is left.
  for (const int i : loose) {
    const double pivot = out.k(i, i);
    if (std::fabs(pivot) <= 1e-12 * std::fabs(k(i, i)) || pivot == 0) {
      out.singular = true;
      return out;
    }
    if (pivot < 0) ++out.negative;
    const Vector12 column = out.k.col(i);
    out.f -= column * (out.f(i) / pivot);
    out.k -= column * column.transpose() / pivot;
    out.k.row(i).setZero();
    out.k.col(i).setZero();
    out.f(i) = 0;
  }
  return out;
}

Matrix12 transformation(const MemberAxes& axes, const FrameMember& m) {
  Matrix12 t = Matrix12::Zero();
  const std::array<const Vec3*, 2> offsets{&m.offset_a_mm, &m.offset_b_mm};
  for (int end = 0; end < 2; ++end) {
    // u_end = u + turn x offset
    const Vec3& o = *offsets[static_cast<std::size_t>(end)];
    Matrix3 arm;
    arm << 0, o[2], -o[1], -o[2], 0, o[0], o[1], -o[0], 0;
    t.block<3, 3>(6 * end, 6 * end) = axes.rows;
    t.block<3, 3>(6 * end, 6 * end + 3) = axes.rows * arm;
    t.block<3, 3>(6 * end + 3, 6 * end + 3) = axes.rows;
  }
  return t;
}

Vector12 uniform_forces(const Eigen::Vector3d& q, double l) {
  Vector12 f = Vector12::Zero();
  for (const int end : {0, 6}) f.segment<3>(end) = q * l / 2;
  const double m = l * l / 12;
  f(5) = q.y() * m;
  f(11) = -q.y() * m;
  f(4) = -q.z() * m;
  f(10) = q.z() * m;
  return f;
}

}  // namespace structure::internal
