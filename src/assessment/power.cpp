#include <algorithm>
#include <limits>
#include <utility>

#include "assessment/duty_model.h"
#include "assessment/internal.h"
#include "assessment/leads.h"
#include "base/check.h"

namespace assessment {
namespace {

struct Motor {
  std::size_t function = 0;  ///< index into chosen
  int number = 0;            ///< among the function's motors, in the order of its drives
  double running_ma = 0;
  double stall_ma = 0;
  double own_lead_mm = 0;
  std::vector<double> needs_mm;  ///< per hub
  /// What its own lead lacks to a hub; 0 = it reaches, or nobody knows.
  [[nodiscard]] double lack_mm(std::size_t hub) const {
    return own_lead_mm > 0 && hub < needs_mm.size() ? std::max(0.0, needs_mm[hub] - own_lead_mm) : 0;
  }
};

struct HubLimit {
  int ports = 0;
  double total_ma = 0;
};

/// Smallest possible greatest load (share of a hub's limit), by branch and bound over the hubs of every motor.
/// Motors come largest first; equal hubs with equal load are interchangeable, so only the first is tried.
/// O(hubs^motors) at worst; a machine has a handful of hubs. `nodes` bounds the work: then the best so far stands.
/// Every lead must reach its hub with at most one of `cables_mm`; where no such choice was found nothing is returned,
/// and ended() tells whether there may be one.
class PortSearch {
 public:
  PortSearch(const std::vector<Motor>& motors, const std::vector<HubLimit>& hubs, std::vector<double> cables_mm)
      : motors_(motors), hubs_(hubs), cables_mm_(std::move(cables_mm)) {
    longest_mm_ = cables_mm_.empty() ? 0 : *std::max_element(cables_mm_.begin(), cables_mm_.end());
    load_.assign(hubs.size(), 0);
    free_.reserve(hubs.size());
    for (const HubLimit& h : hubs) free_.push_back(h.ports);
    now_.assign(motors.size(), 0);
  }

  /// Hub of every motor; empty when the motors outnumber the sockets.
  std::vector<std::size_t> run() {
    place(0, 0);
    return best_;
  }
  /// The work ran out before everything was tried.
  [[nodiscard]] bool ended() const { return nodes_ <= 0; }

 private:
  double share(std::size_t h) const { return hubs_[h].total_ma > 0 ? load_[h] / hubs_[h].total_ma : 0; }

  void place(std::size_t at, double worst) {
    if (worst >= best_worst_ || nodes_-- <= 0) return;
    if (at == motors_.size()) {
      if (!cables_reach()) return;
      best_worst_ = worst;
      best_ = now_;
      return;
    }
    std::vector<std::size_t> order;
    for (std::size_t h = 0; h < hubs_.size(); ++h) {
      if (motors_[at].lack_mm(h) > longest_mm_) continue;
      const bool twin = std::any_of(order.begin(), order.end(), [&](std::size_t o) {
        return hubs_[o].total_ma == hubs_[h].total_ma && load_[o] == load_[h] && free_[o] == free_[h] &&
               same_place(o, h);
      });
      if (free_[h] > 0 && !twin) order.push_back(h);
    }
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return share(a) < share(b); });
    for (const std::size_t h : order) {
      now_[at] = h;
      --free_[h];
      load_[h] += motors_[at].running_ma;
      place(at + 1, std::max(worst, share(h)));
      load_[h] -= motors_[at].running_ma;
      ++free_[h];
    }
  }

  /// Hubs at one place for every lead; without this, leaving a twin out could lose a cable.
  [[nodiscard]] bool same_place(std::size_t a, std::size_t b) const {
    return std::all_of(motors_.begin(), motors_.end(), [&](const Motor& m) { return m.lack_mm(a) == m.lack_mm(b); });
  }
  [[nodiscard]] bool cables_reach() const {
    std::vector<double> lacks;
    for (std::size_t m = 0; m < motors_.size(); ++m) lacks.push_back(motors_[m].lack_mm(now_[m]));
    return give_cables(lacks, cables_mm_).has_value();
  }

