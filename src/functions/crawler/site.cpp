#include "functions/crawler/site.h"

#include <algorithm>
#include <utility>
#include <vector>

namespace functions::crawler {
namespace {

using lattice::Axis;
using lattice::Box3;

/// Slots across the machine that belt or wheel take, [from, to].
struct Band {
  int from_hp = 0, to_hp = 0;
};

Band band_of(int middle_hp, double width_mm, const stock::KitSystem& system) {
  const int width_hp = drive::slots_of(width_mm, system);
  return {middle_hp - width_hp / 2, middle_hp - width_hp / 2 + width_hp};
}

Box3 square_about(int x_hp, int z_hp, int radius_hp, const Band& band) {
  return {{x_hp - radius_hp, band.from_hp, z_hp - radius_hp}, {x_hp + radius_hp, band.to_hp, z_hp + radius_hp}};
}

}  // namespace

std::shared_ptr<const drive::Site> site_for(const Wants& wants, const brief::Brief& brief, const brief::Function& fn,
                                            const Variant& v, int a_side) {
  const stock::KitSystem& system = brief.system();
  const stock::PartClass& roller = brief.catalogue->at(v.roller);
  auto site = std::make_shared<drive::Site>(drive::site_of(brief, fn, fn.body));
  const drive::BodyLattice lattice = drive::lattice_of(brief, fn.body);
  const double rear_x_mm = wants.middle_x_mm - wants.contact_mm / 2 - (wants.tracked() ? wants.end_reach_mm : 0);
  const double front_x_mm = 2 * wants.middle_x_mm - rear_x_mm;
  const double height_mm = v.radius_mm + (wants.tracked() ? wants.end_raise_mm : 0);
  const auto axle_at = [&](double x_mm, const char* what) {
    return lattice.nearest({x_mm, wants.tread_mm / 2, height_mm}, what, site->notes);
  };
  const lattice::Point3 rear = axle_at(rear_x_mm, wants.tracked() ? "the rear sprocket" : "the rear wheel");
  const lattice::Point3 front = axle_at(front_x_mm, wants.tracked() ? "the front sprocket" : "the front wheel");
  const double width_mm = v.link ? std::get<stock::TrackLink>(brief.catalogue->at(*v.link).data).width_mm
                                 : std::get<stock::Wheel>(roller.data).width_mm;
  const Band band = band_of(rear.y_hp, width_mm, system);
  const int radius_hp = drive::slots_of(v.radius_mm, system);
  // What runs on the ground stands outside; the drive keeps inside of it.
  site->room.high.y_hp = std::min(site->room.high.y_hp, band.from_hp);
  routing::Output out;
  out.name = roller.name;
  const auto offer = [&](const lattice::Point3& at) {
    out.places.push_back(
        drive::shaft_with(Axis::y, {at.x_hp, at.z_hp}, band.from_hp, band.to_hp, v.radius_mm, roller.name));
  };
  offer(rear);
  if (wants.tracked()) {
    offer(front);
    const int bottom_hp = rear.z_hp - drive::slots_of(height_mm, system);
    site->occupied.push_back({{rear.x_hp - radius_hp, band.from_hp, bottom_hp},
                              {front.x_hp + radius_hp, band.to_hp, rear.z_hp + radius_hp}});
  } else {
    const int steps = std::max(1, a_side - 1), spacing_hp = (front.x_hp - rear.x_hp) / steps;
    std::vector<drive::Image> more;
    int idle_from = 1, idle_to = a_side;  // wheels that are neither driven here nor an image
    if (v.driven_wheels == 2 && a_side == 2) {
      const int about_hp = rear.x_hp + front.x_hp;
      site->room.high.x_hp = std::min(site->room.high.x_hp, about_hp >= 0 ? about_hp / 2 : -((1 - about_hp) / 2));
      more.push_back({about_hp, std::nullopt, 0});
      idle_to = 1;
    } else if (v.driven_wheels == 2) {
      site->room.low.x_hp = std::max(site->room.low.x_hp, rear.x_hp - spacing_hp / 2);
      site->room.high.x_hp = std::min(site->room.high.x_hp, site->room.low.x_hp + spacing_hp);
      more.push_back({std::nullopt, std::nullopt, spacing_hp});
      idle_from = 2;
    }
    for (int i = idle_from; i < idle_to; ++i)
      site->occupied.push_back(square_about(rear.x_hp + i * spacing_hp, rear.z_hp, radius_hp, band));
    const std::vector<drive::Image> sides = site->images;
    for (const drive::Image& other : more) {
      site->images.push_back(other);
      for (drive::Image both : sides) {
        both.about_x_hp = other.about_x_hp;
        both.shift_x_hp = other.shift_x_hp;
        site->images.push_back(both);
      }
    }
  }
  site->outputs = {std::move(out)};
  return site;
}

}  // namespace functions::crawler
