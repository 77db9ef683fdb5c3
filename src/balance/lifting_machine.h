// A machine that lifts, as numbers: posed bodies that give, supports, and what its functions can hold; and the greatest
// payload in one pose. For models only, never for real lifting.
//
// The load hangs from the hook point on a vertical rope. Under the load every joint with a give sags by  give x moment,
// and the ground's give lets the machine lean towards the line it tips about; both move the hook outwards. The greatest
// payload is the one for which the pose sagged under that very payload just holds it: the rigid pose overstates it.
// On a slope, moments are taken with gravity's direction in the machine's frame; radius and slew are measured there.
// Joints: right-hand rule; a moment counts positive when it would turn the joint forward (a force, for slides).
#pragma once

#include <array>
#include <functional>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "balance/mass_spread.h"
#include "balance/standing.h"

namespace balance {

enum class Limit { none, tipping, luff, knuckle, slew, hoist, tooth, structure, sag };
[[nodiscard]] const char* name_of(Limit limit);

/// Values over a joint's position, straight between points, constant beyond the ends; one value holds everywhere.
struct Curve {
  std::vector<double> at, value;  ///< `at` strictly rising, same size; both empty: 0
  static Curve constant(double value) { return {{0}, {value}}; }
  [[nodiscard]] double operator()(double x) const;
};

struct LiftingBody {
  WeighedBody weighed;
  /// Turn per moment about the body's joint, rad/(N mm), or mm/N for slides, over the joint's position: actuator and
  /// structure together. Where a boom bends elsewhere, put a joint there.
  Curve give;
};

/// What a joint's drive, its teeth or its structure holds, against either sense, over the joint's position.
struct JointLimit {
  Limit kind = Limit::luff;
  std::string name;
  int body = -1;
  Curve holds;          ///< N mm (N for slides), >= 0
  double sd_share = 0;  ///< standard deviation of what it holds, as a share of it
};

/// The pose a limit is asked for.
struct LiftPose {
  int state = 0, posture = 0;
  double radius_mm = 0, slew_rad = 0, luff_rad = 0;  ///< as set, without sag
  Vec3 hook;                                         ///< sagged
  std::span<const double> joint;                     ///< sagged positions of all bodies
};
/// Any other limit as greatest load on the hook point, tare included, in a pose (rope force, number of falls, a table).
/// Must be a pure function; called from several threads.
struct PayloadLimit {
  Limit kind = Limit::hoist;
  std::string name;
  std::function<double(const LiftPose&)> greatest_n;
  double sd_share = 0;
};

struct LiftPosture {
  std::string name;
  std::vector<double> joint;  ///< position of every body's joint; those of slew and luff are set by the cell
};

struct LiftingMachine {
  std::vector<LiftingBody> bodies;
  int slew_body = -1;  ///< turns about z; -1: the hook's radius is from the frame's origin
  int luff_body = -1;  ///< set so that the hook stands at the radius
  double luff_low_rad = 0, luff_high_rad = 0;
  int hook_body = -1;
  Vec3 hook;          ///< in its body's frame
  double tare_n = 0;  ///< hook block and slings: part of the load, not of the payload
  std::vector<LiftPosture> postures;
  std::vector<SupportState> states;
  std::vector<JointLimit> joint_limits;
  std::vector<PayloadLimit> payload_limits;
  Slope slope;
};
/// Empty when the machine is complete and fits together; otherwise what is wrong, naming the part.
[[nodiscard]] std::string fault_of(const LiftingMachine& machine);

struct LiftOptions {
  bool sagged = true;                ///< false: rigid pose, for comparison
  double drive_share = kDriveShare;  ///< rated over what drives and structure hold
};

struct LiftCell {
  bool reached = false;  ///< the hook can stand at this radius in this posture
  Limit governs = Limit::none, rated_governs = Limit::none;
  double luff_rad = 0;
  // Payloads, the tare taken off; 0 when the tare alone is too much.
  double tipping_n = 0;   ///< infinite: does not tip under any load it can hold
  double drive_n = 0;     ///< least of the other limits; infinite: there is none
  double greatest_n = 0;  ///< smaller of both
  double rated_n = 0;     ///< min(state's tipping share x tipping load, drive share x load the drives hold) - tare
  double sagged_radius_mm = 0, hook_height_mm = 0;  ///< of the hook under the greatest payload
  double confidence = 0;  ///< lower bound of the chance that the rated load overloads nothing and tips nothing
};

/// One cell with what lies behind it.
struct LiftDetail {
  LiftCell cell;
  int tipping_edge = -1;      ///< of tipping_edges(state)
  int drive_limit = -1;       ///< joint limits first, then payload limits
  std::vector<double> joint;  ///< sagged positions under the greatest payload
  Vec3 hook;
  double lean_rad = 0;                  ///< towards the tipping line, when about to tip
  std::vector<double> limit_payload_n;  ///< payload each limit holds in that pose
};

/// Greatest payloads of one machine; keeps what all cells share. Not for use by two threads at once: copy it.
class Lifter {
 public:
  /// KW_CHECK: fault_of(machine) is empty. The machine must outlive the lifter.
  Lifter(const LiftingMachine& machine, const LiftOptions& options);

