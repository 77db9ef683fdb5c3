#include "allocation/load.h"

#include "allocation/kernels.h"

namespace allocation {

void Load::begin(const Node& node) {
  n_rows_ = static_cast<std::size_t>(node.n_rows());
  sum_.assign(n_rows_, 0);
  at_.assign(node.n_blocks, -1);
  taken_.assign(node.n_blocks, 0);
  values_.assign(n_rows_, 0);
  first_.clear();
  int candidates = 0;
  for (int b = 0; b < node.n_blocks; ++b) {
    first_.push_back(candidates);
    candidates += node.blocks[b].n;
  }
  place_.assign(candidates, -1);
}

bool Load::take(const Node& node, int b, int c) {
  if (at_[b] == c) return false;
  at_[b] = c;
  std::ptrdiff_t& place = place_[first_[b] + c];
  if (place < 0) {
    place = static_cast<std::ptrdiff_t>(values_.size());
    values_.resize(values_.size() + n_rows_);
    const Block& block = node.blocks[b];
    const std::int32_t* from = block.d.data() + c;
    std::int32_t* to = values_.data() + place;
    for (std::size_t r = 0; r < n_rows_; ++r) to[r] = from[r * static_cast<std::size_t>(block.stride)];
  }
  kernel::move_load(sum_.data(), values_.data() + place, values_.data() + taken_[b], static_cast<int>(n_rows_));
  taken_[b] = place;
  return true;
}

}  // namespace allocation
