#include "balance/crossing.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numbers>

#include "balance/hold.h"
#include "balance/push.h"
#include "base/check.h"

namespace balance {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
constexpr double kFar_mm = 1e6;
// Steeper than a model stands on its nose or tail.
constexpr double kTurnedOver_rad = 60 * std::numbers::pi / 180;

SidePoint turned(SidePoint p, double angle) {
  const double c = std::cos(angle), s = std::sin(angle);
  return {p.x_mm * c - p.z_mm * s, p.x_mm * s + p.z_mm * c};
}
SidePoint minus(SidePoint a, SidePoint b) {
  return {a.x_mm - b.x_mm, a.z_mm - b.z_mm};
}

struct Span {
  int rear = 0;        ///< wheel; the span runs to the next wheel of its group
  SidePoint from, to;  ///< tangent points at the rear and front wheel, vehicle's frame
  int rocker = -1;
  double length_mm = 0;
};

/// How the vehicle stands, and where the search for its next place of rest begins.
struct Posture {
  double pitch = 0;
  std::vector<double> rocker;
};

struct RockerPlace {
  double height = 0, angle = 0;
  bool stopped = false;  ///< at its end: turns with the chassis
  Hold only, ahead, behind;
};

class Walker {
 public:
  Walker(const SideView& v, const GroundLine& ground) : v_(v), footing_(widened(ground)) {
    if (v.belt) add_spans();
  }

  enum class Resting { found, over_forwards, over_backwards };
  [[nodiscard]] Posture level() const { return {0, std::vector<double>(v_.rockers.size(), 0)}; }
  /// Settles from a posture at the nearest place of rest, unless it turns over.
  Resting settle(double x, Posture& posture, Station& out) {
    double& pitch = posture.pitch;
    rocker_ = posture.rocker;
    constexpr double kMostStep_rad = 0.02;  // no place of rest of a model's wheels is narrower
    const Rest rest = settle_near(pitch, -kTurnedOver_rad, kTurnedOver_rad, kMostStep_rad,
                                  [&](double angle) { return sides(x, angle); });
    if (rest.at != Rest::At::found) {
      return rest.at == Rest::At::highest ? Resting::over_backwards : Resting::over_forwards;
    }
    pitch = rest.angle;
    out = {};
    out.centre_x_mm = x;
    out.centre_z_mm = std::min(rest.below.height(), rest.above.height());
    out.pitch_rad = pitch;
    for (std::size_t k = 0; k < v_.rockers.size(); ++k) {
      const SidePoint pin = turned(minus(v_.rockers[k].pivot, v_.centre), pitch);
      out.rocker_rad.push_back(rest_of(static_cast<int>(k), x + pin.x_mm, pitch).angle);
    }
    posture.rocker = out.rocker_rad;
    take(rest.below.ahead, out);
    take(rest.above.behind, out);
    out.clearance_mm = clearance(out);
    return Resting::found;
  }

  /// Falls nose down from where it loses its balance, turning about the contact it last stood on, until something ahead
  /// catches it; false when nothing does.
  bool fall(const Station& from, double& x, Posture& posture) {
    rocker_ = from.rocker_rad;
    const Contact* pivot = nullptr;
    for (const Contact& c : from.contacts) {
      if (c.at.x_mm <= from.centre_x_mm + 1 && (pivot == nullptr || c.at.x_mm > pivot->at.x_mm)) pivot = &c;
    }
    if (pivot == nullptr) return false;
    const SidePoint arm{from.centre_x_mm - pivot->at.x_mm, from.centre_z_mm - pivot->at.z_mm};
    constexpr double kStep_rad = 0.002;
    for (double turn = kStep_rad; from.pitch_rad - turn > -kTurnedOver_rad; turn += kStep_rad) {
      const SidePoint now = turned(arm, -turn);
      x = pivot->at.x_mm + now.x_mm;
      posture = {from.pitch_rad - turn, rocker_};
      if (sides(x, posture.pitch).ahead.height >= pivot->at.z_mm + now.z_mm) return true;
    }
    return false;
  }

