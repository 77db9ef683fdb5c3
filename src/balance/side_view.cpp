#include "balance/side_view.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/check.h"

namespace balance {
namespace {

constexpr double kPi = std::numbers::pi;

/// Smallest angle at which an underside point lies further into the ramp than every wheel; `ahead` +1 front, -1 rear.
double ramp_angle_rad(const SideView& v, double ahead) {
  const auto wheels_first = [&](double angle) {
    const double mx = ahead * std::sin(angle), mz = -std::cos(angle);
    double wheel = -1e300, under = -1e300;
    for (const SideWheel& w : v.wheels) wheel = std::max(wheel, w.axle.x_mm * mx + w.axle.z_mm * mz + w.radius_mm);
    for (const SidePoint& p : v.underside) under = std::max(under, p.x_mm * mx + p.z_mm * mz);
    return wheel >= under;
  };
  constexpr int kSteps = 900;
  double low = 0, high = -1;
  for (int i = 1; i <= kSteps; ++i) {
    const double angle = kPi / 2 * i / kSteps;
    if (!wheels_first(angle)) {
      high = angle;
      break;
    }
    low = angle;
  }
  if (high < 0) return kPi / 2;
  for (int i = 0; i < 50; ++i) {
    const double middle = (low + high) / 2;
    (wheels_first(middle) ? low : high) = middle;
  }
  return low;
}

}  // namespace

int SideView::driven_wheels() const {
  return static_cast<int>(std::count_if(wheels.begin(), wheels.end(), [](const SideWheel& w) { return w.driven; }));
}

std::string fault_of(const SideView& v) {
  if (v.wheels.size() < 2) return "a vehicle seen from the side has at least two wheels";
  if (!(v.weight_n > 0)) return "the vehicle needs a weight";
  std::vector<int> held(v.rockers.size(), 0);
  for (const SideWheel& w : v.wheels) {
    if (!(w.radius_mm > 0)) return "every wheel needs a radius";
    if (w.rocker >= static_cast<int>(v.rockers.size())) return "a wheel names a rocker that is not there";
    if (w.rocker >= 0) ++held[static_cast<std::size_t>(w.rocker)];
  }
  for (std::size_t k = 0; k < held.size(); ++k) {
    if (held[k] < 2) return "rocker " + std::to_string(k) + " holds fewer than two wheels";
    if (!(v.rockers[k].most_rad >= 0 && v.rockers[k].most_rad < kPi / 2)) {
      return "rocker " + std::to_string(k) + " turns by 0 to below 90 deg";
    }
  }
  return "";
}

double approach_angle_rad(const SideView& vehicle) {
  return ramp_angle_rad(vehicle, 1);
}
double departure_angle_rad(const SideView& vehicle) {
  return ramp_angle_rad(vehicle, -1);
}

double breakover_angle_rad(const SideView& v) {
  double least = kPi;
  // Between its points the underside is straight; there the angle changes smoothly, so a close row of points tells it
  // to about a thousandth.
  constexpr int kBetween = 64;
  std::vector<SidePoint> points;
  for (std::size_t i = 0; i < v.underside.size(); ++i) {
    const SidePoint a = v.underside[i];
    points.push_back(a);
    if (i + 1 == v.underside.size()) break;
    const SidePoint b = v.underside[i + 1];
    for (int k = 1; k < kBetween; ++k) {
      const double t = static_cast<double>(k) / kBetween;
      points.push_back({a.x_mm + t * (b.x_mm - a.x_mm), a.z_mm + t * (b.z_mm - a.z_mm)});
    }
  }
  for (const SidePoint& p : points) {
    // Steepest fall a face through p needs to pass under all wheels on one side.
    double fall[2] = {-1, -1};
    bool there[2] = {false, false}, covered = false;
    for (const SideWheel& w : v.wheels) {
      const double dx = w.axle.x_mm - p.x_mm, dz = w.axle.z_mm - p.z_mm, distance = std::hypot(dx, dz);
      covered = covered || distance <= w.radius_mm;  // the wheel is lower there
      if (covered) break;
      const int side = dx > 0 ? 0 : 1;
      there[side] = true;
      fall[side] = std::max(fall[side], std::asin(w.radius_mm / distance) - std::atan2(dz, std::fabs(dx)));
    }
    if (!covered && there[0] && there[1]) least = std::min(least, std::max(0.0, fall[0] + fall[1]));
  }
  return least;
}

double ground_clearance_mm(const SideView& v) {
  KW_CHECK(!v.underside.empty(), "clearance needs an underside");
  double least = v.underside[0].z_mm;
  for (const SidePoint& p : v.underside) least = std::min(least, p.z_mm);
  return least;
}

GroundLine step_up(double height_mm) {
  return {{0, 0}, {0, height_mm}};
}
GroundLine step_down(double height_mm) {
  return {{0, 0}, {0, -height_mm}};
}
GroundLine trench(double width_mm, double depth_mm) {
  return {{0, 0}, {0, -depth_mm}, {width_mm, -depth_mm}, {width_mm, 0}};
}
GroundLine block(double height_mm, double length_mm) {
  return {{0, 0}, {0, height_mm}, {length_mm, height_mm}, {length_mm, 0}};
}
GroundLine ridge(double face_rad, double height_mm) {
  const double run = height_mm / std::tan(face_rad);
  return {{-run, 0}, {0, height_mm}, {run, 0}};
}

}  // namespace balance
