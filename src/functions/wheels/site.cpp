#include "functions/wheels/site.h"

#include <algorithm>
#include <cmath>
#include <utility>
#include <vector>

#include "base/check.h"
#include "functions/drive/route_kit.h"
#include "functions/wheels/differential.h"

namespace functions::wheels {
namespace {

using lattice::Axis;
using lattice::Box3;

Box3 square_about(int x_hp, int z_hp, int half_hp, int from_hp, int to_hp) {
  return {{x_hp - half_hp, from_hp, z_hp - half_hp}, {x_hp + half_hp, to_hp, z_hp + half_hp}};
}

}  // namespace

std::shared_ptr<const drive::Site> site_for(const Wants& wants, const brief::Brief& brief, const brief::Function& fn,
                                            const Variant& v, const drive::Placers& placers,
                                            std::optional<stock::ClassId> differential) {
  const stock::KitSystem& system = brief.system();
  const stock::PartClass& wheel = brief.catalogue->at(v.wheel);
  auto site = std::make_shared<drive::Site>(drive::site_of(brief, fn, fn.body));
  const drive::BodyLattice lattice = drive::lattice_of(brief, fn.body);
  const bool both = v.delivery != Delivery::each_wheel;  // wheels of both sides belong to this side's drive
  const double spacing_mm = wants.base_mm / (wants.axles - 1);
  const int way = wants.driven_from == End::rear ? 1 : -1;
  const auto axle_at = [&](double x_mm, const char* what) {
    return lattice.nearest({x_mm, wants.tread_mm / 2, v.radius_mm}, what, site->notes);
  };
  const lattice::Point3 first = axle_at(wants.middle_x_mm - way * wants.base_mm / 2, "the first driven axle");
  const lattice::Point3 next =
      axle_at(wants.middle_x_mm - way * (wants.base_mm / 2 - spacing_mm), "the axle beside it");
  const int spacing_hp = next.x_hp - first.x_hp;
  const int width_hp = drive::slots_of(std::get<stock::Wheel>(wheel.data).width_mm, system);
  const int from_hp = first.y_hp - width_hp / 2, to_hp = from_hp + width_hp;
  const int radius_hp = drive::slots_of(v.radius_mm, system);
  // Tyres run outside; the drive keeps between them.
  site->room.high.y_hp = std::min(site->room.high.y_hp, from_hp);
  if (both) site->room.low.y_hp = std::max(site->room.low.y_hp, -from_hp);

  routing::Output out;
  out.name = both ? "axle" : wheel.name;
  switch (v.delivery) {
    case Delivery::each_wheel:
      out.places.push_back(
          drive::shaft_with(Axis::y, {first.x_hp, first.z_hp}, from_hp, to_hp, v.radius_mm, wheel.name));
      break;
    case Delivery::solid_axle: {
      routing::Place place =
          drive::shaft_with(Axis::y, {first.x_hp, first.z_hp}, -to_hp, -from_hp, v.radius_mm, wheel.name);
      place.attachments.push_back({from_hp, to_hp, v.radius_mm, wheel.name});
      out.places.push_back(std::move(place));
      break;
    }
    case Delivery::differential: {
      const auto& wheels = placers.kit().wheels;
      const auto rim = std::find_if(wheels.begin(), wheels.end(), [&](const routing::Wheel& w) {
        return differential && w.id == stock::index(*differential);
      });
      KW_CHECK(rim != wheels.end(), "the case is among the wheels of its own kit");
      // The rim on one side of the middle, the cage with the bevels beside it; either way round.
      const int axle_hp = drive::slots_of(system.axle.width_mm / 2 + drive::kClearance_mm, system);
      const int cage_hp = std::max(1, static_cast<int>(rim->pitch_radius_mm / (system.pitch_mm / 2)) - 2);
      routing::Place place;
      place.axis = Axis::y;
      place.at = {first.x_hp, first.z_hp};
      place.ring = static_cast<int>(rim - wheels.begin());
      place.ring_from_hp = -kCase_hp / 2 - rim->width_hp;
      const int cage_from_hp = -kCase_hp / 2;
      const std::vector<Box3> solids{
          square_about(first.x_hp, first.z_hp, cage_hp, cage_from_hp, cage_from_hp + kCase_hp),
          square_about(first.x_hp, first.z_hp, axle_hp, cage_from_hp + kCase_hp, from_hp),
          square_about(first.x_hp, first.z_hp, axle_hp, -from_hp, place.ring_from_hp)};
      for (const Box3& b : solids) {
        site->keep_outs.push_back(b);
        site->occupied.push_back(b);
      }
      for (const auto& [a, b] : {std::pair{from_hp, to_hp}, std::pair{-to_hp, -from_hp}})
        site->occupied.push_back(square_about(first.x_hp, first.z_hp, radius_hp, a, b));
      out.places.push_back(std::move(place));
      break;
    }
  }

  // Images of the first drive at the other driven axles, and the wheels that nothing drives.
  std::vector<drive::Image> more;
  if (wants.driven_axles == 2 && wants.axles == 2) {
    const int about_hp = first.x_hp + next.x_hp;
    if (way > 0) {
      site->room.high.x_hp = std::min(site->room.high.x_hp, (about_hp - (about_hp < 0 ? 1 : 0)) / 2);
    } else {
      site->room.low.x_hp = std::max(site->room.low.x_hp, (about_hp + (about_hp > 0 ? 1 : 0)) / 2);
    }
    more.push_back({about_hp, std::nullopt, 0});
  } else if (wants.driven_axles > 1) {
    // From the first axle outward as the room allows, inward half a spacing; together no more than one spacing.
    const int length_hp = std::abs(spacing_hp);
    int& outer = way > 0 ? site->room.low.x_hp : site->room.high.x_hp;
    int& inner = way > 0 ? site->room.high.x_hp : site->room.low.x_hp;
    outer = way > 0 ? std::max(outer, first.x_hp - length_hp / 2) : std::min(outer, first.x_hp + length_hp / 2);
    inner = way > 0 ? std::min(inner, outer + length_hp) : std::max(inner, outer - length_hp);
    for (int i = 1; i < wants.driven_axles; ++i) more.push_back({std::nullopt, std::nullopt, i * spacing_hp});
  }
  std::vector<Box3> idle;
  for (int i = wants.driven_axles; i < wants.axles; ++i) {
    const int x_hp = first.x_hp + i * spacing_hp;
    idle.push_back(square_about(x_hp, first.z_hp, radius_hp, from_hp, to_hp));
    if (both) idle.push_back(square_about(x_hp, first.z_hp, radius_hp, -to_hp, -from_hp));
  }
  // With images only one drive may own the wheels that are not driven; they stand apart from the drive's room anyway.
  if (more.empty()) site->occupied.insert(site->occupied.end(), idle.begin(), idle.end());
  const std::vector<drive::Image> sides = site->images;
  for (const drive::Image& other : more) {
    site->images.push_back(other);
    for (drive::Image side : sides) {
      side.about_x_hp = other.about_x_hp;
      side.shift_x_hp = other.shift_x_hp;
      site->images.push_back(side);
    }
  }
  site->outputs = {std::move(out)};
  return site;
}

}  // namespace functions::wheels
