#include "routing/checker.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "base/text.h"
#include "routing/checker_parts.h"

namespace routing {
namespace {

using base::Rational;
using Faults = std::vector<std::string>;

template <class List>
bool in_range(int i, const List& list) {
  return i >= 0 && i < static_cast<int>(list.size());
}

template <class List>
auto& item(List& list, int i) {
  return list[static_cast<std::size_t>(i)];
}

/// Judges one layout, rule after rule; every method appends to faults_.
class Judge {
 public:
  Judge(const Problem& p, const Layout& l) : p_(p), l_(l) {}

  Faults structure() {
    if (indices_in_range() && tree_stands()) paths();
    return std::move(faults_);
  }

  Faults run() {
    if (!indices_in_range() || !tree_stands()) return std::move(faults_);
    paths();
    wheels_and_meshes();
    shafts();
    stock();
    clearances();
    figures();
    return std::move(faults_);
  }

 private:
  template <class... Args>
  void fault(fmt::format_string<Args...> text, Args&&... args) {
    faults_.push_back(fmt::format(text, std::forward<Args>(args)...));
  }

  [[nodiscard]] const Wheel& kind(const PlacedWheel& w) const { return item(p_.kit.wheels, w.wheel); }
  [[nodiscard]] const Pair& pair(const PlacedMesh& m) const { return item(p_.kit.pairs, m.pair); }
  [[nodiscard]] const Place& place(std::size_t o) const {
    return p_.outputs[o].places[static_cast<std::size_t>(l_.place[o])];
  }

  bool indices_in_range() {
    if (!in_range(l_.input, p_.inputs)) fault("index: input {}", l_.input);
    if (l_.place.size() != p_.outputs.size() || l_.ratios.size() != p_.outputs.size() ||
        l_.idlers.size() != p_.outputs.size()) {
      fault("index: places, ratios and idlers of {}, {} and {} outputs, the problem has {}", l_.place.size(),
            l_.ratios.size(), l_.idlers.size(), p_.outputs.size());
      return false;
    }
    for (std::size_t o = 0; o < p_.outputs.size(); ++o) {
      if (!in_range(l_.place[o], p_.outputs[o].places)) fault("index: place {} of output {}", l_.place[o], o);
    }
    if (l_.shafts.empty()) fault("index: no shaft");
    for (const PlacedShaft& s : l_.shafts) {
      if (!in_range(s.axle, p_.kit.axles)) fault("index: axle {}", s.axle);
      if (s.output != -1 && !in_range(s.output, p_.outputs)) fault("index: output {} of a shaft", s.output);
    }
    for (const PlacedWheel& w : l_.wheels) {
      if (!in_range(w.wheel, p_.kit.wheels)) fault("index: wheel class {}", w.wheel);
      if (w.shaft != -1 && !in_range(w.shaft, l_.shafts)) fault("index: shaft {} of a wheel", w.shaft);
    }
    for (const PlacedMesh& m : l_.meshes) {
      if (!in_range(m.pair, p_.kit.pairs) || !in_range(m.driver, l_.wheels) || !in_range(m.driven, l_.wheels))
        fault("index: mesh of pair {}, wheels {} and {}", m.pair, m.driver, m.driven);
    }
    return faults_.empty();
  }

