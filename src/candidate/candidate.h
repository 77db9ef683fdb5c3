// A candidate: one buildable way to serve one function, with what it consumes, what it reaches and how sure that is.
//
// Margins are capability / requirement (1 = exactly what was asked for), capped at kMarginCap so that "far more than
// enough" compares equal everywhere. Allocation and assessment read candidates and never ask which kind made them.
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "base/rational.h"
#include "base/run_control.h"
#include "brief/brief.h"
#include "candidate/drive.h"
#include "candidate/route.h"
#include "candidate/running_gear.h"
#include "document/diagnostic.h"
#include "lattice/cells.h"
#include "stock/part.h"

namespace candidate {

inline constexpr double kMarginCap = 9.99;
/// Candidates below this worst margin are rejections; between it and 1 they are kept as near misses, so that "loosen
/// the target to 0.87" can be computed when nothing fits.
inline constexpr double kNearMiss = 0.5;

/// A need that any of several classes can serve.
struct Need {
  std::vector<stock::ClassId> accepts;  ///< ascending, no repeats, at least one
  int count = 0;
  std::string label;  ///< "axle 5 or 6", "gear, 24 teeth"
  std::string role;   ///< where it goes: "second shaft", for the parts list
};

struct Demand {
  std::vector<Need> needs;  ///< for all sides together
  int ports = 0;
  int channels = 0;
  double running_current_ma = 0;  ///< at the wanted load, all motors together, nominal; may be rounded up to steps
  double stall_current_ma = 0;
};

struct Margin {
  std::string name;  ///< "force", "time", "tooth", "hold"
  double capability = 0;
  double requirement = 0;
  std::string unit;
  std::string note;  ///< where it is worst: "at 12 deg", "last mesh 12:36"
  double ratio = 0;  ///< capped at kMarginCap
};

/// What the theory says with one set of parameters.
struct Evaluation {
  std::vector<Margin> margins;  ///< same names in the same order for every sample
  double running_current_ma = 0;
  [[nodiscard]] double worst() const;
};

/// A number worth telling: "time to raise", 9.3 s.
struct Figure {
  std::string name;
  double value = 0;
  std::string unit;
};

/// y over x for drawing and JSON: force over the travel and the like.
struct Curve {
  std::string name, x_name, x_unit, y_name, y_unit;
  std::vector<double> x, y;
};

/// A line or circle of the mechanism in the plane of its body, for drawings. Millimetres, zero pose, x forward z up.
struct Shape {
  enum class Role { beam, moving_beam, actuator, base_mount, rod_mount, pivot, gear, load, ghost };
  Role role = Role::beam;
  double x1_mm = 0, z1_mm = 0, x2_mm = 0, z2_mm = 0;  ///< circle: centre and radius in x2_mm
  std::string label;
};

/// Mass that a candidate adds to a body.
struct MassItem {
  int body = -1;  ///< index into Brief::bodies; -1 = chassis
  double mass_g = 0;
};

/// A load the function carries when it works: it counts in the stance of the whole machine, not in its own mass.
struct Payload {
  int body = -1;      ///< body it hangs from, index into Brief::bodies; -1 = chassis
  brief::Vec3 at_mm;  ///< point it hangs from, machine frame, zero pose
  double mass_g = 0;
};

/// What a drive holds of the load on the hook, for the load chart of the whole machine.
struct Holding {
  enum class Limit { luff, knuckle, slew, hoist, tooth, structure };
  Limit limit = Limit::luff;
  std::string name;            ///< "motor, stalled", "actuator"
  int body = -1;               ///< whose joint it acts on; hoist: the body the hook hangs from
  std::vector<double> at_rad;  ///< positions of that joint, rising; empty: the same everywhere
  std::vector<double> holds;   ///< one per position, or one: N mm about the joint; hoist: N at the hook, hook included
  std::string margin;          ///< the candidate's margin whose spread is this one's, "force"
};

/// How far a body turns about its joint under a moment about it: beams, pins and actuator together.
struct Give {
  int body = -1;
  std::vector<double> at_rad;       ///< positions of the joint, rising; empty: the same everywhere
  std::vector<double> rad_per_nmm;  ///< one per position, or one
};

/// Where a stage on a line stops. A body that it runs out rides along; the load chart asks each stop.
struct Reaches {
  std::vector<double> at_mm;  ///< ascending, from run in; empty: nothing runs out
  bool pinned = false;        ///< held there by a pin, set by hand; else a motor stops it anywhere between
  int body = -1;              ///< that rides on it, fixed to its parent but for this; -1 = nobody told
  brief::Vec3 along;          ///< unit vector outward, machine frame, zero pose
};

/// Cells that a candidate fills on one body, in that body's own lattice: origin at its joint's pivot, for the chassis
/// (and what is fixed to it) the machine's origin.
struct BodyCells {
  int body = 0;  ///< index into Brief::bodies
  lattice::Cells cells;
};

struct Candidate {
  std::string key;    ///< stable, unique within the function: "m:motor_l|12-36,8-24|..."; used by locks
  std::string title;  ///< for people
  Demand demand;
  std::vector<MassItem> masses;
  std::vector<Payload> payloads;  ///< empty for functions that carry nothing
  std::vector<Holding> holdings;  ///< empty for functions that hold no load
  double tare_g = 0;              ///< hook and slings that hang with the load
  std::vector<Give> gives;        ///< empty where nothing is known of it
  /// What rolls on the ground; null for functions that drive nothing along.
  std::shared_ptr<const RunningGear> running_gear;
  std::vector<Drive> drives;  ///< empty for what no motor moves
  /// What the machine stands on once this function has put its feet down; empty for most.
  std::vector<brief::Vec3> stands_on_mm;
  Evaluation nominal;
  /// Re-computes the margins with another set of parameters; pure, thread safe, deterministic.
  std::function<Evaluation(const brief::Sample&)> evaluate;
  /// Greatest mass, g, that it just lifts over its whole travel with such parameters, hook and slings not counted; null
  /// for functions that raise no load. Pure, thread safe, deterministic.
  std::function<double(const brief::Sample&)> lifts_g;
  std::vector<Figure> figures;
  std::vector<Curve> curves;
  std::vector<Shape> shapes;
  /// Where its drive stands hole by hole, one side of a mirrored pair; null when no train was laid out.
  std::shared_ptr<const Route> route;
  std::vector<std::string> notes;  ///< compromises and how to adjust it
  Reaches reaches;                 ///< of what runs out along a line
  std::vector<BodyCells> cells;    ///< all sides together; ascending by body; empty = takes no room that is known
};

/// Code of a rejection that tells of trains that were not looked at because brief::Function::best_only are enough: its
/// text says what they reach at most.
inline constexpr std::string_view kOnlyTheBest = "candidate.only_the_best";

/// Why something was not proposed, in numbers. Equal reasons are counted, the nearest miss is kept.
struct Rejection {
  std::string code;      ///< "luff.actuator_too_short"
  std::string text;      ///< "longest actuator is 9.4 mm too short at 62 deg"
  double shortfall = 0;  ///< of the nearest miss, in `unit`, > 0
  std::string unit;
  std::int64_t count = 0;  ///< how many variants fell to it
};

struct Proposal {
  std::vector<Candidate> candidates;  ///< every non-dominated one with worst margin >= kNearMiss, best first
  std::vector<Rejection> rejections;  ///< most frequent first
  std::int64_t examined = 0;          ///< variants looked at
  bool complete = true;               ///< false: a limit or a stop ended the search early
  std::string limit_text;             ///< what was left out, when not complete
  int most_meshes = -1;               ///< longest trains that were looked at; -1 = not told
};

/// Keeps the candidates that no other one beats or equals in worst margin, in each need, in mass, ports and current at
/// the same time while its cells are among theirs (what takes other room may fit where the better one does not); of
/// equal ones the first by key stays. Sorted by worst margin (down), mass, key.
void keep_non_dominated(std::vector<Candidate>& candidates, const stock::Catalogue& catalogue);

/// Collects rejections: counts equal codes and keeps the text of the smallest shortfall.
class RejectionLog {
 public:
  void add(std::string code, double shortfall, std::string unit, const std::function<std::string()>& text,
           std::int64_t count = 1);
  [[nodiscard]] std::vector<Rejection> take();  ///< most frequent first, ties by code

 private:
  std::vector<Rejection> items_;
};

/// Margin with the ratio filled in: capability / requirement for "at least", capped; requirement <= 0 gives the cap.
[[nodiscard]] Margin at_least(std::string name, double capability, double requirement, std::string unit,
                              std::string note = {});
/// Margin for "at most" targets (time, mass): requirement / reached, capped.
[[nodiscard]] Margin at_most(std::string name, double reached, double allowed, std::string unit, std::string note = {});

/// Total mass of a candidate's parts; a need counts its lightest acceptable class.
[[nodiscard]] double parts_mass_g(const Demand& demand, const stock::Catalogue& catalogue);
[[nodiscard]] int parts_count(const Demand& demand);

}  // namespace candidate
