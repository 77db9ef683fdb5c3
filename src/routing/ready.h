// What level 1 of the search looks up: lines that can still reach an input, ratios that can still be made,
// displacements that one mesh closes. Inside of routing/.
#pragma once

#include <algorithm>
#include <array>
#include <atomic>
#include <cstdlib>
#include <limits>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <span>
#include <vector>

#include "routing/ground.h"
#include "routing/route.h"

namespace routing {

inline constexpr double kLogSlack = 1e-9;
/// Products of up to this many meshes are listed; beyond, only the extremes cut. Four would be some hundred thousand.
inline constexpr int kListedMeshes = 3;

struct Line {
  Axis axis = Axis::y;
  Cross at;
  friend auto operator<=>(const Line&, const Line&) = default;
};

/// One way to close a displacement with one mesh.
struct Closing {
  int pair = -1;
  int misfit_um = 0;
};

/// A list whose items are made when they are first asked for; from several threads at once the first one made stays.
template <class T>
class LazyList {
 public:
  void resize(std::size_t n) {  ///< once
    items_ = std::make_unique<std::atomic<const T*>[]>(n);
    size_ = n;
  }
  ~LazyList() {
    for (std::size_t i = 0; i < size_; ++i) delete items_[i].load(std::memory_order_acquire);
  }
  LazyList() = default;
  LazyList(const LazyList&) = delete;
  LazyList& operator=(const LazyList&) = delete;
  /// Null: not made yet.
  [[nodiscard]] const T* known(std::size_t i) const { return items_[i].load(std::memory_order_acquire); }
  /// `make()` gives the item; it must be the same whoever calls.
  template <class Make>
  [[nodiscard]] const T& at(std::size_t i, const Make& make) const {
    std::atomic<const T*>& item = items_[i];
    if (const T* known = item.load(std::memory_order_acquire)) return *known;
    auto made = std::make_unique<const T>(make());
    const T* none = nullptr;
    if (!item.compare_exchange_strong(none, made.get(), std::memory_order_acq_rel)) return *none;
    return *made.release();
  }

 private:
  std::unique_ptr<std::atomic<const T*>[]> items_;
  std::size_t size_ = 0;
};

class Filler;

struct Router::Ready {
  /// `known`: of another problem in the same room; is taken when it has every plane that this one needs.
  explicit Ready(Problem p, std::shared_ptr<const Ground> known = nullptr);

  Problem problem;
  std::shared_ptr<const Ground> shared_ground;
  const Ground& ground;
  struct InputLine {
    Line line;
    Slots outgoing = Slots::of(0, 0);  ///< slots before some motor's face
    /// Of single motors: the lowest face that points up the line, the highest that points down.
    int lowest_up = std::numeric_limits<int>::max(), highest_down = std::numeric_limits<int>::min();
    bool paired = false;  ///< has inputs of two motors, of which the faces say nothing
  };
  std::vector<InputLine> input_lines;
  /// Inputs of one line, in the order of their numbers.
  struct LineInputs {
    std::vector<int> numbers;
    std::vector<Input> inputs;
    /// Of a problem with one output, [place][input]: whether the input's bodies keep clear of keep-outs and of what
    /// stands at the place, which is another shaft's. Found when first asked for (0 = not yet, 1 = clear, 2 = not), the
    /// same whoever asks.
    std::unique_ptr<std::atomic<std::uint8_t>[]> clear;
    /// Which of the inputs, at most 64, can hold their shaft with only a wheel of a parallel mesh there.
    struct Holding {
      std::vector<std::uint64_t> at;  ///< by the slot where the wheel begins
      Slots any = Slots::of(0, 0);
    };
    std::unique_ptr<LazyList<Holding>> holding;  ///< [width of the wheel in slots]
    std::optional<Box3> hull;                    ///< of all their motors' bodies
    /// Bit k of at most 64: all motors of input k that point up the line have their faces no higher than a coordinate
    /// of the box, counted from its low side; and those that point down no lower. Empty for more inputs.
    std::vector<std::uint64_t> up_by, down_from;
    /// Those of at most 64 inputs whose motors face all of a load from outside; a load upside down is none.
    [[nodiscard]] std::uint64_t facing(int low, int high) const {
      if (up_by.empty() || low > high) return ~std::uint64_t{0};
      const int most = static_cast<int>(up_by.size()) - 1;
      if (low < 0 || high > most) return ~std::uint64_t{0};  // not known
      return up_by[static_cast<std::size_t>(low)] & down_from[static_cast<std::size_t>(high)];
    }
  };
  /// Those of one of input_lines; made when first asked for, the same whoever asks.
  [[nodiscard]] const LineInputs& inputs_of(const InputLine&) const;
  std::array<std::vector<int>, 3> input_line_at;  ///< [axis][point]: index into input_lines, -1 = none
  [[nodiscard]] const InputLine* inputs_at(Axis a, Cross c) const {
    const Plane& p = plane(a);
    if (!p.contains(c)) return nullptr;
    const int i = input_line_at[static_cast<std::size_t>(lattice::index(a))][static_cast<std::size_t>(p.index(c))];
    return i < 0 ? nullptr : &input_lines[static_cast<std::size_t>(i)];
  }
  std::vector<Line> goals;
  /// [output][place]: what stands there whatever the train (ring, attachments, bodies) keeps to the box, out of walls
  /// and keep-outs, and apart. Elsewhere nothing can be built.
  std::vector<std::vector<std::uint8_t>> stands;
  /// Hull of the terminals' bodies at each place of output 0; empty where there are none.
  std::vector<std::optional<Box3>> body_hull;
  int blocked = -1;  ///< first output that stands at none of its places
  /// LineInputs::clear of the k-th input of a line.
  [[nodiscard]] bool clear_input(int place, const LineInputs&, std::size_t k) const;
  /// Where a wheel of a parallel mesh may start: the plane's slots, and, in a problem with one output, those in which
  /// it keeps clear of the bodies at its place.
  [[nodiscard]] Slots free_slots(int place, int wheel, Axis, Cross) const;
  /// stands_alone() and, in a problem with one output, clear of the bodies at its place.
  [[nodiscard]] bool stands_clear(int place, const Wheel&, Axis, Cross, std::pair<double, double> along_hp) const;
  /// Of a wheel of a parallel mesh that drives the shaft of output 0 at a place of the only output: its free_slots() in
  /// which the shaft can be held. Made when first asked for, with the help of any idle Filler of this.
  [[nodiscard]] const Slots& output_slots(int place, int wheel, Filler&) const;
  /// Slots of a wheel of a parallel mesh, the only one on the shaft of a line's inputs, in which one of these can hold
  /// it; all() where that is not known. Made likewise.
  [[nodiscard]] Slots input_slots(const InputLine&, int wheel, Filler&) const;
  /// The same of a wheel of a right-angle mesh on one side at least of where the other shaft passes, `meet`.
  [[nodiscard]] bool has_side(int place, PairType, const Wheel& wheel, const Wheel& other, Axis, Cross, int meet) const;
  /// Whether the driver of a right-angle mesh, met at `meet` by the other shaft, stands free beyond the faces of some
  /// input's motors on its line.
  [[nodiscard]] bool beyond_motor(int place, const Pair&, Axis, Cross, int meet) const;
  /// reach[m][axis][point]: whether an input's line can be reached with at most m meshes.
  std::vector<std::array<std::vector<std::uint8_t>, 3>> reach;
  std::vector<double> log_ratio;  ///< of each pair
  /// [m]: sorted logs of what at most m meshes make, m <= kListedMeshes. Made when first asked for: a search among
  /// given trains does without.
  mutable std::vector<std::vector<double>> products;
  mutable std::once_flag products_made;
  void make_products() const;
  double least_log = 0, most_log = 0;
  int most_step = 0;                      ///< longest offset in one coordinate
  std::vector<Closing> closing;           ///< displacement after displacement, see at_displacement
  std::vector<std::size_t> closing_from;  ///< where each displacement's begin; one more at the end
  bool any_right_angle = false;
  /// Least cost of an axle that spans two walls across each axis, as one without a terminal must; and of any.
  std::array<std::int64_t, 3> spanning_axle{};
  std::int64_t shortest_axle = 0;
  /// Least cost of an axle that is so many half-pitches long at least; ends with the longest.
  std::vector<std::int64_t> axle_from;
  /// By the same length: the axles of the kit that are so long, [first, last) of the single and of the joined ones.
  using AxleRanges = std::array<std::pair<std::size_t, std::size_t>, 2>;
  std::vector<AxleRanges> axles_from;
  [[nodiscard]] AxleRanges axles_of(int need_hp) const {
    return need_hp < static_cast<int>(axles_from.size()) ? axles_from[static_cast<std::size_t>(std::max(0, need_hp))]
                                                         : AxleRanges{};
  }

