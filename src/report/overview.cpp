#include "report/overview.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <set>

#include "base/text.h"
#include "brief/body_tree.h"

namespace report {
namespace {

using brief::Vec3;
using lattice::Axis;
using lattice::Point3;

/// Unit cells as few boxes: runs along x, equal runs joined along y, equal layers along z.
std::vector<lattice::Box3> joined(const std::vector<Point3>& cells) {
  struct Run {
    int from = 0, to = 0;
  };
  std::map<std::pair<int, int>, std::vector<Run>> rows;  // by z, y
  std::vector<Point3> sorted = cells;
  std::sort(sorted.begin(), sorted.end(), [](const Point3& a, const Point3& b) {
    return std::array{a.z_hp, a.y_hp, a.x_hp} < std::array{b.z_hp, b.y_hp, b.x_hp};
  });
  for (const Point3& c : sorted) {
    auto& runs = rows[{c.z_hp, c.y_hp}];
    if (!runs.empty() && runs.back().to == c.x_hp) {
      ++runs.back().to;
    } else {
      runs.push_back({c.x_hp, c.x_hp + 1});
    }
  }
  std::vector<lattice::Box3> flat, out;
  for (const auto& [zy, runs] : rows) {
    for (const Run& r : runs) {
      const auto same = std::find_if(flat.rbegin(), flat.rend(), [&, &zy = zy](const lattice::Box3& b) {
        return b.low.z_hp == zy.first && b.high.y_hp == zy.second && b.low.x_hp == r.from && b.high.x_hp == r.to;
      });
      if (same != flat.rend()) {
        ++same->high.y_hp;
      } else {
        flat.push_back({{r.from, zy.second, zy.first}, {r.to, zy.second + 1, zy.first + 1}});
      }
    }
  }
  for (const lattice::Box3& f : flat) {
    const auto same = std::find_if(out.rbegin(), out.rend(), [&](const lattice::Box3& b) {
      return b.high.z_hp == f.low.z_hp && b.low.x_hp == f.low.x_hp && b.high.x_hp == f.high.x_hp &&
             b.low.y_hp == f.low.y_hp && b.high.y_hp == f.high.y_hp;
    });
    if (same != out.rend()) {
      ++same->high.z_hp;
    } else {
      out.push_back(f);
    }
  }
  return out;
}

Solid solid_of(const brief::Brief& brief, int lattice_body, const lattice::Box3& box) {
  const Vec3 o = brief::lattice_origin_mm(brief.bodies, lattice_body);
  const double half = brief.system().pitch_mm / 2;
  Solid out;
  out.body = lattice_body;
  out.low_mm = {o.x_mm + half * box.low.x_hp, o.y_mm + half * box.low.y_hp, o.z_mm + half * box.low.z_hp};
  out.high_mm = {o.x_mm + half * box.high.x_hp, o.y_mm + half * box.high.y_hp, o.z_mm + half * box.high.z_hp};
  return out;
}

const candidate::RunningGear* running_gear(const std::vector<assessment::Chosen>& chosen) {
  for (const assessment::Chosen& c : chosen) {
    if (c.candidate != nullptr && c.candidate->running_gear) return c.candidate->running_gear.get();
  }
  return nullptr;
}

constexpr double kLetter = 11, kSmall = 10;

struct View {
  const char* name;
  Axis right, up;
  Axis depth() const { return lattice::other(right, up); }
};
constexpr View kAbove{"from above", Axis::x, Axis::y};
constexpr View kSide{"from the right", Axis::x, Axis::z};
constexpr View kFront{"from the front", Axis::y, Axis::z};

class Drawer {
 public:
  Drawer(Svg& svg, const brief::Brief& brief, const std::vector<assessment::Chosen>& chosen,
         const std::vector<Solid>& solids, const Extent& extent, double scale)
      : svg_(svg), brief_(brief), chosen_(chosen), solids_(solids), extent_(extent), scale_(scale) {}

  /// `corner`: upper left of the view's extent on the paper.
  void draw(const View& view, Pixel corner) {
    view_ = view;
    corner_ = corner;
    const double pitch = brief_.system().pitch_mm;
    svg_.open_view(std::string{"xyz"[lattice::index(view.right)], "xyz"[lattice::index(view.up)]}, at({0, 0, 0}),
                   scale_ * pitch);
    holes();
    for (const Solid::Type type : {Solid::Type::function, Solid::Type::placed, Solid::Type::envelope}) {
      for (const Solid& s : solids_) {
        if (s.type == type) solid(s);
      }
    }
    wheels();
    if (view.up == Axis::z) {
      const Pixel a = at(extent_.low_mm), b = at(extent_.high_mm);
      const double y = at({0, 0, 0}).y;
      svg_.line({a.x - 10, y}, {b.x + 10, y}, {ink::kText, 1.4, "none", "", 1});
    } else {
      for (const Vec3& p : brief_.support.points_mm) {
        const Pixel q = at(p);
        svg_.line({q.x - 4, q.y}, {q.x + 4, q.y}, {ink::kBad, 1.2, "none", "", 1});
        svg_.line({q.x, q.y - 4}, {q.x, q.y + 4}, {ink::kBad, 1.2, "none", "", 1});
      }
    }
    pivots();
    svg_.close_group();
    svg_.text({corner.x, corner.y - 8}, view.name, {kLetter, Anchor::start, ink::kText, true, true});
  }

