#include "routing/labels.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace routing {
namespace {

bool holds(const Window& w, Spot p) {
  return p.right_mm > w.low.right_mm && p.right_mm < w.high.right_mm && p.up_mm > w.low.up_mm && p.up_mm < w.high.up_mm;
}

/// Does the segment from a to b meet the window? Liang-Barsky clipping.
bool meets(Spot a, Spot b, const Window& w) {
  double first = 0, last = 1;
  const auto clip = [&](double direction, double room) {
    if (direction == 0) return room >= 0;
    const double t = room / direction;
    if (direction < 0) {
      first = std::max(first, t);
    } else {
      last = std::min(last, t);
    }
    return first <= last;
  };
  const double dr = b.right_mm - a.right_mm, du = b.up_mm - a.up_mm;
  return clip(-dr, a.right_mm - w.low.right_mm) && clip(dr, w.high.right_mm - a.right_mm) &&
         clip(-du, a.up_mm - w.low.up_mm) && clip(du, w.high.up_mm - a.up_mm);
}

bool cross(Spot a, Spot b, Spot c, Spot d) {
  const auto side = [](Spot p, Spot q, Spot r) {
    return (q.right_mm - p.right_mm) * (r.up_mm - p.up_mm) - (q.up_mm - p.up_mm) * (r.right_mm - p.right_mm);
  };
  return side(a, b, c) * side(a, b, d) < 0 && side(c, d, a) * side(c, d, b) < 0;
}

double outside(const Window& box, const Window& free) {
  return std::max(0.0, free.low.right_mm - box.low.right_mm) + std::max(0.0, box.high.right_mm - free.high.right_mm) +
         std::max(0.0, free.low.up_mm - box.low.up_mm) + std::max(0.0, box.high.up_mm - free.high.up_mm);
}

}  // namespace

void LabelPlacer::mind(const std::vector<Spot>& points) {
  for (std::size_t i = 0; i < points.size(); ++i) {
    minded_.push_back(points[i]);
    if (i + 1 == points.size()) break;
    const Spot a = points[i], b = points[i + 1];
    const double length = std::hypot(b.right_mm - a.right_mm, b.up_mm - a.up_mm);
    const int pieces = static_cast<int>(length / (options_.text_mm / 2));
    for (int k = 1; k < pieces; ++k) {
      const double t = static_cast<double>(k) / pieces;
      minded_.push_back({a.right_mm + t * (b.right_mm - a.right_mm), a.up_mm + t * (b.up_mm - a.up_mm)});
    }
  }
}

Window LabelPlacer::box_of(const std::string& text, Spot middle, double size) const {
  const double half_w = options_.width_em(text) * options_.text_mm * size / 2, half_h = options_.text_mm * size * 0.62;
  return {{middle.right_mm - half_w, middle.up_mm - half_h}, {middle.right_mm + half_w, middle.up_mm + half_h}};
}

bool LabelPlacer::clear(const Window& box) const {
  const double gap = options_.text_mm * 0.2;
  const Window grown{{box.low.right_mm - gap, box.low.up_mm - gap}, {box.high.right_mm + gap, box.high.up_mm + gap}};
  const auto hit = [&](const Window& o) { return grown.overlaps(o); };
  return std::none_of(texts_.begin(), texts_.end(), hit) && std::none_of(blocks_.begin(), blocks_.end(), hit) &&
         std::none_of(leaders_.begin(), leaders_.end(), [&](const Line& l) { return meets(l.from, l.to, grown); });
}

bool LabelPlacer::under_text(Spot p) const {
  // The leader's dot too, not only its middle.
  const double dot = 0.3 * options_.text_mm;
  return std::any_of(texts_.begin(), texts_.end(), [&](const Window& t) {
    return holds({{t.low.right_mm - dot, t.low.up_mm - dot}, {t.high.right_mm + dot, t.high.up_mm + dot}}, p);
  });
}

double LabelPlacer::crossing_cost(const Line& leader) const {
  // A line through words costs what thirty letters of distance do, one across another leader what twenty do: farther
  // off the eye loses the leader anyway.
  const auto texts =
      std::count_if(texts_.begin(), texts_.end(), [&](const Window& t) { return meets(leader.from, leader.to, t); });
  const auto lines = std::count_if(leaders_.begin(), leaders_.end(),
                                   [&](const Line& l) { return cross(l.from, l.to, leader.from, leader.to); });
  return 15 * static_cast<double>(texts) + 10 * static_cast<double>(lines);
}

