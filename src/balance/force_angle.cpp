#include "balance/force_angle.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>

#include "base/check.h"

namespace balance {
namespace {

Eigen::Vector3d vector_of(Vec3 v) {
  return {v.x_mm, v.y_mm, v.z_mm};
}

}  // namespace

Wrench with_force(Wrench w, Vec3 centre, Vec3 at, double fx_n, double fy_n, double fz_n) {
  const Eigen::Vector3d moment = vector_of(at - centre).cross(Eigen::Vector3d(fx_n, fy_n, fz_n));
  w.fx_n += fx_n;
  w.fy_n += fy_n;
  w.fz_n += fz_n;
  w.mx_nmm += moment[0];
  w.my_nmm += moment[1];
  w.mz_nmm += moment[2];
  return w;
}

ForceAngle force_angle(std::span<const Vec3> corners, Vec3 centre, const Wrench& w) {
  KW_CHECK(corners.size() >= 3, "a support polygon has three corners");
  const Eigen::Vector3d force(w.fx_n, w.fy_n, w.fz_n), moment(w.mx_nmm, w.my_nmm, w.mz_nmm), c = vector_of(centre);
  ForceAngle least;
  for (std::size_t i = 0; i < corners.size(); ++i) {
    const Eigen::Vector3d p = vector_of(corners[i]), q = vector_of(corners[(i + 1) % corners.size()]);
    KW_CHECK((q - p).norm() > 0, "corners are apart");
    const Eigen::Vector3d axis = (q - p).normalized();
    const Eigen::Vector3d reach = (q - c) - axis * axis.dot(q - c);  // l
    const double distance = reach.norm();
    ForceAngle here{static_cast<int>(i), 0, 0};
    if (distance > 0) {
      const Eigen::Vector3d to_axis = reach / distance;
      const Eigen::Vector3d tipping =
          (force - axis * axis.dot(force)) + to_axis.cross(axis * axis.dot(moment)) / distance;
      const double size = tipping.norm();
      if (size > 0) {
        const Eigen::Vector3d f = tipping / size;
        // Counter-clockwise corners: the force turns inwards about the axis when (l^ x f^) . a is positive.
        const double inwards = to_axis.cross(f).dot(axis);
        here.angle_rad = std::copysign(std::acos(std::clamp(f.dot(to_axis), -1.0, 1.0)), inwards);
        const double arm = (reach.dot(f) * f - reach).norm();
        here.measure_nmm = here.angle_rad * arm * size;
      }
    }
    if (least.edge < 0 || here.measure_nmm < least.measure_nmm) least = here;
  }
  return least;
}

}  // namespace balance
