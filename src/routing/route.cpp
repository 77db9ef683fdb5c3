// Level 1 of the search: from each output back to the input, mesh by mesh, over every offset the lattice offers.
//
// Cut, exactly, by three tables made once: which lines can still reach an input with so many meshes left (dilation over
// the box), which ratios so many meshes can still make (sorted logarithms), and what fits where (Ground). Each sketch
// that arrives goes to the Filler, which finds its cheapest slots, bearings and axles.
#include "routing/route.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <set>

#include "base/check.h"
#include "routing/fill.h"
#include "routing/kept.h"
#include "routing/ready.h"
#include "routing/refusal.h"
#include "routing/right_angle.h"
#include "routing/sketch.h"

#include <fmt/format.h>

namespace routing {
namespace {

/// Up to so many goal lines, the last mesh is looked up by displacement instead of trying every offset.
constexpr std::size_t kFewGoals = 4;
constexpr std::int64_t kNodesBetweenLooks = 4096;

/// Where a shaft of the tree stands, counted from the input.
struct Rank {
  int meshes = 0, idlers = 0, angles = 0;
  double log = 0;
};

}  // namespace

/// The walk from outputs to the input.
class RouteSearch {
 public:
  using Ready = Router::Ready;
  RouteSearch(const Ready& ready, const RouteOptions& options, const base::RunControl& control)
      : r_(ready),
        p_(ready.problem),
        options_(options),
        control_(control),
        kept_(ready.problem, static_cast<std::size_t>(std::max(1, options.best))) {
    used_.resize(p_.kit.wheels.size());
    may_start_.resize(kMostWheels, Slots::all());
  }

  Routes run(const std::vector<std::vector<int>>& trains) {
    if (trains.empty() || p_.outputs.size() > 1) r_.make_products();
    std::vector<const std::vector<int>*> asked;
    if (trains.empty()) asked.push_back(nullptr);
    std::set<std::vector<int>> seen;
    for (const std::vector<int>& train : trains) {
      if (!seen.insert(train).second) continue;  // given twice: its layouts count once
      base::Rational ratio(1);
      for (const int pair : train) ratio = ratio * p_.kit.pairs.at(static_cast<std::size_t>(pair)).ratio;
      if (ratio.abs() < p_.outputs[0].low || p_.outputs[0].high < ratio.abs()) {
        ++tally_.off_window;
      } else {
        asked.push_back(&train);
      }
    }
    // Few meshes first: they cost least, so what they give cuts the longer ones.
    for (depth_ = 0; depth_ <= p_.most_stages && !done_; ++depth_) {
      for (const std::vector<int>* train : asked) {
        if (done_) break;
        const int length = train == nullptr ? depth_ : static_cast<int>(train->size());
        if (length > depth_ || (train != nullptr && length + p_.most_idlers < depth_)) continue;
        train_ = train;
        start_output(0);
      }
    }
    Routes out;
    out.found = found_;
    out.nodes = nodes_;
    out.lacked_axle = tally_.obstacles[static_cast<std::size_t>(Obstacle::axles)];
    out.layouts = kept_.take();
    if (limited_) {
      out.complete = false;
      out.limit_text = limit_text_;
    }
    if (out.layouts.empty() && options_.explain) out.refusals = refusals_of(r_, trains, tally_);
    return out;
  }

 private:
  /// To output 0 as many meshes as this round lays; to the others up to the limit.
  [[nodiscard]] int most_meshes(int o) const { return o == 0 ? depth_ : p_.most_stages; }

  struct Step1 {  // state of a walk to the current output
    int meshes = 0, idlers = 0, angles = 0;
    double log = 0;
    int left = 0;      ///< train given: pairs still to lay; the next is train[left - 1]
    int pending = -1;  ///< train given: the driver class that ends an idler split; -1 = none
    int pending_chain = 0;
  };

  [[nodiscard]] const Output& output(int o) const { return p_.outputs[static_cast<std::size_t>(o)]; }
  [[nodiscard]] const Pair& pair(int i) const { return p_.kit.pairs[static_cast<std::size_t>(i)]; }
  [[nodiscard]] bool in_stock(int cls, int more = 1) const {
    return (used_[static_cast<std::size_t>(cls)] + more) * p_.kit.copies <=
           p_.kit.wheels[static_cast<std::size_t>(cls)].count;
  }

