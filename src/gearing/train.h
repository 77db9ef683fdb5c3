// Gear trains: ordered stages, their exact ratio and what they use; idlers, compound and reverted trains by teeth.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/rational.h"
#include "gearing/mesh.h"

namespace gearing {

/// A stage is one mesh: its driven gear shares a shaft with the next stage's driver.
using Stage = Mesh;

struct GearUse {
  stock::ClassId part{};
  int count = 0;
  friend bool operator==(const GearUse&, const GearUse&) = default;
};

/// Stages from the motor to the output. No stage = direct drive, ratio 1.
struct Train {
  std::vector<Stage> stages;
  /// Stages whose driver is the very wheel that the stage before drives: an idler, which bridges distance or turns the
  /// sense. Ascending, never the first; both of its meshes are parallel.
  std::vector<std::size_t> idlers = {};

  [[nodiscard]] bool over_idler(std::size_t stage) const;  ///< whether an idler drives this stage
  [[nodiscard]] base::Rational ratio() const;              ///< output speed / input speed, signed, exact
  [[nodiscard]] double reduction() const;                  ///< |input speed / output speed|
  [[nodiscard]] int shafts() const { return static_cast<int>(stages.size()) + 1; }
  /// Gears (and ring) used, ascending by class; `copies` sides together. An idler counts once.
  [[nodiscard]] std::vector<GearUse> needs(int copies = 1) const;
  [[nodiscard]] double worst_misfit_mm() const;
  [[nodiscard]] int right_angles() const;
  [[nodiscard]] bool has(MeshType type) const;
  [[nodiscard]] bool ends_on_ring() const { return !stages.empty() && drives_ring(stages.back().type); }
  /// For people, by teeth: "8:24, worm 1:24, 12:60 ring outside", over an idler "8:16:24"; "direct" without stages. Not
  /// unique: bevel gears and bevelled spur gears of equal teeth read alike.
  [[nodiscard]] std::string text() const;
  /// Unique, by class ids: "gear_8>gear_24,bevel_12>bevel_20:bevel", over an idler "gear_8>gear_16>gear_24"; the type
  /// is named unless spur. For candidate keys.
  [[nodiscard]] std::string key(const stock::Catalogue& catalogue) const;
  /// Mesh indices of `table` to a train, in the order given.
  [[nodiscard]] static Train of(const MeshTable& table, std::span<const int> mesh_indices);
  /// The same ends without idlers: each row of wheels as one mesh of `table`. Empty where the ends of a row do not
  /// mesh.
  [[nodiscard]] std::optional<Train> without_idlers(const MeshTable& table) const;
};

/// Ratio of a train written by teeth alone.
struct TeethPair {
  int driver = 0, driven = 0;
  MeshType type = MeshType::spur;
};
[[nodiscard]] base::Rational train_ratio(std::span<const TeethPair> stages);
/// A row of gears, each meshing the next (idlers between the ends): only the ends and the number of meshes count.
[[nodiscard]] base::Rational row_ratio(std::span<const int> teeth);

/// Two stages of one module whose input and output shafts are in line: z1 + z2 = z3 + z4.
struct RevertedTrain {
  int driver1 = 0, driven1 = 0, driver2 = 0, driven2 = 0;
  friend bool operator==(const RevertedTrain&, const RevertedTrain&) = default;
};
/// The reverted train with the fewest teeth in all whose reduction is exactly reduction1 * reduction2 (both >= 1),
/// stage by stage, drivers with at least `fewest1` and `fewest2` teeth. Empty when none has drivers up to
/// `most_driver_teeth`.
[[nodiscard]] std::optional<RevertedTrain> smallest_reverted_train(base::Rational reduction1, base::Rational reduction2,
                                                                   int fewest1, int fewest2,
                                                                   int most_driver_teeth = 1000);

/// Whole teeth for two shafts about a distance apart with an exact speed ratio (Khurmi & Gupta, Example 13.2).
struct WholeTeethPair {
  int driver = 0, driven = 0;
  double driver_diameter_mm = 0, driven_diameter_mm = 0;
  double distance_mm = 0;
};
/// `reduction` = driver speed / driven speed > 0; distance nearest to `about_mm` (ties: the smaller).
[[nodiscard]] WholeTeethPair nearest_whole_teeth(base::Rational reduction, double circular_pitch_mm, double about_mm);

}  // namespace gearing
