#include "assessment/access.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>

#include "base/text.h"
#include "brief/body_tree.h"

namespace assessment {
namespace {

using lattice::Axis;
using lattice::Box3;
using lattice::Point3;
using lattice::Way;

/// Breadth of an adult's index finger at the tip and how deep it reaches, and the breadth of the hand behind it: from
/// memory of anthropometric tables, rounded to the safe side.
constexpr double kFinger_mm = 20, kFingerReach_mm = 65, kHand_mm = 90;
/// A pusher needs the room of a beam's hole with its rim, and stands out this far when pressed.
constexpr int kPusher_hp = 2, kPusherOut_p = 1;
/// How far a placed thing is moved to try for a free way.
constexpr int kMostMove_p = 4;

std::string named(const std::string& id) {
  return "\"" + id + "\"";
}

/// What stands on one body's lattice, and what else is near.
class Surroundings {
 public:
  Surroundings(const brief::Brief& brief, const std::vector<Chosen>& chosen, int body)
      : half_mm_(brief.system().pitch_mm / 2) {
    for (const Chosen& x : chosen) {
      if (x.candidate == nullptr) continue;
      for (const candidate::BodyCells& b : x.candidate->cells) {
        if (b.body != body) continue;
        const int owner = add_owner(fmt::format("function {}", named(x.function->id)));
        for (const Point3& c : b.cells) {
          cells_.emplace_back(c, owner);
          grow({c, {c.x_hp + 1, c.y_hp + 1, c.z_hp + 1}});
        }
      }
    }
    for (const brief::Placed& p : brief.placed) {
      if (p.body != body) continue;
      boxes_.push_back({p.box, add_owner(named(p.id)), p.id});
      grow(p.box);
    }
    for (const brief::Openable& o : brief.openables) {
      if (o.body != body) continue;
      doors_.push_back(&o);
      grow(o.box);
    }
    const brief::Vec3 origin_mm = brief::lattice_origin_mm(brief.bodies, body);
    for (std::size_t b = 0; b < brief.bodies.size(); ++b) {
      const brief::Body& other = brief.bodies[b];
      if (brief::lattice_body(brief.bodies, static_cast<int>(b)) == body) continue;
      if (!(other.size_mm.x_mm > 0 && other.size_mm.y_mm > 0 && other.size_mm.z_mm > 0)) continue;
      Box3 box;
      for (const Axis a : lattice::kAxes) {
        const double middle = other.centre_mm.along(a) - origin_mm.along(a), half = other.size_mm.along(a) / 2;
        box.low.set(a, static_cast<int>(std::floor((middle - half) / half_mm_ + 1e-6)));
        box.high.set(a, static_cast<int>(std::ceil((middle + half) / half_mm_ - 1e-6)));
      }
      moving_.emplace_back(box, other.id);
    }
    ground_hp_ = static_cast<int>(std::floor(-origin_mm.z_mm / half_mm_ + 1e-6));
    std::sort(cells_.begin(), cells_.end());
  }

  /// The same with the cells inside `region` alone, for asking often.
  [[nodiscard]] Surroundings near(const Box3& region) const {
    Surroundings out = *this;
    std::erase_if(out.cells_, [&](const auto& c) { return !lattice::holds(region, c.first); });
    return out;
  }

  [[nodiscard]] const Box3& hull() const { return hull_; }
  [[nodiscard]] double half_mm() const { return half_mm_; }

