#include "linkage/steering.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>

#include "base/check.h"
#include "base/text.h"

namespace linkage {
namespace {

constexpr double kPi = std::numbers::pi;

struct Pose {
  double outer_rad = 0, transmission_rad = 0;
};

/// Closes the trapezoid: wheels turned counter-clockwise (to the left), the inner one is the left. Forward is +y.
std::optional<Pose> closed(const Trapezoid& t, double inner_rad) {
  const double rod = t.kingpins_mm - 2 * t.in_mm, arm = std::hypot(t.in_mm, t.back_mm);
  const double c = std::cos(inner_rad), s = std::sin(inner_rad);
  // Left arm's end, from the right kingpin.
  const double x = c * t.in_mm + s * t.back_mm - t.kingpins_mm, y = s * t.in_mm - c * t.back_mm;
  const double distance = std::hypot(x, y);
  const double along = (arm * arm - rod * rod + distance * distance) / (2 * distance);
  const double square = arm * arm - along * along;
  if (!(square >= 0)) return std::nullopt;
  // Straight ahead tells on which side of the line to the left end the right arm lies: x = (in - w, -back).
  const double straight = (t.in_mm - t.kingpins_mm) * -t.back_mm - -t.back_mm * -t.in_mm;
  const double off = std::copysign(std::sqrt(square), straight);
  const double rx = (along * x - off * y) / distance, ry = (along * y + off * x) / distance;
  Pose out;
  out.outer_rad = std::remainder(std::atan2(ry, rx) - std::atan2(-t.back_mm, -t.in_mm), 2 * kPi);
  const auto acute = [&](double ax, double ay) {
    const double angle = std::fabs(std::remainder(std::atan2(y - ry, x - rx) - std::atan2(ay, ax), kPi));
    return std::min(angle, kPi - angle);
  };
  out.transmission_rad = std::min(acute(rx, ry), acute(x + t.kingpins_mm, y));
  return out;
}

struct Nearest {
  std::int64_t count = 0;
  double shortfall = std::numeric_limits<double>::infinity();
  SteeringChoice choice;
  void offer(double value, const SteeringChoice& c) {
    ++count;
    if (value < shortfall) {
      shortfall = value;
      choice = c;
    }
  }
};

double degrees(double rad) {
  return rad * 180 / kPi;
}

}  // namespace

double ackermann_outer_rad(double inner_rad, double kingpins_mm, double wheelbase_mm) {
  return std::atan2(std::sin(inner_rad), std::cos(inner_rad) + kingpins_mm / wheelbase_mm * std::sin(inner_rad));
}

std::optional<double> outer_angle_rad(const Trapezoid& trapezoid, double inner_rad) {
  const auto pose = closed(trapezoid, inner_rad);
  if (!pose) return std::nullopt;
  return pose->outer_rad;
}

std::optional<double> transmission_angle_rad(const Trapezoid& trapezoid, double inner_rad) {
  const auto pose = closed(trapezoid, inner_rad);
  if (!pose) return std::nullopt;
  return pose->transmission_rad;
}

Steerings find_steering(const SteeringTask& task) {
  KW_CHECK(task.pitch_mm > 0 && task.kingpins_hp > 0 && task.wheelbase_mm > 0, "a vehicle has a size");
  KW_CHECK(task.inner_rad > 0 && task.inner_rad < kPi / 2 && task.samples >= 1, "the wheels turn, by less than 90 deg");
  KW_CHECK(task.keep >= 1, "at least one to keep");
  constexpr double kSlack = 1e-9;
  Steerings out;
  std::array<Nearest, 4> unfit;
  std::vector<SteeringChoice> all;
  const double half = task.pitch_mm / 2;
  for (const lattice::Point2 arm : task.arms) {
    ++out.examined;
    SteeringChoice c;
    c.arm = arm;
    const int rod_hp = task.kingpins_hp - 2 * arm.x_hp;
    c.rod_p = rod_hp / 2;
    if (rod_hp > 0 && rod_hp % 2 == 0 && arm != lattice::Point2{}) {
      const std::array<int, 1> lengths = {c.rod_p};
      if (const auto bars = bars_for(task.bars, lengths)) c.bar = bars->front();
    }
    if (c.bar < 0) {
      unfit[0].offer(0, c);
      continue;
    }
    const Trapezoid t{half * task.kingpins_hp, half * arm.x_hp, half * arm.z_hp};
    c.transmission_rad = kPi / 2;
    double lost = -1;  // angle at which it stops closing
    // To the left only: a turn to the right is its mirror image.
    for (int k = 1; k <= task.samples; ++k) {
      const double inner = task.inner_rad * k / task.samples;
      const auto pose = closed(t, inner);
      if (!pose || std::fabs(pose->outer_rad) > kPi / 2) {
        lost = inner;
        break;
      }
      c.transmission_rad = std::min(c.transmission_rad, pose->transmission_rad);
      c.error_rad = std::max(c.error_rad,
                             std::fabs(pose->outer_rad - ackermann_outer_rad(inner, t.kingpins_mm, task.wheelbase_mm)));
      if (k == task.samples) c.outer_rad = pose->outer_rad;
    }
    if (lost >= 0) {
      unfit[1].offer(degrees(task.inner_rad - lost), c);
      continue;
    }
    if (c.transmission_rad < task.min_transmission_rad - kSlack) {
      unfit[2].offer(degrees(task.min_transmission_rad - c.transmission_rad), c);
      continue;
    }
    if (c.error_rad > task.max_error_rad + kSlack) {
      unfit[3].offer(degrees(c.error_rad - task.max_error_rad), c);
      continue;
    }
    ++out.feasible;
    all.push_back(c);
  }
  std::stable_sort(all.begin(), all.end(), [](const SteeringChoice& a, const SteeringChoice& b) {
    return std::llround(a.error_rad * 1e9) < std::llround(b.error_rad * 1e9);
  });
  if (all.size() > static_cast<std::size_t>(task.keep)) all.resize(static_cast<std::size_t>(task.keep));
  out.best = std::move(all);
  for (std::size_t r = 0; r < unfit.size(); ++r) {
    if (unfit[r].count > 0) {
      out.misfits.push_back({static_cast<SteeringUnfit>(r), unfit[r].count, unfit[r].shortfall, unfit[r].choice});
    }
  }
  out.covered = std::to_string(task.arms.size()) + " arms, each with the one rod that keeps the wheels straight";
  return out;
}

std::string text(const SteeringMisfit& misfit) {
  const auto number = [](double v) { return base::plain(v, 3); };
  const SteeringChoice& c = misfit.nearest;
  const std::string by = number(misfit.shortfall_deg);
  std::string out;
  switch (misfit.reason) {
    case SteeringUnfit::rod:
      out = "the stock has no rod that keeps the wheels straight with arms of this width";
      break;
    case SteeringUnfit::closes:
      out = "the rod does not follow the last " + by + " deg of the inner wheel";
      break;
    case SteeringUnfit::transmission:
      out = "transmission angle falls to " + number(degrees(c.transmission_rad)) + " deg, " + by + " deg too little";
      break;
    case SteeringUnfit::error:
      out = "outer wheel stands " + number(degrees(c.error_rad)) + " deg off, " + by + " deg too much";
      break;
  }
  return out + " (" + std::to_string(misfit.count) + " of them)";
}

}  // namespace linkage
