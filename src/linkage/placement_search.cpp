#include "linkage/placement_search.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstring>
#include <numbers>

namespace linkage::search {
namespace {

constexpr double kPi = std::numbers::pi;
constexpr double kInfinity = std::numeric_limits<double>::infinity();
// Lattice distances often equal an actuator's length exactly; a micrometre's thousandth keeps rounding out of it.
constexpr double kSlackMm = 1e-6;
// Forces and strokes are compared in whole micronewtons and nanometres: mirror images of one placement then tie instead
// of differing in their last bit.
constexpr double kPerUnit = 1e6;
constexpr double kMostKey = 1e12;
// Single precision against double, beyond the bounds that the lanes keep themselves: a few roundings of 6e-8.
constexpr double kFloat = 1e-6;

/// Of a value >= 0; rounded half up without a library call.
std::int64_t key_of(double value) {
  return static_cast<std::int64_t>(std::min(value, kMostKey) * kPerUnit + 0.5);
}

/// Whether a front beats a force and stroke, looked up by the force's leading bits: the usual answer is yes, and cheap.
class Screen {
 public:
  Screen() : stroke_(kBuckets, std::numeric_limits<std::int64_t>::max()) {}
  void add(double force_n, std::int64_t stroke_key) {
    for (std::size_t b = bucket(force_n) + 1; b < kBuckets && stroke_[b] > stroke_key; ++b) stroke_[b] = stroke_key;
  }
  /// True only when something kept has less force than `force_n` and no more stroke.
  [[nodiscard]] bool beats(double force_n, std::int64_t stroke_key) const {
    return stroke_[bucket(force_n)] <= stroke_key;
  }

 private:
  // 64 steps per doubling of the force.
  static constexpr int kDropped = 17;
  static constexpr std::size_t kBuckets = (0x7F800000U >> kDropped) + 1;
  static std::size_t bucket(double force_n) {
    return std::bit_cast<std::uint32_t>(static_cast<float>(force_n)) >> kDropped;
  }
  std::vector<std::int64_t> stroke_;  // least one of all kept in lower buckets
};

}  // namespace

/// Search of base mounts one by one, with its buffers.
class Piece {
 public:
  Piece(const Plan& plan, Tally& tally) : plan_(plan), tally_(tally), screens_(plan.closed_sq.size()) {
    const std::size_t rods = plan.rod_x.size(), actuators = plan.closed_sq.size();
    state_.resize(plan.rods.x.size());
    for (auto* v : {&low_sq_, &high_sq_, &low_cross_, &high_cross_}) v->resize(rods);
    for (auto* v : {&lane_x_, &lane_z_, &lane_peak_}) v->resize(plan.rods.x.size());
    for (auto* v :
         {&bounds_.force_low, &bounds_.force_high, &bounds_.least_sq, &bounds_.most_sq, &bounds_.stroke_low}) {
      v->resize(plan.rods.x.size());
    }
    for (auto* v : {&base_x_, &base_z_}) v->resize(plan.angles());
    for (auto* v : {&lanes_.too_short, &lanes_.too_long, &lanes_.stroke}) v->resize(actuators);
    for (auto* v : {&records_.short_sq, &records_.long_sq, &records_.stroke_hp}) v->resize(actuators);
    force_sq_.resize(plan.angles());
  }

  void base_mount(std::size_t index) {
    const lattice::Point2 from_pivot = plan_.task.base_mounts[index] - plan_.task.pivot_base;
    base_ = static_cast<int>(index);
    x_ = plan_.half_pitch_mm * from_pivot.x_hp;
    z_ = plan_.half_pitch_mm * from_pivot.z_hp;
    ++tally_.base_mounts;
    const double base_sq = x_ * x_ + z_ * z_;
    inverse_square_ = base_sq > 0 ? 1 / base_sq : kInfinity;
    survivors_.clear();
    in_half_pitches_ = from_pivot;
    const double square = lattice::squared_hp(from_pivot.x_hp, from_pivot.z_hp);
    const double half = plan_.half_pitch_mm;
    const Turned low = turned(0), high = turned(plan_.angles() - 1);
    ends_ = {static_cast<float>(low.x / half),  static_cast<float>(low.z / half),
             static_cast<float>(high.x / half), static_cast<float>(high.z / half),
             static_cast<float>(square),        static_cast<float>(square > 0 ? 1 / square : 0)};
    certain_ = by_lanes();
    if (!certain_) by_doubles();
    if (survivors_.empty()) return;
    sweep();
    collect();
  }