  /// The train is a tree from the input, laid outwards, and every output is in it. Fills driven_by_.
  bool tree_stands() {
    driven_by_.assign(l_.shafts.size(), -1);
    ring_driven_by_.assign(l_.wheels.size(), -1);
    std::vector<int> uses(l_.wheels.size(), 0);
    for (std::size_t i = 0; i < l_.meshes.size(); ++i) {
      const PlacedMesh& m = l_.meshes[i];
      const PlacedWheel &a = item(l_.wheels, m.driver), &b = item(l_.wheels, m.driven);
      if (pair(m).driver != a.wheel || pair(m).driven != b.wheel)
        fault("tree: mesh {} is pair {}, but its wheels are {} and {}", i, m.pair, kind(a).name, kind(b).name);
      ++item(uses, m.driver);
      ++item(uses, m.driven);
      if (a.shaft < 0) {
        fault("tree: mesh {} is driven by the ring {}", i, kind(a).name);
        continue;
      }
      if (a.shaft != 0 && item(driven_by_, a.shaft) < 0)
        fault("tree: mesh {} drives from shaft {}, which does not turn yet", i, a.shaft);
      int& driven = b.shaft < 0 ? item(ring_driven_by_, m.driven) : item(driven_by_, b.shaft);
      if (b.shaft == 0 || driven >= 0)
        fault("tree: mesh {} drives {}, which turns already", i,
              b.shaft < 0 ? "the ring " + kind(b).name : fmt::format("shaft {}", b.shaft));
      driven = static_cast<int>(i);
    }
    for (std::size_t w = 0; w < l_.wheels.size(); ++w) {
      const PlacedWheel& wheel = l_.wheels[w];
      if (uses[w] == 0) fault("tree: wheel {} meshes with nothing", kind(wheel).name);
      if (kind(wheel).ring != (wheel.shaft < 0))
        fault("tree: wheel {} {} a shaft", kind(wheel).name, wheel.shaft < 0 ? "needs" : "is a ring and needs no");
      if (wheel.shaft >= 0 &&
          (item(l_.shafts, wheel.shaft).axis != wheel.axis || item(l_.shafts, wheel.shaft).at != wheel.at))
        fault("tree: wheel {} is not on the line of its shaft {}", kind(wheel).name, wheel.shaft);
    }
    for (std::size_t s = 0; s < l_.shafts.size(); ++s) {
      if (l_.shafts[s].input != (s == 0)) fault("tree: shaft {} is {}marked as the input", s, s == 0 ? "not " : "");
      if (s > 0 && driven_by_[s] < 0) fault("tree: nothing drives shaft {}", s);
    }
    for (const Terminal& t : item(p_.inputs, l_.input).motors) {
      if (t.axis != l_.shafts[0].axis || lattice::across(t.axis, t.face) != l_.shafts[0].at)
        fault("tree: the input's shaft is not on the line of {}", t.name);
    }
    end_of_.assign(p_.outputs.size(), {-1, -1});
    for (std::size_t o = 0; o < p_.outputs.size(); ++o) find_end(o);
    return faults_.empty();
  }

  struct End {
    int shaft, ring;  ///< of the layout; one of them is -1
  };

  void find_end(std::size_t o) {
    const Place& want = place(o);
    if (want.ring >= 0) {
      for (std::size_t w = 0; w < l_.wheels.size(); ++w) {
        const PlacedWheel& ring = l_.wheels[w];
        const bool taken =
            std::any_of(end_of_.begin(), end_of_.end(), [w](const End& e) { return e.ring == static_cast<int>(w); });
        if (!taken && ring.shaft < 0 && ring.wheel == want.ring && ring.axis == want.axis && ring.at == want.at &&
            ring.from_hp == want.ring_from_hp)
          end_of_[o].ring = static_cast<int>(w);
      }
      if (end_of_[o].ring < 0) fault("output: the ring of {} is not at its place", p_.outputs[o].name);
      return;
    }
    for (std::size_t s = 0; s < l_.shafts.size(); ++s) {
      if (l_.shafts[s].output != static_cast<int>(o)) continue;
      if (end_of_[o].shaft >= 0) fault("output: {} has two shafts", p_.outputs[o].name);
      end_of_[o].shaft = static_cast<int>(s);
      if (l_.shafts[s].axis != want.axis || l_.shafts[s].at != want.at)
        fault("output: the shaft of {} is along {} at {},{}, its place along {} at {},{}", p_.outputs[o].name,
              lattice::letter(l_.shafts[s].axis), l_.shafts[s].at.u_hp, l_.shafts[s].at.v_hp,
              lattice::letter(want.axis), want.at.u_hp, want.at.v_hp);
    }
    if (end_of_[o].shaft < 0) fault("output: {} has no shaft", p_.outputs[o].name);
  }

