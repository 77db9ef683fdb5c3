// What a choice of candidates takes of a node's rows, kept up while one after the other is exchanged, as pricing does
// again and again. A node holds its values row after row; those of a candidate are gathered when it is first taken.
#pragma once

#include <cstdint>
#include <vector>

#include "allocation/node.h"

namespace allocation {

class Load {
 public:
  /// Nothing is taken. Blocks and rows of the node must stay while take() is called.
  void begin(const Node& node);
  /// Candidate c of block b instead of the one taken before. False = it was taken already.
  bool take(const Node& node, int b, int c);

  [[nodiscard]] const std::vector<int>& at() const { return at_; }  ///< per block: the candidate taken, or -1
  [[nodiscard]] std::int64_t of(int row) const { return sum_[row]; }

 private:
  std::size_t n_rows_ = 0;
  std::vector<std::int64_t> sum_;
  std::vector<int> at_;
  std::vector<int> first_;             ///< block -> its first candidate in place_
  std::vector<std::ptrdiff_t> place_;  ///< candidate -> its values in values_, or -1
  std::vector<std::ptrdiff_t> taken_;  ///< block -> those of the candidate taken
  std::vector<std::int32_t> values_;   ///< zeros first: of what is not taken
};

}  // namespace allocation
