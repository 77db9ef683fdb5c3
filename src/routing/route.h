// The search for layouts: which train and where, together, from the input to every output.
//
// Method, exact: shafts are laid from the output back to the input. Level 1 chooses meshes and lattice offsets; it is
// cut by what ratios and what displacements the remaining meshes can still reach. Level 2 gives every wheel its slot,
// every shaft its bearings, bushes and axle, with least cost. Two layouts that differ only in slots are one.
// Rules (docs/theory/routing.md): a shaft is held in two walls, or in one wall and its terminal.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "base/run_control.h"
#include "routing/layout.h"
#include "routing/problem.h"

namespace routing {

struct RouteOptions {
  int best = 20;               ///< distinct layouts kept: other ratio, other parts or other envelope; >= 1
  std::int64_t max_nodes = 0;  ///< 0 = no limit; otherwise the search ends there and says so
  std::int64_t max_steps = 0;  ///< the same for offsets and ways of filling slots together, which time goes with
  bool first_only = false;     ///< stop at the first layout (feasibility only)
  bool explain = true;         ///< false: leaves out the refusals, which can cost more than a short search
  bool count_all = false;      ///< find out of every geometric layout whether it can be built, the costly ones too
};

/// Why nothing came out, in numbers.
struct Refusal {
  std::string code;  ///< "ratio", "distance", "room", "clash", "slots", "bearings", "axle", "stock"
  std::string text;  ///< "no chain of up to 2 meshes spans 56 mm; the nearest is 54.1 mm (24:40, 12:20)"
  std::int64_t count = 0;
};

struct Routes {
  std::vector<Layout> layouts;   ///< ascending by cost; distinct; of equal ones the first found
  std::int64_t found = 0;        ///< geometric layouts (slots apart) that can be built; all of them with count_all,
                                 ///< otherwise those met before cost cut them off
  std::int64_t nodes = 0;        ///< offsets tried
  std::int64_t lacked_axle = 0;  ///< geometric layouts that failed for an axle of the right length alone
  bool complete = true;
  std::string limit_text;         ///< when not complete
  std::vector<Refusal> refusals;  ///< most frequent first; of use when layouts is empty
};

/// A problem made ready to be asked for many trains. Const calls may run on several threads at once.
class Router {
 public:
  explicit Router(Problem);
  /// For a problem in the same room with the same kit: of the two only inputs, outputs and limits differ. Takes over
  /// what depends on room and kit alone; other boxes, walls, keep-outs or numbers of wheels and pairs are KW_CHECKs.
  Router(Problem, const Router& same_room);
  ~Router();
  Router(Router&&) noexcept;
  Router& operator=(Router&&) noexcept;
  [[nodiscard]] const Problem& problem() const;
  /// Whether offsets lead from some place of output 0 to some input within most_stages meshes, whatever the wheels. If
  /// not, no train at all can be laid out, and routes() need not be asked.
  [[nodiscard]] bool leads() const;
  /// Layouts with any of these trains for output 0 (pairs from the input to the output); empty: any train at all.
  [[nodiscard]] Routes routes(const std::vector<std::vector<int>>& trains, const RouteOptions& = {},
                              const base::RunControl& = {}) const;

  struct Ready;  ///< inside of routing/

 private:
  std::unique_ptr<const Ready> ready_;
};

/// The first output for which nothing can be built at any of its places, whatever the train, because what is there in
/// every case (a ring, attachments, bodies of terminals) meets a wall, a keep-out or itself, or leaves the box. -1:
/// none. Inputs and trains are not looked at.
[[nodiscard]] int blocked_output(const Problem&);
[[nodiscard]] std::string blocked_text(const Problem&, int output);  ///< the same in words

/// Router(problem).routes(problem.trains). Problems in the input (walls too close, windows upside down, index out of
/// range) are faults of the caller: KW_CHECK.
[[nodiscard]] Routes route(const Problem&, const RouteOptions& = {}, const base::RunControl& = {});

}  // namespace routing
