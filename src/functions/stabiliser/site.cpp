#include "functions/stabiliser/site.h"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <utility>

#include "functions/drive/route_kit.h"
#include "functions/stabiliser/outrigger_design.h"

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

}  // namespace functions::stabiliser
