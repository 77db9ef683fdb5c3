#include "routing/drawing.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/check.h"
#include "base/text.h"
#include "routing/labels.h"
#include "routing/outline_union.h"
#include "routing/tables.h"
#include "routing/visibility.h"

namespace routing {
namespace {

std::size_t at(Axis a) {
  return static_cast<std::size_t>(index(a));
}

MarkRole role_of(PlacedSolid::Role r) {
  switch (r) {
    case PlacedSolid::Role::wheel:
      return MarkRole::wheel;
    case PlacedSolid::Role::ring:
      return MarkRole::ring;
    case PlacedSolid::Role::axle:
      return MarkRole::axle;
    case PlacedSolid::Role::bush:
      return MarkRole::bush;
    case PlacedSolid::Role::joiner:
      return MarkRole::joiner;
    case PlacedSolid::Role::bearing:
      return MarkRole::bearing;
    case PlacedSolid::Role::terminal:
      return MarkRole::terminal;
    case PlacedSolid::Role::attachment:
      return MarkRole::attachment;
  }
  return MarkRole::axle;
}

bool is_wheel(const PlacedSolid& s) {
  return s.role == PlacedSolid::Role::wheel || s.role == PlacedSolid::Role::ring;
}

/// What one view is made with; marks are added in the order of painting.
class Painter {
 public:
  Painter(const Problem& p, const Layout& l, const std::vector<PlacedSolid>& solids, const DrawingOptions& options,
          Sight sight, std::string name)
      : p_(p),
        l_(l),
        solids_(solids),
        options_(options),
        sight_(sight),
        scene_(solids, sight),
        labels_(options, window()) {
    view_.name = std::move(name);
    view_.right = sight.right;
    view_.up = sight.up;
    view_.lattice = window();
  }

  View paint(bool across_dimension, bool up_dimension) {
    measure_depth();
    walls();
    holes();
    keep_outs();
    areas();
    outlines();
    pitch_circles();
    centre_lines();
    edges();
    if (across_dimension) dimension(sight_.right);
    if (up_dimension) dimension(sight_.up);
    const double h = options_.text_mm;
    const double title_up = view_.lattice.high.up_mm + (across_dimension ? 4.4 : 1.4) * h;
    const double title_width = options_.width_em(view_.name) * h * kTitleSize;
    labels_.fix(view_.name, MarkRole::view_title, {view_.lattice.low.right_mm + title_width / 2, title_up}, view_.marks,
                kTitleSize);
    name_parts();
    name_shafts();
    name_misfits();
    view_.paper = extent();
    return std::move(view_);
  }

 private:
  static constexpr double kTitleSize = 1.15;

  /// Everything solid, outwards to half-pitches and one more.
  [[nodiscard]] Window window() const {
    const double half_mm = p_.kit.half_pitch_mm();
    Window w{{1e300, 1e300}, {-1e300, -1e300}};
    for (const PlacedSolid& s : solids_) {
      w.low.right_mm = std::min(w.low.right_mm, s.low_mm[at(sight_.right)]);
      w.low.up_mm = std::min(w.low.up_mm, s.low_mm[at(sight_.up)]);
      w.high.right_mm = std::max(w.high.right_mm, s.high_mm[at(sight_.right)]);
      w.high.up_mm = std::max(w.high.up_mm, s.high_mm[at(sight_.up)]);
    }
    const auto down = [&](double v) { return (std::floor(v / half_mm + 1e-9) - 1) * half_mm; };
    const auto up = [&](double v) { return (std::ceil(v / half_mm - 1e-9) + 1) * half_mm; };
    return {{down(w.low.right_mm), down(w.low.up_mm)}, {up(w.high.right_mm), up(w.high.up_mm)}};
  }

  void measure_depth() {
    nearest_ = -1e300;
    farthest_ = 1e300;
    for (const PlacedSolid& s : solids_) {
      nearest_ = std::max(nearest_, scene_.near_face_mm(s));
      farthest_ = std::min(farthest_, scene_.near_face_mm(s));
    }
  }
  [[nodiscard]] double depth(const PlacedSolid& s) const {
    return nearest_ > farthest_ ? (nearest_ - scene_.near_face_mm(s)) / (nearest_ - farthest_) : 0;
  }

