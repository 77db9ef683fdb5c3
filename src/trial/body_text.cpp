#include "trial/body_text.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace trial {
namespace {

using balance::Body;
using balance::Joint;
using balance::Vec3;

constexpr double kM = 1e-3;
constexpr double kLeast_g = 0.1;

}  // namespace

std::string place_text(Vec3 p) {
  return fmt::format("{:.9g} {:.9g} {:.9g}", p.x_mm * kM, p.y_mm * kM, p.z_mm * kM);
}

std::string quat_text(Vec3 axis, double rad) {
  const double s = std::sin(rad / 2);
  return fmt::format("{:.12g} {:.12g} {:.12g} {:.12g}", std::cos(rad / 2), s * axis.x_mm, s * axis.y_mm, s * axis.z_mm);
}

std::string open_frame(const std::string& name, const Body& own, double set) {
  const Vec3 place = own.joint == Joint::slides ? own.origin + set * own.axis : own.origin;
  return fmt::format("<body name=\"{}\" pos=\"{}\" quat=\"{}\">\n", name, place_text(place),
                     quat_text(own.axis, own.joint == Joint::turns ? set : 0));
}

std::string give_joint(const balance::LiftingBody& body, double set) {
  const Body& own = body.weighed.body;
  const double give = own.joint == Joint::fixed ? 0 : body.give(set);
  if (give <= 0) return "";
  // 1 N mm/rad is 1e-3 N m/rad; slides: 1 N/mm is 1e3 N/m.
  const bool slides = own.joint == Joint::slides;
  const double k = slides ? 1e3 / give : 1e-3 / give;
  return fmt::format("<joint type=\"{}\" axis=\"{:.12g} {:.12g} {:.12g}\" stiffness=\"{:.9g}\" damping=\"{:.9g}\"/>\n",
                     slides ? "slide" : "hinge", own.axis.x_mm, own.axis.y_mm, own.axis.z_mm, k,
                     std::sqrt(k * (slides ? 0.2 : 5e-3)));
}

std::string inertial_text(const Body& own, double gyration_mm) {
  const double kg = std::max(own.mass_g, kLeast_g) * kM, inertia = kg * gyration_mm * gyration_mm * kM * kM;
  return fmt::format("<inertial pos=\"{}\" mass=\"{:.9g}\" diaginertia=\"{:.9g} {:.9g} {:.9g}\"/>\n",
                     place_text(own.centre), kg, inertia, inertia, inertia);
}

}  // namespace trial
