// A stage on its line: the forces along it, a screw or a pinion that gives them, pinned positions. Pure; N, mm, N mm.
#pragma once

#include <vector>

#include "functions/slide/wants.h"
#include "linkage/screw.h"

namespace functions::slide {

/// Weight, slope and guide in one parameter sample.
struct Stage {
  double weight_n = 0;
  double lift_rad = 0;
  double push_n = 0;  ///< against moving out
  double friction = 0;
  double guide_mm = 0;     ///< b, bar inside the sleeve
  double overhang_mm = 0;  ///< e, centre of the load beyond the sleeve's front, run in
  double offset_mm = 0;    ///< a, from the bar's middle to the line of what moves it
};

/// Share of the moving force that a sleeve leaves when the bar is moved beside its middle: the force F tilts the bar,
/// both ends carry F a/b, and their friction takes 2 mu F a/b of it. 1 - 2 mu a/b; <= 0: it jams, however hard it is
/// moved (b <= 2 mu a). Source: Beer & Johnston, Statics, Sample Problem 8.3, the bracket on a pipe (from memory).
[[nodiscard]] double kept_beside(const Stage&);

/// Force on the guide's two ends at an extension x, by moments about each end:
///   front (1 + e/b) N, back (e/b) N the other way; N = W cos a; e + x for e.
/// A load over the sleeve (-b <= e <= 0) is shared and sums to N. Source: statics of a drawer, Beer & Johnston,
/// Statics, ch. 8 (from memory).
[[nodiscard]] double guide_load_n(const Stage&, double extension_mm);

/// Forces that move the stage at an extension; negative: it runs by itself and must be braked.
///   out: (W sin a + push + mu G)/k   in: (-W sin a + mu G)/k where positive   G = the guide's load, k = kept_beside()
/// The tilt by the moving force may go with the load's or against it; it is taken with it, so nothing moves harder.
/// Where it jams k counts as 1e-6: more than any drive gives.
struct Forces {
  double out_n = 0, in_n = 0;
  double rest_n = 0;  ///< that a drive must stand at rest: max(0, |W sin a (+ push)| - mu G), 0 = friction holds
};
[[nodiscard]] Forces forces_at(const Stage&, double extension_mm);

/// Extensions that are looked at, both ends included. Forces are linear in the extension but for the guide's sharing,
/// so the ends decide.
inline constexpr int kSteps = 17;

/// Torque at the drive's output at each of kSteps extensions, >= 0 (a helping load counts as none).
struct Torques {
  std::vector<double> out_nmm, in_nmm;
  double peak_nmm = 0;
  double mean_nmm = 0;  ///< of the heavier way
  double peak_n = 0;    ///< greatest force along the line, either way
  double rest_n = 0;    ///< greatest of Forces::rest_n
};
[[nodiscard]] Torques by_screw(const Stage&, double travel_mm, const linkage::Screw&);
/// T = F r/eta, eta of the mesh of pinion and rack.
[[nodiscard]] Torques by_pinion(const Stage&, double travel_mm, double radius_mm, double efficiency);

/// Reaches of a bar that is pinned in its sleeve through every hole: 0, p, 2 p ... up to the first that covers the
/// travel.
[[nodiscard]] std::vector<double> pinned_reaches_mm(double travel_mm, double pitch_mm);

/// Holes of a bar that stays `guide_mm` deep in its sleeve at the greatest reach and shows a hole for its load run in.
[[nodiscard]] int bar_holes(double travel_mm, double guide_mm, double pitch_mm);

/// Travel over which a bar of so many holes stays `guide_mm` deep in its sleeve; 0: it is too short for any.
[[nodiscard]] double guided_travel_mm(int holes, double guide_mm, double pitch_mm);

}  // namespace functions::slide
