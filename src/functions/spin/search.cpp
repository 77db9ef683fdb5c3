#include "functions/spin/search.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <map>
#include <numbers>
#include <optional>
#include <span>
#include <tuple>

#include "base/check.h"
#include "base/text.h"
#include "functions/spin/demand.h"
#include "functions/spin/pruning.h"

namespace functions::spin {
namespace {

constexpr double kRpmPerRadS = 30 / std::numbers::pi;
constexpr double kHair = 1e-9;  // the evaluation decides; the search only must not lose an end
constexpr double kInfinity = std::numeric_limits<double>::infinity();

/// One mesh as the search needs it.
struct MeshFigures {
  double ratio = 0;    ///< |driven / driver|
  double torque = 0;   ///< at the driver's shaft per torque given by the driven shaft, bearing of that shaft included
  double force_n = 0;  ///< tooth force per torque given by the driven shaft
  double allowable_n = 0;
  std::size_t driver = 0, driven = 0;  ///< slots
  bool reverses = false, right_angle = false;
};

/// The gears of the stock and everything made of them.
struct Bench {
  std::vector<stock::ClassId> classes;
  std::vector<gearing::GearStock> stock;
  std::map<stock::ClassId, std::size_t> slot;
  GearCounts capacity;  ///< per side
  std::uint64_t musts = 0;
  gearing::MeshTable table;
  std::vector<MeshFigures> figures;               ///< per mesh
  std::vector<gearing::FoundTrain> short_trains;  ///< 1 to most_stages - 1 meshes, ascending |ratio|
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
  std::vector<Range> range;      ///< per output
  std::vector<double> load_nmm;  ///< per output, to break loose
};

void fill_figures(Bench& bench, const drive::Machine& machine) {
  bench.figures.clear();
  const double keeps = 1 - machine.meshes.bearing_loss;
  for (const gearing::Mesh& m : bench.table.meshes) {
    MeshFigures f;
    f.ratio = std::fabs(m.ratio.value());
    f.torque = f.ratio / gearing::forward_efficiency(m, machine.meshes) / keeps;
    f.force_n = m.type == gearing::MeshType::worm ? 1 / keeps / m.driven_radius_mm : f.torque / m.driver_radius_mm;
    f.allowable_n = gearing::allowable_tooth_load_n(m, machine.teeth);
    f.driver = bench.slot.at(m.driver);
    f.driven = bench.slot.at(m.driven);
    f.reverses = m.ratio < base::Rational(0);
    f.right_angle = gearing::right_angle(m.type);
    bench.figures.push_back(f);
  }
}

gearing::Train train_of(const Bench& bench, const Option& o, const std::optional<int>& shared) {
  std::vector<int> meshes;
  if (o.by_shared) meshes.push_back(*shared);
  for (int s = 0; s < o.own; ++s) meshes.push_back(o.mesh[static_cast<std::size_t>(s)]);
  return gearing::Train::of(bench.table, meshes);
}

/// A way of `own` meshes to an output, behind the shared one if any. None when it turns the wrong way or, searching
/// without near misses, lies outside the output's range.
std::optional<Option> make_option(const Job& job, std::size_t output, std::span<const std::int32_t> own,
                                  const std::optional<int>& shared) {
  const Output& out = job.wants.outputs[output];
  const Bench& bench = job.bench;
  Option o;
  o.by_shared = shared.has_value();
  o.own = static_cast<int>(own.size());
  std::copy(own.begin(), own.end(), o.mesh.begin());

  double ratio = 1, torque_nmm = job.load_nmm[output];
  bool reversed = false, right_angle = false;
  const auto pass = [&](const MeshFigures& f) {
    ratio *= f.ratio;
    reversed = reversed != f.reverses;
    right_angle = right_angle || f.right_angle;
    const double force_n = f.force_n * torque_nmm;
    torque_nmm *= f.torque;
    return force_n;
  };
  for (auto at = own.rbegin(); at != own.rend(); ++at) {
    const MeshFigures& f = bench.figures[static_cast<std::size_t>(*at)];
    const double force_n = pass(f);
    if (force_n > 0) o.load.margin = std::min(o.load.margin, f.allowable_n / force_n);
    for (const std::size_t slot : {f.driver, f.driven}) {
      o.load.gears.add(slot, 1);
      o.load.musts |= bench.musts & (std::uint64_t{1} << slot);
    }
  }
  if (shared) o.load.force_n = pass(bench.figures[static_cast<std::size_t>(*shared)]);
  o.load.torque_nmm = torque_nmm / (1 - job.machine.meshes.bearing_loss);
  // A stage at a right angle can be mounted from either side, so it suits both senses.
  if (out.turns != Turns::any && !right_angle && reversed != (out.turns == Turns::opposite)) return std::nullopt;
  const Range& range = job.range[output];
  if (ratio < range.low || ratio > range.high) return std::nullopt;

  double near = 1;
  if (out.by_rpm()) {
    near = std::min(1.0, out.rpm[1] / (ratio * job.free_speed_rad_s * kRpmPerRadS) * (1 + kHair));
    o.load.slow = ratio * job.free_speed_rad_s * kRpmPerRadS / out.rpm[0] * (1 + kHair);
  } else {
    near = std::min({1.0, out.ratio[0] > 0 ? ratio / out.ratio[0] : 1.0, out.ratio[1] / ratio});
    const bool doubtful = ratio < out.ratio[0] * (1 + 2 * kHair) || ratio > out.ratio[1] * (1 - 2 * kHair);
    if (doubtful && !inside(out, train_of(bench, o, shared).ratio())) near = std::min(near, 1 - kHair);
  }
  if (near < 1) {
    if (job.widen == 1) return std::nullopt;
    o.load.margin = std::min(o.load.margin, near);
  }
  o.load.steps = current_steps(o.load.torque_nmm / job.wants.sticking, job.machine.motor);
  o.load.shared_users = o.by_shared ? 1 : 0;
  if (o.own > 0) {
    (o.by_shared ? o.load.behind : o.load.direct) = 1;
    o.load.inner_shafts = o.own - 1;
    o.load.outer_shafts = 1;
  } else {
    (o.by_shared ? o.load.on_shared : o.load.on_motor) = 1;
  }
  return o;
}

using Ways = std::vector<std::vector<Option>>;  ///< per output

/// What the outputs other than those below `done`, or all but `done` itself, can add.
Outlook outlook(const Job& job, const std::vector<Outlook>& each, std::size_t done, bool only_after) {
  Outlook sum;
  sum.stall_nmm = job.stall_nmm;
  sum.sticking = job.wants.sticking;
  for (std::size_t i = 0; i < each.size(); ++i) {
    if (i == done || (only_after && i < done)) continue;
    sum.most_torque_nmm += each[i].most_torque_nmm;
    sum.most_force_n += each[i].most_force_n;
    sum.least_slow = std::min(sum.least_slow, each[i].least_slow);
  }
  return sum;
}

std::vector<Outlook> extremes(const Ways& ways) {
  std::vector<Outlook> each(ways.size());
  for (std::size_t i = 0; i < ways.size(); ++i) {
    for (const Option& o : ways[i]) {
      each[i].most_torque_nmm = std::max(each[i].most_torque_nmm, o.load.torque_nmm);
      each[i].most_force_n = std::max(each[i].most_force_n, o.load.force_n);
      each[i].least_slow = std::min(each[i].least_slow, o.load.slow);
    }
  }
  return each;
}

/// Searching without near misses: drops ways too slow under load whatever serves the other outputs.
void drop_too_slow(const Job& job, Ways& ways) {
  if (job.widen != 1) return;
  std::vector<double> least(ways.size(), kInfinity);
  double sum_nmm = 0;
  for (std::size_t i = 0; i < ways.size(); ++i) {
    for (const Option& o : ways[i]) least[i] = std::min(least[i], o.load.torque_nmm);
    sum_nmm += least[i];
  }
  if (!std::isfinite(sum_nmm)) return;
  const Outlook line = outlook(job, {}, 0, false);
  for (std::size_t i = 0; i < ways.size(); ++i) {
    std::erase_if(ways[i], [&](const Option& o) {
      return o.load.slow * line.speed_share(sum_nmm - least[i] + o.load.torque_nmm) < 1;
    });
  }
}

/// Trains straight from the motor's axle, all of them.
Ways direct_ways(const Job& job, Found& found, const base::RunControl& control) {
  Ways ways(job.wants.outputs.size());
  for (std::size_t i = 0; i < ways.size(); ++i) {
    if (std::optional<Option> o = make_option(job, i, {}, std::nullopt)) ways[i].push_back(*o);
    const gearing::TrainSearchResult trains = gearing::search_trains(
        job.bench.table, job.bench.stock,
        query_of(job.range[i].low, job.range[i].high, job.wants.most_stages, job.fn.sides), control);
    if (!trains.complete) found.stopped_by = trains.limit_text;
    found.examined += static_cast<std::int64_t>(trains.trains.size());
    for (const gearing::FoundTrain& f : trains.trains) {
      const std::span<const std::int32_t> meshes(f.mesh.data(), static_cast<std::size_t>(f.stages));
      if (std::optional<Option> o = make_option(job, i, meshes, std::nullopt)) ways[i].push_back(*o);
    }
  }
  drop_too_slow(job, ways);
  return ways;
}

/// Trains behind a shared first stage.
Ways shared_ways(const Job& job, int shared, Found& found) {
  Ways ways(job.wants.outputs.size());
  const double first = job.bench.figures[static_cast<std::size_t>(shared)].ratio;
  for (std::size_t i = 0; i < ways.size(); ++i) {
    if (std::optional<Option> o = make_option(job, i, {}, shared)) ways[i].push_back(*o);
    const Range range{job.range[i].low / first * (1 - kHair), job.range[i].high / first * (1 + kHair)};
    const auto& trains = job.bench.short_trains;
    const auto begin = std::lower_bound(trains.begin(), trains.end(), range.low,
                                        [](const gearing::FoundTrain& f, double x) { return f.ratio < x; });
    for (auto f = begin; f != trains.end() && f->ratio <= range.high; ++f) {
      ++found.examined;
      const std::span<const std::int32_t> meshes(f->mesh.data(), static_cast<std::size_t>(f->stages));
      if (std::optional<Option> o = make_option(job, i, meshes, shared)) ways[i].push_back(*o);
    }
  }
  return ways;
}

/// Every way falls that another one to the same output beats, whatever serves the others.
void prune(const Job& job, Ways& ways, const std::vector<Outlook>& each, double allowable_n) {
  for (std::size_t i = 0; i < ways.size(); ++i) {
    Outlook others = outlook(job, each, i, false);
    others.allowable_n = allowable_n;
    keep_best(ways[i], others);
  }
}

/// Equal refusals, told once.
struct Tally {
  std::int64_t count = 0;
  double shortfall = kInfinity;
  Load load;
  void add(double by, const Load& refused) {
    ++count;
    if (by >= shortfall) return;
    shortfall = by;
    load = refused;
  }
};

class Combiner {
 public:
  Combiner(const Job& job, Found& found) : job_(job), found_(found) {}

