#include "assembly/checker.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>
#include <set>

#include "routing/checker_parts.h"

namespace assembly {
namespace {

using lattice::Axis;
using lattice::Way;
using routing::Block;
using routing::Cylinder;
using routing::Interval;
using routing::Shape;
using routing::Solid;
using routing::SolidKind;

constexpr double kTouchMm = 1e-6;

std::size_t at(Axis a) {
  return static_cast<std::size_t>(lattice::index(a));
}

/// What a solid shows along a way. A disc: seen along its axis, flat. A rectangle: from the side, either flat (a box)
/// or domed across `dome` (a cylinder lying down).
struct Shadow {
  bool disc = false;
  std::array<double, 2> centre{};  ///< disc; domed: the line's place across
  double radius = 0, open = 0;
  std::array<Interval, 2> rect{};  ///< bounding, of the disc too
  int dome = -1;                   ///< 0 or 1: coordinate across the lying cylinder's line
  double near = 0, far = 0;        ///< along the way, flat faces or the line's place when domed
};

Shadow shadow_of(const Shape& shape, Way way) {
  const std::array<Axis, 2> across{lattice::u_axis(way.axis), lattice::v_axis(way.axis)};
  const Block hull = routing::bounds(shape);
  Shadow s;
  s.rect = {hull.mm[at(across[0])], hull.mm[at(across[1])]};
  const Interval along = hull.mm[at(way.axis)];
  // Ahead is positive whichever way it goes.
  s.near = way.sign > 0 ? along.low : -along.high;
  s.far = way.sign > 0 ? along.high : -along.low;
  const auto* c = std::get_if<Cylinder>(&shape);
  if (c == nullptr) return s;
  s.radius = c->radius_mm;
  s.centre = {c->centre_mm[at(across[0])], c->centre_mm[at(across[1])]};
  if (c->axis == way.axis) {
    s.disc = true;
    s.open = c->open_mm;
    return s;
  }
  s.dome = c->axis == across[0] ? 1 : 0;
  s.near = s.far = way.sign * c->centre_mm[at(way.axis)];
  return s;
}

/// Least distance of an interval's points from p.
double least(Interval i, double p) {
  return i.distance(p);
}

/// Where the shadows of a disc and a rectangle overlap, the range of one coordinate; empty when they do not.
std::optional<Interval> common(const Shadow& disc, const Shadow& rect, int coordinate) {
  const auto k = static_cast<std::size_t>(coordinate), o = 1 - k;
  const double off = rect.rect[o].distance(disc.centre[o]);
  if (off >= disc.radius - kTouchMm) return std::nullopt;
  const double half = std::sqrt(disc.radius * disc.radius - off * off);
  const Interval out{std::max(rect.rect[k].low, disc.centre[k] - half),
                     std::min(rect.rect[k].high, disc.centre[k] + half)};
  if (out.high - out.low <= kTouchMm) return std::nullopt;
  return out;
}

/// How far a lying cylinder stands out over its line at the best place of a range across it.
double bulge(const Shadow& s, Interval range) {
  if (s.dome < 0) return 0;
  const double off = least(range, s.centre[static_cast<std::size_t>(s.dome)]);
  return off < s.radius ? std::sqrt(s.radius * s.radius - off * off) : 0;
}

/// Whether a solid that moves along the way to infinity passes through one that stands.
bool runs_into(const Shape& moving, const Shape& standing, Way way) {
  const Shadow m = shadow_of(moving, way), s = shadow_of(standing, way);
  if (m.disc && s.disc) {
    const double d = std::hypot(m.centre[0] - s.centre[0], m.centre[1] - s.centre[1]);
    if (d >= m.radius + s.radius - kTouchMm) return false;
    if (d + m.radius <= s.open + kTouchMm || d + s.radius <= m.open + kTouchMm) return false;
    return s.far > m.near + kTouchMm;
  }
  if (m.disc || s.disc) {
    const Shadow &disc = m.disc ? m : s, &rect = m.disc ? s : m;
    const auto range = common(disc, rect, rect.dome < 0 ? 0 : rect.dome);
    if (!range) return false;
    const double corner = std::hypot(rect.rect[0].farthest(disc.centre[0]), rect.rect[1].farthest(disc.centre[1]));
    if (corner <= disc.open + kTouchMm) return false;
    return s.far + (m.disc ? bulge(s, *range) : 0) > m.near - (m.disc ? 0 : bulge(m, *range)) + kTouchMm;
  }
  std::array<Interval, 2> both{};
  for (std::size_t k = 0; k < 2; ++k) {
    both[k] = {std::max(m.rect[k].low, s.rect[k].low), std::min(m.rect[k].high, s.rect[k].high)};
    if (both[k].high - both[k].low <= kTouchMm) return false;
  }
  if (m.dome >= 0 && m.dome == s.dome) {
    // Parallel cylinders, moved across: the least distance of the lines on the way out.
    const auto k = static_cast<std::size_t>(m.dome);
    const double beside = m.centre[k] - s.centre[k], behind = std::min(0.0, s.far - m.near);
    return std::hypot(beside, behind) < m.radius + s.radius - kTouchMm;
  }
  const double reach = s.dome < 0 ? 0 : bulge(s, both[static_cast<std::size_t>(s.dome)]);
  const double tail = m.dome < 0 ? 0 : bulge(m, both[static_cast<std::size_t>(m.dome)]);
  return s.far + reach > m.near - tail + kTouchMm;
}

/// The judge's own view of the layout: solids, and the piece of the order that each belongs to.
class Judge {
 public:
  Judge(const routing::Problem& p, const routing::Layout& l, const Order& o) : problem_(p), layout_(l), order_(o) {
    used_ = routing::terminals_of(p, l);
    for (Solid& s : routing::solids_of(p, l)) {
      if (s.kind == SolidKind::keep_out) continue;
      if (s.kind == SolidKind::axle) {  // two axles in a joiner are pieces of their own
        const routing::PlacedShaft& shaft = l.shafts[static_cast<std::size_t>(s.shaft)];
        if (const auto joint = routing::joint_hp(p.kit, shaft)) {
          Solid low = s;
          std::get<Cylinder>(low.shape).along_mm.high = *joint * p.kit.half_pitch_mm();
          std::get<Cylinder>(s.shape).along_mm.low = *joint * p.kit.half_pitch_mm();
          solids_.push_back(std::move(low));
        }
      }
      solids_.push_back(std::move(s));
    }
    owner_.assign(solids_.size(), -1);
    for (std::size_t s = 0; s < solids_.size(); ++s) {
      for (std::size_t i = 0; i < o.pieces.size(); ++i) {
        if (!belongs(solids_[s], o.pieces[i])) continue;
        if (owner_[s] >= 0) say(0, fmt::format("two pieces are the {}", routing::name_of(p, l, solids_[s])));
        owner_[s] = static_cast<int>(i);
      }
      if (owner_[s] < 0) say(0, fmt::format("no piece is the {}", routing::name_of(p, l, solids_[s])));
    }
    for (std::size_t i = 0; i < o.pieces.size(); ++i) {
      if (std::find(owner_.begin(), owner_.end(), static_cast<int>(i)) == owner_.end())
        say(0, fmt::format("the {} is no part of the layout", o.pieces[i].name));
    }
  }

