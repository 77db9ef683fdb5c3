// How the machine goes over the ground: ramps, slopes, turning, steps and trenches, the project's obstacles.
//
// As it drives: every joint at zero or its nearest end, no load. Sizes that friction decides are told for its low,
// nominal and high value and with what stops the next larger one, never as one number.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "balance/crossing.h"
#include "balance/grade.h"
#include "balance/mass_spread.h"
#include "balance/standing.h"
#include "base/triple.h"

namespace assessment {

inline constexpr std::size_t kFrictions = 3;
inline constexpr std::array<const char*, kFrictions> kFrictionNames{"low", "nominal", "high"};

/// Largest size passed at each friction, the smallest that failed, and what stops that one.
struct SizeRange {
  std::array<balance::Largest, kFrictions> at;
  double looked_up_to_mm = 0;
};

struct ObstacleWay {
  std::string id, type;  ///< type as in the project
  base::Triple friction;
  // A slope: steepest that is climbed that way, and the angle to tipping that is left on it.
  bool slope = false;
  std::array<balance::Grade, kFrictions> grade;
  double wanted_deg = 0, heading_deg = 0, tips_at_deg = 0;
  // Anything else: the way over it, contact by contact.
  balance::GroundLine line;
  balance::Crossing walk;
  std::array<std::string, kFrictions> stop;  ///< "friction", "balance", "clearance", "pull"; empty = passed
  double confidence = 0;                     ///< share of the draws of friction in which it is passed
  [[nodiscard]] bool passed(std::size_t at) const { return stop[at].empty(); }
};

struct Ground {
  bool judged = false;
  std::string why_not;   ///< when not judged
  std::string note;      ///< what was assumed; mostly empty
  std::string function;  ///< that drives it
  base::Triple friction;
  balance::SideView vehicle;
  balance::SupportState state;  ///< what it drives on
  balance::MassSpread mass;
  balance::Standing standing;  ///< on the level
  bool underside_known = false;
  double clearance_mm = 0, approach_deg = 0, departure_deg = 0, breakover_deg = 0;  ///< 90, 90, 180: nothing touches
  std::array<balance::Grade, kFrictions> grade;                                     ///< straight up
  double turn_moment_nmm = 0, turn_force_n = 0;  ///< on the spot, nominal friction; force of one side; 0 = by steering
  double turn_friction_along = 0;                ///< that this force asks of the ground, per load of the side
  double pull_n = 0;                             ///< of all motors stalled; 0 = not known
  SizeRange step, trench;
  std::vector<ObstacleWay> obstacles;  ///< in the order of Brief::obstacles
};

}  // namespace assessment
