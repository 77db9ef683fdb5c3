#include "linkage/synthesis.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <tuple>

#include "base/check.h"
#include "base/parallel.h"
#include "base/text.h"

namespace linkage {
namespace {

constexpr double kPi = std::numbers::pi;
constexpr double kInfinity = std::numeric_limits<double>::infinity();
constexpr int kUnfits = 11;
// Exact lattice fits (parallelograms, links that just reach) must not fall to rounding.
constexpr double kSlackMm = 1e-7;
constexpr double kSlackRad = 1e-9;
// Scores are compared in whole millionths: mirror images then tie and keep their order.
constexpr double kPerScore = 1e6;

std::size_t no(int index) {
  return static_cast<std::size_t>(index);
}
std::size_t no(Unfit reason) {
  return static_cast<std::size_t>(reason);
}
double degrees(double rad) {
  return rad * 180 / kPi;
}
/// angle - from, folded to [0, 2 pi).
double ahead(double angle, double from) {
  const double d = std::fmod(angle - from, 2 * kPi);
  return d < 0 ? d + 2 * kPi : d;
}

struct Offset {
  lattice::Point2 crank_pivot, rocker_pivot;  // the first pair
  std::int64_t pairs = 0;
  double x = 0, z = 0, length = 0, angle = 0;
};

Offset offset_of(double pitch_mm, lattice::Point2 crank, lattice::Point2 d) {
  const double half = pitch_mm / 2;
  return {
      crank, crank + d, 1, half * d.x_hp, half * d.z_hp, half * std::hypot(d.x_hp, d.z_hp), std::atan2(d.z_hp, d.x_hp)};
}

/// What holds for one crank length and start angle, whatever coupler and rocker.
struct Reach {
  double least = 0, most = 0;  ///< of D over the travel
};

struct Nearest {
  std::int64_t count = 0;
  double shortfall = kInfinity;
  FourBarChoice choice;
  void offer(double value, const FourBarChoice& c, std::int64_t times) {
    count += times;
    if (value < shortfall) {
      shortfall = value;
      choice = c;
    }
  }
};

struct Ranked {
  std::int64_t score = 0;
  FourBarChoice choice;
};
using Key = std::tuple<int, int, int, int, int>;
Key key_of(const FourBarChoice& c) {
  const lattice::Point2 offset = c.rocker_pivot - c.crank_pivot;
  return {c.crank_p, c.coupler_p, c.rocker_p, offset.x_hp, offset.z_hp};
}

struct Tally {
  std::array<Nearest, kUnfits> unfit;
  std::int64_t feasible = 0, examined = 0;
  std::vector<Ranked> linkages;  ///< best start of each distinct feasible linkage
  bool done = false;
};

class Search {
 public:
  explicit Search(const FourBarTask& task) : task_(task) {
    int longest = 0;
    for (const Bar& b : task.bars) longest = std::max(longest, b.holes - 1);
    for (int p = 1; p <= longest; ++p) lengths_.push_back(p);
    const std::size_t n = lengths_.size();
    stock_.resize(n * n * n);
    for (std::size_t a = 0; a < n; ++a) {
      for (std::size_t b = 0; b < n; ++b) {
        for (std::size_t c = 0; c < n; ++c) {
          std::vector<int> wanted;
          for (int k = 0; k < task.bars_per_link; ++k) {
            for (const std::size_t l : {a, b, c}) wanted.push_back(lengths_[l]);
          }
          const auto bars = bars_for(task.bars, wanted);
          if (bars) stock_[(a * n + b) * n + c] = {true, {(*bars)[0], (*bars)[1], (*bars)[2]}};
        }
      }
    }
    if (task.start_step_rad > 0) {
      const int count = static_cast<int>(std::ceil(2 * kPi / task.start_step_rad - 1e-9));
      for (int k = 0; k < count; ++k) starts_.push_back(task.start_rad + k * task.start_step_rad);
    } else {
      starts_.push_back(task.start_rad);
    }
    points_ = task.points;
    if (task.carrier == Carrier::none) points_ = {{}};
    full_turn_ = task.swing_rad >= 2 * kPi - kSlackRad;
  }