 private:
  struct Turned {
    double x, z;
  };
  [[nodiscard]] Turned turned(std::size_t k) const {
    const double c = plan_.cosine[k], s = plan_.sine[k];
    return {c * x_ + s * z_, c * z_ - s * x_};
  }

  /// Single precision for all rods, double for the unsure ones. False: a nearest miss may be among these pairs, or the
  /// list of actuators is long; nothing has been counted then.
  bool by_lanes() {
    const std::size_t actuators = plan_.closed_sq.size();
    if (actuators > static_cast<std::size_t>(lanes::kMostActuators)) return false;
    const Turned low = turned(0), high = turned(plan_.angles() - 1);
    const double half = plan_.half_pitch_mm, sq = half * half, above = 1 + kFloat, below = 1 - kFloat;
    const auto low_record = [&](double score, double unit) { return static_cast<float>(score / unit * above); };
    const auto high_record = [&](const Nearest& n, double unit) {
      return n.base < 0 ? -1.0F : static_cast<float>(-n.score / unit * below);
    };
    records_.part = low_record(tally_.dead_centre.score, 1);
    records_.lever_sq = high_record(tally_.lever, sq);
    for (std::size_t a = 0; a < actuators; ++a) {
      const auto& nearest = tally_.per_actuator[a];
      records_.short_sq[a] = low_record(nearest[static_cast<std::size_t>(Reason::too_short)].score, sq);
      records_.long_sq[a] = high_record(nearest[static_cast<std::size_t>(Reason::too_long)], sq);
      records_.stroke_hp[a] = low_record(nearest[static_cast<std::size_t>(Reason::stroke)].score, half);
    }
    lanes::classify(plan_.rods, plan_.limits, ends_, records_, state_.data(), lanes_);
    if (lanes_.nearer) return false;
    tally_.dead_centre.count += lanes_.dead_centre;
    tally_.lever.count += lanes_.lever;
    tally_.other_side += lanes_.other_side;
    for (std::size_t a = 0; a < actuators; ++a) {
      auto& nearest = tally_.per_actuator[a];
      nearest[static_cast<std::size_t>(Reason::too_short)].count += lanes_.too_short[a];
      nearest[static_cast<std::size_t>(Reason::too_long)].count += lanes_.too_long[a];
      nearest[static_cast<std::size_t>(Reason::stroke)].count += lanes_.stroke[a];
    }
    const std::size_t rods = plan_.rod_x.size();
    for (std::size_t i = 0; i < rods; i += 2) {
      std::uint64_t two;
      std::memcpy(&two, &state_[i], sizeof two);
      if (two == 0) continue;
      for (std::size_t k = i; k < std::min(i + 2, rods); ++k) {
        if (state_[k] == lanes::kSurvives) survivors_.push_back(static_cast<int>(k));
        if (state_[k] == lanes::kUnsure) {
          measure(k, low, high);
          judge(k);
        }
      }
    }
    return true;
  }

  void by_doubles() {
    const Turned low = turned(0), high = turned(plan_.angles() - 1);
    for (std::size_t i = 0; i < plan_.rod_x.size(); ++i) {
      measure(i, low, high);
      judge(i);
    }
  }

  /// Squared length and cross product at both ends.
  void measure(std::size_t i, Turned low, Turned high) {
    const double rx = plan_.rod_x[i], rz = plan_.rod_z[i];
    const double low_dx = rx - low.x, low_dz = rz - low.z, high_dx = rx - high.x, high_dz = rz - high.z;
    low_sq_[i] = low_dx * low_dx + low_dz * low_dz;
    high_sq_[i] = high_dx * high_dx + high_dz * high_dz;
    low_cross_[i] = low.x * rz - low.z * rx;
    high_cross_[i] = high.x * rz - high.z * rx;
  }

