#include "design/places.h"

#include <fmt/format.h>

#include <algorithm>
#include <bit>
#include <cstdint>
#include <map>
#include <memory>
#include <unordered_map>
#include <utility>
#include <vector>

#include "base/parallel.h"
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
/// last, so equal sets have one number. Set 0 is empty. There are hundreds of thousands, so they are kept small and
/// never moved.
class Sets {
 public:
  /// Users by number, all that will ever be added.
  explicit Sets(const std::vector<User>& users) : users_(users) { add({}); }

  /// The set `from` with a candidate that comes after all that were added so far, or is the newest of them.
  int with(int from, int user) {
    Set& s = at(from);
    if (s.asked == user) return s.next;
    s.asked = user;
    s.next = count_;
    return add({from, user, 0, s.shared || (from != 0 && function_of(s.last) != function_of(user))});
  }
  /// Of at least two functions: cells of one alone cannot clash.
  [[nodiscard]] bool shared(int set) const { return at(set).shared; }
  /// Appends the set, ascending.
  void add_users(int set, std::vector<User>& out) const {
    const auto from = static_cast<std::ptrdiff_t>(out.size());
    for (; set != 0; set = at(set).without) out.push_back(last(set));
    std::reverse(out.begin() + from, out.end());
  }
  [[nodiscard]] const User& last(int set) const { return users_[static_cast<std::size_t>(at(set).last)]; }

 private:
  struct Set {
    int without = 0;  ///< the same without `last`
    int last = 0;
    int next = 0;  ///< the set with `asked`, the candidate last asked for
    unsigned shared : 1 = 0;
    int asked : 31 = -1;
  };
  static constexpr int kPiece = 4096;

  [[nodiscard]] int function_of(int user) const { return users_[static_cast<std::size_t>(user)].function; }
  [[nodiscard]] Set& at(int set) const {
    return pieces_[static_cast<std::size_t>(set / kPiece)][static_cast<std::size_t>(set % kPiece)];
  }
  int add(const Set& set) {
    if (count_ % kPiece == 0) pieces_.push_back(std::make_unique<Set[]>(kPiece));
    at(count_) = set;
    return count_++;
  }

  const std::vector<User>& users_;
  std::vector<std::unique_ptr<Set[]>> pieces_;
  int count_ = 0;
};

/// The box that all cells of one body lie in.
class Extent {
 public:
  void widen(const lattice::Point3& p) {
    if (empty_) low_ = high_ = p;
    empty_ = false;
    low_ = {std::min(low_.x_hp, p.x_hp), std::min(low_.y_hp, p.y_hp), std::min(low_.z_hp, p.z_hp)};
    high_ = {std::max(high_.x_hp, p.x_hp), std::max(high_.y_hp, p.y_hp), std::max(high_.z_hp, p.z_hp)};
  }
  void widen(const Extent& e) {
    if (e.empty_) return;
    widen(e.low_);
    widen(e.high_);
  }
  [[nodiscard]] std::size_t count() const {
    return empty_ ? 0 : size(lattice::Axis::x) * size(lattice::Axis::y) * size(lattice::Axis::z);
  }
  [[nodiscard]] std::size_t index(const lattice::Point3& p) const {
    return (static_cast<std::size_t>(p.x_hp - low_.x_hp) * size(lattice::Axis::y) +
            static_cast<std::size_t>(p.y_hp - low_.y_hp)) *
               size(lattice::Axis::z) +
           static_cast<std::size_t>(p.z_hp - low_.z_hp);
  }
  [[nodiscard]] lattice::Point3 at(std::size_t i) const {
    const std::size_t z = i % size(lattice::Axis::z), rest = i / size(lattice::Axis::z);
    const std::size_t y = rest % size(lattice::Axis::y), x = rest / size(lattice::Axis::y);
    return {low_.x_hp + static_cast<int>(x), low_.y_hp + static_cast<int>(y), low_.z_hp + static_cast<int>(z)};
  }

 private:
  [[nodiscard]] std::size_t size(lattice::Axis a) const {
    return static_cast<std::size_t>(high_.at(a) - low_.at(a) + 1);
  }
  bool empty_ = true;
  lattice::Point3 low_, high_;
};