  [[nodiscard]] std::vector<double> torques(const FourBarChoice& c) const {
    const lattice::Point2 d = c.rocker_pivot - c.crank_pivot;
    const Offset o = offset_of(task_.pitch_mm, c.crank_pivot, d);
    const double p = task_.pitch_mm;
    std::vector<Sample> samples;
    walk(o, c.crank_p * p, c.coupler_p * p, c.rocker_p * p, c, samples);
    std::vector<double> out;
    for (const Sample& q : samples) out.push_back(-power(o, c.crank_p * p, q, c, samples));
    return out;
  }

  [[nodiscard]] std::int64_t per_pair() const {
    const auto n = static_cast<std::int64_t>(lengths_.size());
    return n * n * n * 2 * static_cast<std::int64_t>(starts_.size() * points_.size());
  }
  [[nodiscard]] std::size_t lengths() const { return lengths_.size(); }
  [[nodiscard]] std::size_t starts() const { return starts_.size(); }

  void run(const Offset& offset, Tally& tally) const {
    const std::size_t n = lengths_.size();
    std::vector<Reach> reach(n * starts_.size());
    for (std::size_t a = 0; a < n; ++a) {
      for (std::size_t s = 0; s < starts_.size(); ++s) reach[a * starts_.size() + s] = reach_of(offset, a, starts_[s]);
    }
    const std::int64_t times = offset.pairs * static_cast<std::int64_t>(points_.size());
    FourBarChoice c;
    c.crank_pivot = offset.crank_pivot;
    c.rocker_pivot = offset.rocker_pivot;
    for (std::size_t a = 0; a < n; ++a) {
      for (std::size_t b = 0; b < n; ++b) {
        for (std::size_t r = 0; r < n; ++r) {
          c.crank_p = lengths_[a];
          c.coupler_p = lengths_[b];
          c.rocker_p = lengths_[r];
          const auto& [available, bars] = stock_[(a * n + b) * n + r];
          if (!available) {
            tally.unfit[no(Unfit::stock)].offer(0, c, times * 2 * static_cast<std::int64_t>(starts_.size()));
            continue;
          }
          c.bars = bars;
          Ranked best{std::numeric_limits<std::int64_t>::max(), {}};
          lengths(offset, c, reach.data() + a * starts_.size(), tally, best);
          if (best.score != std::numeric_limits<std::int64_t>::max()) tally.linkages.push_back(best);
        }
      }
    }
    tally.examined += offset.pairs * per_pair();
    tally.done = true;
  }

 private:
  [[nodiscard]] Reach reach_of(const Offset& o, std::size_t crank, double start) const {
    const double a = lengths_[crank] * task_.pitch_mm, d = o.length;
    const auto at = [&](double angle) { return std::sqrt(std::max(0.0, a * a + d * d - 2 * a * d * std::cos(angle))); };
    const double from = at(start - o.angle), to = at(start + task_.swing_rad - o.angle);
    Reach out{std::min(from, to), std::max(from, to)};
    if (full_turn_ || ahead(o.angle, start) <= task_.swing_rad) out.least = std::fabs(d - a);
    if (full_turn_ || ahead(o.angle + kPi, start) <= task_.swing_rad) out.most = d + a;
    return out;
  }

