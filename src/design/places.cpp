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

/// Sets of candidates, built by adding one candidate after another: each set is another one and the candidate added
/// last, so equal sets have one number. Set 0 is empty.
class Sets {
 public:
  /// The set `from` with a candidate that comes after all that were added so far, or is the newest of them.
  int with(int from, const User& user) {
    Set& s = sets_[static_cast<std::size_t>(from)];
    if (s.asked == user.number) return s.next;
    s.asked = user.number;
    s.next = static_cast<int>(sets_.size());
    const bool shared = s.shared || (from != 0 && s.last.function != user.function);
    const int made = s.next;
    sets_.push_back({from, user, shared});
    return made;
  }
  /// Of at least two functions: cells of one alone cannot clash.
  [[nodiscard]] bool shared(int set) const { return sets_[static_cast<std::size_t>(set)].shared; }
  /// Ascending.
  [[nodiscard]] std::vector<User> users(int set) const {
    std::vector<User> out;
    for (; set != 0; set = sets_[static_cast<std::size_t>(set)].without)
      out.push_back(sets_[static_cast<std::size_t>(set)].last);
    std::reverse(out.begin(), out.end());
    return out;
  }
  [[nodiscard]] std::size_t size() const { return sets_.size(); }

 private:
  struct Set {
    int without = 0;  ///< the same without `last`
    User last;
    bool shared = false;
    int asked = -1;  ///< the candidate last asked for, and the set with it
    int next = 0;
  };
  std::vector<Set> sets_ = std::vector<Set>(1);
};

/// The cells of one body in a dense box, each with the set of candidates that fill it.
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
      set_.assign(static_cast<std::size_t>(size(lattice::Axis::x)) * size(lattice::Axis::y) * size(lattice::Axis::z),
                  0);
  }
  void add(const lattice::Point3& p, const User& user, Sets& sets) {
    int& set = set_[index(p)];
    set = sets.with(set, user);
  }
  /// Calls use(cell, set) for every cell, in order.
  template <class Use>
  void each(Use use) const {
    for (std::size_t i = 0; i < set_.size(); ++i) {
      const std::size_t z = i % size(lattice::Axis::z), rest = i / size(lattice::Axis::z);
      const std::size_t y = rest % size(lattice::Axis::y), x = rest / size(lattice::Axis::y);
      use(lattice::Point3{low_.x_hp + static_cast<int>(x), low_.y_hp + static_cast<int>(y),
                          low_.z_hp + static_cast<int>(z)},
          set_[i]);
    }
  }

 private:
  [[nodiscard]] std::size_t size(lattice::Axis a) const {
    return static_cast<std::size_t>(high_.at(a) - low_.at(a) + 1);
  }
  [[nodiscard]] std::size_t index(const lattice::Point3& p) const {
    return (static_cast<std::size_t>(p.x_hp - low_.x_hp) * size(lattice::Axis::y) +
            static_cast<std::size_t>(p.y_hp - low_.y_hp)) *
               size(lattice::Axis::z) +
           static_cast<std::size_t>(p.z_hp - low_.z_hp);
  }
  bool empty_ = true;
  lattice::Point3 low_, high_;
  std::vector<int> set_;
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
  Sets sets;
  each_cell(functions, grids, control,
            [&](Grid& grid, const lattice::Point3& p, const User& u) { grid.add(p, u, sets); });
  std::vector<bool> known(sets.size(), false);
  std::vector<Spot> out;
  for (const auto& [body, grid] : grids) {
    control.check();
    grid.each([&, at = body](const lattice::Point3& cell, int set) {
      if (!sets.shared(set) || known[static_cast<std::size_t>(set)]) return;
      known[static_cast<std::size_t>(set)] = true;
      out.push_back({at, cell, sets.users(set)});
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
  explicit Pairs(std::size_t candidates) : words_((candidates + 63) / 64), seen_(candidates * words_, 0) {}
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
  /// A word of a row that has users, and these.
  struct Word {
    std::size_t at = 0;
    std::uint64_t bits = 0;
  };
  /// Calls `use` with the words of each user's row that hold users of later functions, and these users.
  template <class Use>
  void rows(const Spot& s, Use use) {
    // From the last function on; the users of one count as later ones for those before. Words come in falling order.
    later_.clear();
    for (std::size_t i = s.users.size(); i > 0;) {
      std::size_t first = i;
      while (first > 0 && s.users[first - 1].function == s.users[i - 1].function) --first;
      for (std::size_t k = later_.empty() ? i : first; k < i; ++k) {
        std::uint64_t* row = seen_.data() + static_cast<std::size_t>(s.users[k].number) * words_;
        for (const Word& w : later_) use(row[w.at], w.bits);
      }
      for (std::size_t k = i; k > first; --k) {
        const auto at = static_cast<std::size_t>(s.users[k - 1].number);
        if (later_.empty() || later_.back().at != at / 64) later_.push_back({at / 64, 0});
        later_.back().bits |= std::uint64_t{1} << (at % 64);
      }
      i = first;
    }
  }
  std::size_t words_;
  std::vector<std::uint64_t> seen_;
  std::vector<Word> later_;
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
