// Search over motors and trains, by length: trains of up to two meshes in the window that also holds near misses, then
// longer ones in the window of what meets the wants. Domination is exact: a powertrain falls to another one with the
// same motors whose gears are among its own, whose worst margin is at least as good and whose current is no higher;
// every kind's candidate made from the first would then be dominated by the one made from the second, parts and room of
// its frame apart. Only what can be built in the function's room may beat another one.
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <limits>
#include <map>
#include <numbers>
#include <numeric>
#include <tuple>

#include "base/check.h"
#include "base/text.h"
#include "functions/drive/drive.h"
#include "functions/drive/gears.h"
#include "functions/drive/placing.h"

#include <fmt/format.h>

namespace functions::drive {
namespace {

constexpr std::string_view kNoLayout = "drive.no_layout";
constexpr std::string_view kSearchEnded = "drive.layout_search_ended";
constexpr std::string_view kNoIdlers = "drive.idlers_not_tried";
/// Trains of several meshes that are looked for over an idler where nothing else has a place.
constexpr std::size_t kTriedOverIdlers = 16;
/// Other orders of longer trains are not tried: their number grows faster than the chance that one fits.
constexpr std::size_t kReorderedStages = 3;
constexpr double kRpmPerRad = 30 / std::numbers::pi;

/// Gear counts of a train packed seven bits a class (the eighth is a guard), so that "are among" is a few subtractions.
class GearCounts {
 public:
  static constexpr std::size_t kWords = 8;
  static constexpr std::size_t kMostClasses = kWords * 8;

  void add(std::size_t slot, int count) {
    KW_CHECK(slot < kMostClasses && count < 128, "more gear classes or gears than the packed counts hold");
    words_[slot / 8] += static_cast<std::uint64_t>(count) << (8 * (slot % 8));
  }
  void add(const GearCounts& other) {
    for (std::size_t w = 0; w < kWords; ++w) words_[w] += other.words_[w];
  }
  [[nodiscard]] bool has(std::size_t slot) const { return ((words_[slot / 8] >> (8 * (slot % 8))) & 0xff) != 0; }
  /// Whether every count is at most the other's.
  [[nodiscard]] bool among(const GearCounts& other, std::size_t words) const {
    constexpr std::uint64_t kGuards = 0x8080808080808080ULL;
    for (std::size_t w = 0; w < words; ++w) {
      if ((((other.words_[w] | kGuards) - words_[w]) & kGuards) != kGuards) return false;
    }
    return true;
  }

 private:
  std::array<std::uint64_t, kWords> words_{};
};

base::Rational rational_below(double x) {
  return {static_cast<std::int64_t>(std::floor(x * 1e6)), 1000000};
}
base::Rational rational_above(double x) {
  return {static_cast<std::int64_t>(std::ceil(x * 1e6)), 1000000};
}

/// What a kept powertrain is compared by; small, so that a scan over thousands stays in the cache.
struct Mark {
  GearCounts gears;
  double worst = 0;
  double current_ma = 0;
};

/// The kept powertrains of one motor. Whoever beats somebody moves to the front half of its distance, so that the
/// strong ones are met first; only whether one exists matters, so the order changes no answer.
class Champions {
 public:
  explicit Champions(std::size_t words) : words_(words) {}
  void add(const Mark& mark) { marks_.push_back(mark); }
  /// Whether one has at least this margin at no more current with gears among these.
  [[nodiscard]] bool beat(const GearCounts& gears, double worst, double current_ma) {
    for (std::size_t i = 0; i < marks_.size(); ++i) {
      const Mark& m = marks_[i];
      if (m.worst >= worst && m.current_ma <= current_ma * (1 + 1e-9) && m.gears.among(gears, words_)) {
        std::swap(marks_[i], marks_[i / 2]);
        return true;
      }
    }
    return false;
  }

