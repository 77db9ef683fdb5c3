// A mechanism of up to three loops swept over many values of one input, with the effort by virtual work: millions of
// positions per second, for searches and curves.
//
// The same loop equations and the same Newton as assembly.h, in fixed-size arrays. The next position is predicted from
// the last three positions and their rates (Hermite extrapolation of degree 5), sines and cosines are turned by the
// small steps and renewed from time to time; most positions then need a single evaluation, which also gives the rates.
// Every position is still closed: the loops gap less than 1e-12 of the size before the last Newton step.
#pragma once

#include <span>
#include <vector>

#include "linkage/statics.h"

namespace linkage {

class SweepKernel {
 public:
  /// Mechanisms of 1 to 3 loops: four-bars, six-bars, eight-bars, actuator triangles.
  [[nodiscard]] static bool serves(const Loops& loops);
  /// One input moves, the others stay; the loads stay as they are. KW_CHECK: serves(loops).
  SweepKernel(const Loops& loops, int input, std::span<const Load> loads);

  struct Result {
    int closed = 0;                ///< positions reached, the start included; steps + 1 when it arrives
    std::int64_t evaluations = 0;  ///< of the loop equations
    bool arrives = true;
    double stop_value = 0;  ///< where it does not close any more, refined; when it does not arrive
  };
  /// From `start` (must close) to `to` in equal steps. `effort`: steps + 1 values; `free`: (steps + 1) x unknowns by
  /// rows, or empty when positions are not wanted.
  Result run(const Position& start, double to, int steps, std::span<double> effort, std::span<double> free);

 private:
  template <int N>
  Result run_sized(const Position& start, double to, int steps, std::span<double> effort, std::span<double> free);

  struct FlatTerm {
    int row = 0, angle = -1, travel = -1;
    double x = 0, z = 0;
  };
  /// Work of the loads per rad or mm of a coordinate: cos x along - sin x across, times the travel when there is one.
  struct LoadTerm {
    int angle = -1, travel = -1;
    double across = 0, along = 0;  ///< sum of fz x - fx z, and of fx x + fz z
  };

  const Loops& loops_;
  std::size_t input_;
  std::vector<FlatTerm> terms_;
  std::vector<LoadTerm> load_terms_;
  std::vector<double> moment_;  ///< per coordinate
};

}  // namespace linkage
