// Search over motors and trains. Domination is exact: a powertrain falls to another one with the same motors whose
// gears are among its own, whose worst margin is at least as good and whose current is no higher; every kind's
// candidate made from the first would then be dominated by the one made from the second.
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <limits>
#include <map>
#include <numbers>

#include "base/check.h"
#include "base/text.h"
#include "functions/drive/drive.h"

#include <fmt/format.h>

namespace functions::drive {
namespace {

/// Gear counts of a train packed seven bits a class (the eighth is a guard), so that "are among" is a few subtractions.
class GearCounts {
 public:
  static constexpr std::size_t kWords = 8;
  static constexpr std::size_t kMostClasses = kWords * 8;

  void add(std::size_t slot, int count) {
    KW_CHECK(slot < kMostClasses && count < 128, "more gear classes or gears than the packed counts hold");
    words_[slot / 8] += static_cast<std::uint64_t>(count) << (8 * (slot % 8));
  }
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

struct Kept {
  Powertrain powertrain;
  Judged judged;
  GearCounts gears;
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

bool includes_all(const std::vector<gearing::GearUse>& uses, const std::vector<stock::ClassId>& wanted) {
  return std::all_of(wanted.begin(), wanted.end(), [&](stock::ClassId id) {
    return std::any_of(uses.begin(), uses.end(), [id](const gearing::GearUse& u) { return u.part == id; });
  });
}

double stall_needed_nmm(const Query& q) {
  return std::max(q.least_torque_nmm, q.most_torque_nmm);
}

double quick_worst(const Machine& m, const Query& q) {
  const double needed_nmm = stall_needed_nmm(q);
  const double torque = needed_nmm > 0 ? stall_torque_nmm(m) / needed_nmm : candidate::kMarginCap;
  const double speed = q.least_speed_rad_s > 0 ? quick_state(m, q.least_torque_nmm).speed_rad_s / q.least_speed_rad_s
                                               : candidate::kMarginCap;
  return std::min({torque, speed, q.ceiling, candidate::kMarginCap});
}

}  // namespace

Powertrains powertrains(const brief::Brief& brief, const brief::Function& function, const Query& query,
                        candidate::RejectionLog& log, const base::RunControl& control) {
  const stock::Catalogue& catalogue = *brief.catalogue;
  Powertrains out;
  std::vector<stock::ClassId> classes;
  std::vector<gearing::GearStock> gears;
  std::map<stock::ClassId, std::size_t> slot;
  for (std::size_t i = 0; i < catalogue.classes.size(); ++i) {
    const stock::ClassId id{static_cast<int>(i)};
    const bool toothed = std::holds_alternative<stock::Gear>(catalogue.at(id).data) ||
                         std::holds_alternative<stock::Ring>(catalogue.at(id).data);
    const int count = brief.stock->count_of(id);
    if (!toothed || count == 0 || !allowed(function, id)) continue;
    slot.emplace(id, classes.size());
    classes.push_back(id);
    gears.push_back({id, count});
  }
  const std::size_t words = (classes.size() + 7) / 8;
  const gearing::MeshTable table = gearing::find_meshes(catalogue, classes);
  const brief::Sample nominal = brief.parameters.nominal();

  const Musts musts = musts_of(function, catalogue);
  std::vector<Kept> kept;
  bool any_motor = false;
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
      any_motor = true;
      const std::size_t first = kept.size();
      const Machine direct = machine({motor, motors, {}}, brief, nominal);
      const motor::Line line = motor::line(direct.motor, direct.feed);
      // Outside this window even a loss-free train misses kNearMiss of the torque or of the speed.
      double low = candidate::kNearMiss * query.least_speed_rad_s / line.no_load_speed_rad_s;
      const double needed_nmm = stall_needed_nmm(query);
      double high =
          needed_nmm > 0 ? line.stall_torque_nmm * motors / (candidate::kNearMiss * needed_nmm) : 1000.0;
      low = std::max(low, 1e-6);
      high = std::min(high, 1000.0);
      if (low > high) {
        log.add("drive.motor_too_weak", low / high, "times", [&] {
          return fmt::format(
              "{}{} gives {} N mm at stall and {} rpm at most; {} N mm at {} rpm needs {} times its power",
              motors > 1 ? fmt::format("{} x ", motors) : "", catalogue.at(motor).name,
              base::plain(line.stall_torque_nmm * motors),
              base::plain(line.no_load_speed_rad_s * 30 / std::numbers::pi), base::plain(needed_nmm),
              base::plain(query.least_speed_rad_s * 30 / std::numbers::pi), base::plain(low / high, 3));
        });
        continue;
      }
      gearing::TrainQuery rules = query.train;
      rules.low = std::max(rational_below(low), base::Rational(1, 1000000));
      rules.high = rational_above(high);
      rules.copies = function.sides;
      const gearing::TrainSearchResult found = gearing::search_trains(table, gears, rules, control);
      out.complete = out.complete && found.complete;
      if (!found.complete) out.limit_text = found.limit_text;
      for (const gearing::FoundTrain& f : found.trains) {
        if (control.stopped()) {
          out.complete = false;
          out.limit_text = "stopped before every train was judged";
          break;
        }
        ++out.examined;
        Kept k;
        k.powertrain = {motor, motors, gearing::make_train(table, f)};
        const std::vector<gearing::GearUse> uses = k.powertrain.train.needs();
        if (!includes_all(uses, musts.gears)) continue;
        const Machine m = machine(k.powertrain, brief, nominal);
        const double bound = quick_worst(m, query);
        const double current_ma = quick_state(m, query.least_torque_nmm).current_ma;
        for (const gearing::GearUse& use : uses) k.gears.add(slot.at(use.part), use.count);
        const auto beaten_by = [&](const Kept& other, double worst, double current) {
          return other.judged.worst >= worst && other.judged.current_ma <= current * (1 + 1e-9) &&
                 other.gears.among(k.gears, words);
        };
        if (bound < candidate::kNearMiss) {
          const double stall = stall_torque_nmm(m);
          if (needed_nmm > 0 && stall / needed_nmm <= bound * (1 + 1e-9)) {
            log.add("drive.torque", needed_nmm - stall, "N mm", [&] {
              return fmt::format("{} gives {} N mm at stall, {} are needed", title_of(k.powertrain, catalogue),
                                 base::plain(stall), base::plain(needed_nmm));
            });
          } else {
            const double rpm = quick_state(m, query.least_torque_nmm).speed_rad_s * 30 / std::numbers::pi;
            const double wanted = query.least_speed_rad_s * 30 / std::numbers::pi;
            log.add("drive.speed", wanted - rpm, "rpm", [&] {
              return fmt::format("{} turns at {} rpm under load, {} are needed", title_of(k.powertrain, catalogue),
                                 base::plain(rpm), base::plain(wanted));
            });
          }
          continue;
        }
        // The quick bound is at least the judged margin and the load at least the quick one, so who beats the bound at
        // no more current than the bound's beats the judgement too.
        if (std::any_of(kept.begin() + static_cast<std::ptrdiff_t>(first), kept.end(),
                        [&](const Kept& other) { return beaten_by(other, bound, current_ma); })) {
          continue;
        }
        k.judged = query.judge(k.powertrain);
        if (k.judged.worst < candidate::kNearMiss) {
          log.add("drive." + k.judged.limit, std::fabs(k.judged.wanted - k.judged.reached), k.judged.unit, [&] {
            return fmt::format("{}: {} reaches {} {}, {} are asked", title_of(k.powertrain, catalogue), k.judged.limit,
                               base::plain(k.judged.reached), k.judged.unit, base::plain(k.judged.wanted));
          });
          continue;
        }
        if (std::any_of(kept.begin() + static_cast<std::ptrdiff_t>(first), kept.end(),
                        [&](const Kept& other) { return beaten_by(other, k.judged.worst, k.judged.current_ma); })) {
          continue;
        }
        kept.push_back(std::move(k));
      }
    }
  }
  if (!any_motor) {
    log.add("drive.no_motor", 1, "pieces",
            [&] { return std::string("the stock has no motor that this function may use often enough"); });
  }
  std::stable_sort(kept.begin(), kept.end(),
                   [](const Kept& a, const Kept& b) { return a.judged.worst > b.judged.worst; });
  for (Kept& k : kept) {
    out.kept.push_back(std::move(k.powertrain));
    out.judged.push_back(std::move(k.judged));
  }
  return out;
}

}  // namespace functions::drive
