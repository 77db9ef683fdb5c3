#include "lattice/cells.h"

#include <algorithm>
#include <bit>

#include "base/check.h"

namespace lattice {
namespace {

bool same_column(const Point3& a, const Point3& b) {
  return a.x_hp == b.x_hp && a.y_hp == b.y_hp;
}
int past(const Cells::Run& r) {
  return r.low.z_hp + r.length;
}

}  // namespace

Cells::Cells(std::vector<Run> runs) : runs_(std::move(runs)) {
  if (!std::is_sorted(runs_.begin(), runs_.end())) std::sort(runs_.begin(), runs_.end());
  std::size_t n = 0;
  for (const Run& r : runs_) {
    KW_CHECK(r.length > 0, "a run without a cell");
    if (n > 0 && same_column(runs_[n - 1].low, r.low) && r.low.z_hp <= past(runs_[n - 1])) {
      Run& last = runs_[n - 1];
      last.length = std::max(past(last), past(r)) - last.low.z_hp;
    } else {
      runs_[n++] = r;
    }
  }
  runs_.resize(n);
  for (const Run& r : runs_) size_ += static_cast<std::size_t>(r.length);
}

Cells::Cells(const std::vector<Point3>& cells)
    : Cells([&] {
        std::vector<Run> runs;
        for (const Point3& c : cells) runs.push_back({c, 1});
        return runs;
      }()) {}

bool Cells::has(Point3 c) const {
  // The last run that begins no later.
  const auto after =
      std::upper_bound(runs_.begin(), runs_.end(), c, [](const Point3& p, const Run& r) { return p < r.low; });
  if (after == runs_.begin()) return false;
  const Run& r = *std::prev(after);
  return same_column(r.low, c) && c.z_hp < past(r);
}

bool Cells::among(const Cells& other) const {
  if (size_ > other.size_) return false;
  auto at = other.runs_.begin();
  for (const Run& r : runs_) {
    // Runs are the longest there are, so one alone must hold this one.
    while (at != other.runs_.end() && (at->low < r.low && !(same_column(at->low, r.low) && past(*at) > r.low.z_hp)))
      ++at;
    if (at == other.runs_.end() || !same_column(at->low, r.low) || at->low.z_hp > r.low.z_hp || past(*at) < past(r))
      return false;
  }
  return true;
}

CellSet::CellSet(const Box3& bounds)
    : low_(bounds.low),
      nx_(std::max(0, bounds.high.x_hp - bounds.low.x_hp)),
      ny_(std::max(0, bounds.high.y_hp - bounds.low.y_hp)),
      nz_(std::max(0, bounds.high.z_hp - bounds.low.z_hp)),
      words_((static_cast<std::size_t>(nz_) + 63) / 64),
      bits_(static_cast<std::size_t>(nx_) * static_cast<std::size_t>(ny_) * words_, 0) {}

void CellSet::add(const Box3& box) {
  if (box.low.x_hp >= box.high.x_hp || box.low.y_hp >= box.high.y_hp || box.low.z_hp >= box.high.z_hp) return;
  const int x0 = box.low.x_hp - low_.x_hp, y0 = box.low.y_hp - low_.y_hp, from = box.low.z_hp - low_.z_hp;
  const int x1 = box.high.x_hp - low_.x_hp, y1 = box.high.y_hp - low_.y_hp, past = box.high.z_hp - low_.z_hp;
  KW_CHECK(x0 >= 0 && x1 <= nx_ && y0 >= 0 && y1 <= ny_ && from >= 0 && past <= nz_, "a cell beyond the bounds");
  const int first = from / 64, last = (past - 1) / 64;
  for (int w = first; w <= last; ++w) {
    std::uint64_t ticked = ~std::uint64_t{0};
    if (w == first) ticked &= ~std::uint64_t{0} << (from % 64);
    if (w == last) ticked &= ~std::uint64_t{0} >> (63 - (past - 1) % 64);
    for (int x = x0; x < x1; ++x) {
      std::uint64_t* word =
          bits_.data() +
          (static_cast<std::size_t>(x) * static_cast<std::size_t>(ny_) + static_cast<std::size_t>(y0)) * words_ +
          static_cast<std::size_t>(w);
      for (int y = y0; y < y1; ++y, word += words_) *word |= ticked;
    }
  }
}

Cells CellSet::cells() const {
  std::vector<Cells::Run> runs;
  // A column's runs end at its words' borders too; what touches is put together afterwards.
  std::size_t at = 0, count = 0;
  for (const std::uint64_t w : bits_) count += w != 0 ? 1 : 0;
  runs.reserve(count);
  for (int x = 0; x < nx_; ++x) {
    for (int y = 0; y < ny_; ++y) {
      for (std::size_t w = 0; w < words_; ++w) {
        for (std::uint64_t bits = bits_[at++]; bits != 0;) {
          const int first = std::countr_zero(bits), run = std::countr_one(bits >> first);
          runs.push_back({{low_.x_hp + x, low_.y_hp + y, low_.z_hp + static_cast<int>(64 * w) + first}, run});
          bits &= run + first < 64 ? ~std::uint64_t{0} << (first + run) : std::uint64_t{0};
        }
      }
    }
  }
  return Cells(std::move(runs));
}

}  // namespace lattice
