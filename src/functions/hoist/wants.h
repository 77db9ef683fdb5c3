// What the user wants of a hoist: a load raised by a rope over a drum, how far, how fast, in how many falls.
#pragma once

#include <array>
#include <optional>
#include <string>

#include "candidate/kind.h"

namespace functions::hoist {

struct Wants : candidate::Wants {
  double load_g = 0;                               ///< on the hook, without the hook itself
  double hook_travel_mm = 0;                       ///< lowest to highest
  std::optional<double> speed_mm_s;                ///< of the hook, least; or time_s
  std::optional<double> time_s;                    ///< for the whole travel, most
  std::array<double, 2> falls{1, 1};               ///< parts of line the search may choose from, whole numbers 1..4
  int lead_sheaves = 1;                            ///< fixed sheaves between drum and first fall
  double sheave_diameter_mm = 16;                  ///< where the rope runs, for the friction of the sheaves' pins
  std::string sheave_part;                         ///< class counted once per sheave; empty = none counted
  std::optional<double> rope_run_mm;               ///< from drum to the point the falls hang from
  double dead_turns = 3;                           ///< never leave the drum
  double rope_safety = 3;                          ///< breaking force over greatest pull wanted
  std::optional<std::array<double, 3>> drum_at_p;  ///< middle of the drum on the carrier's lattice, hole pitches
  int most_stages = -1;                            ///< meshes between motor and drum
  bool hold = true;                                ///< must not sink when the motor is off

  std::string hangs_on;                              ///< body the falls hang from, as written
  std::optional<std::array<double, 3>> hangs_at_mm;  ///< machine frame, zero pose

  // Filled in by read().
  double wanted_speed_mm_s = 0;
  bool wanted_as_time = false;
  int falls_low = 1, falls_high = 1;
  double run_mm = 0;
  bool run_is_guess = false;
  std::optional<stock::ClassId> sheave;
  int hang_body = 0;  ///< index of hangs_on
  brief::Vec3 hang_mm;
};

[[nodiscard]] std::vector<document::FieldDoc> fields();
[[nodiscard]] std::shared_ptr<const candidate::Wants> read(const brief::Function& function, const brief::Brief& brief,
                                                           document::Diagnostics& diagnostics);

}  // namespace functions::hoist
