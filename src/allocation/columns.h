// Row values of a function's candidates: row after row, candidates side by side as columns, so that one row is read for
// many candidates at a time; in chunks, so that candidates can be added without moving others.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "allocation/kernels.h"

namespace allocation {

class Columns {
 public:
  /// 2^chunk_bits columns per chunk, a multiple of kernel::kLane.
  explicit Columns(int rows = 0, int chunk_bits = 3) : rows_(rows), bits_(chunk_bits), chunk_(1 << chunk_bits) {}

  [[nodiscard]] int size() const { return size_; }
  [[nodiscard]] int rows() const { return rows_; }
  /// Columns of all chunks, those not in use included: the length of a mask.
  [[nodiscard]] int room() const { return static_cast<int>(values_.size()) * chunk_; }

  void clear() {
    values_.clear();
    low_.clear();
    high_.clear();
    size_ = 0;
  }
  /// A column of zeros; returns its number.
  int add();
  /// A row of zeros; returns its number.
  int add_row();

  [[nodiscard]] std::int32_t& at(int row, int column) {
    return values_[column >> bits_][(static_cast<std::size_t>(row) << bits_) + (column & (chunk_ - 1))];
  }
  [[nodiscard]] std::int32_t at(int row, int column) const {
    return values_[column >> bits_][(static_cast<std::size_t>(row) << bits_) + (column & (chunk_ - 1))];
  }

  /// A column's values; row r stands at r * row_step().
  [[nodiscard]] const std::int32_t* column(int c) const { return values_[c >> bits_].data() + (c & (chunk_ - 1)); }
  [[nodiscard]] std::ptrdiff_t row_step() const { return chunk_; }

  /// Columns first to first + n - 1 from rows of `stride` values.
  void put(int first, int n, const std::vector<std::int32_t>& from, int stride);

  /// Smallest and largest value of the rows listed, over the `left` columns whose mask is 0 (others: INT32_MAX), left
  /// >=
  /// 1. Other rows' entries stay as they are.
  void ranges(const std::vector<int>& rows, const std::vector<std::int32_t>& gone, int left,
              std::vector<std::int32_t>& low, std::vector<std::int32_t>& high) const;
  /// The same over the first n columns; `rows` are all of them in order. What whole chunks hold is kept, so that asking
  /// again for more or fewer columns costs little.
  void ranges_of_first(int n, const std::vector<int>& rows, std::vector<std::int32_t>& low,
                       std::vector<std::int32_t>& high);
  /// Masks the columns that exceed `most` in the row.
  void mask_above(int row, std::int32_t most, std::vector<std::int32_t>& gone) const;
  /// sum[c] += sum over i of weight[i] * value(row[i], c). Exact while sums stay below 2^53 and weights are whole.
  void add_weighted(const std::vector<int>& row, const std::vector<double>& weight, std::vector<double>& sum) const;

 private:
  int rows_ = 0, bits_ = 0, chunk_ = 0, size_ = 0;
  std::vector<std::vector<std::int32_t>> values_;
  std::vector<std::int32_t> low_, high_;  ///< row after row: ranges over the first 1, 2, ... whole chunks
};

}  // namespace allocation