  Mark& add(Mark::Form form, MarkRole role, std::vector<Spot> points) {
    Mark m;
    m.form = form;
    m.role = role;
    m.points = std::move(points);
    view_.marks.push_back(std::move(m));
    return view_.marks.back();
  }

  void walls() {
    const double half_mm = p_.kit.half_pitch_mm();
    for (const Axis a : {sight_.right, sight_.up}) {
      std::vector<int> used;
      for (const PlacedShaft& s : l_.shafts) {
        if (s.axis == a) used.insert(used.end(), s.bearings_hp.begin(), s.bearings_hp.end());
      }
      std::sort(used.begin(), used.end());
      used.erase(std::unique(used.begin(), used.end()), used.end());
      for (const int w : used) {
        Window band = view_.lattice;
        (a == sight_.right ? band.low.right_mm : band.low.up_mm) = (w - 1) * half_mm;
        (a == sight_.right ? band.high.right_mm : band.high.up_mm) = (w + 1) * half_mm;
        add(Mark::Form::rect, MarkRole::wall, {band.low, band.high}).fill = true;
      }
    }
  }

  void holes() {
    const Window& w = view_.lattice;
    const double pitch = p_.kit.pitch_mm;
    for (double v = std::ceil(w.low.up_mm / pitch - 1e-9); v * pitch <= w.high.up_mm + 1e-9; ++v) {
      for (double r = std::ceil(w.low.right_mm / pitch - 1e-9); r * pitch <= w.high.right_mm + 1e-9; ++r) {
        add(Mark::Form::circle, MarkRole::lattice_point, {{r * pitch, v * pitch}}).radius_mm = pitch / 40;
      }
    }
  }

  void keep_outs() {
    const double half_mm = p_.kit.half_pitch_mm();
    for (const Box3& b : p_.keep_outs) {
      const Window& w = view_.lattice;
      const Window seen{{std::max(w.low.right_mm, b.low.at(sight_.right) * half_mm),
                         std::max(w.low.up_mm, b.low.at(sight_.up) * half_mm)},
                        {std::min(w.high.right_mm, b.high.at(sight_.right) * half_mm),
                         std::min(w.high.up_mm, b.high.at(sight_.up) * half_mm)}};
      if (seen.width_mm() <= 0 || seen.height_mm() <= 0) continue;
      add(Mark::Form::rect, MarkRole::keep_out, {seen.low, seen.high}).fill = true;
      kept_free_.push_back(seen);
    }
    // Drawn as one: boxes of a swept path would else fill the sheet with stripes.
    std::vector<Piece> drawn;
    for (const Window& seen : kept_free_) {
      const std::vector<Spot> round{
          seen.low, {seen.high.right_mm, seen.low.up_mm}, seen.high, {seen.low.right_mm, seen.high.up_mm}, seen.low};
      for (const std::vector<Spot>& piece : outside_of(kept_free_, round, drawn)) {
        add(Mark::Form::polyline, MarkRole::keep_out, piece);
        labels_.mind(piece);
      }
    }
  }

  /// The boxes that make one body, as they are seen.
  [[nodiscard]] std::vector<Window> boxes_of_body(const PlacedSolid& s) const {
    std::vector<Window> boxes;
    for (const PlacedSolid& o : solids_) {
      if (o.role == s.role && !o.round && o.shaft == s.shaft && o.label == s.label)
        boxes.push_back({scene_.project(o.low_mm), scene_.project(o.high_mm)});
    }
    return boxes;
  }

  [[nodiscard]] static MarkRole role_of_solid(const PlacedSolid& s) {
    return s.swept ? MarkRole::sweep : role_of(s.role);
  }

  [[nodiscard]] std::vector<std::size_t> far_to_near() const {
    std::vector<std::size_t> order(solids_.size());
    for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
      return scene_.near_face_mm(solids_[a]) < scene_.near_face_mm(solids_[b]) - 1e-6;
    });
    return order;
  }