  /// Meshes from the input to an output.
  [[nodiscard]] std::vector<int> path_to(const End& end) const {
    std::vector<int> path;
    int mesh = end.shaft >= 0 ? item(driven_by_, end.shaft) : item(ring_driven_by_, end.ring);
    while (mesh >= 0) {
      path.insert(path.begin(), mesh);
      mesh = item(driven_by_, item(l_.wheels, item(l_.meshes, mesh).driver).shaft);
    }
    return path;
  }

  void paths() {
    std::vector<bool> used(l_.meshes.size(), false);
    for (std::size_t o = 0; o < p_.outputs.size(); ++o) {
      const Output& out = p_.outputs[o];
      const std::vector<int> path = path_to(end_of_[o]);
      Rational ratio{1};
      int angles = 0, idlers = 0;
      for (std::size_t i = 0; i < path.size(); ++i) {
        const PlacedMesh& m = item(l_.meshes, path[i]);
        used[static_cast<std::size_t>(path[i])] = true;
        ratio = ratio * pair(m).ratio;
        angles += parallel(pair(m).type) ? 0 : 1;
        idlers += i > 0 && item(l_.meshes, path[i - 1]).driven == m.driver ? 1 : 0;
      }
      if (static_cast<int>(path.size()) > p_.most_stages)
        fault("stages: {} meshes to {}, {} are allowed", path.size(), out.name, p_.most_stages);
      if (idlers > p_.most_idlers) fault("idlers: {} to {}, {} are allowed", idlers, out.name, p_.most_idlers);
      if (angles > p_.most_right_angles)
        fault("right angles: {} to {}, {} are allowed", angles, out.name, p_.most_right_angles);
      if (l_.idlers[o] != idlers) fault("idlers: {} are written for {}, there are {}", l_.idlers[o], out.name, idlers);
      if (l_.ratios[o] != ratio)
        fault("ratio: {} is written for {}, its pairs give {}", l_.ratios[o].text(), out.name, ratio.text());
      if (ratio.abs() < out.low || ratio.abs() > out.high)
        fault("ratio: {} of {} is outside {}..{}", ratio.text(), out.name, out.low.text(), out.high.text());
      if (out.sense != 0 && angles == 0 && (ratio > Rational{0}) != (out.sense > 0))
        fault("sense: {} turns with {}, wanted {}", out.name, ratio.text(), out.sense);
      if (o == 0 && !p_.trains.empty()) bound_train(path);
      for (const PlacedMesh& m : l_.meshes) {
        if (end_of_[o].shaft > 0 && item(l_.wheels, m.driver).shaft == end_of_[o].shaft)
          fault("branch: the shaft of {} drives on", out.name);
      }
    }
    for (std::size_t i = 0; i < used.size(); ++i) {
      if (!used[i]) fault("tree: mesh {} leads to no output", i);
    }
  }

  /// Runs of meshes over idlers, each from its first driver to its last driven wheel, are the pairs of a given train.
  void bound_train(const std::vector<int>& path) {
    std::vector<std::vector<int>> runs;
    for (std::size_t i = 0; i < path.size(); ++i) {
      if (i > 0 && item(l_.meshes, path[i - 1]).driven == item(l_.meshes, path[i]).driver) {
        runs.back().push_back(path[i]);
      } else {
        runs.push_back({path[i]});
      }
    }
    const auto is_pair = [&](const std::vector<int>& run, int wanted) {
      const PlacedMesh &first = item(l_.meshes, run.front()), &last = item(l_.meshes, run.back());
      const Pair& want = item(p_.kit.pairs, wanted);
      if (run.size() == 1) return first.pair == wanted;
      return parallel(want.type) && pair(first).driver == want.driver && pair(last).driven == want.driven &&
             pair(last).type == want.type;
    };
    for (const std::vector<int>& train : p_.trains) {
      if (train.size() == runs.size() && std::equal(runs.begin(), runs.end(), train.begin(), is_pair)) return;
    }
    fault("trains: the pairs to {} are none of the {} given trains", p_.outputs[0].name, p_.trains.size());
  }

