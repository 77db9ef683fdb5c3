#include "functions/steer/site.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include "functions/drive/route_kit.h"

namespace functions::steer {
namespace {

using lattice::Box3;

constexpr int kBeam_hp = 2;  ///< a beam's width and thickness
constexpr int kRow_hp = 4;   ///< rows along the machine that the swept area is told in; routing asks each box often

/// What beams along moving lines pass over, in rows.
class Swept {
 public:
  explicit Swept(double half_pitch_mm) : half_mm_(half_pitch_mm) {}
  void line(linkage::Vec2 a, linkage::Vec2 b) {
    const double length_hp = std::hypot(b.x_mm - a.x_mm, b.z_mm - a.z_mm) / half_mm_;
    const int steps = std::max(1, static_cast<int>(std::ceil(2 * length_hp)));
    for (int k = 0; k <= steps; ++k) {
      const double t = static_cast<double>(k) / steps;
      mark((a.x_mm + t * (b.x_mm - a.x_mm)) / half_mm_, (a.z_mm + t * (b.z_mm - a.z_mm)) / half_mm_);
    }
  }
  /// `along`: +1 when the rods' x is the machine's, -1 when it is turned.
  void boxes(int x_hp, int along, int low_hp, std::vector<Box3>& out) const {
    for (const auto& [row, y] : rows_) {
      const int from = row * kRow_hp, to = from + kRow_hp;
      out.push_back({{along > 0 ? x_hp + from : x_hp - to, y.first, low_hp},
                     {along > 0 ? x_hp + to : x_hp - from, y.second, low_hp + kBeam_hp}});
    }
  }

