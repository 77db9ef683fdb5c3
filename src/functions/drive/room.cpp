#include "functions/drive/room.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "brief/body_tree.h"

namespace functions::drive {
namespace {

constexpr double kHair = 1e-6;
constexpr int kGuessedRoom_hp = 16;  ///< either way, of a body whose size nobody said (invented)
}  // namespace

lattice::Point3 BodyLattice::nearest(const brief::Vec3& at_mm, const std::string& what,
                                     std::vector<std::string>& notes) const {
  lattice::Point3 out;
  double off2_mm2 = 0;
  for (const lattice::Axis a : lattice::kAxes) {
    const double steps = (at_mm.along(a) - origin_mm.along(a)) / half_pitch_mm;
    const double whole = std::round(steps);
    out.set(a, static_cast<int>(whole));
    off2_mm2 += (steps - whole) * (steps - whole) * half_pitch_mm * half_pitch_mm;
  }
  const double off_mm = std::sqrt(off2_mm2);
  if (off_mm > kOffLattice_mm)
    notes.push_back(fmt::format("{} is off the holes by {} mm and taken at {} p", what, base::plain(off_mm, 2),
                                lattice::pitches_text(out)));
  return out;
}

BodyLattice lattice_of(const brief::Brief& brief, int body) {
  const int at = brief::lattice_body(brief.bodies, body);
  return {at, brief::lattice_origin_mm(brief.bodies, at), brief.system().pitch_mm / 2};
}

Room room_of(const brief::Brief& brief, const brief::Function& function, int body) {
  if (function.room) return {*function.room, false, {}};
  const brief::Body& b = brief.bodies.at(static_cast<std::size_t>(std::max(body, 0)));
  const BodyLattice lattice = lattice_of(brief, body);
  Room out{{}, true, {}};
  if (!(b.size_mm.x_mm > 0 && b.size_mm.y_mm > 0 && b.size_mm.z_mm > 0)) {
    for (const lattice::Axis a : lattice::kAxes) {
      out.box.low.set(a, -kGuessedRoom_hp);
      out.box.high.set(a, kGuessedRoom_hp);
    }
    out.note = fmt::format("room not given and \"{}\" has no size: taken {} p", b.id, lattice::pitches_text(out.box));
    return out;
  }
  for (const lattice::Axis a : lattice::kAxes) {
    const double low = (b.centre_mm.along(a) - b.size_mm.along(a) / 2 - lattice.origin_mm.along(a));
    const double high = (b.centre_mm.along(a) + b.size_mm.along(a) / 2 - lattice.origin_mm.along(a));
    out.box.low.set(a, static_cast<int>(std::ceil(low / lattice.half_pitch_mm - kHair)) - brief::kAround_hp);
    out.box.high.set(a, static_cast<int>(std::floor(high / lattice.half_pitch_mm + kHair)) + brief::kAround_hp);
  }
  // Half of the clearance under the machine stays clear.
  const double ground_hp = -lattice.origin_mm.z_mm / lattice.half_pitch_mm;
  const double under_hp =
      ((b.centre_mm.z_mm - b.size_mm.z_mm / 2) / 2 - lattice.origin_mm.z_mm) / lattice.half_pitch_mm;
  if (under_hp >= ground_hp)
    out.box.low.z_hp = std::max(out.box.low.z_hp, static_cast<int>(std::ceil(under_hp - kHair)));
  out.note = fmt::format("room not given: the envelope of \"{}\" and {} p round it, {} p", b.id, brief::kAround_hp / 2,
                         lattice::pitches_text(out.box));
  return out;
}

}  // namespace functions::drive