  void areas() {
    for (const std::size_t i : far_to_near()) {
      const PlacedSolid& s = solids_[i];
      const Spot low = scene_.project(s.low_mm), high = scene_.project(s.high_mm);
      // An open ring would paint over what is seen through it.
      if (scene_.end_on(s) && s.open_radius_mm > 0) continue;
      Mark& m = scene_.end_on(s) ? add(Mark::Form::circle, role_of_solid(s), {scene_.project(s.middle_mm())})
                                 : add(Mark::Form::rect, role_of_solid(s), {low, high});
      if (scene_.end_on(s)) m.radius_mm = s.radius_mm;
      m.fill = true;
      m.depth = depth(s);
    }
  }

  void draw_runs(const std::vector<Run>& runs, Run::State wanted, MarkRole role, double how_deep) {
    for (const Run& r : runs) {
      if (r.state != wanted) continue;
      Mark& m = add(Mark::Form::polyline, role, r.points);
      m.hidden = wanted == Run::State::hidden;
      m.depth = how_deep;
      labels_.mind(r.points);
    }
  }

  void outlines() {
    const std::vector<std::size_t> order = far_to_near();
    for (const Run::State wanted : {Run::State::hidden, Run::State::seen}) {
      for (const std::size_t i : order) {
        const PlacedSolid& s = solids_[i];
        // Hidden bushes, bearings and sweeps tell nothing that the other views do not tell better.
        if (wanted == Run::State::hidden &&
            (s.role == PlacedSolid::Role::bush || s.role == PlacedSolid::Role::bearing || s.swept))
          continue;
        std::vector<Run> runs = scene_.outline(i);
        if (s.role == PlacedSolid::Role::terminal && !s.round) {
          // The boxes of a room that is swept have one outline.
          const std::vector<Window> body = boxes_of_body(s);
          std::vector<Run> outer;
          std::vector<Piece> drawn;
          if (body.size() > 1) {
            for (const Run& r : runs) {
              for (std::vector<Spot>& piece : outside_of(body, r.points, drawn))
                outer.push_back({r.state, std::move(piece)});
            }
            runs = std::move(outer);
          }
        }
        draw_runs(runs, wanted, role_of_solid(s), depth(s));
        if (scene_.end_on(s) && s.open_radius_mm > 0) {
          draw_runs(scene_.outline(i, true), wanted, role_of_solid(s), depth(s));
        }
      }
    }
  }

  void pitch_circles() {
    for (std::size_t i = 0; i < solids_.size(); ++i) {
      const PlacedSolid& s = solids_[i];
      if (!is_wheel(s) || !scene_.end_on(s)) continue;
      const PlacedWheel& w = l_.wheels[static_cast<std::size_t>(s.wheel)];
      const Wheel& kind = p_.kit.wheels[static_cast<std::size_t>(w.wheel)];
      for (const double radius_mm : {kind.pitch_radius_mm, kind.inner_pitch_radius_mm}) {
        if (radius_mm <= 0) continue;
        for (const Run& r : scene_.circle(i, radius_mm)) {
          if (r.state != Run::State::seen) continue;
          add(Mark::Form::polyline, MarkRole::pitch_circle, r.points).depth = depth(s);
        }
      }
    }
  }

  void centre_lines() {
    const double over_mm = p_.kit.pitch_mm / 4;
    for (const PlacedSolid& s : solids_) {
      if (s.role != PlacedSolid::Role::axle) continue;
      const Spot middle = scene_.project(s.middle_mm());
      Spot low = scene_.project(s.low_mm), high = scene_.project(s.high_mm);
      if (scene_.end_on(s)) {
        const double r = s.radius_mm + over_mm;
        const std::array<LabelPlacer::Line, 2> cross{
            {{{middle.right_mm - r, middle.up_mm}, {middle.right_mm + r, middle.up_mm}},
             {{middle.right_mm, middle.up_mm - r}, {middle.right_mm, middle.up_mm + r}}}};
        for (const LabelPlacer::Line& line : cross) {
          add(Mark::Form::line, MarkRole::centre_line, {line.from, line.to});
          labels_.keep_off(line);
        }
        continue;
      }
      if (s.axis == sight_.right) {
        low = {low.right_mm - over_mm, middle.up_mm};
        high = {high.right_mm + over_mm, middle.up_mm};
      } else {
        low = {middle.right_mm, low.up_mm - over_mm};
        high = {middle.right_mm, high.up_mm + over_mm};
      }
      add(Mark::Form::line, MarkRole::centre_line, {low, high});
      labels_.keep_off({low, high});
    }
  }