  /// All starts and closures of one triple of lengths.
  void lengths(const Offset& o, FourBarChoice& c, const Reach* reach, Tally& tally, Ranked& best) const {
    const double a = c.crank_p * task_.pitch_mm, b = c.coupler_p * task_.pitch_mm, r = c.rocker_p * task_.pitch_mm;
    const std::int64_t times = o.pairs * static_cast<std::int64_t>(points_.size());
    // Crank angles at which the rocker turns back, with the closure each belongs to.
    struct Turn {
      double crank;
      int closure;
    };
    std::array<Turn, 4> turns{};
    int turn_count = 0;
    for (const double span : {a + b, a - b}) {
      if (span == 0) continue;
      const double cosine = (span * span + o.length * o.length - r * r) / (2 * span * o.length);
      if (!(std::fabs(cosine) <= 1)) continue;
      for (const double side : {1.0, -1.0}) {
        const double crank = o.angle + side * std::acos(cosine);
        // Rocker pin at span along the crank's direction, seen from the crank pin.
        const double bx = (span - a) * std::cos(crank), bz = (span - a) * std::sin(crank);
        const double gx = o.x - a * std::cos(crank), gz = o.z - a * std::sin(crank);
        turns[no(turn_count++)] = {crank, gx * bz - gz * bx >= 0 ? 1 : -1};
      }
    }
    for (std::size_t s = 0; s < starts_.size(); ++s) {
      c.start_rad = starts_[s];
      const Reach& d = reach[s];
      const double gap = std::max(std::fabs(b - r) - d.least, d.most - (b + r));
      if (gap > kSlackMm) {
        tally.unfit[no(Unfit::closes)].offer(gap, c, 2 * times);
        continue;
      }
      const auto cosine = [&](double reach_mm) {
        return std::min(1.0, std::fabs(b * b + r * r - reach_mm * reach_mm) / (2 * b * r));
      };
      c.transmission_rad = std::acos(std::max(cosine(d.least), cosine(d.most)));
      if (c.transmission_rad < task_.min_transmission_rad - kSlackRad) {
        tally.unfit[no(Unfit::transmission)].offer(degrees(task_.min_transmission_rad - c.transmission_rad), c,
                                                   2 * times);
        continue;
      }
      for (const int closure : {1, -1}) {
        c.closure = closure;
        if (task_.one_way) {
          double inside = 0;  // how far within the travel the nearest turning point lies
          for (int t = 0; t < turn_count; ++t) {
            if (turns[no(t)].closure != closure) continue;
            const double at = ahead(turns[no(t)].crank, c.start_rad);
            if (full_turn_) inside = std::max(inside, kPi);
            inside = std::max(inside, std::min(at, task_.swing_rad - at));
          }
          if (inside > kSlackRad) {
            tally.unfit[no(Unfit::turns_back)].offer(degrees(inside), c, times);
            continue;
          }
        }
        travel(o, a, b, r, c, tally, best);
      }
    }
  }

  struct Sample {
    double crank, coupler, rocker, coupler_rate, rocker_rate;
  };

  /// One crank angle; coupler and rocker within (-pi, pi].
  [[nodiscard]] static Sample sample(const Offset& o, double a, double b, double r, int closure, double crank) {
    Sample q{};
    q.crank = crank;
    const double gx = o.x - a * std::cos(crank), gz = o.z - a * std::sin(crank), reach = std::hypot(gx, gz);
    const double along = (b * b - r * r + reach * reach) / (2 * reach);
    const double off = closure * std::sqrt(std::max(0.0, b * b - along * along));
    const double bx = (along * gx - off * gz) / reach, bz = (along * gz + off * gx) / reach;
    q.coupler = std::atan2(bz, bx);
    q.rocker = std::atan2(bz - gz, bx - gx);
    const double sine = std::sin(q.coupler - q.rocker);
    q.coupler_rate = a * std::sin(q.rocker - crank) / (b * sine);
    q.rocker_rate = a * std::sin(q.coupler - crank) / (r * sine);
    return q;
  }

  void walk(const Offset& o, double a, double b, double r, const FourBarChoice& c, std::vector<Sample>& samples) const {
    samples.clear();
    for (int k = 0; k <= task_.samples; ++k) {
      Sample q = sample(o, a, b, r, c.closure, c.start_rad + task_.swing_rad * k / task_.samples);
      if (!samples.empty()) {
        q.coupler = samples.back().coupler + std::remainder(q.coupler - samples.back().coupler, 2 * kPi);
        q.rocker = samples.back().rocker + std::remainder(q.rocker - samples.back().rocker, 2 * kPi);
      }
      samples.push_back(q);
    }
  }

