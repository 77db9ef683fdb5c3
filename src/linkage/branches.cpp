// Interval branch and prune behind all_branches.
#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/check.h"
#include "linkage/assembly.h"
#include "linkage/small_lu.h"

namespace linkage {
namespace {

constexpr double kPi = std::numbers::pi;
// Rounding is not steered; every interval is widened by this share of the size, far above the rounding of a sum of a
// few dozen products and far below the distance of two positions that anybody would tell apart.
constexpr double kSlack = 1e-11;
// A box this small that is still undecided sits on a dead point.
constexpr double kSmallest = 1e-6;
// Above this width the derivatives range too far for the Krawczyk operator to cut anything.
constexpr double kTooWide = 1.5;
// Two positions nearer than this are one, and so are all that a dead point smears out.
constexpr double kSame = 1e-6;
constexpr double kSmear = 1e-4;
// A dead point gives a handful of them; this many are a line of positions.
constexpr std::size_t kLoose = 20;
// Boxes are looked at a little enlarged, so that a position on the face of two boxes is inside both.
constexpr double kEnlarge = 0.05;
// Off the middle: drawn positions like to stand at round angles, where a cut should not fall.
constexpr double kCut = 0.4837;
constexpr double kStart = 0.0123;

std::size_t no(int index) {
  return static_cast<std::size_t>(index);
}

struct Interval {
  double low = 0, high = 0;
};

Interval operator+(Interval a, Interval b) {
  return {a.low + b.low, a.high + b.high};
}
Interval operator*(double k, Interval a) {
  return k < 0 ? Interval{k * a.high, k * a.low} : Interval{k * a.low, k * a.high};
}
Interval operator*(Interval a, Interval b) {
  const double p = a.low * b.low, q = a.low * b.high, r = a.high * b.low, s = a.high * b.high;
  return {std::min(std::min(p, q), std::min(r, s)), std::max(std::max(p, q), std::max(r, s))};
}

Interval cosine(Interval a) {
  if (a.high - a.low >= 2 * kPi) return {-1, 1};
  const double from = a.low / kPi, to = a.high / kPi;
  const double c = std::cos(a.low), d = std::cos(a.high);
  Interval out{std::min(c, d), std::max(c, d)};
  // Even multiples of pi inside: 1; odd ones: -1.
  const double first = std::ceil(from);
  for (double k = first; k <= to && k < first + 3; ++k)
    (std::fmod(k, 2) == 0 ? out.high : out.low) = std::fmod(k, 2) == 0 ? 1 : -1;
  return out;
}
Interval sine(Interval a) {
  return cosine({a.low - kPi / 2, a.high - kPi / 2});
}

/// Folded to (-pi, pi]; the library's remainder is slow, and these angles are at most a few turns.
double folded(double angle_rad) {
  while (angle_rad > kPi) angle_rad -= 2 * kPi;
  while (angle_rad <= -kPi) angle_rad += 2 * kPi;
  return angle_rad;
}

using Box = std::vector<Interval>;

class Search {
 public:
  Search(const Loops& loops, std::span<const double> inputs, const BranchOptions& options)
      : loops_(loops), options_(options), solver_(loops), n_(no(loops.unknowns())) {
    guess_.input.assign(inputs.begin(), inputs.end());
    guess_.free.resize(n_);
    value_.resize(no(loops.coordinates()));
    cosine_.resize(value_.size());
    sine_.resize(value_.size());
    residual_.resize(n_);
    jacobian_.resize(n_ * n_);
    point_residual_.resize(n_);
    point_jacobian_.resize(n_ * n_);
    inverse_.resize(n_ * n_);
    pivot_.resize(n_);
    unit_.resize(n_);
    contracted_.resize(n_);
  }

  Branches run() {
    Box all(n_);
    for (std::size_t i = 0; i < n_; ++i) {
      const double limit = options_.travel_limit_mm > 0 ? options_.travel_limit_mm : 2 * loops_.size_mm();
      const bool travel = loops_.is_travel(static_cast<int>(i));
      all[i] = travel ? Interval{-limit, limit} : Interval{-kPi - kStart, kPi - kStart};
    }
    if (n_ == 0) {  // no loop: the inputs say it all
      out_.positions.push_back(guess_);
      out_.orientation.push_back(1);
      return out_;
    }
    std::vector<Box> stack = {all};
    while (!stack.empty()) {
      if (++out_.boxes > options_.most_boxes) {
        out_.complete = false;
        break;
      }
      Box box = std::move(stack.back());
      stack.pop_back();
      if (!shrink(box)) continue;
      const std::size_t widest = widest_of(box);
      if (width(box, widest) < kSmallest) {
        undecided(box);
        if (out_.undecided_positions >= kLoose) {
          out_.loose = true;
          break;
        }
        continue;
      }
      Box upper = box;
      const double cut = box[widest].low + kCut * (box[widest].high - box[widest].low);
      box[widest].high = cut;
      upper[widest].low = cut;
      stack.push_back(std::move(upper));
      stack.push_back(std::move(box));
    }
    sort();
    return out_;
  }