  /// Ticks at half-pitches and numbers at pitches along the lower and the left edge.
  void edges() {
    const double half_mm = p_.kit.half_pitch_mm(), h = options_.text_mm;
    const Window& w = view_.lattice;
    const auto to_hp = [&](double mm) { return static_cast<int>(std::lround(mm / half_mm)); };
    const auto rule = [&](int first_hp, int last_hp, double width_em, auto&& tick, auto&& number) {
      // Every pitch, or every second, fifth, ... where numbers would touch.
      int every = 1;
      for (const int n : {2, 5, 10, 20, 50, 100}) {
        if (every * p_.kit.pitch_mm >= width_em * h) break;
        every = n;
      }
      for (int v = first_hp; v <= last_hp; ++v) {
        tick(v * half_mm, (v % 2 == 0 ? 0.5 : 0.25) * h);
        if (v % (2 * every) == 0) number(v * half_mm, pitches_text(v));
      }
    };
    double widest = 0;
    for (const double mm : {w.low.right_mm, w.high.right_mm}) {
      widest = std::max(widest, options_.width_em(pitches_text(2 * (to_hp(mm) / 2))) + 0.6);
    }
    rule(
        to_hp(w.low.right_mm), to_hp(w.high.right_mm), widest,
        [&](double mm, double length) {
          add(Mark::Form::line, MarkRole::lattice_edge, {{mm, w.low.up_mm}, {mm, w.low.up_mm - length}});
        },
        [&](double mm, std::string text) {
          labels_.fix(std::move(text), MarkRole::lattice_edge, {mm, w.low.up_mm - 1.3 * h}, view_.marks);
        });
    rule(
        to_hp(w.low.up_mm), to_hp(w.high.up_mm), 1.5,
        [&](double mm, double length) {
          add(Mark::Form::line, MarkRole::lattice_edge, {{w.low.right_mm, mm}, {w.low.right_mm - length, mm}});
        },
        [&](double mm, std::string text) {
          const double half_w = options_.width_em(text) * h / 2;
          labels_.fix(std::move(text), MarkRole::lattice_edge, {w.low.right_mm - 0.8 * h - half_w, mm}, view_.marks);
        });
    add(Mark::Form::line, MarkRole::lattice_edge, {w.low, {w.high.right_mm, w.low.up_mm}});
    add(Mark::Form::line, MarkRole::lattice_edge, {w.low, {w.low.right_mm, w.high.up_mm}});
    labels_.keep_off({w.low, {w.high.right_mm, w.low.up_mm}});
    labels_.keep_off({w.low, {w.low.right_mm, w.high.up_mm}});
    const std::string right = fmt::format("{} \xE2\x86\x92", letter(sight_.right));
    labels_.fix(right, MarkRole::lattice_edge,
                {w.high.right_mm + (0.8 + options_.width_em(right) / 2) * h, w.low.up_mm - 1.3 * h}, view_.marks);
    const std::string up = fmt::format("{} \xE2\x86\x91", letter(sight_.up));
    labels_.fix(up, MarkRole::lattice_edge,
                {w.low.right_mm - (0.8 + options_.width_em(up) / 2) * h, w.high.up_mm + 1.3 * h}, view_.marks);
  }