  void start_output(int o) {
    k_.n_outputs = o + 1;
    for (std::size_t i = 0; i < output(o).places.size() && !done_; ++i) {
      if (r_.stands[static_cast<std::size_t>(o)][i] == 0) continue;
      const Place& place = output(o).places[i];
      k_.place[static_cast<std::size_t>(o)] = static_cast<int>(i);
      low_[o] = std::log(output(o).low.value()) - kLogSlack;
      high_[o] = std::log(output(o).high.value()) + kLogSlack;
      Step1 s;
      s.left = train_ != nullptr && o == 0 ? static_cast<int>(train_->size()) : 0;
      if (place.ring >= 0) {
        if (!in_stock(place.ring)) continue;
        ++used_[static_cast<std::size_t>(place.ring)];
        const int w = k_.n_wheels++;
        k_.wheels[static_cast<std::size_t>(w)] = {place.ring, -1, o};
        may_start_[static_cast<std::size_t>(w)] = Slots::all();
        const Plane& on = r_.plane(place.axis);
        if (on.slots() <= Slots::kMost) {
          may_start_[static_cast<std::size_t>(w)] = Slots::of(0, 0);
          may_start_[static_cast<std::size_t>(w)].add(place.ring_from_hp - on.first_slot());
        }
        extend(o, -1, w, s);
        --k_.n_wheels;
        --used_[static_cast<std::size_t>(place.ring)];
        continue;
      }
      const Line line{place.axis, place.at};
      const Plane& plane = r_.plane(place.axis);
      if (!plane.contains(place.at)) continue;
      // Without a mesh: the output sits on the input's shaft.
      if ((!train_ || o > 0 || train_->empty()) && in_window(o, 0, base::Rational(1), false)) {
        if (o == 0) {
          if (depth_ == 0 && r_.inputs_at(line.axis, line.at) != nullptr) {
            const int shaft = k_.n_shafts++;
            k_.shafts[static_cast<std::size_t>(shaft)] = {place.axis, place.at, o};
            k_.input_shaft = shaft;
            rank_[static_cast<std::size_t>(shaft)] = {};
            through_[static_cast<std::size_t>(shaft)] = false;
            arrived(o);
            --k_.n_shafts;
          }
        } else if (k_.shafts[static_cast<std::size_t>(k_.input_shaft)].output < 0 &&
                   line == Line{k_.shafts[static_cast<std::size_t>(k_.input_shaft)].axis,
                                k_.shafts[static_cast<std::size_t>(k_.input_shaft)].at}) {
          k_.shafts[static_cast<std::size_t>(k_.input_shaft)].output = o;
          arrived(o);
          k_.shafts[static_cast<std::size_t>(k_.input_shaft)].output = -1;
        }
      }
      const int shaft = k_.n_shafts++;
      k_.shafts[static_cast<std::size_t>(shaft)] = {place.axis, place.at, o};
      if (!(train_ != nullptr && o == 0 && train_->empty()) && lines_free(shaft, !place.terminal))
        extend(o, shaft, -1, s);
      --k_.n_shafts;
    }
    --k_.n_outputs;
  }

  [[nodiscard]] bool in_window(int o, double log, const base::Rational& ratio, bool angled) const {
    if (log < low_[o] || log > high_[o]) return false;
    const base::Rational size = ratio.abs();
    if (size < output(o).low || output(o).high < size) return false;
    return output(o).sense == 0 || angled || (ratio > base::Rational(0)) == (output(o).sense > 0);
  }

  /// A line that other shafts must leave alone: where every axle runs through, two must not stand too close.
  [[nodiscard]] bool lines_free(int shaft, bool through) const {
    const SketchShaft& me = k_.shafts[static_cast<std::size_t>(shaft)];
    if (!through || !r_.ground.between[static_cast<std::size_t>(lattice::index(me.axis))]) return true;
    for (int s = 0; s < k_.n_shafts; ++s) {
      const SketchShaft& other = k_.shafts[static_cast<std::size_t>(s)];
      if (s == shaft || other.axis != me.axis) continue;
      const int du = me.at.u_hp - other.at.u_hp, dv = me.at.v_hp - other.at.v_hp;
      if (runs_through(s) && std::abs(du) < 2 && std::abs(dv) < 2) return false;
    }
    return true;
  }
  /// Whether the axle spans both walls: not so where a terminal may let it end between them.
  [[nodiscard]] bool runs_through(int s) const {
    const SketchShaft& shaft = k_.shafts[static_cast<std::size_t>(s)];
    if (!through_[static_cast<std::size_t>(s)]) return false;
    return r_.ground.between[static_cast<std::size_t>(lattice::index(shaft.axis))];
  }