  /// Whether contacts within their friction cones hold the vehicle here, pulling with no more than `pull_share` of the
  /// weight in all, and each wheel that has motors of its own with no more than its part of that.
  [[nodiscard]] bool holds(const Station& s, double friction, double pull_share = kInfinity) const {
    std::vector<int> row(v_.rockers.size(), -1);
    std::vector<std::pair<int, double>> stop;  // row of a rocker at its end, and which way the end turns it
    int rows = 3;
    for (const Contact& c : s.contacts) {
      const int k = v_.wheels[static_cast<std::size_t>(c.wheel)].rocker;
      if (k < 0 || row[static_cast<std::size_t>(k)] >= 0) continue;
      row[static_cast<std::size_t>(k)] = rows++;
      const double turn = s.rocker_rad[static_cast<std::size_t>(k)] - s.pitch_rad;
      constexpr double kAtEnd_rad = 1e-6;
      if (std::fabs(turn) > v_.rockers[static_cast<std::size_t>(k)].most_rad - kAtEnd_rad) {
        stop.emplace_back(rows - 1, turn > 0 ? -1.0 : 1.0);
      }
    }
    constexpr double kArm_mm = 100;  // rows of comparable size
    std::vector<int> pull_row(v_.wheels.size(), -1);
    std::vector<int> pulls;  // rows
    if (std::isfinite(pull_share)) {
      const bool own = v_.pulls() > 1;
      for (const Contact& c : s.contacts) {
        int& at = pull_row[static_cast<std::size_t>(c.wheel)];
        if (at >= 0 || !(v_.wheels[static_cast<std::size_t>(c.wheel)].driven || c.belt)) continue;
        if (own || pulls.empty()) pulls.push_back(rows++);
        at = pulls.back();
      }
    }
    Eigen::MatrixXd columns =
        Eigen::MatrixXd::Zero(rows, static_cast<Eigen::Index>(2 * s.contacts.size() + stop.size() + pulls.size()));
    Eigen::Index used = 0;
    for (const Contact& c : s.contacts) {
      const SideWheel& wheel = v_.wheels[static_cast<std::size_t>(c.wheel)];
      const bool driven = wheel.driven || c.belt;
      for (const double along : {friction, -friction}) {
        const double share = driven ? along : -v_.rolling_resistance;
        const double fx = c.normal_x + share * c.normal_z, fz = c.normal_z - share * c.normal_x;
        auto column = columns.col(used++);
        column[0] = fx;
        column[1] = fz;
        column[2] = ((c.at.x_mm - s.centre_x_mm) * fz - (c.at.z_mm - s.centre_z_mm) * fx) / kArm_mm;
        const int r = wheel.rocker < 0 ? -1 : row[static_cast<std::size_t>(wheel.rocker)];
        if (r >= 0) {
          const SideRocker& rocker = v_.rockers[static_cast<std::size_t>(wheel.rocker)];
          SidePoint acts = c.at;
          if (!driven || !rocker.drive_on_rocker) {
            acts = {acts.x_mm + wheel.radius_mm * c.normal_x, acts.z_mm + wheel.radius_mm * c.normal_z};
          }
          const SidePoint pin = world(rocker.pivot, s);
          column[r] = ((acts.x_mm - pin.x_mm) * fz - (acts.z_mm - pin.z_mm) * fx) / kArm_mm;
        }
        const int pull = pull_row[static_cast<std::size_t>(c.wheel)];
        if (pull >= 0 && driven) column[pull] = share + v_.rolling_resistance;
        if (!driven) break;
      }
    }
    for (const auto& [r, way] : stop) columns(r, used++) = way;
    for (const int r : pulls) columns(r, used++) = 1;  // pull that is not needed
    Eigen::VectorXd target = Eigen::VectorXd::Zero(rows);
    target[1] = 1;
    for (const int r : pulls) target[r] = pull_share / v_.pulls();
    return push_balances(columns.leftCols(used), target);
  }

  [[nodiscard]] SidePoint world(SidePoint p, const Station& s) const {
    const SidePoint r = turned(minus(p, v_.centre), s.pitch_rad);
    return {s.centre_x_mm + r.x_mm, s.centre_z_mm + r.z_mm};
  }

