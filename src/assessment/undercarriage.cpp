#include "assessment/undercarriage.h"

#include <fmt/format.h>

#include <algorithm>
#include <limits>

#include "base/text.h"
#include "candidate/running_gear.h"

namespace assessment {
namespace {

using candidate::RunningGear;

/// Contacts of the support: tracks press along two lines, everything else at points.
balance::SupportState state_of(const brief::Support& support) {
  balance::SupportState out;
  const std::vector<brief::Vec3>& points = support.points_mm;
  switch (support.type) {
    case brief::Support::Type::tracks: {
      out.name = "on its tracks";
      for (const double side : {1.0, -1.0}) {
        double y_mm = 0, low_mm = std::numeric_limits<double>::infinity(), high_mm = -low_mm;
        for (const brief::Vec3& p : points) {
          if (side * p.y_mm <= 0) continue;
          y_mm = side * std::max(side * y_mm, side * p.y_mm);
          low_mm = std::min(low_mm, p.x_mm);
          high_mm = std::max(high_mm, p.x_mm);
        }
        if (low_mm < high_mm)
          out.supports.push_back({side > 0 ? "left track" : "right track", {low_mm, y_mm}, {high_mm, y_mm}});
      }
      if (out.supports.size() == 2) return out;
      out.supports.clear();
      break;
    }
    case brief::Support::Type::wheels:
      out.name = "on its wheels";
      break;
    case brief::Support::Type::feet:
      out.name = "on its feet";
      break;
    case brief::Support::Type::fixed_base:
      out.name = "on its base";
      break;
  }
  for (std::size_t i = 0; i < points.size(); ++i) {
    const balance::Point2 at{points[i].x_mm, points[i].y_mm};
    out.supports.push_back({fmt::format("contact {}", i + 1), at, at});
  }
  return out;
}

/// Pairs the carrying wheels from the rear.
void rock_pairs(RunningGear& gear, const brief::Support& support) {
  std::vector<std::size_t> carrying;
  for (std::size_t i = 0; i < gear.wheels.size(); ++i)
    if (gear.wheels[i].carries) carrying.push_back(i);
  for (std::size_t i = 0; i + 1 < carrying.size(); i += 2) {
    RunningGear::Wheel &rear = gear.wheels[carrying[i]], &front = gear.wheels[carrying[i + 1]];
    const double axle_mm = (rear.axle_height_mm + front.axle_height_mm) / 2;
    // A belt's torque is taken on the chassis, a wheel's own motor rides with it.
    gear.rockers.push_back({(rear.x_mm + front.x_mm) / 2, support.pin_height_mm > 0 ? support.pin_height_mm : axle_mm,
                            support.rocks_rad, !gear.belt});
    rear.rocker = front.rocker = static_cast<int>(gear.rockers.size()) - 1;
  }
}

double middle_y_mm(const brief::Support& support) {
  double low = std::numeric_limits<double>::infinity(), high = -low;
  for (const brief::Vec3& p : support.points_mm) {
    low = std::min(low, p.y_mm);
    high = std::max(high, p.y_mm);
  }
  return low <= high ? (low + high) / 2 : 0;
}

/// Every carrying wheel of both sides, its rocking beams with them.
void stand_on_wheels(const RunningGear& gear, double middle_mm, Undercarriage& out) {
  out.wheels.supports.clear();
  for (const double side : {1.0, -1.0}) {
    std::vector<int> support(gear.wheels.size(), -1);
    int number = 0;
    for (std::size_t i = 0; i < gear.wheels.size(); ++i) {
      if (!gear.wheels[i].carries) continue;
      support[i] = static_cast<int>(out.wheels.supports.size());
      const balance::Point2 at{gear.wheels[i].x_mm, middle_mm + side * gear.gauge_mm / 2};
      out.wheels.supports.push_back({fmt::format("{} wheel {}", side > 0 ? "left" : "right", ++number), at, at});
      out.driven.push_back(gear.belt || gear.wheels[i].driven);
    }
    for (std::size_t k = 0; k < gear.rockers.size(); ++k) {
      const RunningGear::Rocker& r = gear.rockers[k];
      balance::Rocker beam;
      beam.name = fmt::format("{} beam {}", side > 0 ? "left" : "right", k + 1);
      beam.a = beam.b = -1;
      for (std::size_t i = 0; i < gear.wheels.size(); ++i) {
        if (gear.wheels[i].rocker == static_cast<int>(k)) (beam.a < 0 ? beam.a : beam.b) = support[i];
      }
      beam.pivot = {r.pin_x_mm, middle_mm + side * gear.gauge_mm / 2, r.pin_height_mm};
      out.wheels.rockers.push_back(std::move(beam));
    }
  }
}

std::vector<balance::SidePoint> underside_of(const brief::Brief& brief, std::string& note) {
  std::vector<balance::SidePoint> out;
  for (const auto& [x_mm, z_mm] : brief.support.underside_mm) out.push_back({x_mm, z_mm});
  if (!out.empty()) return out;
  const brief::Body& chassis = brief.bodies.front();
  const double z_mm = chassis.centre_mm.z_mm - chassis.size_mm.z_mm / 2, half_mm = chassis.size_mm.x_mm / 2;
  if (!(chassis.size_mm.z_mm > 0) || !(half_mm > 0) || z_mm <= 0) {
    note = "its underside is not known: give \"underside_mm\"";
    return out;
  }
  note = "its underside is taken from the chassis' envelope";
  return {{chassis.centre_mm.x_mm - half_mm, z_mm}, {chassis.centre_mm.x_mm + half_mm, z_mm}};
}

}  // namespace

Undercarriage undercarriage_of(const brief::Brief& brief, const std::vector<Chosen>& chosen) {
  Undercarriage out;
  out.state = out.wheels = state_of(brief.support);
  std::optional<RunningGear> gear;
  for (const Chosen& c : chosen) {
    if (c.candidate == nullptr || !c.candidate->running_gear) continue;
    gear = *c.candidate->running_gear;
    out.function = c.function->id;
    break;
  }
  if (!gear || gear->wheels.size() < 2) {
    out.driven.assign(out.wheels.supports.size(), false);
    return out;
  }
  out.gauge_mm = gear->gauge_mm;
  out.width_mm = gear->width_mm;
  out.pull_n = gear->pull_n;
  out.steers_by_skidding = gear->steers_by_skidding;
  if (gear->rockers.empty() && brief.support.rocking == brief::Support::Rocking::pairs)
    rock_pairs(*gear, brief.support);
  if (!gear->rockers.empty() || brief.support.type == brief::Support::Type::wheels) {
    stand_on_wheels(*gear, middle_y_mm(brief.support), out);
  } else {
    out.driven.assign(out.wheels.supports.size(), true);  // by their belts
  }
  for (balance::Support& s : out.wheels.supports) s.width_mm = gear->width_mm;
  if (!gear->rockers.empty()) out.state = out.wheels;
  balance::SideView side;
  side.belt = gear->belt;
  side.own_motors = !gear->belt;
  for (const RunningGear::Wheel& w : gear->wheels)
    side.wheels.push_back({{w.x_mm, w.axle_height_mm}, w.radius_mm, w.driven, w.rocker});
  for (const RunningGear::Rocker& r : gear->rockers)
    side.rockers.push_back({{r.pin_x_mm, r.pin_height_mm}, r.most_rad, r.drive_on_it});
  side.underside = underside_of(brief, out.note);
  out.side = std::move(side);
  return out;
}

}  // namespace assessment
