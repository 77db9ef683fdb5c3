// Inside of frame.h and buckling.h: element matrices and the assembled system. Not for other folders.
#pragma once

#include <Eigen/Dense>
#include <Eigen/SparseCholesky>
#include <vector>

#include "structure/frame.h"

namespace structure::internal {

using Matrix12 = Eigen::Matrix<double, 12, 12>;
using Vector12 = Eigen::Matrix<double, 12, 1>;
using Matrix6 = Eigen::Matrix<double, 6, 6>;
using Vector6 = Eigen::Matrix<double, 6, 1>;
using Matrix3 = Eigen::Matrix3d;
using Sparse = Eigen::SparseMatrix<double>;

[[nodiscard]] Eigen::Vector3d vector_of(const Vec3& v);

/// Own axes as rows and the elastic length.
struct MemberAxes {
  Matrix3 rows;
  double length_mm = 0;
};
[[nodiscard]] MemberAxes member_axes(const Frame& frame, const FrameMember& member);
/// Rows of a joint's axes: x along `axis`, y and z any that complete it.
[[nodiscard]] Matrix3 joint_rows(const Vec3& axis);

/// Own axes, nothing loose.
[[nodiscard]] Matrix12 elastic_stiffness(const FrameMember& member, double length_mm);
/// Own axes, per newton of tension. Source: Przemieniecki, Theory of Matrix Structural Analysis, chapter 15.
[[nodiscard]] Matrix12 geometric_stiffness(const FrameMember& member, double length_mm);

/// Loose ends eliminated from k (and from the equivalent nodal forces f). `negative` counts the negative pivots among
/// what was eliminated; `singular` = the loose part has no stiffness of its own.
struct Condensed {
  Matrix12 k;
  Vector12 f;
  int negative = 0;
  bool singular = false;
};
[[nodiscard]] Condensed condense(const FrameMember& member, const Matrix12& k, const Vector12& f);

/// Node displacements (a then b, global) to end displacements in own axes, offsets included.
[[nodiscard]] Matrix12 transformation(const MemberAxes& axes, const FrameMember& member);

/// Equivalent nodal forces of a uniform load, own axes.
[[nodiscard]] Vector12 uniform_forces(const Eigen::Vector3d& load_n_mm, double length_mm);

struct FrameMatrices {
  Frame frame;
  std::vector<int> number;  ///< 6 per node: row in the free system, -1 where held
  int free = 0;
  std::vector<MemberAxes> axes;
  std::vector<Matrix12> full, condensed, transform;  ///< full: nothing loose
  std::vector<Matrix3> joint_axes;
  Eigen::SimplicialLDLT<Sparse> factor;
  std::optional<Mechanism> mechanism;

  std::vector<Matrix6> springs;  ///< per joint, own axes

  /// The free system from one 12 x 12 (condensed) per member and one 6 x 6 per joint, own axes.
  [[nodiscard]] Sparse assemble(const std::vector<Matrix12>& members, const std::vector<Matrix6>& joints) const;
  [[nodiscard]] Vector12 member_displacement(int member, const std::vector<Six>& displacement) const;
  [[nodiscard]] Vector6 joint_displacement(int joint, const std::vector<Six>& displacement) const;
  [[nodiscard]] std::vector<Six> spread(const Eigen::VectorXd& free_displacement) const;
};

}  // namespace structure::internal
