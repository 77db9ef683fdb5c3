// Which of the project's loads can be moved, from where and to where: whole, split or carried; and where they stow.
//
// Judged by the load chart's rated loads, the least of the cells around a place, with the machine on its own ground or
// feet. For models only.
#pragma once

#include <string>
#include <vector>

#include "brief/brief.h"

namespace assessment {

struct SitePlan {
  /// One lift, of the whole load or of a part.
  struct Lift {
    std::string place;  ///< empty: none. Of a load that stays: the one that lifts most there or comes nearest
    double radius_mm = 0, slew_deg = 0, rated_g = 0;
    bool reached = false;
    double reach_low_mm = 0, reach_high_mm = 0;  ///< at that angle and height; both 0: nothing is reached there
  };
  struct Load {
    std::string id;
    double mass_g = 0;
    bool possible = false;
    std::string stop;  ///< why not; empty when possible
    std::string end;   ///< which end of the work fails: "pick-up", "set-down", "both ends", "way between"
    int parts = 1;
    double part_g = 0;
    Lift pick, set;
    bool carried = false;  ///< stowed, driven, and set down from another place
    std::string stow_place;
    double driving_deg = 0;                            ///< tipping angle left while it is carried
    double spare = 0;                                  ///< what the plan could lift over the part's weight
    std::vector<std::string> picks_whole, sets_whole;  ///< places that could
    double best_pick_g = 0, best_set_g = 0;            ///< over all places; 0 = out of reach
  };
  bool judged = false;
  std::string why_not;  ///< when not judged
  std::string note;
  std::vector<brief::WorkPlace> places;  ///< the project's, else where it stands
  std::vector<Load> loads;               ///< in the order of Brief::site_loads
  bool all_stow = false;                 ///< all loads stand on the machine at once and it keeps its balance
  bool stow_complete = true;             ///< false: the search for it ended early
  std::vector<std::string> stow;         ///< place of each load; empty = they do not all fit
  double stow_deg = 0, wanted_deg = 0;   ///< tipping angle left with all of them; what must be left
};

}  // namespace assessment
