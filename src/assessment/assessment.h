// The whole machine with its chosen candidates: mass, balance, power, parts, and what to think of it.
//
// Knows candidates, never kinds: everything it needs to know of a function stands in its candidate.
// Frame as in brief/brief.h: x forward, y left, z up, millimetres. Angles in radians inside, degrees in the result
// where the name says so.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "assessment/amendment.h"
#include "assessment/duty.h"
#include "assessment/ground.h"
#include "assessment/site_plan.h"
#include "balance/load_chart.h"
#include "base/run_control.h"
#include "base/triple.h"
#include "brief/brief.h"
#include "candidate/candidate.h"
#include "lattice/sweep.h"

namespace assessment {

/// One function with what was chosen for it; null = a wished function that was left out.
struct Chosen {
  const brief::Function* function = nullptr;
  const candidate::Candidate* candidate = nullptr;
};

/// Pieces taken from one stock type.
struct Taken {
  std::size_t type = 0;  ///< index into Stock::types
  int count = 0;
  int function = -1;  ///< index into Brief::functions; -1 = a reserve or the power supply
};

struct MassLine {
  std::string body;
  base::Triple mass_g;
  bool estimate = false;  ///< nobody entered it
  double parts_g = 0;     ///< of the chosen candidates, part of the estimate
  double reserve_g = 0;   ///< parts kept back for this body
  double fill_g = 0;      ///< everything else, from the envelope
  brief::Vec3 centre_mm;  ///< zero pose
};

/// Joint angles of every body (fixed ones 0), and whether the loads hang on it.
struct Posture {
  std::vector<double> angle_rad;
  bool loaded = false;
};

struct Stance {
  bool judged = false;
  std::string why_not;                  ///< when not judged
  std::vector<brief::Vec3> support_mm;  ///< support polygon, counter-clockwise, z = 0
  std::size_t postures = 0;             ///< looked at
  bool coarse = false;                  ///< so many joints that only their ends were looked at
  Posture worst;                        ///< the posture of the least angle
  std::string worst_text;               ///< "upper at 90 deg, boom at 0 deg, loaded"
  brief::Vec3 centre_mm;                ///< centre of gravity there
  std::vector<brief::Vec3> centres_mm;  ///< of every posture looked at, z kept
  std::vector<double> direction_deg;    ///< 0 = forward, 90 = left
  std::vector<double> tipping_deg;      ///< per direction, least over the postures; 0 = it falls on the level
  double least_deg = 0;                 ///< negative: it falls by itself
  double least_direction_deg = 0;
  base::Triple least_interval_deg;  ///< 5 %, nominal and 95 % of the draws, masses uncertain
  double load_g = 0;                ///< all loads together
};

/// One cell of the load chart.
struct LiftCell {
  bool reached = false;       ///< the hook can stand there
  double greatest_g = 0;      ///< under which it just tips, or a drive just holds; infinite when nothing limits it
  double rated_g = 0;         ///< 75 % of tipping (85 % with feet down), 87 % of what drives hold, the smaller
  int governs = -1;           ///< of `rated_g`: index into Lifting::limits; -1 = nothing
  double hook_height_mm = 0;  ///< sagged, above the ground
  double confidence = 0;      ///< lower bound of the chance that the rated load overloads and tips nothing
};

/// What the model lifts, where, and what stops it. For the model only, never for real lifting.
struct Lifting {
  bool judged = false;
  std::string why_not;               ///< when not judged
  std::string note;                  ///< what was left out; mostly empty
  std::string radius_from;           ///< "slewing axis"; where nothing slews "luffing pivot"
  std::string hook_on;               ///< body the load hangs from
  double slope_deg = 0;              ///< of the ground, 0 = level
  std::vector<double> downhill_deg;  ///< ways it falls that were looked at; each cell is that of the worst
  double wanted_g = 0, wanted_radius_mm = 0;
  std::vector<std::string> states, postures, limits;
  std::vector<double> slew_deg, radius_mm;
  std::vector<LiftCell> cells;  ///< state, then posture, then slew, then radius (fastest)
  /// Per state: rated load at the wanted radius, in the best posture at the worst slewing angle, and what governs
  /// there.
  struct AtWanted {
    double rated_g = 0;
    int governs = -1;
    std::string posture;
    double slew_deg = 0;      ///< the worst
    double downhill_deg = 0;  ///< on a slope: the worst way it falls
    double rigid_g = 0;       ///< rated load that a machine without any give would seem to have there
  };
  std::vector<AtWanted> at_wanted;
  brief::Vec3 axis_mm;                              ///< that radii count from, machine frame
  std::shared_ptr<const balance::LoadChart> chart;  ///< the same cells as the theory has them; null when not judged
  std::shared_ptr<const balance::LiftingMachine> machine;  ///< that they were worked out for, on the level
  [[nodiscard]] const LiftCell& at(std::size_t state, std::size_t posture, std::size_t slew, std::size_t radius) const {
    return cells[((state * postures.size() + posture) * slew_deg.size() + slew) * radius_mm.size() + radius];
  }
};

/// One motor in one socket.
struct PortUse {
  std::size_t hub = 0;  ///< index into Supply::hubs
  int port = 0;         ///< from 1
  std::string function;
  double running_ma = 0;
  double stall_ma = 0;
  double limit_ma = 0;
  double lead_mm = 0;  ///< from the motor to the hub along the axes, with slack for joints; 0 = a place is not known
  double have_mm = 0;  ///< of the motor's own lead and the cable given to it
  stock::ClassId cable{-1};  ///< to be plugged between; negative index = none
  int motor = -1;            ///< which of the function's motors, in the order of its drives; -1 = in that of the list
};

struct Power {
  std::vector<PortUse> ports;
  std::vector<double> hub_running_ma;  ///< per hub, all its motors at once
  std::vector<double> hub_limit_ma;
  bool fits = true;         ///< every hub within its limit
  bool leads_known = true;  ///< false: the search for cables ended before it had tried everything
  bool leads_reach = true;  ///< every known lead reaches its hub with the cables of the stock
  double running_ma = 0;    ///< all functions at once
  double average_ma = 0;    ///< each with its duty
  double capacity_mah = 0;
  base::Triple run_time_min;  ///< 5 %, nominal, 95 % of the draws; zero when nothing draws current
  DutyPower duty;             ///< the working cycle, with cells that sag
};

struct PartLine {
  std::size_t type = 0;  ///< index into Stock::types
  stock::ClassId part{};
  std::string name;
  std::string colour;
  int stock = 0;
  int used = 0;
  int reserved = 0;
  [[nodiscard]] int left() const { return stock - used - reserved; }
};

/// Something that is in the way, and how many unit cells of it are.
struct Obstacle {
  std::string what;  ///< "function \"travel\"", "\"seat\""
  int cells = 0;
};

/// Drawing a placed thing out one way.
struct WayOut {
  lattice::Way way;
  std::vector<Obstacle> obstacles;  ///< most cells first; empty = free
  std::vector<std::string> first;   ///< what must be opened or moved aside before: "open \"lid\""
  [[nodiscard]] bool free() const { return obstacles.empty(); }
};

/// Pressing a placed thing from one side.
struct Press {
  enum class By { nothing, finger, pusher };
  lattice::Way way;  ///< the side it is pressed from
  By by = By::nothing;
  double depth_mm = 0;              ///< from the outermost part around to the thing; least found
  int pusher_p = 0;                 ///< axle that serves as pusher, 0 = none
  std::vector<Obstacle> obstacles;  ///< on the straightest way, when nothing reaches it
  std::vector<std::string> first;
};

struct PlacedAccess {
  std::string id;
  std::vector<WayOut> ways;
  std::vector<Press> presses;
};

struct OpenableAccess {
  std::string id;
  double opens_deg = 0;  ///< as wanted
  double free_deg = 0;   ///< as far as it gets before it strikes, towards opens_deg, to 1 degree
  std::vector<Obstacle> obstacles;
};

struct Access {
  std::vector<PlacedAccess> placed;  ///< in the order of Brief::placed
  std::vector<OpenableAccess> openables;
};

struct Number {
  std::string name;
  double value = 0;
  std::string unit;
};

/// A change that was tried and what it does; never a guess.
struct Remedy {
  std::string text;  ///< "move \"battery\" 3 pitches back"
  std::string what;  ///< the number it changes, "least tipping angle"
  double before = 0, after = 0;
  std::string unit;
  bool enough = false;                     ///< the finding is gone afterwards
  std::vector<Amendment> amendments = {};  ///< doing it; empty = the project file has no words for it
};

struct Finding {
  enum class Severity { note, warning, problem };
  Severity severity = Severity::note;
  std::string code;  ///< stable, "stance.below_wanted"
  std::string text;
  std::string function;  ///< id, empty when it is the whole machine
  std::vector<Number> numbers;
  std::vector<Remedy> remedies;  ///< tried ones, best first
};
[[nodiscard]] const char* name_of(Finding::Severity severity);

/// How sure the chosen candidates' margins are.
struct FunctionCertainty {
  std::vector<base::Triple> ratio;  ///< per margin of the candidate: 5 %, nominal, 95 % of the draws
  double confidence = 0;            ///< share of draws in which every margin of this function is >= 1
};

struct Certainty {
  int draws = 0;                             ///< really made
  double confidence = 0;                     ///< share of draws in which every margin of every chosen candidate is >= 1
  std::vector<FunctionCertainty> functions;  ///< in the order of the functions; empty members for skipped ones
};

struct Assessment {
  std::vector<MassLine> masses;  ///< in the order of Brief::bodies
  double mass_g = 0;
  base::Triple mass_interval_g;
  bool mass_is_estimate = false;  ///< at least one body is
  brief::Vec3 centre_mm;          ///< zero pose, unloaded
  Stance stance;
  Power power;
  Certainty certainty;
  std::vector<PartLine> parts;  ///< in the order of Stock::types
  int parts_used = 0, parts_reserved = 0, parts_left = 0;
  Access access;
  Lifting lifting;
  Ground ground;
  SitePlan site;
  std::vector<Finding> findings;  ///< worst first
};

struct Options {
  std::uint64_t seed = 1;
  int draws = 1000;                           ///< for the intervals
  int chart_radii = 16, chart_slews = 24;     ///< columns of the load chart; of slewing angles those of a whole turn
  const base::RunControl* control = nullptr;  ///< looked at between judgements; null = never stopped
  /// Throws base::GivenUp when the run is.
  void check() const {
    if (control != nullptr) control->check();
  }
};

/// How the machine would stand with these masses instead of its own, which `masses` has in the order of Brief::bodies;
/// nominal, nothing drawn: quick enough to follow a hand.
[[nodiscard]] Stance stance_with(const brief::Brief& brief, const std::vector<Chosen>& chosen,
                                 const std::vector<MassLine>& masses);

/// Judges the whole. `chosen` in the order of Brief::functions; `taken` from the allocation. Throws base::GivenUp when
/// the run is given up on the way.
[[nodiscard]] Assessment assess(const brief::Brief& brief, const std::vector<Chosen>& chosen,
                                const std::vector<Taken>& taken, const Options& options,
                                const base::RunControl& control = {});

}  // namespace assessment
