// The search of search.h, its layouts turned into candidates with the share of draws in which they start.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <map>
#include <memory>
#include <numbers>
#include <optional>
#include <string_view>
#include <tuple>
#include <utility>

#include "base/text.h"
#include "functions/drive/placing.h"
#include "functions/drive/told_drive.h"
#include "functions/spin/demand.h"
#include "functions/spin/search.h"
#include "functions/spin/site.h"
#include "functions/spin/spin.h"
#include "motor/motor.h"

namespace functions::spin {
namespace {

using candidate::Candidate;

constexpr double kRpmPerRadS = 30 / std::numbers::pi;
/// What turns for show has hundreds of trains that are as good as each other; of each motor the best so many that can
/// be built are proposed, out of so many that are tried.
constexpr int kMostBuilt = 12, kMostTried = 60;

Candidate make_candidate(const Layout& layout, const std::optional<drive::Placed>& placed, const Wants& wants,
                         const brief::Brief& brief, const brief::Function& fn, const brief::Sample& nominal) {
  Candidate c;
  c.key = key_of(layout, wants, *brief.catalogue);
  c.title = title_of(layout, wants, *brief.catalogue);
  if (placed) {
    drive::set_place(*placed, c);
    c.demand = drive::demand_of(layout.motor, 1, *placed, brief, fn);
    add_carried(c.demand, wants, brief, fn);
  } else {
    c.demand = demand_of(layout, wants, brief, fn);
  }
  c.nominal = evaluate(layout, wants, brief, fn.sides, nominal);
  c.demand.running_current_ma = told_current_ma(layout, wants, brief, fn.sides, nominal);
  const drive::Machine m = drive::machine({layout.motor, 1, {}}, brief, nominal);
  c.demand.stall_current_ma = motor::line(m.motor, m.feed).stall_current_a * 1000 * fn.sides;
  c.masses.push_back({fn.body, candidate::parts_mass_g(c.demand, *brief.catalogue)});
  candidate::Drive d = drive::drive_of({layout.motor, 1, {}}, m, fn.sides, nullptr);
  d.moves = fn.id;
  d.plus = "on";
  d.minus = "backwards";
  d.looks_only = true;
  const double load_nmm = motor_torque_nmm(layout, wants, brief.parameters, nominal, m.meshes);
  drive::set_steady(d, 0, 0, 1, load_nmm, load_nmm, load_nmm, load_nmm);
  d.heaviest_nmm = wants.sticking * load_nmm;
  d.sense = 1;
  c.drives = {std::move(d)};
  return c;
}

void add_figures(Candidate& c, const Layout& layout, const Wants& wants, const brief::Brief& brief,
                 const Starts& starts) {
  const brief::Sample nominal = brief.parameters.nominal();
  const drive::Machine m = drive::machine({layout.motor, 1, {}}, brief, nominal);
  const double load_nmm = motor_torque_nmm(layout, wants, brief.parameters, nominal, m.meshes);
  const motor::Operation run = motor::operate(m.motor, m.feed, load_nmm);
  for (std::size_t i = 0; i < layout.path.size(); ++i) {
    const double ratio = layout.path[i].ratio().value();
    c.figures.push_back({"ratio of " + wants.outputs[i].name, ratio, ""});
    c.figures.push_back({"speed of " + wants.outputs[i].name,
                         run.turns ? run.speed_rad_s * kRpmPerRadS * std::fabs(ratio) : 0.0, "rpm"});
  }
  c.figures.push_back({"torque to break loose, at the motor", wants.sticking * load_nmm, "N mm"});
  const double share = starts.share(layout);
  c.figures.push_back({"chance that it starts", 100 * share, "%"});
  if (share < 0.95) {
    c.notes.push_back(fmt::format("starts in {} % of the draws: ease the bearings or turn fewer parts at once",
                                  base::plain(100 * share, 3)));
  }
  if (std::any_of(layout.path.begin(), layout.path.end(),
                  [](const gearing::Train& t) { return t.right_angles() > 0; })) {
    c.notes.emplace_back("a right-angle mesh turns either way, depending on the side it is mounted on");
  }
}

/// The drive as it is placed: ways and meshes from the layout.
Layout layout_of(stock::ClassId motor, const drive::Placed& placed, const gearing::MeshTable& table) {
  Layout out{motor, std::nullopt, drive::trains_of(placed, table), {}, drive::paths_of(placed)};
  out.by_shared.assign(out.path.size(), false);
  // The first mesh that several ways begin with.
  for (std::size_t i = 0; i < out.mesh.size() && !out.shared; ++i) {
    const auto as_here = [&](const std::vector<int>& way) {
      return !way.empty() && !out.mesh[i].empty() && way.front() == out.mesh[i].front();
    };
    if (std::count_if(out.mesh.begin(), out.mesh.end(), as_here) < 2) continue;
    out.shared = out.path[i].stages.front();
    for (std::size_t k = 0; k < out.mesh.size(); ++k) out.by_shared[k] = as_here(out.mesh[k]);
  }
  return out;
}

/// Layouts on paper, the best first, of equal ones those with the fewest meshes; without those that have more right
/// angles on a way than are placed.
std::vector<Layout> in_order(std::vector<Layout> layouts, const Wants& wants, const brief::Brief& brief,
                             const brief::Function& fn, const brief::Sample& nominal) {
  struct Rank {
    double worst = 0;
    std::size_t meshes = 0;
  };
  std::vector<std::pair<Rank, std::size_t>> order;
  for (std::size_t i = 0; i < layouts.size(); ++i) {
    Rank rank{evaluate(layouts[i], wants, brief, fn.sides, nominal).worst(), 0};
    bool square = false;
    for (const gearing::Train& t : layouts[i].path) {
      rank.meshes += t.stages.size();
      square = square || t.right_angles() > drive::kMostRightAngles;
    }
    if (!square) order.emplace_back(rank, i);
  }
  std::stable_sort(order.begin(), order.end(), [](const auto& a, const auto& b) {
    return a.first.worst != b.first.worst ? a.first.worst > b.first.worst : a.first.meshes < b.first.meshes;
  });
  std::vector<Layout> out;
  for (const auto& [rank, i] : order) out.push_back(std::move(layouts[i]));
  return out;
}

/// candidate::keep_non_dominated() motor by motor: layouts on different motors need different parts, so none of them
/// beats one of the others. Candidates come motor by motor.
void keep_by_motor(std::vector<Candidate>& candidates, const stock::Catalogue& catalogue) {
  std::vector<Candidate> all = std::move(candidates);
  candidates.clear();
  const auto motor = [](const Candidate& c) { return c.demand.needs.front().accepts; };
  for (std::size_t at = 0; at < all.size();) {
    std::vector<Candidate> group;
    for (const auto same = motor(all[at]); at < all.size() && motor(all[at]) == same; ++at)
      group.push_back(std::move(all[at]));
    candidate::keep_non_dominated(group, catalogue);
    std::move(group.begin(), group.end(), std::back_inserter(candidates));
  }
  std::sort(candidates.begin(), candidates.end(), [](const Candidate& a, const Candidate& b) {
    return std::make_tuple(-a.nominal.worst(), a.masses.front().mass_g, std::string_view(a.key)) <
           std::make_tuple(-b.nominal.worst(), b.masses.front().mass_g, std::string_view(b.key));
  });
}

}  // namespace

candidate::Proposal propose(const brief::Function& fn, const candidate::Wants& base_wants, const brief::Brief& brief,
                            const base::RunControl& control) {
  const auto& wants = dynamic_cast<const Wants&>(base_wants);
  candidate::Proposal out;
  candidate::RejectionLog log;
  const brief::Sample nominal = brief.parameters.nominal();
  // The evaluations outlive this call, so they share copies of what they read.
  const auto shared_wants = std::make_shared<const Wants>(wants);
  const auto shared_brief = std::make_shared<const brief::Brief>(brief);
  std::vector<brief::Sample> draws;
  for (int k = 0; k < brief.draws; ++k)
    draws.push_back(brief.parameters.draw(brief.seed, static_cast<std::uint64_t>(k)));

  const Sites sites = sites_for(wants, brief, fn);
  std::map<std::string, Layout> layouts;  // by key
  std::map<std::string, drive::Placed> placed_by;
  // Near misses only when nothing fits: their wider ranges would otherwise drown the trains that do.
  for (const double widen : {1.0, candidate::kNearMiss}) {
    control.report("ornamental drives", -1);
    Found found = search(fn, wants, brief, widen, log, control);
    out.examined += found.examined;
    drive::Placers placers(brief, fn, wants.most_stages);
    std::map<stock::ClassId, int> built, tried;  // by motor
    std::int64_t untried = 0;
    double best_untried = 0;
    for (Layout& paper : in_order(std::move(found.layouts), wants, brief, fn, nominal)) {
      Layout layout = std::move(paper);
      std::optional<drive::Placed> placed;
      if (wants.outputs.size() <= kMostPlaced) {
        if (built[layout.motor] >= kMostBuilt || ++tried[layout.motor] > kMostTried) {
          best_untried = std::max(best_untried, evaluate(layout, wants, brief, fn.sides, nominal).worst());
          ++untried;
          continue;
        }
        std::string refusal;
        std::vector<drive::Placed> places = placers.several(layout.motor, {layout.path, layout.by_shared}, sites.first,
                                                            sites.all, sites.fixed, refusal, control);
        if (places.empty()) {
          if (control.stopped()) break;
          log.add("drive.no_layout", static_cast<double>(layout.path.front().stages.size()), "meshes",
                  [&] { return fmt::format("{}: {}", title_of(layout, wants, *brief.catalogue), refusal); });
          continue;
        }
        ++built[layout.motor];
        placed = std::move(places.front());
        layout = layout_of(layout.motor, *placed, placers.table());
      }
      Candidate c = make_candidate(layout, placed, wants, brief, fn, nominal);
      if (c.nominal.worst() < candidate::kNearMiss) {
        const auto governs = std::min_element(c.nominal.margins.begin(), c.nominal.margins.end(),
                                              [](const auto& a, const auto& b) { return a.ratio < b.ratio; });
        log.add("spin.below", std::fabs(governs->requirement - governs->capability), governs->unit, [&] {
          return fmt::format("{}: {} reaches {} {}, {} are asked", c.title, governs->name,
                             base::plain(governs->capability), governs->unit, base::plain(governs->requirement));
        });
        continue;
      }
      if (placed && !drive::stock_serves(c, brief, log)) continue;
      if (!drive::uses_all_wanted(fn, c.demand)) {
        log.add("spin.must_use", 1, "parts",
                [&] { return fmt::format("{} does without a part it must use", c.title); });
        continue;
      }
      layouts.insert_or_assign(c.key, layout);
      if (placed) placed_by.insert_or_assign(c.key, *placed);
      c.evaluate = [layout, shared_wants, shared_brief, sides = fn.sides](const brief::Sample& sample) {
        return evaluate(layout, *shared_wants, *shared_brief, sides, sample);
      };
      out.candidates.push_back(std::move(c));
    }
    keep_by_motor(out.candidates, *brief.catalogue);
    out.complete = found.complete;
    const double best_listed = out.candidates.empty() ? 0 : out.candidates.front().nominal.worst();
    out.limit_text = limit_text(found, best_listed);
    if (untried > 0) {
      log.add(
          "spin.further", std::max(0.0, best_untried - best_listed), "times",
          [&] {
            return fmt::format(
                "{} further drives were not laid out: of each motor {} are proposed and {} tried; the best of them has "
                "a margin of {} on paper, the best proposed one {}",
                untried, kMostBuilt, kMostTried, base::plain(best_untried), base::plain(best_listed));
          },
          untried);
    }
    if (!out.candidates.empty() || control.stopped()) break;
  }
  std::map<stock::ClassId, Starts> starts;
  for (Candidate& c : out.candidates) {
    const Layout& layout = layouts.at(c.key);
    const auto at = starts.try_emplace(layout.motor, layout.motor, wants, brief, draws).first;
    add_figures(c, layout, wants, brief, at->second);
    const auto placed = placed_by.find(c.key);
    if (placed != placed_by.end()) {
      drive::tell_place(placed->second, brief, c);
      std::vector<double> break_loose_nmm;
      for (const Output& o : wants.outputs)
        break_loose_nmm.push_back(wants.sticking * friction_nmm(o, brief.parameters, nominal));
      drive::tell_loads_of_all(placed->second, layout.path, drive::machine({layout.motor, 1, {}}, brief, nominal),
                               brief, break_loose_nmm, c);
    } else {
      c.notes.push_back(
          fmt::format("not placed hole by hole: {} outputs, at most {} are; axles, bushes and beams by rule",
                      wants.outputs.size(), kMostPlaced));
    }
  }
  out.rejections = log.take();
  return out;
}

candidate::Kind kind() {
  return {"spin", "one motor turns several things for show", &fields, &read, &propose};
}

}  // namespace functions::spin
