// One node of the search: what is left of each function's candidates, and of each row, after everything decided so far.
//
// All numbers are relative: in every block every row's smallest value and the smallest cost are 0; what was taken off
// is already paid from the row's capacity and added to cost_base. So a row is violated when its capacity is negative,
// a candidate is dead when its value exceeds the capacity, and a row cannot bind when the largest values fit.
#pragma once

#include <climits>
#include <cstdint>
#include <limits>
#include <vector>

#include "allocation/kernels.h"

namespace allocation {

inline constexpr int kUndecided = -2;

/// Candidates of one undecided function (at least two).
struct Block {
  int function = 0;
  int n = 0;
  int stride = 0;                  ///< n padded to kernel::kLane
  std::vector<int> candidate;      ///< n candidate indices, kSkipped for the skip
  std::vector<std::int32_t> d;     ///< rows x stride, padded with copies of column 0
  std::vector<double> cost;        ///< stride entries, whole numbers, padded likewise
  std::vector<std::int32_t> high;  ///< largest value per row; valid when settled
  bool settled = false;            ///< values are relative and high is up to date

  [[nodiscard]] const std::int32_t* row(int r) const { return d.data() + static_cast<std::size_t>(r) * stride; }
  [[nodiscard]] std::int32_t* row(int r) { return d.data() + static_cast<std::size_t>(r) * stride; }
};

struct Node {
  std::vector<Block> blocks;
  int n_blocks = 0;               ///< blocks in use; the vector keeps spare ones so that their memory is reused
  std::vector<int> row_id;        ///< active rows
  std::vector<std::int32_t> cap;  ///< per active row, >= 1 after propagate()
  std::vector<float> price;       ///< per active row and unit; warm start
  std::vector<int> choice;        ///< per function; kUndecided while a block remains
  double cost_base = 0;
  int margin_above = INT_MIN;  ///< no candidate left has this margin or less
  bool newcomer = false;       ///< whichever candidates are taken of what is left, one is a newcomer (see Newcomers)

  [[nodiscard]] int n_rows() const { return static_cast<int>(row_id.size()); }
};

inline constexpr double kNoLimit = std::numeric_limits<double>::infinity();

/// Removes candidates that cannot be part of any choice within the rows and within cost_limit (cost_base included),
/// until nothing changes; decides blocks with one candidate left and drops rows that cannot bind.
/// False = no choice exists below this node.
bool propagate(Node& node, double cost_limit);

/// Keeps the candidates of block b whose keep flag is set. Call propagate() afterwards.
void keep_only(Node& node, int b, const std::vector<std::int32_t>& dead);

/// Leaves out the rows whose flag is set.
void drop_rows(Node& node, const std::vector<char>& gone);

/// target = source, in the memory target has; only the values in use are copied.
void copy_node(const Node& source, Node& target);
/// The same with block b reduced to one candidate or to those with keep[c] != 0.
void copy_with_candidate(const Node& source, int b, int c, Node& target);
void copy_with_subset(const Node& source, int b, const std::vector<char>& keep, Node& target);

}  // namespace allocation