 private:
  void add_spans() {
    for (int group = -1; group < static_cast<int>(v_.rockers.size()); ++group) {
      std::vector<int> order;
      for (std::size_t i = 0; i < v_.wheels.size(); ++i) {
        if (v_.wheels[i].rocker == group) order.push_back(static_cast<int>(i));
      }
      std::stable_sort(order.begin(), order.end(), [&](int a, int b) {
        return v_.wheels[static_cast<std::size_t>(a)].axle.x_mm < v_.wheels[static_cast<std::size_t>(b)].axle.x_mm;
      });
      for (std::size_t k = 0; k + 1 < order.size(); ++k) {
        const SideWheel &a = v_.wheels[static_cast<std::size_t>(order[k])],
                        &b = v_.wheels[static_cast<std::size_t>(order[k + 1])];
        // Lower tangent: unit normal n downwards with (b - a) . n = r_a - r_b.
        const double dx = b.axle.x_mm - a.axle.x_mm, dz = b.axle.z_mm - a.axle.z_mm, length = std::hypot(dx, dz);
        const double along = (a.radius_mm - b.radius_mm) / length;
        if (std::fabs(along) >= 1) continue;  // one wheel inside the other
        const double across = std::sqrt(1 - along * along);
        const double nx = along * dx / length + across * dz / length, nz = along * dz / length - across * dx / length;
        spans_.push_back({order[k],
                          {a.axle.x_mm + a.radius_mm * nx, a.axle.z_mm + a.radius_mm * nz},
                          {b.axle.x_mm + b.radius_mm * nx, b.axle.z_mm + b.radius_mm * nz},
                          group,
                          across * length});
      }
    }
  }

  /// Holds of one group of wheels and spans about a point of the vehicle that stands at x and is turned by `angle`.
  void group_holds(int group, SidePoint about, double x, double angle, Sides& out) const {
    const double c = std::cos(angle), s = std::sin(angle);
    const auto turned_here = [c, s](SidePoint p) {
      return SidePoint{p.x_mm * c - p.z_mm * s, p.x_mm * s + p.z_mm * c};
    };
    // A rocker whose wheels turn freely on it feels their forces at the axles, the chassis at the ground.
    const bool axles = group >= 0 && !v_.rockers[static_cast<std::size_t>(group)].drive_on_rocker;
    for (std::size_t i = 0; i < v_.wheels.size(); ++i) {
      const SideWheel& w = v_.wheels[i];
      if (w.rocker != group) continue;
      const SidePoint r = turned_here(minus(w.axle, about));
      Hold h = footing_.under_wheel(x + r.x_mm, w.radius_mm);
      h.height -= r.z_mm;
      h.ref_x = axles ? x + r.x_mm : h.foot_x;
      h.touch[0].wheel = static_cast<int>(i);
      out.add(h, x);
    }
    for (const Span& span : spans_) {
      if (span.rocker != group) continue;
      const SidePoint a = turned_here(minus(span.from, about)), b = turned_here(minus(span.to, about));
      if (!(b.x_mm > a.x_mm)) continue;
      const double length = span.length_mm;
      for (const SidePoint& g : footing_.line()) {
        const double along = (g.x_mm - x - a.x_mm) / (b.x_mm - a.x_mm);
        if (along < 0 || along > 1) continue;
        Hold h;
        h.height = g.z_mm - (a.z_mm + along * (b.z_mm - a.z_mm));
        h.foot_x = g.x_mm;
        Touch& touch = h.touch[0];
        touch.wheel = span.rear;
        touch.belt = true;
        touch.vertex = g;
        touch.normal_x = -(b.z_mm - a.z_mm) / length;
        touch.normal_z = (b.x_mm - a.x_mm) / length;
        const double radius = v_.wheels[static_cast<std::size_t>(span.rear)].radius_mm;
        h.ref_x = axles ? h.foot_x + radius * touch.normal_x : h.foot_x;
        out.add(h, x);
      }
    }
  }

  /// Where a rocker comes to rest with its pin at x, from where it was last.
  RockerPlace rest_of(int k, double x, double pitch) {
    const SideRocker& rocker = v_.rockers[static_cast<std::size_t>(k)];
    double& guess = rocker_[static_cast<std::size_t>(k)];
    constexpr double kMostStep_rad = 0.08;
    const Rest rest =
        settle_near(guess, pitch - rocker.most_rad, pitch + rocker.most_rad, kMostStep_rad, [&](double angle) {
          Sides s;
          group_holds(k, rocker.pivot, x, angle, s);
          return s;
        });
    guess = rest.angle;
    if (rest.at != Rest::At::found) {  // wants further than it can
      return {rest.below.height(),
              rest.angle,
              true,
              rest.at == Rest::At::highest ? rest.below.ahead : rest.below.behind,
              {},
              {}};
    }
    return {
        std::min(rest.below.height(), rest.above.height()), rest.angle, false, {}, rest.below.ahead, rest.above.behind};
  }