 private:
  [[nodiscard]] double width(const Box& box, std::size_t i) const {
    const double w = box[i].high - box[i].low;
    return loops_.is_travel(static_cast<int>(i)) ? w / loops_.size_mm() : w;
  }
  [[nodiscard]] std::size_t widest_of(const Box& box) const {
    std::size_t widest = 0;
    for (std::size_t i = 1; i < n_; ++i) {
      if (width(box, i) > width(box, widest)) widest = i;
    }
    return widest;
  }

  /// Loop equations over the box; with derivatives when asked.
  void evaluate(const Box& box, bool derivatives) {
    const auto& affine = loops_.affine();
    for (std::size_t c = 0; c < affine.size(); ++c) {
      Interval v{affine[c].constant, affine[c].constant};
      for (const auto& p : affine[c].free) v = v + p.weight * box[no(p.index)];
      for (const auto& p : affine[c].input) {
        const double known = p.weight * guess_.input[no(p.index)];
        v = v + Interval{known, known};
      }
      value_[c] = v;
      if (!loops_.coordinate_is_travel(static_cast<int>(c))) {
        cosine_[c] = cosine(v);
        sine_[c] = sine(v);
      }
    }
    const double slack = kSlack * loops_.size_mm();
    if (derivatives) std::fill(jacobian_.begin(), jacobian_.end(), Interval{});
    const auto& closures = loops_.closures();
    for (std::size_t l = 0; l < closures.size(); ++l) {
      Interval sum_x{-slack, slack}, sum_z{-slack, slack};
      for (const Term& t : closures[l]) {
        Interval x{t.x, t.x}, z{t.z, t.z};
        if (t.angle >= 0) {
          const Interval c = cosine_[no(t.angle)], s = sine_[no(t.angle)];
          x = t.x * c + (-t.z) * s;
          z = t.x * s + t.z * c;
        }
        if (t.travel >= 0) {
          if (derivatives) add(2 * l, t.travel, x, z);
          x = x * value_[no(t.travel)];
          z = z * value_[no(t.travel)];
        }
        sum_x = sum_x + x;
        sum_z = sum_z + z;
        if (derivatives && t.angle >= 0) add(2 * l, t.angle, -1.0 * z, x);
      }
      residual_[2 * l] = sum_x;
      residual_[2 * l + 1] = sum_z;
    }
  }
  void add(std::size_t row, int coordinate, Interval x, Interval z) {
    for (const auto& p : loops_.affine()[no(coordinate)].free) {
      auto& first = jacobian_[row * n_ + no(p.index)];
      auto& second = jacobian_[(row + 1) * n_ + no(p.index)];
      first = first + p.weight * x;
      second = second + p.weight * z;
    }
  }

  /// False when the box is done with: empty, or its one position found.
  bool shrink(Box& box) {
    for (int pass = 0; pass < 4; ++pass) {
      evaluate(box, false);
      for (const Interval& r : residual_) {
        if (r.low > 0 || r.high < 0) return false;
      }
      if (width(box, widest_of(box)) > kTooWide) return true;
      Box wide = box;
      for (Interval& v : wide) {
        const double more = kEnlarge * (v.high - v.low);
        v = {v.low - more, v.high + more};
      }
      if (!krawczyk(wide)) return true;
      bool inside = true;
      double ratio = 1;
      for (std::size_t i = 0; i < n_; ++i) {
        const Interval k = contracted_[i];
        inside = inside && k.low > wide[i].low && k.high < wide[i].high;
        const Interval cut{std::max(k.low, box[i].low), std::min(k.high, box[i].high)};
        if (k.low > wide[i].high || k.high < wide[i].low) return false;
        ratio = std::min(ratio, (cut.high - cut.low) / (box[i].high - box[i].low));
      }
      if (inside) {
        for (std::size_t i = 0; i < n_; ++i) guess_.free[i] = (contracted_[i].low + contracted_[i].high) / 2;
        keep(guess_);
        return false;
      }
      for (std::size_t i = 0; i < n_; ++i) {
        const Interval cut{std::max(contracted_[i].low, box[i].low), std::min(contracted_[i].high, box[i].high)};
        if (cut.low > cut.high) return false;  // its position is in a neighbour
        box[i] = cut;
      }
      if (ratio > 0.7) return true;
    }
    return true;
  }

