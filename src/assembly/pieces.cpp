#include "assembly/pieces.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include "base/check.h"
#include "routing/tables.h"

namespace assembly {
namespace {

using lattice::Axis;
using lattice::Cross;
using Role = routing::PlacedSolid::Role;

std::size_t at(Axis a) {
  return static_cast<std::size_t>(lattice::index(a));
}

PieceSolid block(Role role, Axis axis, Cross line, const lattice::Box3& box) {
  PieceSolid s;
  s.role = role;
  s.axis = axis;
  s.at = line;
  for (const Axis a : lattice::kAxes) {
    s.hull.low_hp[at(a)] = box.low.at(a);
    s.hull.high_hp[at(a)] = box.high.at(a);
  }
  s.slabs = {s.hull};
  return s;
}

/// Half the width of a circle at the nearest point of [low, high] to its middle; negative where it has ended.
double half_width(double radius, double low, double high) {
  const double near = low > 0 ? low : high < 0 ? -high : 0;
  return near < radius ? std::sqrt(radius * radius - near * near) : -1;
}

PieceSolid round(Role role, Axis axis, Cross line, double from_hp, double to_hp, double radius_hp, double open_hp,
                 double slab_hp) {
  PieceSolid s;
  s.role = role;
  s.axis = axis;
  s.at = line;
  const Axis u = lattice::u_axis(axis), v = lattice::v_axis(axis);
  const auto slab = [&](double u0, double u1, double v0, double v1) {
    Slab b;
    b.low_hp[at(axis)] = from_hp;
    b.high_hp[at(axis)] = to_hp;
    b.low_hp[at(u)] = line.u_hp + u0;
    b.high_hp[at(u)] = line.u_hp + u1;
    b.low_hp[at(v)] = line.v_hp + v0;
    b.high_hp[at(v)] = line.v_hp + v1;
    return b;
  };
  s.hull = slab(-radius_hp, radius_hp, -radius_hp, radius_hp);
  const int rows = static_cast<int>(std::ceil(radius_hp / slab_hp - kTouchHp));
  for (int r = -rows; r < rows; ++r) {
    const double low = r * slab_hp, high = low + slab_hp;
    const double wide = half_width(radius_hp, low, high);
    if (wide <= 0) continue;
    const double v0 = std::max(low, -radius_hp), v1 = std::min(high, radius_hp);
    // Free inside: as wide as the opening is over the whole row, at its farthest from the middle.
    const double far = std::max(std::abs(low), std::abs(high));
    const double open = far < open_hp ? std::sqrt(open_hp * open_hp - far * far) : 0;
    if (open > 0) {
      s.slabs.push_back(slab(-wide, -open, v0, v1));
      s.slabs.push_back(slab(open, wide, v0, v1));
    } else {
      s.slabs.push_back(slab(-wide, wide, v0, v1));
    }
  }
  return s;
}

/// Wheels that are known by their teeth alone are called gears.
std::string name_of(const routing::Wheel& wheel) {
  const bool bare = !wheel.name.empty() && wheel.name.find_first_not_of("0123456789") == std::string::npos;
  return bare ? "gear " + wheel.name : wheel.name;
}

}  // namespace

Assembly assembly_of(const routing::Problem& p, const routing::Layout& l) {
  Assembly out;
  const double half_mm = p.kit.half_pitch_mm();
  const double slab_hp = std::max(kThinnestSlabHp, kSlabShare * p.kit.clearance_mm / half_mm);
  const auto add = [&](Piece piece, std::vector<PieceSolid> solids) {
    out.pieces.push_back(std::move(piece));
    out.solids.push_back(std::move(solids));
    return static_cast<int>(out.pieces.size()) - 1;
  };

  // Walls with the blocks round their bearings; two shafts on one line share a block.
  std::map<std::pair<Axis, int>, std::vector<Cross>> walls;
  for (const routing::PlacedShaft& s : l.shafts) {
    for (const int w : s.bearings_hp) walls[{s.axis, w}].push_back(s.at);
  }
  for (auto& [wall, holes] : walls) {
    std::sort(holes.begin(), holes.end());
    holes.erase(std::unique(holes.begin(), holes.end()), holes.end());
    const auto [axis, middle] = wall;
    std::vector<PieceSolid> blocks;
    for (const Cross c : holes) {
      blocks.push_back(block(Role::bearing, axis, c,
                             {lattice::point(axis, {c.u_hp - 1, c.v_hp - 1}, middle - 1),
                              lattice::point(axis, {c.u_hp + 1, c.v_hp + 1}, middle + 1)}));
    }
    Piece piece;
    piece.kind = PieceKind::wall;
    piece.name = fmt::format("wall at {} {}", lattice::letter(axis), routing::pitches_text(middle));
    piece.index = middle;
    piece.axis = axis;
    piece.from_hp = middle - 1;
    piece.to_hp = middle + 1;
    piece.holes = holes;
    add(std::move(piece), std::move(blocks));
  }

  const std::vector<routing::HeldBy> held = routing::terminals(p, l);
  std::vector<int> body_of;
  for (std::size_t t = 0; t < held.size(); ++t) {
    const routing::Terminal& terminal = *held[t].terminal;
    const Cross line = lattice::across(terminal.axis, terminal.face);
    std::vector<PieceSolid> blocks;
    double from = terminal.face.at(terminal.axis), to = from;
    for (const lattice::Box3& b : terminal.solids) {
      blocks.push_back(block(Role::terminal, terminal.axis, line, b));
      from = std::min<double>(from, b.low.at(terminal.axis));
      to = std::max<double>(to, b.high.at(terminal.axis));
    }
    body_of.push_back(add({PieceKind::body,
                           terminal.name.empty() ? "motor" : terminal.name,
                           held[t].shaft,
                           static_cast<int>(t),
                           terminal.axis,
                           line,
                           from,
                           to,
                           {}},
                          std::move(blocks)));
  }

  std::vector<int> piece_of_wheel(l.wheels.size(), -1);
  const auto add_wheel = [&](std::size_t w) {
    const routing::PlacedWheel& wheel = l.wheels[w];
    const routing::Wheel& kind = p.kit.wheels.at(static_cast<std::size_t>(wheel.wheel));
    piece_of_wheel[w] =
        add({kind.ring ? PieceKind::ring : PieceKind::wheel,
             name_of(kind),
             wheel.shaft,
             static_cast<int>(w),
             wheel.axis,
             wheel.at,
             wheel.from_hp,
             wheel.to_hp,
             {}},
            {round(kind.ring ? Role::ring : Role::wheel, wheel.axis, wheel.at, wheel.from_hp, wheel.to_hp,
                   kind.outer_radius_mm / half_mm, kind.open_radius_mm / half_mm, slab_hp)});
  };
  for (std::size_t w = 0; w < l.wheels.size(); ++w) {
    if (l.wheels[w].shaft < 0) add_wheel(w);
  }

  // Shaft by shaft, in the order of the letters.
  const std::vector<std::string> names = routing::shaft_names(l);
  std::vector<std::size_t> by_letter(l.shafts.size());
  for (std::size_t i = 0; i < by_letter.size(); ++i) by_letter[i] = i;
  std::sort(by_letter.begin(), by_letter.end(), [&](std::size_t a, std::size_t b) {
    return std::pair(names[a].size(), names[a]) < std::pair(names[b].size(), names[b]);
  });
  // By the end of the shaft; the same piece twice unless two axles are joined.
  std::vector<std::array<int, 2>> axle_of(l.shafts.size(), {-1, -1});
  for (const std::size_t i : by_letter) {
    const routing::PlacedShaft& s = l.shafts[i];
    const int shaft = static_cast<int>(i);
    const auto part = [&](PieceKind kind, std::string name, int index, Role role, double from, double to,
                          double radius_mm) {
      return add({kind, std::move(name), shaft, index, s.axis, s.at, from, to, {}},
                 {round(role, s.axis, s.at, from, to, radius_mm / half_mm, 0, slab_hp)});
    };
    const auto axle = [&](int which, double from, double to) {
      return part(PieceKind::axle,
                  fmt::format("{}-pitch axle", p.kit.axles.at(static_cast<std::size_t>(which)).length_p), -1,
                  Role::axle, from, to, p.kit.axle_radius_mm);
    };
    // Two axles in a joiner go in one by one, and the joiner onto them like a bush.
    const std::optional<int> joint = routing::joint_hp(p.kit, s);
    const routing::AxleStock& stock = p.kit.axles.at(static_cast<std::size_t>(s.axle));
    axle_of[i].fill(joint ? axle(stock.low_part, s.from_hp, *joint) : axle(s.axle, s.from_hp, s.to_hp));
    if (joint) {
      axle_of[i][1] = axle(stock.high_part, *joint, s.to_hp);
      part(PieceKind::bush, std::string(kJoiner), static_cast<int>(s.bushes_hp.size()), Role::bush,
           *joint - p.kit.joiner_hp / 2.0, *joint + p.kit.joiner_hp / 2.0, p.kit.bush_radius_mm);
    }
    for (std::size_t w = 0; w < l.wheels.size(); ++w) {
      if (l.wheels[w].shaft == shaft) add_wheel(w);
    }
    for (std::size_t b = 0; b < s.bushes_hp.size(); ++b) {
      part(PieceKind::bush, "bush", static_cast<int>(b), Role::bush, s.bushes_hp[b], s.bushes_hp[b] + p.kit.bush_hp,
           p.kit.bush_radius_mm);
    }
    if (s.output < 0) continue;
    const auto o = static_cast<std::size_t>(s.output);
    const routing::Place& place = p.outputs.at(o).places.at(static_cast<std::size_t>(l.place.at(o)));
    for (std::size_t a = 0; a < place.attachments.size(); ++a) {
      const routing::Attachment& on = place.attachments[a];
      part(PieceKind::attachment, on.name, static_cast<int>(a), Role::attachment, on.from_hp, on.to_hp, on.radius_mm);
    }
  }

  for (std::size_t t = 0; t < held.size(); ++t) {
    if (held[t].shaft < 0) continue;
    const int direction = held[t].terminal->direction;
    out.terminals.push_back({body_of[t],
                             axle_of[static_cast<std::size_t>(held[t].shaft)][direction > 0 ? 0 : 1],
                             {held[t].terminal->axis, direction}});
  }
  for (const routing::PlacedMesh& m : l.meshes) {
    out.meshes.push_back({piece_of_wheel.at(static_cast<std::size_t>(m.driver)),
                          piece_of_wheel.at(static_cast<std::size_t>(m.driven)),
                          p.kit.pairs.at(static_cast<std::size_t>(m.pair)).type});
  }
  return out;
}

}  // namespace assembly
