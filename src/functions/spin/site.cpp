#include "functions/spin/site.h"

#include <array>
#include <cmath>

namespace functions::spin {
namespace {

using lattice::Axis;

/// What turns for show takes on its shaft, and its radius, when nothing is known of it (invented).
constexpr int kLook_hp = 2;
constexpr double kLookRadius_p = 0.5;

void add_places(routing::Output& out, Axis axis, const lattice::Box3& room, double radius_mm) {
  const Axis u = lattice::u_axis(axis), v = lattice::v_axis(axis);
  const int edge_hp = room.high.at(axis);
  constexpr int kMargin_hp = 2;
  const auto range = [&](Axis a) {
    const int low = room.low.at(a) + kMargin_hp, high = room.high.at(a) - kMargin_hp;
    return std::array<int, 3>{(low + high) / 2, (3 * low + high) / 4, (low + 3 * high) / 4};
  };
  for (const int cu : range(u)) {
    for (const int cv : range(v))
      out.places.push_back(drive::shaft_with(axis, {cu, cv}, edge_hp - kLook_hp, edge_hp, radius_mm, out.name));
  }
}

}  // namespace

Sites sites_for(const Wants& wants, const brief::Brief& brief, const brief::Function& fn) {
  auto all = std::make_shared<drive::Site>(drive::site_of(brief, fn, fn.body));
  const double radius_mm = kLookRadius_p * brief.system().pitch_mm;
  Sites out;
  for (std::size_t i = 0; i < wants.outputs.size(); ++i) {
    const Output& o = wants.outputs[i];
    routing::Output at;
    at.name = o.name;
    at.sense = o.turns == Turns::same ? 1 : o.turns == Turns::opposite ? -1 : 0;
    if (o.at_p) {
      lattice::Point3 end;
      for (const Axis a : lattice::kAxes)
        end.set(a, static_cast<int>(std::lround(2 * (*o.at_p)[static_cast<std::size_t>(lattice::index(a))])));
      const int end_hp = end.at(o.axis);
      at.places.push_back(
          drive::shaft_with(o.axis, lattice::across(o.axis, end), end_hp - kLook_hp, end_hp, radius_mm, o.name));
    } else {
      for (const Axis axis : {Axis::z, Axis::y, Axis::x}) add_places(at, axis, all->room, radius_mm);
    }
    out.fixed.push_back(o.at_p.has_value());
    all->outputs.push_back(std::move(at));
  }
  auto first = std::make_shared<drive::Site>(*all);
  first->outputs.resize(1);
  out.first = std::move(first);
  out.all = std::move(all);
  return out;
}

}  // namespace functions::spin
