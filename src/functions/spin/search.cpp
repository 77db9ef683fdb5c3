#include "functions/spin/search.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <map>
#include <numbers>
#include <tuple>

#include "base/check.h"
#include "base/text.h"
#include "functions/spin/pruning.h"

namespace functions::spin {
namespace {

constexpr double kRpmPerRadS = 30 / std::numbers::pi;
constexpr double kInfinity = std::numeric_limits<double>::infinity();

/// The gears of the stock and everything made of them.
struct Bench {
  std::vector<stock::ClassId> classes;
  std::vector<gearing::GearStock> stock;
  std::map<stock::ClassId, std::size_t> slot;
  GearCounts capacity;  ///< per side
  std::uint64_t musts = 0;
  gearing::MeshTable table;
  std::vector<gearing::Train> short_trains;  ///< 1 to most_stages - 1 meshes, ascending |ratio|
  std::vector<double> short_ratio;
};

Bench make_bench(const brief::Function& fn, const brief::Brief& brief) {
  constexpr int kMostPieces = 100;  // far more than any drive takes; keeps the packed counts below their guard
  Bench bench;
  for (std::size_t i = 0; i < brief.catalogue->classes.size(); ++i) {
    const stock::ClassId id{static_cast<int>(i)};
    const int count = brief.stock->count_of(id);
    if (!std::holds_alternative<stock::Gear>(brief.catalogue->at(id).data) || count < fn.sides ||
        !drive::allowed(fn, id))
      continue;
    if (std::find(fn.must_use.begin(), fn.must_use.end(), id) != fn.must_use.end())
      bench.musts |= std::uint64_t{1} << bench.classes.size();
    bench.slot.emplace(id, bench.classes.size());
    bench.capacity.add(bench.classes.size(), std::min(kMostPieces, count / fn.sides));
    bench.classes.push_back(id);
    bench.stock.push_back({id, count});
  }
  bench.table = gearing::find_meshes(*brief.catalogue, bench.classes);
  return bench;
}

/// Ranges of the ratio of the whole path, widened for near misses.
struct Range {
  double low = 0, high = 0;
};
Range range_of(const Output& output, double free_speed_rad_s, double widen) {
  constexpr double kHair = 1e-9;  // the evaluation compares exactly; this only must not lose an end
  const double per_ratio = output.by_rpm() ? free_speed_rad_s * kRpmPerRadS : 1;
  const std::array<double, 2>& ends = output.by_rpm() ? output.rpm : output.ratio;
  return {ends[0] / per_ratio * widen * (1 - kHair), ends[1] / per_ratio / widen * (1 + kHair)};
}

gearing::TrainQuery query_of(double low, double high, int most_stages, int sides) {
  gearing::TrainQuery q;
  q.low = {std::max<std::int64_t>(1, static_cast<std::int64_t>(std::floor(low * 1e6))), 1000000};
  q.high = {std::max<std::int64_t>(1, static_cast<std::int64_t>(std::ceil(high * 1e6))), 1000000};
  q.max_stages = most_stages;
  q.copies = sides;
  return q;
}

/// Whether a train turns as asked. A stage at a right angle can be mounted from either side, so it suits both.
bool turns_right(const gearing::Train& path, Turns turns) {
  if (turns == Turns::any || path.right_angles() > 0) return true;
  return (path.ratio() > base::Rational(0)) == (turns == Turns::same);
}

/// What is common to one motor's search.
struct Job {
  const brief::Function& fn;
  const Wants& wants;
  const brief::Brief& brief;
  const Bench& bench;
  stock::ClassId motor{};
  drive::Machine machine;
  brief::Sample nominal;
  double free_speed_rad_s = 0, stall_nmm = 0;
  double widen = 1;
};

Option make_option(const Job& job, std::size_t output, gearing::Train path, bool by_shared) {
  const Output& out = job.wants.outputs[output];
  Option o;
  o.by_shared = by_shared;
  o.own = static_cast<int>(path.stages.size()) - (by_shared ? 1 : 0);
  for (std::size_t s = by_shared ? 1 : 0; s < path.stages.size(); ++s) {
    for (const stock::ClassId id : {path.stages[s].driver, path.stages[s].driven}) {
      const std::size_t slot = job.bench.slot.at(id);
      o.gears.add(slot, 1);
      o.musts |= job.bench.musts & (std::uint64_t{1} << slot);
    }
  }
  const double load_nmm = job.wants.sticking * friction_nmm(out, job.brief.parameters, job.nominal);
  double ratio = 1;
  for (const gearing::Stage& s : path.stages) ratio *= std::fabs(s.ratio.value());
  const gearing::TrainLoad load = gearing::torque_at_stages(path, load_nmm, job.machine.meshes, job.machine.teeth);
  o.torque = load_nmm * ratio / gearing::forward_efficiency(path, job.machine.meshes);
  o.force_n = by_shared ? load.tooth_force_n[0] : 0;
  o.tooth = candidate::kMarginCap;
  for (int s = by_shared ? 1 : 0; s < load.stages; ++s)
    o.tooth = std::min(o.tooth, load.tooth_margin[static_cast<std::size_t>(s)]);
  o.near = out.by_rpm() ? std::min(1.0, out.rpm[1] / (ratio * job.free_speed_rad_s * kRpmPerRadS))
                        : std::min({1.0, out.ratio[0] > 0 ? ratio / out.ratio[0] : 1.0, out.ratio[1] / ratio});
  o.slow = out.by_rpm() ? ratio * kRpmPerRadS / out.rpm[0] : kInfinity;
  o.path = std::move(path);
  return o;
}

struct Cut {
  std::vector<std::string> texts;
  void say(std::string text) {
    if (std::find(texts.begin(), texts.end(), text) == texts.end()) texts.push_back(std::move(text));
  }
};

/// Trains straight from the motor's axle.
std::vector<Option> direct_options(const Job& job, std::size_t output, std::size_t most, Cut& cut, std::int64_t& seen,
                                   const base::RunControl& control) {
  const Output& out = job.wants.outputs[output];
  const Range range = range_of(out, job.free_speed_rad_s, job.widen);
  std::vector<Option> options;
  if (range.low <= 1 && 1 <= range.high && turns_right({}, out.turns))
    options.push_back(make_option(job, output, {}, false));
  for (int stages = 1; stages <= job.wants.most_stages; ++stages) {
    if (options.size() >= most) {
      cut.say(fmt::format("trains of {} and more meshes to \"{}\", which {} shorter ones serve", stages, out.name,
                          options.size()));
      break;
    }
    gearing::TrainQuery query = query_of(range.low, range.high, stages, job.fn.sides);
    query.min_stages = stages;
    const gearing::TrainSearchResult found = gearing::search_trains(job.bench.table, job.bench.stock, query, control);
    if (!found.complete) cut.say(found.limit_text);
    seen += static_cast<std::int64_t>(found.trains.size());
    std::vector<Option> longer;
    for (const gearing::FoundTrain& f : found.trains) {
      if (f.ratio < range.low || f.ratio > range.high) continue;
      gearing::Train train = gearing::make_train(job.bench.table, f);
      if (!turns_right(train, out.turns)) continue;
      longer.push_back(make_option(job, output, std::move(train), false));
      // Dominated by something shorter already: do not carry it along.
      if (std::any_of(options.begin(), options.end(), [&](const Option& k) { return dominates(k, longer.back()); }))
        longer.pop_back();
    }
    keep_best(longer);
    for (Option& o : longer) options.push_back(std::move(o));
  }
  keep_best(options);
  const std::size_t all = options.size();
  if (spread_out(options, most)) cut.say(fmt::format("{} of {} trains to \"{}\"", all - most, all, out.name));
  return options;
}

/// Trains behind a shared first stage.
std::vector<Option> shared_options(const Job& job, const gearing::Stage& shared, std::size_t output, std::size_t most,
                                   bool& cut, std::int64_t& seen) {
  const Output& out = job.wants.outputs[output];
  const Range range = range_of(out, job.free_speed_rad_s, job.widen);
  const double first = std::fabs(shared.ratio.value());
  std::vector<Option> options;
  const auto consider = [&](const gearing::Train* rest) {
    gearing::Train path;
    path.stages.push_back(shared);
    if (rest != nullptr) path.stages.insert(path.stages.end(), rest->stages.begin(), rest->stages.end());
    if (turns_right(path, out.turns)) options.push_back(make_option(job, output, std::move(path), true));
  };
  if (range.low <= first && first <= range.high) consider(nullptr);
  const Bench& bench = job.bench;
  const auto begin = std::lower_bound(bench.short_ratio.begin(), bench.short_ratio.end(), range.low / first);
  const auto end = std::upper_bound(begin, bench.short_ratio.end(), range.high / first);
  for (auto at = begin; at != end; ++at)
    consider(&bench.short_trains[static_cast<std::size_t>(at - bench.short_ratio.begin())]);
  seen += static_cast<std::int64_t>(options.size());
  keep_best(options);
  cut = spread_out(options, most) || cut;
  return options;
}

class Combiner {
 public:
  Combiner(const Job& job, candidate::RejectionLog& log) : job_(job), log_(log) {}