  /// Keeps a pair whose end angles allow at least one actuator; tells why another one fell.
  void judge(std::size_t i) {
    const int rod = static_cast<int>(i);
    const double low_cross = low_cross_[i], high_cross = high_cross_[i];
    const double low_cross_sq = low_cross * low_cross, high_cross_sq = high_cross * high_cross;
    if (!(low_cross * high_cross > 0)) {
      // sin^2 of the smaller part of the travel cut off by the dead centre; a mount on the pivot counts as farthest.
      const double part = std::min(low_cross_sq, high_cross_sq) * inverse_square_ * plan_.rod_inverse_square[i];
      tally_.dead_centre.offer(part <= 1 ? part : 2, base_, rod);
      return;
    }
    if ((low_cross < 0 ? plan_.limits.wrong_negative : plan_.limits.wrong_positive) != 0) {
      ++tally_.other_side;
      return;
    }
    const double low_sq = low_sq_[i], high_sq = high_sq_[i];
    if (low_cross_sq < plan_.min_lever_sq * low_sq || high_cross_sq < plan_.min_lever_sq * high_sq) {
      tally_.lever.offer(-std::min(low_cross_sq / low_sq, high_cross_sq / high_sq), base_, rod);
      return;
    }
    const double least_sq = std::min(low_sq, high_sq), most_sq = std::max(low_sq, high_sq);
    bool serves = false;
    for (std::size_t a = 0; a < plan_.closed_sq.size(); ++a) {
      auto& nearest = tally_.per_actuator[a];
      const bool too_long = least_sq < plan_.closed_sq[a];
      const bool too_short = most_sq > plan_.open_sq[a];
      if (!too_long && !too_short) {
        serves = true;
      } else if (!too_long) {
        nearest[static_cast<std::size_t>(Reason::too_short)].offer(most_sq, base_, rod);
      } else if (!too_short) {
        nearest[static_cast<std::size_t>(Reason::too_long)].offer(-least_sq, base_, rod);
      } else {
        nearest[static_cast<std::size_t>(Reason::stroke)].offer(std::sqrt(most_sq) - std::sqrt(least_sq), base_, rod);
      }
    }
    if (serves) survivors_.push_back(rod);
  }

  /// Single-precision peak of (M/h)^2 over the table for every survivor.
  void sweep() {
    const double x = in_half_pitches_.x_hp, z = in_half_pitches_.z_hp;
    const double* cosine = plan_.cosine.data();
    const double* sine = plan_.sine.data();
    for (std::size_t k = 0; k < plan_.angles(); ++k) {
      base_x_[k] = static_cast<float>(cosine[k] * x + sine[k] * z);
      base_z_[k] = static_cast<float>(cosine[k] * z - sine[k] * x);
    }
    const std::size_t n = survivors_.size(), full = lanes::padded(n);
    for (std::size_t i = 0; i < full; ++i) {
      const auto rod = static_cast<std::size_t>(survivors_[i < n ? i : n - 1]);
      lane_x_[i] = plan_.rods.x[rod];
      lane_z_[i] = plan_.rods.z[rod];
    }
    lanes::peaks(lane_x_.data(), lane_z_.data(), full, base_x_.data(), base_z_.data(), plan_.moment_sq.data(),
                 plan_.angles(), lane_peak_.data());
    lanes::bound(lane_x_.data(), lane_z_.data(), lane_peak_.data(), full, ends_, bounds_);
  }

  /// True when single precision shows that no actuator's front would take pair i; it is then counted.
  bool beaten(std::size_t i, double scale_n) {
    const double least_n = bounds_.force_low[i] * scale_n * (1 - kFloat);
    const double most_n = bounds_.force_high[i] * scale_n * (1 + kFloat);
    const std::int64_t stroke_key = key_of(bounds_.stroke_low[i] * plan_.half_pitch_mm * (1 - kFloat));
    const std::size_t actuators = plan_.closed_sq.size();
    std::uint32_t serve = 0;
    for (std::size_t a = 0; a < actuators; ++a) {
      if (bounds_.least_sq[i] < plan_.limits.closed_sq[a] || bounds_.most_sq[i] > plan_.limits.open_sq[a]) continue;
      if (most_n > plan_.task.actuators[a].max_force_n || !screens_[a].beats(least_n, stroke_key)) return false;
      serve |= 1U << a;
    }
    for (std::size_t a = 0; a < actuators; ++a) tally_.feasible[a] += serve >> a & 1U;
    return true;
  }

  /// The same in double for one pair: (M/h)^2 in N^2 at every table angle; the first of the highest.
  std::size_t exact_peak(std::size_t rod) {
    const double x = plan_.rod_x[rod], z = plan_.rod_z[rod];
    const std::size_t angles = plan_.angles();
    for (std::size_t k = 0; k < angles; ++k) {
      const double c = plan_.cosine[k], s = plan_.sine[k];
      const double ax = c * x_ + s * z_, az = c * z_ - s * x_;
      const double dx = x - ax, dz = z - az, cross = ax * z - az * x;
      const double moment = plan_.worst_moment_nmm[k];
      force_sq_[k] = moment * moment * (dx * dx + dz * dz) / (cross * cross);
    }
    std::size_t peak = 0;
    for (std::size_t k = 1; k < angles; ++k) {
      if (force_sq_[k] > force_sq_[peak]) peak = k;
    }
    return peak;
  }