double LabelPlacer::cost(const Window& box) const {
  // In heights of a letter: a line under the text costs what one and a half letters of distance do, a place outside the
  // shown lattice half its distance.
  const auto covered = std::count_if(minded_.begin(), minded_.end(), [&](Spot p) { return holds(box, p); });
  // A line to keep off costs what twelve letters of distance do, wherever it crosses: a short text across one covers
  // hardly more of it than of air.
  const auto crossed =
      std::count_if(kept_off_.begin(), kept_off_.end(), [&](const Line& l) { return meets(l.from, l.to, box); });
  return 0.75 * static_cast<double>(covered) + 6 * static_cast<double>(crossed) + outside_cost(box);
}

double LabelPlacer::outside_cost(const Window& box) const {
  return 0.5 * outside(box, free_) / options_.text_mm;
}

void LabelPlacer::fix(std::string text, MarkRole role, Spot middle, std::vector<Mark>& marks, double size) {
  texts_.push_back(box_of(text, middle, size));
  Mark m;
  m.form = Mark::Form::text;
  m.role = role;
  m.points = {middle};
  m.size = size;
  m.width_mm = options_.width_em(text) * options_.text_mm * size;
  m.text = std::move(text);
  marks.push_back(std::move(m));
}

void LabelPlacer::place(const Request& q, std::vector<Mark>& marks) {
  const double h = options_.text_mm, half_w = options_.width_em(q.text) * h / 2, half_h = h * 0.62;
  // On a body of another name it costs what twenty letters of distance do.
  const auto misnames = [&](const Window& box) {
    return std::any_of(q.off.begin(), q.off.end(), [&](const Window& o) { return o.overlaps(box); }) ? 10.0 : 0.0;
  };
  double best = 1e300;
  Spot chosen;
  Line chosen_leader{};
  bool with_leader = false;
  for (std::size_t i = 0; i < q.preferred.size(); ++i) {
    const Window box = box_of(q.text, q.preferred[i]);
    if (!clear(box)) continue;
    const double c = cost(box) + misnames(box) + 0.05 * static_cast<double>(i);
    if (c < best) {
      best = c;
      chosen = q.preferred[i];
      with_leader = false;
    }
  }
  Spot anchor = q.anchor;
  if (under_text(anchor)) {
    const auto bare = std::find_if(q.or_at.begin(), q.or_at.end(), [&](Spot p) { return !under_text(p); });
    if (bare != q.or_at.end()) anchor = *bare;
  }
  constexpr int kDirections = 32;
  const double step = 0.8 * h;
  // Distance alone costs at least (ring) letters, so no ring farther out than the best cost can win.
  for (int ring = 0;; ++ring) {
    const double distance = q.reach_mm + h + ring * step;
    const double distance_cost = 1.5 + 0.5 * (distance - q.reach_mm) / h;
    if (distance_cost >= best) break;
    for (int k = 0; k < kDirections; ++k) {
      // Up to the right first, as one reads labels there.
      const double t = std::numbers::pi / 4 + 2 * std::numbers::pi * k / kDirections;
      const double dr = std::cos(t), du = std::sin(t);
      // The box touches the ring from outside: its middle lies beyond by its half extent along the direction.
      const double beyond = std::min(half_w / std::max(std::fabs(dr), 1e-9), half_h / std::max(std::fabs(du), 1e-9));
      const Spot tip{anchor.right_mm + distance * dr, anchor.up_mm + distance * du};
      const Spot middle{tip.right_mm + beyond * dr, tip.up_mm + beyond * du};
      const Window box = box_of(q.text, middle);
      // Cheap questions first: most places are taken or too dear before the lines under them are counted.
      if (distance_cost + outside_cost(box) >= best || !clear(box)) continue;
      double c = distance_cost + cost(box) + misnames(box);
      if (c >= best) continue;
      const double start = q.rim ? q.reach_mm : 0;
      const Line leader{{anchor.right_mm + start * dr, anchor.up_mm + start * du}, tip};
      c += crossing_cost(leader);
      if (c >= best) continue;
      best = c;
      chosen = middle;
      chosen_leader = leader;
      with_leader = true;
    }
  }
  if (with_leader) {
    leaders_.push_back(chosen_leader);
    Mark m;
    m.form = Mark::Form::line;
    m.role = q.role;
    m.leader = true;
    m.points = {chosen_leader.from, chosen_leader.to};
    marks.push_back(std::move(m));
  }
  fix(q.text, q.role, chosen, marks);
}

}  // namespace routing
