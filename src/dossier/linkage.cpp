#include "dossier/linkage.h"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <numbers>
#include <vector>

#include "report/json_values.h"

namespace dossier {
namespace {

using Json = nlohmann::ordered_json;
using candidate::Curve;
using candidate::Shape;
using Role = Shape::Role;

constexpr double kPi = std::numbers::pi, kDeg = 180 / std::numbers::pi;
constexpr double kSame_mm = 0.02;  ///< drawn positions are exact to rounding; play and fits are larger

struct Point {
  double x = 0, z = 0;
};
double distance(Point a, Point b) {
  return std::hypot(a.x - b.x, a.z - b.z);
}
double turned_by(double angle) {
  return std::remainder(angle, 2 * kPi);
}

bool finite(const Curve& k) {
  return k.x.size() >= 2 && k.x.size() == k.y.size() &&
         std::all_of(k.y.begin(), k.y.end(), [](double v) { return std::isfinite(v); });
}
Json json_of(const Curve& k, const Texts& t) {
  return {
      {"name", t.word(k.name)}, {"unit", t.term(k.y_unit)}, {"x", report::numbers(k.x)}, {"y", report::numbers(k.y)}};
}
std::string dumped(const Json& json) {
  return json.dump(-1, ' ', false, Json::error_handler_t::replace);
}

/// One body on a pivot, moved by an actuator between two mounts.
std::optional<std::string> turn_json(const candidate::Candidate& c, const Texts& t) {
  const Shape *pivot = nullptr, *base = nullptr, *arm = nullptr, *actuator = nullptr;
  for (const Shape& s : c.shapes) {
    if (s.role == Role::pivot) {
      if (pivot != nullptr) return std::nullopt;  // more than one: not a body on a pivot
      pivot = &s;
    }
    if (s.role == Role::base_mount) base = &s;
    if (s.role == Role::moving_beam) arm = &s;
    if (s.role == Role::actuator) actuator = &s;
  }
  if (pivot == nullptr || base == nullptr || arm == nullptr || actuator == nullptr) return std::nullopt;
  const auto starts = [&](const Shape& s) { return s.x1_mm == pivot->x1_mm && s.z1_mm == pivot->z1_mm; };
  if (!starts(*arm)) return std::nullopt;
  // Its postures are drawn as ghosts of the arm.
  const auto angle = [&](const Shape& s) { return std::atan2(s.z2_mm - s.z1_mm, s.x2_mm - s.x1_mm); };
  const double drawn = angle(*arm);
  double low = 0, high = 0;  // against the drawn posture
  for (const Shape& s : c.shapes) {
    if (s.role != Role::ghost || !starts(s)) continue;
    const double turn = turned_by(angle(s) - drawn);
    low = std::min(low, turn);
    high = std::max(high, turn);
  }
  if (high - low < 1e-9) return std::nullopt;
  // Curves over an angle of the same width tell which angle the drawn posture is.
  double from = low * kDeg, to = high * kDeg;
  Json curves = Json::array();
  for (const Curve& k : c.curves) {
    if (k.x_unit != "deg" || !finite(k)) continue;
    if (std::fabs((k.x.back() - k.x.front()) - (high - low) * kDeg) > 0.5) continue;
    if (curves.empty()) {
      from = k.x.front();
      to = k.x.back();
    }
    curves.push_back(json_of(k, t));
  }
  // Points of the arm as they are at angle zero of that scale.
  const double zero = drawn + low - from / kDeg;
  const auto back = [&](double x, double z) {
    const double turn = -(drawn - zero);  // from the drawn posture to zero
    const double dx = x - pivot->x1_mm, dz = z - pivot->z1_mm;
    return Json{report::number(dx * std::cos(turn) - dz * std::sin(turn)),
                report::number(dx * std::sin(turn) + dz * std::cos(turn))};
  };
  return dumped({{"form", "turn"},
                 {"pivot", {report::number(pivot->x1_mm), report::number(pivot->z1_mm)}},
                 {"base", {report::number(base->x1_mm), report::number(base->z1_mm)}},
                 {"tip", back(arm->x2_mm, arm->z2_mm)},
                 {"rod", back(actuator->x2_mm, actuator->z2_mm)},
                 {"low_deg", report::number(from)},
                 {"high_deg", report::number(to)},
                 {"slider", t("function.slider")},
                 {"curves", std::move(curves)}});
}

/// A chain of bars in the positions it is drawn in.
class Chain {
 public:
  explicit Chain(const std::vector<Shape>& shapes) {
    for (const Shape& s : shapes) {
      if (s.role == Role::beam || s.role == Role::moving_beam || s.role == Role::actuator) bars_.push_back(&s);
      if (s.role == Role::ghost && s.label.empty()) ghosts_.push_back(&s);
    }
    if (bars_.empty() || ghosts_.empty() || ghosts_.size() % bars_.size() != 0) return;
    const std::size_t others = ghosts_.size() / bars_.size();
    // The drawn one stands between two others, or before a single one.
    const std::size_t drawn = others / 2;
    for (std::size_t k = 0; k <= others; ++k) {
      if (k == drawn) {
        positions_.push_back(bars_);
      } else {
        const auto first = ghosts_.begin() + static_cast<std::ptrdiff_t>((k < drawn ? k : k - 1) * bars_.size());
        positions_.emplace_back(first, first + static_cast<std::ptrdiff_t>(bars_.size()));
      }
    }
    drawn_ = drawn;
    join();
    if (!rigid_bars()) positions_.clear();
  }

