#include "allocation/together.h"

#include <algorithm>

namespace allocation {
namespace {

/// Candidates per function that a set of prices puts on the short list: at the start, and in each later round.
constexpr int kFirstShort = 24, kMoreShort = 6;
/// Rounds of "search the short lists, price everything, lengthen the lists" before everything is searched.
constexpr int kRounds = 12;
/// Nodes for a search of the short lists.
constexpr std::int64_t kShortNodes = 40;

Allowed allowed_of(const Together::Set& in, int inside) {
  Allowed out;
  for (const char member : in) out.push_back(member ? inside : kSkipped);
  return out;
}

}  // namespace

bool Together::Proof::refutes(const Set& in) const {
  std::int64_t sum = 0;
  for (std::size_t f = 0; f < in.size(); ++f) sum += in[f] ? cost[f] : 0;
  return sum > prices.worth;
}

Together::Together(Engine& engine) : engine_(engine) {
  bool fresh = false;
  const Engine::Prices even = engine_.even_prices();
  if (even.any()) priced(even, kFirstShort, fresh);
}

Together::Proof Together::priced(const Engine::Prices& prices, int short_list, bool& fresh) {
  Proof out{prices, {}};
  for (std::size_t f = 0; f < engine_.problem().functions.size(); ++f) {
    out.cost.push_back(engine_.least_cost(static_cast<int>(f), prices, short_list, fresh));
  }
  return out;
}

Together::Quick Together::quickly(const Set& in, bool prove) {
  for (int round = 0; round < kRounds; ++round) {
    Engine::Found found = engine_.find(INT_MIN, engine_.budget_limits(), kShortNodes, allowed_of(in, kShortListed));
    if (found.outcome == Outcome::found) {
      choice_ = std::move(found.choice);
      return Quick::feasible;
    }
    if (found.outcome == Outcome::stopped) return Quick::stopped;
    if (found.outcome != Outcome::refuted) break;
    const Engine::Prices prices = engine_.last_prices();
    if (!prices.any()) break;
    bool fresh = false;
    Proof proof = priced(prices, kMoreShort, fresh);
    if (proof.refutes(in)) {
      proofs_.push_back(std::move(proof));
      return Quick::infeasible;
    }
    if (!fresh || !prove) break;
  }
  return Quick::open;
}

Together::Answer Together::ask(const Set& in, std::int64_t nodes) {
  for (const Proof& proof : proofs_) {
    if (proof.refutes(in)) return Answer::infeasible;
  }
  const Quick quick = quickly(in, true);
  Answer answer = quick == Quick::feasible     ? Answer::feasible
                  : quick == Quick::infeasible ? Answer::infeasible
                                               : Answer::unknown;
  if (quick == Quick::open) {
    Engine::Found found = engine_.find(INT_MIN, engine_.budget_limits(), nodes, allowed_of(in, kAnyCandidate));
    if (found.outcome == Outcome::found) {
      choice_ = std::move(found.choice);
      engine_.add_to_short_lists(choice_);
      answer = Answer::feasible;
    } else if (found.outcome == Outcome::refuted) {
      answer = Answer::infeasible;
      if (const Engine::Prices prices = engine_.last_prices(); prices.any()) {
        bool fresh = false;
        Proof proof = priced(prices, kMoreShort, fresh);
        if (proof.refutes(in)) proofs_.push_back(std::move(proof));
      }
    }
  }
  return answer;
}

bool Together::found_quickly(const Set& in) {
  for (const Proof& proof : proofs_) {
    if (proof.refutes(in)) return false;
  }
  return quickly(in, false) == Quick::feasible;
}

const Engine::Prices* Together::proof_of(const Set& in) const {
  for (const Proof& proof : proofs_) {
    if (proof.refutes(in)) return &proof.prices;
  }
  return nullptr;
}

}  // namespace allocation
