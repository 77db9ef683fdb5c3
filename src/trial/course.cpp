#include "trial/course.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "base/text.h"

namespace trial {

const char* name_of(CourseType type) {
  switch (type) {
    case CourseType::flat:
      return "flat";
    case CourseType::slope:
      return "slope";
    case CourseType::side_slope:
      return "side_slope";
    case CourseType::step:
      return "step";
    case CourseType::drop:
      return "drop";
    case CourseType::trench:
      return "trench";
    case CourseType::washboard:
      return "washboard";
  }
  return "";
}

std::optional<CourseType> course_type(std::string_view name) {
  for (const CourseType type : kCourseTypes)
    if (name == name_of(type)) return type;
  return std::nullopt;
}

SizeName size_of(CourseType type) {
  switch (type) {
    case CourseType::flat:
      break;
    case CourseType::slope:
    case CourseType::side_slope:
      return {"angle", "deg", 75};
    case CourseType::step:
    case CourseType::drop:
    case CourseType::washboard:
      return {"height", "mm", 500};
    case CourseType::trench:
      return {"width", "mm", 1000};
  }
  return {"", "", 0};
}

Course Course::sized(CourseType type, double in_unit) {
  const bool angle = type == CourseType::slope || type == CourseType::side_slope;
  return {type, type == CourseType::flat ? 0 : in_unit * (angle ? std::numbers::pi / 180 : 1)};
}

std::string Course::fault() const {
  if (type == CourseType::flat) return "";
  const SizeName named = size_of(type);
  const bool angle = type == CourseType::slope || type == CourseType::side_slope;
  const double in_unit = angle ? size * 180 / std::numbers::pi : size;
  if (in_unit > 0 && in_unit <= named.most + 1e-9) return "";
  return fmt::format("a {} needs its {}: more than 0 and at most {} {}", name_of(type), named.name,
                     base::plain(named.most, 4), named.unit);
}

balance::GroundLine Course::ground(double length_mm, double height_mm) const {
  switch (type) {
    case CourseType::flat:
      return {{0, 0}, {length_mm, 0}};
    case CourseType::side_slope:
      return {{0, 0}, {2 * length_mm, 0}};
    case CourseType::slope:
      return {{0, 0}, {2 * length_mm * std::cos(size), 2 * length_mm * std::sin(size)}};
    case CourseType::step:
      return balance::step_up(size);
    case CourseType::drop:
      return balance::step_down(size);
    case CourseType::trench:
      return balance::trench(size, 2 * height_mm);
    case CourseType::washboard:
      break;
  }
  constexpr int kWaves = 6;
  balance::GroundLine out{{0, 0}};
  const double half_mm = 2.5 * size;
  for (int wave = 0; wave < kWaves; ++wave) {
    out.push_back({(2 * wave + 1) * half_mm, size});
    out.push_back({(2 * wave + 2) * half_mm, 0});
  }
  return out;
}

std::string Course::text() const {
  switch (type) {
    case CourseType::flat:
      return "level ground";
    case CourseType::slope:
      return fmt::format("slope of {} deg", base::plain(size * 180 / std::numbers::pi, 3));
    case CourseType::side_slope:
      return fmt::format("slope of {} deg across its way", base::plain(size * 180 / std::numbers::pi, 3));
    case CourseType::step:
    case CourseType::drop:
      return fmt::format("{} of {} mm", name_of(type), base::plain(size, 4));
    case CourseType::trench:
      return fmt::format("trench {} mm wide", base::plain(size, 4));
    case CourseType::washboard:
      return fmt::format("washboard of {} mm waves", base::plain(size, 4));
  }
  return "";
}

Extent extent_of(const balance::SideView& vehicle) {
  constexpr double kFar = std::numeric_limits<double>::infinity();
  Extent out{kFar, -kFar, vehicle.centre.z_mm};
  for (const balance::SideWheel& w : vehicle.wheels) {
    out.rear_mm = std::min(out.rear_mm, w.axle.x_mm - w.radius_mm);
    out.front_mm = std::max(out.front_mm, w.axle.x_mm + w.radius_mm);
    out.top_mm = std::max(out.top_mm, w.axle.z_mm + w.radius_mm);
  }
  for (const balance::SidePoint& p : vehicle.underside) {
    out.rear_mm = std::min(out.rear_mm, p.x_mm);
    out.front_mm = std::max(out.front_mm, p.x_mm);
  }
  return out;
}

}  // namespace trial
