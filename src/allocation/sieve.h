// Every choice of a small node, tried by bit sets: which candidates still fit beside those taken, and whether they can
// still be cheap enough. A step takes a hundredth of a priced node's time, so a node that is left small is settled
// here.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <utility>
#include <vector>

#include "allocation/node.h"

namespace allocation {

class Sieve {
 public:
  static constexpr int kMostCandidates = 64;  ///< per block: a bit each of one word

  /// What a choice may cost at most: above the cheapest of every block at the prices in use, and above the node's
  /// cost_base without prices. Both bound it, for prices charge a row's whole room, whether it is taken or not, and
  /// do so the worse the fewer blocks are left.
  struct Room {
    double priced = 0, plain = 0;
  };

  /// About how many choices keep within room.priced, rows left aside: by that it is told whether to try at all.
  /// `reduced[b][c]`: what candidate c costs above the cheapest of its block at the prices in use.
  static double choices(const Node& node, const std::vector<std::vector<double>>& reduced, double priced);

  /// A node after propagate(), of which every block has at most kMostCandidates; it must stay while this runs. Costs
  /// and reduced costs are whole numbers >= 0, below 2^53 together.
  void load(const Node& node, const std::vector<std::vector<double>>& reduced);
  /// After load(): only choices that hold a candidate of which is_new(b, c) is true.
  void demand(const std::function<bool(int, int)>& is_new);

  enum class End {
    complete,      ///< every choice was refuted or taken
    ended,         ///< `take` said so
    out_of_steps,  ///< not decided within `steps`
  };
  /// Calls take(at), the position of a candidate per block, for the choices within the rows and the room. It returns
  /// the room for further ones, nothing to end.
  using Take = std::function<std::optional<Room>(const std::vector<int>& at)>;
  End run(Room room, std::int64_t steps, const Take& take);

 private:
  static constexpr std::int32_t kMostDirect = 63;  ///< larger values are ranked

  struct Part {
    int row = 0;
    std::int32_t value = 0;  ///< > 0
  };
  /// Candidates by what they take of a row: `fits_` holds, for value after value, who takes no more.
  struct Row {
    int first = 0;                      ///< of its words in fits_
    int first_value = 0, n_values = 0;  ///< in values_, rising from 0; none where values are small
    std::int32_t largest = 0;
  };

  void list_rows(const Node& node);
  void list_parts(std::size_t slot);
  [[nodiscard]] int rank(const Row& row, std::int32_t value) const;
  bool descend(int level, double priced, double plain, bool met);
  void list_beside(std::size_t slot);
  void fit_beside(int level, std::size_t slot);
  [[nodiscard]] double cheapest_left(int level, bool met) const;
  [[nodiscard]] bool cheap_enough(int level, double priced, double plain, bool met);

  const Node* node_ = nullptr;
  int n_blocks_ = 0, n_rows_ = 0, words_ = 0;  ///< words: blocks, padded
  std::vector<Row> row_;
  std::vector<std::int32_t> values_, distinct_;
  std::vector<std::uint64_t> fits_;
  // Per slot, kMostCandidates of them per block, in the order of rising priced costs.
  std::vector<int> column_;  ///< position in the node's block
  std::vector<double> priced_, plain_;
  std::vector<std::int8_t> by_plain_;      ///< the block's, by rising plain costs
  std::vector<std::pair<int, int>> part_;  ///< its first and its last but one in parts_; listed when it is first taken
  std::vector<Part> parts_;
  std::vector<std::uint64_t> beside_;  ///< words_ per slot: who fits beside it when nothing else is taken; likewise
  std::vector<std::uint64_t> fresh_;   ///< per block: those demanded
  bool demanded_ = false;

  std::vector<std::uint64_t> alive_;  ///< words_ per level
  std::vector<std::int32_t> left_;    ///< n_rows_ per level
  std::vector<int> masks_;            ///< scratch
  std::vector<int> block_;            ///< the first `level` of them are decided
  std::vector<int> at_;
  Room room_;
  std::int64_t steps_ = 0;
  End end_ = End::complete;
  const Take* take_ = nullptr;
};

}  // namespace allocation