  /// Serves one output after the other by the ways given; take() has the whole layouts.
  void run(const Ways& ways, const std::vector<Outlook>& each, const std::optional<int>& shared, std::int64_t pairs) {
    const std::size_t outputs = ways.size();
    std::vector<std::vector<State>> levels(1, std::vector<State>(1));
    double allowable_n = 0;
    if (shared) {
      const MeshFigures& f = job_.bench.figures[static_cast<std::size_t>(*shared)];
      allowable_n = f.allowable_n;
      for (const std::size_t slot : {f.driver, f.driven}) {
        levels[0][0].load.gears.add(slot, 1);
        levels[0][0].load.musts |= job_.bench.musts & (std::uint64_t{1} << slot);
      }
    }
    std::vector<double> least_nmm(outputs + 1, 0);  // of the outputs from here on
    for (std::size_t i = outputs; i-- > 0;) {
      double least = kInfinity;
      for (const Option& o : ways[i]) least = std::min(least, o.load.torque_nmm);
      least_nmm[i] = least_nmm[i + 1] + least;
    }
    for (std::size_t i = 0; i < outputs; ++i) {
      const std::size_t after = outputs - i - 1;
      const Outlook to_come = [&] {
        Outlook o = outlook(job_, each, i, true);
        o.allowable_n = allowable_n;
        return o;
      }();
      // Every level gets its share of the pairs.
      const auto most = static_cast<std::size_t>(
          pairs / static_cast<std::int64_t>(outputs * std::max<std::size_t>(1, ways[i].size())));
      found_.left_out += static_cast<std::int64_t>(spread_out(levels[i], std::max<std::size_t>(1, most)));
      std::vector<State> next;
      for (std::size_t at = 0; at < levels[i].size(); ++at) {
        const State& state = levels[i][at];
        for (std::size_t k = 0; k < ways[i].size(); ++k) {
          const Load& way = ways[i][k].load;
          // One user alone is the same train straight from the motor.
          if (shared && state.load.shared_users + way.shared_users + static_cast<int>(after) < 2) continue;
          ++found_.examined;
          ++pairs_;
          State joined{state.load, static_cast<std::int32_t>(at), static_cast<std::int32_t>(k)};
          joined.load.add(way);
          if (stands(joined.load, allowable_n, least_nmm[i + 1], to_come)) next.push_back(joined);
        }
      }
      keep_best(next, to_come);
      levels.push_back(std::move(next));
    }
    for (const State& last : levels[outputs]) {
      Whole whole{last.load, shared, {}, {}};
      const State* state = &last;
      for (std::size_t i = outputs; i-- > 0;) {
        whole.ways.push_back(ways[i][static_cast<std::size_t>(state->option)]);
        state = &levels[i][static_cast<std::size_t>(state->parent)];
      }
      std::reverse(whole.ways.begin(), whole.ways.end());
      if (whole.load.force_n > 0) whole.load.margin = std::min(whole.load.margin, allowable_n / whole.load.force_n);
      whole.load.force_n = 0;
      wholes_.push_back(std::move(whole));
    }
  }