  std::vector<std::string> run() {
    if (!faults_.empty()) return faults_;
    std::set<int> groups;
    for (const Step& s : order_.steps) groups.insert(s.made_up);
    for (const int g : groups) {
      std::set<int> there;
      replay(g, there);
      if (g >= 0) {
        for (std::size_t n = 0; n < order_.steps.size(); ++n) {
          const Step& s = order_.steps[n];
          if (s.group == g && std::set<int>(s.pieces.begin(), s.pieces.end()) != there && order_.complete())
            say(n + 1, "what is brought in is not what was made up");
        }
        continue;
      }
      for (std::size_t i = 0; i < order_.pieces.size(); ++i) {
        const bool locked =
            std::binary_search(order_.locked.pieces.begin(), order_.locked.pieces.end(), static_cast<int>(i));
        if (!there.contains(static_cast<int>(i)) && !locked)
          say(order_.steps.size(), "never put in: " + order_.pieces[i].name);
      }
    }
    for (std::size_t n = 0; n < order_.steps.size(); ++n) {
      const Step& s = order_.steps[n];
      if (s.group < 0) continue;
      for (std::size_t later = n + 1; later < order_.steps.size(); ++later) {
        if (order_.steps[later].made_up == s.group) say(n + 1, "brought in before it is made up");
      }
    }
    return faults_;
  }

 private:
  void say(std::size_t step, const std::string& what) { faults_.push_back(fmt::format("step {}: {}", step, what)); }