  void wheels_and_meshes() {
    std::vector<int> meshes(l_.wheels.size(), 0), angles(l_.wheels.size(), 0);
    for (const PlacedMesh& m : l_.meshes) {
      std::string why = mesh_fault(p_, item(l_.wheels, m.driver), item(l_.wheels, m.driven), m);
      if (!why.empty()) faults_.push_back(std::move(why));
      for (int w : {m.driver, m.driven}) {
        ++item(meshes, w);
        item(angles, w) += parallel(pair(m).type) ? 0 : 1;
        const PlacedWheel& wheel = item(l_.wheels, w);
        if (parallel(pair(m).type) && beyond_walls(p_, wheel.axis, {wheel.from_hp, wheel.to_hp}))
          fault("walls: wheel {} at {:.3g}..{:.3g} hp stands beyond the outermost walls", kind(wheel).name,
                wheel.from_hp, wheel.to_hp);
      }
    }
    for (std::size_t w = 0; w < l_.wheels.size(); ++w) {
      if (angles[w] > 0 && meshes[w] > 1)
        fault("mesh: wheel {} meshes at a right angle and elsewhere too", kind(l_.wheels[w]).name);
    }
  }

  void shafts() {
    for (std::size_t s = 0; s < l_.shafts.size(); ++s) {
      const PlacedShaft& shaft = l_.shafts[s];
      const std::string name =
          fmt::format("shaft {} along {} at {},{}", s, lattice::letter(shaft.axis), shaft.at.u_hp, shaft.at.v_hp);
      const ShaftLoad load = load_of(p_, l_, static_cast<int>(s));
      const Holding held = holding(p_, load, shaft.support);
      if (shaft.motors != static_cast<int>(load.terminals.size()))
        fault("terminals: {} are written for {}, {} hold it", shaft.motors, name, load.terminals.size());
      if (!held.fault.empty()) {
        fault("{} ({})", held.fault, name);
        continue;
      }
      if (shaft.bearings_hp != held.bearings_hp)
        fault("bearings: {} has {}, the rules give {}", name, numbers(shaft.bearings_hp), numbers(held.bearings_hp));
      if (shaft.bushes_hp != held.bushes_hp)
        fault("bushes: {} has {}, the rules give {}", name, numbers(shaft.bushes_hp), numbers(held.bushes_hp));
      if (shaft.to_hp - shaft.from_hp != 2 * item(p_.kit.axles, shaft.axle).length_p)
        fault("axle: {}..{} hp on {}, but the part is {} pitches long", shaft.from_hp, shaft.to_hp, name,
              item(p_.kit.axles, shaft.axle).length_p);
      fault_of_joint(shaft, load, name);
      const std::string why = axle_fault(p_, shaft.axis, held, shaft.from_hp, shaft.to_hp);
      if (!why.empty()) fault("{} ({})", why, name);
      for (const PlacedWheel& w : l_.wheels) {
        if (w.shaft != static_cast<int>(s)) continue;
        const bool overhung = !held_on_both_sides(load, held.bearings_hp, {w.from_hp, w.to_hp});
        if (w.overhung != overhung)
          fault("overhung: wheel {} on {} is {}held on both sides", kind(w).name, name, overhung ? "not " : "");
      }
    }
    for (const PlacedWheel& w : l_.wheels) {
      if (w.shaft >= 0) continue;
      if (w.overhung) fault("overhung: the ring {} has no shaft", kind(w).name);
      for (int wall : p_.walls.along(w.axis)) {
        if (overlaps({w.from_hp, w.to_hp}, {wall - 1.0, wall + 1.0}))
          fault("walls: the ring {} at {:.3g}..{:.3g} hp is in the wall at {} hp", kind(w).name, w.from_hp, w.to_hp,
                wall);
      }
    }
  }

