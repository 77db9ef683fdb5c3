// The whole flow: project -> brief -> candidates per function -> allocation -> assessment.
//
// run() calls the stages in order and keeps what each produced, so that every stage can be printed and every choice
// explained. Same input, same result, whatever the number of threads.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "allocation/problem.h"
#include "allocation/solution.h"
#include "assessment/assessment.h"
#include "base/run_control.h"
#include "brief/brief.h"
#include "calibration/bench.h"
#include "candidate/candidate.h"
#include "candidate/kind.h"
#include "document/diagnostic.h"
#include "looks/colour_plan.h"

namespace design {

class ProposalCache;
class ReadCache;
struct FunctionResult;
struct Result;

enum class Stage { brief, candidates, allocation, assessment };

struct Options {
  std::string project;                   ///< folder
  std::optional<std::string> text = {};  ///< the project file's text when it is not what stands on the disk
  std::string catalogue;                 ///< folder; empty = the one that comes with the program
  std::string stock;                     ///< stock file instead of the project's own; empty = the project's
  std::string columns;                   ///< meaning of the stock file's columns; empty = found by their names
  Stage stop_after = Stage::assessment;
  std::vector<allocation::Stage> order;    ///< what is best; empty = allocation::default_order()
  bool front = true;                       ///< compute the trade-off front
  int front_points = 0;                    ///< most points of the front; 0 = all
  int chart_radii = 16, chart_slews = 24;  ///< columns of the load chart (assessment::Options)
  bool ways_out = true;                    ///< compute ways out when nothing fits
  double size_factor = 1;                  ///< the project as if built this many times as large
  std::string only_function;               ///< compute candidates of this one only (for explain); empty = all
  ProposalCache* cache = nullptr;   ///< proposals of earlier runs; only looked at with `text`, never changes a result
  ReadCache* read_cache = nullptr;  ///< catalogue and stock list of earlier runs; never changes a result

  // What is known on the way, for somebody who waits; neither changes a result.
  /// Each function that had to be searched anew, as soon as its candidates are known: from any thread, one at a time.
  std::function<void(const FunctionResult&)> tell_proposed = {};
  /// The design as far as it has come once its candidates are chosen; what follows does not choose others.
  std::function<void(const Result&)> tell_chosen = {};
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
    double least = 0;  ///< whatever candidate it takes
  };
  struct Resource {
    std::string what;  ///< the parts, sockets or added mass that is short
    double needed = 0, available = 0;
    std::string unit;  ///< of the numbers, "g"; empty = pieces
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
  std::vector<assessment::Amendment> amendments;    ///< doing it; empty = the project file has no words for it
};
[[nodiscard]] const char* name_of(WayOut::Type type);

/// Two changes that make it feasible together and not alone; proven by solving again.
struct PairOut {
  WayOut first, second;
  double worst_margin = 0;  ///< of the best design after both
};

/// Looked for where no single change works but for leaving functions out.
struct PairsOut {
  bool looked_for = false;
  bool complete = true;        ///< every pair was judged
  std::vector<PairOut> pairs;  ///< cheapest first
  std::string note;            ///< what was not judged or is not listed; empty = nothing
};

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
  PairsOut pairs_out;
  std::string gap_text;  ///< empty when proven
};

/// The colour plan of the zones from what the choice leaves.
struct Looks {
  std::vector<looks::Left> left;  ///< pieces that neither functions nor reserves take
  looks::ColourPlan plan;         ///< in the order of Result::zones
  looks::Schemes schemes;         ///< two or three colours for all zones
};

/// A sticker for the finished model; colours are "#rrggbb".
struct Decal {
  std::string id, text, where_on;
  double width_mm = 0, height_mm = 0;
  std::string colour, ground;
  int stripes = 0;
  int count = 1;
};

/// What the project tells for those who build from it; nothing is computed from it.
struct Publication {
  std::string revision;  ///< "B", "3"; empty = none told
  std::vector<Decal> decals;
};

struct Result {
  document::Diagnostics diagnostics;
  bool bad_input = false;  ///< errors in the diagnostics: nothing below can be trusted
  bool stopped = false;    ///< the caller stopped it; what is there is the best so far
  Stage reached = Stage::brief;
  std::shared_ptr<const brief::Brief> brief;
  std::optional<calibration::Outcome> bench;  ///< what bench_tests.csv taught; empty without the file
  std::vector<FunctionResult> functions;
  std::optional<Allocated> allocated;
  std::vector<FrontPoint> front;
  std::string front_note;  ///< when the front is not complete
  std::optional<assessment::Assessment> assessed;
  std::vector<looks::Zone> zones;  ///< of the colour plan, as wanted
  Publication publication;
  std::optional<Looks> colours;  ///< empty without zones or before the assessment

  [[nodiscard]] bool feasible() const { return allocated && allocated->feasible; }
  /// Functions whose candidate list was cut short: a proof then covers the candidates that are listed.
  [[nodiscard]] std::vector<std::string> incomplete() const;
  /// Feasible, no gap left and every list of candidates complete.
  [[nodiscard]] bool proven_best() const { return feasible() && allocated->gap_text.empty() && incomplete().empty(); }
  /// The chosen candidate of function f; null when skipped or infeasible.
  [[nodiscard]] const candidate::Candidate* chosen(std::size_t f) const;
};

/// The functions with their chosen candidates, as the stages behind the allocation want them.
[[nodiscard]] std::vector<assessment::Chosen> chosen_of(const Result& result);

/// With a bench_tests.csv beside the project the flow runs twice: with the kit's figures, to have something that the
/// readings can be held against, and with what they taught.
[[nodiscard]] Result run(const Options& options, const base::RunControl& control = {});

}  // namespace design