  const std::vector<Motor>& motors_;
  const std::vector<HubLimit>& hubs_;
  std::vector<double> cables_mm_;
  double longest_mm_ = 0;
  std::vector<double> load_;
  std::vector<int> free_;
  std::vector<std::size_t> now_, best_;
  double best_worst_ = std::numeric_limits<double>::infinity();
  int nodes_ = 200000;
};

std::vector<Motor> motors_of(const brief::Brief& brief, const std::vector<Chosen>& chosen) {
  const std::vector<LeadEnd> ends = lead_ends(brief, chosen);
  std::size_t next = 0;
  std::vector<Motor> out;
  for (std::size_t f = 0; f < chosen.size(); ++f) {
    if (chosen[f].candidate == nullptr) continue;
    const candidate::Demand& d = chosen[f].candidate->demand;
    const double running_ma = chosen[f].candidate->nominal.running_current_ma;
    for (int p = 0; p < d.ports; ++p) {
      out.push_back({f, p, running_ma / d.ports, d.stall_current_ma / d.ports, ends[next].own_mm, ends[next].needs_mm});
      ++next;
    }
  }
  std::stable_sort(out.begin(), out.end(), [](const Motor& a, const Motor& b) { return a.running_ma > b.running_ma; });
  return out;
}

void plug_in(const brief::Brief& brief, const std::vector<Chosen>& chosen, Power& out) {
  std::vector<HubLimit> hubs;
  for (const stock::ClassId id : brief.supply.hubs) {
    const auto* hub = std::get_if<stock::Hub>(&brief.catalogue->at(id).data);
    KW_CHECK(hub != nullptr, "a power supply is a hub");
    hubs.push_back({hub->ports, hub->total_current_ma});
    out.hub_limit_ma.push_back(hub->total_current_ma);
  }
  out.hub_running_ma.assign(hubs.size(), 0);
  const std::vector<Motor> motors = motors_of(brief, chosen);
  if (motors.empty()) return;
  const std::vector<stock::ClassId> cables = free_cables(brief, chosen);
  std::vector<double> cables_mm;
  for (const stock::ClassId id : cables) cables_mm.push_back(length_mm(brief, id));
  PortSearch search(motors, hubs, cables_mm);
  std::vector<std::size_t> hub_of = search.run();
  out.leads_reach = hub_of.size() == motors.size();
  out.leads_known = out.leads_reach || !search.ended();
  if (!out.leads_reach)  // as if any cable were there, so that the rest can be judged; a finding says so
    hub_of =
        PortSearch(motors, hubs, std::vector<double>(motors.size(), std::numeric_limits<double>::infinity())).run();
  KW_CHECK(hub_of.size() == motors.size(), "the allocation keeps within the sockets");
  for (std::size_t m = 0; m < motors.size(); ++m) {
    const auto* hub = std::get_if<stock::Hub>(&brief.catalogue->at(brief.supply.hubs[hub_of[m]]).data);
    out.ports.push_back({hub_of[m], 0, chosen[motors[m].function].function->id, motors[m].running_ma,
                         motors[m].stall_ma, hub->port_current_ma, motors[m].needs_mm[hub_of[m]], motors[m].own_lead_mm,
                         stock::ClassId{-1}, motors[m].number});
    out.hub_running_ma[hub_of[m]] += motors[m].running_ma;
  }
  std::vector<double> lacks;
  for (std::size_t m = 0; m < motors.size(); ++m) lacks.push_back(motors[m].lack_mm(hub_of[m]));
  if (const auto given = give_cables(lacks, cables_mm)) {
    for (std::size_t m = 0; m < motors.size(); ++m) {
      if ((*given)[m] < 0) continue;
      const auto k = static_cast<std::size_t>((*given)[m]);
      out.ports[m].cable = cables[k];
      out.ports[m].have_mm += cables_mm[k];
    }
  }
  // Sockets are numbered hub by hub in the order of the functions, so that a builder plugs them in as listed.
  std::stable_sort(out.ports.begin(), out.ports.end(), [&](const PortUse& a, const PortUse& b) {
    if (a.hub != b.hub) return a.hub < b.hub;
    if (a.function == b.function) return a.motor < b.motor;
    const auto place = [&](const std::string& id) {
      return std::find_if(chosen.begin(), chosen.end(), [&](const Chosen& c) { return c.function->id == id; });
    };
    return place(a.function) < place(b.function);
  });
  int port = 0;
  for (std::size_t i = 0; i < out.ports.size(); ++i) {
    port = i > 0 && out.ports[i].hub == out.ports[i - 1].hub ? port + 1 : 1;
    out.ports[i].port = port;
  }
  for (std::size_t h = 0; h < hubs.size(); ++h) {
    // A hair of 1e-9 keeps a sum that equals the limit from failing by rounding.
    if (hubs[h].total_ma > 0 && out.hub_running_ma[h] > hubs[h].total_ma * (1 + 1e-9)) out.fits = false;
  }
}

}  // namespace

