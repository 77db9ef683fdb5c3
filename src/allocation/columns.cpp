#include "allocation/columns.h"

#include <algorithm>

namespace allocation {
namespace {

/// One column in so many left, and they are read one by one.
constexpr int kFew = 8;

/// Ranges of rows, each lane those of its own columns.
class Lanes {
 public:
  explicit Lanes(std::size_t rows) : low_(rows * kernel::kLane, INT32_MAX), high_(low_.size(), 0) {}

  /// By the first n columns of a chunk whose mask is 0.
  void widen(const std::int32_t* values, int chunk, int n, const std::vector<int>& rows, const std::int32_t* gone) {
    const int padded = (n + kernel::kLane - 1) / kernel::kLane * kernel::kLane;
    kernel::masked_ranges(values, chunk, padded, rows.data(), static_cast<int>(rows.size()), gone, low_.data(),
                          high_.data());
  }
  [[nodiscard]] std::int32_t least(std::size_t i) const {
    const auto at = low_.begin() + static_cast<std::ptrdiff_t>(i * kernel::kLane);
    return *std::min_element(at, at + kernel::kLane);
  }
  [[nodiscard]] std::int32_t most(std::size_t i) const {
    const auto at = high_.begin() + static_cast<std::ptrdiff_t>(i * kernel::kLane);
    return *std::max_element(at, at + kernel::kLane);
  }

 private:
  std::vector<std::int32_t> low_, high_;
};

}  // namespace

int Columns::add() {
  if (size_ == room()) values_.emplace_back(static_cast<std::size_t>(rows_) * chunk_, 0);
  return size_++;
}

int Columns::add_row() {
  ++rows_;
  low_.clear();
  high_.clear();
  for (std::vector<std::int32_t>& chunk : values_) chunk.resize(static_cast<std::size_t>(rows_) * chunk_, 0);
  return rows_ - 1;
}

void Columns::put(int first, int n, const std::vector<std::int32_t>& from, int stride) {
  for (int done = 0; done < n;) {  // chunk by chunk
    const int at = (first + done) % chunk_, here = std::min(n - done, chunk_ - at);
    std::int32_t* to = values_[(first + done) / chunk_].data() + at;
    for (int r = 0; r < rows_; ++r) {
      std::copy_n(from.begin() + static_cast<std::ptrdiff_t>(r) * stride + done, here, to);
      to += chunk_;
    }
    done += here;
  }
}

void Columns::ranges(const std::vector<int>& rows, const std::vector<std::int32_t>& gone, int left,
                     std::vector<std::int32_t>& low, std::vector<std::int32_t>& high) const {
  low.resize(rows_);
  high.resize(rows_);
  if (left < size_ / kFew) {
    std::vector<const std::int32_t*> column;
    for (int c = 0; c < size_; ++c) {
      if (gone[c] == 0) column.push_back(this->column(c));
    }
    for (const int r : rows) {
      const std::ptrdiff_t at = r * row_step();
      std::int32_t least = column[0][at], most = least;
      for (const std::int32_t* v : column) {
        least = std::min(least, v[at]);
        most = std::max(most, v[at]);
      }
      low[r] = least;
      high[r] = most;
    }
    return;
  }
  Lanes lanes(rows.size());
  for (std::size_t k = 0; k < values_.size(); ++k) {
    const int used = std::min(chunk_, size_ - static_cast<int>(k) * chunk_);
    lanes.widen(values_[k].data(), chunk_, used, rows, gone.data() + k * chunk_);
  }
  for (std::size_t i = 0; i < rows.size(); ++i) {
    low[rows[i]] = lanes.least(i);
    high[rows[i]] = lanes.most(i);
  }
}

void Columns::ranges_of_first(int n, const std::vector<int>& rows, std::vector<std::int32_t>& low,
                              std::vector<std::int32_t>& high) {
  const std::size_t whole = static_cast<std::size_t>(n) / chunk_, n_rows = rows.size();
  while (low_.size() < whole * n_rows) {
    const std::size_t at = low_.size();
    low_.resize(at + n_rows);
    high_.resize(at + n_rows);
    kernel::row_ranges(values_[at / n_rows].data(), chunk_, rows_, low_.data() + at, high_.data() + at);
    for (std::size_t i = at; i < at + n_rows && at > 0; ++i) {
      low_[i] = std::min(low_[i], low_[i - n_rows]);
      high_[i] = std::max(high_[i], high_[i - n_rows]);
    }
  }
  low.assign(n_rows, INT32_MAX);
  high.assign(n_rows, 0);
  if (whole > 0) {
    std::copy_n(low_.data() + (whole - 1) * n_rows, n_rows, low.data());
    std::copy_n(high_.data() + (whole - 1) * n_rows, n_rows, high.data());
  }
  const int more = n % chunk_;
  if (more == 0) return;
  std::vector<std::int32_t> gone(chunk_, INT32_MAX);
  std::fill_n(gone.begin(), more, 0);
  Lanes lanes(n_rows);
  lanes.widen(values_[whole].data(), chunk_, more, rows, gone.data());
  for (std::size_t i = 0; i < n_rows; ++i) {
    low[i] = std::min(low[i], lanes.least(i));
    high[i] = std::max(high[i], lanes.most(i));
  }
}

void Columns::mask_above(int row, std::int32_t most, std::vector<std::int32_t>& gone) const {
  for (std::size_t k = 0; k < values_.size(); ++k) {
    kernel::mask_above(gone.data() + k * chunk_, values_[k].data() + static_cast<std::size_t>(row) * chunk_, chunk_,
                       most);
  }
}

void Columns::add_weighted(const std::vector<int>& row, const std::vector<double>& weight,
                           std::vector<double>& sum) const {
  for (std::size_t k = 0; k < values_.size(); ++k) {
    kernel::add_weighted_exact(sum.data() + k * chunk_, values_[k].data(), chunk_, row.data(), weight.data(),
                               static_cast<int>(row.size()));
  }
}

}  // namespace allocation
