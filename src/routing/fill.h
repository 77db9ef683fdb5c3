// Level 2 of the search: slots, bearings, bushes and axles of one sketch, with the least cost. Inside of routing/.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>
#include <optional>
#include <string>
#include <vector>

#include "routing/ground.h"
#include "routing/layout.h"
#include "routing/ready.h"
#include "routing/sketch.h"

namespace routing {

inline constexpr double kSlotSlack = 1e-7;  ///< hp; keeps whole numbers whole
// Slots are far fewer than an int holds, so a cut and a comparison round without a library call.
[[nodiscard]] inline int slot_floor(double x) {
  const int cut = static_cast<int>(x + kSlotSlack);
  return cut > x + kSlotSlack ? cut - 1 : cut;
}
[[nodiscard]] inline int slot_ceil(double x) {
  const int cut = static_cast<int>(x - kSlotSlack);
  return cut < x - kSlotSlack ? cut + 1 : cut;
}
/// Whether two intervals along a shaft share more than a point.
[[nodiscard]] inline bool overlap(double a0, double a1, double b0, double b1) {
  return std::min(a1, b1) - std::max(a0, b0) > kSlotSlack;
}

/// How far the best attempt at a sketch came.
enum class Obstacle { none, slots, bearings, axles };

class Filler {
 public:
  /// `explain`: obstacle() and blame() matter. Without, what cannot come to anything is left as soon as that shows.
  explicit Filler(const Router::Ready&, bool explain = true);
  /// any: the first filling will do. better: the cheapest below the limit, or nothing. count: the same, and whether
  /// there is any at all.
  enum class Aim { any, better, count };
  /// Least-cost filling of the sketch with any of these inputs (their line is the input shaft's). Returns whether one
  /// was found; `out` is set when it costs less than `only_below`.
  /// `may_start`: slots that are not ruled out for each wheel of the sketch, those in which it meets a body of its
  /// output among them; null: not known. Used without `explain`.
  bool fill(const Sketch&, const Router::Ready::LineInputs& inputs, std::int64_t only_below, Aim aim, Layout* out,
            const Slots* may_start = nullptr);
  /// Whether a place's shaft of output 0, the only one of the problem, can be held with a wheel there if nothing else
  /// stood: whatever is placed besides, what fails so fails. Not to be asked in the middle of a fill().
  [[nodiscard]] bool holds_output(int place, int wheel, double from, double to);
  /// The inputs of a line that can hold their shaft with one wheel there if nothing else stood; at most 64 of them.
  [[nodiscard]] std::uint64_t holding_inputs(const Router::Ready::LineInputs&, Axis, Cross, int wheel, double from,
                                             double to);
  [[nodiscard]] std::int64_t steps() const { return steps_; }    ///< wheels and shafts tried so far
  [[nodiscard]] Obstacle obstacle() const { return obstacle_; }  ///< of the last fill() that found nothing
  /// The wheel classes of the mesh that found no slots there, -1 = none.
  [[nodiscard]] std::pair<int, int> blame() const { return {blame_a_, blame_b_}; }

 private:
  /// A box in hp, not always whole: solids whose boxes lie apart need no closer look.
  struct Extent {
    std::array<double, 3> low, high;
    [[nodiscard]] bool apart(const Extent& o, double by_hp) const {
      for (std::size_t a = 0; a < 3; ++a)
        if (low[a] >= o.high[a] + by_hp || high[a] <= o.low[a] - by_hp) return true;
      return false;
    }
  };
  struct Stand {  ///< a wheel in its slots
    double from = 0, to = 0;
    int low = 0, high = 0;  ///< whole slots round it
    bool placed = false;
    std::uint64_t alive_before = 0;  ///< Filler::alive_ before it was placed
    Round solid;
    Extent extent;
  };
  struct Hold {  ///< how a shaft is held
    Support support = Support::straddled;
    int core_low = 0, core_high = 0;    ///< axle needed
    int solid_low = 0, solid_high = 0;  ///< the same outside of terminals
    int n_bearings = 0, n_bushes = 0;
    const int* bearing = nullptr;  ///< middles, as many as n_bearings: walls that follow one another
    int first_wall = 0;            ///< number of the first of them
    std::array<int, 2> bush;       ///< as many as n_bushes
    int axle = -1, from = 0, to = 0;
    bool joined = false;  ///< the axle is two in a joiner, which meet at `joint`
    int joint = 0;
    std::int64_t cost = 0;   ///< bearings, bushes, overhung wheels
    std::int64_t least = 0;  ///< the same with the shortest axle there is
  };
  struct Ends {                      ///< terminals of a shaft
    const Terminal* up = nullptr;    ///< direction +1
    const Terminal* down = nullptr;  ///< direction -1
  };

  /// Whether they hold a shaft in the same way: motors may lie otherwise at one face.
  [[nodiscard]] static bool alike(const Ends& a, const Ends& b);
  static constexpr std::array kSupports{Support::straddled, Support::overhung_low, Support::overhung_high};

