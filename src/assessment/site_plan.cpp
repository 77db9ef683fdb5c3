#include "assessment/site_plan.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>

#include "assessment/internal.h"
#include "assessment/undercarriage.h"
#include "balance/payload_plan.h"
#include "base/text.h"

namespace assessment {
namespace {

constexpr double kDeg = std::numbers::pi / 180;
constexpr double kGramPerNewton = 1000 / balance::kGravity;

struct Site {
  balance::PlanMachine machine;
  std::vector<balance::SiteLoad> loads;
  std::vector<balance::WorkPlace> places;
  std::vector<brief::WorkPlace> told;
  double wanted_deg = 0;
  std::string why_not, note;
};

balance::SiteLoad load_of(const brief::SiteLoad& l) {
  balance::SiteLoad out;
  out.name = l.id;
  out.mass_g = l.mass_g;
  out.size_mm = to_balance(l.size_mm);
  out.from = to_balance(l.from_mm);
  out.to = to_balance(l.to_mm);
  out.sling_mm = l.sling_mm;
  out.can_split = l.least_part_g > 0;
  out.least_part_g = l.least_part_g;
  return out;
}

Site site_of(const brief::Brief& brief, const std::vector<Chosen>& chosen, const Assessment& assessment) {
  Site out;
  const Lifting& lifting = assessment.lifting;
  if (!lifting.judged || lifting.chart == nullptr) {
    out.why_not = lifting.why_not;
    return out;
  }
  balance::PlanMachine& m = out.machine;
  m.chart = *lifting.chart;
  m.slew_axis = {lifting.axis_mm.x_mm, lifting.axis_mm.y_mm};
  m.rope = std::any_of(chosen.begin(), chosen.end(), [](const Chosen& c) {
    return c.candidate != nullptr &&
           std::any_of(c.candidate->holdings.begin(), c.candidate->holdings.end(),
                       [](const candidate::Holding& h) { return h.limit == candidate::Holding::Limit::hoist; });
  });
  m.own = assessment.ground.mass.total;
  m.driving = undercarriage_of(brief, chosen).state;
  out.wanted_deg = brief.limits.tipping_angle_deg.value_or(kUneasyTipping_deg);
  m.wanted_angle_rad = out.wanted_deg * kDeg;
  for (const brief::StowPlace& s : brief.stow_places)
    m.stow.push_back({s.id, to_balance(s.at_mm), to_balance(s.room_mm), s.most_g});
  out.told = brief.work_places;
  const bool feet = lifting.states.size() > 1;
  if (out.told.empty()) {
    out.told.push_back({"where it stands", 0, 0, 0, false});
    if (feet) out.told.push_back({"where it stands, feet down", 0, 0, 0, true});
  }
  for (const brief::WorkPlace& w : out.told) {
    if (w.feet_down && !feet) {
      out.note += fmt::format("{}no chosen function puts feet down at \"{}\", so it lifts as it drives",
                              out.note.empty() ? "" : "; ", w.id);
    }
    out.places.push_back({w.id, {w.x_mm, w.y_mm}, w.heading_rad, w.feet_down && feet ? std::size_t{1} : 0});
  }
  if (lifting.slew_deg.size() < 2)
    out.note += fmt::format("{}nothing slews: loads must lie straight ahead", out.note.empty() ? "" : "; ");
  for (const brief::SiteLoad& l : brief.site_loads) out.loads.push_back(load_of(l));
  return out;
}

std::vector<std::string> names_of(const std::vector<int>& places, const Site& site) {
  std::vector<std::string> out;
  for (const int p : places) out.push_back(site.places[static_cast<std::size_t>(p)].name);
  return out;
}

SitePlan::Lift lift_of(const balance::SiteLift& lift, int place, const Site& site, const balance::Vec3& foot,
                       double hook_above_mm) {
  if (place < 0) return {};
  const balance::WorkPlace& at = site.places[static_cast<std::size_t>(place)];
  const balance::SiteReach reach = balance::reach_at(site.machine, at, foot, hook_above_mm);
  return {at.name,      lift.radius_mm, lift.slew_rad / kDeg, lift.rated_n * kGramPerNewton,
          lift.reached, reach.low_mm,   reach.high_mm};
}

/// Which end of the work fails; for what can be neither reached nor lifted, both.
std::string failing_end(const SitePlan::Load& l) {
  using Stop = balance::PlanStop;
  if (l.possible) return "";
  if (l.stop == balance::name_of(Stop::no_stow_place)) return "way between";
  // Loads that may be split are short where a part of them cannot be lifted; without reach nothing is.
  const bool reach = l.stop == balance::name_of(Stop::out_of_reach);
  const bool pick = reach ? !l.pick.reached : l.best_pick_g < l.mass_g,
             set = reach ? !l.set.reached : l.best_set_g < l.mass_g;
  return pick && set ? "both ends" : pick ? "pick-up" : set ? "set-down" : "way between";
}

/// What an end that fails asks for and what there is.
std::string end_text(const char* what, const SitePlan::Lift& lift, double mass_g, bool reach) {
  if (!reach) {
    return fmt::format("the {} at \"{}\", {} mm out, is rated {} g of {} g", what, lift.place,
                       base::plain(lift.radius_mm, 3), base::plain(lift.rated_g, 3), base::plain(mass_g, 3));
  }
  const std::string asked =
      fmt::format("the {} is {} mm from \"{}\"", what, base::plain(lift.radius_mm, 3), lift.place);
  if (!(lift.reach_high_mm > 0)) return asked + ", where the hook stands at no radius at that height";
  return fmt::format("{}, where the hook reaches from {} to {} mm", asked, base::plain(lift.reach_low_mm, 3),
                     base::plain(lift.reach_high_mm, 3));
}

std::string why_it_stays(const SitePlan::Load& l) {
  const bool reach = l.stop == balance::name_of(balance::PlanStop::out_of_reach);
  std::string out = l.stop;
  if (l.end == "pick-up" || l.end == "both ends") out += "; " + end_text("pick-up", l.pick, l.mass_g, reach);
  if (l.end == "set-down" || l.end == "both ends") out += "; " + end_text("set-down", l.set, l.mass_g, reach);
  if (l.end == "way between") {
    out += fmt::format("; both ends can be served (\"{}\" and \"{}\"), the way between them cannot", l.pick.place,
                       l.set.place);
  }
  return out;
}

constexpr int kMostPitches = 60;

/// One place of work, `by_mm` nearer to a point or, negative, further from it.
balance::WorkPlace shifted(balance::WorkPlace place, const balance::Vec3& towards, double by_mm) {
  const double dx = towards.x_mm - place.at.x_mm, dy = towards.y_mm - place.at.y_mm, far_mm = std::hypot(dx, dy);
  if (far_mm < 1e-9) return place;
  place.at = {place.at.x_mm + dx / far_mm * by_mm, place.at.y_mm + dy / far_mm * by_mm};
  return place;
}

std::string shift_text(const balance::WorkPlace& before, const balance::WorkPlace& after) {
  return fmt::format("stand {} mm from \"{}\", at [{}, {}]",
                     base::plain(std::hypot(after.at.x_mm - before.at.x_mm, after.at.y_mm - before.at.y_mm), 3),
                     before.name, base::plain(after.at.x_mm, 4), base::plain(after.at.y_mm, 4));
}

/// The least way by whole pitches, towards or away from either end or the middle between them, from which a place of
/// work does the whole load; `parts` tells how many it takes.
struct Moved {
  std::string text;
  balance::LoadPlan plan;
  std::vector<Amendment> amendments;
};
Amendment moved_to(const balance::WorkPlace& place) {
  return {"work_places", place.name, "at_mm", numbers_value({place.at.x_mm, place.at.y_mm})};
}

std::optional<Moved> one_moved(const Site& site, const balance::SiteLoad& l, double pitch_mm) {
  const balance::Vec3 middle = 0.5 * (l.from + l.to);
  for (int k = 1; k <= kMostPitches; ++k) {
    for (std::size_t p = 0; p < site.places.size(); ++p) {
      for (const double way : {1.0, -1.0}) {
        for (const balance::Vec3& towards : {l.from, l.to, middle}) {
          std::vector<balance::WorkPlace> places = site.places;
          places[p] = shifted(places[p], towards, way * k * pitch_mm);
          balance::LoadPlan plan = balance::plan_payloads(site.machine, {l}, places).front();
          if (plan.possible)
            return Moved{shift_text(site.places[p], places[p]), std::move(plan), {moved_to(places[p])}};
        }
      }
    }
  }
  return std::nullopt;
}

/// Two places of work moved, one until it picks the load up and one until it sets it down, the load carried between.
std::optional<Moved> two_moved(const Site& site, const balance::SiteLoad& l, double pitch_mm) {
  const double hook_above_mm = l.size_mm.z_mm + l.sling_mm;
  const auto least = [&](const balance::WorkPlace& place,
                         const balance::Vec3& foot) -> std::optional<balance::WorkPlace> {
    for (int k = 0; k <= kMostPitches; ++k) {
      for (const double way : {1.0, -1.0}) {
        const balance::WorkPlace there = shifted(place, foot, way * k * pitch_mm);
        const balance::SiteLift lift = balance::lift_at(site.machine, there, foot, hook_above_mm);
        if (lift.rated_n * kGramPerNewton >= l.mass_g) return there;
      }
    }
    return std::nullopt;
  };
  std::optional<Moved> best;
  double least_mm = 0;
  for (std::size_t p = 0; p < site.places.size(); ++p) {
    for (std::size_t q = 0; q < site.places.size(); ++q) {
      if (p == q) continue;
      const auto pick = least(site.places[p], l.from), set = least(site.places[q], l.to);
      if (!pick || !set) continue;
      std::vector<balance::WorkPlace> places = site.places;
      places[p] = *pick;
      places[q] = *set;
      balance::LoadPlan plan = balance::plan_payloads(site.machine, {l}, places).front();
      const auto far_mm = [&](std::size_t i) {
        return std::hypot(places[i].at.x_mm - site.places[i].at.x_mm, places[i].at.y_mm - site.places[i].at.y_mm);
      };
      const double way_mm = far_mm(p) + far_mm(q);
      if (!plan.possible || (best && way_mm >= least_mm - 1e-9)) continue;
      least_mm = way_mm;
      best = Moved{shift_text(site.places[p], places[p]) + " and " + shift_text(site.places[q], places[q]),
                   std::move(plan),
                   {moved_to(places[p]), moved_to(places[q])}};
    }
  }
  return best;
}

/// What moves a load that stays, single changes first, pairs where no single one does; each planned again.
std::vector<Remedy> remedies_of(const Site& site, std::size_t load, const SitePlan::Load& told, double pitch_mm) {
  const balance::SiteLoad& l = site.loads[load];
  std::vector<Remedy> out;
  const auto by_move = [&](const Moved& m, const std::string& more) {
    out.push_back({m.text + more, "what it could lift over the load", 0, m.plan.spare, "", true, m.amendments});
  };
  balance::SiteLoad parted = l;
  parted.can_split = true;
  parted.least_part_g = 1e-3 * parted.mass_g;  // as small as it takes
  const balance::LoadPlan split = balance::plan_payloads(site.machine, {parted}, site.places).front();
  if (split.possible && split.parts > 1)
    out.push_back(
        {fmt::format("split it into {} parts", split.parts), "mass of a lift", l.mass_g, split.part_g, "g", true});
  if (const auto m = one_moved(site, l, pitch_mm)) by_move(*m, "");
  const double least_g = std::floor(std::min(told.best_pick_g, told.best_set_g));
  if (least_g >= 1 && least_g < l.mass_g) {
    balance::SiteLoad lighter = l;
    lighter.mass_g = least_g;
    lighter.can_split = false;
    const bool enough = balance::plan_payloads(site.machine, {lighter}, site.places).front().possible;
    out.push_back({fmt::format("no more than {} g", base::plain(least_g)), "load", l.mass_g, least_g, "g", enough});
  }
  if (std::any_of(out.begin(), out.end(), [](const Remedy& r) { return r.enough; })) return out;
  if (const auto m = two_moved(site, l, pitch_mm)) by_move(*m, "");
  if (const auto m = one_moved(site, parted, pitch_mm))
    by_move(*m, fmt::format(", and split it into {} parts", m->plan.parts));
  return out;
}

}  // namespace

SitePlan judge_site(const brief::Brief& brief, const std::vector<Chosen>& chosen, const Assessment& assessment) {
  SitePlan out;
  if (brief.site_loads.empty()) {
    out.why_not = "the project has no loads";
    return out;
  }
  const Site site = site_of(brief, chosen, assessment);
  out.why_not = site.why_not;
  if (!out.why_not.empty()) return out;
  out.judged = true;
  out.note = site.note;
  out.places = site.told;
  out.wanted_deg = site.wanted_deg;
  const std::vector<balance::LoadPlan> plans = balance::plan_payloads(site.machine, site.loads, site.places);
  for (std::size_t i = 0; i < plans.size(); ++i) {
    const balance::LoadPlan& p = plans[i];
    SitePlan::Load load;
    load.id = site.loads[i].name;
    load.mass_g = site.loads[i].mass_g;
    load.possible = p.possible;
    if (!p.possible) load.stop = balance::name_of(p.stop);
    load.parts = p.parts;
    load.part_g = p.part_g;
    const balance::SiteLoad& asked = site.loads[i];
    const double hook_above_mm = asked.size_mm.z_mm + asked.sling_mm;
    load.pick = lift_of(p.pick, p.possible ? p.pick_place : p.nearest_pick, site, asked.from, hook_above_mm);
    load.set = lift_of(p.set, p.possible ? p.set_place : p.nearest_set, site, asked.to, hook_above_mm);
    load.carried = p.carried;
    if (p.stow_place >= 0) load.stow_place = site.machine.stow[static_cast<std::size_t>(p.stow_place)].name;
    load.driving_deg = p.driving_angle_rad / kDeg;
    load.spare = p.spare;
    load.picks_whole = names_of(p.picks_whole, site);
    load.sets_whole = names_of(p.sets_whole, site);
    load.best_pick_g = p.best_pick_n * kGramPerNewton;
    load.best_set_g = p.best_set_n * kGramPerNewton;
    load.end = failing_end(load);
    out.loads.push_back(std::move(load));
  }
  if (!site.machine.stow.empty()) {
    const balance::Stowage stowed = balance::stow_all(site.machine, site.loads);
    out.all_stow = stowed.keeps_balance;
    out.stow_complete = stowed.complete;
    for (const int p : stowed.place) out.stow.push_back(site.machine.stow[static_cast<std::size_t>(p)].name);
    out.stow_deg = stowed.angle_rad / kDeg;
  }
  return out;
}

std::vector<Finding> site_findings(const brief::Brief& brief, const std::vector<Chosen>& chosen,
                                   const Assessment& assessment) {
  std::vector<Finding> out;
  const SitePlan& plan = assessment.site;
  if (brief.site_loads.empty()) return out;
  if (!plan.judged) {
    out.push_back({Finding::Severity::warning,
                   "site.not_judged",
                   "The loads were not planned: " + plan.why_not + ".",
                   "",
                   {},
                   {}});
    return out;
  }
  const Site site = site_of(brief, chosen, assessment);
  for (std::size_t i = 0; i < plan.loads.size(); ++i) {
    const SitePlan::Load& l = plan.loads[i];
    if (l.possible && l.parts == 1) continue;
    Finding f;
    f.numbers = {{"load", l.mass_g, "g"},
                 {"most that is picked up there", l.best_pick_g, "g"},
                 {"most that is set down there", l.best_set_g, "g"}};
    if (l.possible) {
      f.severity = Finding::Severity::note;
      f.code = "site.load_split";
      f.text = fmt::format("The load \"{}\" of {} g must be split into {} parts of {} g.", l.id,
                           base::plain(l.mass_g, 3), l.parts, base::plain(l.part_g, 3));
    } else {
      f.severity = Finding::Severity::problem;
      f.code = "site.load_stays";
      f.text =
          fmt::format("The load \"{}\" of {} g cannot be moved: {}.", l.id, base::plain(l.mass_g, 3), why_it_stays(l));
      f.remedies = remedies_of(site, i, l, brief.system().pitch_mm);
    }
    out.push_back(std::move(f));
  }
  if (!brief.stow_places.empty() && plan.loads.size() > 1 && !plan.all_stow) {
    out.push_back({Finding::Severity::note,
                   "site.not_all_stowed",
                   plan.stow.empty()
                       ? std::string(plan.stow_complete
                                         ? "The loads do not all have a place on the machine at once."
                                         : "No way to stow all loads at once was found before the search ended early.")
                       : fmt::format("With all loads on board {} deg are left to tipping; {} deg are wanted.",
                                     base::plain(plan.stow_deg, 3), base::plain(plan.wanted_deg, 3)),
                   "",
                   {{"tipping angle, all loads on board", plan.stow_deg, "deg"}},
                   {}});
  }
  return out;
}

}  // namespace assessment
