// The vehicle and its ground as a model of the engine.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "balance/mass.h"
#include "trial/drive.h"
#include "trial/drive_model.h"

namespace trial {
namespace {

using balance::SidePoint;
using balance::SideView;
using balance::SideWheel;

constexpr double kM = 1e-3;  // metres in a millimetre
constexpr double kWheel_kg = 0.002, kRocker_kg = 0.005;
/// Of the ground, across. All touches in the middle plane; a wider one only makes the engine look at stretches far off.
constexpr double kHalfWidth_m = 0.02;
constexpr double kUnderside_mm = 2;  // how thick the underside is

}  // namespace

std::string slab(const char* name, SidePoint a, SidePoint b, double thick_mm, double half_width_m, double friction) {
  const double length_mm = std::hypot(b.x_mm - a.x_mm, b.z_mm - a.z_mm);
  const double ux = (b.x_mm - a.x_mm) / length_mm, uz = (b.z_mm - a.z_mm) / length_mm;
  const double mx = (a.x_mm + b.x_mm) / 2 + uz * thick_mm / 2, mz = (a.z_mm + b.z_mm) / 2 - ux * thick_mm / 2;
  return fmt::format(
      "<geom name=\"{}\" type=\"box\" pos=\"{:.9g} 0 {:.9g}\" size=\"{:.9g} {:.9g} {:.9g}\" xyaxes=\"{:.12g} 0 {:.12g} "
      "0 "
      "1 0\" friction=\"{:.9g} 0 0\"/>\n",
      name, mx * kM, mz * kM, length_mm / 2 * kM, half_width_m, thick_mm / 2 * kM, ux, uz, friction);
}

std::string ball(const std::string& name, SidePoint at, double radius_mm, double friction) {
  return fmt::format(
      "<geom name=\"{}\" type=\"sphere\" pos=\"{:.9g} 0 {:.9g}\" size=\"{:.9g}\" friction=\"{:.9g} 0 0\"/>\n", name,
      at.x_mm * kM, at.z_mm * kM, radius_mm * kM, friction);
}

std::string belt_between(std::size_t i, const SideWheel& a, const SideWheel& b, double friction) {
  if (std::fabs(a.radius_mm - b.radius_mm) < 1e-6) {
    return fmt::format(
        "<geom name=\"belt{}\" type=\"capsule\" fromto=\"{:.9g} 0 {:.9g} {:.9g} 0 {:.9g}\" size=\"{:.9g}\" "
        "friction=\"{:.9g} 0 0\"/>\n",
        i, a.axle.x_mm * kM, a.axle.z_mm * kM, b.axle.x_mm * kM, b.axle.z_mm * kM, a.radius_mm * kM, friction);
  }
  const double dx = b.axle.x_mm - a.axle.x_mm, dz = b.axle.z_mm - a.axle.z_mm, d = std::hypot(dx, dz);
  std::string out = ball(fmt::format("belt{}a", i), a.axle, a.radius_mm, friction) +
                    ball(fmt::format("belt{}b", i), b.axle, b.radius_mm, friction);
  const double fall = (b.radius_mm - a.radius_mm) / d;
  if (std::fabs(fall) >= 1) return out;  // one wheel inside the other's outline
  // Outer tangent below: normal n with n . (b - a) = ra - rb, pointing down.
  const double along = std::atan2(dz, dx), turn = std::asin(fall);
  const double nx = std::sin(along - turn), nz = -std::cos(along - turn);
  const SidePoint p{a.axle.x_mm + nx * a.radius_mm, a.axle.z_mm + nz * a.radius_mm};
  const SidePoint q{b.axle.x_mm + nx * b.radius_mm, b.axle.z_mm + nz * b.radius_mm};
  // The slab lies above that line: its lower face is the belt, so it is laid from the far end.
  return out + slab(fmt::format("belt{}c", i).c_str(), q, p, 1, 0.005, friction);
}

namespace {

std::string inertial(double mass_kg, SidePoint at, double radius_of_gyration_mm) {
  const double inertia = mass_kg * radius_of_gyration_mm * radius_of_gyration_mm * kM * kM;
  return fmt::format("<inertial pos=\"{:.9g} 0 {:.9g}\" mass=\"{:.9g}\" diaginertia=\"{:.9g} {:.9g} {:.9g}\"/>\n",
                     at.x_mm * kM, at.z_mm * kM, mass_kg, inertia, inertia, inertia);
}

std::string wheel_body(std::size_t i, const SideWheel& w, SidePoint from, double friction, double drag_nm) {
  return fmt::format("<body name=\"wheel{}\" pos=\"{:.9g} 0 {:.9g}\">\n", i, (w.axle.x_mm - from.x_mm) * kM,
                     (w.axle.z_mm - from.z_mm) * kM) +
         fmt::format("<joint name=\"axle{}\" axis=\"0 1 0\" armature=\"{:.9g}\" frictionloss=\"{:.9g}\"/>\n", i,
                     kWheelInertia, w.driven ? 0.0 : drag_nm) +
         inertial(kWheel_kg, {}, w.radius_mm / 2) + ball(fmt::format("tyre{}", i), {}, w.radius_mm, friction) +
         "</body>\n";
}

}  // namespace

DriveShaft shaft_of(const DriveRig& rig, const DriveOptions& options) {
  DriveShaft out;
  for (const SideWheel& w : rig.vehicle.wheels)
    if (w.driven) out.radius_m = std::max(out.radius_m, w.radius_mm * kM);
  const double speed_m_s = rig.speed_mm_s * kM, mass_kg = rig.vehicle.weight_n / balance::kGravity;
  // Without a limit: ten times the weight at stall, so that what friction can take hardly slows it.
  const double pull_n = rig.pull_n > 0 ? rig.pull_n : 10 * rig.vehicle.weight_n;
  out.torque_nm = pull_n * out.radius_m;
  out.free_rad_s = speed_m_s / out.radius_m;
  out.damping_nms = out.torque_nm / out.free_rad_s;
  // The engine balances contact forces before it damps, so a step's damping must not exceed the inertia.
  out.inertia_kgm2 =
      std::max(kTurningShare * mass_kg * out.radius_m * out.radius_m, 1.5 * out.damping_nms * options.step_ms * 1e-3);
  return out;
}

std::string description_of(const DriveRig& rig, const balance::GroundLine& ground, const DriveOptions& options,
                           double& start_mm) {
  const SideView& v = rig.vehicle;
  const Extent extent = extent_of(v);
  start_mm = ground.front().x_mm - extent.front_mm - 20;
  const double mass_kg = v.weight_n / balance::kGravity;
  std::string out = fmt::format(
      "<mujoco><option timestep=\"{:.9g}\" gravity=\"{:.9g} 0 {:.9g}\" integrator=\"implicit\" cone=\"elliptic\" "
      "impratio=\"10\" iterations=\"60\" tolerance=\"1e-10\"/>\n"
      "<size njmax=\"600\" nconmax=\"150\"/>\n"
      "<default><geom condim=\"3\" solref=\"{} 1\" solimp=\"0.95 0.99 0.0005\"/></default>\n<worldbody>\n",
      options.step_ms * 1e-3, -balance::kGravity * std::sin(options.slope_rad),
      -balance::kGravity * std::cos(options.slope_rad), v.belt ? 0.006 : 0.004);

  // Ground: a slab under every stretch, level beyond both ends. Walls are the ends of slabs.
  const double beyond_mm = options.beyond_mm > 0 ? options.beyond_mm : 2 * extent.length_mm() + 200;
  balance::GroundLine line = ground;
  line.insert(line.begin(), {ground.front().x_mm - beyond_mm, ground.front().z_mm});
  line.push_back({ground.back().x_mm + beyond_mm, ground.back().z_mm});
  int slabs = 0;
  double low_mm = 0, high_mm = 0;
  for (const SidePoint& p : line) low_mm = std::min(low_mm, p.z_mm), high_mm = std::max(high_mm, p.z_mm);
  for (std::size_t i = 0; i + 1 < line.size(); ++i) {
    if (line[i + 1].x_mm - line[i].x_mm < 1e-9) continue;
    out += slab(fmt::format("ground{}", slabs++).c_str(), line[i], line[i + 1], kDeep_mm + high_mm - low_mm,
                kHalfWidth_m, options.friction);
  }

  // Masses of wheels and beams are taken from the hull's, so that the whole has the mass and centre it should.
  double left_kg = mass_kg, mx = mass_kg * v.centre.x_mm, mz = mass_kg * v.centre.z_mm;
  const auto take = [&](double kg, SidePoint at) {
    left_kg -= kg;
    mx -= kg * at.x_mm;
    mz -= kg * at.z_mm;
  };
  if (!v.belt)
    for (const SideWheel& w : v.wheels) take(kWheel_kg, w.axle);
  if (!v.belt)
    for (const balance::SideRocker& r : v.rockers) take(kRocker_kg, r.pivot);
  out += fmt::format("<body name=\"hull\" pos=\"{:.9g} 0 0\">\n", start_mm * kM) +
         "<joint name=\"along\" type=\"slide\" axis=\"1 0 0\"/><joint name=\"up\" type=\"slide\" axis=\"0 0 1\"/>"
         "<joint name=\"pitch\" type=\"hinge\" axis=\"0 -1 0\"/>\n" +
         inertial(left_kg, {mx / left_kg, mz / left_kg}, extent.length_mm() / 4);
  for (std::size_t i = 0; i + 1 < v.underside.size(); ++i) {
    const SidePoint a = v.underside[i], b = v.underside[i + 1];
    if (std::hypot(b.x_mm - a.x_mm, b.z_mm - a.z_mm) < 1e-6) continue;
    out += slab(fmt::format("under{}", i).c_str(), b, a, kUnderside_mm, 0.005, options.friction);
  }
  const double drag_nm =
      v.wheels.empty() ? 0 : v.rolling_resistance * v.weight_n / static_cast<double>(v.wheels.size());
  std::string drives, steps;
  if (v.belt) {
    for (std::size_t i = 0; i + 1 < v.wheels.size(); ++i)
      out += belt_between(i, v.wheels[i], v.wheels[i + 1], options.friction);
  } else {
    for (std::size_t k = 0; k < v.rockers.size(); ++k) {
      const balance::SideRocker& r = v.rockers[k];
      out += fmt::format("<body name=\"beam{}\" pos=\"{:.9g} 0 {:.9g}\">\n", k, r.pivot.x_mm * kM, r.pivot.z_mm * kM) +
             fmt::format(
                 "<joint name=\"pin{}\" axis=\"0 -1 0\" range=\"-{:.9g} {:.9g}\" limited=\"true\" "
                 "damping=\"{:.9g}\" armature=\"{:.9g}\"/>\n",
                 k, r.most_rad * 57.29577951308232, r.most_rad * 57.29577951308232, kRockerDamping, kRockerInertia) +
             inertial(kRocker_kg, {}, 15);
      for (std::size_t i = 0; i < v.wheels.size(); ++i)
        if (v.wheels[i].rocker == static_cast<int>(k))
          out += wheel_body(i, v.wheels[i], r.pivot, options.friction, drag_nm * v.wheels[i].radius_mm * kM);
      out += "</body>\n";
    }
    for (std::size_t i = 0; i < v.wheels.size(); ++i)
      if (v.wheels[i].rocker < 0)
        out += wheel_body(i, v.wheels[i], {}, options.friction, drag_nm * v.wheels[i].radius_mm * kM);
    // All driven wheels are in step with one shaft, by their surface speeds. A wheel turns against what takes its
    // torque: the beam it sits on, or the hull; the pin turns the other way round.
    const DriveShaft shaft = shaft_of(rig, options);
    for (std::size_t i = 0; i < v.wheels.size(); ++i) {
      const SideWheel& w = v.wheels[i];
      if (!w.driven) continue;
      const bool on_hull = w.rocker >= 0 && !v.rockers[static_cast<std::size_t>(w.rocker)].drive_on_rocker;
      drives +=
          fmt::format("<fixed name=\"drive{}\"><joint joint=\"axle{}\" coef=\"{:.9g}\"/>", i, i, w.radius_mm * kM);
      if (on_hull) drives += fmt::format("<joint joint=\"pin{}\" coef=\"-{:.9g}\"/>", w.rocker, w.radius_mm * kM);
      drives += "</fixed>\n";
      steps += fmt::format("<tendon tendon1=\"drive{}\" tendon2=\"shaft\" solref=\"0.02 1\"/>\n", i);
    }
    if (!drives.empty()) {
      drives += fmt::format("<fixed name=\"shaft\"><joint joint=\"shaft\" coef=\"{:.9g}\"/></fixed>\n", shaft.radius_m);
      out += fmt::format(
          "<body name=\"shaft\"><joint name=\"shaft\" axis=\"0 1 0\" damping=\"{:.9g}\" "
          "armature=\"{:.9g}\"/><inertial pos=\"0 0 0\" mass=\"1e-5\" diaginertia=\"1e-8 1e-8 "
          "1e-8\"/></body>\n",
          shaft.damping_nms, shaft.inertia_kgm2);
    }
  }
  out += "</body>\n</worldbody>\n";
  if (!drives.empty()) {
    out += "<tendon>\n" + drives + "</tendon>\n<equality>\n" + steps +
           "</equality>\n<actuator><motor name=\"motor\" joint=\"shaft\"/></actuator>\n";
  }
  return out + "</mujoco>\n";
}

}  // namespace trial