 private:
  std::size_t words_;
  std::vector<Mark> marks_;
};

/// Trains that fell short of kNearMiss in one way, and the nearest of them.
struct Shortfall {
  std::int64_t count = 0;
  double reached = 0;  ///< of the nearest
  gearing::FoundTrain train;
  void add(const gearing::FoundTrain& f, double value) {
    if (count == 0 || value > reached) {
      reached = value;
      train = f;
    }
    ++count;
  }
};

/// Motors and gears that the function must use; whatever lacks one is no variant at all, so it must not beat others.
struct Musts {
  std::vector<stock::ClassId> motors, gears;
};

Musts musts_of(const brief::Function& function, const stock::Catalogue& catalogue) {
  Musts musts;
  for (const stock::ClassId id : function.must_use) {
    const stock::PartData& data = catalogue.at(id).data;
    if (std::holds_alternative<stock::Motor>(data)) musts.motors.push_back(id);
    if (std::holds_alternative<stock::Gear>(data) || std::holds_alternative<stock::Ring>(data))
      musts.gears.push_back(id);
  }
  return musts;
}

double stall_needed_nmm(const Query& q) {
  return std::max(q.least_torque_nmm, q.most_torque_nmm);
}

/// Upper bound of the worst margin and the least current of a train, from its ratio and losses alone.
struct Quick {
  double stall_nmm = 0;
  double speed_rad_s = 0;
  double worst = 0;
  double current_ma = 0;
};

Quick quick_look(const Machine& m, double stall_motor_nmm, const Query& q) {
  Quick out;
  out.stall_nmm = stall_motor_nmm * m.motors / m.ratio * m.forward;
  const QuickState state = quick_state(m, q.least_torque_nmm);
  out.speed_rad_s = state.speed_rad_s;
  out.current_ma = stepped_current_ma(state.current_ma);
  const double needed_nmm = stall_needed_nmm(q);
  const double torque = needed_nmm > 0 ? out.stall_nmm / needed_nmm : candidate::kMarginCap;
  const double speed = q.least_speed_rad_s > 0 ? out.speed_rad_s / q.least_speed_rad_s : candidate::kMarginCap;
  out.worst = std::min({torque, speed, q.ceiling, candidate::kMarginCap});
  return out;
}

/// The gears of the stock that a function may use, and how they mesh.
struct Gears {
  std::vector<stock::ClassId> classes;
  std::vector<gearing::GearStock> stock;
  std::map<stock::ClassId, std::size_t> slot;
  gearing::MeshTable table;
  std::vector<GearCounts> of_mesh;  ///< driver and driven of each mesh
  /// One slot more than classes: joiners.
  [[nodiscard]] std::size_t words() const { return classes.size() / 8 + 1; }
  /// What a powertrain takes, idlers and joiners included.
  [[nodiscard]] GearCounts counts_of(const Powertrain& p) const {
    GearCounts counts;
    for (const gearing::GearUse& use : p.train.needs()) counts.add(slot.at(use.part), use.count);
    counts.add(classes.size(), p.joiners);
    return counts;
  }
};

Gears gears_of(const brief::Brief& brief, const brief::Function& function) {
  Gears g;
  g.stock = gears_for(brief, function);
  for (const gearing::GearStock& gear : g.stock) {
    g.slot.emplace(gear.part, g.classes.size());
    g.classes.push_back(gear.part);
  }
  g.table = gearing::find_meshes(*brief.catalogue, g.classes);
  for (const gearing::Mesh& mesh : g.table.meshes) {
    GearCounts counts;
    counts.add(g.slot.at(mesh.driver), 1);
    counts.add(g.slot.at(mesh.driven), 1);
    g.of_mesh.push_back(counts);
  }
  return g;
}

constexpr int kNearMissStages = 2;  ///< near misses only tell how far a target must be loosened; short trains suffice

std::vector<Stand> stands_of(const Query& query, const Powertrain& p, const Judged& j) {
  return query.stands ? query.stands(p) : std::vector<Stand>{{query.site, j}};
}

/// What came of a search with joined axles and idlers.
struct Helped {
  std::optional<Stand> stand;  ///< where it serves
  bool idlers = false;         ///< were tried
  bool ended = false;          ///< not every place was tried
  bool falls_short = false;    ///< there is a place, but what stands there does not serve
};

/// A place for a powertrain that found none as it is: with joined axles if `joined`, or with idlers if `idlers`. The
/// powertrain is then what stands there, judged anew.
Helped place_with_help(const Query& query, double share, const std::shared_ptr<const Site>& site, bool joined,
                       bool idlers, Powertrain& powertrain, const base::RunControl& control) {
  Helped out;
  for (const Help help : {Help::joined, Help::idlers}) {
    if (!(help == Help::joined ? joined : idlers) || !may_help(help, powertrain.train, query.placers->kit())) continue;
    out.idlers = out.idlers || help == Help::idlers;
    const Placers::First found = query.placers->with_help(help, powertrain, site, control);
    out.ended = out.ended || found.ended;
    if (found.placed == nullptr) continue;
    Powertrain other = powertrain;
    other.joiners = joiners_in(*found.placed);
    other.train = trains_of(*found.placed, query.placers->table()).front();
    for (const Stand& stand : stands_of(query, other, query.judge(other))) {
      if (stand.site != site) continue;
      out.falls_short = stand.judged.worst < share;
      if (out.falls_short) continue;
      powertrain = std::move(other);
      out.stand = stand;
      return out;
    }
  }
  return out;
}

/// A train of several meshes that found no place as it is.
struct Unplaced {
  Powertrain powertrain;
  std::shared_ptr<const Site> site;
  double share = 0, worst = 0;
  std::size_t contest = 0;
};

/// Finds a place for a powertrain, with its stages in the given order, in another one, or with joined axles or idlers,
/// all but the first judged anew. Returns whether there is one and it serves; `powertrain`, `judged` and `site` are
/// then of it.
bool find_place(const Query& query, double share, Powertrain& powertrain, Judged& judged,
                std::shared_ptr<const Site>& site, std::vector<Unplaced>& unplaced, const stock::Catalogue& catalogue,
                candidate::RejectionLog& log, const base::RunControl& control) {
  bool another_serves = false, ended = false, lacked_axle = false;
  const std::vector<Stand> stands = stands_of(query, powertrain, judged);
  for (const Stand& stand : stands) {
    if (stand.judged.worst < share) continue;
    const Placers::First found =
        query.placers->first(powertrain.motor, powertrain.motors, stand.site, {powertrain.train}, control);
    if (found.train >= 0) {
      judged = stand.judged;
      site = stand.site;
      return true;
    }
    ended = ended || found.ended;
    lacked_axle = lacked_axle || (found.lacked_axle && &stand == &stands.front());
  }
  const bool last_fixed = query.train.end_on_ring || query.train.last_driven.has_value();
  std::vector<gearing::Train> orders;
  if (powertrain.train.stages.size() <= kReorderedStages) orders = other_orders(powertrain.train, last_fixed);
  for (std::size_t i = 0; i < std::min<std::size_t>(1, stands.size()) && !orders.empty(); ++i) {
    const Placers::First found =
        query.placers->first(powertrain.motor, powertrain.motors, stands[i].site, orders, control);
    ended = ended || found.ended;
    if (found.train < 0) continue;
    Powertrain other = powertrain;
    other.train = orders[static_cast<std::size_t>(found.train)];
    const Judged again = query.judge(other);
    for (const Stand& stand : stands_of(query, other, again)) {
      if (stand.site != stands[i].site) continue;
      another_serves = true;
      if (stand.judged.worst < share) continue;
      powertrain = std::move(other);
      judged = stand.judged;
      site = stand.site;
      return true;
    }
  }
  // Only where there is but one mesh at once: among the trains of several, looking for idlers would be most of a
  // search.
  const bool single = powertrain.train.stages.size() == 1;
  const Helped helped = place_with_help(query, share, stands.front().site, lacked_axle, single, powertrain, control);
  if (helped.stand) {
    judged = helped.stand->judged;
    site = helped.stand->site;
    return true;
  }
  if (!single && may_help(Help::idlers, powertrain.train, query.placers->kit()))
    unplaced.push_back({powertrain, stands.front().site, share, judged.worst, 0});
  query.placers->remember_unplaced(powertrain, stands.front().site, judged.worst);
  if (ended && !control.stopped()) {
    // Told by itself, with what it may cost: the nearest of these is the one that would be best on paper.
    log.add(std::string(kSearchEnded), candidate::kMarginCap - std::min(candidate::kMarginCap, judged.worst), "times",
            [&] {
              return fmt::format(
                  "{}: no layout was found in {} steps of the search, which is not to say that there is "
                  "none; its margin on paper is {}",
                  title_of(powertrain, catalogue), kStepsToFirst, base::plain(judged.worst, 3));
            });
  } else if (!control.stopped()) {
    log.add(std::string(kNoLayout), static_cast<double>(powertrain.train.stages.size()), "meshes", [&] {
      return fmt::format(
          "{}: {}{}{}", title_of(powertrain, catalogue),
          query.placers->refusal(powertrain.motor, powertrain.motors, stands.front().site, powertrain.train, control),
          !helped.idlers       ? ""
          : helped.falls_short ? "; over an idler it falls short"
          : helped.ended       ? fmt::format("; over an idler none was found in {} steps of the search", kStepsToFirst)
                               : "; nor is there one over an idler",
          another_serves                                      ? "; in another order of its stages it falls short"
          : powertrain.train.stages.size() > kReorderedStages ? "; other orders of its stages were not tried"
                                                              : "");
    });
  }
  return false;
}

/// One motor class, so many a side, with what was kept of it.
struct Contest {
  stock::ClassId motor{};
  int motors = 1;
  int sides = 1;
  Machine direct;
  motor::Line line;
  std::vector<double> mesh_keeps;  ///< efficiency of each mesh and the bearing behind it
  Champions champions;
  Shortfall weak, slow;
  bool told_too_weak = false;
};

std::vector<Contest> contests_of(const brief::Brief& brief, const brief::Function& function, const Query& query,
                                 const Musts& musts, const Gears& gears, candidate::RejectionLog& log) {
  const stock::Catalogue& catalogue = *brief.catalogue;
  const brief::Sample nominal = brief.parameters.nominal();
  std::vector<Contest> out;
  for (const stock::ClassId motor : catalogue.of(stock::Family::motor)) {
    if (!allowed(function, motor) || !std::holds_alternative<stock::Motor>(catalogue.at(motor).data)) continue;
    if (!musts.motors.empty() && musts.motors != std::vector{motor}) continue;
    for (const int motors : query.motors_per_side) {
      const int have = brief.stock->count_of(motor), want = motors * function.sides;
      if (have < want) {
        if (have > 0) {
          log.add("drive.too_few_motors", want - have, "pieces", [&] {
            return fmt::format("{} needed {} times, the stock has {}", catalogue.at(motor).name, want, have);
          });
        }
        continue;
      }
      Contest c{motor, motors, function.sides,           machine({motor, motors, {}}, brief, nominal),
                {},    {},     Champions(gears.words()), {},
                {},    false};
      c.line = motor::line(c.direct.motor, c.direct.feed);
      for (const gearing::Mesh& mesh : gears.table.meshes) {
        c.mesh_keeps.push_back(gearing::forward_efficiency(mesh, c.direct.meshes) * (1 - c.direct.meshes.bearing_loss));
      }
      out.push_back(std::move(c));
    }
  }
  if (out.empty()) {
    log.add("drive.no_motor", 1, "pieces",
            [&] { return std::string("the stock has no motor that this function may use often enough"); });
  }
  return out;
}

/// What one call of powertrains() works with.
struct Search {
  const brief::Brief& brief;
  const Query& query;
  const Gears& gears;
  const Musts& musts;
  std::vector<Contest>& contests;
  Powertrains& out;
  std::vector<Unplaced>& unplaced;
  candidate::RejectionLog& log;
  const base::RunControl& control;
  [[nodiscard]] const stock::Catalogue& catalogue() const { return *brief.catalogue; }
};

/// Share of the wants that trains of up to so many meshes are looked at for.
double least_share(int longest) {
  return longest <= kNearMissStages ? candidate::kNearMiss : 1.0;
}

/// A train behind the motor of a contest that may reach what is asked, by its ratio and losses alone.
struct Listed {
  std::size_t contest = 0;
  gearing::FoundTrain train;
  GearCounts counts;
  Quick quick;
};

/// Every train of `shortest` to `longest` meshes behind one motor that may serve, as found, to `use`, until that says
/// false.
void list_lengths(const Search& s, int shortest, int longest, std::size_t contest,
                  const std::function<bool(const Listed&)>& use) {
  Contest& c = s.contests[contest];
  const Query& query = s.query;
  const double needed_nmm = stall_needed_nmm(query);
  // Outside this window even a loss-free train misses that share of the torque or of the speed.
  const bool near_misses = longest <= kNearMissStages;
  if (!near_misses && query.ceiling < 1) return;  // what limits it is not the drive
  const double share = least_share(longest);
  const double low = std::max(share * query.least_speed_rad_s / c.line.no_load_speed_rad_s, 1e-6);
  const double high =
      std::min(needed_nmm > 0 ? c.line.stall_torque_nmm * c.motors / (share * needed_nmm) : 1000.0, 1000.0);
  if (low > high) {
    if (!near_misses || c.told_too_weak) return;
    c.told_too_weak = true;
    s.log.add("drive.motor_too_weak", low / high, "times", [&] {
      return fmt::format("{}{} gives {} N mm at stall and {} rpm at most; {} N mm at {} rpm needs {} times its power",
                         c.motors > 1 ? fmt::format("{} x ", c.motors) : "", s.catalogue().at(c.motor).name,
                         base::plain(c.line.stall_torque_nmm * c.motors),
                         base::plain(c.line.no_load_speed_rad_s * kRpmPerRad), base::plain(needed_nmm),
                         base::plain(query.least_speed_rad_s * kRpmPerRad), base::plain(low / high, 3));
    });
    return;
  }
  gearing::TrainQuery rules = query.train;
  if (query.placers != nullptr) rules.most_right_angles = std::min(rules.most_right_angles, kMostRightAngles);
  rules.min_stages = shortest;
  rules.max_stages = longest;
  rules.low = std::max(rational_below(low), base::Rational(1, 1000000));
  rules.high = rational_above(high);
  rules.copies = c.sides;
  const gearing::TrainSearchResult found = gearing::search_trains(s.gears.table, s.gears.stock, rules, s.control);
  s.out.complete = s.out.complete && found.complete;
  if (!found.complete) s.out.limit_text = found.limit_text;
  Listed listed;
  listed.contest = contest;
  for (const gearing::FoundTrain& f : found.trains) {
    if (s.control.stopped()) return;
    ++s.out.examined;
    listed.counts = {};
    Machine m = c.direct;
    m.ratio = f.ratio;
    m.forward = 1 - c.direct.meshes.bearing_loss;
    for (int i = 0; i < f.stages; ++i) {
      const auto mesh = static_cast<std::size_t>(f.mesh[static_cast<std::size_t>(i)]);
      m.forward *= c.mesh_keeps[mesh];
      listed.counts.add(s.gears.of_mesh[mesh]);
    }
    if (std::any_of(s.musts.gears.begin(), s.musts.gears.end(),
                    [&](stock::ClassId id) { return !listed.counts.has(s.gears.slot.at(id)); })) {
      continue;
    }
    listed.quick = quick_look(m, c.line.stall_torque_nmm, query);
    if (listed.quick.worst < share) {
      if (!near_misses) continue;
      if (needed_nmm > 0 && listed.quick.stall_nmm / needed_nmm <= listed.quick.worst * (1 + 1e-9)) {
        c.weak.add(f, listed.quick.stall_nmm);
      } else {
        c.slow.add(f, listed.quick.speed_rad_s);
      }
      continue;
    }
    listed.train = f;
    if (!use(listed)) return;
  }
}

/// Judges a train that may serve, and keeps it if it can be built and no other one beats it.
void judge_one(const Search& s, const Listed& listed, int longest) {
  Contest& c = s.contests[listed.contest];
  const Query& query = s.query;
  const double share = least_share(longest);
  GearCounts counts = listed.counts;
  // The bound is at least the judged margin, and the load at least the quick one's, so who beats the bound at no more
  // current beats the judgement too. A hair for the two routes to the same efficiency.
  if (c.champions.beat(counts, listed.quick.worst * (1 + 1e-12), listed.quick.current_ma)) return;
  Powertrain powertrain{c.motor, c.motors, gearing::make_train(s.gears.table, listed.train)};
  if (query.arrange) powertrain.train = query.arrange(std::move(powertrain.train));
  Judged judged = query.judge(powertrain);
  if (judged.worst < share) {
    if (share > candidate::kNearMiss && judged.worst >= candidate::kNearMiss) return;
    s.log.add("drive." + judged.limit, std::fabs(judged.wanted - judged.reached), judged.unit, [&] {
      return fmt::format("{}: {} reaches {} {}, {} are asked", title_of(powertrain, s.catalogue()), judged.limit,
                         base::plain(judged.reached), judged.unit, base::plain(judged.wanted));
    });
    return;
  }
  if (c.champions.beat(counts, judged.worst, judged.current_ma)) return;
  std::shared_ptr<const Site> site;
  if (query.placers != nullptr) {
    const double before = judged.worst;
    const std::size_t known = s.unplaced.size();
    const bool stands = find_place(query, share, powertrain, judged, site, s.unplaced, s.catalogue(), s.log, s.control);
    for (std::size_t i = known; i < s.unplaced.size(); ++i) s.unplaced[i].contest = listed.contest;
    if (!stands) return;
    const bool helped = powertrain.joiners > 0 || !powertrain.train.idlers.empty();
    if (helped) counts = s.gears.counts_of(powertrain);
    if ((helped || judged.worst < before) && c.champions.beat(counts, judged.worst, judged.current_ma)) return;
  }
  c.champions.add({counts, judged.worst, judged.current_ma});
  s.out.kept.push_back(std::move(powertrain));
  s.out.judged.push_back(std::move(judged));
  s.out.sites.push_back(std::move(site));
}

/// Every train of some lengths, motor by motor.
void search_all(const Search& s, int shortest, int longest) {
  for (std::size_t c = 0; c < s.contests.size() && !s.control.stopped(); ++c) {
    list_lengths(s, shortest, longest, c, [&](const Listed& listed) {
      judge_one(s, listed, longest);
      return !s.control.stopped();
    });
  }
}

/// The same, best bound first, until of each motor `enough` are kept that no train that is left can be better than.
void search_best(const Search& s, int shortest, int longest, int enough) {
  std::vector<std::vector<double>> worsts(s.contests.size());  // of what is kept, by contest
  const auto contest_of = [&](const Powertrain& p) {
    const auto at = std::find_if(s.contests.begin(), s.contests.end(),
                                 [&](const Contest& c) { return c.motor == p.motor && c.motors == p.motors; });
    return static_cast<std::size_t>(at - s.contests.begin());
  };
  const auto note_kept = [&](std::size_t from) {
    for (std::size_t i = from; i < s.out.kept.size(); ++i)
      worsts[contest_of(s.out.kept[i])].push_back(s.out.judged[i].worst);
  };
  note_kept(0);
  for (std::size_t c = 0; c < s.contests.size() && !s.control.stopped(); ++c) {
    std::vector<Listed> all;
    list_lengths(s, shortest, longest, c, [&](const Listed& listed) {
      all.push_back(listed);
      return true;
    });
    std::vector<std::size_t> order(all.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
      const auto rank = [&](std::size_t i) {
        return std::tuple{-all[i].quick.worst, all[i].quick.current_ma, all[i].train.stages, i};
      };
      return rank(a) < rank(b);
    });
    for (std::size_t at = 0; at < order.size() && !s.control.stopped(); ++at) {
      const double bound = all[order[at]].quick.worst;
      const auto at_least =
          std::count_if(worsts[c].begin(), worsts[c].end(), [&](double w) { return w >= bound * (1 - 1e-9); });
      if (at_least >= enough) {
        s.log.add(
            std::string(candidate::kOnlyTheBest), candidate::kMarginCap - std::min(candidate::kMarginCap, bound),
            "times",
            [&] {
              return fmt::format(
                  "only the {} of each motor {} looked for; {} would have come next, with a margin of {} "
                  "at most",
                  enough == 1 ? "best train" : fmt::format("{} best trains", enough), enough == 1 ? "was" : "were",
                  title_of({s.contests[c].motor, s.contests[c].motors,
                            gearing::make_train(s.gears.table, all[order[at]].train)},
                           s.catalogue()),
                  base::plain(bound, 3));
            },
            static_cast<std::int64_t>(order.size() - at));
        break;
      }
      const std::size_t before = s.out.kept.size();
      judge_one(s, all[order[at]], longest);
      note_kept(before);
    }
  }
}

/// Where nothing at all was placed: the trains of several meshes that are best on paper, over an idler in one of their
/// parallel meshes, which bridges what the train lacks or turns the sense.
void place_over_idlers(const Query& query, const Gears& gears, std::vector<Contest>& contests,
                       std::vector<Unplaced> unplaced, Powertrains& out, const stock::Catalogue& catalogue,
                       candidate::RejectionLog& log, const base::RunControl& control) {
  std::stable_sort(unplaced.begin(), unplaced.end(),
                   [](const Unplaced& a, const Unplaced& b) { return a.worst > b.worst; });
  for (std::size_t i = 0; i < unplaced.size() && !control.stopped(); ++i) {
    if (i == kTriedOverIdlers) {
      log.add(
          std::string(kNoIdlers), 1, "meshes",
          [&] {
            return fmt::format(
                "{}: not tried over an idler, because {} trains that are better on paper were and the search for their "
                "layouts took its share",
                title_of(unplaced[i].powertrain, catalogue), i);
          },
          static_cast<std::int64_t>(unplaced.size() - i));
      return;
    }
    Unplaced& u = unplaced[i];
    Helped helped = place_with_help(query, u.share, u.site, false, true, u.powertrain, control);
    if (!helped.stand) continue;
    const Judged& judged = helped.stand->judged;
    const GearCounts counts = gears.counts_of(u.powertrain);
    Champions& champions = contests[u.contest].champions;
    if (champions.beat(counts, judged.worst, judged.current_ma)) continue;
    champions.add({counts, judged.worst, judged.current_ma});
    out.kept.push_back(std::move(u.powertrain));
    out.judged.push_back(judged);
    out.sites.push_back(helped.stand->site);
  }
}

}  // namespace