 private:
  [[nodiscard]] Pixel at(const Vec3& p) const {
    return {corner_.x + (p.along(view_.right) - extent_.low_mm.along(view_.right)) * scale_,
            corner_.y + (extent_.high_mm.along(view_.up) - p.along(view_.up)) * scale_};
  }
  void holes() {
    const double pitch = brief_.system().pitch_mm;
    const int step = pitch * scale_ >= 5 ? 1 : 5;
    const auto first = [&](double v) { return static_cast<int>(std::ceil(v / pitch / step - 1e-9)) * step; };
    for (int u = first(extent_.low_mm.along(view_.right)); u * pitch <= extent_.high_mm.along(view_.right); u += step) {
      for (int v = first(extent_.low_mm.along(view_.up)); v * pitch <= extent_.high_mm.along(view_.up); v += step) {
        const double x = corner_.x + (u * pitch - extent_.low_mm.along(view_.right)) * scale_;
        const double y = corner_.y + (extent_.high_mm.along(view_.up) - v * pitch) * scale_;
        svg_.circle({x, y}, step == 1 ? 0.8 : 1.0, {"none", 0, "#98a2b1", "", 1});
      }
    }
  }
  void solid(const Solid& s) {
    const Pixel a = at(s.low_mm), b = at(s.high_mm);
    const Pixel corner{a.x, b.y};
    if (s.type == Solid::Type::function) {
      svg_.rect(corner, b.x - a.x, a.y - b.y, {"none", 0, colour_of_function(s.function), "", 0.55});
    } else if (s.type == Solid::Type::placed) {
      svg_.rect(corner, b.x - a.x, a.y - b.y, {ink::kFaint, 1, "none", "3 2", 1});
    } else {
      svg_.rect(corner, b.x - a.x, a.y - b.y, {ink::kText, 1.1, "none", "", 1});
    }
  }
  void wheels() {
    const candidate::RunningGear* gear = running_gear(chosen_);
    if (gear == nullptr) return;
    const Style style{ink::kText, 1.2, "none", "", 1};
    for (const candidate::RunningGear::Wheel& w : gear->wheels) {
      if (view_.up == Axis::z && view_.right == Axis::x) {
        svg_.circle(at({w.x_mm, 0, w.axle_height_mm}), w.radius_mm * scale_, style);
        continue;
      }
      const double half = std::max(gear->width_mm, 2.0) / 2;
      for (const double side : {-1.0, 1.0}) {
        const double y = side * gear->gauge_mm / 2;
        const Pixel a = at({w.x_mm - w.radius_mm, y - half, w.axle_height_mm - w.radius_mm});
        const Pixel b = at({w.x_mm + w.radius_mm, y + half, w.axle_height_mm + w.radius_mm});
        svg_.rect({a.x, b.y}, b.x - a.x, a.y - b.y, style);
      }
    }
  }
  void pivots() {
    for (const brief::Body& b : brief_.bodies) {
      const bool seen = (b.joint.type == brief::Joint::Type::pitch && view_.depth() == Axis::y) ||
                        (b.joint.type == brief::Joint::Type::slew && view_.depth() == Axis::z);
      if (!seen) continue;
      const Pixel q = at(b.joint.pivot_mm);
      svg_.circle(q, 3.6, {ink::kBad, 1.4, "#ffffff", "", 1});
      svg_.circle(q, 0.9, {"none", 0, ink::kBad, "", 1});
    }
  }