  /// A wheel in the band against the axles that run through, as far as they are known.
  [[nodiscard]] bool wheel_clear(int cls, const SketchShaft& at, int own) const {
    const int apart = r_.ground.wheel_axle[static_cast<std::size_t>(cls)];
    for (int s = 0; s < k_.n_shafts; ++s) {
      if (s == own || !runs_through(s)) continue;
      const SketchShaft& other = k_.shafts[static_cast<std::size_t>(s)];
      if (other.axis == at.axis && lattice::squared_hp(other.at.u_hp - at.at.u_hp, other.at.v_hp - at.at.v_hp) < apart)
        return false;
    }
    return true;
  }
  /// Such a wheel may stand beyond the walls, where the axle need not reach.
  [[nodiscard]] bool at_right_angle(int wheel) const {
    for (int m = 0; m < k_.n_meshes; ++m) {
      const SketchMesh& mesh = k_.meshes[static_cast<std::size_t>(m)];
      if ((mesh.driver == wheel || mesh.driven == wheel) && !parallel(pair(mesh.pair).type)) return true;
    }
    return false;
  }
  /// The other way round: an axle that runs through against the wheels that stand.
  [[nodiscard]] bool axle_clear(int shaft) const {
    const SketchShaft& me = k_.shafts[static_cast<std::size_t>(shaft)];
    if (!r_.ground.between[static_cast<std::size_t>(lattice::index(me.axis))]) return true;
    for (int w = 0; w < k_.n_wheels; ++w) {
      const SketchWheel& wheel = k_.wheels[static_cast<std::size_t>(w)];
      if (wheel.shaft < 0 || wheel.shaft == shaft || at_right_angle(w)) continue;
      const SketchShaft& at = k_.shafts[static_cast<std::size_t>(wheel.shaft)];
      if (at.axis == me.axis && lattice::squared_hp(me.at.u_hp - at.at.u_hp, me.at.v_hp - at.at.v_hp) <
                                    r_.ground.wheel_axle[static_cast<std::size_t>(wheel.cls)])
        return false;
    }
    return true;
  }

  /// What the walk so far costs at least, one more shaft included unless it joins one that stands: wheels, axles,
  /// bearings of shafts without a motor, misfits.
  [[nodiscard]] std::int64_t least_cost() const {
    std::int64_t cost = 0;
    for (int w = 0; w < k_.n_wheels; ++w) cost += k_.wheels[static_cast<std::size_t>(w)].shaft >= 0 ? Weights::part : 0;
    cost += k_.n_shafts * Weights::part;
    for (int s = 0; s < k_.n_shafts; ++s) {
      const SketchShaft& shaft = k_.shafts[static_cast<std::size_t>(s)];
      cost += shaft.output < 0 && s != k_.input_shaft
                  ? 2 * Weights::bearing + r_.spanning_axle[static_cast<std::size_t>(lattice::index(shaft.axis))]
                  : r_.shortest_axle;
    }
    for (int m = 0; m < k_.n_meshes; ++m) cost += Weights::misfit_um * k_.meshes[static_cast<std::size_t>(m)].misfit_um;
    return cost;
  }

  /// What the meshes still to lay to output 0 cost at least, the driver of the one about to be laid included: a shaft
  /// and a wheel for each, a second wheel but for idlers, bearings for all shafts but the input's.
  [[nodiscard]] std::int64_t least_rest(int o, const Step1& state) const {
    if (o > 0) return 0;
    const int meshes = depth_ - state.meshes, idlers = std::min(meshes, p_.most_idlers - state.idlers);
    return (meshes + 1) * (2 * Weights::part + r_.shortest_axle) + (meshes - idlers) * Weights::part +
           meshes * 2 * Weights::bearing;
  }

  bool step() {
    ++nodes_;
    if (nodes_ % kNodesBetweenLooks == 0 && control_.stopped()) {
      done_ = limited_ = true;
      limit_text_ = "stopped before every layout was tried";
    }
    if (options_.max_nodes > 0 && nodes_ > options_.max_nodes) {
      done_ = limited_ = true;
      limit_text_ = fmt::format("ended after {} offsets; layouts beyond are not known", options_.max_nodes);
    }
    if (options_.max_steps > 0 && steps() > options_.max_steps) {
      done_ = limited_ = true;
      limit_text_ = fmt::format("ended after {} steps; layouts beyond are not known", options_.max_steps);
    }
    return !done_;
  }

  /// Lays one more mesh that drives what is at the end of the walk: shaft `s` (or the ring `ring`, a wheel). `tail`:
  /// the wheel on s that drives the mesh laid before, -1 = none; `last`: whether that mesh is parallel.
  void extend(int o, int s, int tail, const Step1& state) {
    const int left = most_meshes(o) - state.meshes;
    if (left <= 0) return;
    const int ring = s < 0 ? tail : -1;
    if (s >= 0 && k_.shafts[static_cast<std::size_t>(s)].output < 0) {
      // An intermediate shaft: its axle runs through.
      through_[static_cast<std::size_t>(s)] = true;
      if (!lines_free(s, true) || !axle_clear(s)) {
        ++tally_.axle_in_wheel;
        return;
      }
    } else if (s >= 0) {
      const Place& place = output(o).places[static_cast<std::size_t>(k_.place[static_cast<std::size_t>(o)])];
      through_[static_cast<std::size_t>(s)] = !place.terminal;
    }
    std::size_t first = 0, past = p_.kit.pairs.size();
    if (train_ != nullptr && o == 0 && state.pending < 0) {
      if (state.left == 0) return;
      // Without idlers only the train's own pair comes next.
      if (state.idlers >= p_.most_idlers) {
        first = static_cast<std::size_t>((*train_)[static_cast<std::size_t>(state.left - 1)]);
        past = first + 1;
      }
    }
    for (std::size_t i = first; i < past && !done_; ++i) {
      const Pair& q = p_.kit.pairs[i];
      if (ring >= 0) {
        if (q.driven != k_.wheels[static_cast<std::size_t>(ring)].cls || q.type == PairType::spur || !parallel(q.type))
          continue;
        try_pair(o, s, ring, true, static_cast<int>(i), state);
        continue;
      }
      if (q.type == PairType::ring_outer || q.type == PairType::ring_inner) continue;
      // A wheel of its own on the shaft, or the tail again as an idler.
      if (state.pending < 0) try_pair(o, s, -1, false, static_cast<int>(i), state);
      if (tail >= 0 && tail_parallel_ && parallel(q.type) &&
          k_.wheels[static_cast<std::size_t>(tail)].cls == q.driven && state.idlers < p_.most_idlers)
        try_pair(o, s, tail, false, static_cast<int>(i), state);
    }
  }

