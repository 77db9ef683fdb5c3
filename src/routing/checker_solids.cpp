// The solids of a layout, which pairs of them must keep clear, and how the two wheels of a mesh must stand.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "routing/checker_parts.h"

namespace routing {
namespace {

using lattice::index;
using lattice::letter;

bool near(double a_hp, double b_hp) {
  return std::abs(a_hp - b_hp) <= kTouchHp;
}

bool whole(double hp) {
  return near(hp, std::round(hp));
}

/// Coordinate of a wheel's line along another axis.
int line_at(const PlacedWheel& w, Axis a) {
  return lattice::point(w.axis, w.at, 0).at(a);
}

struct Terminals {
  const std::vector<UsedTerminal>& used;
  [[nodiscard]] bool holds(int terminal, int shaft) const {
    return used[static_cast<std::size_t>(terminal)].shaft == shaft && shaft >= 0;
  }
};

Solid block_solid(const Problem& p, SolidKind kind, const Box3& box, int shaft, int number) {
  Solid s;
  s.kind = kind;
  s.shaft = shaft;
  s.index = number;
  s.shape = block(box, p.kit.half_pitch_mm());
  return s;
}

Box3 bearing_box(Axis axis, Cross at, int wall_hp) {
  const Point3 c = lattice::point(axis, at, wall_hp);
  return {{c.x_hp - 1, c.y_hp - 1, c.z_hp - 1}, {c.x_hp + 1, c.y_hp + 1, c.z_hp + 1}};
}

std::string parallel_mesh_fault(const Problem& p, const Pair& pair, const PlacedWheel& a, const PlacedWheel& b,
                                const PlacedMesh& mesh) {
  const Wheel &wa = p.kit.wheels[static_cast<std::size_t>(a.wheel)],
              &wb = p.kit.wheels[static_cast<std::size_t>(b.wheel)];
  if (a.axis != b.axis)
    return fmt::format("mesh: {}:{} need parallel shafts, they lie along {} and {}", wa.name, wb.name, letter(a.axis),
                       letter(b.axis));
  for (const PlacedWheel* w : {&a, &b}) {
    const Wheel& kind = p.kit.wheels[static_cast<std::size_t>(w->wheel)];
    if (!whole(w->from_hp) || !near(w->to_hp - w->from_hp, kind.width_hp))
      return fmt::format("slots: wheel {} takes {} whole slots, it stands at {:.4g}..{:.4g} hp", kind.name,
                         kind.width_hp, w->from_hp, w->to_hp);
  }
  const bool b_inside = b.from_hp >= a.from_hp - kTouchHp && b.to_hp <= a.to_hp + kTouchHp;
  const bool a_inside = a.from_hp >= b.from_hp - kTouchHp && a.to_hp <= b.to_hp + kTouchHp;
  if (!a_inside && !b_inside)
    return fmt::format(
        "slots: the slots {:.4g}..{:.4g} of wheel {} and {:.4g}..{:.4g} of wheel {} do not contain each other",
        a.from_hp, a.to_hp, wa.name, b.from_hp, b.to_hp, wb.name);
  const int du = std::abs(a.at.u_hp - b.at.u_hp), dv = std::abs(a.at.v_hp - b.at.v_hp);
  const double distance_mm = p.kit.half_pitch_mm() * std::hypot(du, dv);
  const double wanted_mm = pair.type == PairType::ring_inner
                               ? std::abs(mesh_radius_mm(wb, pair.type) - mesh_radius_mm(wa, pair.type))
                               : wa.pitch_radius_mm + wb.pitch_radius_mm;
  const bool offered = std::any_of(pair.offsets.begin(), pair.offsets.end(), [&](const PairOffset& o) {
    return o.dx_hp == std::max(du, dv) && o.dz_hp == std::min(du, dv);
  });
  if (!offered)
    return fmt::format("mesh: {}:{} want their shafts {:.4g} mm apart, they are {} x {} hp = {:.4g} mm apart", wa.name,
                       wb.name, wanted_mm, du, dv, distance_mm);
  const double misfit_um = std::abs(distance_mm - wanted_mm) * 1000;
  if (std::abs(misfit_um - mesh.misfit_um) > 0.5 + 1e-6)
    return fmt::format("mesh: {}:{} miss their distance by {:.1f} um, {} um are written", wa.name, wb.name, misfit_um,
                       mesh.misfit_um);
  return {};
}

/// The two shafts of a right-angle mesh: where each wheel's line crosses the other's shaft.
struct Crossing {
  double on_a_hp, on_b_hp;  ///< along a's and b's axis
  double apart_mm;          ///< along the third axis
};

std::string at_fault(const Wheel& kind, const PlacedWheel& w, double want_from_hp, double want_to_hp) {
  if (near(w.from_hp, want_from_hp) && near(w.to_hp, want_to_hp)) return {};
  return fmt::format("mesh: wheel {} stands at {:.5g}..{:.5g} hp, wanted {:.5g}..{:.5g}", kind.name, w.from_hp, w.to_hp,
                     want_from_hp, want_to_hp);
}

/// The wheel's face lies within [near_mm, far_mm] from the crossing, on either side.
std::string either_side_fault(const Wheel& kind, const PlacedWheel& w, double cross_hp, double near_mm, double far_mm,
                              double half_pitch_mm) {
  const double n = near_mm / half_pitch_mm, f = far_mm / half_pitch_mm;
  const std::string above = at_fault(kind, w, cross_hp + n, cross_hp + f);
  return above.empty() || at_fault(kind, w, cross_hp - f, cross_hp - n).empty() ? std::string() : above;
}

std::string right_angle_mesh_fault(const Problem& p, const Pair& pair, const PlacedWheel& a, const PlacedWheel& b,
                                   const PlacedMesh& mesh) {
  const Wheel &wa = p.kit.wheels[static_cast<std::size_t>(a.wheel)],
              &wb = p.kit.wheels[static_cast<std::size_t>(b.wheel)];
  if (a.axis == b.axis)
    return fmt::format("mesh: {}:{} need shafts at a right angle, both lie along {}", wa.name, wb.name, letter(a.axis));
  const double half = p.kit.half_pitch_mm();
  const Axis third = lattice::other(a.axis, b.axis);
  const Crossing x{line_at(b, a.axis) + 0.0, line_at(a, b.axis) + 0.0,
                   std::abs(line_at(a, third) - line_at(b, third)) * half};
  if (pair.type == PairType::worm) {
    const bool offered = std::any_of(pair.offsets.begin(), pair.offsets.end(), [&](const PairOffset& o) {
      return o.dz_hp == 0 && std::abs(o.dx_hp * half - x.apart_mm) < kTouchMm;
    });
    const double wanted_mm = wa.pitch_radius_mm + wb.pitch_radius_mm,
                 misfit_um = std::abs(x.apart_mm - wanted_mm) * 1000;
    if (!offered)
      return fmt::format("mesh: worm {} and wheel {} want their shafts {:.4g} mm apart, they are {:.4g} mm apart",
                         wa.name, wb.name, wanted_mm, x.apart_mm);
    if (std::abs(misfit_um - mesh.misfit_um) > 0.5 + 1e-6)
      return fmt::format("mesh: {}:{} miss their distance by {:.1f} um, {} um are written", wa.name, wb.name, misfit_um,
                         mesh.misfit_um);
    std::string fault = at_fault(wa, a, x.on_a_hp - wa.face_mm / 2 / half, x.on_a_hp + wa.face_mm / 2 / half);
    return fault.empty() ? at_fault(wb, b, x.on_b_hp - wb.face_mm / 2 / half, x.on_b_hp + wb.face_mm / 2 / half)
                         : fault;
  }
  if (x.apart_mm > kTouchMm)
    return fmt::format("mesh: the shafts of {}:{} pass each other {:.4g} mm apart, they must meet", wa.name, wb.name,
                       x.apart_mm);
  if (mesh.misfit_um != 0) return fmt::format("mesh: {} um of misfit where shafts meet", mesh.misfit_um);
  const auto fault_of = [&](const Wheel& kind, const Wheel& mate, const PlacedWheel& w, double cross_hp) {
    if (pair.type == PairType::crown && kind.sided) {
      const double near_mm = mate.pitch_radius_mm - p.kit.addendum_mm;
      return either_side_fault(kind, w, cross_hp, near_mm, near_mm + kind.face_mm, half);
    }
    return either_side_fault(kind, w, cross_hp, mate.pitch_radius_mm - kind.face_mm / 2,
                             mate.pitch_radius_mm + kind.face_mm / 2, half);
  };
  std::string fault = fault_of(wa, wb, a, x.on_a_hp);
  return fault.empty() ? fault_of(wb, wa, b, x.on_b_hp) : fault;
}

}  // namespace

std::vector<UsedTerminal> terminals_of(const Problem& problem, const Layout& layout) {
  std::vector<UsedTerminal> used;
  for (const Terminal& t : problem.inputs[static_cast<std::size_t>(layout.input)].motors) used.push_back({&t, 0});
  for (std::size_t o = 0; o < layout.place.size(); ++o) {
    const Place& place = problem.outputs[o].places[static_cast<std::size_t>(layout.place[o])];
    if (!place.terminal) continue;
    int shaft = -1;
    for (std::size_t s = 0; s < layout.shafts.size(); ++s) {
      if (layout.shafts[s].output == static_cast<int>(o)) shaft = static_cast<int>(s);
    }
    used.push_back({&*place.terminal, shaft});
    if (place.far_terminal) used.push_back({&*place.far_terminal, shaft});
  }
  return used;
}

ShaftLoad load_of(const Problem& problem, const Layout& layout, int shaft) {
  const PlacedShaft& s = layout.shafts[static_cast<std::size_t>(shaft)];
  ShaftLoad load;
  load.axis = s.axis;
  for (const UsedTerminal& t : terminals_of(problem, layout)) {
    if (t.shaft == shaft) load.terminals.push_back(t.terminal);
  }
  for (const PlacedWheel& w : layout.wheels) {
    if (w.shaft == shaft) load.items.push_back({w.from_hp, w.to_hp});
  }
  if (s.output >= 0) {
    const auto o = static_cast<std::size_t>(s.output);
    for (const Attachment& a : problem.outputs[o].places[static_cast<std::size_t>(layout.place[o])].attachments)
      load.items.push_back({a.from_hp + 0.0, a.to_hp + 0.0});
  }
  return load;
}

std::string name_of(const Problem& problem, const Layout& layout, const Solid& s) {
  const auto shaft = [&] { return fmt::format("shaft {}", s.shaft); };
  switch (s.kind) {
    case SolidKind::wheel:
      return "wheel " +
             problem.kit.wheels[static_cast<std::size_t>(layout.wheels[static_cast<std::size_t>(s.index)].wheel)].name;
    case SolidKind::axle:
      return "axle of " + shaft();
    case SolidKind::bush:
      return "bush on " + shaft();
    case SolidKind::joiner:
      return "joiner on " + shaft();
    case SolidKind::attachment:
      return "attachment on " + shaft();
    case SolidKind::bearing:
      return fmt::format("bearing in the wall at {} hp of {}", s.index, shaft());
    case SolidKind::terminal:
      return "body of " + terminals_of(problem, layout)[static_cast<std::size_t>(s.index)].terminal->name;
    case SolidKind::keep_out:
      return fmt::format("keep-out {}", s.index + 1);
  }
  return {};
}

Solid wheel_solid(const Problem& problem, const PlacedWheel& w, int number) {
  const Wheel& kind = problem.kit.wheels[static_cast<std::size_t>(w.wheel)];
  Solid s;
  s.kind = SolidKind::wheel;
  s.shaft = w.shaft;
  s.index = number;
  s.shape = cylinder(w.axis, w.at, w.from_hp, w.to_hp, kind.outer_radius_mm, problem.kit.half_pitch_mm(),
                     kind.ring ? kind.open_radius_mm : 0);
  s.in_box = bounds(s.shape);
  return s;
}

std::vector<Solid> shaft_solids(const Problem& problem, const PlacedShaft& s, int number,
                                const std::vector<const Terminal*>& terminals) {
  const Kit& kit = problem.kit;
  const double half = kit.half_pitch_mm();
  std::vector<Solid> list;
  Solid axle;
  axle.kind = SolidKind::axle;
  axle.shaft = number;
  axle.shape = cylinder(s.axis, s.at, s.from_hp, s.to_hp, kit.axle_radius_mm, half);
  int free_from = s.from_hp, free_to = s.to_hp;
  for (const Terminal* t : terminals) {
    const int face = t->face.at(s.axis);
    (t->direction > 0 ? free_from : free_to) = t->direction > 0 ? std::max(free_from, face) : std::min(free_to, face);
  }
  if (free_from < free_to) axle.in_box = bounds(cylinder(s.axis, s.at, free_from, free_to, kit.axle_radius_mm, half));
  list.push_back(std::move(axle));
  for (int low : s.bushes_hp) {
    Solid bush;
    bush.kind = SolidKind::bush;
    bush.shaft = number;
    bush.shape = cylinder(s.axis, s.at, low, low + kit.bush_hp, kit.bush_radius_mm, half);
    bush.in_box = bounds(bush.shape);
    list.push_back(std::move(bush));
  }
  if (const AxleStock& parts = kit.axles[static_cast<std::size_t>(s.axle)]; parts.joined()) {
    const int joint_hp = s.from_hp + 2 * kit.axles[static_cast<std::size_t>(parts.low_part)].length_p;
    Solid joiner;
    joiner.kind = SolidKind::joiner;
    joiner.shaft = number;
    joiner.shape = cylinder(s.axis, s.at, joint_hp - kit.joiner_hp / 2.0, joint_hp + kit.joiner_hp / 2.0,
                            kit.bush_radius_mm, half);
    joiner.in_box = bounds(joiner.shape);
    list.push_back(std::move(joiner));
  }
  for (int w : s.bearings_hp) {
    Solid bearing = block_solid(problem, SolidKind::bearing, bearing_box(s.axis, s.at, w), number, w);
    bearing.in_box = bounds(bearing.shape);
    list.push_back(std::move(bearing));
  }
  return list;
}

std::vector<Solid> fixed_solids(const Problem& problem, const Layout& layout) {
  std::vector<Solid> list;
  for (std::size_t o = 0; o < layout.place.size(); ++o) {
    const Place& place = problem.outputs[o].places[static_cast<std::size_t>(layout.place[o])];
    if (place.ring >= 0) continue;
    int shaft = -1;
    for (std::size_t s = 0; s < layout.shafts.size(); ++s) {
      if (layout.shafts[s].output == static_cast<int>(o)) shaft = static_cast<int>(s);
    }
    for (std::size_t k = 0; k < place.attachments.size(); ++k) {
      const Attachment& a = place.attachments[k];
      Solid s;
      s.kind = SolidKind::attachment;
      s.shaft = shaft;
      s.index = static_cast<int>(k);
      s.shape = cylinder(place.axis, place.at, a.from_hp, a.to_hp, a.radius_mm, problem.kit.half_pitch_mm());
      s.in_box = bounds(s.shape);
      list.push_back(std::move(s));
    }
  }
  const std::vector<UsedTerminal> used = terminals_of(problem, layout);
  for (std::size_t t = 0; t < used.size(); ++t) {
    for (const Box3& b : used[t].terminal->solids)
      list.push_back(block_solid(problem, SolidKind::terminal, b, -1, static_cast<int>(t)));
  }
  for (std::size_t k = 0; k < problem.keep_outs.size(); ++k)
    list.push_back(block_solid(problem, SolidKind::keep_out, problem.keep_outs[k], -1, static_cast<int>(k)));
  return list;
}

std::vector<Solid> solids_of(const Problem& problem, const Layout& layout) {
  std::vector<Solid> list = fixed_solids(problem, layout);
  for (std::size_t w = 0; w < layout.wheels.size(); ++w)
    list.push_back(wheel_solid(problem, layout.wheels[w], static_cast<int>(w)));
  for (std::size_t s = 0; s < layout.shafts.size(); ++s) {
    std::vector<Solid> own = shaft_solids(problem, layout.shafts[s], static_cast<int>(s),
                                          load_of(problem, layout, static_cast<int>(s)).terminals);
    std::move(own.begin(), own.end(), std::back_inserter(list));
  }
  return list;
}

bool solids_clash(const Problem& problem, const std::vector<PlacedMesh>& meshes, const std::vector<UsedTerminal>& used,
                  const Solid& a, const Solid& b) {
  const auto is_fixed = [](const Solid& s) { return s.kind == SolidKind::keep_out; };
  if (is_fixed(a) && is_fixed(b)) return false;
  if (a.kind == SolidKind::terminal && b.kind == SolidKind::terminal && a.index == b.index) return false;
  if (a.shaft >= 0 && a.shaft == b.shaft) {
    const auto along = [](const Solid& s) {
      return s.kind == SolidKind::wheel || s.kind == SolidKind::bush || s.kind == SolidKind::attachment ||
             s.kind == SolidKind::joiner;
    };
    return along(a) && along(b) && std::get<Cylinder>(a.shape).along_mm.overlaps(std::get<Cylinder>(b.shape).along_mm);
  }
  if (a.kind == SolidKind::wheel && b.kind == SolidKind::wheel) {
    for (const PlacedMesh& m : meshes) {
      if ((m.driver == a.index && m.driven == b.index) || (m.driver == b.index && m.driven == a.index)) return false;
    }
  }
  const Terminals terminals{used};
  if (a.kind == SolidKind::axle && b.kind == SolidKind::terminal && terminals.holds(b.index, a.shaft)) return false;
  if (b.kind == SolidKind::axle && a.kind == SolidKind::terminal && terminals.holds(a.index, b.shaft)) return false;
  return clash(a.shape, b.shape, problem.kit.clearance_mm);
}

std::string mesh_fault(const Problem& problem, const PlacedWheel& driver, const PlacedWheel& driven,
                       const PlacedMesh& mesh) {
  const Pair& pair = problem.kit.pairs[static_cast<std::size_t>(mesh.pair)];
  return parallel(pair.type) ? parallel_mesh_fault(problem, pair, driver, driven, mesh)
                             : right_angle_mesh_fault(problem, pair, driver, driven, mesh);
}

}  // namespace routing