  /// How far a rocker that does not turn back swings: from its two ends and the sense in between; signed.
  [[nodiscard]] double one_way_swing(const Offset& o, double a, double b, double r, const FourBarChoice& c) const {
    const double from = sample(o, a, b, r, c.closure, c.start_rad).rocker;
    const double to = sample(o, a, b, r, c.closure, c.start_rad + task_.swing_rad).rocker;
    const bool forward = sample(o, a, b, r, c.closure, c.start_rad + task_.swing_rad / 2).rocker_rate > 0;
    const double swing = forward ? ahead(to, from) : ahead(from, to);
    // A rocker that stays where it is may come out a rounding behind itself.
    return swing > 2 * kPi - kSlackRad ? 0 : forward ? swing : -swing;
  }

  /// The carried point in one sample, from the crank pivot, and its velocity per rad of the crank.
  struct Carried {
    double x, z, vx, vz, angle;
  };
  [[nodiscard]] Carried carried(const Offset& o, double a, const Sample& q, lattice::Point2 point) const {
    const bool on_coupler = task_.carrier == Carrier::coupler;
    const double px = point.x_hp * task_.pitch_mm / 2, pz = point.z_hp * task_.pitch_mm / 2;
    const double angle = on_coupler ? q.coupler : q.rocker, rate = on_coupler ? q.coupler_rate : q.rocker_rate;
    const double cosine = std::cos(angle), sine = std::sin(angle);
    const double ox = on_coupler ? a * std::cos(q.crank) : o.x, oz = on_coupler ? a * std::sin(q.crank) : o.z;
    const double dx = cosine * px - sine * pz, dz = sine * px + cosine * pz;
    return {ox + dx, oz + dz, (on_coupler ? -oz : 0) - rate * dz, (on_coupler ? ox : 0) + rate * dx, angle};
  }

  /// Power of the loads per rad/s of the crank.
  [[nodiscard]] double power(const Offset& o, double a, const Sample& q, const FourBarChoice& c,
                             const std::vector<Sample>& samples) const {
    double sum = moment_at(q, c, samples) * q.rocker_rate;
    if (task_.carrier != Carrier::none) {
      const Carried p = carried(o, a, q, c.point);
      sum += task_.point_force.x_n * p.vx + task_.point_force.z_n * p.vz;
    }
    return sum;
  }

  /// Walks one travel; judges swing, torque and what the point does.
  void travel(const Offset& o, double a, double b, double r, FourBarChoice& c, Tally& tally, Ranked& best) const {
    thread_local std::vector<Sample> samples;
    thread_local std::vector<Vec2> way;
    const std::int64_t points = static_cast<std::int64_t>(points_.size());
    if (task_.one_way) {  // most travels end here: three samples instead of all
      c.output_swing_rad = one_way_swing(o, a, b, r, c);
    } else {
      walk(o, a, b, r, c, samples);
      const auto [low, high] = std::minmax_element(
          samples.begin(), samples.end(), [](const Sample& p, const Sample& q) { return p.rocker < q.rocker; });
      c.output_swing_rad = high->rocker - low->rocker;
    }
    const double swing = std::fabs(c.output_swing_rad);
    if (swing < task_.output_swing_rad.least - kSlackRad) {
      tally.unfit[no(Unfit::swing_small)].offer(degrees(task_.output_swing_rad.least - swing), c, o.pairs * points);
      return;
    }
    if (swing > task_.output_swing_rad.most + kSlackRad) {
      tally.unfit[no(Unfit::swing_large)].offer(degrees(swing - task_.output_swing_rad.most), c, o.pairs * points);
      return;
    }
    if (task_.one_way) walk(o, a, b, r, c, samples);
    c.output_from_rad = samples.front().rocker;
    for (const lattice::Point2 point : points_) {
      c.point = point;
      const double origin_x = task_.pitch_mm / 2 * c.crank_pivot.x_hp;
      const double origin_z = task_.pitch_mm / 2 * c.crank_pivot.z_hp;
      c.torque_nmm = c.tilt_rad = 0;
      double left = kInfinity, right = -kInfinity, before = 0;
      way.clear();
      for (const Sample& q : samples) {
        c.torque_nmm = std::max(c.torque_nmm, std::fabs(power(o, a, q, c, samples)));
        if (task_.carrier == Carrier::none) continue;
        const Carried p = carried(o, a, q, point);
        if (way.empty()) before = p.angle;
        way.push_back({origin_x + p.x, origin_z + p.z});
        left = std::min(left, way.back().x_mm);
        right = std::max(right, way.back().x_mm);
        c.tilt_rad = std::max(c.tilt_rad, std::fabs(p.angle - before));
      }
      if (task_.carrier != Carrier::none) {
        c.rise_mm = way.back().z_mm - way.front().z_mm;
        c.drift_mm = right - left;
        c.path_error_mm = path_error(way);
      }
      const auto falls = [&](Unfit reason, double shortfall) {
        if (!(shortfall > 0)) return false;
        tally.unfit[no(reason)].offer(shortfall, c, o.pairs);
        return true;
      };
      if (falls(Unfit::torque, c.torque_nmm - task_.max_torque_nmm * (1 + 1e-12))) continue;
      if (falls(Unfit::tilt, degrees(c.tilt_rad - task_.max_tilt_rad - kSlackRad))) continue;
      if (falls(Unfit::rise, std::max(task_.rise_mm.least - c.rise_mm, c.rise_mm - task_.rise_mm.most) - kSlackMm))
        continue;
      if (falls(Unfit::drift, c.drift_mm - task_.max_drift_mm - kSlackMm)) continue;
      if (!task_.path_mm.empty() && falls(Unfit::path, c.path_error_mm - task_.path_tolerance_mm - kSlackMm)) continue;
      tally.feasible += o.pairs;
      const std::int64_t score = score_of(c);
      if (task_.every_travel) {
        tally.linkages.push_back({score, c});
      } else if (score < best.score) {
        best = {score, c};
      }
    }
  }