  /// A joined axle is as long as its parts; its joiner is clear of walls and of what lies behind a face.
  void fault_of_joint(const PlacedShaft& shaft, const ShaftLoad& load, const std::string& name) {
    const AxleStock& axle = item(p_.kit.axles, shaft.axle);
    if (!axle.joined()) return;
    const int low_p = item(p_.kit.axles, axle.low_part).length_p, high_p = item(p_.kit.axles, axle.high_part).length_p;
    if (low_p + high_p != axle.length_p)
      fault("joiner: {} + {} pitches are not the {} of {}", low_p, high_p, axle.length_p, name);
    const double joint_hp = shaft.from_hp + 2.0 * low_p, half = p_.kit.joiner_hp / 2.0;
    for (const int w : p_.walls.along(shaft.axis))
      if (overlaps({joint_hp - half, joint_hp + half}, {w - 1.0, w + 1.0}))
        fault("joiner: at {:.4g} hp it is in the wall at {} hp ({})", joint_hp, w, name);
    for (const Terminal* t : load.terminals) {
      const double face_hp = t->face.at(shaft.axis);
      if (t->direction > 0 ? joint_hp - half < face_hp - kTouchHp : joint_hp + half > face_hp + kTouchHp)
        fault("joiner: at {:.4g} hp it reaches behind the face of {} ({})", joint_hp, t->name, name);
    }
  }

  static std::string numbers(const std::vector<int>& list) {
    std::vector<std::string> words;
    for (int i : list) words.push_back(std::to_string(i));
    return words.empty() ? "none" : base::list_text(words);
  }

  void stock() {
    std::map<int, int> wheels, axles;
    for (const PlacedWheel& w : l_.wheels) wheels[w.wheel] += p_.kit.copies;
    int joiners = 0;
    for (const PlacedShaft& s : l_.shafts) {
      const AxleStock& axle = item(p_.kit.axles, s.axle);
      if (!axle.joined()) {
        axles[s.axle] += p_.kit.copies;
        continue;
      }
      for (const int part : {axle.low_part, axle.high_part}) axles[part] += p_.kit.copies;
      joiners += p_.kit.copies;
    }
    if (joiners > p_.kit.joiners) fault("stock: {} joiners, {} in stock", joiners, p_.kit.joiners);
    for (const auto& [w, pieces] : wheels) {
      if (pieces > item(p_.kit.wheels, w).count)
        fault("stock: {} wheels {}, {} in stock", pieces, item(p_.kit.wheels, w).name, item(p_.kit.wheels, w).count);
    }
    for (const auto& [a, pieces] : axles) {
      if (pieces > item(p_.kit.axles, a).count)
        fault("stock: {} axles of {} pitches, {} in stock", pieces, item(p_.kit.axles, a).length_p,
              item(p_.kit.axles, a).count);
    }
  }

  void clearances() {
    const std::vector<Solid> solids = solids_of(p_, l_);
    const std::vector<UsedTerminal> used = terminals_of(p_, l_);
    const Block box = block(p_.box, p_.kit.half_pitch_mm());
    for (std::size_t i = 0; i < solids.size(); ++i) {
      if (solids[i].in_box && !inside(*solids[i].in_box, box))
        fault("box: {} ({}) leaves the box", name_of(p_, l_, solids[i]), place_text(*solids[i].in_box));
      for (std::size_t j = 0; j < i; ++j) {
        if (solids_clash(p_, l_.meshes, used, solids[j], solids[i]))
          fault("clash: {} ({}) and {} ({})", name_of(p_, l_, solids[j]), place_text(solids[j].shape),
                name_of(p_, l_, solids[i]), place_text(solids[i].shape));
      }
    }
  }

  void figures() {
    const Figures f = figures_of(p_, l_);
    for (Axis a : lattice::kAxes) {
      if (l_.envelope.low.at(a) != f.envelope.low.at(a) || l_.envelope.high.at(a) != f.envelope.high.at(a))
        fault("envelope: {}..{} hp along {} is written, the solids span {}..{}", l_.envelope.low.at(a),
              l_.envelope.high.at(a), lattice::letter(a), f.envelope.low.at(a), f.envelope.high.at(a));
    }
    if (l_.cost != f.cost) fault("cost: {} is written, the rules give {}", l_.cost, f.cost);
  }

