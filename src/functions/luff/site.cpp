#include "functions/luff/site.h"

#include <algorithm>

#include "functions/drive/route_kit.h"
#include "functions/drive/screw_drive.h"

namespace functions::luff {
namespace {

using lattice::Box3;

/// What actuators of this base mount pass over, as boxes between y low and high. `pivot` in hp on the carrier's
/// lattice.
std::vector<Box3> swept(const Problem& problem, lattice::Point3 pivot, lattice::Point2 base,
                        const std::vector<lattice::Point2>& rods, int low_hp, int high_hp) {
  std::vector<Box3> out;
  for (const drive::SweptRow& row : drive::swept({pivot.x_hp, pivot.z_hp}, base, rods, problem.wants.low_rad,
                                                 problem.wants.high_rad, drive::kActuatorWidth_p))
    out.push_back({{row.x_hp[0], low_hp, row.z_hp[0]}, {row.x_hp[1], high_hp, row.z_hp[1]}});
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
  if (function.sides == 2 && pivot.y_hp < 2 * drive::kActuatorWidth_p * actuators)
    pivot.y_hp = (site->room.low.y_hp + site->room.high.y_hp) / 2;
  const int half_hp = drive::kActuatorWidth_p * actuators;
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
                          solids,     actuators > 1 ? "actuators" : "actuator",
                          true};
    out.places.push_back(std::move(place));
  }
  site->outputs = {std::move(out)};
  return site;
}

}  // namespace functions::luff
