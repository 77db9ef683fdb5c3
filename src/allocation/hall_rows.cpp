#include "allocation/hall_rows.h"

#include <algorithm>
#include <map>
#include <numeric>
#include <set>

namespace allocation {
namespace {

using Types = std::vector<int>;

std::vector<char> used_classes(const Problem& p) {
  std::vector<char> used(p.classes.size(), 0);
  for (const Function& f : p.functions) {
    for (const Candidate& c : f.candidates) {
      for (const Need& need : c.needs) used[need.cls] = 1;
    }
  }
  for (const Reserve& r : p.reserves) {
    if (r.count > 0) used[r.cls] = 1;
  }
  return used;
}

/// Part types that the same classes accept are interchangeable: one merged type each.
void merge_types(const Problem& p, const std::vector<char>& used, HallSystem& out) {
  std::vector<std::vector<int>> member(p.parts.size());
  for (std::size_t k = 0; k < p.classes.size(); ++k) {
    if (!used[k]) continue;
    for (int part : p.classes[k].parts) member[part].push_back(static_cast<int>(k));
  }
  std::map<std::vector<int>, int> index;
  out.class_types.assign(p.classes.size(), {});
  for (std::size_t part = 0; part < p.parts.size(); ++part) {
    if (member[part].empty()) continue;
    auto [it, fresh] = index.try_emplace(member[part], static_cast<int>(out.types.size()));
    if (fresh) {
      out.types.emplace_back();
      out.type_stock.push_back(0);
      for (int k : member[part]) out.class_types[k].push_back(it->second);
    }
    out.types[it->second].push_back(static_cast<int>(part));
    out.type_stock[it->second] += p.parts[part].stock;
  }
}

std::vector<std::vector<int>> components(const HallSystem& s, const std::vector<char>& used) {
  std::vector<int> parent(s.types.size());
  std::iota(parent.begin(), parent.end(), 0);
  auto root = [&](int v) {
    while (parent[v] != v) v = parent[v] = parent[parent[v]];
    return v;
  };
  for (const Types& types : s.class_types) {
    for (int t : types) parent[std::max(root(t), root(types[0]))] = std::min(root(t), root(types[0]));
  }
  std::map<int, std::vector<int>> by_root;
  for (std::size_t k = 0; k < s.class_types.size(); ++k) {
    if (used[k] && !s.class_types[k].empty()) by_root[root(s.class_types[k][0])].push_back(static_cast<int>(k));
  }
  std::vector<std::vector<int>> out;
  for (auto& [r, classes] : by_root) out.push_back(std::move(classes));
  std::stable_sort(out.begin(), out.end(), [](const auto& a, const auto& b) { return a.size() < b.size(); });
  return out;
}

Types join(const Types& a, const Types& b) {
  Types out;
  std::set_union(a.begin(), a.end(), b.begin(), b.end(), std::back_inserter(out));
  return out;
}

bool overlap(const Types& a, const Types& b) {
  for (std::size_t i = 0, j = 0; i < a.size() && j < b.size();) {
    if (a[i] == b[j]) return true;
    a[i] < b[j] ? ++i : ++j;
  }
  return false;
}

/// All unions of overlapping sets of one component, breadth first, until `room` of them are known.
/// Returns false when it had to stop; the union of the whole component is then added in any case.
bool list_unions(const std::vector<Types>& sets, std::size_t room, std::vector<Types>& out) {
  std::set<Types> known;
  std::vector<Types> queue;
  for (const Types& s : sets) {
    if (known.insert(s).second) queue.push_back(s);
  }
  bool complete = true;
  for (std::size_t i = 0; i < queue.size() && complete; ++i) {
    for (const Types& s : sets) {
      if (!overlap(queue[i], s)) continue;
      Types grown = join(queue[i], s);
      if (grown.size() == queue[i].size() || known.contains(grown)) continue;
      if (queue.size() >= room) {
        complete = false;
        break;
      }
      known.insert(grown);
      queue.push_back(std::move(grown));
    }
  }
  if (!complete) {
    Types all;
    for (const Types& s : sets) all = join(all, s);
    if (known.insert(all).second) queue.push_back(std::move(all));
  }
  out.insert(out.end(), queue.begin(), queue.end());
  return complete;
}

}  // namespace

HallRow make_hall_row(const HallSystem& s, Types types) {
  HallRow row;
  for (int t : types) row.cap += s.type_stock[t];
  for (std::size_t k = 0; k < s.class_types.size(); ++k) {
    const Types& set = s.class_types[k];
    if (set.empty() || !std::includes(types.begin(), types.end(), set.begin(), set.end())) continue;
    row.classes.push_back(static_cast<int>(k));
    row.cap -= s.reserved[k];
  }
  row.types = std::move(types);
  return row;
}

HallSystem make_hall_system(const Problem& p, int max_rows) {
  HallSystem out;
  const std::vector<char> used = used_classes(p);
  merge_types(p, used, out);
  out.reserved.assign(p.classes.size(), 0);
  for (const Reserve& r : p.reserves) out.reserved[r.cls] += r.count;

  std::vector<Types> unions;
  for (const std::vector<int>& classes : components(out, used)) {
    std::vector<Types> sets;
    for (int k : classes) sets.push_back(out.class_types[k]);
    const std::size_t room =
        unions.size() < static_cast<std::size_t>(max_rows) ? static_cast<std::size_t>(max_rows) - unions.size() : 0;
    if (!list_unions(sets, room, unions)) out.complete = false;
  }
  out.rows.reserve(unions.size() + 1);
  for (Types& types : unions) out.rows.push_back(make_hall_row(out, std::move(types)));

  HallRow nothing;  // classes that accept no part at all
  for (std::size_t k = 0; k < p.classes.size(); ++k) {
    if (!used[k] || !out.class_types[k].empty()) continue;
    nothing.classes.push_back(static_cast<int>(k));
    nothing.cap -= out.reserved[k];
  }
  if (!nothing.classes.empty()) out.rows.push_back(std::move(nothing));
  return out;
}

}  // namespace allocation
