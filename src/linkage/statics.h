// Forces in a mechanism at rest or moving slowly: what the inputs must give, and the reaction at every joint.
//
// Two routes that share nothing but the drawing:
//   virtual work   effort = -(sum of force . velocity + moment x turn of every load) per unit of the input
//   equilibrium    three equations per body, all joint forces and efforts unknown, one linear system
// Without friction they agree to rounding. With Coulomb friction only equilibrium holds: a pin resists its turn with
// f r |R| (R its reaction, r the journal's radius: friction circle of radius f r), a slider its travel with
// f (|N1| + |N2|), the forces at the ends of its guide (with a short shoe, f |N|); so an eccentric load jams a short
// guide. |R| is linearised at the last direction of R, which is Newton's method for it, until nothing changes.
// A tooth pair gives the tangential force T at the pitch point and, by the pressure angle, |T| tan(alpha) apart.
// Signs: forces in frame directions, on body b from body a; moments counter-clockwise. An effort acts in the sense of
// its input (pin: moment on b, N mm; slider: force on b along the axis, N), > 0 pushes the value up. Source: Beer &
// Johnston, Statics, chs 4, 6, 8 (journal bearings, friction circle); Norton, Design of Machinery, ch. 11.
#pragma once

#include <span>
#include <vector>

#include "linkage/motion.h"
#include "linkage/screw.h"

namespace linkage {

struct Force2 {
  double x_n = 0;
  double z_n = 0;
};

/// A dead load on a body: a force in frame directions at a point of the body, and a moment.
struct Load {
  int body = 0;
  Vec2 at;
  Force2 force;
  double moment_nmm = 0;
};

struct Reaction {
  Force2 force;           ///< on b from a, friction included; the input's effort not
  double moment_nmm = 0;  ///< on b about the joint's point of contact; pin: friction only
  double friction = 0;    ///< part of it: moment (pin, N mm) or force along the axis (slider, N)
};

struct Equilibrium {
  bool solved = true;          ///< false: dead point, or friction jams (no finite effort moves it that way)
  bool converged = true;       ///< false: friction found no steady state within the cap
  int iterations = 0;          ///< linear systems solved
  std::vector<double> effort;  ///< per input, N mm or N
  std::vector<Reaction> joints;
  std::vector<double> tooth_n;  ///< per gear pair: tangential force on gear b, along AB turned by +90 deg
};

/// What a load does per unit of the input, summed: power of all loads. The effort by virtual work is its negative.
[[nodiscard]] double load_power(const Motion& motion, std::span<const Load> loads);

/// Effort of every input by virtual work, without friction. NaN at a dead point.
[[nodiscard]] std::vector<double> virtual_work(const Loops& loops, const Position& position,
                                               std::span<const Load> loads);

/// Equilibrium with buffers of its own; one per thread.
class Statics {
 public:
  explicit Statics(const Loops& loops);
  /// Frictionless.
  const Equilibrium& at_rest(const Position& position, std::span<const Load> loads);
  /// With friction while `input` moves in the `sense` (+1, -1) of its value, the others held.
  const Equilibrium& moving(const Position& position, std::span<const Load> loads, int input, int sense);
  /// Frictionless, from coordinates at hand; for sweeps.
  const Equilibrium& at_rest(const Coordinates& at, std::span<const Load> loads);

 private:
  void prepare(const Coordinates& at, std::span<const Load> loads);
  bool solve(bool with_friction);
  void collect();

  const Loops& loops_;
  Coordinates at_;
  std::vector<BodyPose> poses_;
  std::vector<double> base_matrix_, base_right_, matrix_, unknown_, previous_, sense_;
  std::vector<int> pivot_;
  std::vector<Vec2> contact_, axis_;
  Equilibrium out_;
};

/// How an input stands against its loads with friction.
struct Holding {
  double effort = 0;           ///< frictionless, from virtual work
  double push_on = 0;          ///< effort to move on against the load; infinite when it jams
  double let_back = 0;         ///< effort while the load is let back; of the other sign when it has to be driven back
  bool self_locking = false;   ///< the load cannot move the input back, whatever it is
  double efficiency = 0;       ///< effort / push_on, 0 when it jams
  double back_efficiency = 0;  ///< let_back / effort, <= 0 when self-locking
};
/// For one input with the others held. Loads that do not act on the input (effort 0) count as self-locking.
[[nodiscard]] Holding holding(const Loops& loops, const Position& position, std::span<const Load> loads, int input);

/// Torque at the screw of an actuator whose effort is known: raising when the effort drives the motion (effort and
/// sense agree), lowering when it holds back; negative: the load turns the screw, it back-drives.
[[nodiscard]] double screw_torque_nmm(const Screw& screw, double effort_n, int sense);

}  // namespace linkage