 private:
  void mark(double x, double y) {
    constexpr double kHalf = kBeam_hp / 2.0, kHair = 1e-9;
    const int first = static_cast<int>(std::floor((x - kHalf) / kRow_hp + kHair));
    const int last = static_cast<int>(std::ceil((x + kHalf) / kRow_hp - kHair)) - 1;
    const int from = static_cast<int>(std::floor(y - kHalf + kHair)),
              to = static_cast<int>(std::ceil(y + kHalf - kHair));
    for (int r = first; r <= last; ++r) {
      const auto [it, fresh] = rows_.try_emplace(r, from, to);
      if (!fresh) it->second = {std::min(it->second.first, from), std::max(it->second.second, to)};
    }
  }
  double half_mm_;
  std::map<int, std::pair<int, int>> rows_;
};

/// Room of both wheels of an axle over their travel, from the ground up: above and below the rods' layers whole, within
/// them what lies outside of all rods. Only where a drive could stand.
void keep_off_wheels(const Wants& w, const lattice::Point3& axle, int low_hp, double half_mm,
                     const std::vector<Box3>& rods, drive::Site& site) {
  const double radius = w.diameter_mm / 2;
  const double sine = std::sin(w.inner_rad), cosine = std::cos(w.inner_rad);
  const auto up = [&](double mm) { return static_cast<int>(std::ceil(mm / half_mm - 1e-9)); };
  const int reach_hp = up(std::max(radius, radius * cosine + (w.offset_mm + w.width_mm / 2) * sine));
  const int inner_hp = w.kingpins_hp / 2 - up(std::max(radius * sine - (w.offset_mm - w.width_mm / 2) * cosine,
                                                       w.width_mm / 2 - w.offset_mm));
  const int outer_hp = w.kingpins_hp / 2 + up(w.offset_mm + w.width_mm / 2 + radius * sine);
  const int ground_hp = axle.z_hp - static_cast<int>(std::lround(w.level_mm / half_mm));
  const int top_hp = ground_hp + up(w.diameter_mm);
  const int bottom_hp = low_hp - kBeam_hp, ceiling_hp = low_hp + 2 * kBeam_hp;
  int beyond_hp = inner_hp;
  for (const Box3& b : rods) beyond_hp = std::max({beyond_hp, b.high.y_hp, -b.low.y_hp});
  const auto keep = [&](int from_y, int from_z, int to_z) {
    for (const int side : {1, -1}) {
      Box3 box{{axle.x_hp - reach_hp, side > 0 ? from_y : -outer_hp, from_z},
               {axle.x_hp + reach_hp, side > 0 ? outer_hp : -from_y, to_z}};
      bool stands = true;
      for (const lattice::Axis a : lattice::kAxes) {
        box.low.set(a, std::max(box.low.at(a), site.room.low.at(a)));
        box.high.set(a, std::min(box.high.at(a), site.room.high.at(a)));
        stands = stands && box.low.at(a) < box.high.at(a);
      }
      if (stands) site.keep_outs.push_back(box);
    }
  };
  keep(inner_hp, ground_hp, std::min(bottom_hp, top_hp));
  keep(beyond_hp, std::max(bottom_hp, ground_hp), std::min(ceiling_hp, top_hp));
  keep(inner_hp, std::max(ceiling_hp, ground_hp), top_hp);
}

/// The other axle's image, and the wheels' room.
void complete(const Problem& problem, const drive::BodyLattice& lattice, const lattice::Point3& axle, int low_hp,
              const std::vector<Box3>& solids, drive::Site& site) {
  const Wants& w = problem.wants;
  if (w.axles == 2) {
    const lattice::Point3 other = lattice.nearest({w.other_x_mm, 0, w.level_mm}, "the other axle", site.notes);
    const int about_hp = axle.x_hp + other.x_hp;
    // Each drive keeps to its own half.
    if (w.axle == End::front) {
      site.room.low.x_hp = std::max(site.room.low.x_hp, (about_hp + (about_hp > 0 ? 1 : 0)) / 2);
    } else {
      site.room.high.x_hp = std::min(site.room.high.x_hp, (about_hp - (about_hp < 0 ? 1 : 0)) / 2);
    }
    site.images.push_back({about_hp, std::nullopt, 0});
  }
  keep_off_wheels(w, axle, low_hp, lattice.half_pitch_mm, solids, site);
}

/// Bar, rack and arms at the wanted height, the tie rods a layer above; the pinion beside the rack.
std::shared_ptr<const drive::Site> rack_site(const Problem& problem, const brief::Function& function,
                                             const RodChoice& choice) {
  const brief::Brief& brief = *problem.brief;
  const Wants& w = problem.wants;
  const Rack& r = *choice.rack;
  const double half_mm = brief.system().pitch_mm / 2;
  auto site = std::make_shared<drive::Site>(drive::site_of(brief, function, function.body));
  const drive::BodyLattice lattice = drive::lattice_of(brief, function.body);
  const lattice::Point3 axle = lattice.nearest({w.axle_x_mm, 0, w.level_mm}, "the steered axle", site->notes);
  const int along = w.axle == End::front ? 1 : -1;
  const int low_hp = axle.z_hp - kBeam_hp / 2;
  Swept arms(half_mm), bar(half_mm), ties(half_mm);
  const double line = line_mm(r, problem.axle), e = r.half_bar_hp * half_mm;
  const double kingpin = problem.axle.kingpins_hp * half_mm / 2;
  for (const RackSpot& s : choice.rack_travel.spots) {
    for (const int side : {1, -1}) {
      const double rad = side > 0 ? s.left_rad : s.right_rad;
      const double x = -r.arm.z_hp * half_mm, y = -side * r.arm.x_hp * half_mm;
      const linkage::Vec2 pin{0, side * kingpin};
      const linkage::Vec2 end{std::cos(rad) * x - std::sin(rad) * y,
                              side * kingpin + std::sin(rad) * x + std::cos(rad) * y};
      arms.line(pin, end);
      ties.line(end, {line, side * e + s.shift_mm});
    }
    bar.line({line, -e + s.shift_mm}, {line, e + s.shift_mm});
  }
  std::vector<Box3> solids;
  arms.boxes(axle.x_hp, along, low_hp, solids);
  bar.boxes(axle.x_hp, along, low_hp, solids);
  ties.boxes(axle.x_hp, along, low_hp + kBeam_hp, solids);
  const auto& pinion = std::get<stock::Gear>(brief.catalogue->at(r.wheel).data);
  const auto& rack = std::get<stock::Rack>(brief.catalogue->at(r.rack).data);
  const double outer_mm = r.radius_mm + brief.system().addendum * brief.system().module_mm;
  const int width_hp = drive::slots_of(std::max(pinion.face_width_mm, rack.face_width_mm), brief.system());
  const lattice::Cross at{axle.x_hp + along * r.pinion.x_hp, 0};
  routing::Output out;
  out.name = "pinion";
  out.places.push_back(
      drive::shaft_with(lattice::Axis::z, at, low_hp, low_hp + width_hp, outer_mm, brief.catalogue->at(r.wheel).name));
  // The teeth in mesh are inside the pinion's own room; rows of boxes are wider than what they stand for.
  const int own_hp = static_cast<int>(std::ceil(outer_mm / half_mm - 1e-9));
  const Box3 own{{at.u_hp - own_hp, at.v_hp - own_hp, low_hp}, {at.u_hp + own_hp, at.v_hp + own_hp, low_hp + width_hp}};
  for (const Box3& solid : solids) {
    for (Box3 box : drive::outside(solid, {own})) {
      site->occupied.push_back(box);
      bool stands = true;
      for (const lattice::Axis a : lattice::kAxes) {
        box.low.set(a, std::max(box.low.at(a), site->room.low.at(a)));
        box.high.set(a, std::min(box.high.at(a), site->room.high.at(a)));
        stands = stands && box.low.at(a) < box.high.at(a);
      }
      if (stands) site->keep_outs.push_back(box);
    }
  }
  site->outputs = {std::move(out)};
  complete(problem, lattice, axle, low_hp, solids, *site);
  return site;
}

}  // namespace

std::shared_ptr<const drive::Site> site_for(const Problem& problem, const brief::Function& function,
                                            const RodChoice& choice) {
  if (choice.rack) return rack_site(problem, function, choice);
  const brief::Brief& brief = *problem.brief;
  const Wants& w = problem.wants;
  const double half_mm = brief.system().pitch_mm / 2;
  auto site = std::make_shared<drive::Site>(drive::site_of(brief, function, function.body));
  const drive::BodyLattice lattice = drive::lattice_of(brief, function.body);
  const lattice::Point3 axle = lattice.nearest({w.axle_x_mm, 0, w.level_mm}, "the steered axle", site->notes);
  const int along = w.axle == End::front ? 1 : -1;
  const int low_hp = axle.z_hp - kBeam_hp / 2;

  Swept left(half_mm), right(half_mm), crank(half_mm), track_rod(half_mm), drag(half_mm);
  for (const Spot& s : choice.travel.spots) {
    const Ends e = ends_at(choice.rods, problem.axle, s);
    left.line(e.left_kingpin, e.left_arm);
    right.line(e.right_kingpin, e.right_arm);
    crank.line(e.pivot, e.crank);
    track_rod.line(e.left_arm, e.right_arm);
    drag.line(e.left_arm, e.crank);
  }
  std::vector<Box3> solids;
  drag.boxes(axle.x_hp, along, low_hp - kBeam_hp, solids);
  for (const Swept* level : {&left, &right, &crank}) level->boxes(axle.x_hp, along, low_hp, solids);
  track_rod.boxes(axle.x_hp, along, low_hp + kBeam_hp, solids);

  routing::Output out;
  out.name = "crank";
  const lattice::Cross at{axle.x_hp + along * choice.rods.pivot.x_hp, choice.rods.pivot.z_hp};
  for (const int direction : {1, -1}) {
    if (!(direction > 0 ? choice.up : choice.down)) continue;
    routing::Place place;
    place.axis = lattice::Axis::z;
    place.at = at;
    // The shaft comes out beyond the rod that passes it, so what it has to be clear of is settled by RodChoice::up,
    // down.
    const int face_hp = direction > 0 ? low_hp + 2 * kBeam_hp : low_hp - kBeam_hp;
    place.terminal = routing::Terminal{
        place.axis, lattice::point(place.axis, at, face_hp), direction, 2 * kBeam_hp, solids, "crank", true};
    out.places.push_back(std::move(place));
  }
  site->outputs = {std::move(out)};
  complete(problem, lattice, axle, low_hp, solids, *site);
  return site;
}

}  // namespace functions::steer
