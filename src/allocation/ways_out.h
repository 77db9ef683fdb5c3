// What would make an infeasible problem feasible, each way computed and re-solved.
#pragma once

#include <string>
#include <vector>

#include "allocation/conflict.h"
#include "allocation/problem.h"
#include "allocation/solution.h"

namespace allocation {

enum class WayOutKind {
  more_parts,       ///< extra pieces in the stock
  loosen_target,    ///< one function's floor lowered as little as the others allow
  unlock,           ///< one function no longer tied to its candidate
  drop_functions,   ///< functions left out
  release_reserve,  ///< one reserve given up
  raise_budget      ///< one limit raised as little as needed
};

struct WayOut {
  WayOutKind kind = WayOutKind::more_parts;
  std::vector<Take> extra;     ///< more_parts: part type and pieces to add
  std::vector<int> functions;  ///< loosen_target, unlock: one; drop_functions: those left out
  int reserve = -1;            ///< release_reserve
  int budget = -1;             ///< raise_budget
  std::int64_t before = 0;     ///< floor (thousandths), limit, or pieces kept back
  std::int64_t after = 0;      ///< the same, changed
  bool proven_least = false;   ///< no smaller change of this sort would do
  bool decided = true;         ///< false: limits stopped the check; listed last, the text says so, no solution
  std::int64_t cost = 0;       ///< for sorting only, see way_out_cost
  std::string text;            ///< "speed target of lift loosened from 1.00 to 0.87"
  Solution solution;           ///< of the changed problem
};

/// Ranking of ways out (invented, thousandths of "a whole function given up"): a piece 50; a released reserve 30 per
/// piece; unlocking 200; loosening and raising their relative change; a dropped function 1000.
namespace way_out_cost {
inline constexpr std::int64_t kPiece = 50, kReservedPiece = 30, kUnlock = 200, kFunction = 1000, kWhole = 1000;
}

/// Every way out that works by itself, cheapest first; ties in the order of WayOutKind. `conflict` says whom to look
/// at. Re-solving is limited to 3000 nodes
/// where the caller sets no node limit; WayOut::solution then states its gap. Where no single function helps when
/// dropped, the fewest functions that do are named together. Each part of the computation obeys the limits of `options`
/// on its own.
[[nodiscard]] std::vector<WayOut> ways_out(const Problem& problem, const Conflict& conflict,
                                           const Options& options = {});

/// The problem with the way out applied; WayOut::solution solves it.
[[nodiscard]] Problem apply(const Problem& problem, const WayOut& way);

/// Two changes that work together where neither works alone. With one as it is the other cannot be smaller
/// (`proven_least` of both). Both `solution`s are of the problem with both changes.
struct PairOut {
  WayOut first, second;
  std::int64_t cost = 0;  ///< sum of both
};

struct PairsOut {
  bool looked_for = false;  ///< false: a single change works without leaving a function out
  bool complete = true;     ///< every pair of changes was judged; false: the search was ended, `text` says why
  int questions = 0;        ///< problems solved on the way
  int found = 0;            ///< pairs that work; the cheapest of them are listed
  std::vector<PairOut> pairs;
  std::string text;  ///< what was not looked at or is not listed; empty = nothing
};

/// The cheapest pairs of the changes that ways_out() knows, at most `most`, where no single change works but for
/// leaving functions out; `singles` = what ways_out() found. Two functions left out are no pair: ways_out() names the
/// fewest. Ended after `most_questions` problems, each limited to 1000 nodes where the caller sets no less.
/// Complete by this: a change that does not touch a member of a conflict leaves it, so one of the two touches
/// `conflict`, and the other a conflict that stays however far the first goes.
[[nodiscard]] PairsOut pairs_out(const Problem& problem, const Conflict& conflict, const std::vector<WayOut>& singles,
                                 const Options& options = {}, int most_questions = 200, std::size_t most = 8);

}  // namespace allocation
