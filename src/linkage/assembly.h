// Where a mechanism can stand: Newton from a guess, every branch for given inputs, and one branch along a sweep.
//
// A position that does not exist is an answer ("does not close here"), not an error. Newton has the analytic Jacobian
// and a cap of 8 evaluations; a tool that hops to another branch would be worse than one that stops, so steps are
// limited and a sweep keeps the sign of the Jacobian's determinant, which changes only at a dead point.
#pragma once

#include <limits>
#include <span>
#include <string>
#include <vector>

#include "linkage/loops.h"

namespace linkage {

struct Position {
  std::vector<double> free;   ///< free coordinates of Loops
  std::vector<double> input;  ///< one value per input: rad or mm
};

/// Pose of a body drawn at a place and an angle.
[[nodiscard]] BodyPose drawn(Vec2 at, double angle_rad);
/// The position read off a drawing: one pose per body. Does not close unless the drawing does; a guess for Solver.
[[nodiscard]] Position read(const Loops& loops, std::span<const BodyPose> drawing);

inline constexpr int kNewtonCap = 8;

/// Newton's method with buffers of its own: one per thread.
class Solver {
 public:
  explicit Solver(const Loops& loops);

  /// From `position.free` as the guess. True: closed to 1e-12 of the mechanism's size, position.free is the answer.
  /// False: does not close from here (no position near, or at a dead point); position.free is then unchanged.
  bool close(Position& position);
  /// Rates of the free coordinates while one input moves at 1 (rad or mm) per second. False at a dead point of that
  /// input, where they are infinite.
  bool rates(const Position& position, int input, std::span<double> free_rates);
  /// Sign of the Jacobian's determinant at a position, 0 at a dead point. Constant along a branch.
  int orientation(const Position& position);
  /// Coordinates of the position close() found last.
  [[nodiscard]] const Coordinates& closed_at() const { return at_; }
  [[nodiscard]] int evaluations() const { return evaluations_; }  ///< since construction
  [[nodiscard]] const Loops& loops() const { return loops_; }

 private:
  int factor();
  const Loops& loops_;
  Coordinates at_;
  std::vector<double> trial_, residual_, jacobian_, by_input_;
  std::vector<int> pivot_;
  int evaluations_ = 0;
};

/// Every position for the given inputs, by interval branch and prune: boxes of the free coordinates are thrown away
/// when the loop equations cannot hold in them, and kept when the Krawczyk operator proves that they hold exactly one
/// position. Angles are searched all round; a coordinate coupled by gears within half a turn of its zero, travels
/// within `travel_limit_mm` either way. Source: Krawczyk's operator: Moore, Kearfott, Cloud, Introduction to Interval
/// Analysis, ch. 8 (from memory).
struct BranchOptions {
  double travel_limit_mm = 0;        ///< 0: twice the size of the mechanism
  long long most_boxes = 2'000'000;  ///< stop when more boxes had to be looked at; said in `complete`
};
struct Branches {
  std::vector<Position> positions;  ///< by free coordinates, angles within (-pi, pi]
  std::vector<int> orientation;     ///< sign of the determinant of each, 0 at a dead point
  bool complete = true;             ///< every position of the searched range is proven found
  long long boxes = 0;
  /// Positions fill a line: the mechanism moves though its inputs are held (a crank folded onto an equal ground link).
  bool loose = false;
  std::size_t undecided_positions = 0;
  long long undecided = 0;  ///< boxes at a dead point that could be neither proven nor thrown away
};
[[nodiscard]] Branches all_branches(const Loops& loops, std::span<const double> inputs,
                                    const BranchOptions& options = {});

/// One branch along a sweep of one input, the others held.
struct Sweep {
  std::vector<double> value;        ///< of the moving input, as far as it goes
  std::vector<Position> positions;  ///< one per value
  bool arrives = true;
  double stop_value = std::numeric_limits<double>::quiet_NaN();  ///< where it ends: a dead point of this input
  std::string text;  ///< "does not close beyond 1.2345 rad", empty when it arrives
};
/// `steps` equal steps from where `start` stands to `to`; finer in between where the way is bent. KW_CHECK: start
/// closes.
[[nodiscard]] Sweep sweep(const Loops& loops, const Position& start, int input, double to, int steps);

}  // namespace linkage
