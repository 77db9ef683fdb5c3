#include "functions/slide/site.h"

#include <algorithm>
#include <cmath>

#include "functions/drive/route_kit.h"
#include "functions/drive/screw_drive.h"

namespace functions::slide {
namespace {

using lattice::Axis;
using lattice::Box3;
using lattice::Point3;

/// A box round a point: `low` and `high` along `along`, `half` across it both ways.
Box3 along_line(const Point3& at, Axis along, int low_hp, int high_hp, int half_hp) {
  Box3 box;
  for (const Axis a : lattice::kAxes) {
    const bool line = a == along;
    box.low.set(a, at.at(a) + (line ? low_hp : -half_hp));
    box.high.set(a, at.at(a) + (line ? high_hp : half_hp));
  }
  return box;
}

}  // namespace

std::shared_ptr<const drive::Site> site_for(const Problem& problem, const brief::Function& fn, const Mover& mover) {
  const brief::Brief& brief = *problem.brief;
  const stock::KitSystem& system = brief.system();
  const Wants& w = problem.wants;
  const double half_mm = system.pitch_mm / 2;
  auto site = std::make_shared<drive::Site>(drive::site_of(brief, fn, fn.body));
  const drive::BodyLattice lattice = drive::lattice_of(brief, fn.body);
  Point3 at = lattice.nearest({w.at_mm[0], w.at_y_mm, w.at_mm[1]},
                              mover.actuator ? "the actuator's foot" : "the pinion", site->notes);
  // A pair in the middle plane stands in the middle of its halves.
  if (fn.sides == 2 && at.y_hp < 2 * drive::kActuatorWidth_p)
    at.y_hp = (site->room.low.y_hp + site->room.high.y_hp) / 2;
  const Axis across = w.along == Axis::y ? Axis::x : Axis::y;
  const int way = w.backward ? -1 : 1;
  routing::Output out;
  if (mover.actuator) {
    const auto& part = std::get<stock::Actuator>(brief.catalogue->at(*mover.actuator).data);
    const int behind_hp = drive::kActuatorWidth_p;
    const int reach_hp = static_cast<int>(std::ceil(part.open_mm / half_mm - 1e-9)) + drive::kActuatorWidth_p;
    const std::vector<Box3> solids{along_line(at, w.along, way > 0 ? -behind_hp : -reach_hp,
                                              way > 0 ? reach_hp : behind_hp, drive::kActuatorWidth_p)};
    out.name = "actuator";
    for (const int direction : {1, -1}) {
      routing::Place place;
      place.axis = across;
      place.at = lattice::across(across, at);
      Point3 face = at;
      face.set(across, at.at(across) + direction * drive::kActuatorWidth_p);
      place.terminal = routing::Terminal{across, face, direction, drive::kInsert_hp, solids, "actuator", true};
      out.places.push_back(std::move(place));
    }
  } else {
    const auto& pinion = std::get<stock::Gear>(brief.catalogue->at(mover.pinion).data);
    const auto& rack = std::get<stock::Rack>(brief.catalogue->at(mover.rack).data);
    const int width_hp = drive::slots_of(std::max(pinion.face_width_mm, rack.face_width_mm), system);
    const int from_hp = at.at(across) - width_hp / 2;
    out.name = "pinion";
    out.places.push_back(drive::shaft_with(across, lattice::across(across, at), from_hp, from_hp + width_hp,
                                           mover.radius_mm + system.addendum * system.module_mm,
                                           brief.catalogue->at(mover.pinion).name));
    // Racks lie under the pinion (behind it when the line stands), a pitch thick, and pass it over their whole length.
    const Axis under = w.along == Axis::z ? Axis::x : Axis::z;
    const int length_hp = static_cast<int>(std::ceil(mover.racks * rack.length_mm / half_mm - 1e-9));
    // The teeth in mesh are inside the pinion's own room.
    const int top_hp =
        static_cast<int>(std::ceil((mover.radius_mm + system.addendum * system.module_mm) / half_mm - 1e-9));
    Box3 box;
    box.low.set(w.along, at.at(w.along) - length_hp);
    box.high.set(w.along, at.at(w.along) + length_hp);
    box.low.set(across, from_hp);
    box.high.set(across, from_hp + width_hp);
    box.low.set(under, at.at(under) - top_hp - 2);
    box.high.set(under, at.at(under) - top_hp);
    site->occupied.push_back(box);
    for (const Axis a : lattice::kAxes) {
      box.low.set(a, std::max(box.low.at(a), site->room.low.at(a)));
      box.high.set(a, std::min(box.high.at(a), site->room.high.at(a)));
    }
    if (box.low.x_hp < box.high.x_hp && box.low.y_hp < box.high.y_hp && box.low.z_hp < box.high.z_hp)
      site->keep_outs.push_back(box);
  }
  site->outputs = {std::move(out)};
  return site;
}

}  // namespace functions::slide
