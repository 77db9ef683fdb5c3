// Four-bars that can be built: pivots are holes of the frame, links are bars of the stock, and they do what is wanted
// over the whole travel. Exhaustive: every pivot pair x bar lengths x closure x start angle of a grid is judged, and
// the reason of every rejection is counted with its nearest miss.
//
// One travel: the crank turns from `start` by `swing` counter-clockwise; run backwards it is the way back. Closing,
// transmission angle and one-way motion of the rocker are decided exactly over the travel, not at samples:
//   D^2 = a^2 + d^2 - 2 a d cos(crank - ground)      closes where |b - c| <= D <= b + c
//   cos(transmission) = (b^2 + c^2 - D^2)/(2 b c)    monotone in D, whose extremes are at the ends or in line with the
//   ground the rocker turns back where crank and coupler are in line: crank + coupler or their difference, ground and
//   rocker form a triangle
// Torque, tilt, drift and path are looked at in `samples` + 1 crank angles. With a lattice point on coupler or rocker
// the same search serves a grip's jaw, a lift that stays level, or a point's path. Source: Norton, Design of Machinery,
// chs 3, 4.
#pragma once

#include <array>
#include <cstdint>
#include <limits>
#include <string>
#include <string_view>
#include <vector>

#include "base/run_control.h"
#include "lattice/lattice.h"
#include "linkage/bars.h"
#include "linkage/statics.h"

namespace linkage {

struct Range {
  double least = -std::numeric_limits<double>::infinity();
  double most = std::numeric_limits<double>::infinity();
};

enum class Carrier { none, coupler, rocker };

struct FourBarTask {
  double pitch_mm = 0;
  std::vector<lattice::Point2> crank_pivots, rocker_pivots;  ///< holes of the frame
  std::vector<Bar> bars;
  int bars_per_link = 1;  ///< 2: a bar on either side

  double swing_rad = 0;       ///< of the crank, > 0; 2 pi: full turns (the rocker then swings to and fro)
  double start_step_rad = 0;  ///< grid of start angles, from 0 up; 0 = only `start_rad`
  double start_rad = 0;
  int samples = 32;

  // Wants. Those left at their defaults ask for nothing.
  Range output_swing_rad{0, std::numeric_limits<double>::infinity()};
  bool one_way = true;  ///< the rocker does not turn back on the way
  double min_transmission_rad = 0;
  /// Load's moment on the rocker at equally spaced shares of the rocker's own travel (one way); empty = none.
  std::vector<double> output_moment_nmm;
  Force2 point_force;                                               ///< load at the carried point
  double max_torque_nmm = std::numeric_limits<double>::infinity();  ///< at the crank
  /// Points tried on coupler or rocker: half-pitches from its first pin (crank pin, rocker pivot), x along the bar.
  Carrier carrier = Carrier::none;
  std::vector<lattice::Point2> points;
  Range rise_mm;                                                  ///< of the point from start to end
  double max_drift_mm = std::numeric_limits<double>::infinity();  ///< sideways extent of the point's path
  double max_tilt_rad = std::numeric_limits<double>::infinity();  ///< of the carrying link against its start
  std::vector<Vec2> path_mm;  ///< places the point's path must pass, frame coordinates, any order
  double path_tolerance_mm = 0;

  /// What the best ones are best in: least path error, least torque, least tilt, greatest least transmission angle,
  /// shortest links.
  enum class Aim { path, torque, tilt, transmission, size } aim = Aim::transmission;
  int keep = 10;              ///< best distinct linkages handed on
  bool every_travel = false;  ///< hand on every feasible travel instead, in the order of the search
};

/// One linkage in one travel, with what it reaches.
struct FourBarChoice {
  lattice::Point2 crank_pivot, rocker_pivot;
  int crank_p = 0, coupler_p = 0, rocker_p = 0;
  int closure = 1;  ///< coupler's rocker pin on the left (+1) or right (-1) of the line crank pin -> rocker pivot
  double start_rad = 0;
  lattice::Point2 point;
  std::array<int, 3> bars{};  ///< indices into the task's bars, crank, coupler, rocker

  double output_from_rad = 0;   ///< rocker's angle at the start
  double output_swing_rad = 0;  ///< signed; over full turns: extent
  double transmission_rad = 0;  ///< least over the travel
  double torque_nmm = 0;        ///< largest magnitude at the crank
  double tilt_rad = 0, rise_mm = 0, drift_mm = 0, path_error_mm = 0;
};

enum class Unfit { stock, closes, transmission, turns_back, swing_small, swing_large, torque, tilt, rise, drift, path };
[[nodiscard]] std::string_view code_of(Unfit reason);

struct Misfit {
  Unfit reason = Unfit::stock;
  std::int64_t count = 0;
  double shortfall = 0;   ///< of the nearest: mm, deg or N mm; stock: 0
  FourBarChoice nearest;  ///< up to what was judged before
};
/// "transmission angle falls to 24.1 deg, 5.9 deg too little (412 of them)".
[[nodiscard]] std::string text(const Misfit& misfit);

struct FourBars {
  std::vector<FourBarChoice> best;  ///< distinct in lengths and pivot offset; best first, then order of the search
  std::int64_t examined = 0;        ///< pivot pairs x lengths x closures x starts x points
  std::int64_t feasible = 0;
  std::int64_t linkages = 0;    ///< distinct feasible ones
  std::vector<Misfit> misfits;  ///< only reasons that occurred, in the order of judging
  bool complete = true;         ///< false: stopped from outside
  std::string covered;          ///< "12 pivot offsets x 9^3 bar lengths x 2 closures x 72 start angles (every 5 deg)"
};
/// Pivot pairs of one offset are judged once and counted as many times as they occur, unless a path is wanted.
/// KW_CHECK: pitch, swing and samples positive; carrier and points together or not at all.
[[nodiscard]] FourBars find_four_bars(const FourBarTask& task, const base::RunControl& control = {});

/// Torque the crank must give at the samples of a choice's travel, by virtual work; signed.
[[nodiscard]] std::vector<double> crank_torques_nmm(const FourBarTask& task, const FourBarChoice& choice);

/// The mechanism of a choice: joints 0 crank pivot (driven), 1 rocker pivot, 2 crank pin, 3 rocker pin; and where it
/// starts.
struct BuiltFourBar {
  Mechanism mechanism;
  Position start;
};
[[nodiscard]] BuiltFourBar build(const FourBarTask& task, const FourBarChoice& choice);

}  // namespace linkage