  void collect() {
    const Turned low = turned(0), high = turned(plan_.angles() - 1);
    const double base_sq = x_ * x_ + z_ * z_;
    const double scale_n = plan_.moment_scale_nmm / plan_.half_pitch_mm;
    for (std::size_t i = 0; i < survivors_.size(); ++i) {
      const int rod = survivors_[i];
      const auto r = static_cast<std::size_t>(rod);
      if (certain_ && state_[r] == lanes::kSurvives && beaten(i, scale_n)) continue;
      measure(r, low, high);
      const double least_sq = std::min(low_sq_[r], high_sq_[r]), most_sq = std::max(low_sq_[r], high_sq_[r]);
      const std::int64_t stroke_key = key_of(std::fabs(std::sqrt(high_sq_[r]) - std::sqrt(low_sq_[r])));
      // What single precision may be off by: the cross product is least at an end, the length too (see placement.h).
      const double rod_sq = plan_.rod_x[r] * plan_.rod_x[r] + plan_.rod_z[r] * plan_.rod_z[r];
      const double least_cross = std::min(std::fabs(low_cross_[r]), std::fabs(high_cross_[r]));
      const double off = kFloat * (base_sq + rod_sq) * (1 / least_cross + 4 / least_sq) + 2 * kFloat;
      const double about_n = std::sqrt(static_cast<double>(lane_peak_[i])) * scale_n;
      const bool rough = !(off < 0.25);
      const double least_n = rough ? 0 : about_n * (1 - off), most_n = rough ? kInfinity : about_n * (1 + 2 * off);
      bool exact = false;
      double force_n = 0;
      Kept one{};
      for (std::size_t a = 0; a < plan_.closed_sq.size(); ++a) {
        if (least_sq < plan_.closed_sq[a] || most_sq > plan_.open_sq[a]) continue;
        const double limit_n = plan_.task.actuators[a].max_force_n;
        if (most_n <= limit_n && screens_[a].beats(least_n, stroke_key)) {
          ++tally_.feasible[a];
          continue;
        }
        if (most_n <= limit_n && tally_.fronts[a].beats(key_of(least_n), stroke_key)) {
          ++tally_.feasible[a];
          continue;
        }
        if (!exact) {
          exact = true;
          const std::size_t peak = exact_peak(r);
          force_n = std::sqrt(force_sq_[peak]);
          one = {key_of(force_n), stroke_key, base_, rod, static_cast<int>(peak)};
        }
        if (force_n > limit_n) {
          tally_.per_actuator[a][static_cast<int>(Reason::force)].offer(force_n, base_, rod);
          continue;
        }
        ++tally_.feasible[a];
        if (tally_.fronts[a].offer(one)) screens_[a].add(force_n, stroke_key);
      }
    }
  }

