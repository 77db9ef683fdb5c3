// Every gear train a stock allows within a window of ratios: exhaustive, exact, in a fixed order.
//
// Two trains are the same when they use the same gear parts, have the same |ratio| and the same mesh types; of those,
// the pairing with the least misfit is kept (worst stage, then sum, then mesh indices). Stage order, see
// order_stages(): an ending asked for comes last; otherwise the order that loads the teeth least for a given output
// torque.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/rational.h"
#include "base/run_control.h"
#include "gearing/train.h"

namespace gearing {

inline constexpr int kMostSearchStages = 4;

struct GearStock {
  stock::ClassId part{};
  int count = 0;
};

/// allowed: with or without. forbidden: none. required: at least one. locking: at least one that locks at
/// TrainQuery::worm_friction.
enum class WormRule { allowed, forbidden, required, locking };

struct TrainQuery {
  base::Rational low{1};  ///< window of |output speed / input speed|, both ends included; 0 < low <= high
  base::Rational high{1};
  int min_stages = 1;  ///< 0 also offers direct drive where the window holds 1
  int max_stages = kMostSearchStages;
  bool end_on_ring = false;                   ///< the last mesh drives a ring; otherwise no ring is used at all
  std::optional<stock::ClassId> last_driven;  ///< the train ends on this class; a ring implies end_on_ring
  WormRule worm = WormRule::allowed;
  double worm_friction = 0;       ///< for WormRule::locking: the lowest friction at which it must still lock
  bool allow_right_angle = true;  ///< bevel and crown stages (worms have their own rule)
  int most_right_angles = kMostSearchStages;  ///< bevel, crown and worm stages together
  int copies = 1;                             ///< sides: every gear is used this many times
  double max_misfit_mm = -1;                  ///< < 0: all meshes of the table
  std::int64_t max_trains = 0;  ///< 0 = all; otherwise the first so many in result order, and complete = false
};

/// A train as indices into MeshTable::meshes, in stage order.
struct FoundTrain {
  std::array<std::int32_t, kMostSearchStages> mesh{-1, -1, -1, -1};
  int stages = 0;
  double worst_misfit_mm = 0;
  double ratio = 0;  ///< |output / input|, rounded; make_train(...).ratio() is exact and signed
};

struct TrainSearchResult {
  std::vector<FoundTrain> trains;  ///< by stages, worst misfit (to 1e-9 mm), ratio, mesh indices
  std::int64_t examined = 0;       ///< driver/driven part sets compared
  bool complete = true;            ///< false: stopped, or cut at max_trains
  std::string limit_text;          ///< what was left out, when not complete
};

/// All trains; see the head of this file. `gears` may list any classes; those without a mesh are passed over.
[[nodiscard]] TrainSearchResult search_trains(const MeshTable& table, std::span<const GearStock> gears,
                                              const TrainQuery& query, const base::RunControl& control = {});
[[nodiscard]] Train make_train(const MeshTable& table, const FoundTrain& found);
/// search_trains with every train written out.
[[nodiscard]] std::vector<Train> find_trains(const MeshTable& table, std::span<const GearStock> gears,
                                             const TrainQuery& query, const base::RunControl& control = {});

/// Orders stages so that for a given output torque the most loaded tooth is loaded least, losses ignored; a ring stage
/// (or one driving `last_driven`) stays last. Rule, from the output back to the motor: reductions with the greatest
/// driven_torque_capacity first, then step-ups by ascending capacity * |ratio|; ties by mesh index. Optimal by exchange
/// of neighbours (the test compares it with all orders).
void order_stages(const MeshTable& table, std::span<std::int32_t> meshes,
                  std::optional<stock::ClassId> last_driven = std::nullopt);

/// Trains from a free range of tooth counts, unlimited gears, no lattice: the classical design problem.
struct FreeTrain {
  std::vector<int> drivers, driven;  ///< each ascending
  base::Rational ratio;              ///< product of drivers / product of driven = |driven speed / driver speed|
};
struct FreeTrainResult {
  std::vector<FreeTrain> best;  ///< all ties for the least |ratio - target|, ordered by drivers, driven
  base::Rational error;         ///< |ratio - target|, exact
  std::int64_t examined = 0;    ///< pairs of tooth products compared
};
/// `teeth_low` >= 1; `stages` 1..4; target > 0. Exact: errors are compared as fractions in 128 bits.
[[nodiscard]] FreeTrainResult closest_free_trains(base::Rational target, int stages, int teeth_low, int teeth_high);

}  // namespace gearing
