#include "routing/refusal.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <set>

#include "base/text.h"

#include <fmt/format.h>

namespace routing {
namespace {

constexpr std::size_t kFewMotorPlaces = 8;
constexpr std::size_t kNamedWheels = 3;  ///< the ones most often refused are named

/// "1 layout of shafts spans", "3 layouts of shafts span".
std::string counted(std::int64_t n, std::string_view of, std::string_view verb_one, std::string_view verb_many) {
  return fmt::format("{} {}{} {}", n, n == 1 ? "layout" : "layouts", of, n == 1 ? verb_one : verb_many);
}

std::string times_text(std::int64_t n) {
  return n == 1 ? "once" : fmt::format("{} times", n);
}

std::string in_pitches(int hp) {
  return fmt::format("{}{}{}", hp < 0 ? "-" : "", std::abs(hp) / 2, hp % 2 == 0 ? "" : ".5");
}

std::string hole_text(Axis axis, Cross c) {
  return fmt::format("{} {}, {} {}", lattice::letter(lattice::u_axis(axis)), in_pitches(c.u_hp),
                     lattice::letter(lattice::v_axis(axis)), in_pitches(c.v_hp));
}

std::string train_text(const Problem& p, const std::vector<int>& train) {
  std::string out;
  for (const int i : train) {
    const Pair& pair = p.kit.pairs[static_cast<std::size_t>(i)];
    out += fmt::format("{}{}:{}", out.empty() ? "" : " · ", p.kit.wheels[static_cast<std::size_t>(pair.driver)].name,
                       p.kit.wheels[static_cast<std::size_t>(pair.driven)].name);
  }
  return out;
}

/// How near a train of parallel pairs, its wheels straight on, comes from an output to an input of the same direction.
struct Nearest {
  double off_mm = std::numeric_limits<double>::infinity();
  double wanted_mm = 0, offered_mm = 0;
};

/// Empty for trains with a right angle, which meet anywhere along a line, and where the motor may be at many places:
/// then no single distance tells anything.
std::optional<Nearest> nearest_of(const Router::Ready& r, const std::vector<int>& train) {
  if (r.goals.size() > kFewMotorPlaces) return std::nullopt;
  std::set<std::pair<int, int>> spans{{0, 0}};
  for (const int i : train) {
    if (!parallel(r.problem.kit.pairs[static_cast<std::size_t>(i)].type)) return std::nullopt;
    std::set<std::pair<int, int>> next;
    for (const auto& [u, v] : spans)
      for (const Step& s : r.ground.steps[static_cast<std::size_t>(i)]) next.insert({u + s.du_hp, v + s.dv_hp});
    spans = std::move(next);
  }
  Nearest out;
  for (const Place& place : r.problem.outputs.front().places) {
    for (const Line& goal : r.goals) {
      if (goal.axis != place.axis) continue;
      const int du = goal.at.u_hp - place.at.u_hp, dv = goal.at.v_hp - place.at.v_hp;
      for (const auto& [u, v] : spans) {
        const double off = r.ground.half_pitch_mm * std::hypot(u - du, v - dv);
        if (off < out.off_mm)
          out = {off, r.ground.half_pitch_mm * std::hypot(du, dv), r.ground.half_pitch_mm * std::hypot(u, v)};
      }
    }
  }
  return out;
}

class Explanation {
 public:
  Explanation(const Router::Ready& r, const std::vector<std::vector<int>>& trains, const Tally& tally)
      : r_(r), p_(r.problem), trains_(trains), tally_(tally) {}

  std::vector<Refusal> take() {
    if (tally_.off_window > 0)
      say("ratio", fmt::format("{} of the trains given miss the ratio {}", tally_.off_window, window()),
          tally_.off_window);
    for (const Output& o : p_.outputs)
      if (o.places.empty())
        say("place", fmt::format("{} has no place to be", o.name.empty() ? "the output" : o.name), 1);
    if (!has_inputs(p_)) say("place", "the motor has no place to be", 1);
    if (r_.blocked >= 0) say("place", blocked_text(p_, r_.blocked), 1);
    if (tally_.sketches > 0) {
      standing();
    } else if (r_.blocked < 0 && !ratio() && !distance()) {
      room();
    }
    std::stable_sort(out_.begin(), out_.end(), [](const Refusal& a, const Refusal& b) { return a.count > b.count; });
    return std::move(out_);
  }

 private:
  void say(std::string code, std::string text, std::int64_t count) {
    out_.push_back({std::move(code), std::move(text), count});
  }
  [[nodiscard]] std::string window() const {
    const Output& o = p_.outputs.front();
    return o.low == o.high ? base::plain(o.low.value())
                           : fmt::format("{} to {}", base::plain(o.low.value()), base::plain(o.high.value()));
  }

  /// Whether the wheels cannot make the ratio at all, wherever they stand.
  bool ratio() {
    if (!trains_.empty() || r_.products.empty() || p_.most_stages > kListedMeshes) return false;
    const Output& o = p_.outputs.front();
    const double low = std::log(o.low.value()), high = std::log(o.high.value());
    const std::vector<double>& list = r_.products[static_cast<std::size_t>(p_.most_stages)];
    const auto it = std::lower_bound(list.begin(), list.end(), low - kLogSlack);
    if (it != list.end() && *it <= high + kLogSlack) return false;
    double nearest = it != list.end() ? *it : std::numeric_limits<double>::infinity();
    if (it != list.begin() && low - *std::prev(it) < nearest - high) nearest = *std::prev(it);
    say("ratio",
        fmt::format("no train of up to {} meshes has a ratio of {}; the nearest is {}", p_.most_stages, window(),
                    base::plain(std::exp(nearest), 4)),
        1);
    return true;
  }