  [[nodiscard]] Sides sides(double x, double pitch) {
    Sides out;
    group_holds(-1, v_.centre, x, pitch, out);
    for (std::size_t k = 0; k < v_.rockers.size(); ++k) {
      const SidePoint pin = turned(minus(v_.rockers[k].pivot, v_.centre), pitch);
      const RockerPlace place = rest_of(static_cast<int>(k), x + pin.x_mm, pitch);
      Hold h = place.only;
      if (place.stopped) {
        h.ref_x = h.foot_x;
      } else {
        // Shares by the arms about the pin; the ground's forces themselves stand at the feet.
        const double gap = place.ahead.ref_x - place.behind.ref_x;
        const double ahead = gap > 0 ? std::clamp((x + pin.x_mm - place.behind.ref_x) / gap, 0.0, 1.0) : 0.5;
        h.ref_x = ahead * place.ahead.foot_x + (1 - ahead) * place.behind.foot_x;
        h.touch = {place.ahead.touch[0], place.behind.touch[0]};
        h.touches = 2;
      }
      h.height = place.height - pin.z_mm;
      out.add(h, x);
    }
    return out;
  }

  /// Adds what touches, once.
  void take(const Hold& h, Station& s) const {
    if (!std::isfinite(h.height)) return;
    for (std::size_t i = 0; i < h.touches; ++i) {
      const Touch& t = h.touch[i];
      Contact c{t.wheel, t.belt, t.vertex, t.normal_x, t.normal_z};
      if (!t.belt) {
        const SideWheel& w = v_.wheels[static_cast<std::size_t>(t.wheel)];
        SidePoint axle = world(w.axle, s);
        if (w.rocker >= 0) {
          const SidePoint pivot = v_.rockers[static_cast<std::size_t>(w.rocker)].pivot, pin = world(pivot, s);
          const SidePoint arm = turned(minus(w.axle, pivot), s.rocker_rad[static_cast<std::size_t>(w.rocker)]);
          axle = {pin.x_mm + arm.x_mm, pin.z_mm + arm.z_mm};
        }
        c.at = {axle.x_mm - w.radius_mm * c.normal_x, axle.z_mm - w.radius_mm * c.normal_z};
      }
      constexpr double kSame_mm = 1e-3;
      const bool known = std::any_of(s.contacts.begin(), s.contacts.end(), [&](const Contact& o) {
        return o.wheel == c.wheel && o.belt == c.belt &&
               std::hypot(o.at.x_mm - c.at.x_mm, o.at.z_mm - c.at.z_mm) < kSame_mm;
      });
      if (!known) s.contacts.push_back(c);
    }
  }

  [[nodiscard]] double clearance(const Station& s) const {
    double least = kInfinity;
    const GroundLine& ground = footing_.line();
    std::vector<SidePoint> under;
    for (const SidePoint& p : v_.underside) under.push_back(world(p, s));
    for (const SidePoint& p : under) {
      for (std::size_t i = 0; i + 1 < ground.size(); ++i) {
        const SidePoint a = ground[i], b = ground[i + 1];
        if (p.x_mm < a.x_mm || p.x_mm > b.x_mm) continue;
        const double z = b.x_mm > a.x_mm ? a.z_mm + (p.x_mm - a.x_mm) / (b.x_mm - a.x_mm) * (b.z_mm - a.z_mm)
                                         : std::max(a.z_mm, b.z_mm);
        least = std::min(least, p.z_mm - z);
      }
    }
    for (std::size_t i = 0; i + 1 < under.size(); ++i) {
      const SidePoint a = under[i], b = under[i + 1];
      for (const SidePoint& g : ground) {
        if (!(b.x_mm > a.x_mm) || g.x_mm < a.x_mm || g.x_mm > b.x_mm) continue;
        least = std::min(least, a.z_mm + (g.x_mm - a.x_mm) / (b.x_mm - a.x_mm) * (b.z_mm - a.z_mm) - g.z_mm);
      }
    }
    return least;
  }

  static GroundLine widened(const GroundLine& ground) {
    GroundLine out{{ground.front().x_mm - kFar_mm, ground.front().z_mm}};
    out.insert(out.end(), ground.begin(), ground.end());
    out.push_back({ground.back().x_mm + kFar_mm, ground.back().z_mm});
    return out;
  }

