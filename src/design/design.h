// The whole flow: project -> brief -> candidates per function -> allocation -> assessment.
//
// run() calls the stages in order and keeps what each produced, so that every stage can be printed and every choice
// explained. Same input, same result, whatever the number of threads.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "allocation/problem.h"
#include "allocation/solution.h"
#include "assessment/assessment.h"
#include "base/run_control.h"
#include "brief/brief.h"
#include "candidate/candidate.h"
#include "candidate/kind.h"
#include "document/diagnostic.h"

namespace design {

enum class Stage { brief, candidates, allocation, assessment };

struct Options {
  std::string project;    ///< folder
  std::string catalogue;  ///< folder; empty = the one that comes with the program
  std::string stock;      ///< stock file instead of the project's own; empty = the project's
  std::string columns;    ///< meaning of the stock file's columns; empty = found by their names
  Stage stop_after = Stage::assessment;
  std::vector<allocation::Stage> order;    ///< what is best; empty = allocation::default_order()
  bool front = true;                       ///< compute the trade-off front
  int front_points = 0;                    ///< most points of the front; 0 = all
  int chart_radii = 16, chart_slews = 24;  ///< columns of the load chart (assessment::Options)
  bool ways_out = true;                    ///< compute ways out when nothing fits
  std::string only_function;               ///< compute candidates of this one only (for explain); empty = all
};

/// Everything one function was offered.
struct FunctionResult {
  std::string id;
  std::string kind;
  bool required = true;
  candidate::Proposal proposal;
};

/// A choice on the trade-off front: no other is at least as good in all three.
struct FrontPoint {
  std::vector<int> choice;  ///< per function: index into proposal.candidates; -1 = left out
  double worst_margin = 0;
  double parts_mass_g = 0;
  int parts_left = 0;
  bool chosen = false;  ///< the design that is assessed
};

/// Demands that cannot hold together; dropping any one of them frees the rest.
struct Conflict {
  struct Demand {
    std::string who;  ///< function id, or what a reserve is for
    bool reserve = false;
    std::int64_t least = 0;  ///< whatever candidate it takes
  };
  struct Resource {
    std::string what;  ///< the parts, sockets or grams that are short
    std::int64_t needed = 0, available = 0;
    std::vector<Demand> demands;
  };
  std::string text;                  ///< "hoist and slew need at least 3 of gear, 24 teeth; stock has 2"
  std::vector<std::string> members;  ///< functions and reserves
  bool smallest = false;             ///< no conflict has fewer members: proven
  bool minimal = false;              ///< without any one of them the rest is feasible: proven
  std::vector<Resource> resources;
};

/// One change that makes it feasible, proven by solving again.
struct WayOut {
  enum class Type { more_parts, loosen_target, unlock, drop_function, release_reserve, raise_budget };
  Type type = Type::more_parts;
  std::string text;
  std::vector<std::string> functions;               ///< which it concerns
  std::vector<std::pair<std::string, int>> pieces;  ///< part class id and how many more
  double before = 0, after = 0;                     ///< margin asked for, limit or pieces kept back
  double worst_margin = 0;                          ///< of the best design after the change
};
[[nodiscard]] const char* name_of(WayOut::Type type);

struct Allocated {
  allocation::Problem problem;
  std::vector<stock::ClassId> part_classes;  ///< class of each part of the problem
  allocation::Solution solution;
  bool feasible = false;
  std::vector<int> choice;  ///< per function: index into proposal.candidates; -1 = left out; empty when infeasible
  double worst_margin = 0;
  double parts_mass_g = 0;
  std::vector<assessment::Taken> taken;
  std::vector<Conflict> conflicts;
  std::vector<WayOut> ways_out;  ///< cheapest first
  std::string gap_text;          ///< empty when proven
};

struct Result {
  document::Diagnostics diagnostics;
  bool bad_input = false;  ///< errors in the diagnostics: nothing below can be trusted
  bool stopped = false;    ///< the caller stopped it; what is there is the best so far
  Stage reached = Stage::brief;
  std::shared_ptr<const brief::Brief> brief;
  std::vector<FunctionResult> functions;
  std::optional<Allocated> allocated;
  std::vector<FrontPoint> front;
  std::string front_note;  ///< when the front is not complete
  std::optional<assessment::Assessment> assessed;

  [[nodiscard]] bool feasible() const { return allocated && allocated->feasible; }
  /// Functions whose candidate list was cut short: a proof then covers the candidates that are listed.
  [[nodiscard]] std::vector<std::string> incomplete() const;
  /// Feasible, no gap left and every list of candidates complete.
  [[nodiscard]] bool proven_best() const { return feasible() && allocated->gap_text.empty() && incomplete().empty(); }
  /// The chosen candidate of function f; null when skipped or infeasible.
  [[nodiscard]] const candidate::Candidate* chosen(std::size_t f) const;
};

[[nodiscard]] Result run(const Options& options, const base::RunControl& control = {});

}  // namespace design
