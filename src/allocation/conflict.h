// Why nothing fits: the smallest set of functions (and reserves) that cannot be had together, and what they fight over.
#pragma once

#include <string>
#include <vector>

#include "allocation/problem.h"
#include "allocation/solution.h"

namespace allocation {

enum class ResourceKind { parts, budget, place };

/// Least use of a resource by one member of the conflict, whatever candidate it takes.
struct Share {
  int function = -1;  ///< index into Problem::functions, or -1
  int reserve = -1;   ///< index into Problem::reserves, or -1
  std::int64_t least = 0;
};

/// One thing the members fight over.
struct Resource {
  ResourceKind kind = ResourceKind::parts;
  std::vector<int> parts;     ///< parts: indices of the part types that all together are too few
  int budget = -1;            ///< budget: its index
  int cell = -1;              ///< place: the lattice cell
  std::int64_t needed = 0;    ///< sum of the least shares
  std::int64_t have = 0;      ///< pieces in stock, the budget's limit, or 1
  std::vector<Share> shares;  ///< members with a share above 0
  [[nodiscard]] bool enough_alone() const { return needed > have; }  ///< proves the conflict by itself
};

struct Conflict {
  bool found = false;          ///< false: the problem is feasible, or the search was stopped
  std::vector<int> functions;  ///< members: dropping any one of them (or of reserves) makes the rest feasible
  std::vector<int> reserves;
  bool irreducible = false;         ///< the line above is proven for every member
  bool proven_smallest = false;     ///< no conflict has fewer members
  std::vector<Resource> resources;  ///< one when a single resource proves it, else an irreducible set that does
  bool resources_irreducible = false;
  /// Single resources of which all members of the problem together need too much, the narrowest first: each proves the
  /// problem infeasible by itself, though often with more members than the smallest conflict.
  std::vector<Resource> overfull;
  std::string text;  ///< plain English, in the names of the problem
  Stats stats;
};

/// Explains an infeasible problem. Members are functions that may not be skipped, and reserves; floors, locks, budgets
/// and cells count as they stand. Limits of `options` apply; a stopped explanation returns what is proven so far.
[[nodiscard]] Conflict explain_conflict(const Problem& problem, const Options& options = {});

}  // namespace allocation
