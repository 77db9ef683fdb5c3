// Every set of rods of a steered axle that the lattice and the stock allow.
//
// Arms x crank pivots x cranks x drag links x sides, exhaustive. Judged in order: the stock's bars, the wheels' closing
// and least angle, Ackermann's condition, the crank's closing and least angles, room of the moving links for each
// other. None beats another for every drive (a longer crank asks more torque over a shorter travel), so all are handed
// on.
#pragma once

#include <string>
#include <vector>

#include "base/run_control.h"
#include "functions/steer/rack.h"
#include "functions/steer/rods.h"
#include "functions/steer/wants.h"
#include "linkage/bars.h"

namespace functions::steer {

struct RodTask {
  Axle axle;
  std::vector<lattice::Point2> arms;    ///< x = in, z = back, half-pitches
  std::vector<lattice::Point2> pivots;  ///< half-pitches from the axle's middle
  std::vector<linkage::Bar> bars;       ///< pieces of one axle
  int longest_crank_p = 4;
  double max_error_rad = 0;
  double moment_nmm = 0;      ///< at each kingpin, nominal
  PinFriction pins;           ///< nominal
  double shaft_clear_mm = 0;  ///< from the crank's pivot to a rod that passes its shaft
};

struct RodChoice {
  Rods rods;
  Travel travel;
  std::vector<double> torque_nmm, share_rad;  ///< nominal
  double peak_nmm = 0, mean_nmm = 0;
  bool up = false, down = false;  ///< the crank's shaft may leave it that way
  // Rack and pinion instead of crank and drag link; travel is then as its pinion sees it, rods.pivot its place.
  std::optional<Rack> rack{};
  RackTravel rack_travel{};
};
/// At the crank or pinion, over the travel.
[[nodiscard]] std::vector<double> drive_torques_nmm(const RodChoice&, double moment_nmm, const PinFriction&);

enum class RodUnfit { bars, wheels, error, crank, room, rack };
struct RodMiss {
  RodUnfit reason = RodUnfit::bars;
  std::int64_t count = 0;
  double shortfall = 0;  ///< of the nearest; error: deg
  std::string text;
};

struct RodsFound {
  std::vector<RodChoice> choices;  ///< least peak torque first, then in the order of the search
  std::int64_t examined = 0, feasible = 0;
  std::vector<RodMiss> misses;
  bool complete = true;
  std::string covered;
};
[[nodiscard]] RodsFound find_rods(const RodTask& task, const base::RunControl& control = {});

/// Spur wheels and racks of the stock, for one axle.
struct RackParts {
  struct Pinion {
    stock::ClassId id{};
    double radius_mm = 0, outer_mm = 0;
  };
  struct Toothed {
    stock::ClassId id{};
    int teeth = 0, pieces = 0;
  };
  std::vector<Pinion> pinions;
  std::vector<Toothed> racks;
  double module_mm = 0;
  double misfit_mm = 0;  ///< that a tie rod may be off
};
/// Every arm x pinion x place of it in the middle plane x side x bar, with tie rods of whole pitches. Why the stock's
/// racks do not serve is a miss too.
[[nodiscard]] RodsFound find_racks(const RodTask& task, const RackParts& parts, const base::RunControl& control = {});
[[nodiscard]] std::vector<int> bar_lengths_p(const Rack& rack);

/// Lengths, in pitches between end holes, of every bar of one axle: track rod, drag link, crank, and each arm
/// lengthwise and, when it stands oblique, crosswise.
[[nodiscard]] std::vector<int> bar_lengths_p(const Rods& rods);

}  // namespace functions::steer