  [[nodiscard]] double moment_at(const Sample& q, const FourBarChoice& c, const std::vector<Sample>& samples) const {
    const auto& table = task_.output_moment_nmm;
    if (table.empty()) return 0;
    if (table.size() == 1) return table[0];
    const double share = c.output_swing_rad == 0 ? 0 : (q.rocker - samples.front().rocker) / c.output_swing_rad;
    const double at = std::clamp(share, 0.0, 1.0) * static_cast<double>(table.size() - 1);
    const std::size_t low = std::min(static_cast<std::size_t>(at), table.size() - 2);
    return table[low] + (at - static_cast<double>(low)) * (table[low + 1] - table[low]);
  }

  /// Largest distance of a wanted place from the point's way (a polyline through the samples).
  [[nodiscard]] double path_error(const std::vector<Vec2>& way) const {
    double worst = 0;
    for (const Vec2& p : task_.path_mm) {
      double nearest = kInfinity;
      for (std::size_t k = 1; k < way.size(); ++k) {
        const double ex = way[k].x_mm - way[k - 1].x_mm, ez = way[k].z_mm - way[k - 1].z_mm;
        const double fx = p.x_mm - way[k - 1].x_mm, fz = p.z_mm - way[k - 1].z_mm;
        const double square = ex * ex + ez * ez;
        const double share = square > 0 ? std::clamp((ex * fx + ez * fz) / square, 0.0, 1.0) : 0;
        nearest = std::min(nearest, std::hypot(fx - share * ex, fz - share * ez));
      }
      worst = std::max(worst, nearest);
    }
    return worst;
  }

  [[nodiscard]] std::int64_t score_of(const FourBarChoice& c) const {
    double score = 0;
    switch (task_.aim) {
      case FourBarTask::Aim::path:
        score = c.path_error_mm;
        break;
      case FourBarTask::Aim::torque:
        score = c.torque_nmm;
        break;
      case FourBarTask::Aim::tilt:
        score = c.tilt_rad;
        break;
      case FourBarTask::Aim::transmission:
        score = -c.transmission_rad;
        break;
      case FourBarTask::Aim::size:
        score = c.crank_p + c.coupler_p + c.rocker_p;
        break;
    }
    return std::llround(std::min(score, 1e12) * kPerScore);
  }