  /// A layout not yet written out.
  struct Whole {
    Load load;  ///< inner_shafts: all shafts; outer_shafts: all pairs of bearing beams
    std::optional<int> shared;
    std::vector<Option> ways;
    GearCounts axles;  ///< by what serves as them
  };
  /// All that no other layout on this motor beats in any need.
  std::vector<Whole> take() {
    const Outlook nothing = outlook(job_, {}, 0, true);
    std::map<std::vector<stock::ClassId>, std::size_t> slots;  // lengths that the same axles serve are one need
    std::map<int, std::optional<std::size_t>> slot_of;         // by length
    const auto add_axle = [&](Whole& w, int length_p, int count) {
      const auto [at, fresh] = slot_of.try_emplace(length_p);
      if (fresh) {
        std::vector<stock::ClassId> accepts = axles_for(*job_.brief.catalogue, length_p).accepts;
        if (!accepts.empty()) at->second = slots.emplace(std::move(accepts), slots.size()).first->second;
      }
      if (at->second) w.axles.add(*at->second, count);
    };
    for (Whole& w : wholes_) {
      Load& l = w.load;
      const int shared = w.shared ? 1 : 0;
      add_axle(w, shaft_length_p(l.direct + shared, l.on_motor > 0), 1);
      if (w.shared) add_axle(w, shaft_length_p(l.behind + 1, l.on_shared > 0), 1);
      add_axle(w, shaft_length_p(2, false), l.inner_shafts);
      add_axle(w, shaft_length_p(1, true), l.outer_shafts);
      l.inner_shafts += 1 + shared + l.outer_shafts;
      l.outer_shafts += shared;
      l.shared_users = 0;
    }
    keep_unbeaten(
        wholes_, [](const Whole&) { return 0; },
        [&](const Whole& a, const Whole& b) { return dominates(a.load, b.load, nothing) && a.axles.among(b.axles); });
    return std::move(wholes_);
  }