  Svg& svg_;
  const brief::Brief& brief_;
  const std::vector<assessment::Chosen>& chosen_;
  const std::vector<Solid>& solids_;
  const Extent& extent_;
  double scale_;
  View view_ = kSide;
  Pixel corner_;
};

/// A dimension with arrow heads, its figure in the middle of the line, along the paper or up it.
void dimension(Svg& svg, Pixel a, Pixel b, const std::string& text) {
  const Style style{ink::kFaint, 0.9, "none", "", 1};
  svg.line(a, b, style);
  const double length = std::hypot(b.x - a.x, b.y - a.y);
  if (length < 1e-9) return;
  const double ux = (b.x - a.x) / length, uy = (b.y - a.y) / length;
  const auto head = [&](Pixel tip, double way) {
    svg.polyline({tip,
                  {tip.x - way * 7 * ux - 2.2 * uy, tip.y - way * 7 * uy + 2.2 * ux},
                  {tip.x - way * 7 * ux + 2.2 * uy, tip.y - way * 7 * uy - 2.2 * ux}},
                 {"none", 0, ink::kFaint, "", 1}, true);
  };
  head(b, 1);
  head(a, -1);
  svg.text({(a.x + b.x) / 2, (a.y + b.y) / 2 + 3.8}, text, {kSmall, Anchor::middle, ink::kText, false, true});
}

}  // namespace

std::string_view colour_of_function(int function) {
  static constexpr std::array<std::string_view, 7> kColours{"#0072b2", "#e69f00", "#009e73", "#cc79a7",
                                                            "#56b4e9", "#d55e00", "#f0e442"};
  return kColours[static_cast<std::size_t>(std::max(function, 0)) % kColours.size()];
}

std::vector<Solid> solids_of(const brief::Brief& brief, const std::vector<assessment::Chosen>& chosen) {
  std::vector<Solid> out;
  for (std::size_t b = 0; b < brief.bodies.size(); ++b) {
    const brief::Body& body = brief.bodies[b];
    const Vec3 &c = body.centre_mm, &s = body.size_mm;
    if (s.x_mm <= 0 || s.y_mm <= 0 || s.z_mm <= 0) continue;
    Solid solid;
    solid.name = body.id;
    solid.body = static_cast<int>(b);
    solid.low_mm = {c.x_mm - s.x_mm / 2, c.y_mm - s.y_mm / 2, c.z_mm - s.z_mm / 2};
    solid.high_mm = {c.x_mm + s.x_mm / 2, c.y_mm + s.y_mm / 2, c.z_mm + s.z_mm / 2};
    out.push_back(std::move(solid));
  }
  for (std::size_t f = 0; f < chosen.size(); ++f) {
    if (chosen[f].candidate == nullptr) continue;
    for (const candidate::BodyCells& cells : chosen[f].candidate->cells) {
      for (const lattice::Box3& box : joined(cells.cells.list())) {
        Solid s = solid_of(brief, brief::lattice_body(brief.bodies, std::max(cells.body, 0)), box);
        s.type = Solid::Type::function;
        s.name = chosen[f].function->id;
        s.function = static_cast<int>(f);
        out.push_back(std::move(s));
      }
    }
  }
  for (const brief::Placed& p : brief.placed) {
    Solid s = solid_of(brief, p.body, p.box);
    s.type = Solid::Type::placed;
    s.name = p.id;
    out.push_back(std::move(s));
  }
  return out;
}

Extent extent_of(const brief::Brief& brief, const std::vector<assessment::Chosen>& chosen,
                 const std::vector<Solid>& solids) {
  Extent e{{1e300, 1e300, 0}, {-1e300, -1e300, 1}};
  const auto take = [&](const Vec3& p) {
    e.low_mm = {std::min(e.low_mm.x_mm, p.x_mm), std::min(e.low_mm.y_mm, p.y_mm), std::min(e.low_mm.z_mm, p.z_mm)};
    e.high_mm = {std::max(e.high_mm.x_mm, p.x_mm), std::max(e.high_mm.y_mm, p.y_mm), std::max(e.high_mm.z_mm, p.z_mm)};
  };
  for (const Solid& s : solids) {
    take(s.low_mm);
    take(s.high_mm);
  }
  for (const Vec3& p : brief.support.points_mm) take(p);
  for (const brief::Body& b : brief.bodies)
    take(b.joint.type == brief::Joint::Type::fixed ? b.centre_mm : b.joint.pivot_mm);
  if (const candidate::RunningGear* gear = running_gear(chosen)) {
    for (const candidate::RunningGear::Wheel& w : gear->wheels) {
      const double y = (gear->gauge_mm + gear->width_mm) / 2;
      take({w.x_mm - w.radius_mm, -y, w.axle_height_mm - w.radius_mm});
      take({w.x_mm + w.radius_mm, y, w.axle_height_mm + w.radius_mm});
    }
  }
  return e;
}

Svg overview_drawing(const brief::Brief& brief, const std::vector<assessment::Chosen>& chosen, double width) {
  const std::vector<Solid> solids = solids_of(brief, chosen);
  const Extent e = extent_of(brief, chosen, solids);
  const double length = e.high_mm.x_mm - e.low_mm.x_mm, wide = e.high_mm.y_mm - e.low_mm.y_mm;
  const double high = e.high_mm.z_mm - e.low_mm.z_mm;
  constexpr double kLeft = 54, kGap = 62, kTop = 26, kBetween = 58, kRight = 14;
  // Not so large that a squat machine fills a page.
  const double scale = std::min((width - kLeft - kGap - kRight) / (length + wide), 560 / (wide + high));
  const Pixel above{kLeft, kTop}, side{kLeft, kTop + wide * scale + kBetween};
  const Pixel front{kLeft + length * scale + kGap, side.y};
  const double foot = side.y + high * scale;

  struct Entry {
    std::string text, colour;
  };
  std::vector<Entry> legend;
  std::set<int> with_room;
  for (const Solid& s : solids) {
    if (s.type == Solid::Type::function) with_room.insert(s.function);
  }
  for (const int f : with_room)
    legend.push_back({brief.functions[static_cast<std::size_t>(f)].id, std::string(colour_of_function(f))});
  Svg svg(width, 0, "three views");
  Drawer drawer(svg, brief, chosen, solids, e, scale);
  drawer.draw(kAbove, above);
  drawer.draw(kSide, side);
  drawer.draw(kFront, front);

  const double pitch = brief.system().pitch_mm;
  const auto size_text = [&](double mm) {
    return fmt::format("{} mm ({} p)", base::plain(mm, 3), base::plain(mm / pitch, 3));
  };
  const double under = foot + 22;
  dimension(svg, {side.x, under}, {side.x + length * scale, under}, size_text(length));
  dimension(svg, {front.x, under}, {front.x + wide * scale, under}, size_text(wide));
  const auto upright = [&](double x, double from, double to, double mm) {
    dimension(svg, {x, to}, {x, from}, "");
    svg.text({x, (from + to) / 2 - 3}, base::plain(mm, 3), {kSmall, Anchor::middle, ink::kText, false, true});
    svg.text({x, (from + to) / 2 + 9}, "mm", {kSmall, Anchor::middle, ink::kText, false, true});
  };
  upright(kLeft - 28, side.y, foot, high);
  upright(kLeft - 28, above.y, above.y + wide * scale, wide);

  // Envelopes are named in the side view, each below the last where they would meet.
  struct Named {
    double left, right, y;
  };
  std::vector<Named> named;
  for (const Solid& s : solids) {
    if (s.type == Solid::Type::function) continue;
    const std::string text = fitted(s.name, 150, kSmall);
    double x = side.x + (s.low_mm.x_mm - e.low_mm.x_mm) * scale + 4;
    double y = side.y + (e.high_mm.z_mm - s.high_mm.z_mm) * scale + 12;
    const double w = text_width(text, kSmall);
    x = std::min(x, side.x + length * scale - w - 2);
    const auto meets = [&](const Named& n) {
      return x < n.right + 3 && n.left < x + w + 3 && std::fabs(n.y - y) < kSmall + 1;
    };
    for (int tries = 0; tries < 8 && std::any_of(named.begin(), named.end(), meets); ++tries) y += kSmall + 2;
    if (y > foot - 2 || std::any_of(named.begin(), named.end(), meets)) continue;
    named.push_back({x, x + w, y});
    svg.text({x, y}, text,
             {kSmall, Anchor::start, s.type == Solid::Type::placed ? ink::kFaint : ink::kText, false, true});
  }

  double x = kLeft, y = under + 26;
  const auto entry = [&](const std::string& text, const auto& sample) {
    const double w = 24 + text_width(text, kSmall) + 16;
    if (x + w > width - kRight && x > kLeft) {
      x = kLeft;
      y += 18;
    }
    sample(Pixel{x, y});
    svg.text({x + 22, y}, text, {kSmall, Anchor::start, ink::kText, false});
    x += w;
  };
  for (const Entry& k : legend)
    entry(k.text, [&](Pixel p) { svg.rect({p.x, p.y - 9}, 16, 10, {"none", 0, k.colour, "", 0.55}); });
  entry("envelope of a body", [&](Pixel p) { svg.rect({p.x, p.y - 9}, 16, 10, {ink::kText, 1.1, "none", "", 1}); });
  if (!brief.placed.empty())
    entry("placed thing", [&](Pixel p) { svg.rect({p.x, p.y - 9}, 16, 10, {ink::kFaint, 1, "none", "3 2", 1}); });
  entry("pivot", [&](Pixel p) { svg.circle({p.x + 8, p.y - 4}, 3.6, {ink::kBad, 1.4, "#ffffff", "", 1}); });
  const bool every = pitch * scale >= 5;
  entry(every ? "a hole" : "every fifth hole", [&](Pixel p) {
    svg.circle({p.x + 8, p.y - 4}, every ? 1.1 : 1.4, {"none", 0, "#6d7888", "", 1});
  });
  svg.set_height(y + 12);
  return svg;
}

}  // namespace report
