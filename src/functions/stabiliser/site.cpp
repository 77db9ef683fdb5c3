#include "functions/stabiliser/site.h"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <numbers>
#include <utility>

#include "functions/drive/route_kit.h"
#include "functions/stabiliser/outrigger_design.h"
#include "functions/stabiliser/outrigger_rack.h"

namespace functions::stabiliser {
namespace {

using lattice::Axis;
using lattice::Box3;
using lattice::Point3;

constexpr int kBeam_hp = 2;    ///< thickness and height of a beam
constexpr int kLegRow_hp = 2;  ///< height of the boxes a leg's sweep is told in

/// The plane of the swing on the chassis' lattice: normal `axis`, outward along `out` in the sense `outward`.
struct Plane {
  Axis axis, out;
  int outward = 1;
  Plane(const Wants& w, const Leg& leg)
      : axis(w.swing == Swing::sideways ? Axis::x : Axis::y),
        out(w.swing == Swing::sideways ? Axis::y : Axis::x),
        outward(leg.outward) {}
  /// A box of the plane, between two coordinates on its normal.
  [[nodiscard]] Box3 box(const drive::SweptRow& row, int from_hp, int to_hp) const {
    Box3 b;
    b.low.set(axis, from_hp);
    b.high.set(axis, to_hp);
    b.low.set(out, outward > 0 ? row.x_hp[0] : -row.x_hp[1]);
    b.high.set(out, outward > 0 ? row.x_hp[1] : -row.x_hp[0]);
    b.low.z_hp = row.z_hp[0];
    b.high.z_hp = row.z_hp[1];
    return b;
  }
};

lattice::Point2 hip_in_plane(const Plane& plane, const Leg& leg) {
  return {plane.outward * leg.hip.at(plane.out), leg.hip.z_hp};
}

Box3 mirrored(Box3 b, Axis axis) {
  const int low = -b.high.at(axis), high = -b.low.at(axis);
  b.low.set(axis, low);
  b.high.set(axis, high);
  return b;
}

std::vector<drive::SweptRow> leg_rows(const Plane& plane, const Leg& leg) {
  return drive::swept(hip_in_plane(plane, leg), {0, 0}, {{2 * leg.length_p, 0}}, leg.deployed_rad, leg.stowed_rad,
                      kBeam_hp / 2.0, kLegRow_hp);
}

/// Site of one drive: mirror images, beams in the way, the actuator's input or the cross shaft as its output.
std::shared_ptr<const drive::Site> site_with(const Wants& w, const Leg& leg, const brief::Brief& brief,
                                             const brief::Function& function, int on_shaft, lattice::Point2 base,
                                             const std::vector<Box3>& beams,
                                             const std::vector<drive::SweptRow>& actuator_rows) {
  const Plane plane(w, leg);
  brief::Function whole = function;
  whole.sides = 1;  // the images are made here
  auto site = std::make_shared<drive::Site>(drive::site_of(brief, whole, function.body));
  const bool joined = on_shaft == 2;
  // Mirrored across the plane normal to `axis` unless the cross shaft already spans it.
  const auto mirror = [&](Axis axis, int side) {
    if (side > 0) site->room.low.set(axis, std::max(site->room.low.at(axis), 0));
    if (side < 0) site->room.high.set(axis, std::min(site->room.high.at(axis), 0));
  };
  std::vector<drive::Image> images{{}};
  if (!(joined && plane.axis == Axis::y)) {
    mirror(Axis::y, 1);
    images.push_back({std::nullopt, 0, 0});
  }
  if (w.legs == 4 && !(joined && plane.axis == Axis::x)) {
    mirror(Axis::x, 1);
    for (std::size_t i = 0, n = images.size(); i < n; ++i) {
      drive::Image image = images[i];
      image.about_x_hp = 0;
      images.push_back(image);
    }
  }
  site->images.assign(images.begin() + 1, images.end());

  const int at = leg.hip.at(plane.axis);
  const lattice::Point2 hip = hip_in_plane(plane, leg);
  std::vector<Box3> solids;
  for (const drive::SweptRow& row : actuator_rows)
    solids.push_back(plane.box(row, at - drive::kActuatorWidth_p, at + drive::kActuatorWidth_p));
  // Rows of boxes are wider than what they stand for: where those of beam and actuator meet, the actuator's count.
  for (const Box3& b : beams) {
    const bool meets = std::any_of(solids.begin(), solids.end(), [&](const Box3& a) { return a.overlaps(b); });
    if (meets) {
      for (const Box3& part : drive::outside(b, solids)) site->occupied.push_back(part);
    } else {
      site->occupied.push_back(b);
    }
  }
  if (joined) {
    for (std::size_t i = 0, n = site->occupied.size(); i < n; ++i)
      site->occupied.push_back(mirrored(site->occupied[i], plane.axis));
  }
  site->keep_outs = site->occupied;
  Point3 mount;
  mount.set(plane.axis, at);
  mount.set(plane.out, plane.outward * (hip.x_hp + base.x_hp));
  mount.z_hp = hip.z_hp + base.z_hp;
  const auto terminal = [&](int direction) {
    Point3 face = mount;
    face.set(plane.axis, at + direction * drive::kActuatorWidth_p);
    return routing::Terminal{plane.axis, face, direction, drive::kInsert_hp, solids, "actuator", true};
  };
  routing::Output out;
  out.name = joined ? "cross shaft" : "actuator";
  routing::Place place;
  place.axis = plane.axis;
  place.at = lattice::across(plane.axis, mount);
  if (joined) {
    const int inward = at > 0 ? -1 : 1;
    place.terminal = terminal(inward);
    routing::Terminal far = *place.terminal;
    far.name = "far actuator";
    far.direction = -inward;
    far.face.set(plane.axis, -far.face.at(plane.axis));
    for (Box3& b : far.solids) b = mirrored(b, plane.axis);
    place.far_terminal = std::move(far);
    out.places.push_back(std::move(place));
  } else {
    for (const int direction : {1, -1}) {
      place.terminal = terminal(direction);
      out.places.push_back(place);
    }
  }
  site->outputs = {std::move(out)};
  return site;
}

}  // namespace

bool can_join(const Wants& w) {
  return w.swing == Swing::lengthways || w.legs == 4;
}

bool faces_its_image(const Wants& w) {
  return w.swing == Swing::sideways || w.legs == 4;
}

int cross_shaft_p(const Wants& w, const Leg& leg) {
  return std::abs(leg.hip.at(Plane(w, leg).axis));
}

std::vector<Box3> leg_boxes(const Wants& w, const Leg& leg) {
  const Plane plane(w, leg);
  const int at = leg.hip.at(plane.axis), side = at < 0 ? -1 : 1;
  std::vector<Box3> out;
  for (const drive::SweptRow& row : leg_rows(plane, leg)) {
    const auto beam = [&](int way) {
      const int near = at + way * drive::kActuatorWidth_p, far = near + way * kBeam_hp;
      out.push_back(plane.box(row, std::min(near, far), std::max(near, far)));
    };
    beam(side);
    if (w.leg_beams == 2) beam(-side);
  }
  return out;
}

bool shaft_struck(const Wants& w, const Leg& leg, lattice::Point2 base) {
  const Plane plane(w, leg);
  const lattice::Point2 at = hip_in_plane(plane, leg) + base;
  for (const drive::SweptRow& row : leg_rows(plane, leg)) {
    if (row.x_hp[0] < at.x_hp + 1 && at.x_hp - 1 < row.x_hp[1] && row.z_hp[0] < at.z_hp + 1 &&
        at.z_hp - 1 < row.z_hp[1])
      return true;
  }
  return false;
}

std::shared_ptr<const drive::Site> site_for(const Problem& problem, const brief::Function& function, int on_shaft,
                                            lattice::Point2 base, const std::vector<lattice::Point2>& rods) {
  const Leg& leg = problem.leg;
  const lattice::Point2 hip = hip_in_plane(Plane(problem.wants, leg), leg);
  return site_with(problem.wants, leg, *problem.brief, function, on_shaft, base, leg_boxes(problem.wants, leg),
                   drive::swept(hip, base, rods, leg.deployed_rad, leg.stowed_rad, drive::kActuatorWidth_p));
}

namespace {

/// A strip along a sliding beam between two places on it, the nearer one on the lattice as well as it goes.
std::vector<drive::SweptRow> strip(const SlideProblem& problem, double from_mm, double to_mm, double across_mm,
                                   double half_hp) {
  const Outrigger& o = problem.beam;
  const double half_mm = problem.brief->system().pitch_mm / 2;
  const double cosine = std::cos(o.slope_rad), sine = std::sin(o.slope_rad);
  const lattice::Point2 from{static_cast<int>(std::lround((from_mm * cosine + across_mm * sine) / half_mm)),
                             static_cast<int>(std::lround((across_mm * cosine - from_mm * sine) / half_mm))};
  const lattice::Point2 to{static_cast<int>(std::ceil(to_mm / half_mm)),
                           static_cast<int>(std::lround(across_mm / half_mm))};
  return drive::swept(hip_in_plane(Plane(problem.wants, o.leg), o.leg), from, {to}, -o.slope_rad, -o.slope_rad, half_hp,
                      kLegRow_hp);
}

/// What a sliding beam passes over, and its sleeve.
std::vector<Box3> slide_boxes(const SlideProblem& problem) {
  const Wants& w = problem.wants;
  const Outrigger& o = problem.beam;
  const Plane plane(w, o.leg);
  const double pitch_mm = problem.brief->system().pitch_mm, half_mm = pitch_mm / 2;
  const int at = o.leg.hip.at(plane.axis);
  std::vector<Box3> beams;
  const auto add = [&](const std::vector<drive::SweptRow>& rows) {
    for (const drive::SweptRow& row : rows)
      beams.push_back(plane.box(row, at - w.leg_beams * kBeam_hp / 2, at + w.leg_beams * kBeam_hp / 2));
  };
  add(strip(problem, kRunIn_p * pitch_mm - o.leg.length_mm - half_mm, o.reach_mm + half_mm, 0, kBeam_hp / 2.0));
  // The sleeve's beams, above and below.
  add(strip(problem, -o.guide_mm - half_mm, half_mm, pitch_mm, kBeam_hp / 2.0));
  add(strip(problem, -o.guide_mm - half_mm, half_mm, -pitch_mm, kBeam_hp / 2.0));
  return beams;
}

}  // namespace

std::shared_ptr<const drive::Site> site_for(const SlideProblem& problem, const brief::Function& function, int on_shaft,
                                            const Seat& seat) {
  const Outrigger& o = problem.beam;
  const double rod_mm = (kRunIn_p - 1) * problem.brief->system().pitch_mm + o.travel_mm;
  return site_with(
      problem.wants, o.leg, *problem.brief, function, on_shaft, seat.base, slide_boxes(problem),
      strip(problem, rod_mm - o.travel_mm - seat.closed_mm, rod_mm, seat.offset_mm, drive::kActuatorWidth_p));
}

std::shared_ptr<const drive::Site> site_by_hand(const SlideProblem& problem, const brief::Function& function) {
  return site_with(problem.wants, problem.beam.leg, *problem.brief, function, 1, {0, 0}, slide_boxes(problem), {});
}

std::shared_ptr<const drive::Site> site_by_rack(const SlideProblem& problem, const drive::RackPinion& mover,
                                                const brief::Function& function) {
  const brief::Brief& brief = *problem.brief;
  const stock::KitSystem& system = brief.system();
  const Wants& w = problem.wants;
  const Outrigger& o = problem.beam;
  const Plane plane(w, o.leg);
  const double half_mm = system.pitch_mm / 2, pitch_mm = system.pitch_mm;
  const auto half_pitches = [&](double mm) { return static_cast<int>(std::lround(mm / half_mm)); };
  brief::Function whole = function;
  whole.sides = 1;  // the image is made here
  auto site = std::make_shared<drive::Site>(drive::site_of(brief, whole, function.body));
  if (w.legs == 4) {
    site->room.low.set(plane.axis, std::max(site->room.low.at(plane.axis), 0));
    drive::Image image;
    (plane.axis == Axis::x ? image.about_x_hp : image.about_y_hp) = 0;
    site->images.push_back(image);
  }
  const auto& pinion = std::get<stock::Gear>(brief.catalogue->at(mover.pinion).data);
  const auto& rack = std::get<stock::Rack>(brief.catalogue->at(mover.rack).data);
  const int at = w.legs == 4 ? std::abs(o.leg.hip.at(plane.axis)) : o.leg.hip.at(plane.axis);
  const int up = o.leg.hip.z_hp, beside = half_pitches(o.leg.stagger_mm);
  const double tip_mm = mover.radius_mm + system.addendum * system.module_mm;
  const int tip = static_cast<int>(std::ceil(tip_mm / half_mm - 1e-9));
  const int width = drive::slots_of(std::max(pinion.face_width_mm, rack.face_width_mm), system);
  const double mesh_mm = kMeshBeyond * std::numbers::pi * system.module_mm;
  // From the pair's plane outward on that beam's side, along it outward, up.
  const auto add = [&](int side, double from_mm, double to_mm, int near, int far, int low, int high) {
    if (near >= far) return;
    const int aside = side * (plane.out == Axis::y ? 1 : -1);
    const int from = static_cast<int>(std::floor(from_mm / half_mm + 1e-9)),
              to = static_cast<int>(std::ceil(to_mm / half_mm - 1e-9));
    Box3 box;
    box.low.set(plane.axis, at + (aside > 0 ? near : -far));
    box.high.set(plane.axis, at + (aside > 0 ? far : -near));
    box.low.set(plane.out, side > 0 ? from : -to);
    box.high.set(plane.out, side > 0 ? to : -from);
    box.low.z_hp = up + low;
    box.high.z_hp = up + high;
    site->occupied.push_back(box);
  };
  const double mouth = o.leg.hip_out_mm, foot = o.leg.foot_out_mm, racks_mm = mover.racks * rack.length_mm;
  for (const int side : {1, -1}) {
    add(side, foot - o.travel_mm - o.leg.length_mm - half_mm, foot + half_mm, beside - 1, beside + 1, -1, 1);
    // The teeth in mesh are inside the pinion's own room.
    add(side, mesh_mm - racks_mm, racks_mm - mesh_mm, tip, beside - 1, -(width / 2), width - width / 2);
    // The sleeve: above, below, on the side that the pinion pushes to, and a post on the other one at its mouth.
    const double inner = mouth - o.guide_mm;
    add(side, inner - half_mm, mouth + half_mm, beside - 1, beside + 1, 1, 1 + kBeam_hp);
    add(side, inner - half_mm, mouth + half_mm, beside - 1, beside + 1, -1 - kBeam_hp, -1);
    add(side, inner - half_mm, mouth + half_mm, beside + 1, beside + 1 + kBeam_hp, -1, 1);
    add(side, mouth - pitch_mm + half_mm, mouth + half_mm, beside - 1 - kBeam_hp, beside - 1, -1, 1);
  }
  for (Box3 box : site->occupied) {
    for (const Axis a : lattice::kAxes) {
      box.low.set(a, std::max(box.low.at(a), site->room.low.at(a)));
      box.high.set(a, std::min(box.high.at(a), site->room.high.at(a)));
    }
    if (box.low.x_hp < box.high.x_hp && box.low.y_hp < box.high.y_hp && box.low.z_hp < box.high.z_hp)
      site->keep_outs.push_back(box);
  }
  Point3 axle;
  axle.set(plane.axis, at);
  axle.set(plane.out, 0);
  axle.z_hp = up;
  routing::Output out;
  out.name = "pinion";
  out.places.push_back(drive::shaft_with(Axis::z, lattice::across(Axis::z, axle), up - width / 2,
                                         up - width / 2 + width, tip_mm, brief.catalogue->at(mover.pinion).name));
  site->outputs = {std::move(out)};
  return site;
}

}  // namespace functions::stabiliser
