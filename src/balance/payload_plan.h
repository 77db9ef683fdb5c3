// Which loads can be lifted from where to where: whole, or in how many parts, straight from one place of work or
// carried on the machine between two; and where on the machine loads must stand to keep its balance. For models only.
//
// A place of work puts the machine's frame on the site: its origin at a point, its x axis along a heading. Lifts are
// judged by the load chart's rated payloads, the least of the cells around a place.
#pragma once

#include <string>
#include <vector>

#include "balance/load_chart.h"

namespace balance {

struct SiteLoad {
  std::string name;
  double mass_g = 0;
  Vec3 size_mm;            ///< length, width, height
  Vec3 from, to;           ///< middle of its foot, on the site; z above the machine's ground
  double sling_mm = 0;     ///< hook above its top
  bool can_split = false;  ///< into equal parts, each no lighter than:
  double least_part_g = 0;
};
struct WorkPlace {
  std::string name;
  Point2 at;
  double heading_rad = 0;
  std::size_t state = 0;  ///< of the chart
};
struct StowPlace {
  std::string name;
  Vec3 at;       ///< middle of its floor, machine's frame
  Vec3 room_mm;  ///< length, width, height; a load may stand either way round
  double most_g = 0;
};
struct PlanMachine {
  LoadChart chart;
  Point2 slew_axis;  ///< machine's frame
  bool rope = true;  ///< the hook can be lowered; otherwise the tip itself must stand at the height
  MassPoint own;     ///< while driving, unloaded
  SupportState driving;
  double wanted_angle_rad = 0;  ///< tipping angle that must be left while driving, on the level
  std::vector<StowPlace> stow;
};

/// What a place lifts at a point of the site.
struct SiteLift {
  bool reached = false;
  std::size_t posture = 0;  ///< the best one; without a rope the lower of the two around the height
  double radius_mm = 0, slew_rad = 0;
  double rated_n = 0;
};
[[nodiscard]] SiteLift lift_at(const PlanMachine& machine, const WorkPlace& place, Vec3 foot, double hook_above_mm);

/// What a place reaches towards a point of the site, at the height that is wanted there.
struct SiteReach {
  double radius_mm = 0;            ///< of the point
  double low_mm = 0, high_mm = 0;  ///< of the chart's radii that are reached; both 0: none at that height and angle
  double missing_mm = 0;           ///< how much further, or nearer, it would have to reach; 0: reached
};
/// Asked at the chart's own radii along the line from the slewing axis through the point.
[[nodiscard]] SiteReach reach_at(const PlanMachine& machine, const WorkPlace& place, Vec3 foot, double hook_above_mm);

enum class PlanStop { nothing, out_of_reach, too_heavy, parts_too_small, no_stow_place };
[[nodiscard]] const char* name_of(PlanStop stop);

struct LoadPlan {
  bool possible = false;
  PlanStop stop = PlanStop::nothing;
  int parts = 1;  ///< equal parts, one lift or trip each
  double part_g = 0;
  int pick_place = -1, set_place = -1;
  bool carried = false;  ///< stowed, driven, set down from another place
  int stow_place = -1;
  double driving_angle_rad = 0;  ///< left while carrying
  SiteLift pick, set;
  /// Of an impossible plan: the place that lifts most at either end, or comes nearest to reaching it.
  int nearest_pick = -1, nearest_set = -1;
  double spare = 0;                          ///< what the plan could lift over the part's weight, >= 1
  std::vector<int> picks_whole, sets_whole;  ///< places that could pick it, or set it down, whole
  double best_pick_n = 0, best_set_n = 0;    ///< over all places; 0: out of reach
};
/// Fewest parts first, then without carrying, then the most to spare, then the earlier places.
[[nodiscard]] std::vector<LoadPlan> plan_payloads(const PlanMachine& machine, const std::vector<SiteLoad>& loads,
                                                  const std::vector<WorkPlace>& places);

struct Stowage {
  bool keeps_balance = false;  ///< all stowed and the wanted angle is left
  bool complete = true;        ///< false: the search ended at its limit; the best so far is told, or none was met yet
  std::vector<int> place;      ///< per load; empty: they do not all fit
  double angle_rad = 0;        ///< left with all of them
};
/// All loads on the machine at once, one a place: the stowing that leaves the largest tipping angle. `most_tries`
/// counts every load put on a place.
[[nodiscard]] Stowage stow_all(const PlanMachine& machine, const std::vector<SiteLoad>& loads,
                               long most_tries = 200000);

}  // namespace balance