  /// Pair i behind the walk's end, driving a new wheel on shaft s (`reuse` < 0), the idler `reuse`, or the ring.
  void try_pair(int o, int s, int reuse, bool ring, int i, const Step1& state) {
    const Pair& q = pair(i);
    const bool angle = !parallel(q.type);
    if (angle && state.angles >= p_.most_right_angles) return;
    Step1 next = state;
    ++next.meshes;
    next.angles += angle ? 1 : 0;
    next.log += r_.log_ratio[static_cast<std::size_t>(i)];
    const bool idler = reuse >= 0 && !ring;
    next.idlers += idler ? 1 : 0;
    const int left = most_meshes(o) - next.meshes;
    if (train_ != nullptr && o == 0) {
      if (state.pending >= 0) {
        // Inside a split pair: the driver either ends it or is one more idler.
        split(o, s, reuse, ring, i, next, q.driver == state.pending, left);
        return;
      }
      if (state.left == 0) return;
      const int wanted = (*train_)[static_cast<std::size_t>(state.left - 1)];
      if (wanted == i && !idler) {
        Step1 direct = next;
        direct.left = state.left - 1;
        if (direct.left <= left) try_places(o, s, reuse, i, direct);
      }
      // The last half of a split pair: drives the same wheel, and another stands between.
      const Pair& w = pair(wanted);
      if (!idler && parallel(w.type) && parallel(q.type) && q.type == w.type && q.driven == w.driven &&
          state.idlers < p_.most_idlers) {
        Step1 open = next;
        open.pending = w.driver;
        if (left >= 1 + state.left - 1) try_places(o, s, reuse, i, open);
      }
      return;
    }
    // Any train: can what is left still make the ratio?
    if (o == 0) {
      if (!r_.makes(left, low_[o] - next.log, high_[o] - next.log)) return;
    } else {
      bool some = false;
      for (int x = 0; x < first_new_[o] && !some; ++x) {
        if (k_.shafts[static_cast<std::size_t>(x)].output >= 0 && x != k_.input_shaft) continue;
        const Rank& rank = rank_[static_cast<std::size_t>(x)];
        some = rank.meshes + next.meshes <= p_.most_stages &&
               r_.makes(left - rank.meshes, low_[o] - next.log - rank.log, high_[o] - next.log - rank.log);
      }
      if (!some) return;
    }
    try_places(o, s, reuse, i, next);
  }

  void split(int o, int s, int reuse, bool ring, int i, const Step1& next, bool ends, int left) {
    (void)ring;
    if (reuse < 0) return;  // inside a split, the wheel that stands is the idler
    if (ends) {
      Step1 closed = next;
      closed.pending = -1;
      closed.left = next.left - 1;
      if (closed.left <= left) try_places(o, s, reuse, i, closed);
    }
    if (next.idlers < p_.most_idlers && left >= next.left) {
      Step1 open = next;
      try_places(o, s, reuse, i, open);
    }
  }