  /// Bearings belong to walls, the bodies of terminals to bodies, the rest to shafts.
  [[nodiscard]] bool belongs(const Solid& s, const Piece& p) const {
    const auto cylinder = [&]() -> const Cylinder& { return std::get<Cylinder>(s.shape); };
    const double half = problem_.kit.half_pitch_mm();
    const auto stands = [&] {
      const Cylinder& c = cylinder();
      return c.axis == p.axis && std::abs(c.along_mm.low - p.from_hp * half) < 1e-4 &&
             std::abs(c.along_mm.high - p.to_hp * half) < 1e-4;
    };
    switch (s.kind) {
      case SolidKind::axle:
        return p.kind == PieceKind::axle && p.shaft == s.shaft && stands();
      case SolidKind::bush:
      case SolidKind::joiner:
        return p.kind == PieceKind::bush && p.shaft == s.shaft && stands();
      case SolidKind::wheel:
        return (p.kind == PieceKind::wheel || p.kind == PieceKind::ring) && p.index == s.index && stands();
      case SolidKind::attachment:
        return p.kind == PieceKind::attachment && p.shaft == s.shaft && p.index == s.index && stands();
      case SolidKind::terminal:
        return p.kind == PieceKind::body && p.index == s.index;
      case SolidKind::bearing: {
        const routing::PlacedShaft& shaft = layout_.shafts[static_cast<std::size_t>(s.shaft)];
        const Interval along = routing::bounds(s.shape).mm[at(shaft.axis)];
        return p.kind == PieceKind::wall && p.axis == shaft.axis &&
               std::abs((along.low + along.high) / 2 - p.index * half) < 1e-4;
      }
      case SolidKind::keep_out:
        break;
    }
    return false;
  }

  /// The line a solid of a shaft sits on, by axis.
  [[nodiscard]] bool on_one_line(const Solid& a, const Solid& b) const {
    const auto line = [&](const Solid& s) {
      if (s.kind == SolidKind::wheel) {
        const routing::PlacedWheel& w = layout_.wheels[static_cast<std::size_t>(s.index)];
        return std::pair(w.axis, w.at);
      }
      const routing::PlacedShaft& shaft = layout_.shafts[static_cast<std::size_t>(s.shaft)];
      return std::pair(shaft.axis, shaft.at);
    };
    return line(a) == line(b);
  }

  /// Meshing wheels: rules of docs/theory/assembly.md, over the vector between their middles.
  [[nodiscard]] std::optional<bool> teeth_hold(const Solid& a, const Solid& b, Way way) const {
    if (a.kind != SolidKind::wheel || b.kind != SolidKind::wheel) return std::nullopt;
    for (const routing::PlacedMesh& m : layout_.meshes) {
      const bool drives = m.driver == a.index && m.driven == b.index;
      if (!drives && !(m.driver == b.index && m.driven == a.index)) continue;
      const Cylinder &ca = std::get<Cylinder>(a.shape), &cb = std::get<Cylinder>(b.shape);
      std::array<double, 3> apart{}, ma = ca.centre_mm, mb = cb.centre_mm;
      ma[at(ca.axis)] = (ca.along_mm.low + ca.along_mm.high) / 2;
      mb[at(cb.axis)] = (cb.along_mm.low + cb.along_mm.high) / 2;
      for (std::size_t k = 0; k < 3; ++k) apart[k] = (ma[k] - mb[k]) * way.sign;
      const double along = apart[at(way.axis)];
      switch (problem_.kit.pairs[static_cast<std::size_t>(m.pair)].type) {
        case routing::PairType::ring_inner:
          return way.axis != ca.axis;
        case routing::PairType::spur:
        case routing::PairType::ring_outer: {
          if (way.axis == ca.axis) return false;
          apart[at(ca.axis)] = 0;
          // Within the pressure angle of the line of centres: tan of the angle between the two.
          const double beside = std::hypot(apart[0], apart[1], apart[2]);
          const double off = std::sqrt(std::max(0.0, beside * beside - along * along));
          return along <= 0 || off > along * std::tan(20 * std::numbers::pi / 180) + kTouchMm;
        }
        case routing::PairType::bevel:
        case routing::PairType::crown:
          return (way.axis != ca.axis && way.axis != cb.axis) || along <= 0;
        case routing::PairType::worm: {
          const Axis worm = drives ? ca.axis : cb.axis, wheel = drives ? cb.axis : ca.axis;
          if (way.axis == wheel) return false;
          return way.axis == worm || along <= 0;
        }
      }
    }
    return std::nullopt;
  }