  const Problem& p_;
  const Layout& l_;
  Faults faults_;
  std::vector<int> driven_by_;       ///< per shaft: the mesh that drives it
  std::vector<int> ring_driven_by_;  ///< per wheel: the same for rings
  std::vector<End> end_of_;
};

}  // namespace

std::vector<std::string> check(const Problem& problem, const Layout& layout) {
  return Judge(problem, layout).run();
}

std::vector<std::string> check_structure(const Problem& problem, const Layout& layout) {
  return Judge(problem, layout).structure();
}

Figures figures_of(const Problem& problem, const Layout& layout) {
  Figures f;
  std::vector<bool> angle(layout.wheels.size(), false);
  for (const PlacedMesh& m : layout.meshes) {
    f.cost += Weights::misfit_um * m.misfit_um;
    const PairType type = item(problem.kit.pairs, m.pair).type;
    if (type == PairType::bevel || type == PairType::crown) {
      angle[static_cast<std::size_t>(m.driver)] = true;
      angle[static_cast<std::size_t>(m.driven)] = true;
    }
  }
  for (std::size_t w = 0; w < layout.wheels.size(); ++w) {
    if (layout.wheels[w].shaft < 0) continue;
    f.cost += Weights::part;
    if (layout.wheels[w].overhung) f.cost += angle[w] ? Weights::overhung_angle : Weights::overhung;
  }
  for (const PlacedShaft& s : layout.shafts) {
    f.cost += Weights::part * (1 + static_cast<std::int64_t>(s.bushes_hp.size()));
    f.cost += Weights::bearing * static_cast<std::int64_t>(s.bearings_hp.size());
    const AxleStock& axle = item(problem.kit.axles, s.axle);
    f.cost += Weights::axle_pitch * axle.length_p;
    if (axle.joined()) f.cost += 2 * Weights::part;  // the second axle and the joiner
  }
  std::optional<Block> round;
  for (const Solid& s : solids_of(problem, layout)) {
    if (!s.in_box) continue;
    if (!round) round = s.in_box;
    for (std::size_t a = 0; a < 3; ++a) {
      round->mm[a].low = std::min(round->mm[a].low, s.in_box->mm[a].low);
      round->mm[a].high = std::max(round->mm[a].high, s.in_box->mm[a].high);
    }
  }
  if (!round) return f;
  const double half = problem.kit.half_pitch_mm();
  for (Axis a : lattice::kAxes) {
    const Interval mm = round->mm[static_cast<std::size_t>(lattice::index(a))];
    f.envelope.low.set(a, static_cast<int>(std::floor((mm.low + kTouchMm) / half)));
    f.envelope.high.set(a, static_cast<int>(std::ceil((mm.high - kTouchMm) / half)));
    f.cost += Weights::envelope_hp * (f.envelope.high.at(a) - f.envelope.low.at(a));
  }
  return f;
}

std::vector<std::string> check_mirrored(const Problem& problem, const Layout& layout, Axis axis, int plane_hp) {
  Faults faults;
  std::vector<Solid> solids = solids_of(problem, layout);
  std::erase_if(solids, [](const Solid& s) { return s.kind == SolidKind::keep_out; });
  for (const Solid& a : solids) {
    for (const Solid& b : solids) {
      const Shape image = mirrored(b.shape, axis, plane_hp * problem.kit.half_pitch_mm());
      if (clash(a.shape, image, problem.kit.clearance_mm))
        faults.push_back(fmt::format("mirror: {} ({}) and the image of {} ({})", name_of(problem, layout, a),
                                     place_text(a.shape), name_of(problem, layout, b), place_text(image)));
    }
  }
  return faults;
}

}  // namespace routing