  struct Span {  ///< along a shaft
    int low = 0, high = 0;
  };
  /// A shaft's load among the walls, the same however it is held.
  struct Load {
    int low = 0, high = 0;         ///< hull of wheels and attachments
    int below = -1, above = 0;     ///< numbers of the walls beside it: last wholly below, first wholly above
    int from_up = 0, to_down = 0;  ///< first wall beyond an upward terminal's face, last before a downward one's
    bool faced = true;             ///< terminals face the load, not away from it
  };

  void set_up(const Sketch&);
  bool assign(int mesh, std::int64_t least);
  bool plan_all_ways(int shaft, std::int64_t allowed = std::numeric_limits<std::int64_t>::max());
  [[nodiscard]] bool some_way(int shaft);
  void look_at(int shaft);
  bool plan_next(int shaft);
  [[nodiscard]] bool all_placed(int shaft) const;
  bool place(int wheel, double from, double to);
  void unplace(int wheel);
  [[nodiscard]] bool leaves_input(int wheel);
  [[nodiscard]] std::uint64_t holding_inputs();
  [[nodiscard]] bool clear_of_standing(int shaft, const Hold&);
  /// Where bodies of outputs stand in the way along a shaft's line.
  struct InWay {
    Slots axle = Slots::of(0, 0);       ///< of an axle: those of other shafts
    Slots stick_out = Slots::of(0, 0);  ///< of an axle's free end: the shaft's own too
    Slots bush = Slots::of(0, 0);
    std::uint64_t walls = 0;  ///< bit w: of a bearing in wall w
    bool any = false;         ///< of axle, bush and walls
  };
  [[nodiscard]] const InWay& in_way(int shaft);
  [[nodiscard]] bool by_slots(Axis) const;
  bool place_right_angle(int mesh, std::int64_t least);
  [[nodiscard]] bool wheel_free(int wheel) const;
  /// A body clear of keep-outs and of the bodies before it; the same however the wheels of a sketch stand.
  [[nodiscard]] bool body_apart(std::size_t body) const;
  /// A body clear of wheels and attachments.
  [[nodiscard]] bool body_free(std::size_t body) const;
  [[nodiscard]] bool input_apart(std::size_t k, std::size_t first_body);
  bool hold_all();
  [[nodiscard]] bool seat(const Input&, const Ends& own);
  [[nodiscard]] bool input_held();
  [[nodiscard]] Span load_of(int shaft) const;
  [[nodiscard]] static bool before_load(const Input&, Span load);
  [[nodiscard]] std::uint64_t may_face(Span load) const;
  [[nodiscard]] bool narrow(const Slots* may_start);
  bool hold_shaft(int shaft, std::int64_t cost);
  [[nodiscard]] Load load_among_walls(int shaft, Span load) const;
  bool plan(int shaft, Support support, const Load&, Hold&) const;
  [[nodiscard]] bool room_for(int shaft, const Hold&) const;
  [[nodiscard]] bool room_for_core(const SketchShaft&, const Hold&) const;
  [[nodiscard]] static Extent extent_of(Axis, Cross, double half_across_hp, double from_hp, double to_hp);
  [[nodiscard]] Extent extent_of(int shaft, const Hold&) const;
  [[nodiscard]] bool meets_body(int shaft, const Hold&, std::size_t body) const;
  [[nodiscard]] bool hold_free(int shaft, const Hold&, bool beside_wheels);
  [[nodiscard]] bool clear_of_others(int shaft, int settled, const Round& solid) const;
  [[nodiscard]] bool joiner_free(int shaft, const Round& joiner) const;
  [[nodiscard]] bool axle_left(const AxleStock&, std::size_t number) const;
  void use_axle(const AxleStock&, std::size_t number, int pieces);
  /// How far the ends of a shaft's axle may stick out, as far as that is known: free to the one, taken from the other.
  struct StickOut {
    int low_free = 0, low_taken = 0, high_free = 0, high_taken = 0;
  };
  [[nodiscard]] bool ends_free(int shaft, int settled, int from, int to, StickOut&);
  [[nodiscard]] Span begins(int shaft, int length) const;
  [[nodiscard]] static bool sticks_out_too_far(int length, const StickOut&);
  [[nodiscard]] bool axles_at_least();
  bool choose_axle(int shaft, std::int64_t cost, const Box3& envelope);
  [[nodiscard]] bool stick_out_free(int shaft, int settled, int low, int high);
  bool finish(std::int64_t cost, const Box3& envelope);
  [[nodiscard]] Box3 core_envelope() const;
  [[nodiscard]] const Round& round_of(int wheel) const { return stand_[static_cast<std::size_t>(wheel)].solid; }
  void begin_stand(int wheel);
  void stand_at(int wheel, double from, double to);
  [[nodiscard]] Round axle_of(int shaft) const;
  [[nodiscard]] Round whole_axle_of(int shaft) const;
  [[nodiscard]] Round joiner_of(int shaft) const;
  [[nodiscard]] Round bush_of(int shaft, int i) const;
  void write(Layout&, std::int64_t cost) const;

