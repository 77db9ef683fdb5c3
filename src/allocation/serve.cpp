#include "allocation/serve.h"

#include <algorithm>
#include <numeric>

#include "base/check.h"

namespace allocation {
namespace {

class MaxFlow {
 public:
  explicit MaxFlow(int nodes) : head_(static_cast<std::size_t>(nodes)) {}

  int add_arc(int from, int to, std::int64_t capacity) {
    head_[from].push_back(static_cast<int>(arcs_.size()));
    arcs_.push_back({to, capacity});
    head_[to].push_back(static_cast<int>(arcs_.size()));
    arcs_.push_back({from, 0});
    return static_cast<int>(arcs_.size()) - 2;
  }

  std::int64_t run(int source, int sink) {
    std::int64_t total = 0;
    while (level(source, sink)) {
      next_.assign(head_.size(), 0);
      while (std::int64_t pushed = push(source, sink, INT64_MAX)) total += pushed;
    }
    return total;
  }

  [[nodiscard]] std::int64_t flow(int arc) const { return arcs_[arc ^ 1].left; }
  /// After run(): on the source side of the minimum cut.
  [[nodiscard]] bool reached(int node) const { return level_[node] >= 0; }

 private:
  struct Arc {
    int to;
    std::int64_t left;
  };

  bool level(int source, int sink) {
    level_.assign(head_.size(), -1);
    level_[source] = 0;
    std::vector<int> queue{source};
    for (std::size_t i = 0; i < queue.size(); ++i) {
      for (int a : head_[queue[i]]) {
        if (arcs_[a].left > 0 && level_[arcs_[a].to] < 0) {
          level_[arcs_[a].to] = level_[queue[i]] + 1;
          queue.push_back(arcs_[a].to);
        }
      }
    }
    return level_[sink] >= 0;
  }

  std::int64_t push(int node, int sink, std::int64_t amount) {
    if (node == sink) return amount;
    for (std::size_t& i = next_[node]; i < head_[node].size(); ++i) {
      Arc& arc = arcs_[head_[node][i]];
      if (arc.left <= 0 || level_[arc.to] != level_[node] + 1) continue;
      if (std::int64_t got = push(arc.to, sink, std::min(amount, arc.left))) {
        arc.left -= got;
        arcs_[head_[node][i] ^ 1].left += got;
        return got;
      }
    }
    return 0;
  }

  std::vector<std::vector<int>> head_;
  std::vector<Arc> arcs_;
  std::vector<int> level_;
  std::vector<std::size_t> next_;
};

/// Groups the cut's classes by shared types; each group is a violated union of its own or adds nothing.
std::vector<std::vector<int>> split_cut(const HallSystem& s, const std::vector<std::int64_t>& needed,
                                        const std::vector<int>& classes) {
  std::vector<int> owner(s.types.size(), -1);
  std::vector<int> group(classes.size());
  std::iota(group.begin(), group.end(), 0);
  auto root = [&](int v) {
    while (group[v] != v) v = group[v];
    return v;
  };
  for (std::size_t i = 0; i < classes.size(); ++i) {
    for (int t : s.class_types[classes[i]]) {
      if (owner[t] < 0) {
        owner[t] = static_cast<int>(i);
      } else {
        group[root(static_cast<int>(i))] = root(owner[t]);
      }
    }
  }
  std::vector<std::vector<int>> types(classes.size());
  std::vector<std::int64_t> excess(classes.size(), 0);
  for (std::size_t i = 0; i < classes.size(); ++i) excess[root(static_cast<int>(i))] += needed[classes[i]];
  for (std::size_t t = 0; t < owner.size(); ++t) {
    if (owner[t] < 0) continue;
    const int g = root(owner[t]);
    types[g].push_back(static_cast<int>(t));
    excess[g] -= s.type_stock[t];
  }
  std::vector<std::vector<int>> out;
  for (std::size_t g = 0; g < types.size(); ++g) {
    if (excess[g] > 0) out.push_back(types[g]);
  }
  return out;
}

}  // namespace

std::vector<std::int64_t> needs_of_choice(const Problem& p, const HallSystem& s, const std::vector<int>& choice) {
  std::vector<std::int64_t> needed = s.reserved;
  for (std::size_t f = 0; f < choice.size(); ++f) {
    if (choice[f] == kSkipped) continue;
    for (const Need& need : p.functions[f].candidates[choice[f]].needs) needed[need.cls] += need.count;
  }
  return needed;
}

FlowResult serve_needs(const HallSystem& s, const std::vector<std::int64_t>& needed) {
  const int n_classes = static_cast<int>(s.class_types.size()), n_types = static_cast<int>(s.types.size());
  const int source = n_classes + n_types, sink = source + 1;
  MaxFlow graph(sink + 1);
  std::vector<std::vector<int>> arcs(s.class_types.size());
  std::int64_t wanted = 0;
  for (int k = 0; k < n_classes; ++k) {
    if (needed[k] == 0) continue;
    wanted += needed[k];
    graph.add_arc(source, k, needed[k]);
    for (int t : s.class_types[k]) arcs[k].push_back(graph.add_arc(k, n_classes + t, needed[k]));
  }
  for (int t = 0; t < n_types; ++t) graph.add_arc(n_classes + t, sink, s.type_stock[t]);

  FlowResult out;
  out.missing = wanted - graph.run(source, sink);
  out.served = out.missing == 0;
  if (out.served) {
    out.by_class.resize(s.class_types.size());
    for (int k = 0; k < n_classes; ++k) {
      for (std::size_t i = 0; i < arcs[k].size(); ++i) {
        if (std::int64_t n = graph.flow(arcs[k][i])) out.by_class[k].emplace_back(s.class_types[k][i], n);
      }
    }
  } else {
    std::vector<int> cut;
    for (int k = 0; k < n_classes; ++k) {
      if (needed[k] > 0 && graph.reached(k)) cut.push_back(k);
    }
    out.violated = split_cut(s, needed, cut);
  }
  return out;
}

void assign_parts(const Problem& p, const HallSystem& s, const FlowResult& flow, Solution& out) {
  KW_CHECK(flow.served, "parts can only be assigned when every need is served");
  std::vector<int> left(p.parts.size());
  for (std::size_t i = 0; i < left.size(); ++i) left[i] = p.parts[i].stock;
  auto by_class = flow.by_class;
  auto serve = [&](int owner, int cls, std::int64_t count) {
    Served served{owner, cls, {}};
    for (auto& [type, pieces] : by_class[cls]) {
      for (int part : s.types[type]) {
        const auto n = static_cast<int>(std::min<std::int64_t>({count, pieces, left[part]}));
        if (n == 0) continue;
        served.takes.push_back({part, n});
        left[part] -= n;
        pieces -= n;
        count -= n;
      }
    }
    KW_CHECK(count == 0, "the flow does not cover a need");
    std::sort(served.takes.begin(), served.takes.end(), [](const Take& a, const Take& b) { return a.part < b.part; });
    return served;
  };
  out.parts.clear();
  out.reserves.clear();
  for (std::size_t r = 0; r < p.reserves.size(); ++r) {
    out.reserves.push_back(serve(static_cast<int>(r), p.reserves[r].cls, p.reserves[r].count));
  }
  for (std::size_t f = 0; f < out.choice.size(); ++f) {
    if (out.choice[f] == kSkipped) continue;
    for (const Need& need : p.functions[f].candidates[out.choice[f]].needs) {
      out.parts.push_back(serve(static_cast<int>(f), need.cls, need.count));
    }
  }
}

}  // namespace allocation
