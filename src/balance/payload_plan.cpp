#include "balance/payload_plan.h"

#include <algorithm>
#include <cmath>

#include "base/check.h"

namespace balance {
namespace {

bool fits(const SiteLoad& load, const StowPlace& place) {
  const Vec3 l = load.size_mm, room = place.room_mm;
  const bool along = l.x_mm <= room.x_mm && l.y_mm <= room.y_mm, across = l.y_mm <= room.x_mm && l.x_mm <= room.y_mm;
  return l.z_mm <= room.z_mm && (along || across);
}

MassPoint stowed(const SiteLoad& load, const StowPlace& place, double mass_g) {
  return {mass_g, place.at + Vec3{0, 0, load.size_mm.z_mm / 2}};
}

double driving_angle(const PlanMachine& machine, const std::vector<MassPoint>& points) {
  return least_margin(tipping_polygon(machine.driving), combined(points).at).angle_rad;
}

/// Where a point of the machine's frame stands on the site.
Vec3 on_site(const WorkPlace& place, Vec3 p) {
  const double c = std::cos(place.heading_rad), s = std::sin(place.heading_rad);
  return {place.at.x_mm + c * p.x_mm - s * p.y_mm, place.at.y_mm + s * p.x_mm + c * p.y_mm, p.z_mm};
}

/// Heaviest part, up to `most_g`, that leaves the wanted angle when stowed there; 0 when none does.
double heaviest_stowed_g(const PlanMachine& machine, const SiteLoad& load, const StowPlace& place, double most_g) {
  const auto keeps = [&](double mass_g) {
    return driving_angle(machine, {machine.own, stowed(load, place, mass_g)}) >= machine.wanted_angle_rad;
  };
  if (keeps(most_g)) return most_g;
  double low = 0, high = most_g;
  if (!keeps(low)) return 0;
  for (int i = 0; i < 60; ++i) {
    const double middle = (low + high) / 2;
    (keeps(middle) ? low : high) = middle;
  }
  return low;
}

struct Way {
  int pick = -1, set = -1, stow = -1;
  double most_g = 0;
  int parts = 0;
};

}  // namespace

const char* name_of(PlanStop stop) {
  switch (stop) {
    case PlanStop::nothing:
      return "nothing";
    case PlanStop::out_of_reach:
      return "out of reach";
    case PlanStop::too_heavy:
      return "too heavy to lift whole";
    case PlanStop::parts_too_small:
      return "parts would be too small";
    case PlanStop::no_stow_place:
      break;
  }
  return "no stow place keeps the balance";
}

SiteLift lift_at(const PlanMachine& machine, const WorkPlace& place, Vec3 foot, double hook_above_mm) {
  const double c = std::cos(place.heading_rad), s = std::sin(place.heading_rad);
  const double dx = foot.x_mm - place.at.x_mm, dy = foot.y_mm - place.at.y_mm;
  const double x = c * dx + s * dy - machine.slew_axis.x_mm, y = -s * dx + c * dy - machine.slew_axis.y_mm;
  SiteLift out;
  out.radius_mm = std::hypot(x, y);
  out.slew_rad = std::atan2(y, x);
  const double height = foot.z_mm + hook_above_mm;
  const LoadChart& chart = machine.chart;
  const auto take = [&](std::size_t posture, double rated_n) {
    if (out.reached && rated_n <= out.rated_n) return;
    out.reached = true;
    out.posture = posture;
    out.rated_n = rated_n;
  };
  std::vector<std::pair<double, std::size_t>> by_height;  // of the middle between the cells
  std::vector<Between> at;
  for (std::size_t p = 0; p < chart.postures; ++p) {
    at.push_back(between(chart, place.state, p, out.slew_rad, out.radius_mm));
    if (!at[p].reached) continue;
    if (machine.rope && at[p].least_height_mm >= height) take(p, at[p].rated_n);
    by_height.emplace_back((at[p].least_height_mm + at[p].most_height_mm) / 2, p);
  }
  if (machine.rope) return out;
  // The tip passes the height between two postures, or in one whose cells lie around it; it must hold in both.
  std::sort(by_height.begin(), by_height.end());
  for (std::size_t i = 0; i < by_height.size(); ++i) {
    const std::size_t p = by_height[i].second;
    if (at[p].least_height_mm <= height && height <= at[p].most_height_mm) take(p, at[p].rated_n);
    if (i + 1 == by_height.size()) break;
    const std::size_t q = by_height[i + 1].second;
    if (by_height[i].first <= height && height <= by_height[i + 1].first)
      take(p, std::min(at[p].rated_n, at[q].rated_n));
  }
  return out;
}

SiteReach reach_at(const PlanMachine& machine, const WorkPlace& place, Vec3 foot, double hook_above_mm) {
  const Vec3 axis = on_site(place, {machine.slew_axis.x_mm, machine.slew_axis.y_mm, 0});
  const double dx = foot.x_mm - axis.x_mm, dy = foot.y_mm - axis.y_mm;
  SiteReach out;
  out.radius_mm = std::hypot(dx, dy);
  const double ux = out.radius_mm > 0 ? dx / out.radius_mm : std::cos(place.heading_rad),
               uy = out.radius_mm > 0 ? dy / out.radius_mm : std::sin(place.heading_rad);
  bool any = false;
  for (const double r : machine.chart.axes.radius_mm) {
    if (!lift_at(machine, place, {axis.x_mm + r * ux, axis.y_mm + r * uy, foot.z_mm}, hook_above_mm).reached) continue;
    if (!any) out.low_mm = r;
    out.high_mm = r;
    any = true;
  }
  if (lift_at(machine, place, foot, hook_above_mm).reached) return out;
  out.missing_mm = !any ? out.radius_mm : std::max(out.low_mm - out.radius_mm, out.radius_mm - out.high_mm);
  out.missing_mm = std::max(out.missing_mm, 0.0);
  return out;
}

std::vector<LoadPlan> plan_payloads(const PlanMachine& machine, const std::vector<SiteLoad>& loads,
                                    const std::vector<WorkPlace>& places) {
  for (const WorkPlace& p : places) KW_CHECK(p.state < machine.chart.states, "places name a state of the chart");
  const double newton_per_g = weight_n(1);
  std::vector<LoadPlan> out;
  for (const SiteLoad& load : loads) {
    KW_CHECK(load.mass_g > 0, "a load has a mass");
    LoadPlan plan;
    const double hook_above_mm = load.size_mm.z_mm + load.sling_mm;
    std::vector<SiteLift> pick, set;
    for (std::size_t i = 0; i < places.size(); ++i) {
      pick.push_back(lift_at(machine, places[i], load.from, hook_above_mm));
      set.push_back(lift_at(machine, places[i], load.to, hook_above_mm));
      plan.best_pick_n = std::max(plan.best_pick_n, pick[i].rated_n);
      plan.best_set_n = std::max(plan.best_set_n, set[i].rated_n);
      if (pick[i].rated_n >= load.mass_g * newton_per_g) plan.picks_whole.push_back(static_cast<int>(i));
      if (set[i].rated_n >= load.mass_g * newton_per_g) plan.sets_whole.push_back(static_cast<int>(i));
    }

    std::vector<Way> ways;
    for (std::size_t a = 0; a < places.size(); ++a) {
      for (std::size_t b = 0; b < places.size(); ++b) {
        const double lifts_g = std::min(pick[a].rated_n, set[b].rated_n) / newton_per_g;
        if (a == b) {
          ways.push_back({static_cast<int>(a), static_cast<int>(b), -1, lifts_g, 0});
          continue;
        }
        for (std::size_t s = 0; s < machine.stow.size(); ++s) {
          const StowPlace& place = machine.stow[s];
          if (!fits(load, place)) continue;
          // The machine also sets it down on itself and takes it up again.
          const SiteLift down = lift_at(machine, places[a], on_site(places[a], place.at), hook_above_mm);
          const SiteLift up = lift_at(machine, places[b], on_site(places[b], place.at), hook_above_mm);
          const double most_g =
              std::min({lifts_g, down.rated_n / newton_per_g, up.rated_n / newton_per_g, place.most_g});
          if (most_g <= 0) continue;
          ways.push_back({static_cast<int>(a), static_cast<int>(b), static_cast<int>(s),
                          heaviest_stowed_g(machine, load, place, std::min(most_g, load.mass_g)), 0});
        }
      }
    }
    const Way* best = nullptr;
    double heaviest_g = 0;
    for (Way& way : ways) {
      heaviest_g = std::max(heaviest_g, way.most_g);
      if (way.most_g <= 0) continue;
      const double parts = std::ceil(load.mass_g / way.most_g - 1e-9);
      if (parts > 1 && (!load.can_split || load.mass_g / parts < load.least_part_g || parts > 1e6)) continue;
      way.parts = std::max(1, static_cast<int>(parts));
      const auto before = [](const Way& x, const Way& y) {
        if (x.parts != y.parts) return x.parts < y.parts;
        if ((x.stow < 0) != (y.stow < 0)) return x.stow < 0;
        return x.most_g > y.most_g;
      };
      if (best == nullptr || before(way, *best)) best = &way;
    }
    if (best == nullptr) {
      const auto nearest = [&](const std::vector<SiteLift>& lifts, Vec3 foot) {
        int at = -1;
        double most_n = 0, least_mm = 0;
        for (std::size_t i = 0; i < places.size(); ++i) {
          const double missing_mm =
              lifts[i].reached ? -1 : reach_at(machine, places[i], foot, hook_above_mm).missing_mm;
          const bool nearer = at < 0 || missing_mm < least_mm || (missing_mm == least_mm && lifts[i].rated_n > most_n);
          if (!nearer) continue;
          at = static_cast<int>(i);
          least_mm = missing_mm;
          most_n = lifts[i].rated_n;
        }
        return at;
      };
      plan.nearest_pick = nearest(pick, load.from);
      plan.nearest_set = nearest(set, load.to);
      if (plan.nearest_pick >= 0) plan.pick = pick[static_cast<std::size_t>(plan.nearest_pick)];
      if (plan.nearest_set >= 0) plan.set = set[static_cast<std::size_t>(plan.nearest_set)];
    }
    if (best != nullptr) {
      plan.possible = true;
      plan.parts = best->parts;
      plan.part_g = load.mass_g / best->parts;
      plan.pick_place = best->pick;
      plan.set_place = best->set;
      plan.carried = best->stow >= 0;
      plan.stow_place = best->stow;
      plan.pick = pick[static_cast<std::size_t>(best->pick)];
      plan.set = set[static_cast<std::size_t>(best->set)];
      plan.spare = best->most_g / plan.part_g;
      if (plan.carried) {
        const StowPlace& place = machine.stow[static_cast<std::size_t>(best->stow)];
        plan.driving_angle_rad = driving_angle(machine, {machine.own, stowed(load, place, plan.part_g)});
      }
    } else if (plan.best_pick_n <= 0 || plan.best_set_n <= 0) {
      plan.stop = PlanStop::out_of_reach;
    } else if (heaviest_g <= 0) {
      plan.stop = PlanStop::no_stow_place;
    } else {
      plan.stop = load.can_split ? PlanStop::parts_too_small : PlanStop::too_heavy;
    }
    out.push_back(plan);
  }
  return out;
}

Stowage stow_all(const PlanMachine& machine, const std::vector<SiteLoad>& loads, long most_tries) {
  Stowage best;
  std::vector<int> place(loads.size(), -1);
  std::vector<char> taken(machine.stow.size(), 0);
  std::vector<MassPoint> points{machine.own};
  // More loads than places: nothing to look for.
  if (loads.size() > machine.stow.size()) return best;
  long tries = 0;
  const auto descend = [&](const auto& self, std::size_t i) -> void {
    if (i == loads.size()) {
      const double angle = driving_angle(machine, points);
      if (best.place.empty() || angle > best.angle_rad) {
        best.angle_rad = angle;
        best.place = place;
      }
      return;
    }
    for (std::size_t s = 0; s < machine.stow.size(); ++s) {
      if (taken[s] || !fits(loads[i], machine.stow[s]) || loads[i].mass_g > machine.stow[s].most_g) continue;
      if (tries >= most_tries) {
        best.complete = false;
        return;
      }
      ++tries;
      taken[s] = 1;
      place[i] = static_cast<int>(s);
      points.push_back(stowed(loads[i], machine.stow[s], loads[i].mass_g));
      self(self, i + 1);
      points.pop_back();
      taken[s] = 0;
    }
  };
  if (loads.empty()) {
    best.angle_rad = driving_angle(machine, points);
    best.keeps_balance = best.angle_rad >= machine.wanted_angle_rad;
    return best;
  }
  descend(descend, 0);
  best.keeps_balance = !best.place.empty() && best.angle_rad >= machine.wanted_angle_rad;
  return best;
}

}  // namespace balance
