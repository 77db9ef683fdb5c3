#include "design/places.h"

#include <fmt/format.h>

#include <algorithm>
#include <cstdint>
#include <map>
#include <utility>

#include "lattice/space.h"

namespace design {
namespace {

/// A candidate by a running number over all functions.
struct User {
  int number = 0;
  int function = 0;
};

/// A cell with the candidates that fill it; of cells with the same users the first.
struct Spot {
  int body = 0;
  lattice::Point3 cell;
  std::vector<User> users;  ///< ascending, of at least two functions
};

/// The cells of one body in a dense box.
class Grid {
 public:
  void widen(const lattice::Point3& p) {
    if (empty_) low_ = high_ = p;
    empty_ = false;
    low_ = {std::min(low_.x_hp, p.x_hp), std::min(low_.y_hp, p.y_hp), std::min(low_.z_hp, p.z_hp)};
    high_ = {std::max(high_.x_hp, p.x_hp), std::max(high_.y_hp, p.y_hp), std::max(high_.z_hp, p.z_hp)};
  }
  void open() {
    if (!empty_)
      last_.assign(static_cast<std::size_t>(size(lattice::Axis::x)) * size(lattice::Axis::y) * size(lattice::Axis::z),
                   -1);
    shared_.assign(last_.size(), 0);
  }
  [[nodiscard]] std::size_t index(const lattice::Point3& p) const {
    return (static_cast<std::size_t>(p.x_hp - low_.x_hp) * size(lattice::Axis::y) +
            static_cast<std::size_t>(p.y_hp - low_.y_hp)) *
               size(lattice::Axis::z) +
           static_cast<std::size_t>(p.z_hp - low_.z_hp);
  }
  /// Cells of one function alone cannot clash; marks the others.
  void visit(const lattice::Point3& p, int function) {
    int& last = last_[index(p)];
    if (last >= 0 && last != function) shared_[index(p)] = 1;
    last = function;
  }
  void number_spots() {
    users_.resize(static_cast<std::size_t>(std::count(shared_.begin(), shared_.end(), 1)));
    std::size_t next = 0;
    at_.assign(shared_.size(), 0);
    for (std::size_t i = 0; i < shared_.size(); ++i) {
      if (shared_[i] != 0) at_[i] = static_cast<std::uint32_t>(next++);
    }
  }
  void add(const lattice::Point3& p, const User& user) {
    const std::size_t i = index(p);
    if (shared_[i] != 0) users_[at_[i]].push_back(user);
  }
  /// Calls use(cell, users) for every shared cell, in order.
  template <class Use>
  void each(Use use) {
    for (std::size_t i = 0; i < shared_.size(); ++i) {
      if (shared_[i] == 0) continue;
      const std::size_t z = i % size(lattice::Axis::z), rest = i / size(lattice::Axis::z);
      const std::size_t y = rest % size(lattice::Axis::y), x = rest / size(lattice::Axis::y);
      use(lattice::Point3{low_.x_hp + static_cast<int>(x), low_.y_hp + static_cast<int>(y),
                          low_.z_hp + static_cast<int>(z)},
          std::move(users_[at_[i]]));
    }
  }

 private:
  [[nodiscard]] std::size_t size(lattice::Axis a) const {
    return static_cast<std::size_t>(high_.at(a) - low_.at(a) + 1);
  }
  bool empty_ = true;
  lattice::Point3 low_, high_;
  std::vector<int> last_;  ///< function that filled it last
  std::vector<char> shared_;
  std::vector<std::uint32_t> at_;
  std::vector<std::vector<User>> users_;
};

/// Calls use(grid of the body, cell, candidate) for every cell of every candidate.
template <class Use>
void each_cell(const std::vector<FunctionResult>& functions, std::map<int, Grid>& grids,
               const base::RunControl& control, Use use) {
  int number = 0;
  for (std::size_t f = 0; f < functions.size(); ++f) {
    for (const candidate::Candidate& c : functions[f].proposal.candidates) {
      control.check();
      for (const candidate::BodyCells& b : c.cells) {
        Grid& grid = grids[b.body];
        for (const lattice::Point3& p : b.cells) use(grid, p, User{number, static_cast<int>(f)});
      }
      ++number;
    }
  }
}

std::vector<Spot> spots_of(const std::vector<FunctionResult>& functions, const base::RunControl& control) {
  std::map<int, Grid> grids;  // by body
  each_cell(functions, grids, control, [](Grid& grid, const lattice::Point3& p, const User&) { grid.widen(p); });
  for (auto& [body, grid] : grids) grid.open();
  each_cell(functions, grids, control,
            [](Grid& grid, const lattice::Point3& p, const User& u) { grid.visit(p, u.function); });
  for (auto& [body, grid] : grids) grid.number_spots();
  each_cell(functions, grids, control, [](Grid& grid, const lattice::Point3& p, const User& u) { grid.add(p, u); });
  std::map<std::vector<int>, std::size_t> known;  // by users
  std::vector<Spot> out;
  for (auto& [body, grid] : grids) {
    grid.each([&, at = body](const lattice::Point3& cell, std::vector<User> users) {
      control.check();
      std::vector<int> numbers;
      for (const User& u : users) numbers.push_back(u.number);
      if (known.try_emplace(std::move(numbers), out.size()).second) out.push_back({at, cell, std::move(users)});
    });
  }
  return out;
}

/// How many bits are set, by adding neighbours (Knuth, TAOCP 4A, 7.1.3); without the processor's own instruction, which
/// the builds do not ask for, the library's count is a call.
[[nodiscard]] constexpr int bits_of(std::uint64_t x) {
  if (x == 0) return 0;
  x -= x >> 1 & 0x5555555555555555ULL;
  x = (x & 0x3333333333333333ULL) + (x >> 2 & 0x3333333333333333ULL);
  x = (x + (x >> 4)) & 0x0f0f0f0f0f0f0f0fULL;
  return static_cast<int>(x * 0x0101010101010101ULL >> 56);
}

/// Pairs of candidates of different functions, one bit each: row of the first, bit of the later one.
class Pairs {
 public:
  explicit Pairs(std::size_t candidates)
      : words_((candidates + 63) / 64), seen_(candidates * words_, 0), mask_(words_, 0) {}
  /// Pairs of a spot before any was taken.
  [[nodiscard]] static std::int64_t all(const Spot& s) {
    std::int64_t before = 0, own = 0, count = 0;
    for (std::size_t i = 0; i < s.users.size(); ++i) {
      if (i > 0 && s.users[i].function != s.users[i - 1].function) {
        before += own;
        own = 0;
      }
      count += before;
      ++own;
    }
    return count;
  }
  [[nodiscard]] std::int64_t fresh(const Spot& s) {
    std::int64_t count = 0;
    rows(s, [&](std::uint64_t& seen, std::uint64_t later) { count += bits_of(later & ~seen); });
    return count;
  }
  void take(const Spot& s) {
    rows(s, [](std::uint64_t& seen, std::uint64_t later) { seen |= later; });
  }

