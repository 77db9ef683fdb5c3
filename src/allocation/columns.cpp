#include "allocation/columns.h"

#include <algorithm>

namespace allocation {

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

void Columns::ranges(const std::vector<std::int32_t>& gone, std::vector<std::int32_t>& low,
                     std::vector<std::int32_t>& high) const {
  std::vector<std::int32_t> lanes_low(static_cast<std::size_t>(rows_) * kernel::kLane, INT32_MAX);
  std::vector<std::int32_t> lanes_high(lanes_low.size(), 0);
  for (std::size_t k = 0; k < values_.size(); ++k) {
    const int used = std::min(chunk_, size_ - static_cast<int>(k) * chunk_);
    const int n = (used + kernel::kLane - 1) / kernel::kLane * kernel::kLane;
    kernel::masked_ranges(values_[k].data(), chunk_, n, rows_, gone.data() + k * chunk_, lanes_low.data(),
                          lanes_high.data());
  }
  low.resize(rows_);
  high.resize(rows_);
  for (int r = 0; r < rows_; ++r) {
    const auto at = static_cast<std::ptrdiff_t>(r) * kernel::kLane;
    low[r] = *std::min_element(lanes_low.begin() + at, lanes_low.begin() + at + kernel::kLane);
    high[r] = *std::max_element(lanes_high.begin() + at, lanes_high.begin() + at + kernel::kLane);
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