  /// Index into closing_from.
  [[nodiscard]] std::size_t displacement(int du, int dv) const {
    return static_cast<std::size_t>((dv + most_step) * (2 * most_step + 1) + du + most_step);
  }
  /// Empty: further than any mesh reaches.
  [[nodiscard]] std::optional<std::span<const Closing>> at_displacement(int du, int dv) const {
    if (std::abs(du) > most_step || std::abs(dv) > most_step) return std::nullopt;
    const std::size_t at = displacement(du, dv);
    return std::span(closing).subspan(closing_from[at], closing_from[at + 1] - closing_from[at]);
  }
  [[nodiscard]] const Plane& plane(Axis a) const { return ground.plane[static_cast<std::size_t>(lattice::index(a))]; }
  [[nodiscard]] bool reaches(int meshes, Axis a, Cross c) const {
    const Plane& p = plane(a);
    return p.contains(c) && reach[static_cast<std::size_t>(meshes)][static_cast<std::size_t>(lattice::index(a))]
                                 [static_cast<std::size_t>(p.index(c))] != 0;
  }
  /// Whether at most m meshes make a log ratio in [low, high].
  [[nodiscard]] bool makes(int m, double low, double high) const {
    if (m <= 0) return low <= 0 && high >= 0;
    if (m > kListedMeshes) return high >= std::min(0.0, m * least_log) && low <= std::max(0.0, m * most_log);
    const std::vector<double>& list = products[static_cast<std::size_t>(m)];
    const auto it = std::lower_bound(list.begin(), list.end(), low);
    return it != list.end() && *it <= high;
  }
  void find_reach();
  /// Of a right-angle mesh that drives the shaft of output 0 at a place: where the other shaft may pass along it, so
  /// that has_side() holds of the driven wheel; ascending. Made when first asked for.
  /// The second: and so that the shaft of the only output can be held.
  [[nodiscard]] const std::vector<int>& passing_output(int place, int pair) const;
  [[nodiscard]] const std::vector<int>& passing_held(int place, int pair, Filler&) const;
  [[nodiscard]] std::vector<int> passing(int place, const Pair&, Axis, Cross) const;  ///< the same along any line

 private:
  void find_input_lines();
  LazyList<LineInputs> line_inputs_;                           ///< of each of input_lines
  LazyList<std::vector<int>> passing_outputs_, passing_held_;  ///< [place][pair]
  LazyList<Slots> output_slots_;                               ///< [place][wheel]
};

}  // namespace routing
