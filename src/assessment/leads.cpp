#include "assessment/leads.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "brief/body_tree.h"
#include "candidate/running.h"

namespace assessment {
namespace {

struct Spot {
  int body = 0;
  brief::Vec3 at_mm;
};

brief::Vec3 in_machine(const brief::Brief& brief, int body, double x_hp, double y_hp, double z_hp) {
  const int lattice = brief::lattice_body(brief.bodies, std::max(body, 0));
  const brief::Vec3 origin = brief::lattice_origin_mm(brief.bodies, lattice);
  const double half_mm = brief.system().pitch_mm / 2;
  return {origin.x_mm + x_hp * half_mm, origin.y_mm + y_hp * half_mm, origin.z_mm + z_hp * half_mm};
}

std::vector<std::optional<Spot>> hub_spots(const brief::Brief& brief) {
  std::vector<std::optional<Spot>> out(brief.supply.hubs.size());
  std::vector<bool> taken(brief.placed.size(), false);
  for (std::size_t h = 0; h < out.size(); ++h) {
    const std::string& id = brief.catalogue->at(brief.supply.hubs[h]).id;
    for (std::size_t p = 0; p < brief.placed.size(); ++p) {
      const brief::Placed& thing = brief.placed[p];
      const bool named = thing.id == id || thing.id == fmt::format("hub {}", h + 1) ||
                         thing.id == fmt::format("hub_{}", h + 1) || (out.size() == 1 && thing.id == "hub");
      if (!named || taken[p]) continue;
      taken[p] = true;
      const lattice::Box3& b = thing.box;
      out[h] = Spot{thing.body, in_machine(brief, thing.body, (b.low.x_hp + b.high.x_hp) / 2.0,
                                           (b.low.y_hp + b.high.y_hp) / 2.0, (b.low.z_hp + b.high.z_hp) / 2.0)};
      break;
    }
  }
  return out;
}

/// Joints that move between two bodies.
int joints_between(const brief::Brief& brief, int a, int b) {
  const auto way_up = [&](int body) {
    std::vector<int> out;
    for (int i = std::max(body, 0); i >= 0; i = brief.bodies[static_cast<std::size_t>(i)].parent) out.push_back(i);
    return out;
  };
  const std::vector<int> ua = way_up(a), ub = way_up(b);
  const auto count = [&](const std::vector<int>& from, const std::vector<int>& other) {
    int n = 0;
    for (const int i : from) {
      if (std::find(other.begin(), other.end(), i) != other.end()) break;
      n += brief.bodies[static_cast<std::size_t>(i)].joint.type != brief::Joint::Type::fixed ? 1 : 0;
    }
    return n;
  };
  return count(ua, ub) + count(ub, ua);
}

/// Places of a candidate's motors; the further copies of a mirrored pair stand across the middle.
std::vector<std::optional<Spot>> motor_spots(const brief::Brief& brief, const candidate::Candidate& c, int count) {
  std::vector<std::optional<Spot>> out(static_cast<std::size_t>(count));
  if (!c.route) return out;
  const routing::Problem& problem = *c.route->problem;
  const auto input = static_cast<std::size_t>(c.route->layout.input);
  if (input >= problem.inputs.size()) return out;
  const auto& motors = problem.inputs[input].motors;
  for (std::size_t i = 0; i < out.size() && !motors.empty(); ++i) {
    const lattice::Point3& face = motors[i % motors.size()].face;
    const bool mirrored = (i / motors.size()) % 2 == 1;
    out[i] = Spot{std::max(c.route->body, 0),
                  in_machine(brief, c.route->body, face.x_hp, mirrored ? -face.y_hp : face.y_hp, face.z_hp)};
  }
  return out;
}

}  // namespace

std::vector<LeadEnd> lead_ends(const brief::Brief& brief, const std::vector<Chosen>& chosen) {
  const std::vector<std::optional<Spot>> hubs = hub_spots(brief);
  std::vector<LeadEnd> out;
  for (std::size_t f = 0; f < chosen.size(); ++f) {
    if (chosen[f].candidate == nullptr) continue;
    const candidate::Candidate& c = *chosen[f].candidate;
    std::vector<stock::ClassId> motors;
    for (const candidate::Drive& d : c.drives) motors.insert(motors.end(), static_cast<std::size_t>(d.motors), d.motor);
    const std::vector<std::optional<Spot>> spots = motor_spots(brief, c, c.demand.ports);
    for (int m = 0; m < c.demand.ports; ++m) {
      const auto i = static_cast<std::size_t>(m);
      LeadEnd end{f, 0, std::vector<double>(hubs.size(), 0)};
      if (i < motors.size()) {
        if (const auto* part = std::get_if<stock::Motor>(&brief.catalogue->at(motors[i]).data))
          end.own_mm = part->lead_mm;
      }
      for (std::size_t h = 0; h < hubs.size(); ++h) {
        if (!spots[i] || !hubs[h]) continue;
        const brief::Vec3 a = spots[i]->at_mm, b = hubs[h]->at_mm;
        end.needs_mm[h] = std::fabs(a.x_mm - b.x_mm) + std::fabs(a.y_mm - b.y_mm) + std::fabs(a.z_mm - b.z_mm) +
                          kLoop_mm * joints_between(brief, spots[i]->body, hubs[h]->body);
      }
      out.push_back(std::move(end));
    }
  }
  return out;
}

double length_mm(const brief::Brief& brief, stock::ClassId cable) {
  const auto* data = std::get_if<stock::Cable>(&brief.catalogue->at(cable).data);
  return data != nullptr ? data->length_mm : 0;
}

std::vector<stock::ClassId> free_cables(const brief::Brief& brief, const std::vector<Chosen>& chosen) {
  std::vector<stock::ClassId> out;
  if (brief.stock == nullptr) return out;
  for (const stock::ClassId id : brief.catalogue->of(stock::Family::cable)) {
    int left = brief.stock->count_of(id);
    for (const Chosen& c : chosen) {
      if (c.candidate == nullptr) continue;
      for (const candidate::Need& need : c.candidate->demand.needs) {
        if (std::find(need.accepts.begin(), need.accepts.end(), id) != need.accepts.end()) left -= need.count;
      }
    }
    for (int i = 0; i < left; ++i) out.push_back(id);
  }
  std::stable_sort(out.begin(), out.end(),
                   [&](stock::ClassId a, stock::ClassId b) { return length_mm(brief, a) > length_mm(brief, b); });
  return out;
}

std::optional<std::vector<int>> give_cables(const std::vector<double>& lacks_mm, const std::vector<double>& cables_mm) {
  std::vector<int> out(lacks_mm.size(), -1);
  std::vector<std::size_t> order(lacks_mm.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return lacks_mm[a] > lacks_mm[b]; });
  std::vector<bool> used(cables_mm.size(), false);
  for (const std::size_t i : order) {
    if (lacks_mm[i] <= 0) break;
    int best = -1;
    for (std::size_t k = 0; k < cables_mm.size(); ++k) {
      if (used[k] || cables_mm[k] < lacks_mm[i]) continue;
      if (best < 0 || cables_mm[k] < cables_mm[static_cast<std::size_t>(best)]) best = static_cast<int>(k);
    }
    if (best < 0) return std::nullopt;
    used[static_cast<std::size_t>(best)] = true;
    out[i] = best;
  }
  return out;
}

}  // namespace assessment