std::vector<gearing::GearStock> gears_for(const brief::Brief& brief, const brief::Function& function) {
  std::vector<gearing::GearStock> out;
  for (std::size_t i = 0; i < brief.catalogue->classes.size(); ++i) {
    const stock::ClassId id{static_cast<int>(i)};
    const stock::PartData& data = brief.catalogue->at(id).data;
    const bool toothed = std::holds_alternative<stock::Gear>(data) || std::holds_alternative<stock::Ring>(data);
    const int count = brief.stock->count_of(id);
    if (toothed && count > 0 && allowed(function, id)) out.push_back({id, count});
  }
  return out;
}

candidate::Proposal with_meshes(int most_stages, const std::function<candidate::Proposal(int)>& search) {
  int most = most_stages == kAsNeeded ? kNearMissStages : most_stages;
  while (true) {
    candidate::Proposal p = search(most);
    p.most_meshes = most;
    const bool served = std::any_of(p.candidates.begin(), p.candidates.end(),
                                    [](const candidate::Candidate& c) { return c.nominal.worst() >= 1; });
    // Where there is no room for a single drive, longer ones find none either.
    const bool no_room = p.candidates.empty() &&
                         std::any_of(p.rejections.begin(), p.rejections.end(), [](const candidate::Rejection& r) {
                           return r.code == kNoLayout || r.code == kSearchEnded;
                         });
    if (most_stages != kAsNeeded || served || no_room || !p.complete || most == gearing::kMostSearchStages) return p;
    ++most;
  }
}

