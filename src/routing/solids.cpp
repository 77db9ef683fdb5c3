#include "routing/solids.h"

#include <fmt/format.h>

#include "base/check.h"

namespace routing {
namespace {

std::size_t at(Axis a) {
  return static_cast<std::size_t>(index(a));
}

PlacedSolid cylinder(PlacedSolid::Role role, Axis axis, Cross c, double from_mm, double to_mm, double radius_mm,
                     double half_mm) {
  PlacedSolid s;
  s.role = role;
  s.round = true;
  s.axis = axis;
  s.radius_mm = radius_mm;
  const auto across = [&](Axis a, int value_hp) {
    s.low_mm[at(a)] = value_hp * half_mm - radius_mm;
    s.high_mm[at(a)] = value_hp * half_mm + radius_mm;
  };
  across(u_axis(axis), c.u_hp);
  across(v_axis(axis), c.v_hp);
  s.low_mm[at(axis)] = from_mm;
  s.high_mm[at(axis)] = to_mm;
  return s;
}

PlacedSolid box(PlacedSolid::Role role, Axis axis, const Box3& b, double half_mm) {
  PlacedSolid s;
  s.role = role;
  s.axis = axis;
  for (const Axis a : lattice::kAxes) {
    s.low_mm[at(a)] = b.low.at(a) * half_mm;
    s.high_mm[at(a)] = b.high.at(a) * half_mm;
  }
  return s;
}

const Place* place_of(const Problem& p, const Layout& l, std::size_t output) {
  if (output >= l.place.size()) return nullptr;
  const auto& places = p.outputs.at(output).places;
  return &places.at(static_cast<std::size_t>(l.place[output]));
}

int shaft_of(const Layout& l, std::size_t output) {
  for (std::size_t s = 0; s < l.shafts.size(); ++s) {
    if (l.shafts[s].output == static_cast<int>(output)) return static_cast<int>(s);
  }
  return -1;
}

}  // namespace

std::vector<HeldBy> terminals(const Problem& p, const Layout& l) {
  std::vector<HeldBy> out;
  for (const Terminal& t : p.inputs.at(static_cast<std::size_t>(l.input)).motors) out.push_back({&t, 0, true});
  for (std::size_t o = 0; o < p.outputs.size(); ++o) {
    const Place* place = place_of(p, l, o);
    if (place == nullptr) continue;
    if (place->terminal) out.push_back({&*place->terminal, shaft_of(l, o), false});
    if (place->far_terminal) out.push_back({&*place->far_terminal, shaft_of(l, o), false});
  }
  return out;
}

std::vector<PlacedSolid> solids(const Problem& p, const Layout& l) {
  const double half_mm = p.kit.half_pitch_mm();
  std::vector<PlacedSolid> out;
  for (std::size_t i = 0; i < l.shafts.size(); ++i) {
    const PlacedShaft& s = l.shafts[i];
    const auto add = [&](PlacedSolid solid, std::string label) {
      solid.shaft = static_cast<int>(i);
      solid.label = std::move(label);
      out.push_back(std::move(solid));
    };
    add(cylinder(PlacedSolid::Role::axle, s.axis, s.at, s.from_hp * half_mm, s.to_hp * half_mm, p.kit.axle_radius_mm,
                 half_mm),
        "axle " + axle_text(p.kit, s.axle));
    if (const std::optional<int> joint = joint_hp(p.kit, s)) {
      add(cylinder(PlacedSolid::Role::joiner, s.axis, s.at, (*joint - p.kit.joiner_hp / 2.0) * half_mm,
                   (*joint + p.kit.joiner_hp / 2.0) * half_mm, p.kit.bush_radius_mm, half_mm),
          "axle joiner");
    }
    for (const int w : s.bearings_hp) {
      const Point3 c = lattice::point(s.axis, s.at, w);
      add(box(PlacedSolid::Role::bearing, s.axis,
              {{c.x_hp - 1, c.y_hp - 1, c.z_hp - 1}, {c.x_hp + 1, c.y_hp + 1, c.z_hp + 1}}, half_mm),
          "bearing");
    }
    for (const int b : s.bushes_hp) {
      add(cylinder(PlacedSolid::Role::bush, s.axis, s.at, b * half_mm, (b + p.kit.bush_hp) * half_mm,
                   p.kit.bush_radius_mm, half_mm),
          "bush");
    }
  }
  for (std::size_t i = 0; i < l.wheels.size(); ++i) {
    const PlacedWheel& w = l.wheels[i];
    const Wheel& kind = p.kit.wheels.at(static_cast<std::size_t>(w.wheel));
    KW_CHECK(kind.ring == (w.shaft < 0), "a ring has no shaft, every other wheel has one: " + kind.name);
    PlacedSolid s = cylinder(kind.ring ? PlacedSolid::Role::ring : PlacedSolid::Role::wheel, w.axis, w.at,
                             w.from_hp * half_mm, w.to_hp * half_mm, kind.outer_radius_mm, half_mm);
    s.open_radius_mm = kind.open_radius_mm;
    s.label = kind.name;
    s.shaft = w.shaft;
    s.wheel = static_cast<int>(i);
    out.push_back(std::move(s));
  }
  for (const HeldBy& h : terminals(p, l)) {
    for (const Box3& b : h.terminal->solids) {
      PlacedSolid s = box(PlacedSolid::Role::terminal, h.terminal->axis, b, half_mm);
      s.label = h.terminal->name;
      s.shaft = h.shaft;
      s.swept = h.terminal->swept;
      out.push_back(std::move(s));
    }
  }
  for (std::size_t o = 0; o < p.outputs.size(); ++o) {
    const Place* place = place_of(p, l, o);
    if (place == nullptr) continue;
    for (const Attachment& a : place->attachments) {
      PlacedSolid s = cylinder(PlacedSolid::Role::attachment, place->axis, place->at, a.from_hp * half_mm,
                               a.to_hp * half_mm, a.radius_mm, half_mm);
      s.label = a.name;
      s.shaft = shaft_of(l, o);
      out.push_back(std::move(s));
    }
  }
  return out;
}

}  // namespace routing