  const SideView& v_;
  Footing footing_;
  std::vector<Span> spans_;
  std::vector<double> rocker_;  ///< where each rocker was when last looked at
};

/// Whether another contact holds the vehicle now, or the same one by another face.
bool changed(const Station& a, const Station& b) {
  if (a.contacts.size() != b.contacts.size()) return true;
  constexpr double kSameFace = 0.995;  // cos of 6 deg
  for (std::size_t i = 0; i < a.contacts.size(); ++i) {
    const Contact &p = a.contacts[i], &q = b.contacts[i];
    if (p.wheel != q.wheel || p.belt != q.belt) return true;
    if (p.normal_x * q.normal_x + p.normal_z * q.normal_z < kSameFace) return true;
  }
  return false;
}

/// The least value from `from` to `most` that suffices, to 1e-6; infinite when `most` does not.
template <class Suffices>
double least_value(double from, double most, const Suffices& suffices) {
  if (suffices(from)) return from;
  if (!suffices(most)) return kInfinity;
  double low = from, high = most;
  while (high - low > 1e-6) {
    const double middle = (low + high) / 2;
    (suffices(middle) ? high : low) = middle;
  }
  return high;
}

}  // namespace

const char* name_of(Stop stop) {
  switch (stop) {
    case Stop::nothing:
      return "nothing";
    case Stop::friction:
      return "friction";
    case Stop::balance:
      return "balance";
    case Stop::pull:
      return "pull";
    case Stop::clearance:
      break;
  }
  return "clearance";
}

Stop Crossing::stopped_by(double friction) const {
  for (const Station& s : stations) {
    if (s.clearance_mm < 0) return Stop::clearance;
    if (s.needed_friction > friction) return Stop::friction;
    if (s.friction_with_pull > friction) return Stop::pull;
  }
  return keeps_balance ? Stop::nothing : Stop::balance;
}

double Crossing::stopped_at_mm(double friction) const {
  for (const Station& s : stations) {
    if (s.clearance_mm < 0 || s.friction_with_pull > friction) return s.centre_x_mm;
  }
  return stations.empty() ? 0 : stations.back().centre_x_mm;
}

Crossing cross(const SideView& vehicle, const GroundLine& ground, const CrossingOptions& options) {
  const std::string fault = fault_of(vehicle);
  KW_CHECK(fault.empty(), fault);
  KW_CHECK(!ground.empty() && options.step_mm > 0, "a ground and a step");
  const bool pulls = std::isfinite(options.pull_n);
  KW_CHECK(!pulls || vehicle.weight_n > 0, "a pull is measured by the weight");
  const double pull_share = pulls ? options.pull_n / vehicle.weight_n : kInfinity;
  double front = -kInfinity, rear = kInfinity;
  for (const SideWheel& w : vehicle.wheels) {
    front = std::max(front, w.axle.x_mm + w.radius_mm);
    rear = std::min(rear, w.axle.x_mm - w.radius_mm);
  }
  constexpr double kRoom_mm = 2;
  const double from = ground.front().x_mm - (front - vehicle.centre.x_mm) - kRoom_mm;
  const double to = ground.back().x_mm + (vehicle.centre.x_mm - rear) + kRoom_mm;
  Walker walker(vehicle, ground);

  Crossing out;
  out.least_clearance_mm = kInfinity;
  double with_pull = 0, needed_share = 0;
  const auto least_friction = [&](const Station& s, double known, double share) {
    if (!std::isfinite(known)) return kInfinity;
    return least_value(known, options.most_friction, [&](double mu) { return walker.holds(s, mu, share); });
  };
  const auto keep = [&](Station s) {
    s.needed_friction = least_friction(s, options.each_station ? 0 : out.needed_friction, kInfinity);
    if (s.needed_friction > out.needed_friction) {
      out.needed_friction = s.needed_friction;
      out.friction_at_mm = s.centre_x_mm;
    }
    s.friction_with_pull = s.needed_friction;
    if (pulls) {
      const double known = options.each_station ? s.needed_friction : std::max(s.needed_friction, with_pull);
      s.friction_with_pull = with_pull = least_friction(s, known, pull_share);
      // Wedged between two faces, contacts push harder than the weight; beyond ten times it counts as stuck.
      const double grip = std::max(s.needed_friction, options.pull_friction);
      if (options.each_station && std::isfinite(grip)) {
        constexpr double kMostShare = 10;
        const double share =
            least_value(needed_share, kMostShare, [&](double most) { return walker.holds(s, grip, most); });
        if (share > needed_share) {
          needed_share = share;
          out.needed_pull_n = share * vehicle.weight_n;
          out.pull_at_mm = s.centre_x_mm;
        }
      }
    }
    if (s.clearance_mm < out.least_clearance_mm) {
      out.least_clearance_mm = s.clearance_mm;
      out.clearance_at_mm = s.centre_x_mm;
    }
    out.most_pitch_rad = std::max(out.most_pitch_rad, s.pitch_rad);
    out.least_pitch_rad = std::min(out.least_pitch_rad, s.pitch_rad);
    out.stations.push_back(std::move(s));
  };

  double x = from;
  Posture posture = walker.level();
  Station here;
  if (walker.settle(x, posture, here) != Walker::Resting::found) {
    out.keeps_balance = false;
    return out;
  }
  keep(here);
  double window_end = x;
  int events = 0;
  while (x < to) {
    if (std::max(out.needed_friction, with_pull) > options.enough_friction || out.least_clearance_mm < 0) {
      if (!options.each_station) return out;
    }
    if (x >= window_end) {
      window_end = x + options.step_mm;
      events = 0;
    }
    const double next_x = std::min(to, x + options.step_mm);
    Posture next_posture = posture;
    Station next;
    Walker::Resting rest = walker.settle(next_x, next_posture, next);
    double reached = next_x;
    // More changes than this within one step are contacts in turn on a belt or a row of wheels, each alike.
    constexpr int kEvents = 6;
    if (rest != Walker::Resting::found || (changed(here, next) && ++events <= kEvents)) {
      // Halve down to where the contacts change, so that the moment just after is looked at.
      constexpr double kEvent_mm = 1e-4;
      double low = x, high = next_x;
      Posture low_posture = posture;
      Station before = here;
      while (high - low > kEvent_mm) {
        const double middle = (low + high) / 2;
        Posture middle_posture = low_posture;
        Station between;
        const Walker::Resting held = walker.settle(middle, middle_posture, between);
        if (held == Walker::Resting::found && !changed(before, between)) {
          low = middle;
          low_posture = middle_posture;
          before = between;
        } else {
          high = middle;
          next = between;
          next_posture = middle_posture;
          rest = held;
        }
      }
      reached = high;
      keep(before);
      if (rest == Walker::Resting::over_forwards && walker.fall(before, reached, next_posture)) {
        rest = walker.settle(reached, next_posture, next);
      }
      if (rest != Walker::Resting::found) {
        out.keeps_balance = false;
        return out;
      }
      out.largest_drop_rad = std::max(out.largest_drop_rad, std::fabs(next_posture.pitch - low_posture.pitch));
    }
    here = next;
    posture = next_posture;
    x = reached;
    keep(here);
  }
  return out;
}