  /// K = m - C F(m) + (1 - C J(box)) (box - m), with C the inverse of J(m). False when J(m) is singular.
  bool krawczyk(const Box& box) {
    std::vector<double>& middle = guess_.free;
    for (std::size_t i = 0; i < n_; ++i) middle[i] = (box[i].low + box[i].high) / 2;
    loops_.expand(middle, guess_.input, at_);
    loops_.evaluate(at_, point_residual_, point_jacobian_, {});
    if (lu_factor(point_jacobian_, pivot_, n_, 1e-9 * loops_.size_mm()) == 0) return false;
    for (std::size_t c = 0; c < n_; ++c) {
      std::fill(unit_.begin(), unit_.end(), 0.0);
      unit_[c] = 1;
      lu_solve(point_jacobian_, pivot_, n_, unit_);
      for (std::size_t r = 0; r < n_; ++r) inverse_[r * n_ + c] = unit_[r];
    }
    evaluate(box, true);
    const double slack = kSlack * loops_.size_mm();
    for (std::size_t i = 0; i < n_; ++i) {
      Interval k{middle[i], middle[i]};
      for (std::size_t r = 0; r < n_; ++r) {
        k = k + (-inverse_[i * n_ + r]) * Interval{point_residual_[r] - slack, point_residual_[r] + slack};
      }
      for (std::size_t j = 0; j < n_; ++j) {
        Interval product{};
        for (std::size_t r = 0; r < n_; ++r) product = product + inverse_[i * n_ + r] * jacobian_[r * n_ + j];
        const double one = i == j ? 1 : 0;
        k = k +
            Interval{one - product.high, one - product.low} * Interval{box[j].low - middle[j], box[j].high - middle[j]};
      }
      contracted_[i] = k;
    }
    return true;
  }

  [[nodiscard]] bool same(const Position& p, const Position& q, double tolerance) const {
    for (std::size_t i = 0; i < n_; ++i) {
      const bool travel = loops_.is_travel(static_cast<int>(i));
      const double d = p.free[i] - q.free[i];
      if (std::fabs(travel ? d / loops_.size_mm() : folded(d)) > tolerance) return false;
    }
    return true;
  }

  void keep(Position position) {
    if (!solver_.close(position)) {
      // Proven, yet Newton did not settle: nearly a dead point. Leave the box as not decided.
      ++out_.undecided;
      out_.complete = false;
      return;
    }
    for (std::size_t i = 0; i < n_; ++i) {
      if (loops_.is_travel(static_cast<int>(i)) || geared(i)) continue;
      position.free[i] = folded(position.free[i]);
    }
    for (const Position& known : out_.positions) {
      if (same(known, position, kSame)) return;
    }
    out_.orientation.push_back(solver_.orientation(position));
    out_.positions.push_back(std::move(position));
  }
  /// Free angle i enters another coordinate with a weight that a full turn would not leave unchanged.
  [[nodiscard]] bool geared(std::size_t i) const {
    for (const Affine& a : loops_.affine()) {
      for (const auto& p : a.free) {
        if (no(p.index) == i && p.weight != std::round(p.weight)) return true;
      }
    }
    return false;
  }

  void undecided(const Box& box) {
    ++out_.undecided;
    out_.complete = false;
    for (std::size_t i = 0; i < n_; ++i) guess_.free[i] = (box[i].low + box[i].high) / 2;
    // At a dead point two branches meet: the box's middle closes to the square of its width.
    Position position = guess_;
    if (!solver_.close(position)) position = guess_;
    for (const Position& known : out_.positions) {
      if (same(known, position, kSmear)) return;
    }
    ++out_.undecided_positions;
    out_.positions.push_back(position);
    out_.orientation.push_back(0);
  }

  void sort() {
    std::vector<std::size_t> order(out_.positions.size());
    for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
    std::sort(order.begin(), order.end(),
              [&](std::size_t a, std::size_t b) { return out_.positions[a].free < out_.positions[b].free; });
    Branches sorted = out_;
    for (std::size_t i = 0; i < order.size(); ++i) {
      sorted.positions[i] = out_.positions[order[i]];
      sorted.orientation[i] = out_.orientation[order[i]];
    }
    out_ = std::move(sorted);
  }

  const Loops& loops_;
  BranchOptions options_;
  Solver solver_;
  std::size_t n_;
  Position guess_;
  Coordinates at_;
  std::vector<Interval> value_, cosine_, sine_, residual_, jacobian_, contracted_;
  std::vector<double> point_residual_, point_jacobian_, inverse_, unit_;
  std::vector<int> pivot_;
  Branches out_;
};

}  // namespace

Branches all_branches(const Loops& loops, std::span<const double> inputs, const BranchOptions& options) {
  KW_CHECK(static_cast<int>(inputs.size()) == loops.inputs(), "one value per input");
  return Search(loops, inputs, options).run();
}

}  // namespace linkage
