// Jaws and the four-bar that closes them: which way a jaw points at an opening, what the crank must give. Pure; mm, N,
// N mm, rad.
//
// Plane of the jaws: origin at the driven jaw's pivot, x towards the grip, z towards open; angles counter-clockwise
// from x. Rocker pivot = the jaw's pivot. The rocker's bar and the jaw are one body, fixed to each other in line or
// crossed.
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <vector>

#include "base/run_control.h"
#include "linkage/synthesis.h"

namespace functions::grip {

/// Jaws of length J whose pivots stand `half_spread` from the middle (one jaw: at the fixed jaw, 0).
struct JawPair {
  double jaw_mm = 0;
  double half_spread_mm = 0;
  bool both = true;
};
/// Angle of the driven jaw at an opening g: J sin(a) = g/2 - s for both, J sin(a) = g for one; NaN when out of reach.
[[nodiscard]] double jaw_angle_rad(const JawPair&, double opening_mm);
/// Moment at the driven jaw's pivot for a squeeze F: F J cos(a), and the other jaw's through the gears' efficiency.
[[nodiscard]] double jaw_moment_nmm(const JawPair&, double opening_mm, double force_n, double gear_efficiency);

/// A crank, coupler and rocker with closure and pivot, and how the jaw stands on the rocker.
struct JawDrive {
  lattice::Point2 crank_pivot;  ///< half-pitches from the jaw's pivot
  int crank_p = 0, coupler_p = 0, rocker_p = 0;
  int closure = 1;
  int quarter = 0;                      ///< jaw ahead of the rocker's bar by so many right angles
  double open_rad = 0, closed_rad = 0;  ///< of the crank
};

/// Angle of the rocker's bar at a crank angle; NaN where it does not close. Triangle crank pin, rocker pin, rocker
/// pivot: cosine rule.
[[nodiscard]] double rocker_rad(const JawDrive&, double pitch_mm, double crank_rad);
/// d(rocker)/d(crank) = a sin(coupler - crank)/(c sin(coupler - rocker)); Norton, Design of Machinery, Eq. 6.18 (from
/// memory).
[[nodiscard]] double rocker_rate(const JawDrive&, double pitch_mm, double crank_rad);

/// Openings that are looked at, both ends included.
inline constexpr int kOpenings = 17;

/// Crank angle at which the jaw has an opening; between open_rad and closed_rad, NaN where there is none. In closed
/// form from the triangle crank pivot, crank pin, rocker pin.
[[nodiscard]] double crank_at(const JawDrive&, const JawPair&, double pitch_mm, double opening_mm);

/// Crank's torque per newton of squeeze at kOpenings openings, closed first.
[[nodiscard]] std::vector<double> torque_per_n(const JawDrive&, const JawPair&, double pitch_mm,
                                               std::array<double, 2> opening_mm, double gear_efficiency);

struct JawTask {
  double pitch_mm = 0;
  std::vector<JawPair> pairs;
  std::array<double, 2> opening_mm{};         ///< in reach of every pair
  std::vector<lattice::Point2> crank_pivots;  ///< from the jaw's pivot
  std::vector<linkage::Bar> bars;
  double min_transmission_rad = 0;
  int keep = 4;
};
struct JawDrives {
  std::vector<std::vector<JawDrive>> best;  ///< by pair; least peak torque first, each at another pivot
  std::int64_t examined = 0;
  std::int64_t fitting = 0;  ///< travels that cover the openings
  /// Crank pivots beyond the ones kept, by pair, and by how much the least of them asks more torque of the crank than
  /// the worst kept, as a share of that.
  std::vector<std::int64_t> beyond;
  std::vector<double> least_beyond;
  std::vector<linkage::Misfit> misfits;
  bool complete = true;
  std::string covered;
};
/// Every four-bar of linkage::find_four_bars whose rocker covers both openings in one of four stances of the jaw on it.
[[nodiscard]] JawDrives find_jaw_drives(const JawTask&, const base::RunControl&);

}  // namespace functions::grip