  struct Stock {
    bool available = false;
    std::array<int, 3> bars{};
  };
  const FourBarTask& task_;
  std::vector<int> lengths_;
  std::vector<Stock> stock_;
  std::vector<double> starts_;
  std::vector<lattice::Point2> points_;
  bool full_turn_ = false;
};

std::vector<Offset> offsets_of(const FourBarTask& task) {
  std::vector<Offset> out;
  std::map<std::pair<int, int>, std::size_t> known;
  for (const lattice::Point2 crank : task.crank_pivots) {
    for (const lattice::Point2 rocker : task.rocker_pivots) {
      const lattice::Point2 d = rocker - crank;
      if (d == lattice::Point2{}) continue;  // one hole cannot be both pivots
      if (task.path_mm.empty()) {
        const auto [at, fresh] = known.try_emplace({d.x_hp, d.z_hp}, out.size());
        if (!fresh) {
          ++out[at->second].pairs;
          continue;
        }
      }
      out.push_back(offset_of(task.pitch_mm, crank, d));
    }
  }
  return out;
}

void check(const FourBarTask& task) {
  KW_CHECK(task.pitch_mm > 0, "the lattice needs a pitch");
  KW_CHECK(task.swing_rad > 0 && task.samples >= 1, "the crank's travel is empty");
  KW_CHECK(task.bars_per_link >= 1 && task.keep >= 1, "at least one bar per link and one linkage to keep");
  KW_CHECK((task.carrier == Carrier::none) == task.points.empty(), "a carrier needs points, points need a carrier");
  KW_CHECK(task.path_mm.empty() || task.carrier != Carrier::none, "a path is followed by a point of a link");
}

}  // namespace

FourBars find_four_bars(const FourBarTask& task, const base::RunControl& control) {
  check(task);
  const Search search(task);
  const std::vector<Offset> offsets = offsets_of(task);
  std::vector<Tally> tallies(offsets.size());
  base::parallel_for(offsets.size(), control.jobs, [&](std::size_t i) {
    if (!control.stopped()) search.run(offsets[i], tallies[i]);
  });
  FourBars out;
  std::vector<Ranked> all;
  std::array<Nearest, kUnfits> unfit;
  std::map<Key, std::size_t> known;
  for (const Tally& t : tallies) {
    if (!t.done) {
      out.complete = false;
      continue;
    }
    out.examined += t.examined;
    out.feasible += t.feasible;
    for (std::size_t r = 0; r < kUnfits; ++r) {
      if (t.unfit[r].count > 0) {
        unfit[r].offer(t.unfit[r].shortfall, t.unfit[r].choice, t.unfit[r].count);
      }
    }
    for (const Ranked& one : t.linkages) {
      const auto [at, fresh] = known.try_emplace(key_of(one.choice), all.size());
      if (fresh || task.every_travel) {
        all.push_back(one);
      } else if (one.score < all[at->second].score) {
        all[at->second] = one;
      }
    }
  }
  out.linkages = static_cast<std::int64_t>(known.size());
  if (!task.every_travel)
    std::stable_sort(all.begin(), all.end(), [](const Ranked& a, const Ranked& b) { return a.score < b.score; });
  const std::size_t keep = task.every_travel ? all.size() : std::min(all.size(), no(task.keep));
  for (std::size_t i = 0; i < keep; ++i) out.best.push_back(all[i].choice);
  for (std::size_t r = 0; r < kUnfits; ++r) {
    if (unfit[r].count > 0)
      out.misfits.push_back({static_cast<Unfit>(r), unfit[r].count, unfit[r].shortfall, unfit[r].choice});
  }
  const auto count = [](std::size_t n) { return std::to_string(n); };
  out.covered = count(offsets.size()) + (task.path_mm.empty() ? " pivot offsets x " : " pivot pairs x ") +
                count(search.lengths()) + "^3 bar lengths x 2 closures x " + count(search.starts()) + " start angle" +
                (search.starts() == 1 ? "" : "s (every " + base::plain(degrees(task.start_step_rad), 4) + " deg)") +
                (task.points.empty() ? "" : " x " + count(task.points.size()) + " points") +
                (out.complete ? "" : ", stopped before the end");
  return out;
}

std::vector<double> crank_torques_nmm(const FourBarTask& task, const FourBarChoice& choice) {
  check(task);
  return Search(task).torques(choice);
}

}  // namespace linkage