Powertrains powertrains(const brief::Brief& brief, const brief::Function& function, const Query& query,
                        candidate::RejectionLog& log, const base::RunControl& control) {
  const stock::Catalogue& catalogue = *brief.catalogue;
  Powertrains out;
  const Gears gears = gears_of(brief, function);
  const Musts musts = musts_of(function, catalogue);
  for (const stock::ClassId id : musts.gears) {
    if (!gears.slot.contains(id)) return out;  // nothing in the stock can include it; the caller checks the musts
  }
  if (brief.supply.ports == 0 || !(brief.supply.voltage_v > 0)) {
    log.add("drive.no_supply", 1, "pieces",
            [] { return std::string("no hub of the stock feeds a motor; the supply needs at least one"); });
    return out;
  }
  const double needed_nmm = stall_needed_nmm(query);
  std::vector<Unplaced> unplaced;
  std::vector<Contest> contests = contests_of(brief, function, query, musts, gears, log);
  const Search all{brief, query, gears, musts, contests, out, unplaced, log, control};
  // Passes by length: short trains with the near misses, then one mesh more at a time.
  const int deepest = query.train.max_stages;
  int shortest = query.train.min_stages;
  for (int longest = std::min(kNearMissStages, deepest); longest <= deepest; shortest = ++longest) {
    if (shortest > longest) continue;
    if (function.best_only > 0) {
      search_best(all, shortest, longest, function.best_only);
    } else {
      search_all(all, shortest, longest);
    }
    if (control.stopped()) break;
  }
  if (out.kept.empty()) place_over_idlers(query, gears, contests, std::move(unplaced), out, catalogue, log, control);
  if (control.stopped() && out.complete) {
    out.complete = false;
    out.limit_text = "stopped before every train was judged";
  }
  for (const Contest& contest : contests) {
    const auto title = [&](const gearing::FoundTrain& f) {
      return title_of({contest.motor, contest.motors, gearing::make_train(gears.table, f)}, catalogue);
    };
    if (contest.weak.count > 0) {
      log.add(
          "drive.torque", needed_nmm - contest.weak.reached, "N mm",
          [&] {
            return fmt::format("{} gives {} N mm at stall, {} are needed", title(contest.weak.train),
                               base::plain(contest.weak.reached), base::plain(needed_nmm));
          },
          contest.weak.count);
    }
    if (contest.slow.count > 0) {
      const double wanted_rpm = query.least_speed_rad_s * kRpmPerRad;
      log.add(
          "drive.speed", wanted_rpm - contest.slow.reached * kRpmPerRad, "rpm",
          [&] {
            return fmt::format("{} turns at {} rpm under load, {} are needed", title(contest.slow.train),
                               base::plain(contest.slow.reached * kRpmPerRad), base::plain(wanted_rpm));
          },
          contest.slow.count);
    }
  }
  std::vector<std::size_t> order(out.kept.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return out.judged[a].worst > out.judged[b].worst; });
  Powertrains sorted;
  sorted.examined = out.examined;
  sorted.complete = out.complete;
  sorted.limit_text = std::move(out.limit_text);
  for (const std::size_t i : order) {
    sorted.kept.push_back(std::move(out.kept[i]));
    sorted.judged.push_back(std::move(out.judged[i]));
    sorted.sites.push_back(std::move(out.sites[i]));
  }
  return sorted;
}

}  // namespace functions::drive