  const Plan& plan_;
  Tally& tally_;
  std::vector<Screen> screens_;
  int base_ = 0;
  double x_ = 0, z_ = 0, inverse_square_ = 0;
  std::vector<double> low_sq_, high_sq_, low_cross_, high_cross_, force_sq_;
  std::vector<int> survivors_;
  bool certain_ = false;  ///< state_ is of this base mount
  lattice::Point2 in_half_pitches_;
  lanes::Ends ends_;
  lanes::Bounds bounds_;
  std::vector<std::int32_t> state_;
  std::vector<float> lane_x_, lane_z_, lane_peak_, base_x_, base_z_;
  lanes::Tally lanes_;
  lanes::Records records_;
};

Plan::Plan(const PlacementTask& t) : task(t), half_pitch_mm(t.pitch_mm / 2) {
  const std::size_t full = lanes::padded(t.rod_mounts.size());
  for (const lattice::Point2 rod : t.rod_mounts) {
    const lattice::Point2 from_pivot = rod - t.pivot_body;
    rod_x.push_back(half_pitch_mm * from_pivot.x_hp);
    rod_z.push_back(half_pitch_mm * from_pivot.z_hp);
    const double square = rod_x.back() * rod_x.back() + rod_z.back() * rod_z.back();
    rod_inverse_square.push_back(square > 0 ? 1 / square : kInfinity);
    const auto x = static_cast<float>(from_pivot.x_hp), z = static_cast<float>(from_pivot.z_hp);
    rods.x.push_back(x);
    rods.z.push_back(z);
    rods.square.push_back(x * x + z * z);
    rods.inverse_square.push_back(square > 0 ? 1 / rods.square.back() : 0);
  }
  for (auto* v : {&rods.x, &rods.z, &rods.square, &rods.inverse_square}) v->resize(full, 0);
  const std::size_t angles = t.cases.front().moment_nmm.size();
  double most = 0;
  for (std::size_t k = 0; k < angles; ++k) {
    const double angle = angle_at(k);
    cosine.push_back(std::cos(angle));
    sine.push_back(std::sin(angle));
    double worst = 0;
    for (const MomentCase& c : t.cases) worst = std::max(worst, std::fabs(c.moment_nmm[k]));
    worst_moment_nmm.push_back(worst);
    most = std::max(most, worst);
  }
  moment_scale_nmm = most > 0 ? most : 1;
  for (const double moment : worst_moment_nmm) {
    const double share = moment / moment_scale_nmm;
    moment_sq.push_back(static_cast<float>(share * share));
  }
  const double half_sq = half_pitch_mm * half_pitch_mm;
  for (const ActuatorType& a : t.actuators) {
    closed_sq.push_back((a.closed_mm - kSlackMm) * (a.closed_mm - kSlackMm));
    open_sq.push_back((a.open_mm + kSlackMm) * (a.open_mm + kSlackMm));
    limits.closed_sq.push_back(static_cast<float>(closed_sq.back() / half_sq));
    limits.open_sq.push_back(static_cast<float>(open_sq.back() / half_sq));
  }
  const double least = std::max(0.0, t.min_lever_mm - kSlackMm);
  min_lever_sq = least * least;
  limits.wrong_positive = t.side == Side::above ? -1 : 0;
  limits.wrong_negative = t.side == Side::below ? -1 : 0;
  limits.min_lever_sq = static_cast<float>(min_lever_sq / half_sq);
}

double Plan::angle_at(std::size_t k) const {
  const std::size_t angles = task.cases.front().moment_nmm.size();
  return k + 1 == angles
             ? task.high_rad
             : task.low_rad + static_cast<double>(k) * (task.high_rad - task.low_rad) / static_cast<double>(angles - 1);
}

bool Front::offer(const Kept& one) {
  auto after = std::upper_bound(kept_.begin(), kept_.end(), one.force_key,
                                [](std::int64_t force, const Kept& k) { return force < k.force_key; });
  if (after != kept_.begin() && std::prev(after)->stroke_key <= one.stroke_key) return false;
  auto first = after;
  if (first != kept_.begin() && std::prev(first)->force_key == one.force_key) --first;
  auto last = after;
  while (last != kept_.end() && last->stroke_key >= one.stroke_key) ++last;
  if (first == last) {
    kept_.insert(first, one);
  } else {  // in the place of the first that it beats
    *first = one;
    kept_.erase(first + 1, last);
  }
  return true;
}

bool Front::beats(std::int64_t least_force_key, std::int64_t stroke_key) const {
  const auto after = std::upper_bound(kept_.begin(), kept_.end(), least_force_key,
                                      [](std::int64_t force, const Kept& k) { return force < k.force_key; });
  return after != kept_.begin() && std::prev(after)->stroke_key <= stroke_key;
}

void Front::merge(const Front& other) {
  for (const Kept& one : other.kept_) {
    const auto same = std::find_if(kept_.begin(), kept_.end(), [&](const Kept& k) {
      return k.force_key == one.force_key && k.stroke_key == one.stroke_key;
    });
    if (same == kept_.end()) {
      offer(one);
    } else if (std::pair(one.base, one.rod) < std::pair(same->base, same->rod)) {
      *same = one;
    }
  }
}

void Tally::merge(const Tally& other) {
  dead_centre.merge(other.dead_centre);
  lever.merge(other.lever);
  base_mounts += other.base_mounts;
  other_side += other.other_side;
  for (std::size_t a = 0; a < fronts.size(); ++a) {
    fronts[a].merge(other.fronts[a]);
    feasible[a] += other.feasible[a];
    for (std::size_t r = 0; r < kReasons; ++r) per_actuator[a][r].merge(other.per_actuator[a][r]);
  }
}

Worker::Worker(const Plan& plan)
    : plan_(plan), tally_(plan.task.actuators.size()), piece_(std::make_unique<Piece>(plan_, tally_)) {}

Worker::~Worker() = default;

void Worker::search(std::size_t first, std::size_t last, const base::RunControl& control) {
  const bool half_turn = plan_.task.high_rad - plan_.task.low_rad >= kPi;
  for (std::size_t b = first; b < last; ++b) {
    if (control.stopped()) break;
    if (half_turn) {
      ++tally_.base_mounts;
      for (std::size_t i = 0; i < plan_.rod_x.size(); ++i) {
        tally_.dead_centre.offer(0, static_cast<int>(b), static_cast<int>(i));
      }
      continue;
    }
    piece_->base_mount(b);
  }
}

}  // namespace linkage::search