/// All candidates, in the order of their numbers.
struct Listed {
  std::vector<User> users;
  std::vector<const candidate::Candidate*> candidates;
};
Listed listed(const std::vector<FunctionResult>& functions) {
  Listed out;
  for (std::size_t f = 0; f < functions.size(); ++f) {
    for (const candidate::Candidate& c : functions[f].proposal.candidates) {
      out.users.push_back({static_cast<int>(out.users.size()), static_cast<int>(f)});
      out.candidates.push_back(&c);
    }
  }
  return out;
}

/// Candidates that follow one another, those of one thread, and what they fill.
struct Share {
  explicit Share(const Listed& all) : sets(all.users) {}
  std::vector<int> numbers;
  std::map<int, Extent> extents;           ///< by body, of these candidates only
  std::map<int, std::vector<int>> set_of;  ///< by body, per cell of the common extent: which of these fill it
  Sets sets;
};

/// All candidates in shares of about equally many cells, one for each thread at most.
std::vector<Share> shares_of(const Listed& listed, int jobs) {
  // Below, a thread would cost more than it saves.
  constexpr std::size_t kLeastCells = 50000;
  const auto cells_of = [](const candidate::Candidate* c) {
    std::size_t count = 0;
    for (const candidate::BodyCells& b : c->cells) count += b.cells.size();
    return count;
  };
  std::size_t all = 0;
  for (const candidate::Candidate* c : listed.candidates) all += cells_of(c);
  const std::size_t shares = std::clamp<std::size_t>(all / kLeastCells, 1, static_cast<std::size_t>(std::max(1, jobs)));
  std::vector<Share> out;
  for (std::size_t i = 0; i < shares; ++i) out.emplace_back(listed);
  std::size_t before = 0;
  for (const User& user : listed.users) {
    out[all == 0 ? 0 : std::min(shares - 1, before * shares / all)].numbers.push_back(user.number);
    before += cells_of(listed.candidates[static_cast<std::size_t>(user.number)]);
  }
  return out;
}

/// Numbers for tuples of sets, one of each share: equal tuples have one number. Nothing is ever listed.
class Tuples {
 public:
  [[nodiscard]] int of(const std::vector<int>& sets) {
    int at = 0;
    for (const int set : sets) {
      const auto key = static_cast<std::uint64_t>(at) << 32 | static_cast<std::uint64_t>(set);
      at = next_.try_emplace(key, static_cast<int>(next_.size()) + 1).first->second;
    }
    return at;
  }

 private:
  std::unordered_map<std::uint64_t, int> next_;
};

/// Of at least two functions, together: cells of one alone cannot clash.
bool shared(const std::vector<Share>& shares, const std::vector<int>& sets) {
  int function = -1;
  for (std::size_t i = 0; i < sets.size(); ++i) {
    if (sets[i] == 0) continue;
    if (shares[i].sets.shared(sets[i])) return true;
    const int of = shares[i].sets.last(sets[i]).function;
    if (function >= 0 && of != function) return true;
    function = of;
  }
  return false;
}

/// Cells where other sets begin than in the cell before, of at least two functions, with their sets.
struct Changes {
  std::vector<std::size_t> cells;
  std::vector<int> sets;  ///< of each share, cell after cell
};

/// Of the cells [from, to) of a body; set_of: by share.
Changes changes_in(std::size_t from, std::size_t to, const std::vector<Share>& shares,
                   const std::vector<const int*>& set_of) {
  Changes out;
  std::vector<int> here(shares.size(), 0), before = here;  // before the first nobody fills a cell
  for (std::size_t i = 0; i < shares.size() && from > 0; ++i) before[i] = set_of[i][from - 1];
  for (std::size_t cell = from; cell < to; ++cell) {
    for (std::size_t i = 0; i < shares.size(); ++i) here[i] = set_of[i][cell];
    if (here == before) continue;
    before = here;
    if (!shared(shares, here)) continue;
    out.cells.push_back(cell);
    out.sets.insert(out.sets.end(), here.begin(), here.end());
  }
  return out;
}