  /// Over everything but the bodies of terminals and the axle inside them.
  void dimension(Axis a) {
    double low = 1e300, high = -1e300;
    for (const PlacedSolid& s : solids_) {
      if (s.role == PlacedSolid::Role::terminal) continue;
      double from = s.low_mm[at(a)], to = s.high_mm[at(a)];
      for (const HeldBy& held : terminals(p_, l_)) {
        if (s.role != PlacedSolid::Role::axle || held.shaft != s.shaft || s.axis != a) continue;
        const double face_mm = held.terminal->face.at(a) * p_.kit.half_pitch_mm();
        (held.terminal->direction > 0 ? from : to) = face_mm;
      }
      low = std::min(low, from);
      high = std::max(high, to);
    }
    if (low > high) return;
    const double h = options_.text_mm, line = 1.6 * h, past = 0.5 * h;
    const std::string text = base::plain(std::round(10 * (high - low)) / 10) + " mm";
    const Window& w = view_.lattice;
    const double half_w = options_.width_em(text) * h / 2;
    if (a == sight_.right) {
      const double up = w.high.up_mm + line;
      for (const double v : {low, high}) {
        add(Mark::Form::line, MarkRole::dimension, {{v, w.high.up_mm - past}, {v, up + past}});
      }
      add(Mark::Form::dimension, MarkRole::dimension, {{low, up}, {high, up}});
      labels_.fix(text, MarkRole::dimension, {(low + high) / 2, up + 0.9 * h}, view_.marks);
      labels_.block({{low - 0.6 * h, up - 0.6 * h}, {high + 0.6 * h, up + 0.6 * h}});
    } else {
      const double right = w.high.right_mm + line;
      for (const double v : {low, high}) {
        add(Mark::Form::line, MarkRole::dimension, {{w.high.right_mm - past, v}, {right + past, v}});
      }
      add(Mark::Form::dimension, MarkRole::dimension, {{right, low}, {right, high}});
      labels_.fix(text, MarkRole::dimension, {right + 0.6 * h + half_w, (low + high) / 2}, view_.marks);
      labels_.block({{right - 0.6 * h, low - 0.6 * h}, {right + 0.6 * h, high + 0.6 * h}});
    }
  }

  [[nodiscard]] bool first_from_the_side(Axis shaft) const {
    // Above shows x and y from the side; a shaft along z is seen from the side first in the view from the right.
    return shaft == Axis::z ? sight_.right == Axis::x && sight_.up == Axis::z : sight_.up == Axis::y;
  }

  /// Places round a rectangle where a text of that width just stands clear of it.
  [[nodiscard]] std::vector<Spot> around(Spot low, Spot high, double half_w) const {
    const double h = options_.text_mm, gap = 0.9 * h;
    const Spot m{(low.right_mm + high.right_mm) / 2, (low.up_mm + high.up_mm) / 2};
    return {{m.right_mm, high.up_mm + gap},
            {m.right_mm, low.up_mm - gap},
            {high.right_mm + 0.5 * h + half_w, m.up_mm},
            {low.right_mm - 0.5 * h - half_w, m.up_mm}};
  }

  static std::array<Spot, 5> probes(const Window& w) {
    return {w.low, w.high, Spot{w.low.right_mm, w.high.up_mm}, Spot{w.high.right_mm, w.low.up_mm},
            Spot{(w.low.right_mm + w.high.right_mm) / 2, (w.low.up_mm + w.high.up_mm) / 2}};
  }
  /// Is solid i what shows under the whole window?
  [[nodiscard]] bool covers(std::size_t i, const Window& w) const {
    const auto p = probes(w);
    return std::all_of(p.begin(), p.end(), [&](Spot spot) { return scene_.on_top(i, spot); });
  }
  [[nodiscard]] bool clear_of_solids(const Window& w) const {
    return std::none_of(solids_.begin(), solids_.end(), [&](const PlacedSolid& s) {
      return w.overlaps({scene_.project(s.low_mm), scene_.project(s.high_mm)});
    });
  }

