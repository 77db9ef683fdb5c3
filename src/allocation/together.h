// Which of a problem's functions can be had together: the same question for many sets of them.
//
// A set is refuted by prices: when the cheapest candidates of its members cost more than all capacities are worth. Such
// a proof is kept, for it refutes other sets too. A set is confirmed by a choice, which is sought among few candidates
// per function first: those that were cheap at the prices met so far. Only where neither settles it is everything
// searched.
#pragma once

#include <vector>

#include "allocation/engine.h"

namespace allocation {

class Together {
 public:
  using Set = std::vector<char>;  ///< per function: inside
  enum class Answer { feasible, infeasible, unknown };

  /// Every function of the engine's problem may be skipped, and locks none.
  explicit Together(Engine& engine);

  /// Whether the members can be had together, in at most `nodes` nodes of the whole search.
  Answer ask(const Set& in, std::int64_t nodes);
  /// The same, given up where the short lists do not say yes.
  bool found_quickly(const Set& in);
  /// Of the last question answered "feasible".
  [[nodiscard]] const std::vector<int>& choice() const { return choice_; }
  /// Prices at which the members cannot be had together, of the proofs kept so far; null when none of them says so.
  const Engine::Prices* proof_of(const Set& in) const;

 private:
  struct Proof {
    Engine::Prices prices;
    std::vector<std::int64_t> cost;  ///< least, per function
    [[nodiscard]] bool refutes(const Set& in) const;
  };
  enum class Quick { feasible, infeasible, stopped, open };
  Quick quickly(const Set& in, bool prove);
  Proof priced(const Engine::Prices& prices, int short_list, bool& fresh);

  Engine& engine_;
  std::vector<Proof> proofs_;
  std::vector<int> choice_;
};

}  // namespace allocation