  void try_places(int o, int s, int reuse, int i, const Step1& state) {
    const Pair& q = pair(i);
    const bool ring = s < 0;
    int left = most_meshes(o) - state.meshes;
    if (train_ != nullptr && o == 0) left = std::min(left, state.left + p_.most_idlers - state.idlers);
    SketchShaft at;
    if (ring) {
      const Place& place = output(o).places[static_cast<std::size_t>(k_.place[static_cast<std::size_t>(o)])];
      at = {place.axis, place.at, -1};
    } else {
      at = k_.shafts[static_cast<std::size_t>(s)];
    }
    const bool fresh = reuse < 0;
    if (fresh && !in_stock(q.driven)) return;
    if (parallel(q.type)) {
      const Plane& plane = r_.plane(at.axis);
      if (fresh && (!plane.wheel_fits_somewhere(q.driven, at.at) || !wheel_clear(q.driven, at, s))) {
        ++tally_.no_room[q.driven];
        return;
      }
      const int driven = fresh ? add_wheel(q.driven, s) : reuse;
      if (fresh) {
        const bool of_output =
            !options_.explain && p_.outputs.size() == 1 && s >= 0 && k_.shafts[static_cast<std::size_t>(s)].output == 0;
        Slots may =
            of_output ? r_.output_slots(place(), q.driven, idle()) : r_.free_slots(place(), q.driven, at.axis, at.at);
        if (!has_terminal(s)) may = may & plane.held_slots(at.at);
        may_start_[static_cast<std::size_t>(driven)] = may;
      }
      // One mesh left and few goals: look the displacement up.
      if (o == 0 && left == 0 && r_.goals.size() <= kFewGoals && q.type == PairType::spur) {
        for (const Line& g : r_.goals) {
          if (g.axis != at.axis) continue;
          const int du = g.at.u_hp - at.at.u_hp, dv = g.at.v_hp - at.at.v_hp;
          const auto list = r_.at_displacement(du, dv);
          if (!list || !step()) continue;
          for (const Closing& c : *list)
            if (c.pair == i) {
              lay(o, s, driven, i, at.axis, g.at, c.misfit_um, state);
              break;
            }
        }
      } else {
        for (const Step& move : r_.ground.steps[static_cast<std::size_t>(i)]) {
          if (!step()) break;
          const Cross to{at.at.u_hp + move.du_hp, at.at.v_hp + move.dv_hp};
          if (o == 0 ? !r_.reaches(left, at.axis, to) : !plane.contains(to)) continue;
          lay(o, s, driven, i, at.axis, to, move.misfit_um, state);
          if (done_) break;
        }
      }
      if (fresh) drop_wheel(q.driven);
      return;
    }
    // At a right angle: a new line across, met anywhere along the shaft.
    if (!fresh) return;
    const Wheel& driver_class = p_.kit.wheels[static_cast<std::size_t>(q.driver)];
    const Wheel& driven_class = p_.kit.wheels[static_cast<std::size_t>(q.driven)];
    // Along this shaft, where the other may pass: walls and keep-outs leave the driven wheel few places.
    std::vector<int> along;
    const bool of_output = k_.shafts[static_cast<std::size_t>(s)].output == 0;
    if (!of_output) along = r_.passing(place(), q, at.axis, at.at);
    const std::vector<int>& passing = !of_output                                  ? along
                                      : options_.explain || p_.outputs.size() > 1 ? r_.passing_output(place(), i)
                                                                                  : r_.passing_held(place(), i, idle());
    if (passing.empty()) ++tally_.no_room[q.driven];
    const int driven = add_wheel(q.driven, s);
    for (const Axis b : lattice::kAxes) {
      if (b == at.axis) continue;
      const Axis n = lattice::other(at.axis, b);
      const int level = lattice::point(at.axis, at.at, 0).at(n), met = lattice::point(at.axis, at.at, 0).at(b);
      std::vector<std::pair<int, int>> offsets;  // signed, misfit
      if (q.type == PairType::worm) {
        for (const PairOffset& off : q.offsets)
          if (off.dz_hp == 0) {
            offsets.emplace_back(off.dx_hp, off.misfit_um);
            offsets.emplace_back(-off.dx_hp, off.misfit_um);
          }
      } else {
        offsets.emplace_back(0, 0);
      }
      for (const auto& [offset, misfit] : offsets) {
        for (const int t : passing) {
          if (done_ || !step()) break;
          Point3 through = lattice::point(b, {}, 0);
          through.set(at.axis, t);
          through.set(n, level + offset);
          const Cross to = lattice::across(b, through);
          if (o == 0 ? !r_.reaches(left, b, to) : !r_.plane(b).contains(to)) continue;
          if (!r_.has_side(place(), q.type, driver_class, driven_class, b, to, met)) {
            ++tally_.no_room[q.driver];
            continue;
          }
          lay(o, s, driven, i, b, to, misfit, state);
        }
      }
    }
    drop_wheel(q.driven);
  }

  /// Whether a terminal may hold the shaft: an output's own, or the input's when an output joins there.
  [[nodiscard]] bool has_terminal(int s) const {
    const int o = k_.shafts[static_cast<std::size_t>(s)].output;
    return o >= 0 &&
           output(o).places[static_cast<std::size_t>(k_.place[static_cast<std::size_t>(o)])].terminal.has_value();
  }

  /// Where the first output is, which is the only one where it matters.
  [[nodiscard]] int place() const { return k_.place.front(); }

  int add_wheel(int cls, int shaft) {
    ++used_[static_cast<std::size_t>(cls)];
    const int w = k_.n_wheels++;
    k_.wheels[static_cast<std::size_t>(w)] = {cls, shaft, -1};
    return w;
  }
  void drop_wheel(int cls) {
    --k_.n_wheels;
    --used_[static_cast<std::size_t>(cls)];
  }