  [[nodiscard]] std::int64_t pairs() const { return pairs_; }  ///< looked at so far

  void report(candidate::RejectionLog& log) const {
    const auto say = [&](const Tally& t, const char* code, double shortfall, const char* unit, auto text) {
      if (t.count > 0) log.add(code, shortfall, unit, text, t.count);
    };
    const std::string motor = job_.brief.catalogue->at(job_.motor).name;
    say(gears_, "spin.too_few_gears", gears_.shortfall * job_.fn.sides, "pieces", [&] {
      std::size_t at = 0;
      while (gears_.load.gears.at(at) - job_.bench.capacity.at(at) < gears_.shortfall) ++at;
      const stock::ClassId id = job_.bench.classes[at];
      return fmt::format("{}: the outputs together need {}, the stock has {}", job_.brief.catalogue->at(id).name,
                         gears_.load.gears.at(at) * job_.fn.sides, job_.brief.stock->count_of(id));
    });
    say(stall_, "spin.stall", stall_.shortfall, "N mm", [&] {
      return fmt::format("{} gives {} N mm at stall, breaking the outputs loose asks {}", motor,
                         base::plain(job_.stall_nmm), base::plain(stall_.load.torque_nmm));
    });
    say(tooth_, "spin.tooth", tooth_.shortfall, "of its load",
        [&] { return fmt::format("the weakest mesh stands {} times its load", base::plain(1 - tooth_.shortfall)); });
    say(slow_, "spin.slow_under_load", slow_.shortfall, "of its speed", [&] {
      return fmt::format("behind {} an output falls to {} of its lowest speed under load", motor,
                         base::plain(1 - slow_.shortfall));
    });
  }