  void name_parts() {
    const double h = options_.text_mm;
    for (const PlacedSolid& s : solids_) {
      if (s.role == PlacedSolid::Role::axle && scene_.end_on(s)) {
        const Spot m = scene_.project(s.middle_mm());
        const double r = std::max(s.radius_mm, 0.4 * h);
        labels_.block({{m.right_mm - r, m.up_mm - r}, {m.right_mm + r, m.up_mm + r}});
      }
    }
    std::vector<std::string> told;
    for (std::size_t i = 0; i < solids_.size(); ++i) {
      const PlacedSolid& s = solids_[i];
      const bool wheel = is_wheel(s);
      if (!wheel && s.role != PlacedSolid::Role::terminal && s.role != PlacedSolid::Role::attachment &&
          s.role != PlacedSolid::Role::joiner)
        continue;
      if (s.role == PlacedSolid::Role::joiner && scene_.end_on(s)) continue;  // its axle's hole is named there
      if (s.label.empty()) continue;
      LabelPlacer::Request q;
      q.text = s.swept ? "sweep of " + s.label : s.label;
      q.role = wheel ? MarkRole::wheel_label : MarkRole::part_label;
      const Spot low = scene_.project(s.low_mm), high = scene_.project(s.high_mm), m = scene_.project(s.middle_mm());
      const double half_w = options_.width_em(q.text) * h / 2;
      q.anchor = m;
      if (scene_.end_on(s)) {
        q.reach_mm = s.radius_mm;
        q.rim = true;
        // Inside the rim, upper right first; a ring's in its open middle's edge.
        const double r = s.radius_mm - 0.9 * h - half_w * 0.6;
        if (r > p_.kit.axle_radius_mm + half_w) {
          for (int k = 0; k < 24; ++k) {
            const double t = std::numbers::pi * (1.0 / 4 + k / 12.0);
            const Spot spot{m.right_mm + r * std::cos(t), m.up_mm + r * std::sin(t)};
            if (covers(i, labels_.box_of(q.text, spot))) q.preferred.push_back(spot);
          }
        }
      } else if (s.round) {
        if (!first_from_the_side(s.axis)) continue;
        // Inside where it shows, else with a leader to where it shows; beyond its rim only off everything else.
        const bool lies = s.axis == sight_.up;
        const auto out_mm = [&](double part) {
          return lies ? Spot{m.right_mm + part * s.radius_mm, m.up_mm} : Spot{m.right_mm, m.up_mm + part * s.radius_mm};
        };
        q.anchor = out_mm(0.6);
        for (const double part : {0.6, -0.6, 0.75, -0.75, 0.9, -0.9}) {
          if (scene_.on_top(i, out_mm(part))) q.or_at.push_back(out_mm(part));
        }
        if (!q.or_at.empty()) q.anchor = q.or_at.front();
        for (const double part : {0.8, -0.8, 0.7, -0.7, 0.6, -0.6, 0.5, -0.5, 0.4, -0.4}) {
          if (covers(i, labels_.box_of(q.text, out_mm(part)))) q.preferred.push_back(out_mm(part));
        }
        for (const Spot& spot : around(low, high, half_w)) {
          const Window words = labels_.box_of(q.text, spot);
          // On ground that is kept free they would seem to name it.
          if (clear_of_solids(words) &&
              std::none_of(kept_free_.begin(), kept_free_.end(), [&](const Window& w) { return w.overlaps(words); }))
            q.preferred.push_back(spot);
        }
      } else {
        // Several boxes of one body bear one name.
        const std::string key = s.label + std::to_string(s.shaft);
        if (std::find(told.begin(), told.end(), key) != told.end()) continue;
        told.push_back(key);
        for (const double part : {0.75, 0.5, 0.25}) {
          for (const double across : {0.5, 0.25, 0.75}) {
            q.preferred.push_back(
                {low.right_mm + across * (high.right_mm - low.right_mm), low.up_mm + part * (high.up_mm - low.up_mm)});
          }
        }
        std::erase_if(q.preferred, [&](Spot spot) {
          const Window box = labels_.box_of(q.text, spot);
          return box.low.right_mm < low.right_mm || box.high.right_mm > high.right_mm || box.low.up_mm < low.up_mm ||
                 box.high.up_mm > high.up_mm;
        });
        q.anchor = {m.right_mm + 0.3 * (high.right_mm - low.right_mm), m.up_mm + 0.3 * (high.up_mm - low.up_mm)};
        for (const double up : {0.3, 0.7, 0.5})
          for (const double right : {0.7, 0.3, 0.5})
            q.or_at.push_back(
                {low.right_mm + right * (high.right_mm - low.right_mm), low.up_mm + up * (high.up_mm - low.up_mm)});
        if (s.swept) {
          for (const PlacedSolid& o : solids_)
            if (o.role == PlacedSolid::Role::terminal && !o.swept)
              q.off.push_back({scene_.project(o.low_mm), scene_.project(o.high_mm)});
        }
      }
      labels_.place(q, view_.marks);
    }
    // The legend tells the pattern; in the main view the largest one is named too, where the words have room.
    if (sight_.right != Axis::x || sight_.up != Axis::z || kept_free_.empty()) return;
    const Window& w = *std::max_element(kept_free_.begin(), kept_free_.end(), [](const Window& a, const Window& b) {
      return a.width_mm() * a.height_mm() < b.width_mm() * b.height_mm();
    });
    LabelPlacer::Request q;
    q.text = "keep free";
    // Nothing else may stand there: the words would name it instead. The middle first, then towards the corners.
    for (const double up : {0.5, 0.75, 0.25, 0.9, 0.1}) {
      for (const double right : {0.5, 0.75, 0.25, 0.85, 0.15}) {
        q.anchor = {w.low.right_mm + right * w.width_mm(), w.low.up_mm + up * w.height_mm()};
        const Window words = labels_.box_of(q.text, q.anchor);
        if (words.low.right_mm < w.low.right_mm || words.high.right_mm > w.high.right_mm ||
            words.low.up_mm < w.low.up_mm || words.high.up_mm > w.high.up_mm ||
            std::any_of(solids_.begin(), solids_.end(), [&](const PlacedSolid& s) {
              return words.overlaps({{s.low_mm[at(sight_.right)], s.low_mm[at(sight_.up)]},
                                     {s.high_mm[at(sight_.right)], s.high_mm[at(sight_.up)]}});
            }))
          continue;
        q.preferred = {q.anchor};
        labels_.place(q, view_.marks);
        return;
      }
    }
  }

