// Buckling, two ways: a single strut by Euler and Johnson, and a whole frame by its linear eigenvalue.
//
// The frame: K + f G is singular at the buckling factor f, with G the geometric stiffness from the axial forces of the
// given loads. The number of negative pivots of K + f G counts the buckling factors below f (Sylvester's law of
// inertia; for members with loose ends the pivots eliminated inside them count too, as in Wittrick and Williams'
// method), so bisection cannot miss the lowest one. Not covered: moments' and rigid offsets' own second-order effects,
// plasticity, crooked struts. A member buckles between its nodes only if it is cut: see subdivided().
#pragma once

#include <vector>

#include "structure/frame.h"

namespace structure {

struct BucklingOptions {
  double greatest_factor = 1e6;  ///< give up above this; the answer then says how far it looked
};

struct Buckling {
  bool found = false;
  double factor = 0;       ///< found: times the loads; else: no buckling up to this factor
  std::vector<Six> shape;  ///< per node, largest component 1; empty unless found
  int factorisations = 0;  ///< of the frame's matrix
};

/// Lowest positive buckling factor. KW_CHECK: no mechanism.
[[nodiscard]] Buckling buckling(const FrameModel& model, const Loads& loads, const BucklingOptions& options = {});

/// How a strut's ends are held, with Euler's effective length factor: 1, 2, 0.5, 0.6992 (tan u = u).
enum class EndsHeld { both_pinned, one_clamped_other_free, both_clamped, one_clamped_other_pinned };
[[nodiscard]] double length_factor(EndsHeld ends);

struct Strut {
  double length_mm = 0;
  BarSection section;
  double e_mpa = 0;
  double yield_mpa = 0;  ///< compressive
  EndsHeld ends = EndsHeld::both_pinned;
};
enum class StrutLimit { euler, johnson };
struct StrutStrength {
  double euler_n = 0;     ///< about the weaker axis
  double squash_n = 0;    ///< yield times area
  double critical_n = 0;  ///< what governs
  StrutLimit limit = StrutLimit::euler;
  double slenderness = 0;  ///< effective length over radius of gyration
};
/// Euler where (kL/i)^2 >= 2 pi^2 E/S, below that Johnson's parabola P = S A (1 - S (kL/i)^2/(4 pi^2 E)).
/// Source: Shigley, sections 4-12 and 4-13. KW_CHECK: everything positive.
[[nodiscard]] StrutStrength strut_strength(const Strut& strut);

/// Side of a square pin-ended strut that a load needs: the larger of what buckling (with `safety`) and the allowable
/// stress ask for.
struct SquareStrut {
  double side_mm = 0, buckling_side_mm = 0, stress_side_mm = 0;
};
[[nodiscard]] SquareStrut square_strut(double load_n, double length_mm, double e_mpa, double safety,
                                       double allowable_mpa);

}  // namespace structure
