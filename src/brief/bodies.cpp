#include "brief/bodies.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <string>
#include <utility>

#include "base/text.h"
#include "brief/mass_estimate.h"
#include "brief/site.h"

namespace brief {
namespace {

using document::Diagnostics;
using document::quoted;

constexpr std::string_view kChassis = "chassis";
constexpr double kRadPerDeg = std::numbers::pi / 180;

Vec3 vec(const project::Point3& p) {
  return {p[0], p[1], p[2]};
}

bool has_size(const Vec3& size) {
  return size.x_mm > 0 && size.y_mm > 0 && size.z_mm > 0;
}

/// Parent of each body as an index into Project::bodies; what is no body of the project is one of these.
constexpr int kNoParent = -1;     // the chassis itself
constexpr int kMadeChassis = -2;  // a chassis that the project names or needs but does not describe
constexpr int kUnknown = -3;      // reported

struct Tree {
  std::vector<int> parent;
  std::optional<std::size_t> chassis;  ///< index into Project::bodies; empty = one has to be made
};

Tree find_parents(const std::vector<project::Body>& bodies, Diagnostics& d) {
  Tree tree;
  std::map<std::string, std::size_t> index;
  std::vector<std::string> ids;
  std::vector<bool> repeated;
  for (std::size_t i = 0; i < bodies.size(); ++i) {
    repeated.push_back(!bodies[i].id.empty() && !index.emplace(bodies[i].id.text, i).second);
    ids.push_back(bodies[i].id.text);
  }
  for (std::size_t i = 0; i < bodies.size(); ++i) {
    const project::Body& b = bodies[i];
    if (repeated[i]) {
      tree.parent.push_back(kUnknown);
    } else if (b.parent.empty()) {
      tree.parent.push_back(kNoParent);
    } else if (const auto it = index.find(b.parent.text); it != index.end()) {
      tree.parent.push_back(static_cast<int>(it->second));
    } else if (b.parent.text == kChassis) {
      tree.parent.push_back(kMadeChassis);
    } else {
      const auto near = base::nearest_name(b.parent.text, ids);
      d.error(
          "brief.unknown_body", b.parent.where, b.parent.path,
          fmt::format("the parent of {} is {}, and there is no such body", quoted(b.id.text), quoted(b.parent.text)),
          near ? quoted(*near) : quoted(kChassis));
      tree.parent.push_back(kUnknown);
    }
  }
  return tree;
}

/// Each cycle once, at the parent key of its first body in file order.
void report_cycles(const std::vector<project::Body>& bodies, const Tree& tree, Diagnostics& d) {
  std::vector<int> seen(bodies.size(), -1);  // the walk that came by
  for (std::size_t start = 0; start < bodies.size(); ++start) {
    int at = static_cast<int>(start);
    while (at >= 0 && seen[static_cast<std::size_t>(at)] < 0) {
      seen[static_cast<std::size_t>(at)] = static_cast<int>(start);
      at = tree.parent[static_cast<std::size_t>(at)];
    }
    if (at < 0 || seen[static_cast<std::size_t>(at)] != static_cast<int>(start)) continue;
    std::vector<int> ring;
    for (int i = at; ring.empty() || i != at; i = tree.parent[static_cast<std::size_t>(i)]) ring.push_back(i);
    std::rotate(ring.begin(), std::min_element(ring.begin(), ring.end()), ring.end());
    std::string text;
    constexpr std::size_t kShown = 8;
    for (std::size_t k = 0; k < std::min(ring.size(), kShown); ++k) {
      text += quoted(bodies[static_cast<std::size_t>(ring[k])].id.text) + " on ";
    }
    if (ring.size() > kShown) text += fmt::format("{} more on ", ring.size() - kShown);
    const project::Body& first = bodies[static_cast<std::size_t>(ring[0])];
    d.error("brief.body_cycle", first.parent.where, first.parent.path,
            fmt::format("bodies carry each other in a circle: {}{}", text, quoted(first.id.text)),
            "one of them must stand on another body");
  }
}

void choose_chassis(const std::vector<project::Body>& bodies, Tree& tree, Diagnostics& d) {
  std::vector<std::size_t> roots;
  bool named = false;
  for (std::size_t i = 0; i < bodies.size(); ++i) {
    if (tree.parent[i] == kNoParent) roots.push_back(i);
    named = named || tree.parent[i] == kMadeChassis;
  }
  if (named || roots.empty()) {
    // A chassis that is only mentioned: what stands on nothing stands on it.
    for (const std::size_t i : roots) tree.parent[i] = kMadeChassis;
    return;
  }
  tree.chassis = roots[0];
  for (const std::size_t i : roots) {
    if (bodies[i].id.text == kChassis) tree.chassis = i;
  }
  const project::Body& chassis = bodies[*tree.chassis];
  for (const std::size_t i : roots) {
    if (i == *tree.chassis) continue;
    d.error("brief.several_chassis", bodies[i].where, bodies[i].path,
            fmt::format("{} and {} both have no parent; only the chassis stands on the ground", quoted(chassis.id.text),
                        quoted(bodies[i].id.text)),
            fmt::format("parent = {}", quoted(chassis.id.text)));
  }
}

Joint build_joint(const project::Body& body, Diagnostics& d) {
  const project::Joint& from = body.joint;
  Joint joint;
  if (from.pivot_mm) joint.pivot_mm = vec(*from.pivot_mm);
  if (from.type == project::JointType::fixed) {
    if (from.range_deg && ((*from.range_deg)[0] != 0 || (*from.range_deg)[1] != 0)) {
      d.error("brief.fixed_range", from.where, from.path,
              fmt::format("{} has a fixed joint, which has no range", quoted(body.id.text)),
              "type = \"slew\" or \"pitch\", or no range_deg");
    }
    return joint;
  }
  const bool slew = from.type == project::JointType::slew;
  joint.type = slew ? Joint::Type::slew : Joint::Type::pitch;
  if (!from.pivot_mm) {
    d.error("brief.joint_without_pivot", from.where, from.path,
            fmt::format("the joint of {} turns about an axis, so it needs pivot_mm", quoted(body.id.text)),
            "pivot_mm = [x, y, z], a point of the axis in the zero pose");
  }
  constexpr double kAssumedPitchDeg = 60;  // common practice for a boom, no source; said in the warning
  std::array<double, 2> range_deg =
      slew ? std::array<double, 2>{-180, 180} : std::array<double, 2>{0, kAssumedPitchDeg};
  if (from.range_deg) {
    range_deg = *from.range_deg;
  } else if (!slew) {
    d.warning(
        "brief.range_assumed", from.where, from.path,
        fmt::format("the joint of {} has no range_deg; taken as [0, {:.0f}]", quoted(body.id.text), kAssumedPitchDeg));
  }
  joint.low_rad = range_deg[0] * kRadPerDeg;
  joint.high_rad = range_deg[1] * kRadPerDeg;
  return joint;
}

Vec3 middle_of(const Support& support) {
  Vec3 sum;
  for (const Vec3& p : support.points_mm) {
    sum.x_mm += p.x_mm;
    sum.y_mm += p.y_mm;
  }
  const double n = std::max<double>(1, static_cast<double>(support.points_mm.size()));
  return {sum.x_mm / n, sum.y_mm / n, 0};
}

/// Where the middle of a body probably is: above its slew axis, in front of its pitch axis, over the support, or where
/// its parent's is.
Vec3 assumed_centre(const Body& body, const Body* parent, const Support& support) {
  const Vec3& pivot = body.joint.pivot_mm;
  switch (body.joint.type) {
    case Joint::Type::slew:
      return {pivot.x_mm, pivot.y_mm, pivot.z_mm + body.size_mm.z_mm / 2};
    case Joint::Type::pitch:
      return {pivot.x_mm + body.size_mm.x_mm / 2, pivot.y_mm, pivot.z_mm};
    case Joint::Type::fixed:
      break;
  }
  if (parent != nullptr) return parent->centre_mm;
  const Vec3 middle = middle_of(support);
  return {middle.x_mm, middle.y_mm, body.size_mm.z_mm / 2};
}

Body build_body(const project::Body& from, const Body* parent, int parent_index, const Support& support,
                const base::Triple& density, Diagnostics& d) {
  Body body;
  body.id = from.id.text;
  body.parent = parent_index;
  body.joint = build_joint(from, d);
  if (from.size_mm) body.size_mm = vec(*from.size_mm);
  body.mass_is_estimate = !from.mass_g;
  if (from.mass_g) {
    body.mass_g = *from.mass_g;
  } else if (has_size(body.size_mm)) {
    body.mass_g = estimate_body_mass_g(body.size_mm, density);
  } else {
    d.warning("brief.mass_unknown", from.where, from.path,
              fmt::format("{} has neither mass_g nor size_mm; only what functions and reserves put on it counts",
                          quoted(body.id)),
              "size_mm = [length, width, height]; its mass is then estimated");
  }
  if (from.centre_mm) {
    body.centre_mm = vec(*from.centre_mm);
  } else {
    body.centre_mm = assumed_centre(body, parent, support);
    d.warning(
        "brief.centre_assumed", from.where, from.path,
        fmt::format("{} has no centre_mm; taken as [{}, {}, {}]", quoted(body.id), base::plain(body.centre_mm.x_mm),
                    base::plain(body.centre_mm.y_mm), base::plain(body.centre_mm.z_mm)));
  }
  return body;
}

/// A block over the support, half as high as it is wide: an invented default, said in the warning.
Body made_chassis(const project::Project& project, const Support& support, const base::Triple& density,
                  Diagnostics& d) {
  Body body;
  body.id = kChassis;
  body.mass_is_estimate = true;
  if (!support.points_mm.empty()) {
    Vec3 low = support.points_mm[0], high = support.points_mm[0];
    for (const Vec3& p : support.points_mm) {
      low = {std::min(low.x_mm, p.x_mm), std::min(low.y_mm, p.y_mm), 0};
      high = {std::max(high.x_mm, p.x_mm), std::max(high.y_mm, p.y_mm), 0};
    }
    const double length = high.x_mm - low.x_mm, width = high.y_mm - low.y_mm;
    body.size_mm = {length, width, std::min(length, width) / 2};
    body.centre_mm = {(low.x_mm + high.x_mm) / 2, (low.y_mm + high.y_mm) / 2, body.size_mm.z_mm / 2};
    body.mass_g = estimate_body_mass_g(body.size_mm, density);
  }
  d.warning("brief.chassis_assumed", {project.file, 0, 0}, "/bodies",
            fmt::format("no body \"chassis\" is described; taken as {} x {} x {} mm, about {} g",
                        base::plain(body.size_mm.x_mm), base::plain(body.size_mm.y_mm), base::plain(body.size_mm.z_mm),
                        base::plain(body.mass_g.nominal)),
            "[[bodies]] id = \"chassis\" with size_mm or mass_g");
  return body;
}

bool on_one_line(const std::vector<Vec3>& points) {
  constexpr double kSmallestAreaMm2 = 1e-6;  // twice the area of a triangle on the base line; rounding stays far below
  const Vec3& a = points[0];
  const auto distance = [&](const Vec3& p) { return std::hypot(p.x_mm - a.x_mm, p.y_mm - a.y_mm); };
  const Vec3& b = *std::max_element(points.begin(), points.end(),
                                    [&](const Vec3& p, const Vec3& q) { return distance(p) < distance(q); });
  return std::all_of(points.begin(), points.end(), [&](const Vec3& p) {
    const double cross = (b.x_mm - a.x_mm) * (p.y_mm - a.y_mm) - (b.y_mm - a.y_mm) * (p.x_mm - a.x_mm);
    return std::fabs(cross) <= kSmallestAreaMm2;
  });
}

std::vector<Vec3> rectangle(double length_mm, double width_mm, double x_mm, double y_mm) {
  const double a = length_mm / 2, b = width_mm / 2;
  return {{x_mm - a, y_mm - b, 0}, {x_mm + a, y_mm - b, 0}, {x_mm + a, y_mm + b, 0}, {x_mm - a, y_mm + b, 0}};
}

/// The footprint of the chassis, when the project says its size.
std::vector<Vec3> chassis_footprint(const project::Project& project) {
  const project::Body* chassis = nullptr;
  for (const project::Body& b : project.bodies) {
    if (b.id.text == kChassis || (chassis == nullptr && b.parent.empty())) chassis = &b;
  }
  if (chassis == nullptr || !chassis->size_mm) return {};
  const project::Point3 centre = chassis->centre_mm.value_or(project::Point3{});
  return rectangle((*chassis->size_mm)[0], (*chassis->size_mm)[1], centre[0], centre[1]);
}

}  // namespace

Support build_support(const project::Project& project, Diagnostics& d) {
  Support out;
  if (!project.support) {
    out.points_mm = chassis_footprint(project);
    if (out.points_mm.empty()) {
      d.error("brief.support_missing", {project.file, 0, 0}, "/support",
              "nothing says how the machine stands on the ground",
              "[support] type = \"tracks\", length_mm and width_mm");
    } else {
      d.warning("brief.support_assumed", {project.file, 0, 0}, "/support",
                "there is no [support]; the machine is taken to stand on the outline of its chassis",
                "[support] type = \"tracks\", length_mm and width_mm");
    }
    return out;
  }
  const project::Support& s = *project.support;
  switch (s.type) {
    case project::SupportType::tracks:
      out.type = Support::Type::tracks;
      break;
    case project::SupportType::wheels:
      out.type = Support::Type::wheels;
      break;
    case project::SupportType::feet:
      out.type = Support::Type::feet;
      break;
    case project::SupportType::fixed_base:
      out.type = Support::Type::fixed_base;
      break;
  }
  build_wheels(s, out, d);
  if (!s.points_mm.empty()) {
    for (const project::Point3& p : s.points_mm) out.points_mm.push_back(vec(p));
    if (out.points_mm.size() < 3) {
      d.error("brief.support_points", s.where, s.path,
              fmt::format("a machine stands on at least 3 points, found {}", out.points_mm.size()));
    } else if (on_one_line(out.points_mm)) {
      d.error("brief.support_flat", s.where, s.path,
              "all points of support lie on one line, so nothing stands on them");
    }
    return out;
  }
  if (!s.length_mm || !s.width_mm) {
    d.error("brief.support_size", s.where, s.path, "support needs length_mm and width_mm, or points_mm",
            "length_mm and width_mm between the outermost ground contacts");
    return out;
  }
  out.points_mm = rectangle(*s.length_mm, *s.width_mm, s.center_mm[0], s.center_mm[1]);
  return out;
}

std::vector<Body> build_bodies(const project::Project& project, const Support& support,
                               const base::Triple& fill_density_g_cm3, Diagnostics& d) {
  const std::vector<project::Body>& from = project.bodies;
  Tree tree = find_parents(from, d);
  report_cycles(from, tree, d);
  choose_chassis(from, tree, d);

  std::vector<Body> out;
  std::vector<int> place(from.size(), -1);  // index in `out`
  if (tree.chassis) {
    const project::Body& c = from[*tree.chassis];
    if (c.joint.type != project::JointType::fixed) {
      d.error("brief.chassis_joint", c.joint.where, c.joint.path,
              fmt::format("{} stands on the ground and cannot have a joint", quoted(c.id.text)),
              "give the moving body a parent");
    }
    place[*tree.chassis] = 0;
    out.push_back(build_body(c, nullptr, -1, support, fill_density_g_cm3, d));
  } else {
    out.push_back(made_chassis(project, support, fill_density_g_cm3, d));
  }
  // A body is placed once its parent is; passes over the file keep its order.
  for (bool placed = true; placed;) {
    placed = false;
    for (std::size_t i = 0; i < from.size(); ++i) {
      if (place[i] >= 0) continue;
      int parent = tree.parent[i] == kMadeChassis ? 0 : -1;
      if (tree.parent[i] >= 0) parent = place[static_cast<std::size_t>(tree.parent[i])];
      if (parent < 0) continue;
      place[i] = static_cast<int>(out.size());
      const Body parent_body = out[static_cast<std::size_t>(parent)];
      out.push_back(build_body(from[i], &parent_body, parent, support, fill_density_g_cm3, d));
      placed = true;
    }
  }
  // What hangs on a circle or on an unknown parent, or repeats an id, is left: that is reported, and with it here
  // nobody reports its name as unknown a second time.
  for (std::size_t i = 0; i < from.size(); ++i) {
    if (place[i] < 0) out.push_back(build_body(from[i], nullptr, 0, support, fill_density_g_cm3, d));
  }
  return out;
}

}  // namespace brief