  /// What stands in the boxes (which do not overlap); `except` is the placed thing or openable that asks.
  [[nodiscard]] std::vector<Obstacle> in(const std::vector<Box3>& room, const std::string& except,
                                         bool closed_doors) const {
    std::map<int, int> counts;
    for (const auto& [cell, owner] : cells_) {
      for (const Box3& b : room) {
        if (lattice::holds(b, cell)) {
          ++counts[owner];
          break;
        }
      }
    }
    std::vector<Obstacle> out;
    for (const auto& [owner, n] : counts) out.push_back({owners_[static_cast<std::size_t>(owner)], n});
    const auto count_box = [&](const Box3& box, const std::string& what) {
      int n = 0;
      for (const Box3& b : room) n += common(b, box);
      if (n > 0) out.push_back({what, n});
    };
    for (const Solid& s : boxes_) {
      if (s.id != except) count_box(s.box, owners_[static_cast<std::size_t>(s.owner)]);
    }
    if (closed_doors) {
      for (const brief::Openable* o : doors_) {
        if (o->id != except) count_box(o->box, named(o->id) + " closed");
      }
    }
    std::stable_sort(out.begin(), out.end(), [](const Obstacle& a, const Obstacle& b) { return a.cells > b.cells; });
    return out;
  }

  /// What must be opened or moved aside before the room is free, and doors that are in the way even when open.
  void before(const Box3& room, std::vector<std::string>& first, std::vector<Obstacle>& obstacles) const {
    for (const brief::Openable* o : doors_) {
      if (!o->box.overlaps(room)) continue;
      int left = 0;
      for (const Box3& b : lattice::swept_boxes(o->box, o->axis, o->hinge, o->opens_rad, o->opens_rad))
        left += common(b, room);
      if (left > 0) {
        obstacles.push_back({named(o->id) + " even when open", left});
      } else {
        first.push_back("open " + named(o->id));
      }
    }
    for (const auto& [box, id] : moving_) {
      if (box.overlaps(room)) first.push_back("move " + named(id) + " aside");
    }
    if (room.low.z_hp < ground_hp_) first.push_back("lift the model");
  }

  [[nodiscard]] bool free(const Box3& room, const std::string& except) const {
    return in({room}, except, true).empty();
  }

  /// Coordinate of the outermost face of anything in the room along a way; the room's inner face when it is empty.
  [[nodiscard]] int outermost(const Box3& room, Way way, const std::string& except) const {
    const Axis a = way.axis;
    int at = way.sign > 0 ? room.low.at(a) : room.high.at(a);
    const auto take = [&](int low, int high) {
      at = way.sign > 0 ? std::max(at, std::min(high, room.high.at(a))) : std::min(at, std::max(low, room.low.at(a)));
    };
    for (const auto& [cell, owner] : cells_) {
      if (lattice::holds(room, cell)) take(cell.at(a), cell.at(a) + 1);
    }
    for (const Solid& s : boxes_) {
      if (s.id != except && s.box.overlaps(room)) take(s.box.low.at(a), s.box.high.at(a));
    }
    return at;
  }

 private:
  struct Solid {
    Box3 box;
    int owner = 0;
    std::string id;
  };

  static int common(const Box3& a, const Box3& b) {
    int n = 1;
    for (const Axis x : lattice::kAxes)
      n *= std::max(0, std::min(a.high.at(x), b.high.at(x)) - std::max(a.low.at(x), b.low.at(x)));
    return n;
  }

  int add_owner(std::string name) {
    const auto at = std::find(owners_.begin(), owners_.end(), name);
    if (at != owners_.end()) return static_cast<int>(at - owners_.begin());
    owners_.push_back(std::move(name));
    return static_cast<int>(owners_.size()) - 1;
  }

  void grow(const Box3& box) {
    hull_ = some_ ? lattice::hull_of(hull_, box) : box;
    some_ = true;
  }