  /// Nothing when the drawn positions are none of one chain, or nothing turns about a point that stays.
  [[nodiscard]] std::optional<std::string> json(const candidate::Candidate& c, const Texts& t) const {
    if (positions_.empty()) return std::nullopt;
    const int driver = driver_bar();
    if (driver < 0) return std::nullopt;
    const std::vector<double> angles = angles_of(driver);
    Json at = Json::array(), stays = Json::array(), bars = Json::array(), rods = Json::array(), follows = Json::array();
    for (std::size_t i = 0; i < count(); ++i) {
      at.push_back({report::number(points_[drawn_][i].x), report::number(points_[drawn_][i].z)});
      stays.push_back(stays_[i]);
    }
    for (std::size_t b = 0; b < bars_.size(); ++b) {
      bars.push_back({{"ends", {ends_[b].first, ends_[b].second}},
                      {"colour", bars_[b]->role == Role::actuator ? "#d55e00" : "#0072b2"},
                      {"name", t.term(bars_[b]->label)}});
    }
    for (std::size_t i = 0; i < count(); ++i) {
      for (std::size_t k = i + 1; k < count(); ++k) {
        if (!(stays_[i] && stays_[k]) && keep_distance(i, k)) rods.push_back({i, k});
      }
    }
    // What no rod ties to the rest turns with it all the same: gears, which are no bars.
    for (std::size_t b = 0; b < bars_.size(); ++b) {
      const auto free = free_end(b);
      if (!free || static_cast<int>(b) == driver || tied(*free)) continue;
      int by = driver;
      const double own = span_of(static_cast<int>(b));
      for (std::size_t o = 0; o < bars_.size(); ++o) {
        if (o != b && free_end(o) && tied(*free_end(o)) &&
            std::fabs(std::fabs(span_of(static_cast<int>(o))) - std::fabs(own)) < 1e-3)
          by = static_cast<int>(o);
      }
      if (std::fabs(span_of(by)) < 1e-9) continue;
      follows.push_back({{"bar", b}, {"of", by}, {"ratio", report::number(own / span_of(by))}});
    }
    Json out{{"form", "bars"},
             {"points", at},
             {"stays", stays},
             {"bars", bars},
             {"rods", rods},
             {"follows", follows},
             {"driver", driver},
             {"from_deg", report::number((angles.front() - angles[drawn_]) * kDeg)},
             {"to_deg", report::number((angles.back() - angles[drawn_]) * kDeg)},
             {"slider", t("function.slider")}};
    add_curves(out, c, t);
    return dumped(out);
  }

 private:
  [[nodiscard]] std::size_t count() const { return stays_.size(); }