  /// Lays the mesh with its driver on the line `to`: on a new shaft, on the input's, or on one that is there.
  void lay(int o, int s, int driven, int i, Axis axis, Cross to, int misfit_um, const Step1& state) {
    const Pair& q = pair(i);
    if (!options_.count_all && least_cost() + least_rest(o, state) + misfit_um * Weights::misfit_um >= kept_.limit()) {
      return;
    }
    const int m = k_.n_meshes++;
    const bool was_parallel = tail_parallel_;
    tail_parallel_ = parallel(q.type);
    // Branches may join a shaft that stands.
    if (o > 0) {
      for (int x = 0; x < first_new_[o] && !done_; ++x) {
        SketchShaft& shaft = k_.shafts[static_cast<std::size_t>(x)];
        if (shaft.axis != axis || shaft.at != to || (shaft.output >= 0 && x != k_.input_shaft)) continue;
        join(o, x, driven, i, misfit_um, state, m);
      }
    }
    const bool arrive = o == 0 && state.meshes == depth_ && r_.reaches(0, axis, to) &&
                        (train_ == nullptr || (state.left == 0 && state.pending < 0));
    const bool go_on =
        state.meshes < most_meshes(o) && (train_ == nullptr || o > 0 || state.left > 0 || state.pending >= 0);
    if (!done_ && (arrive || go_on) && in_stock(q.driver)) {
      SketchShaft fresh{axis, to, -1};
      // Slots in which the driver can stand beside what it drives: for an input's shaft, before its motor; for
      // another's, where walls can hold it.
      Slots may = Slots::all(), before_motor = Slots::all();
      bool fits = true, as_input = arrive, as_shaft = go_on;
      if (parallel(q.type)) {
        const Plane& plane = r_.plane(axis);
        const int spread = p_.kit.wheels[static_cast<std::size_t>(q.driven)].width_hp -
                           p_.kit.wheels[static_cast<std::size_t>(q.driver)].width_hp;
        may = r_.free_slots(place(), q.driver, axis, to) &
              may_start_[static_cast<std::size_t>(driven)].spread(std::min(0, spread), std::max(0, spread));
        if (arrive) before_motor = may & r_.inputs_at(axis, to)->outgoing;
        if (arrive && before_motor.any() && !options_.explain && p_.outputs.size() == 1)
          before_motor = before_motor & r_.input_slots(*r_.inputs_at(axis, to), q.driver, idle());
        as_input = arrive && before_motor.any();
        as_shaft = go_on && (may & plane.held_slots(to)).any();
        fits = may.any() && wheel_clear(q.driver, fresh, -1);
      } else if (as_input) {
        const SketchShaft& across = k_.shafts[static_cast<std::size_t>(s)];
        as_input = r_.beyond_motor(place(), q, axis, to, lattice::point(across.axis, across.at, 0).at(axis));
      }
      if (!fits || (!as_input && !as_shaft)) {
        ++tally_.no_room[q.driver];
      } else {
        const int shaft = k_.n_shafts++;
        k_.shafts[static_cast<std::size_t>(shaft)] = fresh;
        through_[static_cast<std::size_t>(shaft)] = false;
        const int driver = add_wheel(q.driver, shaft);
        k_.meshes[static_cast<std::size_t>(m)] = {i, driver, driven, misfit_um};
        if (as_input) {
          may_start_[static_cast<std::size_t>(driver)] = before_motor;
          arrive_at_input(o, shaft, state);
        }
        may_start_[static_cast<std::size_t>(driver)] = may;
        if (as_shaft && !done_) {
          if (parallel(q.type)) may_start_[static_cast<std::size_t>(driver)] = may & r_.plane(axis).held_slots(to);
          extend(o, shaft, driver, state);
        }
        drop_wheel(q.driver);
        --k_.n_shafts;
      }
    }
    tail_parallel_ = was_parallel;
    --k_.n_meshes;
  }

  void arrive_at_input(int o, int shaft, const Step1& state) {
    base::Rational ratio(1);
    for (int m = 0; m < k_.n_meshes; ++m) ratio = ratio * pair(k_.meshes[static_cast<std::size_t>(m)].pair).ratio;
    if (!in_window(o, state.log, ratio, state.angles > 0)) return;
    k_.input_shaft = shaft;
    // Ranks from the input outwards: the walk went the other way.
    Rank rank;
    rank_[static_cast<std::size_t>(shaft)] = rank;
    for (int m = k_.n_meshes - 1; m >= 0; --m) {
      const SketchMesh& mesh = k_.meshes[static_cast<std::size_t>(m)];
      add_to(rank, mesh, m + 1 < k_.n_meshes && k_.meshes[static_cast<std::size_t>(m + 1)].driven == mesh.driver);
      const int on = k_.wheels[static_cast<std::size_t>(mesh.driven)].shaft;
      if (on >= 0) rank_[static_cast<std::size_t>(on)] = rank;
    }
    arrived(o);
    k_.input_shaft = -1;
  }

