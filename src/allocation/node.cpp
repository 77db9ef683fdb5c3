#include "allocation/node.h"

#include <algorithm>

namespace allocation {
namespace {

int padded(int n) {
  return (n + kernel::kLane - 1) / kernel::kLane * kernel::kLane;
}

/// Packs the columns listed in `kept` (ascending) to the front; the stride shrinks with them.
void pack_columns(Block& b, int n_rows, const std::vector<int>& kept) {
  const int n = static_cast<int>(kept.size()), stride = padded(n);
  for (int r = 0; r < n_rows; ++r) {
    const std::int32_t* from = b.d.data() + static_cast<std::size_t>(r) * b.stride;
    std::int32_t* to = b.d.data() + static_cast<std::size_t>(r) * stride;
    for (int c = 0; c < n; ++c) to[c] = from[kept[c]];
    for (int c = n; c < stride; ++c) to[c] = to[0];
  }
  for (int c = 0; c < n; ++c) {
    b.candidate[c] = b.candidate[kept[c]];
    b.cost[c] = b.cost[kept[c]];
  }
  for (int c = n; c < stride; ++c) b.cost[c] = b.cost[0];
  b.settled = false;
  b.candidate.resize(n);
  b.cost.resize(stride);
  b.n = n;
  b.stride = stride;
}

/// Makes the block relative again. False when a row is now violated.
bool settle(Node& a, Block& b, std::vector<std::int32_t>& low) {
  const int rows = a.n_rows();
  low.resize(rows);
  b.high.resize(rows);
  kernel::row_ranges(b.d.data(), b.stride, rows, low.data(), b.high.data());
  for (int r = 0; r < rows; ++r) {
    if (low[r] == 0) continue;
    a.cap[r] -= low[r];
    if (a.cap[r] < 0) return false;
    b.high[r] -= low[r];
    kernel::lower(b.row(r), b.stride, low[r]);
  }
  const double least = *std::min_element(b.cost.begin(), b.cost.begin() + b.n);
  if (least != 0) {
    a.cost_base += least;
    for (double& cost : b.cost) cost -= least;
  }
  b.settled = true;
  return true;
}

/// Candidates of the block that exceed a row or the cost limit. Returns how many.
int mark_dead(const Node& a, const Block& b, double cost_limit, std::vector<std::int32_t>& dead) {
  dead.assign(b.stride, 0);
  for (int r = 0; r < a.n_rows(); ++r) {
    if (b.high[r] > a.cap[r]) kernel::mark_above(dead.data(), b.row(r), b.stride, a.cap[r]);
  }
  const double room = cost_limit - a.cost_base;
  int n = 0;
  for (int c = 0; c < b.n; ++c) {
    if (b.cost[c] > room) dead[c] = 1;
    n += dead[c];
  }
  return n;
}

void drop_block(Node& a, int b) {
  std::rotate(a.blocks.begin() + b, a.blocks.begin() + b + 1, a.blocks.begin() + a.n_blocks);
  --a.n_blocks;
}

void drop_slack_rows(Node& a) {
  std::vector<char> slack(a.n_rows());
  for (int r = 0; r < a.n_rows(); ++r) {
    std::int64_t most = 0;
    for (int b = 0; b < a.n_blocks; ++b) most += a.blocks[b].high[r];
    slack[r] = most <= a.cap[r] ? 1 : 0;
  }
  drop_rows(a, slack);
}

void copy_frame(const Node& source, Node& target) {
  target.row_id = source.row_id;
  target.cap = source.cap;
  target.price = source.price;
  target.choice = source.choice;
  target.cost_base = source.cost_base;
  target.newcomer = source.newcomer;
  target.margin_above = source.margin_above;
  target.n_blocks = source.n_blocks;
  if (static_cast<int>(target.blocks.size()) < source.n_blocks) target.blocks.resize(source.n_blocks);
}

void copy_block(const Block& from, int n_rows, Block& to) {
  to.function = from.function;
  to.n = from.n;
  to.stride = from.stride;
  to.candidate = from.candidate;
  to.cost = from.cost;
  to.settled = from.settled;
  to.high.assign(from.high.begin(), from.high.begin() + (from.settled ? n_rows : 0));
  to.d.assign(from.d.begin(), from.d.begin() + static_cast<std::ptrdiff_t>(n_rows) * from.stride);
}

}  // namespace

void keep_only(Node& node, int b, const std::vector<std::int32_t>& dead) {
  Block& block = node.blocks[b];
  std::vector<int> kept;
  for (int c = 0; c < block.n; ++c) {
    if (dead[c] == 0) kept.push_back(c);
  }
  if (static_cast<int>(kept.size()) == block.n) return;
  if (kept.empty()) {
    block.n = 0;
    block.settled = false;
    return;
  }
  pack_columns(block, node.n_rows(), kept);
}

void drop_rows(Node& a, const std::vector<char>& gone) {
  int kept = 0;
  for (int r = 0; r < a.n_rows(); ++r) {
    if (gone[r] != 0) continue;
    if (kept != r) {
      a.row_id[kept] = a.row_id[r];
      a.cap[kept] = a.cap[r];
      a.price[kept] = a.price[r];
      for (int b = 0; b < a.n_blocks; ++b) {
        Block& block = a.blocks[b];
        std::copy_n(block.row(r), block.stride, block.row(kept));
        if (block.settled) block.high[kept] = block.high[r];
      }
    }
    ++kept;
  }
  a.row_id.resize(kept);
  a.cap.resize(kept);
  a.price.resize(kept);
}

bool propagate(Node& a, double cost_limit) {
  std::vector<std::int32_t> low, dead;
  for (bool changed = true; changed;) {
    changed = false;
    for (int b = 0; b < a.n_blocks; ++b) {
      if (a.blocks[b].settled) continue;
      if (a.blocks[b].n == 0 || !settle(a, a.blocks[b], low)) return false;
    }
    if (a.cost_base > cost_limit) return false;
    for (int b = 0; b < a.n_blocks; ++b) {
      if (mark_dead(a, a.blocks[b], cost_limit, dead) == 0) continue;
      keep_only(a, b, dead);
      changed = true;
    }
  }
  for (int b = a.n_blocks - 1; b >= 0; --b) {
    if (a.blocks[b].n > 1) continue;
    a.choice[a.blocks[b].function] = a.blocks[b].candidate[0];
    drop_block(a, b);
  }
  drop_slack_rows(a);
  return true;
}

void copy_node(const Node& source, Node& target) {
  copy_frame(source, target);
  for (int i = 0; i < source.n_blocks; ++i) copy_block(source.blocks[i], source.n_rows(), target.blocks[i]);
}

void copy_with_candidate(const Node& source, int b, int c, Node& target) {
  copy_frame(source, target);
  for (int i = 0; i < source.n_blocks; ++i) {
    const Block& from = source.blocks[i];
    Block& to = target.blocks[i];
    if (i != b) {
      copy_block(from, source.n_rows(), to);
      continue;
    }
    to.function = from.function;
    to.settled = false;
    to.n = 1;
    to.stride = kernel::kLane;
    to.candidate.assign(1, from.candidate[c]);
    to.cost.assign(kernel::kLane, from.cost[c]);
    to.d.resize(static_cast<std::size_t>(source.n_rows()) * kernel::kLane);
    for (int r = 0; r < source.n_rows(); ++r) std::fill_n(to.row(r), kernel::kLane, from.row(r)[c]);
  }
}

void copy_with_subset(const Node& source, int b, const std::vector<char>& keep, Node& target) {
  copy_node(source, target);
  std::vector<std::int32_t> dead(keep.size());
  for (std::size_t c = 0; c < keep.size(); ++c) dead[c] = keep[c] == 0 ? 1 : 0;
  keep_only(target, b, dead);
}

}  // namespace allocation