Power judge_power(const brief::Brief& brief, const std::vector<Chosen>& chosen, const Worlds& worlds,
                  const Options& options) {
  Power out;
  plug_in(brief, chosen, out);
  const base::Triple& capacity = brief.supply.capacity_range_mah;
  out.capacity_mah = capacity.nominal;
  for (const Chosen& c : chosen) {
    if (c.candidate == nullptr) continue;
    out.running_ma += c.candidate->nominal.running_current_ma;
    out.average_ma += c.candidate->nominal.running_current_ma * c.function->duty;
  }
  if (!(out.average_ma > 0)) return out;

  // Run time t = C / I_average, C = capacity of all hubs in mAh, I in mA, t in hours. The cells are emptied at a steady
  // mean current: the loss of capacity at high current is inside the capacity's low figure.
  const double nominal_min = 60 * capacity.nominal / out.average_ma;
  std::vector<double> draws;
  for (std::size_t k = 0; k < worlds.size(); ++k) {
    double average_ma = 0;
    for (std::size_t f = 0; f < chosen.size(); ++f) {
      if (chosen[f].candidate != nullptr) average_ma += worlds[k][f].running_current_ma * chosen[f].function->duty;
    }
    const double capacity_mah =
        base::triangular_draw(capacity, base::uniform_draw(options.seed, base::stream_of("capacity"), k));
    if (average_ma > 0) draws.push_back(60 * capacity_mah / average_ma);
  }
  out.run_time_min = draws.empty() ? base::Triple::exact(nominal_min) : interval_of(std::move(draws), nominal_min);
  // What tells its drives is emptied phase by phase instead, with cells that sag.
  out.duty = judge_duty(brief, chosen, out.ports, worlds, options);
  if (out.duty.judged) out.run_time_min = out.duty.run_time_min;
  return out;
}

void count_parts(const brief::Brief& brief, const std::vector<Taken>& taken, Assessment& out) {
  for (std::size_t t = 0; t < brief.stock->types.size(); ++t) {
    const stock::StockType& type = brief.stock->types[t];
    out.parts.push_back({t, type.part, brief.catalogue->at(type.part).name, type.colour, type.count, 0, 0});
  }
  for (const Taken& take : taken) {
    PartLine& line = out.parts.at(take.type);
    (take.function < 0 ? line.reserved : line.used) += take.count;
  }
  for (const PartLine& line : out.parts) {
    KW_CHECK(line.left() >= 0, "more pieces of \"" + line.name + "\" are taken than the stock holds");
    out.parts_used += line.used;
    out.parts_reserved += line.reserved;
    out.parts_left += line.left();
  }
}

}  // namespace assessment