  /// Shafts that fall on each other in this view and would be named at the same spot share a label.
  struct ShaftLabel {
    std::string names;
    LabelPlacer::Request request;
  };

  void name_shafts() {
    const std::vector<std::string> names = shaft_names(l_);
    std::vector<ShaftLabel> found;
    for (const PlacedSolid& s : solids_) {
      if (s.role != PlacedSolid::Role::axle) continue;
      const auto i = static_cast<std::size_t>(s.shaft);
      ShaftLabel label{names[i], {}};
      LabelPlacer::Request& q = label.request;
      const Spot m = scene_.project(s.middle_mm()), high = scene_.project(s.high_mm);
      if (scene_.end_on(s)) {
        q.text = ": " + hole_text(s.axis, l_.shafts[i].at);
        q.role = MarkRole::hole_label;
        q.anchor = m;
        q.reach_mm = s.radius_mm;
        q.rim = true;
      } else {
        q.text = first_from_the_side(s.axis) ? " \xC2\xB7 " + s.label : "";
        q.role = MarkRole::shaft_label;
        q.anchor = s.axis == sight_.right ? Spot{high.right_mm, m.up_mm} : Spot{m.right_mm, high.up_mm};
        q.preferred = {s.axis == sight_.right ? Spot{scene_.project(s.low_mm).right_mm, m.up_mm}
                                              : Spot{m.right_mm, scene_.project(s.low_mm).up_mm}};
      }
      const auto same = std::find_if(found.begin(), found.end(), [&](const ShaftLabel& o) {
        return o.request.text == q.text && o.request.role == q.role &&
               std::hypot(o.request.anchor.right_mm - q.anchor.right_mm, o.request.anchor.up_mm - q.anchor.up_mm) <
                   1e-6;
      });
      if (same == found.end()) {
        found.push_back(std::move(label));
      } else {
        same->names += ", " + names[i];
      }
    }
    const double h = options_.text_mm;
    for (ShaftLabel& label : found) {
      LabelPlacer::Request& q = label.request;
      q.text = label.names + q.text;
      if (!q.preferred.empty()) {
        // Beyond either end, in line with the axle.
        const double half_w = options_.width_em(q.text) * h / 2;
        const Spot low = q.preferred.front(), high = q.anchor;
        q.preferred = low.up_mm == high.up_mm ? std::vector<Spot>{{high.right_mm + 0.9 * h + half_w, high.up_mm},
                                                                  {low.right_mm - 0.9 * h - half_w, high.up_mm}}
                                              : std::vector<Spot>{{high.right_mm, high.up_mm + 1.4 * h},
                                                                  {high.right_mm, low.up_mm - 1.4 * h}};
      }
      labels_.place(q, view_.marks);
    }
  }