  /// An axle in its motor or actuator: only along it, out of the face.
  [[nodiscard]] std::optional<bool> terminal_holds(const Solid& a, const Solid& b, Way way) const {
    const bool first = a.kind == SolidKind::terminal && b.kind == SolidKind::axle;
    if (!first && !(b.kind == SolidKind::terminal && a.kind == SolidKind::axle)) return std::nullopt;
    const Solid &body = first ? a : b, &axle = first ? b : a;
    const routing::UsedTerminal& t = used_[static_cast<std::size_t>(body.index)];
    if (t.shaft != axle.shaft) return std::nullopt;
    const int out = first ? -t.terminal->direction : t.terminal->direction;
    return way.axis != t.terminal->axis || way.sign != out;
  }

  [[nodiscard]] bool blocked(const Solid& moving, const Solid& standing, Way way) const {
    if (const auto held = teeth_hold(moving, standing, way)) return *held;
    if (const auto held = terminal_holds(moving, standing, way)) return *held;
    const auto bored = [](const Solid& s) {
      return s.kind == SolidKind::bush || s.kind == SolidKind::joiner || s.kind == SolidKind::bearing ||
             s.kind == SolidKind::attachment || (s.kind == SolidKind::wheel && s.shaft >= 0);
    };
    const auto through = [&](const Solid& axle, const Solid& hole) {
      return axle.kind == SolidKind::axle && bored(hole) && on_one_line(axle, hole) &&
             layout_.shafts[static_cast<std::size_t>(axle.shaft)].axis == way.axis;
    };
    if (through(moving, standing) || through(standing, moving)) return false;
    return runs_into(moving.shape, standing.shape, way);
  }

  /// Undoes the move `in` of `pieces` with `there` standing, and says what it meets.
  void move(std::size_t step, const std::vector<int>& pieces, Way in, const std::set<int>& there) {
    const Way out{in.axis, -in.sign};
    for (std::size_t m = 0; m < solids_.size(); ++m) {
      if (std::find(pieces.begin(), pieces.end(), owner_[m]) == pieces.end()) continue;
      for (std::size_t s = 0; s < solids_.size(); ++s) {
        if (!there.contains(owner_[s]) || !blocked(solids_[m], solids_[s], out)) continue;
        say(step, fmt::format("the {}, moved {}, runs into the {}", routing::name_of(problem_, layout_, solids_[m]),
                              lattice::name_of(in), routing::name_of(problem_, layout_, solids_[s])));
      }
    }
  }

  void put(std::size_t step, int piece, std::set<int>& there) {
    if (piece < 0 || piece >= static_cast<int>(order_.pieces.size())) {
      say(step, fmt::format("there is no piece {}", piece));
    } else if (!there.insert(piece).second) {
      say(step, "put in twice: " + order_.pieces[static_cast<std::size_t>(piece)].name);
    }
  }

  /// All steps done in one place: in the machine (-1) or outside for a group.
  void replay(int where, std::set<int>& there) {
    for (std::size_t n = 0; n < order_.steps.size(); ++n) {
      const Step& s = order_.steps[n];
      if (s.made_up != where) continue;
      if (s.pieces.empty()) {
        say(n + 1, "nothing moves");
        continue;
      }
      for (const Held& h : s.held) {
        move(n + 1, {h.piece}, h.way, there);
        put(n + 1, h.piece, there);
      }
      move(n + 1, s.pieces, s.way, there);
      for (const int i : s.pieces) put(n + 1, i, there);
      // Whatever sits on an axle has it, once the step is done.
      for (const int i : there) {
        const Piece& p = order_.pieces[static_cast<std::size_t>(i)];
        if (p.kind != PieceKind::wheel && p.kind != PieceKind::bush && p.kind != PieceKind::attachment) continue;
        const bool has = std::any_of(there.begin(), there.end(), [&](int j) {
          const Piece& a = order_.pieces[static_cast<std::size_t>(j)];
          return a.kind == PieceKind::axle && a.shaft == p.shaft;
        });
        if (!has) say(n + 1, fmt::format("the {} is left without its axle", p.name));
      }
    }
  }

  const routing::Problem& problem_;
  const routing::Layout& layout_;
  const Order& order_;
  std::vector<routing::UsedTerminal> used_;
  std::vector<Solid> solids_;
  std::vector<int> owner_;
  std::vector<std::string> faults_;
};

}  // namespace

std::vector<std::string> check(const routing::Problem& problem, const routing::Layout& layout, const Order& order) {
  return Judge(problem, layout, order).run();
}

}  // namespace assembly