 private:
  bool stands(const Load& load, double allowable_n, double least_nmm, const Outlook& line) {
    if (!load.gears.among(job_.bench.capacity)) {
      int most = 1;
      for (std::size_t s = 0; s < job_.bench.classes.size(); ++s)
        most = std::max(most, load.gears.at(s) - job_.bench.capacity.at(s));
      gears_.add(most, load);
      return false;
    }
    if (load.torque_nmm * candidate::kNearMiss > job_.stall_nmm) {
      stall_.add(load.torque_nmm - job_.stall_nmm, load);
      return false;
    }
    const double tooth = load.force_n > 0 ? std::min(load.margin, allowable_n / load.force_n) : load.margin;
    if (tooth < candidate::kNearMiss) {
      tooth_.add(1 - tooth, load);
      return false;
    }
    const double speed = load.slow * line.speed_share(load.torque_nmm + least_nmm);
    if (speed < (job_.widen == 1 ? 1 : candidate::kNearMiss)) {
      slow_.add(1 - speed, load);
      return false;
    }
    return true;
  }

  const Job& job_;
  Found& found_;
  std::int64_t pairs_ = 0;
  std::vector<Whole> wholes_;
  Tally gears_, stall_, tooth_, slow_;
};

/// No layout of these ways has a better worst margin.
double best_margin(const Job& job, const Ways& ways) {
  double least_nmm = 0;
  for (const std::vector<Option>& of_output : ways) {
    double least = kInfinity;
    for (const Option& o : of_output) least = std::min(least, o.load.torque_nmm);
    least_nmm += least;
  }
  return std::min(candidate::kMarginCap, least_nmm > 0 ? job.stall_nmm / least_nmm : candidate::kMarginCap);
}

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
                       Found& out) {
  if (!wants.shared_stage || wants.outputs.size() < 2 || wants.most_stages < 2) return;
  gearing::TrainSearchResult found =
      gearing::search_trains(bench.table, bench.stock, query_of(1e-4, 1e3, wants.most_stages - 1, fn.sides), control);
  if (!found.complete) out.stopped_by = found.limit_text;
  std::stable_sort(found.trains.begin(), found.trains.end(),
                   [](const gearing::FoundTrain& a, const gearing::FoundTrain& b) { return a.ratio < b.ratio; });
  bench.short_trains = std::move(found.trains);
}

/// All layouts on one motor.
std::vector<Layout> search_motor(const Job& job, candidate::RejectionLog& log, const base::RunControl& control,
                                 const Limits& limits, Found& found) {
  const std::int64_t left_out_before = found.left_out;
  Ways direct = direct_ways(job, found, control);
  const std::vector<Outlook> each = extremes(direct);
  const double bound = best_margin(job, direct);
  for (std::size_t i = 0; i < direct.size(); ++i) {
    if (direct[i].empty()) report_no_train(job, i, log, control);
  }
  prune(job, direct, each, 0);
  Combiner combiner(job, found);
  const std::size_t meshes = job.wants.shared_stage && direct.size() > 1 ? job.bench.table.meshes.size() : 0;
  combiner.run(direct, each, std::nullopt, limits.combined / (meshes > 0 ? 2 : 1));
  for (std::size_t m = 0; m < meshes; ++m) {
    if (control.stopped()) {
      found.stopped_by = "everything after the stop";
      break;
    }
    const int shared = static_cast<int>(m);
    const MeshFigures& f = job.bench.figures[m];
    GearCounts own;
    own.add(f.driver, 1);
    own.add(f.driven, 1);
    Ways ways = shared_ways(job, shared, found);
    const auto users = std::count_if(ways.begin(), ways.end(), [](const auto& w) { return !w.empty(); });
    if (users < 2 || !own.among(job.bench.capacity)) continue;
    // Every train behind a shared stage is also one from the motor, so the extremes of torque and speed hold for both.
    std::vector<Outlook> bounds = extremes(ways);
    for (std::size_t i = 0; i < ways.size(); ++i) {
      bounds[i].most_torque_nmm = std::max(bounds[i].most_torque_nmm, each[i].most_torque_nmm);
      bounds[i].least_slow = std::min(bounds[i].least_slow, each[i].least_slow);
    }
    prune(job, ways, bounds, f.allowable_n);
    for (std::size_t i = 0; i < ways.size() && ways.size() > 2; ++i)
      ways[i].insert(ways[i].end(), direct[i].begin(), direct[i].end());
    // What the ones before did not use is shared out among the rest.
    const std::int64_t left = std::max<std::int64_t>(0, limits.combined - combiner.pairs());
    combiner.run(ways, bounds, shared, left / static_cast<std::int64_t>(meshes - m));
  }
  combiner.report(log);
  std::vector<Layout> layouts;
  std::vector<Combiner::Whole> wholes = combiner.take();
  const auto worst = [&](const Combiner::Whole& w) {
    return std::min(w.load.margin, job.stall_nmm / w.load.torque_nmm);
  };
  if (wholes.size() > limits.layouts) {  // best first, so that the best stays
    std::stable_sort(wholes.begin(), wholes.end(), [&](const auto& a, const auto& b) { return worst(a) > worst(b); });
    found.left_out += static_cast<std::int64_t>(spread_out(wholes, limits.layouts));
  }
  for (const Combiner::Whole& w : wholes) {
    Layout layout{job.motor, {}, {}, {}, {}};
    if (w.shared) layout.shared = job.bench.table.meshes[static_cast<std::size_t>(*w.shared)];
    for (const Option& o : w.ways) {
      layout.path.push_back(train_of(job.bench, o, w.shared));
      layout.by_shared.push_back(o.by_shared);
    }
    layouts.push_back(std::move(layout));
  }
  if (found.left_out > left_out_before) found.best_left_out = std::max(found.best_left_out, bound);
  return layouts;
}

}  // namespace

