#include "allocation/columns.h"

#include <algorithm>

namespace allocation {
namespace {

/// One column in so many left, and they are read one by one.
constexpr int kFew = 8;

}  // namespace

int Columns::add() {
  if (size_ == room()) values_.emplace_back(static_cast<std::size_t>(rows_) * chunk_, 0);
  return size_++;
}

int Columns::add_row() {
  ++rows_;
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
      if (gone[c] == 0) column.push_back(values_[c >> bits_].data() + (c & (chunk_ - 1)));
    }
    for (const int r : rows) {
      const std::ptrdiff_t at = static_cast<std::ptrdiff_t>(r) << bits_;
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
  std::vector<std::int32_t> lanes_low(rows.size() * kernel::kLane, INT32_MAX), lanes_high(lanes_low.size(), 0);
  for (std::size_t k = 0; k < values_.size(); ++k) {
    const int used = std::min(chunk_, size_ - static_cast<int>(k) * chunk_);
    const int n = (used + kernel::kLane - 1) / kernel::kLane * kernel::kLane;
    kernel::masked_ranges(values_[k].data(), chunk_, n, rows.data(), static_cast<int>(rows.size()),
                          gone.data() + k * chunk_, lanes_low.data(), lanes_high.data());
  }
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const auto at = static_cast<std::ptrdiff_t>(i * kernel::kLane);
    low[rows[i]] = *std::min_element(lanes_low.begin() + at, lanes_low.begin() + at + kernel::kLane);
    high[rows[i]] = *std::max_element(lanes_high.begin() + at, lanes_high.begin() + at + kernel::kLane);
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
