#include "allocation/validate.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>
#include <utility>

namespace allocation {
namespace {

class Findings {
 public:
  template <typename... Args>
  void add(fmt::format_string<Args...> text, Args&&... args) {
    list_.push_back(fmt::format(text, std::forward<Args>(args)...));
  }
  std::vector<std::string> take() { return std::move(list_); }

 private:
  std::vector<std::string> list_;
};

template <typename T>
bool strictly_ascending(const std::vector<T>& values) {
  return std::adjacent_find(values.begin(), values.end(), [](const T& a, const T& b) { return a >= b; }) ==
         values.end();
}

/// a + b, stopping at the top of the range instead of wrapping. Both >= 0.
std::int64_t add_capped(std::int64_t a, std::int64_t b) {
  return a > INT64_MAX - b ? INT64_MAX : a + b;
}

struct Totals {
  std::int64_t pieces = 0, penalty = 0, weight = 0;
  std::vector<std::int64_t> use;
};

/// `seen` holds, per class, the last candidate (by its running number) that needed it.
void check_candidate(const Problem& p, const Function& function, std::size_t index, std::vector<std::int64_t>& seen,
                     std::int64_t number, Findings& out, std::int64_t& most_pieces,
                     std::vector<std::int64_t>& most_use) {
  const Candidate& c = function.candidates[index];
  auto where = [&] { return fmt::format("function '{}', candidate {}", function.name, index); };
  if (c.use.size() != p.budgets.size()) {
    out.add("{}: use lists {} budgets; the problem has {}", where(), c.use.size(), p.budgets.size());
  } else {
    for (std::size_t b = 0; b < c.use.size(); ++b) {
      if (c.use[b] < 0) {
        out.add("{}: use of budget '{}' is {}; it must be 0 or more", where(), p.budgets[b].name, c.use[b]);
      } else {
        most_use[b] = std::max(most_use[b], c.use[b]);
      }
    }
  }
  std::int64_t pieces = 0;
  for (const Need& need : c.needs) {
    if (need.cls < 0 || need.cls >= static_cast<int>(p.classes.size())) {
      out.add("{}: a need names class {}; classes are 0 to {}", where(), need.cls,
              static_cast<int>(p.classes.size()) - 1);
    } else if (std::exchange(seen[need.cls], number) == number) {
      out.add("{}: class '{}' is needed twice; join the counts", where(), p.classes[need.cls].name);
    }
    if (need.count <= 0) {
      out.add("{}: a need counts {} pieces; it must be 1 or more", where(), need.count);
    } else {
      pieces = add_capped(pieces, need.count);
    }
  }
  most_pieces = std::max(most_pieces, pieces);
  if (!strictly_ascending(c.cells)) out.add("{}: cells must ascend without repeats", where());
}

}  // namespace

std::vector<std::string> validate(const Problem& p) {
  Findings out;
  const int n_parts = static_cast<int>(p.parts.size()), n_classes = static_cast<int>(p.classes.size());
  for (const Part& part : p.parts) {
    if (part.stock < 0) out.add("part '{}': stock is {}; it must be 0 or more", part.name, part.stock);
  }
  for (const Class& cls : p.classes) {
    if (!strictly_ascending(cls.parts)) out.add("class '{}': parts must ascend without repeats", cls.name);
    for (int part : cls.parts) {
      if (part < 0 || part >= n_parts) {
        out.add("class '{}': names part {}; parts are 0 to {}", cls.name, part, n_parts - 1);
      }
    }
  }
  std::set<std::string> names;
  for (const Budget& budget : p.budgets) {
    if (budget.limit < 0) out.add("budget '{}': limit is {}; it must be 0 or more", budget.name, budget.limit);
    if (!names.insert(budget.name).second) out.add("budget '{}' is listed twice", budget.name);
  }
  Totals total;
  total.use.assign(p.budgets.size(), 0);
  std::vector<std::int64_t> seen(p.classes.size(), 0);
  std::int64_t number = 0;
  for (const Function& f : p.functions) {
    std::int64_t pieces = 0;
    std::vector<std::int64_t> use(p.budgets.size(), 0);
    for (std::size_t c = 0; c < f.candidates.size(); ++c) {
      check_candidate(p, f, c, seen, ++number, out, pieces, use);
    }
    if (f.locked < -1 || f.locked >= static_cast<int>(f.candidates.size())) {
      out.add("function '{}': locked to candidate {}; candidates are 0 to {}", f.name, f.locked,
              static_cast<int>(f.candidates.size()) - 1);
    }
    if (f.skip) {
      if (f.skip->penalty < 0) out.add("function '{}': penalty is {}; it must be 0 or more", f.name, f.skip->penalty);
      if (f.skip->weight < 0) out.add("function '{}': weight is {}; it must be 0 or more", f.name, f.skip->weight);
      total.penalty = add_capped(total.penalty, std::max<std::int64_t>(0, f.skip->penalty));
      total.weight = add_capped(total.weight, std::max<std::int64_t>(0, f.skip->weight));
    }
    total.pieces = add_capped(total.pieces, pieces);
    for (std::size_t b = 0; b < use.size(); ++b) total.use[b] = add_capped(total.use[b], use[b]);
  }
  for (const Reserve& r : p.reserves) {
    if (r.cls < 0 || r.cls >= n_classes) {
      out.add("reserve '{}': names class {}; classes are 0 to {}", r.reason, r.cls, n_classes - 1);
    }
    if (r.count < 0) out.add("reserve '{}': keeps {} pieces; it must be 0 or more", r.reason, r.count);
    total.pieces = add_capped(total.pieces, std::max(0, r.count));
  }
  if (total.pieces > kMaxPieces) {
    out.add("the functions and reserves together may ask for {} pieces; at most {} can be handled", total.pieces,
            kMaxPieces);
  }
  for (std::size_t b = 0; b < p.budgets.size(); ++b) {
    if (add_capped(total.use[b], total.penalty) > kMaxSum) {
      out.add("budget '{}': uses and penalties may add up to more than {}; use a coarser unit", p.budgets[b].name,
              kMaxSum);
    }
  }
  if (total.weight > kMaxSum) out.add("the weights of wished functions add up to more than {}", kMaxSum);
  return out.take();
}

std::vector<std::string> validate(const Problem& p, const Options& options) {
  Findings out;
  for (std::size_t i = 0; i < options.order.size(); ++i) {
    const Stage& s = options.order[i];
    if (s.kind == StageKind::least_budget) {
      const bool known =
          std::any_of(p.budgets.begin(), p.budgets.end(), [&](const Budget& b) { return b.name == s.budget; });
      if (!known) out.add("objective stage {}: there is no budget named '{}'", i + 1, s.budget);
    }
    if (std::find(options.order.begin(), options.order.begin() + static_cast<std::ptrdiff_t>(i), s) !=
        options.order.begin() + static_cast<std::ptrdiff_t>(i)) {
      out.add("objective stage {}: {} is listed twice", i + 1, to_text(s));
    }
  }
  if (!(options.time_limit_s >= 0)) out.add("time limit is {} s; it must be 0 or more", options.time_limit_s);
  if (options.node_limit < 0) out.add("node limit is {}; it must be 0 or more", options.node_limit);
  if (options.jobs < 1) out.add("jobs is {}; it must be 1 or more", options.jobs);
  if (options.max_listed_rows < 0) out.add("max_listed_rows is {}; it must be 0 or more", options.max_listed_rows);
  return out.take();
}

}  // namespace allocation