  /// Whether no chain of offsets leads from an output to an input.
  bool distance() {
    if (!has_inputs(p_) || p_.outputs.front().places.empty()) return true;
    Nearest best;
    const std::vector<int>* of = nullptr;
    bool open = trains_.empty() || p_.most_idlers > 0;
    for (const std::vector<int>& train : trains_) {
      const std::optional<Nearest> n = nearest_of(r_, train);
      open = open || !n || n->off_mm == 0;
      if (n && n->off_mm < best.off_mm) {
        best = *n;
        of = &train;
      }
    }
    if (!open && of != nullptr) {
      say("distance",
          fmt::format("{} spans {} mm at the nearest, motor and output are {} mm apart: no hole is nearer than {} mm",
                      of->empty() ? "without a mesh the shaft" : train_text(p_, *of), base::plain(best.offered_mm, 4),
                      base::plain(best.wanted_mm, 4), base::plain(best.off_mm)),
          1);
      return true;
    }
    bool led = false;
    double nearest_mm = std::numeric_limits<double>::infinity();
    std::string from;
    for (const Place& place : p_.outputs.front().places) {
      const Plane& plane = r_.plane(place.axis);
      const auto& bits = r_.reach.back()[static_cast<std::size_t>(lattice::index(place.axis))];
      if (r_.reaches(p_.most_stages, place.axis, place.at)) return false;
      for (int i = 0; i < plane.points(); ++i) {
        if (led || bits[static_cast<std::size_t>(i)] == 0) continue;
        const Cross c = plane.at(i);
        const double mm = r_.ground.half_pitch_mm * std::hypot(c.u_hp - place.at.u_hp, c.v_hp - place.at.v_hp);
        led = led || mm == 0;
        if (mm < nearest_mm) {
          nearest_mm = mm;
          from = hole_text(place.axis, c);
        }
      }
    }
    if (led) return false;
    say("distance",
        std::isfinite(nearest_mm)
            ? fmt::format(
                  "no chain of up to {} meshes spans the distance from the motor to the output; the nearest hole "
                  "that one reaches ({}) is {} mm from it",
                  p_.most_stages, from, base::plain(nearest_mm))
            : fmt::format("no chain of up to {} meshes leads from the motor to a shaft in the output's direction",
                          p_.most_stages),
        1);
    return true;
  }

  /// The distance can be spanned, but wheels or axles found no room on the way.
  void room() {
    std::vector<std::pair<std::int64_t, int>> most;
    std::int64_t others = 0;
    for (const auto& [cls, count] : tally_.no_room) most.emplace_back(count, cls);
    std::stable_sort(most.begin(), most.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
    for (std::size_t i = 0; i < most.size(); ++i) {
      if (i >= kNamedWheels) {
        others += most[i].first;
        continue;
      }
      say("room",
          fmt::format(
              "the wheel {} has no room where the distance puts it: outside the box, in a wall, a keep-out or an "
              "axle ({})",
              p_.kit.wheels[static_cast<std::size_t>(most[i].second)].name, times_text(most[i].first)),
          most[i].first);
    }
    // Named wheels tell more, so the others come last however many they are.
    if (others > 0) say("room", fmt::format("other wheels have no room ({})", times_text(others)), 1);
    if (tally_.axle_in_wheel > 0)
      say("clash",
          fmt::format("the axle of a shaft between would run through a wheel ({})", times_text(tally_.axle_in_wheel)),
          tally_.axle_in_wheel);
    if (!tally_.no_room.empty() || tally_.axle_in_wheel > 0) return;
    say("pairs",
        trains_.empty()
            ? fmt::format("no train of up to {} meshes from the wheels in stock has both the ratio {} and holes at its "
                          "distances",
                          p_.most_stages, window())
            : fmt::format("{} leads to no input within the box, with the wheels in stock",
                          train_text(p_, trains_.front())),
        1);
  }

  /// Layouts of shafts there were, but none could be filled.
  void standing() {
    const auto count = [&](Obstacle o) { return tally_.obstacles[static_cast<std::size_t>(o)]; };
    if (count(Obstacle::slots) > 0) {
      std::string who;
      std::int64_t most = 0;
      for (const auto& [pair, times] : tally_.blamed)
        if (times > most) {
          most = times;
          who = fmt::format("the wheels {} and {}", p_.kit.wheels[static_cast<std::size_t>(pair.first)].name,
                            p_.kit.wheels[static_cast<std::size_t>(pair.second)].name);
        }
      say("slots",
          fmt::format("{} the distance, but no slots are free for {}",
                      counted(count(Obstacle::slots), " of shafts", "spans", "span"), who),
          count(Obstacle::slots));
    }
    if (count(Obstacle::bearings) > 0)
      say("bearings",
          fmt::format(
              "{} every wheel in a slot, but a shaft cannot be held in two walls (or one and its motor) clear of "
              "the rest",
              counted(count(Obstacle::bearings), "", "has", "have")),
          count(Obstacle::bearings));
    if (count(Obstacle::axles) > 0)
      say("axle",
          fmt::format("{}, but no axle in stock fits the length of a shaft, with what sticks out clear of the rest",
                      counted(count(Obstacle::axles), "", "stands", "stand")),
          count(Obstacle::axles));
  }

  const Router::Ready& r_;
  const Problem& p_;
  const std::vector<std::vector<int>>& trains_;
  const Tally& tally_;
  std::vector<Refusal> out_;
};

}  // namespace

std::vector<Refusal> refusals_of(const Router::Ready& r, const std::vector<std::vector<int>>& trains,
                                 const Tally& tally) {
  return Explanation(r, trains, tally).take();
}

}  // namespace routing