  void name_misfits() {
    for (const MeshRow& row : mesh_table(p_, l_)) {
      const PlacedMesh& m = l_.meshes[static_cast<std::size_t>(row.mesh)];
      const PlacedWheel& a = l_.wheels[static_cast<std::size_t>(m.driver)];
      const PlacedWheel& b = l_.wheels[static_cast<std::size_t>(m.driven)];
      if (!row.has_distance || std::fabs(row.misfit_mm) <= options_.misfit_shown_mm) continue;
      if (a.axis != b.axis || a.axis != sight_.depth()) continue;
      const double half_mm = p_.kit.half_pitch_mm();
      const auto middle = [&](const PlacedWheel& w) {
        Millimetres c{};
        c[at(u_axis(w.axis))] = w.at.u_hp * half_mm;
        c[at(v_axis(w.axis))] = w.at.v_hp * half_mm;
        return scene_.project(c);
      };
      const double radius = p_.kit.wheels[static_cast<std::size_t>(a.wheel)].pitch_radius_mm;
      const Spot from = middle(a), to = middle(b);
      const double length = std::hypot(to.right_mm - from.right_mm, to.up_mm - from.up_mm);
      LabelPlacer::Request q;
      q.text = misfit_text(row.misfit_mm);
      q.role = MarkRole::misfit;
      q.anchor = {from.right_mm + (to.right_mm - from.right_mm) * radius / length,
                  from.up_mm + (to.up_mm - from.up_mm) * radius / length};
      labels_.place(q, view_.marks);
    }
  }

  [[nodiscard]] Window extent() const {
    Window w = view_.lattice;
    const auto take = [&](const Window& o) {
      w.low = {std::min(w.low.right_mm, o.low.right_mm), std::min(w.low.up_mm, o.low.up_mm)};
      w.high = {std::max(w.high.right_mm, o.high.right_mm), std::max(w.high.up_mm, o.high.up_mm)};
    };
    for (const Mark& m : view_.marks) {
      for (const Spot& s : m.points) {
        if (m.form == Mark::Form::text) {
          take(labels_.box_of(m.text, s, m.size));
        } else {
          take({{s.right_mm - m.radius_mm, s.up_mm - m.radius_mm}, {s.right_mm + m.radius_mm, s.up_mm + m.radius_mm}});
        }
      }
    }
    return w;
  }

  const Problem& p_;
  const Layout& l_;
  const std::vector<PlacedSolid>& solids_;
  const DrawingOptions& options_;
  Sight sight_;
  Scene scene_;
  LabelPlacer labels_;
  View view_;
  std::vector<Window> kept_free_;
  double nearest_ = 0, farthest_ = 0;
};

}  // namespace

Drawing drawing(const Problem& p, const Layout& l, const DrawingOptions& options) {
  KW_CHECK(options.text_mm > 0 && options.width_em != nullptr, "a drawing needs the size of its letters");
  KW_CHECK(!l.shafts.empty(), "nothing to draw");
  const std::vector<PlacedSolid> all = solids(p, l);
  const auto view = [&](Axis right, Axis up, int eye, const char* name, bool across, bool upwards) {
    return Painter(p, l, all, options, {right, up, eye}, name).paint(across, upwards);
  };
  return {view(Axis::x, Axis::y, 1, "seen from above", true, true),
          view(Axis::x, Axis::z, -1, "seen from the right", false, false),
          view(Axis::y, Axis::z, 1, "seen from the front", false, true)};
}

}  // namespace routing
