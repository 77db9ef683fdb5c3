#include "brief/placed.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "base/text.h"
#include "brief/body_tree.h"
#include "brief/references.h"
#include "document/fields.h"

namespace brief {
namespace {

using document::Diagnostics;
using document::quoted;
using lattice::Box3;
using lattice::Way;

constexpr double kHair = 1e-9;

std::vector<Way> ways_of(const std::vector<project::LocatedText>& words, Diagnostics& d) {
  std::vector<Way> out;
  std::vector<std::string> names;
  for (const Way way : lattice::kWays) names.emplace_back(lattice::name_of(way));
  for (const project::LocatedText& word : words) {
    const auto way = lattice::way_of(word.text);
    if (!way) {
      const auto near = base::nearest_name(word.text, names);
      d.error("brief.unknown_way", word.where, word.path, fmt::format("{} is no way along the axes", quoted(word.text)),
              near ? quoted(*near) : "one of " + document::choices_text(names));
    } else if (std::find(out.begin(), out.end(), *way) == out.end()) {
      out.push_back(*way);
    }
  }
  return out;
}

/// All that may stand on a lattice: envelopes with what may stand out from them, rooms, placed things, openables.
Box3 hull_on(const Brief& brief, int body, double pitch_mm, Box3 hull) {
  const Vec3 origin_mm = lattice_origin_mm(brief.bodies, body);
  for (std::size_t b = 0; b < brief.bodies.size(); ++b) {
    if (lattice_body(brief.bodies, static_cast<int>(b)) != body) continue;
    const Body& own = brief.bodies[b];
    Box3 box;
    for (const lattice::Axis a : lattice::kAxes) {
      const double middle_mm = own.centre_mm.along(a) - origin_mm.along(a), half_mm = own.size_mm.along(a) / 2;
      box.low.set(a, static_cast<int>(std::floor(2 * (middle_mm - half_mm) / pitch_mm)) - kAround_hp);
      box.high.set(a, static_cast<int>(std::ceil(2 * (middle_mm + half_mm) / pitch_mm)) + kAround_hp);
    }
    hull = lattice::hull_of(hull, box);
  }
  for (const Function& f : brief.functions) {
    if (f.room && lattice_body(brief.bodies, f.body) == body) hull = lattice::hull_of(hull, *f.room);
  }
  for (const Placed& p : brief.placed) {
    if (p.body == body) hull = lattice::hull_of(hull, p.box);
  }
  for (const Openable& o : brief.openables) {
    if (o.body != body) continue;
    for (const Box3& b : o.swept) hull = lattice::hull_of(hull, b);
  }
  return hull;
}

}  // namespace

std::optional<Box3> build_room(const project::Room& room, Diagnostics& d) {
  if (room.where.line == 0) return std::nullopt;
  constexpr int kLeast_hp = 2;
  Box3 box;
  const std::array<const std::array<double, 2>*, 3> ranges{&room.x, &room.y, &room.z};
  for (const lattice::Axis a : lattice::kAxes) {
    const std::array<double, 2>& range = *ranges[static_cast<std::size_t>(lattice::index(a))];
    box.low.set(a, static_cast<int>(std::ceil(2 * range[0] - kHair)));
    box.high.set(a, static_cast<int>(std::floor(2 * range[1] + kHair)));
    if (box.high.at(a) - box.low.at(a) >= kLeast_hp) continue;
    d.error("brief.room_too_narrow", room.where, room.path,
            fmt::format("the room is {} pitches wide along {}; nothing stands in less than one",
                        base::plain(range[1] - range[0]), lattice::letter(a)),
            "widen it, or leave room_p out for the whole envelope of the body");
    return std::nullopt;
  }
  return box;
}

void build_placed(const project::Project& project, double pitch_mm, Brief& out, Diagnostics& d) {
  std::vector<const project::Placed*> from;
  for (const project::Placed& p : project.placed) {
    const auto box = build_room(p.box_p, d);
    Placed placed{p.id.text,
                  lattice_body(out.bodies, find_body(out.bodies, p.body, 0, d)),
                  box.value_or(Box3{}),
                  ways_of(p.draws_out, d),
                  ways_of(p.pressed, d),
                  std::nullopt};
    if (!box) continue;
    for (const Placed& other : out.placed) {
      if (other.body != placed.body || !other.box.overlaps(placed.box)) continue;
      d.error("brief.placed_in_placed", p.where, p.path,
              fmt::format("{} stands in {}: {} p and {} p", quoted(placed.id), quoted(other.id),
                          lattice::pitches_text(placed.box), lattice::pitches_text(other.box)),
              "move one of them");
    }
    from.push_back(&p);
    out.placed.push_back(std::move(placed));
  }
  for (const project::Openable& o : project.openables) {
    const auto box = build_room(o.box_p, d);
    if (!box || !o.hinge_p) continue;
    Openable open{o.id.text,    lattice_body(out.bodies, find_body(out.bodies, o.body, 0, d)),
                  *box,         o.axis,
                  {},           o.opens_deg * std::numbers::pi / 180,
                  o.keep_clear, {}};
    const std::array<double, 3> hinge = *o.hinge_p;
    for (const lattice::Axis a : lattice::kAxes) {
      const double at_hp = 2 * hinge[static_cast<std::size_t>(lattice::index(a))];
      open.hinge.set(a, static_cast<int>(std::llround(at_hp)));
      if (std::fabs(at_hp - open.hinge.at(a)) <= kHair) continue;
      d.error("brief.hinge_off_lattice", o.where, o.path,
              fmt::format("the hinge of {} is off the holes along {}: {} p", quoted(open.id), lattice::letter(a),
                          base::plain(at_hp / 2)),
              "whole and half pitches");
    }
    if (open.opens_rad == 0)
      d.error("brief.opens_nowhere", o.where, o.path, fmt::format("{} opens by 0 deg", quoted(open.id)),
              "give opens_deg, negative for the other sense");
    open.swept = lattice::swept_boxes(open.box, open.axis, open.hinge, 0, open.opens_rad);
    out.openables.push_back(std::move(open));
  }
  for (std::size_t i = 0; i < out.placed.size(); ++i) {
    Placed& p = out.placed[i];
    if (!from[i]->keep_clear) continue;
    if (p.draws_out.empty()) {
      if (!from[i]->draws_out.empty()) continue;  // unknown ways: told already
      d.error("brief.clear_for_nothing", from[i]->where, from[i]->path,
              fmt::format("keep_clear keeps a way free, but {} is not said to be drawn out", quoted(p.id)),
              "give draws_out, or leave keep_clear out");
      continue;
    }
    p.kept_clear = lattice::passage(p.box, p.draws_out.front(), hull_on(out, p.body, pitch_mm, p.box));
  }
}

std::vector<TakenRoom> Brief::taken_room() const {
  std::vector<TakenRoom> out;
  for (const Placed& p : placed) {
    out.push_back({p.body, p.box, p.id});
    if (p.kept_clear) out.push_back({p.body, *p.kept_clear, p.id});
  }
  for (const Openable& o : openables) {
    out.push_back({o.body, o.box, o.id});
    if (!o.keep_clear) continue;
    for (const Box3& b : o.swept) out.push_back({o.body, b, o.id});
  }
  return out;
}

}  // namespace brief
