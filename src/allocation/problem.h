// The allocation problem: one candidate per function, all parts from one stock, every budget kept.
//
// Conventions: counts are integers; margins are integers in thousandths (1000 = exactly what was asked for); costs are
// integers in the unit their name carries (mass in 0.1 g, current in mA). Exact integers in, exact answers out.
// The problem knows nothing of kinds: it sees needs, costs and margins.
// Terms: "class" = a set of part types that can serve a need (an acceptable set); docs/terminology.md.
#pragma once

#include <climits>
#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace allocation {

/// A part type in the stock.
struct Part {
  std::string name;
  int stock = 0;  ///< pieces, >= 0
};

/// An acceptable set: any part of `parts` serves a need of this class.
struct Class {
  std::string name;        ///< in the user's words, "axle 5 or 6"
  std::vector<int> parts;  ///< indices into Problem::parts, ascending, without repeats
};

struct Need {
  int cls = 0;    ///< index into Problem::classes
  int count = 0;  ///< pieces, > 0
};

/// A linear quantity with an upper limit over the whole choice (ports, channels, mass, current).
struct Budget {
  std::string name;
  std::int64_t limit = INT64_MAX;  ///< INT64_MAX = no limit, only counted
  // For texts only.
  std::string unit = {};  ///< of amounts, "g"; empty where the name is what is counted, "sockets"
  int per_unit = 1;       ///< what one unit counts as in limits and uses
  std::string why = {};   ///< why the limit is what it is, "bodies weigh 400 g of the 550 g allowed"
  /// > 0: `limit` is what this one leaves beside `taken`, 0 where it leaves nothing. Raising it is weighed by this one,
  /// the one that people see. Ranks ways out, nothing else.
  std::int64_t whole = 0, taken = 0;
};

struct Candidate {
  int margin = 0;                 ///< worst margin of this candidate, thousandths
  std::vector<std::int64_t> use;  ///< use of each budget, same order as Problem::budgets, >= 0
  std::vector<Need> needs;        ///< at most one entry per class
  std::vector<int> cells;         ///< occupied lattice cells (ids, ascending); two chosen candidates may not share one
};

/// What "none" counts as for a wished function.
struct Skip {
  int margin = INT_MAX;      ///< thousandths; INT_MAX = does not count in the worst margin
  std::int64_t penalty = 0;  ///< added to the first budget that is minimised (see Objective), same unit
  std::int64_t weight = 0;   ///< what the user loses; counted by Objective::least_dropped_weight
};

struct Function {
  std::string name;
  std::vector<Candidate> candidates;
  std::optional<Skip> skip;  ///< set for wished functions
  int floor = 0;             ///< candidates below this margin (thousandths) are not acceptable
  int locked = -1;           ///< >= 0: this candidate must be taken
};

/// Parts kept back before anything is chosen.
struct Reserve {
  int cls = 0;
  int count = 0;
  std::string reason;
};

struct Problem {
  std::vector<Part> parts;
  std::vector<Class> classes;
  std::vector<Budget> budgets;
  std::vector<Function> functions;
  std::vector<Reserve> reserves;
  std::vector<std::string> places;  ///< by cell id: where it is, in the user's words; may be shorter or empty
};

}  // namespace allocation