  double half_mm_;
  int ground_hp_ = 0;
  bool some_ = false;
  Box3 hull_;
  std::vector<std::string> owners_;
  std::vector<std::pair<Point3, int>> cells_;
  std::vector<Solid> boxes_;
  std::vector<const brief::Openable*> doors_;
  std::vector<std::pair<Box3, std::string>> moving_;
};

std::vector<WayOut> ways_out(const brief::Placed& p, const Box3& box, const Surroundings& around) {
  std::vector<WayOut> out;
  for (const Way way : p.draws_out) {
    WayOut w{way, {}, {}};
    const Box3 room = lattice::passage(box, way, lattice::hull_of(around.hull(), box));
    w.obstacles = around.in({room}, p.id, false);
    around.before(room, w.first, w.obstacles);
    out.push_back(std::move(w));
  }
  return out;
}

/// Room round a line that leaves a thing's face: a square of `side_hp` round the middle of the square of `at_hp` at
/// `low`, from the face outwards.
Box3 column(const Box3& box, Way way, lattice::Cross low, int at_hp, int side_hp, int far_hp) {
  const int more = side_hp - at_hp, before = more / 2, after = more - before;
  const int face = way.sign > 0 ? box.high.at(way.axis) : box.low.at(way.axis);
  const int a = std::min(face, face + way.sign * far_hp), b = std::max(face, face + way.sign * far_hp);
  return {lattice::point(way.axis, {low.u_hp - before, low.v_hp - before}, a),
          lattice::point(way.axis, {low.u_hp + at_hp + after, low.v_hp + at_hp + after}, b)};
}

/// Low corners of all squares of `side_hp` whose middle lies on the face.
std::vector<lattice::Cross> squares_on(const Box3& box, Way way, int side_hp) {
  const lattice::Cross low = lattice::across(way.axis, box.low), high = lattice::across(way.axis, box.high);
  std::vector<lattice::Cross> out;
  for (int u = low.u_hp - side_hp; u <= high.u_hp; ++u)
    for (int v = low.v_hp - side_hp; v <= high.v_hp; ++v)
      if (2 * u + side_hp >= 2 * low.u_hp && 2 * u + side_hp <= 2 * high.u_hp && 2 * v + side_hp >= 2 * low.v_hp &&
          2 * v + side_hp <= 2 * high.v_hp)
        out.push_back({u, v});
  return out;
}

int cells_of_length(double length_mm, double half_mm) {
  return static_cast<int>(std::ceil(length_mm / half_mm - 1e-9));
}

/// Shortest axle left that is at least so long; 0 = none.
int axle_left_p(const brief::Brief& brief, const std::vector<PartLine>& parts, double least_p) {
  int best = 0;
  for (const PartLine& line : parts) {
    const auto* axle = std::get_if<stock::Axle>(&brief.catalogue->at(line.part).data);
    if (axle == nullptr || line.left() < 1 || axle->length_p < least_p - 1e-9) continue;
    if (best == 0 || axle->length_p < best) best = axle->length_p;
  }
  return best;
}

Press press_from(const brief::Placed& p, const Box3& box, Way way, const Surroundings& all, const brief::Brief& brief,
                 const std::vector<PartLine>& parts) {
  const double half_mm = all.half_mm();
  const int finger_hp = cells_of_length(kFinger_mm, half_mm), hand_hp = cells_of_length(kHand_mm, half_mm);
  const Box3 hull = lattice::hull_of(all.hull(), box);
  const int far_hp = 1 + (way.sign > 0 ? hull.high.at(way.axis) - box.high.at(way.axis)
                                       : box.low.at(way.axis) - hull.low.at(way.axis));
  const int face = way.sign > 0 ? box.high.at(way.axis) : box.low.at(way.axis);
  Box3 region = box;
  for (const lattice::Cross low : squares_on(box, way, finger_hp))
    region = lattice::hull_of(region, column(box, way, low, finger_hp, hand_hp, far_hp));
  const Surroundings around = all.near(region);
  const auto deep_mm = [&](const Box3& room) { return std::abs(around.outermost(room, way, p.id) - face) * half_mm; };

  Press best;
  best.way = way;
  const auto take = [&](Press::By by, double depth_mm, int pusher_p, const Box3& room) {
    if (best.by != Press::By::nothing && best.depth_mm <= depth_mm) return;
    Press next{way, by, depth_mm, pusher_p, {}, {}};
    around.before(room, next.first, next.obstacles);
    if (next.obstacles.empty()) best = std::move(next);
  };
  for (const lattice::Cross low : squares_on(box, way, finger_hp)) {
    const Box3 room = column(box, way, low, finger_hp, finger_hp, far_hp);
    const double depth_mm = deep_mm(column(box, way, low, finger_hp, hand_hp, far_hp));
    if (depth_mm <= kFingerReach_mm && around.in({room}, p.id, false).empty())
      take(Press::By::finger, depth_mm, 0, room);
  }
  if (best.by != Press::By::nothing) return best;

  Press blocked;
  blocked.way = way;
  std::optional<int> fewest;
  for (const lattice::Cross low : squares_on(box, way, kPusher_hp)) {
    const Box3 room = column(box, way, low, kPusher_hp, kPusher_hp, far_hp);
    const double depth_mm = deep_mm(column(box, way, low, kPusher_hp, finger_hp, far_hp));
    std::vector<Obstacle> in_way = around.in({room}, p.id, false);
    if (in_way.empty()) {
      const double least_p = depth_mm / (2 * half_mm) + kPusherOut_p;
      const int axle_p = axle_left_p(brief, parts, least_p);
      if (axle_p > 0) {
        take(Press::By::pusher, depth_mm, axle_p, room);
        continue;
      }
      in_way.push_back({fmt::format("no axle of {} p or more is left for a pusher", base::plain(least_p, 3)), 0});
    }
    int cells = 0;
    for (const Obstacle& o : in_way) cells += o.cells;
    if (fewest && *fewest <= cells) continue;
    fewest = cells;
    blocked.depth_mm = depth_mm;
    blocked.obstacles = std::move(in_way);
  }
  return best.by != Press::By::nothing ? best : blocked;
}

OpenableAccess opening(const brief::Openable& o, Axis axis, const Point3& hinge, double opens_rad,
                       const Surroundings& around) {
  OpenableAccess out{o.id, opens_rad * 180 / std::numbers::pi, opens_rad * 180 / std::numbers::pi, {}};
  const auto met = [&](double rad) { return around.in(lattice::swept_boxes(o.box, axis, hinge, 0, rad), o.id, true); };
  out.obstacles = met(opens_rad);
  if (out.obstacles.empty()) return out;
  const int most = static_cast<int>(std::floor(std::fabs(out.opens_deg)));
  const double sign = opens_rad < 0 ? -1 : 1;
  int low = -1, high = most + 1;  // free at low, not at high; -1: not even closed
  while (high - low > 1) {
    const int middle = (low + high) / 2;
    (met(sign * middle * std::numbers::pi / 180).empty() ? low : high) = middle;
  }
  out.free_deg = sign * std::max(low, 0);
  return out;
}

std::string obstacles_text(const std::vector<Obstacle>& obstacles) {
  std::vector<std::string> names;
  for (const Obstacle& o : obstacles) names.push_back(o.what);
  return base::list_text(names, "and");
}

bool served(const std::vector<WayOut>& ways) {
  return ways.empty() || std::any_of(ways.begin(), ways.end(), [](const WayOut& w) { return w.free(); });
}
bool served(const std::vector<Press>& presses) {
  return presses.empty() ||
         std::any_of(presses.begin(), presses.end(), [](const Press& p) { return p.by != Press::By::nothing; });
}

/// Moves the thing by whole and half pitches, the shortest move first, until it stands free and `good` holds.
template <class Good>
std::optional<Remedy> try_moves(const brief::Placed& p, const Surroundings& around, std::string what, Good good) {
  struct Move {
    Point3 by;
    int length_hp = 0;
  };
  std::vector<Move> moves;
  const int most = 2 * kMostMove_p;
  for (int x = -most; x <= most; ++x)
    for (int y = -most; y <= most; ++y)
      for (int z = -most; z <= most; ++z)
        if (const int length = std::abs(x) + std::abs(y) + std::abs(z); length > 0 && length <= most)
          moves.push_back({{x, y, z}, length});
  std::stable_sort(moves.begin(), moves.end(), [](const Move& a, const Move& b) { return a.length_hp < b.length_hp; });
  for (const Move& m : moves) {
    Box3 box = p.box;
    for (Point3* corner : {&box.low, &box.high})
      for (const Axis a : lattice::kAxes) corner->set(a, corner->at(a) + m.by.at(a));
    if (!around.free(box, p.id) || !good(box)) continue;
    std::vector<std::string> steps;
    for (const Axis a : lattice::kAxes) {
      if (m.by.at(a) == 0) continue;
      steps.push_back(fmt::format("{} p {}", base::plain(std::abs(m.by.at(a)) / 2.0),
                                  lattice::name_of(Way{a, m.by.at(a) > 0 ? 1 : -1})));
    }
    const auto range = [&](Axis a) { return numbers_value({box.low.at(a) / 2.0, box.high.at(a) / 2.0}); };
    return Remedy{fmt::format("move {} {}", named(p.id), base::list_text(steps, "and")),
                  std::move(what),
                  0,
                  1,
                  "",
                  true,
                  {{"placed", p.id, "box_p",
                    table_value({{"x", range(Axis::x)}, {"y", range(Axis::y)}, {"z", range(Axis::z)}})}}};
  }
  return std::nullopt;
}

void out_findings(const brief::Placed& p, const PlacedAccess& a, const Surroundings& around,
                  std::vector<Finding>& out) {
  if (a.ways.empty()) return;
  if (!served(a.ways)) {
    std::vector<std::string> reasons;
    for (const WayOut& w : a.ways)
      reasons.push_back(fmt::format("{}: {}", lattice::name_of(w.way), obstacles_text(w.obstacles)));
    Finding f{Finding::Severity::warning,
              "access.shut_in",
              fmt::format("{} cannot be drawn out; in the way stand {}.", named(p.id), base::list_text(reasons, "and")),
              "",
              {},
              {}};
    for (const WayOut& w : a.ways) {
      int cells = 0;
      for (const Obstacle& o : w.obstacles) cells += o.cells;
      f.numbers.push_back({std::string(lattice::name_of(w.way)), static_cast<double>(cells), "cells in the way"});
    }
    if (auto remedy = try_moves(p, around, "ways that are free",
                                [&](const Box3& box) { return served(ways_out(p, box, around)); }))
      f.remedies.push_back(*remedy);
    else
      f.text += fmt::format(" No move of {} p or less helps.", kMostMove_p);
    out.push_back(std::move(f));
    return;
  }
  const WayOut* best = nullptr;
  for (const WayOut& w : a.ways) {
    if (w.free() && (best == nullptr || w.first.size() < best->first.size())) best = &w;
  }
  if (best->first.empty()) return;
  out.push_back({Finding::Severity::note,
                 "access.moved_first",
                 fmt::format("{} comes out {} once you {}.", named(p.id), lattice::name_of(best->way),
                             base::list_text(best->first, "and")),
                 "",
                 {},
                 {}});
}

void press_findings(const brief::Placed& p, const PlacedAccess& a, const Surroundings& around,
                    const brief::Brief& brief, const std::vector<PartLine>& parts, std::vector<Finding>& out) {
  if (a.presses.empty()) return;
  if (!served(a.presses)) {
    std::vector<std::string> reasons;
    for (const Press& x : a.presses)
      reasons.push_back(fmt::format("from {}: {}", lattice::name_of(x.way), obstacles_text(x.obstacles)));
    Finding f{Finding::Severity::warning,
              "access.out_of_reach",
              fmt::format("Neither finger nor pusher reaches {}; {}.", named(p.id), base::list_text(reasons, "and")),
              "",
              {},
              {}};
    if (auto remedy = try_moves(p, around, "sides within reach", [&](const Box3& box) {
          std::vector<Press> presses;
          for (const Way way : p.pressed) presses.push_back(press_from(p, box, way, around, brief, parts));
          return served(presses);
        }))
      f.remedies.push_back(*remedy);
    else
      f.text += fmt::format(" No move of {} p or less helps.", kMostMove_p);
    out.push_back(std::move(f));
    return;
  }
  const Press* best = nullptr;
  for (const Press& x : a.presses) {
    if (x.by == Press::By::nothing) continue;
    if (best == nullptr || (x.by == Press::By::finger && best->by == Press::By::pusher)) best = &x;
  }
  const std::string first = best->first.empty() ? "" : ", once you " + base::list_text(best->first, "and");
  if (best->by == Press::By::pusher) {
    out.push_back(
        {Finding::Severity::note,
         "access.by_pusher",
         fmt::format("{} lies {} mm deep: from {} an axle of {} p, guided by two holes in line, reaches it{}.",
                     named(p.id), base::plain(best->depth_mm, 3), lattice::name_of(best->way), best->pusher_p, first),
         "",
         {{"depth", best->depth_mm, "mm"}, {"pusher", static_cast<double>(best->pusher_p), "p"}},
         {}});
  } else if (!first.empty()) {
    out.push_back({Finding::Severity::note,
                   "access.moved_first",
                   fmt::format("A finger reaches {} from {}{}.", named(p.id), lattice::name_of(best->way), first),
                   "",
                   {},
                   {}});
  }
}

void opening_findings(const brief::Openable& o, const OpenableAccess& a, const Surroundings& around,
                      std::vector<Finding>& out) {
  if (a.obstacles.empty()) return;
  Finding f{
      Finding::Severity::warning,
      "access.strikes",
      fmt::format("{} opens only {} of {} deg before it strikes {}.", named(o.id), base::plain(std::fabs(a.free_deg)),
                  base::plain(std::fabs(a.opens_deg)), obstacles_text(a.obstacles)),
      "",
      {{"free", std::fabs(a.free_deg), "deg"}, {"wanted", std::fabs(a.opens_deg), "deg"}},
      {}};
  // The hinge on the opposite edge, opening the other way round.
  for (const Axis across : lattice::kAxes) {
    if (across == o.axis) continue;
    Point3 hinge = o.hinge;
    hinge.set(across, o.box.low.at(across) + o.box.high.at(across) - o.hinge.at(across));
    if (hinge == o.hinge) continue;
    const OpenableAccess other = opening(o, o.axis, hinge, -o.opens_rad, around);
    if (std::fabs(other.free_deg) <= std::fabs(a.free_deg)) continue;
    f.remedies.push_back(
        {fmt::format("hinge {} at {} p and open it the other way", named(o.id), lattice::pitches_text(hinge)),
         "opening", std::fabs(a.free_deg), std::fabs(other.free_deg), "deg", other.obstacles.empty()});
  }
  std::stable_sort(f.remedies.begin(), f.remedies.end(),
                   [](const Remedy& x, const Remedy& y) { return x.after > y.after; });
  out.push_back(std::move(f));
}

}  // namespace

Access judge_access(const brief::Brief& brief, const std::vector<Chosen>& chosen, const std::vector<PartLine>& parts) {
  Access out;
  for (const brief::Placed& p : brief.placed) {
    const Surroundings around(brief, chosen, p.body);
    PlacedAccess a{p.id, ways_out(p, p.box, around), {}};
    for (const Way way : p.pressed) a.presses.push_back(press_from(p, p.box, way, around, brief, parts));
    out.placed.push_back(std::move(a));
  }
  for (const brief::Openable& o : brief.openables)
    out.openables.push_back(opening(o, o.axis, o.hinge, o.opens_rad, Surroundings(brief, chosen, o.body)));
  return out;
}

std::vector<Finding> access_findings(const brief::Brief& brief, const std::vector<Chosen>& chosen,
                                     const Assessment& assessment) {
  std::vector<Finding> out;
  for (std::size_t i = 0; i < brief.placed.size(); ++i) {
    const brief::Placed& p = brief.placed[i];
    const Surroundings around(brief, chosen, p.body);
    out_findings(p, assessment.access.placed[i], around, out);
    press_findings(p, assessment.access.placed[i], around, brief, assessment.parts, out);
  }
  for (std::size_t i = 0; i < brief.openables.size(); ++i) {
    const brief::Openable& o = brief.openables[i];
    opening_findings(o, assessment.access.openables[i], Surroundings(brief, chosen, o.body), out);
  }
  return out;
}

}  // namespace assessment