  /// All outputs by the options given; complete solutions are appended to `finals`, what they are to `layouts`.
  void run(const std::vector<std::vector<Option>>& options, const std::optional<gearing::Stage>& shared,
           std::size_t most_states, bool& cut) {
    std::vector<State> states(1);
    if (shared) {
      states[0].shared = true;
      for (const stock::ClassId id : {shared->driver, shared->driven}) {
        const std::size_t slot = job_.bench.slot.at(id);
        states[0].gears.add(slot, 1);
        states[0].musts |= job_.bench.musts & (std::uint64_t{1} << slot);
      }
      if (!states[0].gears.among(job_.bench.capacity)) return;
    }
    for (std::size_t i = 0; i < options.size(); ++i) {
      std::vector<State> next;
      for (const State& state : states) {
        for (std::size_t k = 0; k < options[i].size(); ++k) {
          ++combined;
          if (std::optional<State> joined = join(state, options[i][k], shared)) {
            joined->choice.push_back(static_cast<int>(k));
            next.push_back(std::move(*joined));
          }
        }
      }
      keep_best(next);
      cut = spread_out(next, most_states) || cut;
      states = std::move(next);
    }
    for (State& state : states) {
      if (shared && state.shared_users < 2) continue;  // one user alone is the same train straight from the motor
      Layout layout{job_.motor, shared, {}, {}};
      for (std::size_t i = 0; i < options.size(); ++i) {
        const Option& o = options[i][static_cast<std::size_t>(state.choice[i])];
        layout.path.push_back(o.path);
        layout.by_shared.push_back(o.by_shared);
      }
      if (shared && state.force_n > 0) {
        state.tooth =
            std::min(state.tooth, gearing::allowable_tooth_load_n(*shared, job_.machine.teeth) / state.force_n);
        state.force_n = 0;
      }
      state.layout = layouts.size();
      layouts.push_back(std::move(layout));
      finals.push_back(std::move(state));
    }
  }

