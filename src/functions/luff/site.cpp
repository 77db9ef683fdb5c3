#include "functions/luff/site.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "functions/drive/route_kit.h"

namespace functions::luff {
namespace {

using lattice::Box3;

constexpr int kSweepAngles = 25;
constexpr int kRow_hp = 4;  ///< height of the boxes that the swept area is told in

/// What a strip of half the actuator's width round the line base - rod passes over, as boxes between y low and high.
/// `pivot` in hp on the carrier's lattice.
std::vector<Box3> swept(const Problem& problem, lattice::Point3 pivot, lattice::Point2 base,
                        const std::vector<lattice::Point2>& rods, int low_hp, int high_hp) {
  const double half_width_hp = kActuatorWidth_p;
  const Wants& w = problem.wants;
  std::map<int, std::pair<int, int>> rows;  // by row: least and greatest x
  const auto mark = [&](double x, double z) {
    const int first = static_cast<int>(std::floor((z - half_width_hp) / kRow_hp + 1e-9));
    const int last = static_cast<int>(std::ceil((z + half_width_hp) / kRow_hp - 1e-9)) - 1;
    for (int r = first; r <= last; ++r) {
      const int from = static_cast<int>(std::floor(x - half_width_hp + 1e-9));
      const int to = static_cast<int>(std::ceil(x + half_width_hp - 1e-9));
      const auto [it, fresh] = rows.try_emplace(r, from, to);
      if (!fresh) it->second = {std::min(it->second.first, from), std::max(it->second.second, to)};
    }
  };
  for (const lattice::Point2 rod : rods) {
    for (int i = 0; i < kSweepAngles; ++i) {
      const double a = w.low_rad + (w.high_rad - w.low_rad) * i / (kSweepAngles - 1);
      const double rx = rod.x_hp * std::cos(a) - rod.z_hp * std::sin(a);
      const double rz = rod.x_hp * std::sin(a) + rod.z_hp * std::cos(a);
      const double length = std::hypot(rx - base.x_hp, rz - base.z_hp);
      const int steps = std::max(1, static_cast<int>(std::ceil(length)));
      for (int k = 0; k <= steps; ++k) {
        const double t = static_cast<double>(k) / steps;
        mark(pivot.x_hp + base.x_hp + t * (rx - base.x_hp), pivot.z_hp + base.z_hp + t * (rz - base.z_hp));
      }
    }
  }
  std::vector<Box3> out;
  for (const auto& [row, x] : rows)
    out.push_back({{x.first, low_hp, row * kRow_hp}, {x.second, high_hp, (row + 1) * kRow_hp}});
  return out;
}

}  // namespace

std::shared_ptr<const drive::Site> site_for(const Problem& problem, const brief::Function& function, int actuators,
                                            lattice::Point2 base, const std::vector<lattice::Point2>& rods) {
  const brief::Brief& brief = *problem.brief;
  const int carrier = function.body >= 0 ? function.body : problem.wants.parent;
  auto site = std::make_shared<drive::Site>(drive::site_of(brief, function, carrier));
  const drive::BodyLattice lattice = drive::lattice_of(brief, carrier);
  const brief::Body& moved = brief.bodies[static_cast<std::size_t>(problem.wants.body)];
  lattice::Point3 pivot = lattice.nearest(moved.joint.pivot_mm, "the pivot of " + moved.id, site->notes);
  // A pair stands where its body does, or, where that is in the middle plane, in the middle of its halves.
  if (function.sides == 2 && pivot.y_hp < 2 * kActuatorWidth_p * actuators)
    pivot.y_hp = (site->room.low.y_hp + site->room.high.y_hp) / 2;
  const int half_hp = kActuatorWidth_p * actuators;
  const std::vector<Box3> solids = swept(problem, pivot, base, rods, pivot.y_hp - half_hp, pivot.y_hp + half_hp);
  routing::Output out;
  out.name = "actuator";
  for (const int direction : {1, -1}) {
    routing::Place place;
    place.axis = lattice::Axis::y;
    place.at = {pivot.x_hp + base.x_hp, pivot.z_hp + base.z_hp};
    place.terminal =
        routing::Terminal{place.axis, lattice::point(place.axis, place.at, pivot.y_hp + direction * half_hp),
                          direction,  drive::kInsert_hp,
                          solids,     actuators > 1 ? "actuators" : "actuator"};
    out.places.push_back(std::move(place));
  }
  site->outputs = {std::move(out)};
  return site;
}

}  // namespace functions::luff
