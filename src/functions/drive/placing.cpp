#include "functions/drive/placing.h"

#include <algorithm>
#include <iterator>
#include <numeric>
#include <set>
#include <utility>

#include "assembly/order.h"
#include "base/check.h"
#include "base/parallel.h"
#include "base/text.h"
#include "functions/drive/gears.h"
#include "functions/drive/route_kit.h"

#include <fmt/format.h>

namespace functions::drive {
namespace {

constexpr int kStyles = static_cast<int>(std::size(kWallStyles));
/// One bridges what a mesh lacks; with two the search grows faster than what it finds.
constexpr int kIdlers = 1;

/// Wall styles in the order that a train is likely to fit: a worm is as long as two narrow bays.
std::vector<int> styles_for(const gearing::Train& train) {
  std::vector<int> order(kStyles);
  std::iota(order.begin(), order.end(), 0);
  if (train.has(gearing::MeshType::worm)) std::reverse(order.begin(), order.end());
  return order;
}

/// Any ratio: the train that is given sets it.
const base::Rational kSlowest(1, 1'000'000), kFastest(1'000'000);

}  // namespace

Placers::Placers(const brief::Brief& brief, const brief::Function& function, int most_stages)
    : brief_(brief),
      parts_(std::make_shared<const HoldingParts>(holding_parts(brief, function))),
      most_stages_(std::max(1, most_stages)) {
  const std::vector<gearing::GearStock> gears = gears_for(brief, function);
  std::vector<stock::ClassId> classes;
  for (const gearing::GearStock& g : gears) classes.push_back(g.part);
  table_ = gearing::find_meshes(*brief.catalogue, classes);
  kit_ = route_kit(brief, function, table_, gears, function.sides);
  joined_kit_ = kit_;
  routing::join_axles(joined_kit_);
  step_hp_ = longest_offset_hp(kit_);
  // Along a right angle a train also spans the length of a shaft; four bays are more than any needs.
  reach_hp_ = most_stages_ * step_hp_ + 16;
}

Placers::~Placers() = default;

Placed Placers::placed(const std::shared_ptr<const Site>& site, const routing::Router& router, stock::ClassId motor,
                       routing::Layout layout, std::vector<int> train) const {
  const routing::Problem& from = router.problem();
  auto problem = std::make_shared<routing::Problem>();
  problem->kit = from.kit;
  problem->box = from.box;
  problem->walls = from.walls;
  problem->keep_outs = from.keep_outs;
  problem->inputs = {routing::input_of(from, layout.input)};
  for (routing::Terminal& t : problem->inputs.front().motors) t.name = brief_.catalogue->at(motor).name;
  for (std::size_t o = 0; o < from.outputs.size(); ++o) {
    routing::Output out = from.outputs[o];
    out.places = {out.places.at(static_cast<std::size_t>(layout.place.at(o)))};
    if (o == 0) out.low = out.high = layout.ratios.at(o).abs();
    problem->outputs.push_back(std::move(out));
    layout.place[o] = 0;
  }
  layout.input = 0;
  problem->trains = {std::move(train)};
  problem->most_stages = from.most_stages;
  problem->most_idlers = from.most_idlers;
  problem->most_right_angles = from.most_right_angles;
  layout.cost = routing::cost_of(*problem, layout);
  return {site, std::move(problem), std::make_shared<const routing::Layout>(std::move(layout)), {}, parts_};
}

routing::Problem Placers::problem(const Site& site, stock::ClassId motor, int motors, int style, Help help) const {
  const int idlers = help == Help::idlers ? kIdlers : 0;
  routing::Problem problem =
      problem_of(site, help == Help::joined ? joined_kit_ : kit_, brief_.catalogue->at(motor), motors,
                 kWallStyles[style], most_stages_ + idlers, reach_hp_ + idlers * step_hp_);
  problem.most_idlers = idlers;
  problem.most_right_angles = kMostRightAngles;
  if (problem.outputs.size() == 1) {
    problem.outputs.front().low = kSlowest;
    problem.outputs.front().high = kFastest;
  }
  return problem;
}

Placers::Stands Placers::stands_once(const Powertrain& p, const Site& site, const base::RunControl& control) const {
  Stands out = Stands::no;
  for (const int style : styles_for(p.train)) {
    const routing::Router once(problem(site, p.motor, p.motors, style));
    if (!routing::has_inputs(once.problem())) continue;
    const routing::Routes found =
        once.routes({pairs_of(p.train, table_)},
                    {.best = 1, .max_steps = kStepsToFirst, .first_only = true, .explain = false}, control);
    if (!found.layouts.empty()) return Stands::yes;
    if (!found.complete) out = Stands::not_known;
  }
  return out;
}

const routing::Router* Placers::router(const std::shared_ptr<const Site>& site, stock::ClassId motor, int motors,
                                       int style, Help help) {
  Made* made = nullptr;
  {
    const std::lock_guard lock(guard_);
    std::unique_ptr<Made>& entry = routers_[Key{site.get(), motor, motors, style, help}];
    if (entry == nullptr) {
      entry = std::make_unique<Made>();
      if (std::find(sites_.begin(), sites_.end(), site) == sites_.end()) sites_.push_back(site);
    }
    made = entry.get();
  }
  std::call_once(made->once, [&] {
    routing::Problem whole = problem(*site, motor, motors, style, help);
    if (!routing::has_inputs(whole)) return;
    const std::pair room{site.get(), style};
    const routing::Router* beside = nullptr;
    {
      const std::lock_guard lock(guard_);
      if (const auto at = of_room_.find(room); at != of_room_.end()) beside = at->second;
    }
    made->router = beside != nullptr ? std::make_unique<const routing::Router>(std::move(whole), *beside)
                                     : std::make_unique<const routing::Router>(std::move(whole));
    const std::lock_guard lock(guard_);
    of_room_.emplace(room, made->router.get());
  });
  return made->router.get();
}

std::optional<Placers::First> Placers::known(const Key& key, const std::vector<int>& pairs) {
  const std::lock_guard lock(guard_);
  const auto at = known_.find({key, pairs});
  return at == known_.end() ? std::nullopt : std::optional(at->second);
}

Placers::First Placers::first(stock::ClassId motor, int motors, const std::shared_ptr<const Site>& site,
                              const std::vector<gearing::Train>& trains, const base::RunControl& control) {
  First out;
  std::vector<std::vector<int>> pairs;
  for (const gearing::Train& t : trains) pairs.push_back(pairs_of(t, table_));
  const Key key{site.get(), motor, motors, 0, Help::none};
  if (trains.size() == 1) {
    if (std::optional<First> before = known(key, pairs.front())) return *std::move(before);
  }
  const auto answer = [&]() -> First {
    const std::lock_guard lock(guard_);
    if (trains.size() == 1 && out.complete) known_.emplace(std::pair{key, pairs.front()}, out);
    // Of several orders the one that can be built will be asked for again.
    if (trains.size() > 1 && out.train >= 0)
      known_.emplace(std::pair{key, pairs[static_cast<std::size_t>(out.train)]}, First{0, out.placed, true});
    return out;
  };
  routing::RouteOptions options;
  options.best = 1;
  options.first_only = true;
  options.explain = false;
  options.max_steps = kStepsToFirst;
  for (const int style : styles_for(trains.front())) {
    const routing::Router* const r = router(site, motor, motors, style);
    if (r == nullptr) continue;
    routing::Routes found = r->routes(pairs, options, control);
    if (!found.layouts.empty()) {
      std::vector<int> used;
      for (const routing::PlacedMesh& m : found.layouts.front().meshes) used.push_back(m.pair);
      const auto at = std::find(pairs.begin(), pairs.end(), used);
      KW_CHECK(at != pairs.end(), "a layout has one of the trains it was asked for");
      out.train = static_cast<int>(at - pairs.begin());
      out.placed = std::make_shared<const Placed>(this->placed(site, *r, motor, std::move(found.layouts.front()), *at));
      return answer();
    }
    out.lacked_axle = out.lacked_axle || found.lacked_axle > 0;
    if (found.complete) continue;
    if (control.stopped()) {
      out.complete = false;
    } else {
      out.ended = true;
    }
  }
  return answer();
}

namespace {

/// What a train with idlers is remembered by: its meshes, then which of them an idler drives.
std::vector<int> row_of(const gearing::Train& train, const gearing::MeshTable& table) {
  std::vector<int> row = pairs_of(train, table);
  row.push_back(-1);
  for (const std::size_t stage : train.idlers) row.push_back(static_cast<int>(stage));
  return row;
}
/// The place of a key's number of the wall style says that it is of a train as it was laid out.
template <class Key>
Key laid_out(Key key) {
  std::get<3>(key) = kStyles;
  return key;
}

}  // namespace

std::vector<Placed> Placers::helped(Help help, const Powertrain& p, const std::shared_ptr<const Site>& site, int count,
                                    const Powertrain* like, First* ended, const base::RunControl& control) {
  // Of some layouts the first that goes together is taken: long axles and idlers are locked in at times.
  constexpr int kSpareLayouts = 8;
  std::vector<Placed> out;
  const std::optional<gearing::Train> plain = p.train.without_idlers(table_);
  KW_CHECK(plain.has_value(), "idlers stand between wheels that mesh");
  const std::vector<int> pairs = pairs_of(*plain, table_);
  // What stands without help is first()'s.
  const auto fitting = [&](const Placed& at) {
    const gearing::Train train = trains_of(at, table_).front();
    if (like != nullptr) return joiners_in(at) == like->joiners && row_of(train, table_) == row_of(like->train, table_);
    return help == Help::joined ? joiners_in(at) > 0 : !train.idlers.empty();
  };
  routing::RouteOptions options;
  options.explain = false;
  for (const int style : styles_for(p.train)) {
    const routing::Router* const r = router(site, p.motor, p.motors, style, help);
    if (r == nullptr || !r->leads()) continue;
    for (const bool first : {true, false}) {
      if (first && like != nullptr) continue;
      options.first_only = first;
      options.best = first ? 1 : count + kSpareLayouts;
      options.max_steps = like == nullptr ? kStepsToFirst : kStepsToBest;
      routing::Routes found = r->routes({pairs}, options, control);
      if (ended != nullptr && !found.complete && found.layouts.empty()) {
        if (control.stopped()) {
          ended->complete = false;
        } else {
          ended->ended = true;
        }
      }
      for (routing::Layout& layout : found.layouts) {
        Placed at = placed(site, *r, p.motor, std::move(layout), pairs);
        if (!fitting(at) || !assembly::order_of(*at.problem, *at.layout).complete()) continue;
        if (!found.complete) at.limit_text = found.limit_text;
        out.push_back(std::move(at));
        if (out.size() >= static_cast<std::size_t>(count)) return out;
      }
      if (found.layouts.empty()) break;
    }
  }
  return out;
}

bool may_help(Help help, const gearing::Train& train, const routing::Kit& kit) {
  if (help == Help::joined) return kit.joiners >= kit.copies;
  return train.stages.size() + kIdlers <= routing::kMostStages &&
         std::any_of(train.stages.begin(), train.stages.end(),
                     [](const gearing::Stage& s) { return !gearing::right_angle(s.type); });
}

Placers::First Placers::with_help(Help help, const Powertrain& p, const std::shared_ptr<const Site>& site,
                                  const base::RunControl& control) {
  const std::pair key{Key{site.get(), p.motor, p.motors, 0, help}, pairs_of(p.train, table_)};
  if (std::optional<First> before = known(key.first, key.second)) return *std::move(before);
  First out;
  if (!may_help(help, p.train, kit_)) return out;
  std::vector<Placed> places = helped(help, p, site, 1, nullptr, &out, control);
  if (!places.empty()) {
    out.train = 0;
    out.placed = std::make_shared<const Placed>(std::move(places.front()));
    out.complete = true;
    out.ended = false;
  }
  const std::lock_guard lock(guard_);
  if (out.complete) {
    known_.emplace(key, out);
    // It will be asked for as it is laid out.
    if (out.placed != nullptr)
      known_.emplace(std::pair{laid_out(key.first), row_of(trains_of(*out.placed, table_).front(), table_)}, out);
  }
  return out;
}

std::string Placers::refusal(stock::ClassId motor, int motors, const std::shared_ptr<const Site>& site,
                             const gearing::Train& train, const base::RunControl& control) {
  for (const int style : styles_for(train)) {
    const routing::Router* const r = router(site, motor, motors, style);
    if (r == nullptr) {
      const routing::Problem none = problem(*site, motor, motors, style);
      if (const int output = routing::blocked_output(none); output >= 0) return routing::blocked_text(none, output);
      continue;
    }
    const routing::Routes found =
        r->routes({pairs_of(train, table_)},
                  {.best = 1, .max_steps = kStepsToFirst, .first_only = true, .explain = true}, control);
    if (!found.complete) return fmt::format("no layout was found in {} steps of the search", kStepsToFirst);
    if (!found.refusals.empty()) return found.refusals.front().text;
  }
  const auto& body = std::get<stock::Motor>(brief_.catalogue->at(motor).data);
  return fmt::format("the motor, {} x {} x {} pitches, finds no place with its face at a wall in {} p", body.length_p,
                     body.width_p, body.height_p, lattice::pitches_text(site->room));
}

std::vector<Placed> Placers::best(const Powertrain& p, const std::shared_ptr<const Site>& site, int count,
                                  const base::RunControl& control) {
  std::vector<Placed> out;
  const std::vector<int> pairs = pairs_of(p.train, table_);
  const Help help = !p.train.idlers.empty() ? Help::idlers : p.joiners > 0 ? Help::joined : Help::none;
  const Key key_of_first{site.get(), p.motor, p.motors, 0, help};
  const std::optional<First> before =
      help == Help::none ? known(key_of_first, pairs) : known(laid_out(key_of_first), row_of(p.train, table_));
  if (count == 1 && before && before->placed != nullptr) {
    Placed only = *before->placed;
    only.limit_text = "ended at the first";
    return {std::move(only)};
  }
  if (help != Help::none) out = helped(help, p, site, count, &p, nullptr, control);
  routing::RouteOptions options;
  options.explain = false;
  options.best = count;
  options.max_steps = kStepsToBest;
  for (const int style : styles_for(p.train)) {
    if (help != Help::none) break;
    const routing::Router* const r = router(site, p.motor, p.motors, style);
    if (r == nullptr) continue;
    routing::Routes found = r->routes({pairs}, options, control);
    for (routing::Layout& layout : found.layouts) {
      out.push_back(placed(site, *r, p.motor, std::move(layout), pairs));
      if (!found.complete) out.back().limit_text = found.limit_text;
    }
    if (out.size() >= static_cast<std::size_t>(count)) break;
  }
  // The one that showed that it can be built is beyond the steps allowed here at times.
  if (out.empty() && before && before->placed != nullptr) {
    out.push_back(*before->placed);
    out.back().limit_text = fmt::format("ended after {} steps; layouts beyond are not known", kStepsToBest);
  }
  const auto key = [](const Placed& x) { return routing::key_of(*x.problem, *x.layout); };
  std::stable_sort(out.begin(), out.end(), [&](const Placed& a, const Placed& b) {
    return a.layout->cost != b.layout->cost ? a.layout->cost < b.layout->cost : key(a) < key(b);
  });
  const auto same = [&](const Placed& a, const Placed& b) { return key(a) == key(b); };
  out.erase(std::unique(out.begin(), out.end(), same), out.end());
  if (out.size() > static_cast<std::size_t>(count)) out.resize(static_cast<std::size_t>(count));
  return out;
}

namespace {

/// Holes that a train of parallel shafts can lead to from a line, nearest first and at most so many.
constexpr std::size_t kMostHoles = 64;
std::vector<lattice::Cross> holes_from(lattice::Cross start, const std::vector<int>& pairs, const routing::Kit& kit) {
  std::set<lattice::Cross> at{start};
  for (const int pair : pairs) {
    const routing::Pair& p = kit.pairs[static_cast<std::size_t>(pair)];
    if (!routing::parallel(p.type)) return {};
    std::set<lattice::Cross> next;
    for (const lattice::Cross c : at) {
      for (const routing::PairOffset& o : p.offsets) {
        for (const auto& [a, b] : {std::pair{o.dx_hp, o.dz_hp}, std::pair{o.dz_hp, o.dx_hp}}) {
          for (const int su : {1, -1}) {
            for (const int sv : {1, -1}) next.insert({c.u_hp + su * a, c.v_hp + sv * b});
          }
        }
      }
    }
    at = std::move(next);
  }
  std::vector<lattice::Cross> out(at.begin(), at.end());
  const auto far = [&](lattice::Cross c) { return lattice::squared_hp(c.u_hp - start.u_hp, c.v_hp - start.v_hp); };
  std::stable_sort(out.begin(), out.end(), [&](lattice::Cross a, lattice::Cross b) { return far(a) < far(b); });
  if (out.size() > kMostHoles) out.resize(kMostHoles);
  return out;
}

/// Steps of the search for the further outputs of one drive; what is not found by then counts as not found, and the
/// refusal says so.
constexpr std::int64_t kJointSteps = 10'000;

}  // namespace

std::vector<Placed> Placers::several(stock::ClassId motor, const Ways& ways,
                                     const std::shared_ptr<const Site>& first_site,
                                     const std::shared_ptr<const Site>& site, const std::vector<bool>& fixed,
                                     std::string& refusal, const base::RunControl& control) {
  First alone = first(motor, 1, first_site, {ways.path.front()}, control);
  for (const Help help : {Help::joined, Help::idlers}) {
    if (alone.placed == nullptr && (help == Help::idlers || alone.lacked_axle))
      alone.placed = with_help(help, {motor, 1, ways.path.front()}, first_site, control).placed;
  }
  if (alone.placed == nullptr) {
    if (!control.stopped()) refusal = this->refusal(motor, 1, first_site, ways.path.front(), control);
    return {};
  }
  if (ways.path.size() == 1) return {*alone.placed};
  const routing::Layout& base = *alone.placed->layout;
  routing::Problem problem = *alone.placed->problem;
  problem.kit = problem.kit.axles.size() == kit_.axles.size() ? kit_ : joined_kit_;  // whole again
  const routing::PlacedShaft& input = base.shafts.front();
  for (std::size_t o = 1; o < ways.path.size(); ++o) {
    routing::Output out = site->outputs[o];
    out.low = out.high = ways.path[o].ratio().abs();
    std::vector<int> pairs = pairs_of(ways.path[o], table_);
    lattice::Cross start = input.at;
    if (ways.by_shared[o] && ways.by_shared.front() && !base.meshes.empty()) {
      const int shared = base.wheels[static_cast<std::size_t>(base.meshes.front().driven)].shaft;
      start = base.shafts[static_cast<std::size_t>(shared)].at;
      pairs.erase(pairs.begin());
    }
    if (!fixed[o]) {
      const auto like = std::find_if(out.places.begin(), out.places.end(),
                                     [&](const routing::Place& p) { return p.axis == input.axis; });
      KW_CHECK(like != out.places.end(), "an output without a fixed line may be along every axis");
      const routing::Place pattern = *like;
      out.places.clear();
      for (const lattice::Cross c : holes_from(start, pairs, kit_)) {
        const lattice::Cross low = lattice::across(input.axis, problem.box.low);
        const lattice::Cross high = lattice::across(input.axis, problem.box.high);
        if (c.u_hp <= low.u_hp || c.u_hp >= high.u_hp || c.v_hp <= low.v_hp || c.v_hp >= high.v_hp) continue;
        out.places.push_back(pattern);
        out.places.back().at = c;
      }
    }
    if (out.places.empty()) {
      refusal = fmt::format("{} comes out nowhere in the room", out.name);
      return {};
    }
    problem.outputs.push_back(std::move(out));
  }
  const std::vector<int> train = problem.trains.front();
  bool complete = true;
  // Where every way is a single mesh, idlers turn the sense or lead to a hole that the mesh alone does not reach;
  // longer ways do so themselves.
  const bool single =
      std::all_of(ways.path.begin(), ways.path.end(), [](const gearing::Train& way) { return way.stages.size() <= 1; });
  for (const int idlers : {0, single ? kIdlers : 0}) {
    if (idlers > 0) {
      problem.most_idlers = kIdlers;
      problem.most_stages = std::min(routing::kMostStages, problem.most_stages + kIdlers);
    }
    const routing::Router router(problem);
    routing::Routes found =
        router.routes({train}, {.best = 1, .max_steps = kJointSteps, .first_only = true, .explain = false}, control);
    if (!found.layouts.empty()) return {placed(site, router, motor, std::move(found.layouts.front()), train)};
    complete = complete && found.complete;
    if (!single) break;
  }
  refusal =
      fmt::format("where {} can be built, the other outputs are not met{}{}", site->outputs.front().name,
                  complete ? "" : fmt::format(" within {} steps", kJointSteps), single ? ", nor over an idler" : "");
  return {};
}

std::vector<int> pieces_of(const brief::Brief& brief) {
  std::vector<int> pieces(brief.catalogue->classes.size(), 0);
  for (const stock::StockType& type : brief.stock->types)
    pieces.at(static_cast<std::size_t>(stock::index(type.part))) += type.count;
  return pieces;
}

bool stock_serves(const candidate::Candidate& c, const std::vector<int>& pieces, candidate::RejectionLog& log) {
  for (const candidate::Need& need : c.demand.needs) {
    int have = 0;
    for (const stock::ClassId id : need.accepts) have += pieces.at(static_cast<std::size_t>(stock::index(id)));
    if (need.count <= have) continue;
    log.add("drive.too_few_parts", need.count - have, "pieces", [&] {
      return fmt::format("{}: {} pieces of \"{}\" needed, the stock has {}", c.title, need.count, need.label, have);
    });
    return false;
  }
  return true;
}

bool stock_serves(const candidate::Candidate& c, const brief::Brief& brief, candidate::RejectionLog& log) {
  return stock_serves(c, pieces_of(brief), log);
}

namespace {

/// What tells one layout of a powertrain from another, in words, the most telling first.
std::vector<std::string> layout_words(const candidate::Route& route) {
  const routing::Layout& l = route.layout;
  const routing::Terminal& motor = route.problem->inputs.at(static_cast<std::size_t>(l.input)).motors.front();
  const lattice::Point3 low = l.envelope.low, high = l.envelope.high;
  std::vector<int> axles;
  for (const routing::PlacedShaft& s : l.shafts) axles.push_back(s.axle);
  std::sort(axles.begin(), axles.end());
  std::vector<std::string> lengths;
  for (const int axle : axles) lengths.push_back(routing::axle_text(route.problem->kit, axle));
  return {fmt::format("motor at {} along {}", lattice::pitches_text(motor.face), lattice::letter(motor.axis)),
          fmt::format("{} x {} x {} p", base::plain((high.x_hp - low.x_hp) / 2.0),
                      base::plain((high.y_hp - low.y_hp) / 2.0), base::plain((high.z_hp - low.z_hp) / 2.0)),
          fmt::format("axles {}", fmt::join(lengths, ", ")),
          fmt::format("{} bearings", std::accumulate(l.shafts.begin(), l.shafts.end(), std::size_t{0},
                                                     [](std::size_t n, const routing::PlacedShaft& s) {
                                                       return n + s.bearings_hp.size();
                                                     }))};
}

/// Layouts of one powertrain have the same title: each says by how it stands what the others do not.
void tell_layouts_apart(std::vector<candidate::Candidate>& candidates) {
  std::map<std::string, std::vector<candidate::Candidate*>> alike;
  for (candidate::Candidate& c : candidates)
    if (c.route) alike[c.title].push_back(&c);
  for (auto& [title, group] : alike) {
    if (group.size() < 2) continue;
    std::vector<std::string> suffixes(group.size());
    std::vector<std::vector<std::string>> words;
    for (const candidate::Candidate* c : group) words.push_back(layout_words(*c->route));
    for (std::size_t w = 0; w < words.front().size(); ++w) {
      if (std::set(suffixes.begin(), suffixes.end()).size() == group.size()) break;
      std::set<std::string> different;
      for (const auto& of : words) different.insert(of[w]);
      if (different.size() < 2) continue;
      for (std::size_t i = 0; i < group.size(); ++i) suffixes[i] += ", " + words[i][w];
    }
    if (std::set(suffixes.begin(), suffixes.end()).size() < group.size()) {
      for (std::size_t i = 0; i < group.size(); ++i) suffixes[i] += fmt::format(", layout {}", i + 1);
    }
    for (std::size_t i = 0; i < group.size(); ++i) group[i]->title += suffixes[i];
  }
}

}  // namespace

void add_all(candidate::RejectionLog& log, std::vector<candidate::Rejection> items) {
  for (const candidate::Rejection& r : items)
    log.add(
        r.code, r.shortfall, r.unit, [&] { return r.text; }, r.count);
}

std::vector<candidate::Candidate> place_drafts(std::vector<Draft> drafts, const brief::Brief& brief,
                                               const brief::Function& function, candidate::RejectionLog& log,
                                               const base::RunControl& control,
                                               const std::function<void()>& meanwhile) {
  const stock::Catalogue& catalogue = *brief.catalogue;
  std::vector<candidate::Candidate> papers;
  std::map<std::string, std::size_t> draft_of;
  for (std::size_t i = 0; i < drafts.size(); ++i) {
    draft_of.emplace(drafts[i].paper.key, i);
    papers.push_back(std::move(drafts[i].paper));
  }
  candidate::keep_non_dominated(papers, catalogue);
  const int with_layouts =
      function.best_only > 0 ? std::min(kDraftsWithLayouts, (function.best_only + 1) / 2) : kDraftsWithLayouts;
  struct Laid {
    int layouts = 1;
    std::vector<candidate::Candidate> candidates;
    candidate::RejectionLog log;
  };
  std::vector<Laid> laid(papers.size());
  const std::vector<int> pieces = pieces_of(brief);
  int rank = 0;
  for (std::size_t i = 0; i < papers.size(); ++i)
    laid[i].layouts = papers[i].nominal.worst() >= 1 && rank++ < with_layouts ? kLayouts : 1;
  base::parallel_for(papers.size(), control.jobs, [&](std::size_t i) {
    if (control.stopped()) return;
    Laid& here = laid[i];
    for (candidate::Candidate& c : drafts[draft_of.at(papers[i].key)].place(here.layouts, here.log))
      if (stock_serves(c, pieces, here.log)) here.candidates.push_back(std::move(c));
  });
  std::vector<candidate::Candidate> out;
  for (Laid& one : laid) {
    std::move(one.candidates.begin(), one.candidates.end(), std::back_inserter(out));
    add_all(log, one.log.take());
  }
  const bool some = !out.empty();
  // The drafts hold much that has to be given back.
  base::parallel_for(2, control.jobs, [&](std::size_t task) {
    if (task == 0) {
      candidate::keep_non_dominated(out, catalogue);
      tell_layouts_apart(out);
      return;
    }
    drafts.clear();
    if (some && meanwhile) meanwhile();
  });
  return out;
}

std::vector<std::vector<int>> paths_of(const Placed& placed) {
  const routing::Layout& l = *placed.layout;
  std::vector<std::vector<int>> out;
  for (std::size_t o = 0; o < placed.problem->outputs.size(); ++o) {
    const routing::Place& place = placed.problem->outputs[o].places.front();
    int shaft = -1, ring = -1;
    for (std::size_t s = 0; s < l.shafts.size(); ++s) {
      if (l.shafts[s].output == static_cast<int>(o)) shaft = static_cast<int>(s);
    }
    for (std::size_t w = 0; w < l.wheels.size() && place.ring >= 0; ++w) {
      if (l.wheels[w].shaft < 0 && l.wheels[w].at == place.at) ring = static_cast<int>(w);
    }
    std::vector<int> path;
    while (true) {
      const auto drives = [&](const routing::PlacedMesh& m) {
        return ring >= 0 ? m.driven == ring : l.wheels[static_cast<std::size_t>(m.driven)].shaft == shaft;
      };
      const auto via = std::find_if(l.meshes.begin(), l.meshes.end(), drives);
      if (via == l.meshes.end()) break;
      path.insert(path.begin(), static_cast<int>(via - l.meshes.begin()));
      ring = -1;
      shaft = l.wheels[static_cast<std::size_t>(via->driver)].shaft;
    }
    out.push_back(std::move(path));
  }
  return out;
}

std::vector<gearing::Train> trains_of(const Placed& placed, const gearing::MeshTable& table) {
  std::vector<gearing::Train> out;
  for (const std::vector<int>& path : paths_of(placed)) {
    gearing::Train train;
    for (std::size_t i = 0; i < path.size(); ++i) {
      const routing::PlacedMesh& mesh = placed.layout->meshes[static_cast<std::size_t>(path[i])];
      train.stages.push_back(table.meshes.at(static_cast<std::size_t>(mesh.pair)));
      if (i > 0 && mesh.driver == placed.layout->meshes[static_cast<std::size_t>(path[i - 1])].driven)
        train.idlers.push_back(i);
    }
    out.push_back(std::move(train));
  }
  return out;
}

int joiners_in(const Placed& placed) {
  return static_cast<int>(
      std::count_if(placed.layout->shafts.begin(), placed.layout->shafts.end(), [&](const routing::PlacedShaft& s) {
        return placed.problem->kit.axles.at(static_cast<std::size_t>(s.axle)).joined();
      }));
}

std::vector<gearing::Train> other_orders(const gearing::Train& train, bool last_fixed) {
  std::vector<std::size_t> order(train.stages.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::vector<gearing::Train> out;
  const auto end = order.end() - (last_fixed && !order.empty() ? 1 : 0);
  std::vector<std::vector<gearing::Stage>> seen{train.stages};
  const auto same = [](const gearing::Stage& a, const gearing::Stage& b) {
    return a.driver == b.driver && a.driven == b.driven && a.type == b.type;
  };
  while (std::next_permutation(order.begin(), end)) {
    gearing::Train t;
    for (const std::size_t i : order) t.stages.push_back(train.stages[i]);
    const bool known = std::any_of(seen.begin(), seen.end(), [&](const std::vector<gearing::Stage>& s) {
      return std::equal(s.begin(), s.end(), t.stages.begin(), same);
    });
    if (known) continue;
    seen.push_back(t.stages);
    out.push_back(std::move(t));
  }
  return out;
}

}  // namespace functions::drive