Found search(const brief::Function& fn, const Wants& wants, const brief::Brief& brief, double widen,
             candidate::RejectionLog& log, const base::RunControl& control, const Limits& limits) {
  Found out;
  Bench bench = make_bench(fn, brief);
  fill_short_trains(bench, wants, fn, control, out);
  const brief::Sample nominal = brief.parameters.nominal();
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
    Job job{fn,      wants, brief, bench, motor, drive::machine({motor, 1, {}}, brief, nominal),
            nominal, 0,     0,     widen, {},    {}};
    fill_figures(bench, job.machine);
    const motor::Line line = motor::line(job.machine.motor, job.machine.feed);
    job.free_speed_rad_s = line.no_load_speed_rad_s;
    job.stall_nmm = line.stall_torque_nmm;
    for (const Output& output : wants.outputs) {
      job.range.push_back(range_of(output, job.free_speed_rad_s, widen));
      job.load_nmm.push_back(wants.sticking * friction_nmm(output, brief.parameters, nominal));
    }
    std::vector<Layout> layouts = search_motor(job, log, control, limits, out);
    out.layouts.insert(out.layouts.end(), std::make_move_iterator(layouts.begin()),
                       std::make_move_iterator(layouts.end()));
  }
  if (!any_motor)
    log.add("spin.no_motor", fn.sides, "pieces",
            [] { return std::string("the stock has no motor that this function may use often enough"); });
  if (control.stopped() && out.stopped_by.empty()) out.stopped_by = "everything after the stop";
  out.complete = out.left_out == 0 && out.stopped_by.empty();
  return out;
}

std::string limit_text(const Found& found, double best_listed) {
  std::vector<std::string> parts;
  if (!found.stopped_by.empty()) parts.push_back("left out: " + found.stopped_by);
  if (found.left_out > 0) {
    const bool none = best_listed >= found.best_left_out * (1 - kHair);
    parts.push_back(fmt::format("{} whole and part solutions with other gears were left out; {}", found.left_out,
                                none ? std::string("none could have a better margin than the best listed")
                                     : fmt::format("none could exceed a margin of {}, the best listed has {}",
                                                   base::plain(found.best_left_out), base::plain(best_listed))));
  }
  return fmt::format("{}", fmt::join(parts, "; "));
}

}  // namespace functions::spin