  const Router::Ready& ready_;
  const Problem& problem_;
  const Ground& ground_;
  double h_, clear_;
  double apart_hp_;  ///< boxes this far apart hold nothing that clashes
  bool explain_;

  const Sketch* sketch_ = nullptr;
  Sketch alone_;  ///< of one shaft with one wheel: what holds_output() and holding_inputs() ask about
  const Router::Ready::LineInputs* line_inputs_ = nullptr;
  const std::vector<Input>* inputs_ = nullptr;  ///< of it
  std::array<Stand, kMostWheels> stand_;
  std::vector<Slots> may_;  ///< slots that are not ruled out for each wheel
  /// Without explain_: bit k is set while inputs_[k] keeps clear of every wheel that stands and, as far as its shaft's
  /// wheels stand, lies before them. More than 64 inputs of a line are not told apart.
  std::uint64_t alive_ = 0;
  std::size_t output_bodies_ = 0;                        ///< of bodies_, which stand whatever the input
  std::array<std::uint64_t, kMostWheels> near_input_{};  ///< inputs_ whose bodies reach as far across as the wheel
  std::array<bool, kMostWheels> near_known_{};
  std::array<InWay, kMostShafts> in_way_{};
  std::array<bool, kMostShafts> in_way_known_{};
  int axle_near_hp2_ = 0, bush_near_hp2_ = 0;  ///< a body nearer to the line than these squared distances is in the way
  Box3 output_hull_;                           ///< of the outputs' bodies
  std::array<bool, kMostWheels> bodies_cut_{};  ///< may_ leaves out the slots in which it meets a body
  std::array<std::uint64_t, kMostWheels> meshes_with_{};
  std::array<Hold, kMostShafts> hold_;
  std::array<std::array<Hold, 3>, kMostShafts> plans_;
  std::array<int, kMostShafts> n_plans_{};
  std::array<unsigned, kMostShafts> open_plans_{};   ///< bit n: plan n keeps clear of what stands
  std::array<unsigned, kMostShafts> asked_plans_{};  ///< with one_way_, bit n: open_plans_ knows of plan n
  /// For which places of its first two wheels a shaft's plans_ were made, and of which sketch.
  struct Planned {
    std::uint64_t sketch = 0;
    double first = 0, second = 0;
    Load load;
    int tried = 0;  ///< of kSupports
  };
  std::array<Planned, kMostShafts> planned_{};
  std::array<std::int64_t, kMostShafts + 1> rest_least_{};   ///< what shafts from here on cost at least
  std::array<std::int64_t, kMostShafts> least_of_{};         ///< what each shaft costs at least, once planned
  std::array<std::int64_t, kMostShafts> unplanned_least_{};  ///< the same before that, however it is held
  std::array<int, kMostShafts> complete_after_{};            ///< last mesh that places one of its wheels
  int input_after_ = -1;                                     ///< the same of the input's shaft
  std::array<std::array<std::uint8_t, kMostWheels>, kMostShafts> on_shaft_{};
  std::array<int, kMostShafts> n_on_shaft_{};
  std::array<PairType, kMostWheels> first_type_{};  ///< of a wheel's first mesh
  std::array<Ends, kMostShafts> ends_;
  std::vector<Round> attachments_;  ///< all, in the order of outputs
  std::vector<int> attachment_shaft_;
  std::vector<const Box3*> bodies_;  ///< of terminals
  std::vector<int> body_shaft_;
  std::uint64_t sketch_number_ = 0;
  std::optional<bool> outputs_apart_;  ///< body_apart() of all outputs' bodies of this sketch
  struct Apart {
    std::uint64_t sketch = 0;  ///< of which the answer is
    bool yes = false;
  };
  std::vector<Apart> input_apart_;  ///< body_apart() of the bodies of each of inputs_
  std::vector<int> axle_used_;      ///< pieces
  std::array<StickOut, kMostShafts> beside_cores_{};
  std::array<std::int64_t, kMostShafts> least_axle_{};
  int joiners_used_ = 0;
  int input_ = -1;
  std::int64_t base_cost_ = 0;
  std::int64_t envelope_least_ = 0;  ///< cost of the envelope across the shafts
  std::int64_t best_ = 0;
  bool any_ = false, found_ = false;
  bool bounded_ = false;  ///< what does not beat best_ is of no interest
  bool one_way_ = false;  ///< any filling serves: of a shaft it is enough to know one way to hold it, until all stand
  Layout* out_ = nullptr;
  Obstacle obstacle_ = Obstacle::none;
  std::array<std::uint8_t, kMostMeshes> order_{};  ///< in which the meshes are placed
  int blame_a_ = -1, blame_b_ = -1;
  std::int64_t steps_ = 0;
  int deepest_ = -1;
};

}  // namespace routing