  std::int64_t combined = 0;
  std::vector<State> finals;
  std::vector<Layout> layouts;

 private:
  std::optional<State> join(const State& state, const Option& o, const std::optional<gearing::Stage>& shared) {
    GearCounts gears = state.gears;
    gears.add(o.gears);
    if (!gears.among(job_.bench.capacity)) {
      report_shortage(gears);
      return std::nullopt;
    }
    State next = state;
    next.gears = gears;
    next.musts |= o.musts;
    next.torque += o.torque;
    next.force_n += o.force_n;
    next.tooth = std::min(next.tooth, o.tooth);
    next.near = std::min(next.near, o.near);
    next.slow = std::min(next.slow, o.slow);
    if (o.own > 0) {
      (o.by_shared ? next.behind : next.direct) += 1;
      next.inner_shafts += o.own - 1;
      next.outer_shafts += 1;
    }
    next.shared_users += o.by_shared ? 1 : 0;
    if (next.torque * candidate::kNearMiss > job_.stall_nmm) {
      log_.add("spin.stall", next.torque - job_.stall_nmm, "N mm", [&] {
        return fmt::format("{} gives {} N mm at stall, breaking the outputs loose asks {}",
                           job_.brief.catalogue->at(job_.motor).name, base::plain(job_.stall_nmm),
                           base::plain(next.torque));
      });
      return std::nullopt;
    }
    const double tooth = shared && next.force_n > 0
                             ? gearing::allowable_tooth_load_n(*shared, job_.machine.teeth) / next.force_n
                             : next.tooth;
    if (std::min(tooth, next.tooth) < candidate::kNearMiss) {
      log_.add("spin.tooth", 1 - std::min(tooth, next.tooth), "of its load", [&] {
        return fmt::format("the weakest mesh stands {} times its load", base::plain(std::min(tooth, next.tooth)));
      });
      return std::nullopt;
    }
    return next;
  }