std::vector<Largest> largest_passed(const SideView& vehicle, const Family& family, std::span<const double> frictions,
                                    const CrossingOptions& options) {
  KW_CHECK(family.most_mm > 0 && family.tried >= 1, "a family of obstacles has a size and steps");
  CrossingOptions quick = options;
  quick.each_station = false;
  std::vector<Largest> out(frictions.size());
  for (std::size_t f = 0; f < frictions.size(); ++f) {
    out[f].friction = frictions[f];
    out[f].next_mm = family.most_mm;
    quick.enough_friction = std::max(f == 0 ? 0.0 : quick.enough_friction, frictions[f]);
  }
  // One crossing answers for every friction, so sizes are walked once, up to the first that none passes.
  std::map<double, Crossing> walked;
  const auto stop_at = [&](double size_mm, double friction) {
    auto at = walked.find(size_mm);
    if (at == walked.end()) at = walked.emplace(size_mm, cross(vehicle, family.ground(size_mm), quick)).first;
    return at->second.stopped_by(friction);
  };
  std::size_t passing = out.size();
  for (int i = 1; i <= family.tried && passing > 0; ++i) {
    const double size_mm = family.most_mm * i / family.tried;
    for (Largest& best : out) {
      if (best.stop != Stop::nothing) continue;
      best.stop = stop_at(size_mm, best.friction);
      (best.stop == Stop::nothing ? best.size_mm : best.next_mm) = size_mm;
      if (best.stop != Stop::nothing) --passing;
    }
  }
  for (Largest& best : out) {
    if (best.stop == Stop::nothing) continue;
    for (int k = 0; k < family.halvings; ++k) {
      const double middle_mm = (best.size_mm + best.next_mm) / 2;
      const Stop stop = stop_at(middle_mm, best.friction);
      if (stop == Stop::nothing) {
        best.size_mm = middle_mm;
      } else {
        best.next_mm = middle_mm;
        best.stop = stop;
      }
    }
  }
  return out;
}

}  // namespace balance
