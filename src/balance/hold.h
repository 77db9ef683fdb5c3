// What holds a vehicle up from either side, and the angle at which both sides hold alike. Internal to this folder.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <limits>
#include <vector>

#include "balance/side_view.h"

namespace balance {

// Angles are found to this; a wheel then stands off a wall by less than 1e-4 of its radius.
inline constexpr double kAngle_rad = 1e-10;
// Both sides hold equally high.
inline constexpr double kLevel_mm = 1e-9;

/// A contact: of a wheel, or of the belt's span from that wheel with a point of the ground.
struct Touch {
  int wheel = -1;
  bool belt = false;
  double normal_x = 0, normal_z = 1;
  SidePoint vertex;  ///< belts: the ground's point
};

/// What would hold something up at a height: one contact, or both of a free rocker.
struct Hold {
  double height = -std::numeric_limits<double>::infinity();
  double foot_x = 0;  ///< of the contact
  double ref_x = 0;   ///< where a vertical force holds what settles: ahead of it or behind
  std::array<Touch, 2> touch;
  std::size_t touches = 1;
};

/// Best hold on either side of a line.
struct Sides {
  Hold ahead, behind;
  void add(const Hold& h, double x) {
    Hold& side = h.ref_x >= x ? ahead : behind;
    // Of equals the outer one counts, so that rounding does not choose between wheels in a row.
    constexpr double kEqual_mm = 1e-6;
    const bool outer = std::fabs(h.ref_x - x) > std::fabs(side.ref_x - x);
    if (h.height > side.height + kEqual_mm || (h.height > side.height - kEqual_mm && outer)) side = h;
  }
  [[nodiscard]] double lead() const { return ahead.height - behind.height; }  ///< >= 0: turns nose up
  [[nodiscard]] double height() const { return std::max(ahead.height, behind.height); }
};

/// Where something that turns comes to rest.
struct Rest {
  enum class At { found, lowest, highest };
  At at = At::found;
  double angle = 0;
  Sides below, above;  ///< just below and just above the angle; the same when it was met exactly
};

/// The place of rest nearest to `guess`, on the way the holds turn it: up while the side ahead leads. A step of the
/// search is what the lead asks for over flat ground, at most `most_step`; an end of the range is an answer too.
template <class At>
Rest settle_near(double guess, double lowest, double highest, double most_step, const At& at) {
  Rest out;
  double here = std::clamp(guess, lowest, highest);
  Sides now = at(here);
  const auto exact = [&] {
    out.angle = here;
    out.below = out.above = now;
    return out;
  };
  if (std::fabs(now.lead()) < kLevel_mm) return exact();
  const bool up = now.lead() >= 0;
  const double end = up ? highest : lowest;
  constexpr double kStart_rad = 0.002, kLeast_rad = 1e-8;
  const double asked = std::fabs(now.lead()) / (now.ahead.ref_x - now.behind.ref_x);
  double step = std::isfinite(asked) && asked > 0 ? std::clamp(1.2 * asked, kLeast_rad, most_step) : kStart_rad;
  double before;
  Sides last;
  while (true) {
    if (here == end) {
      out.at = up ? Rest::At::highest : Rest::At::lowest;
      return exact();
    }
    before = here;
    last = now;
    here = up ? std::min(end, here + step) : std::max(end, here - step);
    now = at(here);
    if (std::fabs(now.lead()) < kLevel_mm) return exact();
    if ((now.lead() >= 0) != up) break;
    step = std::min(most_step, 2 * std::max(step, kStart_rad / 4));
  }
  double low = up ? before : here, high = up ? here : before;
  out.below = up ? last : now;
  out.above = up ? now : last;
  double f_low = out.below.lead(), f_high = out.above.lead();
  int kept = 0;  // +: the upper end stayed, -: the lower one
  for (int i = 0; high - low > kAngle_rad && i < 200; ++i) {
    // False position (Illinois rule), halving every fourth time: the leads jump at walls.
    double next = (low + high) / 2;
    if (i % 4 != 3 && std::isfinite(f_low) && std::isfinite(f_high) && f_low > f_high) {
      next = low + std::clamp(f_low / (f_low - f_high), 1e-6, 1 - 1e-6) * (high - low);
    }
    const Sides between = at(next);
    if (std::fabs(between.lead()) < kLevel_mm) {
      here = next;
      now = between;
      return exact();
    }
    if (between.lead() >= 0) {
      low = next;
      out.below = between;
      f_low = between.lead();
      if (kept > 0) f_high /= 2;
      kept = 1;
    } else {
      high = next;
      out.above = between;
      f_high = between.lead();
      if (kept < 0) f_low /= 2;
      kept = -1;
    }
  }
  out.angle = (low + high) / 2;
  return out;
}

/// The ground with what every question about it needs.
class Footing {
 public:
  explicit Footing(const GroundLine& ground);
  /// Height at which the ground holds a wheel's axle at x.
  [[nodiscard]] Hold under_wheel(double x, double radius_mm) const;
  [[nodiscard]] const GroundLine& line() const { return line_; }

 private:
  struct Face {
    double sine = 0, cosine = 1;  ///< of its slope; a wall has cosine 0
  };
  GroundLine line_;
  std::vector<Face> face_;  ///< from each point to the next
};

}  // namespace balance