  void report_shortage(const GearCounts& gears) {
    int most = 0;
    std::size_t at = 0;
    for (std::size_t s = 0; s < job_.bench.classes.size(); ++s) {
      const int missing = gears.at(s) - job_.bench.capacity.at(s);
      if (missing > most) {
        most = missing;
        at = s;
      }
    }
    log_.add("spin.too_few_gears", most * job_.fn.sides, "pieces", [&] {
      const stock::ClassId id = job_.bench.classes[at];
      return fmt::format("{}: the outputs together need {}, the stock has {}", job_.brief.catalogue->at(id).name,
                         gears.at(at) * job_.fn.sides, job_.brief.stock->count_of(id));
    });
  }

  const Job& job_;
  candidate::RejectionLog& log_;
};

/// Says which ratio comes nearest when no train serves an output.
void report_no_train(const Job& job, std::size_t output, candidate::RejectionLog& log,
                     const base::RunControl& control) {
  const Output& out = job.wants.outputs[output];
  const Range range = range_of(out, job.free_speed_rad_s, 1);
  double nearest = 0, distance = kInfinity;
  std::string text = "direct";
  const auto consider = [&](double ratio, const std::string& train) {
    const double off = ratio < range.low ? std::log(range.low / ratio) : std::log(ratio / range.high);
    if (off < distance) {
      distance = off;
      nearest = ratio;
      text = train;
    }
  };
  if (turns_right({}, out.turns)) consider(1, "direct");
  const gearing::TrainSearchResult found = gearing::search_trains(
      job.bench.table, job.bench.stock, query_of(1e-4, 1e3, std::min(2, job.wants.most_stages), job.fn.sides), control);
  for (const gearing::FoundTrain& f : found.trains) {
    const gearing::Train train = gearing::make_train(job.bench.table, f);
    if (turns_right(train, out.turns)) consider(f.ratio, train.text());
  }
  log.add(fmt::format("spin.no_train.{}", out.name), std::isfinite(distance) ? std::expm1(distance) : 1, "share", [&] {
    const std::string wanted = fmt::format("{} to {}", base::plain(range.low), base::plain(range.high));
    return std::isfinite(distance)
               ? fmt::format(
                     "\"{}\": no train of up to {} meshes has a ratio of {} behind {}; the nearest shorter one "
                     "is {} ({})",
                     out.name, job.wants.most_stages, wanted, job.brief.catalogue->at(job.motor).name,
                     base::plain(nearest), text)
               : fmt::format("\"{}\": the stock has no gears that mesh", out.name);
  });
}

void fill_short_trains(Bench& bench, const Wants& wants, const brief::Function& fn, const base::RunControl& control,
                       Cut& cut) {
  if (!wants.shared_stage || wants.outputs.size() < 2 || wants.most_stages < 2) return;
  const gearing::TrainSearchResult found =
      gearing::search_trains(bench.table, bench.stock, query_of(1e-4, 1e3, wants.most_stages - 1, fn.sides), control);
  if (!found.complete) cut.say(found.limit_text);
  std::vector<std::size_t> order(found.trains.size());
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return found.trains[a].ratio < found.trains[b].ratio; });
  for (const std::size_t i : order) {
    bench.short_trains.push_back(gearing::make_train(bench.table, found.trains[i]));
    bench.short_ratio.push_back(found.trains[i].ratio);
  }
}

}  // namespace