 private:
  /// Calls `use` with each word of each user's row and the users of later functions in it.
  template <class Use>
  void rows(const Spot& s, Use use) {
    for (std::size_t i = s.users.size(); i > 0;) {
      // The users of one function, then they count as later ones for those before.
      std::size_t first = i;
      while (first > 0 && s.users[first - 1].function == s.users[i - 1].function) --first;
      for (std::size_t k = first; k < i; ++k) {
        std::uint64_t* row = seen_.data() + static_cast<std::size_t>(s.users[k].number) * words_;
        for (std::size_t w = static_cast<std::size_t>(s.users[k].number) / 64; w < words_; ++w) use(row[w], mask_[w]);
      }
      for (std::size_t k = first; k < i; ++k) {
        const auto at = static_cast<std::size_t>(s.users[k].number);
        mask_[at / 64] |= std::uint64_t{1} << (at % 64);
      }
      i = first;
    }
    std::fill(mask_.begin(), mask_.end(), 0);
  }
  std::size_t words_;
  std::vector<std::uint64_t> seen_, mask_;
};

/// Spots in the order they were taken: each time the one that tells most pairs apart that were not yet, ties to the
/// first. Counts only fall, so a spot whose old count is below the best new one need not be counted again.
std::vector<std::size_t> cover(const std::vector<Spot>& spots, std::size_t candidates,
                               const base::RunControl& control) {
  Pairs pairs(candidates);
  std::vector<std::pair<std::int64_t, std::size_t>> heap;  // greatest count, then lowest index on top
  const auto below = [](const auto& a, const auto& b) {
    return a.first != b.first ? a.first < b.first : a.second > b.second;
  };
  for (std::size_t i = 0; i < spots.size(); ++i) heap.emplace_back(Pairs::all(spots[i]), i);
  std::make_heap(heap.begin(), heap.end(), below);
  std::vector<std::size_t> taken;
  while (!heap.empty()) {
    control.check();
    std::pop_heap(heap.begin(), heap.end(), below);
    std::pair<std::int64_t, std::size_t> top = heap.back();
    heap.pop_back();
    const std::int64_t now = pairs.fresh(spots[top.second]);
    if (now == 0) continue;
    top.first = now;
    if (!heap.empty() && below(top, heap.front())) {
      heap.push_back(top);
      std::push_heap(heap.begin(), heap.end(), below);
      continue;
    }
    pairs.take(spots[top.second]);
    taken.push_back(top.second);
  }
  return taken;
}

}  // namespace

Places places_of(const brief::Brief& brief, const std::vector<FunctionResult>& functions,
                 const base::RunControl& control) {
  Places out;
  std::vector<std::vector<int>*> of_number;
  out.of.resize(functions.size());
  for (std::size_t f = 0; f < functions.size(); ++f) out.of[f].resize(functions[f].proposal.candidates.size());
  for (auto& function : out.of) {
    for (std::vector<int>& ids : function) of_number.push_back(&ids);
  }
  const std::vector<Spot> spots = spots_of(functions, control);
  for (const std::size_t at : cover(spots, of_number.size(), control)) {
    const Spot& s = spots[at];
    const int id = static_cast<int>(out.names.size());
    out.names.push_back(
        fmt::format("{} at {} p", brief.bodies.at(static_cast<std::size_t>(s.body)).id, lattice::pitches_text(s.cell)));
    for (const User& u : s.users) of_number[static_cast<std::size_t>(u.number)]->push_back(id);
  }
  return out;
}

}  // namespace design
