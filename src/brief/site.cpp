#include "brief/site.h"

#include <fmt/format.h>

#include <numbers>

namespace brief {
namespace {

using document::Diagnostics;
using document::quoted;

constexpr double kRadPerDeg = std::numbers::pi / 180;

Vec3 vec(const project::Point3& p) {
  return {p[0], p[1], p[2]};
}

Obstacle::Type type_of(project::ObstacleType type) {
  switch (type) {
    case project::ObstacleType::step:
      return Obstacle::Type::step;
    case project::ObstacleType::drop:
      return Obstacle::Type::drop;
    case project::ObstacleType::trench:
      return Obstacle::Type::trench;
    case project::ObstacleType::ridge:
      return Obstacle::Type::ridge;
    case project::ObstacleType::slope:
      break;
  }
  return Obstacle::Type::slope;
}

Obstacle build_obstacle(const project::Obstacle& from, Diagnostics& d) {
  Obstacle out;
  out.id = from.id.text;
  out.type = type_of(from.type);
  out.height_mm = from.height_mm.value_or(0);
  out.width_mm = from.width_mm.value_or(0);
  out.depth_mm = from.depth_mm.value_or(0);
  out.slope_rad = from.slope_deg.value_or(0) * kRadPerDeg;
  out.heading_rad = from.heading_deg * kRadPerDeg;
  out.friction = from.friction;
  using Type = Obstacle::Type;
  const bool high = out.type == Type::step || out.type == Type::drop || out.type == Type::ridge;
  const bool steep = out.type == Type::slope || out.type == Type::ridge;
  const auto check = [&](bool needed, bool said, std::string_view key, std::string_view example) {
    if (needed && !said) {
      d.error("brief.obstacle_size", from.where, from.path,
              fmt::format("the obstacle {} needs {}", quoted(out.id), key), fmt::format("{} = {}", key, example));
    } else if (said && !needed) {
      d.error("brief.obstacle_size", from.where, from.path,
              fmt::format("an obstacle like {} has no {}", quoted(out.id), key), fmt::format("leave {} out", key));
    }
  };
  check(high, from.height_mm.has_value(), "height_mm", "12");
  check(out.type == Type::trench, from.width_mm.has_value(), "width_mm", "40");
  if (out.type != Type::trench) check(false, from.depth_mm.has_value(), "depth_mm", "20");
  check(steep, from.slope_deg.has_value(), "slope_deg", "12");
  if (out.type != Type::slope && from.heading_deg != 0) {
    d.error("brief.heading_of_slope", from.where, from.path,
            fmt::format("{} is crossed straight on; only a slope has a heading_deg", quoted(out.id)),
            "leave heading_deg out");
  }
  return out;
}

}  // namespace

void build_site(const project::Project& project, Brief& out, Diagnostics& d) {
  for (const project::Obstacle& o : project.obstacles) out.obstacles.push_back(build_obstacle(o, d));
  for (const project::SiteLoad& l : project.loads) {
    SiteLoad load;
    load.id = l.id.text;
    load.mass_g = l.mass_g;
    if (l.size_mm) load.size_mm = vec(*l.size_mm);
    load.from_mm = vec(l.from_mm);
    load.to_mm = vec(l.to_mm);
    load.sling_mm = l.sling_mm;
    load.least_part_g = l.least_part_g.value_or(0);
    if (load.least_part_g > load.mass_g) {
      d.error("brief.part_too_heavy", l.where, l.path,
              fmt::format("the parts of {} cannot be heavier than all of it", quoted(load.id)),
              fmt::format("least_part_g below {}", load.mass_g));
    }
    out.site_loads.push_back(std::move(load));
  }
  for (const project::WorkPlace& w : project.work_places)
    out.work_places.push_back({w.id.text, w.at_mm[0], w.at_mm[1], w.heading_deg * kRadPerDeg, w.feet_down});
  for (const project::StowPlace& s : project.stow_places)
    out.stow_places.push_back({s.id.text, vec(s.at_mm), vec(s.room_mm), s.most_g});
  if (const auto& r = project.real) {
    out.real = RealMachine{r->scale,
                           {r->length_mm.value_or(0), r->width_mm.value_or(0), r->height_mm.value_or(0)},
                           r->wheel_diameter_mm.value_or(0),
                           r->track_width_mm.value_or(0),
                           r->ring_diameter_mm.value_or(0),
                           r->actuator_closed_mm.value_or(0)};
  }
  const project::Limits& limits = project.limits;
  out.limits.lifting_slope_rad = limits.lifting_slope_deg.value_or(0) * kRadPerDeg;
  if (limits.lifting_downhill_deg) {
    out.limits.lifting_downhill_rad = *limits.lifting_downhill_deg * kRadPerDeg;
    if (!limits.lifting_slope_deg) {
      d.error("brief.downhill_without_slope", limits.where, limits.path,
              "lifting_downhill_deg says which way a slope falls, but there is no lifting_slope_deg",
              "lifting_slope_deg = 3");
    }
  }
}

void build_wheels(const project::Support& from, Support& out, Diagnostics& d) {
  out.wheels_per_side = from.wheels_per_side;
  out.wheel_diameter_mm = from.wheel_diameter_mm.value_or(0);
  out.rocking = from.rocking == project::Rocking::pairs ? Support::Rocking::pairs : Support::Rocking::none;
  out.pin_height_mm = from.pin_height_mm.value_or(0);
  out.rocks_rad = from.rocks_deg * kRadPerDeg;
  for (const project::Point3& p : from.underside_mm) {
    if (!out.underside_mm.empty() && p[0] < out.underside_mm.back()[0]) {
      d.error("brief.underside_order", from.where, from.path, "underside_mm goes from the rear to the front",
              "points with rising x");
      break;
    }
    out.underside_mm.push_back({p[0], p[1]});
  }
  const bool rolls = out.type == Support::Type::tracks || out.type == Support::Type::wheels;
  const bool told =
      from.wheels_per_side || from.wheel_diameter_mm || from.pin_height_mm || from.rocking != project::Rocking::none;
  if (told && !rolls) {
    d.error("brief.not_rolling", from.where, from.path, "a machine that stands still has no wheels to tell of",
            "type = \"wheels\" or \"tracks\"");
  }
  if (out.rocking == Support::Rocking::pairs && out.wheels_per_side == 2) {
    d.warning("brief.rocking_wheels", from.where, from.path,
              "with two wheels a side rocking in pairs, the whole machine stands on one pin a side and falls over",
              "wheels_per_side = 3 or more");
  }
}

}  // namespace brief