  void add_to(Rank& rank, const SketchMesh& mesh, bool idler) const {
    ++rank.meshes;
    rank.idlers += idler ? 1 : 0;
    rank.angles += parallel(pair(mesh.pair).type) ? 0 : 1;
    rank.log += r_.log_ratio[static_cast<std::size_t>(mesh.pair)];
  }

  /// The walk of output o ends on shaft x: with a wheel of its own there or with one that stands.
  void join(int o, int x, int driven, int i, int misfit_um, const Step1& state, int m) {
    const Pair& q = pair(i);
    const Rank& base = rank_[static_cast<std::size_t>(x)];
    if (base.meshes + state.meshes > p_.most_stages || base.angles + state.angles > p_.most_right_angles) return;
    base::Rational ratio = ratio_to(x);
    for (int k = first_mesh_[o]; k < m; ++k) ratio = ratio * pair(k_.meshes[static_cast<std::size_t>(k)].pair).ratio;
    ratio = ratio * q.ratio;
    if (!in_window(o, base.log + state.log, ratio, base.angles + state.angles > 0)) return;
    const auto finish = [&](int driver, bool idler) {
      if (base.idlers + state.idlers + (idler ? 1 : 0) > p_.most_idlers) return;
      k_.meshes[static_cast<std::size_t>(m)] = {i, driver, driven, misfit_um};
      Rank rank = base;
      for (int k = m; k >= first_mesh_[o]; --k) {
        const SketchMesh& mesh = k_.meshes[static_cast<std::size_t>(k)];
        add_to(rank, mesh, k < m ? k_.meshes[static_cast<std::size_t>(k + 1)].driven == mesh.driver : idler);
        const int on = k_.wheels[static_cast<std::size_t>(mesh.driven)].shaft;
        if (on >= 0) rank_[static_cast<std::size_t>(on)] = rank;
      }
      arrived(o);
    };
    if (in_stock(q.driver)) {
      const bool fits =
          !parallel(q.type) || (r_.plane(k_.shafts[static_cast<std::size_t>(x)].axis)
                                    .wheel_fits_somewhere(q.driver, k_.shafts[static_cast<std::size_t>(x)].at) &&
                                wheel_clear(q.driver, k_.shafts[static_cast<std::size_t>(x)], x));
      if (fits) {
        const int driver = add_wheel(q.driver, x);
        finish(driver, false);
        drop_wheel(q.driver);
      }
    }
    if (!parallel(q.type)) return;
    for (int w = 0; w < k_.n_wheels && !done_; ++w) {
      const SketchWheel& wheel = k_.wheels[static_cast<std::size_t>(w)];
      if (wheel.shaft != x || wheel.cls != q.driver || w == driven) continue;
      bool angled = false, is_driven = false;
      for (int k = 0; k < m; ++k) {
        const SketchMesh& mesh = k_.meshes[static_cast<std::size_t>(k)];
        if (mesh.driver != w && mesh.driven != w) continue;
        angled = angled || !parallel(pair(mesh.pair).type);
        is_driven = is_driven || mesh.driven == w;
      }
      if (!angled) finish(w, is_driven);
    }
  }

  /// Signed ratio from the input to a shaft that stands.
  [[nodiscard]] base::Rational ratio_to(int x) const {
    base::Rational ratio(1);
    int at = x;
    while (at != k_.input_shaft) {
      int via = -1;
      for (int m = 0; m < k_.n_meshes - 1; ++m) {
        const int on = k_.wheels[static_cast<std::size_t>(k_.meshes[static_cast<std::size_t>(m)].driven)].shaft;
        if (on == at) via = m;
      }
      KW_CHECK(via >= 0, "a shaft without a driven wheel");
      const SketchMesh& mesh = k_.meshes[static_cast<std::size_t>(via)];
      ratio = ratio * pair(mesh.pair).ratio;
      at = k_.wheels[static_cast<std::size_t>(mesh.driver)].shaft;
    }
    return ratio;
  }

  void arrived(int o) {
    if (o + 1 < static_cast<int>(p_.outputs.size())) {
      first_new_[o + 1] = k_.n_shafts;
      first_mesh_[o + 1] = k_.n_meshes;
      const bool tail = tail_parallel_;
      start_output(o + 1);
      tail_parallel_ = tail;
      k_.n_outputs = o + 1;
      return;
    }
    ++tally_.sketches;
    const SketchShaft& in = k_.shafts[static_cast<std::size_t>(k_.input_shaft)];
    const Ready::LineInputs& inputs = r_.inputs_of(*r_.inputs_at(in.axis, in.at));
    Layout layout;
    const bool any = options_.first_only;
    if (!filler().fill(k_, inputs, any ? std::numeric_limits<std::int64_t>::max() : kept_.limit(),
                       any                  ? Filler::Aim::any
                       : options_.count_all ? Filler::Aim::count
                                            : Filler::Aim::better,
                       &layout, p_.outputs.size() == 1 ? may_start_.data() : nullptr)) {
      ++tally_.obstacles[static_cast<std::size_t>(filler_->obstacle())];
      if (filler_->blame().first >= 0) ++tally_.blamed[filler_->blame()];
      return;
    }
    ++found_;
    done_ = done_ || any;
    if (layout.shafts.empty()) return;
    set_ratios(layout);
    kept_.add(std::move(layout));
  }

