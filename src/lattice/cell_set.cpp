#include "lattice/cell_set.h"

#include <algorithm>
#include <bit>

#include "base/check.h"

namespace lattice {

CellSet::CellSet(const Box3& bounds)
    : low_(bounds.low),
      nx_(std::max(0, bounds.high.x_hp - bounds.low.x_hp)),
      ny_(std::max(0, bounds.high.y_hp - bounds.low.y_hp)),
      nz_(std::max(0, bounds.high.z_hp - bounds.low.z_hp)),
      words_((static_cast<std::size_t>(nz_) + 63) / 64),
      bits_(static_cast<std::size_t>(nx_) * static_cast<std::size_t>(ny_) * words_, 0) {}

void CellSet::add(int x_hp, int y_hp, int from_hp, int past_hp) {
  const int x = x_hp - low_.x_hp, y = y_hp - low_.y_hp;
  if (from_hp >= past_hp) return;
  const int from = from_hp - low_.z_hp, past = past_hp - low_.z_hp;
  KW_CHECK(x >= 0 && x < nx_ && y >= 0 && y < ny_ && from >= 0 && past <= nz_, "a cell beyond the bounds");
  std::uint64_t* const column =
      bits_.data() +
      (static_cast<std::size_t>(x) * static_cast<std::size_t>(ny_) + static_cast<std::size_t>(y)) * words_;
  const int first = from / 64, last = (past - 1) / 64;
  for (int w = first; w <= last; ++w) {
    std::uint64_t ticked = ~std::uint64_t{0};
    if (w == first) ticked &= ~std::uint64_t{0} << (from % 64);
    if (w == last) ticked &= ~std::uint64_t{0} >> (63 - (past - 1) % 64);
    column[w] |= ticked;
  }
}

std::vector<Point3> CellSet::cells() const {
  std::size_t count = 0;
  for (const std::uint64_t w : bits_) count += static_cast<std::size_t>(std::popcount(w));
  std::vector<Point3> out(count);
  Point3* next = out.data();
  std::size_t at = 0;
  for (int x = 0; x < nx_; ++x) {
    for (int y = 0; y < ny_; ++y) {
      for (std::size_t w = 0; w < words_; ++w) {
        // Solids fill a column in a few long runs.
        for (std::uint64_t bits = bits_[at++]; bits != 0;) {
          const int first = std::countr_zero(bits), run = std::countr_one(bits >> first);
          const int z_hp = low_.z_hp + static_cast<int>(64 * w) + first;
          for (int i = 0; i < run; ++i) next[i] = {low_.x_hp + x, low_.y_hp + y, z_hp + i};
          next += run;
          bits &= run + first < 64 ? ~std::uint64_t{0} << (first + run) : std::uint64_t{0};
        }
      }
    }
  }
  return out;
}

}  // namespace lattice
