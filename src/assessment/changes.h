// Changes to a machine that are tried and judged again: a body moved by pitches, ballast from the parts left, a wider
// or longer stand, a lighter load. Not for other folders.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "assessment/assessment.h"

namespace assessment {

/// A machine that may be changed: what `judge_stance` and `judge_lifting` read, candidates reduced to that.
struct Setup {
  brief::Brief brief;
  std::vector<const brief::Function*> functions;
  std::vector<std::optional<candidate::Candidate>> candidates;  ///< empty: left out
  std::vector<MassLine> masses;

  Setup(const brief::Brief& brief, const std::vector<Chosen>& chosen, const std::vector<MassLine>& masses);
  [[nodiscard]] std::vector<Chosen> chosen() const;
};

/// One sort of change in steps from 1 to `most`, each larger than the one before.
struct Change {
  int most = 0;
  std::function<void(Setup&, int)> make;
  std::function<std::string(int)> tell;
  std::function<std::vector<Amendment>(int)> write = {};  ///< the same in the project file; empty = it has no words
};

/// Bodies that are only fixed to another one, back, forward or down by whole pitches.
[[nodiscard]] std::vector<Change> moved_bodies(const Setup& machine);
/// Ballast in steps of 10 g out of `left_g`, at either end of every body that does not luff.
[[nodiscard]] std::vector<Change> ballast(const Setup& machine, double left_g);
/// What it stands on, and any feet, further apart by whole pitches on either side; and at either end.
[[nodiscard]] std::vector<Change> larger_stands(const Setup& machine);
/// All loads lighter, in steps of a hundredth of the whole.
[[nodiscard]] std::vector<Change> lighter_loads(const Setup& machine);

/// Of one family the change with the least steps that reaches `wanted`, else the one that comes nearest if it is better
/// than `before` at all. `measure` is larger for the better. Steps are looked at up to `most`, with growing strides
/// halved down again where there are more than a dozen.
struct Sought {
  std::string what, unit;  ///< for the remedy
  double before = 0, wanted = 0;
  std::function<double(const Setup&)> measure;
};
/// `done` gets the change, of `family`, and its steps.
[[nodiscard]] std::optional<Remedy> best_of(const Setup& machine, const std::vector<Change>& family,
                                            const Sought& sought,
                                            std::optional<std::pair<const Change*, int>>* done = nullptr);

}  // namespace assessment