Found search(const brief::Function& fn, const Wants& wants, const brief::Brief& brief, double widen,
             candidate::RejectionLog& log, const base::RunControl& control, const Limits& limits) {
  Found out;
  Cut cut;
  Bench bench = make_bench(fn, brief);
  fill_short_trains(bench, wants, fn, control, cut);
  const brief::Sample nominal = brief.parameters.nominal();
  std::int64_t combined = 0;
  bool any_motor = false;
  std::vector<stock::ClassId> must_motors;
  for (const stock::ClassId id : fn.must_use) {
    if (std::holds_alternative<stock::Motor>(brief.catalogue->at(id).data)) must_motors.push_back(id);
  }
  for (const stock::ClassId motor : brief.catalogue->of(stock::Family::motor)) {
    if (!std::holds_alternative<stock::Motor>(brief.catalogue->at(motor).data) || !drive::allowed(fn, motor)) continue;
    if (!must_motors.empty() && must_motors != std::vector{motor}) continue;
    const int have = brief.stock->count_of(motor);
    if (have < fn.sides) {
      if (have > 0) {
        log.add("spin.too_few_motors", fn.sides - have, "pieces", [&] {
          return fmt::format("{}: {} needed, the stock has {}", brief.catalogue->at(motor).name, fn.sides, have);
        });
      }
      continue;
    }
    any_motor = true;
    Job job{fn, wants, brief, bench, motor, drive::machine({motor, 1, {}}, brief, nominal), nominal, 0, 0, widen};
    const motor::Line line = motor::line(job.machine.motor, job.machine.feed);
    job.free_speed_rad_s = line.no_load_speed_rad_s;
    job.stall_nmm = line.stall_torque_nmm;

    std::vector<std::vector<Option>> direct(wants.outputs.size());
    for (std::size_t i = 0; i < wants.outputs.size(); ++i)
      direct[i] = direct_options(job, i, limits.options, cut, out.examined, control);
    Combiner combiner(job, log);
    bool states_cut = false;
    combiner.run(direct, std::nullopt, limits.states, states_cut);

    std::size_t tried = 0, to_try = 0;
    bool shared_cut = false;
    if (wants.shared_stage && wants.outputs.size() > 1) {
      constexpr std::size_t kFewest = 12, kStatesPerOption = 3;
      const std::size_t most =
          std::max(kFewest, limits.shared_work / std::max<std::size_t>(1, bench.table.meshes.size()));
      for (const gearing::Mesh& mesh : bench.table.meshes) {
        ++to_try;
        if (control.stopped() || combined + combiner.combined > limits.combined) continue;
        ++tried;
        std::vector<std::vector<Option>> options(wants.outputs.size());
        std::size_t users = 0;
        for (std::size_t i = 0; i < wants.outputs.size(); ++i) {
          options[i] = shared_options(job, mesh, i, most, shared_cut, out.examined);
          users += options[i].empty() ? 0 : 1;
        }
        if (users < 2) continue;
        for (std::size_t i = 0; i < wants.outputs.size(); ++i) {
          std::vector<Option> beside = direct[i];
          shared_cut = spread_out(beside, most) || shared_cut;
          for (Option& o : beside) options[i].push_back(std::move(o));
        }
        combiner.run(options, mesh, most * kStatesPerOption, shared_cut);
      }
    }
    combined += combiner.combined;
    if (control.stopped()) cut.say("everything after the stop");
    if (states_cut) cut.say(fmt::format("part solutions beyond {} after an output", limits.states));
    if (shared_cut) cut.say("trains and part solutions behind some shared first stages");
    if (tried < to_try) cut.say(fmt::format("{} of {} shared first stages", to_try - tried, to_try));
    if (combiner.layouts.empty()) {
      for (std::size_t i = 0; i < wants.outputs.size(); ++i) {
        if (direct[i].empty()) report_no_train(job, i, log, control);
      }
    }
    out.examined += combiner.combined;
    keep_best(combiner.finals);
    const std::size_t all = combiner.finals.size();
    if (spread_out(combiner.finals, limits.layouts))
      cut.say(fmt::format("{} of {} layouts on {}", all - limits.layouts, all, brief.catalogue->at(motor).name));
    for (const State& s : combiner.finals) out.layouts.push_back(std::move(combiner.layouts[s.layout]));
  }
  if (!any_motor)
    log.add("spin.no_motor", fn.sides, "pieces",
            [] { return std::string("the stock has no motor that this function may use often enough"); });
  out.complete = cut.texts.empty();
  if (!out.complete) out.limit_text = "left out: " + base::list_text(cut.texts);
  return out;
}

}  // namespace functions::spin
