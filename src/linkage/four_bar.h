// The four-bar and the slider-crank in closed form: both closures, Grashof's rule, extremes of the transmission angle.
//
// Ground pivots of crank and rocker on the x axis, distance d; a crank, b coupler, c rocker; angles from x, the
// coupler's at the crank end, the rocker's at its ground pivot. Freudenstein's equation
//   K1 cos(rocker) - K2 cos(crank) + K3 = cos(crank - rocker)      K1 = d/a  K2 = d/c  K3 = (a^2 - b^2 + c^2 + d^2)/(2
//   a c)
// Source: Freudenstein, Trans. ASME 77 (1955) 853-861; Norton, Design of Machinery, ch. 4 (Examples 4-1 to 4-3).
#pragma once

#include <optional>

namespace linkage {

struct FourBar {
  double ground_mm = 0, crank_mm = 0, coupler_mm = 0, rocker_mm = 0;
};

struct Freudenstein {
  double k1 = 0, k2 = 0, k3 = 0;
};
[[nodiscard]] Freudenstein freudenstein(const FourBar& bar);

enum class Closure {
  open,  ///< the links do not cross at small crank angles; slider: the one farther along x
  crossed
};
struct FourBarAngles {
  double coupler_rad = 0, rocker_rad = 0;  ///< (-pi, pi]
};
/// Empty where the linkage does not close.
[[nodiscard]] std::optional<FourBarAngles> closure(const FourBar& bar, double crank_rad, Closure which);
/// Rates of coupler and rocker per rad of the crank; infinite at a dead point.
[[nodiscard]] FourBarAngles rates(const FourBar& bar, double crank_rad, const FourBarAngles& at);

/// |coupler - rocker| folded to 0 .. pi/2.
[[nodiscard]] double transmission_angle_rad(const FourBarAngles& at);
/// Least transmission angle over a full turn of the crank: at 0 or 180 deg, by the cosine rule. Empty without full
/// turn.
[[nodiscard]] std::optional<double> least_transmission_angle_rad(const FourBar& bar);

enum class Grashof { crank_rocker, rocker_crank, double_crank, double_rocker, triple_rocker, change_point };
/// Shortest + longest against the other two. double_rocker: the coupler turns fully (Grashof); triple_rocker: nothing
/// does.
[[nodiscard]] Grashof grashof(const FourBar& bar);

/// Crank a, coupler b, slider on a line parallel to x at the offset e: x = a cos(crank) - b cos(coupler), the coupler's
/// angle at the slider end (Norton). Empty where it does not close.
struct SliderCrank {
  double crank_mm = 0, coupler_mm = 0, offset_mm = 0;
};
struct SliderCrankPosition {
  double coupler_rad = 0;
  double slider_mm = 0;
};
[[nodiscard]] std::optional<SliderCrankPosition> closure(const SliderCrank& bar, double crank_rad, Closure which);

}  // namespace linkage