  /// Ends that lie on each other in every position are one point.
  void join() {
    points_.resize(positions_.size());
    for (std::size_t b = 0; b < bars_.size(); ++b) {
      std::size_t end[2];
      for (int e = 0; e < 2; ++e) {
        std::vector<Point> places;
        for (const auto& position : positions_) {
          const Shape& s = *position[b];
          places.push_back(e == 0 ? Point{s.x1_mm, s.z1_mm} : Point{s.x2_mm, s.z2_mm});
        }
        std::size_t i = 0;
        while (i < points_[0].size() && !everywhere(i, places)) ++i;
        if (i == points_[0].size()) {
          for (std::size_t k = 0; k < places.size(); ++k) points_[k].push_back(places[k]);
        }
        end[e] = i;
      }
      ends_.emplace_back(end[0], end[1]);
    }
    for (std::size_t i = 0; i < points_[0].size(); ++i) {
      stays_.push_back(std::all_of(points_.begin(), points_.end(),
                                   [&](const auto& p) { return distance(p[i], points_[0][i]) < kSame_mm; }));
    }
  }
  [[nodiscard]] bool everywhere(std::size_t i, const std::vector<Point>& places) const {
    for (std::size_t k = 0; k < places.size(); ++k) {
      if (distance(points_[k][i], places[k]) > kSame_mm) return false;
    }
    return true;
  }
  [[nodiscard]] bool keep_distance(std::size_t i, std::size_t k) const {
    const double first = distance(points_[0][i], points_[0][k]);
    return std::all_of(points_.begin(), points_.end(),
                       [&](const auto& p) { return std::fabs(distance(p[i], p[k]) - first) < kSame_mm; });
  }
  [[nodiscard]] bool rigid_bars() const {
    return std::all_of(ends_.begin(), ends_.end(), [&](const auto& e) { return keep_distance(e.first, e.second); });
  }
  /// The end of a bar that turns about its other end.
  [[nodiscard]] std::optional<std::size_t> free_end(std::size_t b) const {
    const auto [i, k] = ends_[b];
    if (stays_[i] == stays_[k]) return std::nullopt;
    return stays_[i] ? k : i;
  }
  [[nodiscard]] bool tied(std::size_t point) const {
    for (std::size_t k = 0; k < count(); ++k) {
      if (k != point && !stays_[k] && keep_distance(point, k)) return true;
    }
    return false;
  }
  /// Of a bar with one end that stays, in every position, without jumps.
  [[nodiscard]] std::vector<double> angles_of(int b) const {
    const std::size_t free = *free_end(static_cast<std::size_t>(b));
    const auto [i, k] = ends_[static_cast<std::size_t>(b)];
    const std::size_t still = free == i ? k : i;
    std::vector<double> out;
    for (const auto& p : points_) {
      const double a = std::atan2(p[free].z - p[still].z, p[free].x - p[still].x);
      out.push_back(out.empty() ? a : out.back() + turned_by(a - out.back()));
    }
    return out;
  }
  [[nodiscard]] double span_of(int b) const {
    const std::vector<double> a = angles_of(b);
    return a.back() - a.front();
  }
  /// The bar that turns farthest: driven by it, the others follow without a dead point between.
  [[nodiscard]] int driver_bar() const {
    int best = -1;
    double farthest = 1e-6;
    for (std::size_t b = 0; b < bars_.size(); ++b) {
      const auto free = free_end(b);
      if (!free || !tied(*free)) continue;
      const double span = std::fabs(span_of(static_cast<int>(b)));
      if (span > farthest + 1e-9) {
        farthest = span;
        best = static_cast<int>(b);
      }
    }
    return best;
  }
  /// Curves over something that the picture shows: an angle of a bar, or the gap between two points.
  void add_curves(Json& out, const candidate::Candidate& c, const Texts& t) const {
    Json curves = Json::array();
    for (const Curve& k : c.curves) {
      if (!finite(k)) continue;
      if (out.contains("measure")) {
        if (k.x_name == measured_ && k.x.front() == low_ && k.x.back() == high_) curves.push_back(json_of(k, t));
        continue;
      }
      if (auto measure = measure_of(k)) {
        measured_ = k.x_name;
        low_ = k.x.front();
        high_ = k.x.back();
        (*measure)["name"] = t.word(k.x_name);
        (*measure)["unit"] = t.term(k.x_unit);
        out["measure"] = std::move(*measure);
        curves.push_back(json_of(k, t));
      }
    }
    out["curves"] = std::move(curves);
  }
  [[nodiscard]] std::optional<Json> measure_of(const Curve& k) const {
    const double low = k.x.front(), high = k.x.back();
    if (k.x_unit == "deg") {
      constexpr double kSame_deg = 0.05;
      for (std::size_t b = 0; b < bars_.size(); ++b) {
        if (!free_end(b)) continue;
        const std::vector<double> a = angles_of(static_cast<int>(b));
        const double span = (a.back() - a.front()) * kDeg;
        if (std::fabs(std::fabs(span) - (high - low)) > kSame_deg) continue;
        // Either end of the travel may be the low one; machines are drawn at rest, where the angle is about zero.
        const double turned = std::fabs(a[drawn_] - a.front()) * kDeg;
        const bool rises = std::fabs(low + turned) <= std::fabs(high - turned);
        return Json{{"bar", b},
                    {"sign", rises == (span > 0) ? 1 : -1},
                    {"at_drawn", report::number(rises ? low + turned : high - turned)}};
      }
      return std::nullopt;
    }
    if (k.x_unit != "mm") return std::nullopt;
    for (std::size_t i = 0; i < count(); ++i) {
      for (std::size_t o = i + 1; o < count(); ++o) {
        const double first = distance(points_.front()[i], points_.front()[o]),
                     last = distance(points_.back()[i], points_.back()[o]);
        if (std::min(std::fabs(first - low) + std::fabs(last - high), std::fabs(first - high) + std::fabs(last - low)) <
            5 * kSame_mm)
          return Json{{"gap", {i, o}}};
      }
    }
    return std::nullopt;
  }

  std::vector<const Shape*> bars_, ghosts_;
  std::vector<std::vector<const Shape*>> positions_;  ///< from one end of the travel to the other
  std::size_t drawn_ = 0;
  std::vector<std::vector<Point>> points_;  ///< by position
  std::vector<std::pair<std::size_t, std::size_t>> ends_;
  std::vector<bool> stays_;
  mutable std::string measured_;
  mutable double low_ = 0, high_ = 0;
};

}  // namespace

std::optional<std::string> linkage_json(const candidate::Candidate& c, const Texts& t) {
  if (auto turn = turn_json(c, t)) return turn;
  return Chain(c.shapes).json(c, t);
}

}  // namespace dossier
