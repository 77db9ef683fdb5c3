#include "allocation/conflict_text.h"

#include <fmt/format.h>

#include <algorithm>

#include "base/text.h"

namespace allocation {
namespace {

std::string member_name(const Problem& p, int function, int reserve) {
  if (function >= 0) return p.functions[function].name;
  return fmt::format("the reserve for {}", p.reserves[reserve].reason);
}

std::string share_list(const Problem& p, const Resource& r) {
  const auto amount = [&](std::int64_t least) {
    return r.kind == ResourceKind::budget ? amount_text(p.budgets[r.budget], least) : std::to_string(least);
  };
  std::vector<std::string> items;
  for (const Share& s : r.shares)
    items.push_back(fmt::format("{} {}", member_name(p, s.function, s.reserve), amount(s.least)));
  return fmt::format("{}", fmt::join(items, ", "));
}

std::string one_resource(const Problem& p, const std::string& who, bool several, const Resource& r) {
  const char* verb = several ? "" : "s";
  switch (r.kind) {
    case ResourceKind::parts:
      if (r.parts.empty()) {
        return fmt::format("{} need{} {} pieces of a kind that no part in the stock can serve: {}.", who, verb,
                           r.needed, share_list(p, r));
      }
      return fmt::format("{} need{} at least {} of {}; stock has {}: {}.", who, verb, r.needed, part_names(p, r.parts),
                         r.have, share_list(p, r));
    case ResourceKind::budget: {
      const Budget& b = p.budgets[r.budget];
      return fmt::format("{} need{} at least {}{} {}; the limit is {}{}: {}.", who, verb, amount_text(b, r.needed),
                         b.unit.empty() ? "" : " of", b.name, amount_text(b, r.have),
                         b.why.empty() ? "" : fmt::format(" ({})", b.why), share_list(p, r));
    }
    case ResourceKind::place:
      return fmt::format("{} would always stand in the same place: {}.", who, place_name(p, r.cell));
  }
  return {};
}

std::string in_combination(const Problem& p, const Resource& r) {
  switch (r.kind) {
    case ResourceKind::parts:
      if (r.needed == 0) return fmt::format("{} (stock {})", part_names(p, r.parts), r.have);
      return fmt::format("{} (stock {}, at least {} needed)", part_names(p, r.parts), r.have, r.needed);
    case ResourceKind::budget:
      return fmt::format("{} (limit {}, at least {} needed)", p.budgets[r.budget].name,
                         amount_text(p.budgets[r.budget], r.have), amount_text(p.budgets[r.budget], r.needed));
    case ResourceKind::place:
      return fmt::format("the room at {}", place_name(p, r.cell));
  }
  return {};
}

/// A function none of whose candidates may be taken, whatever the stock.
std::string hopeless(const Problem& p, int f) {
  const Function& function = p.functions[f];
  if (function.candidates.empty()) return fmt::format("{} has no candidate at all.", function.name);
  int best = INT_MIN;
  for (int c = 0; c < static_cast<int>(function.candidates.size()); ++c) {
    if (function.locked < 0 || function.locked == c) best = std::max(best, function.candidates[c].margin);
  }
  if (best >= function.floor) return {};
  if (function.locked >= 0) {
    return fmt::format("{} is locked to a candidate that reaches {} where {} is asked for.", function.name,
                       margin_text(best), margin_text(function.floor));
  }
  return fmt::format("No candidate of {} reaches {}; the best reaches {}.", function.name, margin_text(function.floor),
                     margin_text(best));
}

}  // namespace

std::string amount_text(const Budget& b, std::int64_t amount) {
  const std::string number = base::plain(static_cast<double>(amount) / b.per_unit, 9);
  return b.unit.empty() ? number : number + " " + b.unit;
}

std::string join_names(const std::vector<std::string>& names, const char* last) {
  if (names.empty()) return {};
  std::string out = names[0];
  for (std::size_t i = 1; i < names.size(); ++i) out += (i + 1 == names.size() ? last : ", ") + names[i];
  return out;
}

std::string part_names(const Problem& p, const std::vector<int>& parts) {
  constexpr std::size_t kMostNamed = 4;
  std::vector<std::string> names;
  for (std::size_t i = 0; i < parts.size() && i < kMostNamed; ++i) {
    names.push_back(fmt::format("'{}'", p.parts[parts[i]].name));
  }
  if (parts.size() > kMostNamed) names.push_back(fmt::format("{} more part types", parts.size() - kMostNamed));
  return join_names(names, " or ");
}

std::string place_name(const Problem& p, int cell) {
  const auto at = static_cast<std::size_t>(cell);
  return cell >= 0 && at < p.places.size() ? p.places[at] : fmt::format("cell {}", cell);
}

std::string margin_text(int margin) {
  if (margin == INT_MAX) return "any";
  const int size = margin < 0 ? -margin : margin;
  std::string text = fmt::format("{}{}.{:03}", margin < 0 ? "-" : "", size / 1000, size % 1000);
  if (text.back() == '0') text.pop_back();
  return text;
}

std::string conflict_text(const Problem& p, const Conflict& c) {
  if (!c.found) return {};
  std::vector<std::string> names;
  for (int f : c.functions) names.push_back(p.functions[f].name);
  for (int r : c.reserves) names.push_back(member_name(p, -1, r));
  if (c.functions.size() == 1 && c.reserves.empty()) {
    if (std::string text = hopeless(p, c.functions[0]); !text.empty()) return text;
  }
  const std::string who = join_names(names);
  if (c.resources.size() == 1 && c.resources[0].enough_alone()) {
    return one_resource(p, who, names.size() > 1, c.resources[0]);
  }
  constexpr std::size_t kMostResources = 5;
  std::vector<std::string> what;
  for (std::size_t i = 0; i < c.resources.size() && i < kMostResources; ++i) {
    what.push_back(in_combination(p, c.resources[i]));
  }
  if (c.resources.size() > kMostResources) {
    what.push_back(fmt::format("{} more limits", c.resources.size() - kMostResources));
  }
  const std::string over = what.empty() ? "the stock and the budgets" : join_names(what);
  std::string text =
      names.size() == 1
          ? fmt::format("No candidate of {} fits within {}.", who, over)
          : fmt::format("{} cannot be had together: no combination of their candidates fits within {}.", who, over);
  if (!c.overfull.empty()) text += " Besides, " + one_resource(p, "all functions together", true, c.overfull.front());
  return text;
}

}  // namespace allocation
