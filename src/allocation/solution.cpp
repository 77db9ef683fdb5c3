#include "allocation/solution.h"

namespace allocation {

std::vector<Stage> default_order(bool has_mass_budget) {
  std::vector<Stage> order{{StageKind::least_dropped_weight, {}}, {StageKind::best_worst_margin, {}}};
  if (has_mass_budget) order.push_back({StageKind::least_budget, "mass"});
  return order;
}

const char* to_text(Status status) {
  switch (status) {
    case Status::optimal:
      return "optimal";
    case Status::feasible_with_gap:
      return "feasible, not proven best";
    case Status::infeasible:
      return "infeasible";
    case Status::stopped_without_answer:
      return "stopped without an answer";
  }
  return "";
}

std::string to_text(const Stage& stage) {
  switch (stage.kind) {
    case StageKind::least_dropped_weight:
      return "least dropped weight";
    case StageKind::best_worst_margin:
      return "best worst margin";
    case StageKind::least_budget:
      return "least " + stage.budget;
    case StageKind::fewest_parts:
      return "fewest parts";
  }
  return "";
}

}  // namespace allocation
