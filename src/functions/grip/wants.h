// What a grip is asked to do, validated and in core units.
#pragma once

#include <array>
#include <memory>

#include "candidate/kind.h"
#include "functions/drive/mount_region.h"

namespace functions::grip {

/// both: two jaws that turn against each other, joined by a pair of equal gears on their pivots. one: one jaw against a
/// fixed one.
enum class Jaws { both, one };

struct Wants : candidate::Wants {
  std::array<double, 2> opening_mm{};  ///< between the jaws where they grip, closed and open
  double force_n = 0;                  ///< squeeze at every opening between them
  double time_s = 3;                   ///< from open to closed without an object, at most
  bool hold = true;                    ///< keeps its squeeze with the motor off
  Jaws jaws = Jaws::both;
  int jaw_p = 6;                      ///< jaw pivot to where it grips, pitches
  std::array<double, 2> at_mm{0, 0};  ///< x, z of the driven jaw's pivot; machine frame, zero pose. Jaws point along +x
  double at_y_mm = 0;                 ///< of the jaws' plane
  double load_g = 0;                  ///< what the jaws carry; 0 = nothing that counts
  drive::MountRegion crank_region_p{{-6, -1}, {-3, 3}};
  int longest_bar_p = 6;
  double transmission_deg = 35;
  int most_stages = -1;

  // Filled in by read().
  lattice::Box2 crank_box;
};

[[nodiscard]] std::vector<document::FieldDoc> fields();
[[nodiscard]] std::shared_ptr<const candidate::Wants> read(const brief::Function&, const brief::Brief&,
                                                           document::Diagnostics&);

}  // namespace functions::grip