  void set_ratios(Layout& l) const {
    for (std::size_t o = 0; o < p_.outputs.size(); ++o) {
      base::Rational ratio(1);
      int idlers = 0;
      // Back along the driven wheels from the output.
      int wheel = -1, shaft = -1;
      const Place& place = p_.outputs[o].places[static_cast<std::size_t>(l.place[o])];
      for (std::size_t s = 0; s < l.shafts.size(); ++s)
        if (l.shafts[s].output == static_cast<int>(o)) shaft = static_cast<int>(s);
      if (place.ring >= 0)
        for (std::size_t w = 0; w < l.wheels.size(); ++w)
          if (l.wheels[w].shaft < 0 && l.wheels[w].wheel == place.ring && l.wheels[w].at == place.at)
            wheel = static_cast<int>(w);
      while (true) {
        int via = -1;
        for (std::size_t m = 0; m < l.meshes.size(); ++m) {
          const int driven = l.meshes[m].driven;
          if (wheel >= 0 ? driven == wheel : l.wheels[static_cast<std::size_t>(driven)].shaft == shaft)
            via = static_cast<int>(m);
        }
        if (via < 0) break;
        const PlacedMesh& mesh = l.meshes[static_cast<std::size_t>(via)];
        ratio = ratio * pair(mesh.pair).ratio;
        wheel = -1;
        shaft = l.wheels[static_cast<std::size_t>(mesh.driver)].shaft;
        for (const PlacedMesh& before : l.meshes)
          if (before.driven == mesh.driver) ++idlers;
      }
      l.ratios.push_back(ratio);
      l.idlers.push_back(idlers);
    }
  }

  const Ready& r_;
  const Problem& p_;
  const RouteOptions& options_;
  const base::RunControl& control_;
  /// Made when there is a sketch: most searches end before one.
  Filler& filler() {
    if (!filler_) filler_.emplace(r_, options_.explain);
    return *filler_;
  }
  /// One that fills nothing, for the tables.
  Filler& idle() {
    if (!idle_) idle_.emplace(r_, false);
    return *idle_;
  }
  [[nodiscard]] std::int64_t steps() const { return nodes_ + (filler_ ? filler_->steps() : 0); }

  std::optional<Filler> filler_, idle_;
  Kept kept_;
  Sketch k_;
  std::vector<Slots> may_start_;  ///< of each wheel of the sketch: slots not ruled out yet
  std::vector<int> used_;
  std::array<Rank, kMostShafts> rank_{};
  std::array<bool, kMostShafts> through_{};
  std::array<double, kMostOutputs> low_{}, high_{};
  std::array<int, kMostOutputs> first_new_{}, first_mesh_{};
  const std::vector<int>* train_ = nullptr;
  bool tail_parallel_ = true;
  int depth_ = 0;
  bool done_ = false, limited_ = false;
  std::string limit_text_;
  std::int64_t nodes_ = 0, found_ = 0;
  Tally tally_;
};

Router::Router(Problem problem) : ready_(std::make_unique<const Ready>(std::move(problem))) {}
Router::Router(Problem problem, const Router& same_room)
    : ready_(std::make_unique<const Ready>(std::move(problem), same_room.ready_->shared_ground)) {}
Router::~Router() = default;
Router::Router(Router&&) noexcept = default;
Router& Router::operator=(Router&&) noexcept = default;
const Problem& Router::problem() const {
  return ready_->problem;
}

bool Router::leads() const {
  const Problem& p = ready_->problem;
  const std::vector<Place>& places = p.outputs.front().places;
  for (std::size_t i = 0; i < places.size(); ++i)
    if (ready_->stands.front()[i] != 0 && ready_->reaches(p.most_stages, places[i].axis, places[i].at)) return true;
  return false;
}

Routes Router::routes(const std::vector<std::vector<int>>& trains, const RouteOptions& options,
                      const base::RunControl& control) const {
  if (ready_->blocked >= 0) {
    Routes none;
    if (options.explain) none.refusals = refusals_of(*ready_, trains, {});
    return none;
  }
  return RouteSearch(*ready_, options, control).run(trains);
}

Routes route(const Problem& problem, const RouteOptions& options, const base::RunControl& control) {
  return Router(problem).routes(problem.trains, options, control);
}

}  // namespace routing