std::vector<Spot> spots_of(const std::vector<FunctionResult>& functions, const base::RunControl& control) {
  const Listed all = listed(functions);
  std::vector<Share> shares = shares_of(all, control.jobs);
  base::parallel_for(shares.size(), control.jobs, [&](std::size_t i) {
    for (const int user : shares[i].numbers) {
      control.check();
      for (const candidate::BodyCells& b : all.candidates[static_cast<std::size_t>(user)]->cells) {
        Extent& extent = shares[i].extents[b.body];
        for (const lattice::Cells::Run& r : b.cells.runs()) {
          extent.widen(r.low);
          extent.widen({r.low.x_hp, r.low.y_hp, r.low.z_hp + r.length - 1});
        }
      }
    }
  });
  std::map<int, Extent> extents;
  for (const Share& share : shares) {
    for (const auto& [body, extent] : share.extents) extents[body].widen(extent);
  }
  base::parallel_for(shares.size(), control.jobs, [&](std::size_t i) {
    Share& share = shares[i];
    for (const auto& [body, extent] : extents) share.set_of[body].assign(extent.count(), 0);
    for (const int user : share.numbers) {
      control.check();
      for (const candidate::BodyCells& b : all.candidates[static_cast<std::size_t>(user)]->cells) {
        const Extent extent = extents.at(b.body);
        int* const set_of = share.set_of.at(b.body).data();
        int from = -1, made = 0;  // cells beside each other are mostly in one set
        for (const lattice::Cells::Run& r : b.cells.runs()) {
          int* const set = set_of + extent.index(r.low);  // a run's cells follow one another
          for (int z = 0; z < r.length; ++z) {
            if (set[z] != from) {
              from = set[z];
              made = share.sets.with(from, user);
            }
            set[z] = made;
          }
        }
      }
    }
  });
  Tuples tuples;
  std::vector<bool> known;
  std::vector<Spot> out;
  std::vector<int> sets_of_spots;  // of each share, spot after spot
  for (const auto& [body, extent] : extents) {
    control.check();
    std::vector<const int*> set_of;
    for (const Share& share : shares) set_of.push_back(share.set_of.at(body).data());
    constexpr std::size_t kPiece = 1 << 15;
    const std::size_t cells = extent.count();
    std::vector<Changes> changes((cells + kPiece - 1) / kPiece);
    base::parallel_for(changes.size(), control.jobs, [&](std::size_t i) {
      changes[i] = changes_in(i * kPiece, std::min(cells, (i + 1) * kPiece), shares, set_of);
    });
    std::vector<int> here(shares.size());
    for (const Changes& c : changes) {
      for (std::size_t k = 0; k < c.cells.size(); ++k) {
        here.assign(c.sets.begin() + static_cast<std::ptrdiff_t>(k * shares.size()),
                    c.sets.begin() + static_cast<std::ptrdiff_t>((k + 1) * shares.size()));
        const auto tuple = static_cast<std::size_t>(tuples.of(here));
        if (tuple >= known.size()) known.resize(2 * tuple + 1, false);
        if (known[tuple]) continue;
        known[tuple] = true;
        out.push_back({body, extent.at(c.cells[k]), {}});
        sets_of_spots.insert(sets_of_spots.end(), here.begin(), here.end());
      }
    }
  }
  // The lists are long together; they need nobody's order.
  constexpr std::size_t kPiece = 512;
  base::parallel_for((out.size() + kPiece - 1) / kPiece, control.jobs, [&](std::size_t piece) {
    control.check();
    for (std::size_t s = piece * kPiece; s < std::min(out.size(), (piece + 1) * kPiece); ++s) {
      for (std::size_t i = 0; i < shares.size(); ++i)
        shares[i].sets.add_users(sets_of_spots[s * shares.size() + i], out[s].users);
    }
  });
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

/// The users of a spot as bits of words, function after function, ascending: a word that two functions share is there
/// twice.
struct Words {
  struct Word {
    int at = 0;
    int after = 0;  ///< first word of the next function
    std::uint64_t bits = 0;
  };
  std::vector<Word> words;
  std::int64_t pairs = 0;  ///< of users of different functions
};

Words words_of(const Spot& s) {
  Words out;
  std::int64_t before = 0, own = 0;
  std::size_t first = 0;  // of this function
  const auto end_function = [&] {
    for (; first < out.words.size(); ++first) out.words[first].after = static_cast<int>(out.words.size());
    before += own;
    own = 0;
  };
  for (std::size_t i = 0; i < s.users.size(); ++i) {
    if (i > 0 && s.users[i].function != s.users[i - 1].function) end_function();
    const int at = s.users[i].number / 64;
    if (first == out.words.size() || out.words.back().at != at) out.words.push_back({at, 0, 0});
    out.words.back().bits |= std::uint64_t{1} << (s.users[i].number % 64);
    out.pairs += before;
    ++own;
  }
  end_function();
  return out;
}

/// Pairs of candidates of different functions, one bit each: row of the first, bit of the later one.
class Pairs {
 public:
  explicit Pairs(std::size_t candidates) : words_((candidates + 63) / 64), seen_(candidates * words_, 0) {}
  /// Pairs of a spot that were not taken yet.
  [[nodiscard]] std::int64_t fresh(const Words& spot) const {
    std::int64_t count = 0;
    rows(spot, [&](std::size_t at, std::uint64_t later) { count += bits_of(later & ~seen_[at]); });
    return count;
  }
  void take(const Words& spot) {
    rows(spot, [&](std::size_t at, std::uint64_t later) { seen_[at] |= later; });
  }

 private:
  /// Calls `use` with the places of each user's row that hold users of later functions, and these users.
  template <class Use>
  void rows(const Words& spot, Use use) const {
    for (const Words::Word& own : spot.words) {
      const auto later = static_cast<std::size_t>(own.after);
      if (later == spot.words.size()) break;
      for (std::uint64_t left = own.bits; left != 0; left &= left - 1) {
        const std::size_t row = (static_cast<std::size_t>(own.at) * 64 + std::countr_zero(left)) * words_;
        for (std::size_t w = later; w < spot.words.size(); ++w)
          use(row + static_cast<std::size_t>(spot.words[w].at), spot.words[w].bits);
      }
    }
  }
  std::size_t words_;
  std::vector<std::uint64_t> seen_;
};

/// Spots in the order they were taken: each time the one that tells most pairs apart that were not yet, ties to the
/// first. Counts only fall, so a spot whose old count is below the best new one need not be counted again. Those on top
/// of the others are counted again one by one, or, where that goes on, many at once on all threads.
std::vector<std::size_t> cover(const std::vector<Spot>& spots, std::size_t candidates,
                               const base::RunControl& control) {
  struct Entry {
    std::int64_t count = 0;
    std::size_t spot = 0;
    std::size_t taken = 0;  ///< how many spots were when it was counted
  };
  const auto below = [](const Entry& a, const Entry& b) {
    return a.count != b.count ? a.count < b.count : a.spot > b.spot;
  };
  // Below, a thread would cost more than it saves.
  constexpr std::size_t kPiece = 64, kAlone = 16, kMany = 512;
  const auto in_pieces = [&](std::size_t count, const auto& work) {
    base::parallel_for((count + kPiece - 1) / kPiece, control.jobs, [&](std::size_t piece) {
      control.check();
      for (std::size_t i = piece * kPiece; i < std::min(count, (piece + 1) * kPiece); ++i) work(i);
    });
  };
  Pairs pairs(candidates);
  std::vector<Words> words(spots.size());
  std::vector<Entry> heap(spots.size());  // greatest count, then lowest index on top
  in_pieces(spots.size(), [&](std::size_t i) {
    words[i] = words_of(spots[i]);
    heap[i] = {words[i].pairs, i, 0};
  });
  std::make_heap(heap.begin(), heap.end(), below);
  std::vector<std::size_t> taken;
  std::vector<Entry> counted;
  std::size_t since = 0;  // so many were counted again since the last one was taken
  while (!heap.empty()) {
    control.check();
    if (heap.front().taken == taken.size()) {
      const Entry top = heap.front();
      std::pop_heap(heap.begin(), heap.end(), below);
      heap.pop_back();
      pairs.take(words[top.spot]);
      taken.push_back(top.spot);
      since = 0;
      continue;
    }
    const std::size_t many = since < kAlone || control.jobs < 2 ? 1 : std::min(heap.size(), std::max(kMany, since));
    counted.clear();
    for (std::size_t i = 0; i < many; ++i) {
      std::pop_heap(heap.begin(), heap.end(), below);
      counted.push_back(heap.back());
      heap.pop_back();
    }
    const auto count = [&](std::size_t i) { counted[i].count = pairs.fresh(words[counted[i].spot]); };
    if (many == 1) {
      count(0);
    } else {
      in_pieces(many, count);
    }
    for (Entry& e : counted) {
      if (e.count == 0) continue;
      e.taken = taken.size();
      heap.push_back(e);
      std::push_heap(heap.begin(), heap.end(), below);
    }
    since += many;
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