  struct Reach {
    bool reached = false;
    double luff_rad = 0;
  };
  /// Luffing angle at which the hook, without sag, stands at the radius; of several the one with the highest hook.
  [[nodiscard]] Reach reach(int posture, double radius_mm);
  /// Least and greatest radius of a posture over the luffing range.
  [[nodiscard]] std::pair<double, double> radius_range_mm(int posture);

  [[nodiscard]] LiftCell cell(int state, int posture, double slew_rad, double radius_mm, const Reach& reach);
  [[nodiscard]] LiftDetail detail(int state, int posture, double slew_rad, double radius_mm);

 private:
  struct Edge {
    Vec3 inwards;  ///< gradient of the distance of a gravity line from the tipping line, at no lean
    double offset_mm = 0;
    double lean_per_n = 0;
  };
  struct Effort {
    double own = 0, per_n = 0;  ///< about a joint: of the machine's weight, and of 1 N at the hook
  };
  struct Found {
    double load_n = 0;    ///< tare included
    int index = -1;       ///< tipping edge, or limit
    bool settled = true;  ///< false: held up to this load, beyond it the machine sags too far to judge
  };
  using Swing = std::array<Vec3, 3>;

  /// Hook over the luffing angle, measured from the slewing axis: p = s[0] + s[1] cos + s[2] sin.
  [[nodiscard]] Swing swing(int posture);
  void set(int state, int posture, double slew_rad, double luff_rad);
  /// Poses, centre, hook and efforts at the joint positions.
  void evaluate();
  /// Sags the joints under a load by the efforts last evaluated; largest change.
  double sag(double load_n);
  /// Sags until nothing changes; false: it does not settle, or further than a linear give means anything.
  bool settle_under(double load_n);
  [[nodiscard]] double distance_mm(const Edge& edge, Vec3 point, double lean) const;
  [[nodiscard]] Found tipping_here(double load_n) const;
  [[nodiscard]] double limit_here(std::size_t limit) const;
  [[nodiscard]] Found drive_here() const;
  /// Load for which here(load) = load in the pose sagged under it.
  template <class Here>
  [[nodiscard]] Found settle_on(const Here& here, double most_n);
  [[nodiscard]] double confidence(double load_n) const;
  void solve(LiftDetail& out);

  const LiftingMachine& machine_;
  LiftOptions options_;
  std::vector<std::vector<Edge>> edges_;  ///< of every state
  std::vector<std::vector<int>> below_;   ///< bodies that hang on a body, itself included
  std::vector<char> carries_hook_;        ///< per body
  std::vector<int> asked_;                ///< joints with a give or a limit
  Vec3 gravity_;                          ///< unit vector
  double weight_n_ = 0;
  // Working state of one cell.
  std::vector<Body> bodies_;
  std::vector<Pose> pose_;
  std::vector<double> set_, give_, joint_, drive_joint_, hold_;
  std::vector<Vec3> centre_of_;
  std::vector<Effort> effort_;
  Vec3 centre_, hook_;
  LiftPose asked_pose_;
};

}  // namespace balance
