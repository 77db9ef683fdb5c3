#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

#include "assessment/duty_model.h"
#include "assessment/internal.h"
#include "assessment/plugged.h"
#include "base/check.h"
#include "base/parallel.h"
#include "base/text.h"
#include "motor/thermal.h"
#include "motor/warmth.h"

namespace assessment {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
/// Depth by which a step of the run time moves the emptiest hub: the time is then good to about half a percent.
constexpr double kDepthStep = 0.02;
constexpr double kHalfEmpty = 0.5;
constexpr double kMostMinutes = 100 * 60;  // a machine that hardly draws anything

std::string function_name(const brief::Brief& brief, std::size_t f) {
  return brief.functions[f].id;
}

}  // namespace

DutyModel::DutyModel(const brief::Brief& brief, const std::vector<Chosen>& chosen, const std::vector<PortUse>& ports)
    : brief_(brief), chosen_(chosen), load_factor_(chosen.size(), 1) {
  const brief::Sample nominal = brief.parameters.nominal();
  const auto motors = socket_motors(chosen, ports);
  for (std::size_t p = 0; p < ports.size(); ++p) {
    if (!motors[p]) continue;
    const auto [f, d] = *motors[p];
    plugged_.push_back(
        {f, d, ports[p].hub, candidate::motor_constants(chosen[f].candidate->drives[d], brief, nominal)});
  }
  std::stable_sort(plugged_.begin(), plugged_.end(), [](const Plugged& a, const Plugged& b) {
    return std::pair(a.function, a.drive) < std::pair(b.function, b.drive);
  });
  for (std::size_t h = 0; h < brief.supply.hubs.size(); ++h) cells_.push_back(candidate::cells_of(brief, h));
  nominal_cells_ = cells_;
}

void DutyModel::set(const brief::Sample& sample, const std::vector<double>& capacity_factor,
                    const std::vector<double>& load_factor) {
  for (Plugged& p : plugged_) p.motor = candidate::motor_constants(drive_of(p), brief_, sample);
  for (std::size_t h = 0; h < cells_.size(); ++h) {
    cells_[h] = nominal_cells_[h];
    cells_[h].capacity_ah *= capacity_factor[h];
  }
  load_factor_ = load_factor;
}

void DutyModel::replug(std::size_t function, std::size_t hub) {
  for (Plugged& p : plugged_) {
    if (p.function == function) p.hub = hub;
  }
}

double DutyModel::torque_nmm(std::size_t plugged, double share, Load load) const {
  const Plugged& p = plugged_[plugged];
  const candidate::Drive& d = drive_of(p);
  if (load == Load::heaviest) return candidate::heaviest_motor_nmm(d) * load_factor_[p.function];
  const auto [at, fresh] = known_.try_emplace({plugged, share});
  if (fresh) at->second = candidate::motor_load(d, share);
  return (load == Load::mean ? at->second.mean_nmm : at->second.peak_nmm) * load_factor_[p.function];
}

DutyModel::Loads DutyModel::loads(const std::vector<std::size_t>& functions, double share, Load load) const {
  Loads out;
  out.hubs.resize(hubs());
  out.motors.resize(hubs());
  for (std::size_t i = 0; i < plugged_.size(); ++i) {
    const Plugged& p = plugged_[i];
    if (std::find(functions.begin(), functions.end(), p.function) == functions.end()) continue;
    out.hubs[p.hub].push_back({p.motor, torque_nmm(i, share, load)});
    out.motors[p.hub].push_back(i);
  }
  return out;
}

std::vector<motor::HubState> DutyModel::shared(const Loads& loads, const std::vector<double>& depth) const {
  std::vector<motor::HubState> out(hubs());
  for (std::size_t h = 0; h < hubs(); ++h) {
    motor::Supply supply = motor::supply_at(cells_[h], depth[h]);
    const stock::Hub& hub = candidate::hub_of(brief_, h);
    if (hub.total_current_ma > 0) supply.current_limit_a = hub.total_current_ma / 1000;
    if (hub.port_current_ma > 0) supply.port_current_limit_a = hub.port_current_ma / 1000;
    if (loads.hubs[h].empty()) {
      out[h].voltage_v = supply.open_voltage_v;
      continue;
    }
    out[h] = motor::share_supply(supply, loads.hubs[h]);
  }
  return out;
}

DutyModel::State DutyModel::run(const std::vector<std::size_t>& functions, double share, Load load,
                                const std::vector<double>& depth) const {
  Loads asked = loads(functions, share, load);
  State out;
  out.hubs = shared(asked, depth);
  out.motors = std::move(asked.motors);
  return out;
}

bool DutyModel::State::over_limit() const {
  return std::any_of(hubs.begin(), hubs.end(), [](const motor::HubState& h) { return h.over_total_limit; });
}

std::optional<std::size_t> DutyModel::stalled_on(const State& state, std::size_t function) const {
  for (std::size_t h = 0; h < state.hubs.size(); ++h) {
    for (std::size_t k = 0; k < state.motors[h].size(); ++k) {
      if (plugged_[state.motors[h][k]].function == function && !state.hubs[h].motors[k].turns) return h;
    }
  }
  return std::nullopt;
}

std::vector<std::size_t> DutyModel::running(const brief::DutyPhase& phase) const {
  std::vector<std::size_t> out;
  for (const int f : phase.functions) {
    const candidate::Candidate* c = chosen_[static_cast<std::size_t>(f)].candidate;
    if (c != nullptr && !c->drives.empty()) out.push_back(static_cast<std::size_t>(f));
  }
  return out;
}

DutyModel::RunTime DutyModel::run_time() const {
  RunTime out;
  std::vector<double> depth(hubs(), 0);
  double cycle_s = 0;
  for (const brief::DutyPhase& phase : brief_.duty) cycle_s += phase.time_s;
  if (!(cycle_s > 0)) return out;
  struct Phase {
    double time_s = 0;
    std::vector<std::size_t> functions;
    Loads peak, mean;
  };
  std::vector<Phase> phases;  // what does not change as the cells empty
  for (const brief::DutyPhase& phase : brief_.duty) {
    std::vector<std::size_t> functions = running(phase);
    if (functions.empty()) continue;
    Loads peak = loads(functions, phase.load, Load::peak), mean = loads(functions, phase.load, Load::mean);
    phases.push_back({phase.time_s, std::move(functions), std::move(peak), std::move(mean)});
  }
  while (out.minutes < kMostMinutes) {
    std::vector<double> used(hubs(), 0);  // by one cycle
    for (const Phase& phase : phases) {
      State peak;
      peak.hubs = shared(phase.peak, depth);
      const bool all_turn = std::all_of(peak.hubs.begin(), peak.hubs.end(), [](const motor::HubState& h) {
        return std::all_of(h.motors.begin(), h.motors.end(), [](const motor::Operation& m) { return m.turns; });
      });
      if (!all_turn) peak.motors = phase.peak.motors;
      for (const std::size_t f : phase.functions) {
        if (all_turn) break;
        if (!stalls(peak, f)) continue;
        out.ends_by = fmt::format("\"{}\" stalls", function_name(brief_, f));
        return out;
      }
      const std::vector<motor::HubState> mean = shared(phase.mean, depth);
      for (std::size_t h = 0; h < hubs(); ++h)
        used[h] += phase.time_s * motor::depth_per_s(cells_[h], mean[h].current_a);
    }
    const double most = *std::max_element(used.begin(), used.end());
    if (!(most > 0)) break;
    double cycles = kDepthStep / most;
    bool empty = false;
    for (std::size_t h = 0; h < hubs(); ++h) {
      if (used[h] > 0 && (1 - depth[h]) / used[h] <= cycles) {
        cycles = (1 - depth[h]) / used[h];
        empty = true;
      }
    }
    out.minutes += cycles * cycle_s / 60;
    for (std::size_t h = 0; h < hubs(); ++h) depth[h] += cycles * used[h];
    if (empty) {
      out.ends_by = "cells empty";
      return out;
    }
  }
  out.minutes = kMostMinutes;
  out.ends_by = "more than that";
  return out;
}

namespace {

DutyPhasePower phase_power(const DutyModel& model, const brief::Brief& brief, const brief::DutyPhase& phase) {
  DutyPhasePower out;
  out.id = phase.id;
  out.time_s = phase.time_s;
  const std::vector<double> half(model.hubs(), kHalfEmpty), fresh(model.hubs(), 0);
  const std::vector<std::size_t> functions = model.running(phase);
  const auto mean = model.run(functions, phase.load, DutyModel::Load::mean, half);
  const auto peak = model.run(functions, phase.load, DutyModel::Load::peak, half);
  for (const motor::HubState& h : mean.hubs) {
    out.hub_current_ma.push_back(h.current_a * 1000);
    out.hub_voltage_v.push_back(h.voltage_v);
  }
  out.over_limit = peak.over_limit();
  for (const std::size_t f : functions) {
    DutyRun run;
    run.function = function_name(brief, f);
    const auto alone = model.run({f}, phase.load, DutyModel::Load::mean, fresh);
    const auto speed = [&](const DutyModel::State& s) {
      double least = kInfinity;
      for (std::size_t h = 0; h < s.hubs.size(); ++h) {
        for (std::size_t k = 0; k < s.motors[h].size(); ++k) {
          if (model.plugged()[s.motors[h][k]].function == f) least = std::min(least, s.hubs[h].motors[k].speed_rad_s);
        }
      }
      return least;
    };
    for (std::size_t h = 0; h < mean.hubs.size(); ++h) {
      for (std::size_t k = 0; k < mean.motors[h].size(); ++k) {
        if (model.plugged()[mean.motors[h][k]].function != f) continue;
        run.current_ma += mean.hubs[h].motors[k].current_a * 1000;
        run.stall_share = std::max(run.stall_share, peak.hubs[h].motors[k].stall_share);
      }
    }
    const double full = speed(alone);
    run.speed_share = full > 0 && std::isfinite(full) ? speed(mean) / full : 0;
    out.runs.push_back(std::move(run));
  }
  return out;
}

/// Which function stalls first as the cells empty, every one alone at the greatest torque of its load.
void find_first_stall(const DutyModel& model, const brief::Brief& brief, const std::vector<std::size_t>& functions,
                      DutyPower& out) {
  out.stalls_first_depth = kInfinity;
  for (const std::size_t f : functions) {
    const auto stalls_at = [&](double depth) {
      const std::vector<double> all(model.hubs(), depth);
      return model.stalls(model.run({f}, 1, DutyModel::Load::peak, all), f);
    };
    double depth = kInfinity;
    if (stalls_at(0)) {
      depth = 0;
    } else if (stalls_at(1)) {
      double low = 0, high = 1;
      for (int i = 0; i < 30; ++i) {
        const double middle = (low + high) / 2;
        (stalls_at(middle) ? high : low) = middle;
      }
      depth = high;
    }
    if (depth < out.stalls_first_depth) {
      out.stalls_first_depth = depth;
      out.stalls_first = function_name(brief, f);
    }
  }
  if (!out.stalls_first.empty()) return;
  // None does down to the end: the one nearest to it.
  double most = -1;
  const std::vector<double> empty(model.hubs(), 1);
  for (const std::size_t f : functions) {
    const auto state = model.run({f}, 1, DutyModel::Load::peak, empty);
    for (std::size_t h = 0; h < state.hubs.size(); ++h) {
      for (const motor::Operation& m : state.hubs[h].motors) {
        if (m.stall_share > most) {
          most = m.stall_share;
          out.stalls_first = function_name(brief, f);
        }
      }
    }
  }
}

/// From cold until the hub's cut-out opens.
double switches_off_s(const brief::Brief& brief, std::size_t h, double current_a) {
  return motor::cut_out_time_s({candidate::hub_of(brief, h).total_current_ma / 1000}, current_a);
}

/// Pairs that overload a hub or stall one another, each at the greatest torque of its load with half-empty cells.
void find_exclusions(const DutyModel& model, const brief::Brief& brief, const std::vector<std::size_t>& functions,
                     DutyPower& out) {
  const std::vector<double> half(model.hubs(), kHalfEmpty);
  std::vector<bool> bad(brief.functions.size(), false);  // already alone
  for (const std::size_t f : functions) {
    const auto alone = model.run({f}, 1, DutyModel::Load::peak, half);
    bad[f] = alone.over_limit() || model.stalls(alone, f);
  }
  for (std::size_t a = 0; a < functions.size(); ++a) {
    for (std::size_t b = a + 1; b < functions.size(); ++b) {
      const std::size_t f = functions[a], g = functions[b];
      if (bad[f] || bad[g]) continue;
      const auto both = model.run({f, g}, 1, DutyModel::Load::peak, half);
      for (std::size_t h = 0; h < both.hubs.size(); ++h) {
        if (!both.hubs[h].over_total_limit) continue;
        out.exclusions.push_back({function_name(brief, f), function_name(brief, g),
                                  fmt::format("hub {} gives more than it holds and switches off after some {} s", h + 1,
                                              base::plain(switches_off_s(brief, h, both.hubs[h].current_a), 2)),
                                  both.hubs[h].current_a * 1000, candidate::hub_of(brief, h).total_current_ma, "mA"});
      }
      if (both.over_limit()) continue;
      for (const std::size_t s : {f, g}) {
        const auto hub = model.stalled_on(both, s);
        if (!hub) continue;
        out.exclusions.push_back({function_name(brief, f), function_name(brief, g),
                                  fmt::format("the voltage sags until \"{}\" stalls", function_name(brief, s)),
                                  both.hubs[*hub].voltage_v, 0, "V"});
        break;
      }
    }
  }
}

/// One line per function and motor: the motor of it that warms most.
void find_warmth(const DutyModel& model, const brief::Brief& brief, const std::vector<std::size_t>& functions,
                 DutyPower& out) {
  const std::vector<double> half(model.hubs(), kHalfEmpty), fresh(model.hubs(), 0);
  for (const std::size_t f : functions) {
    double square_s = 0, steady_a = 0, total_s = 0;
    const Plugged* motor = nullptr;
    double voltage_v = 0;
    const auto look = [&](const DutyModel::State& s) {
      double most = 0;
      for (std::size_t h = 0; h < s.hubs.size(); ++h) {
        for (std::size_t k = 0; k < s.motors[h].size(); ++k) {
          if (model.plugged()[s.motors[h][k]].function != f) continue;
          motor = &model.plugged()[s.motors[h][k]];
          most = std::max(most, s.hubs[h].motors[k].current_a);
          voltage_v = motor::open_voltage_v(model.cells()[h], 0);
        }
      }
      return most;
    };
    for (const brief::DutyPhase& phase : brief.duty) {
      total_s += phase.time_s;
      const std::vector<std::size_t> running = model.running(phase);
      if (std::find(running.begin(), running.end(), f) == running.end()) continue;
      const double a = look(model.run(running, phase.load, DutyModel::Load::mean, half));
      square_s += a * a * phase.time_s;
    }
    steady_a = look(model.run({f}, 1, DutyModel::Load::mean, half));
    if (motor == nullptr) continue;
    const candidate::Drive& d = model.drive_of(*motor);
    const motor::Thermal th = candidate::motor_thermal(d, brief);
    Warmth w;
    w.function = function_name(brief, f);
    w.motor = brief.catalogue->at(d.motor).name;
    const double r = motor->motor.resistance_ohm;
    w.steady_rise_k = motor::winding_rise_k(r, steady_a, th.total_k_per_w());
    w.end_rise_k = total_s > 0 ? motor::winding_rise_k(r, std::sqrt(square_s / total_s), th.total_k_per_w()) : 0;
    w.cut_out_min = motor::time_to_limit_s(th, r, steady_a) / 60;
    const stock::Hub& hub = candidate::hub_of(brief, motor->hub);
    double stall_a = voltage_v / (r + motor::resistance_ohm(model.cells()[motor->hub], 0));
    if (hub.port_current_ma > 0) stall_a = std::min(stall_a, hub.port_current_ma / 1000);
    w.stall_cut_out_s = motor::time_to_limit_s(th, r, stall_a);
    out.warmth.push_back(std::move(w));
  }
}

}  // namespace

DutyPower judge_duty(const brief::Brief& brief, const std::vector<Chosen>& chosen, const std::vector<PortUse>& ports,
                     const std::vector<std::vector<candidate::Evaluation>>& worlds, const Options& options) {
  DutyPower out;
  DutyModel model(brief, chosen, ports);
  if (model.plugged().empty() || brief.duty.empty()) return out;
  out.judged = true;
  out.is_default = brief.duty_is_default;
  std::vector<std::size_t> functions;
  for (std::size_t f = 0; f < chosen.size(); ++f) {
    if (chosen[f].candidate != nullptr && !chosen[f].candidate->drives.empty()) functions.push_back(f);
  }
  std::vector<double> hub_charge_mas(model.hubs(), 0);
  for (const brief::DutyPhase& phase : brief.duty) {
    out.phases.push_back(phase_power(model, brief, phase));
    out.cycle_s += phase.time_s;
    for (std::size_t h = 0; h < model.hubs(); ++h)
      hub_charge_mas[h] += out.phases.back().hub_current_ma[h] * phase.time_s;
  }
  const double charge_mas = std::accumulate(hub_charge_mas.begin(), hub_charge_mas.end(), 0.0);
  out.mean_current_ma = out.cycle_s > 0 ? charge_mas / out.cycle_s : 0;
  for (std::size_t h = 0; h < model.hubs(); ++h) {
    const std::string text = candidate::text_of(model.cells()[h]);
    if (out.cells.find(text) == std::string::npos) out.cells += (out.cells.empty() ? "" : ", ") + text;
  }
  out.fresh_voltage_v = out.empty_voltage_v = kInfinity;
  for (std::size_t h = 0; h < model.hubs(); ++h) {
    const double mean_a = out.cycle_s > 0 ? hub_charge_mas[h] / 1000 / out.cycle_s : 0;
    out.fresh_voltage_v = std::min(out.fresh_voltage_v, voltage_under(motor::supply_at(model.cells()[h], 0), mean_a));
    out.empty_voltage_v = std::min(out.empty_voltage_v, voltage_under(motor::supply_at(model.cells()[h], 1), mean_a));
  }
  find_first_stall(model, brief, functions, out);
  find_exclusions(model, brief, functions, out);
  find_warmth(model, brief, functions, out);

  const DutyModel::RunTime nominal = model.run_time();
  out.ends_by = nominal.ends_by;
  out.run_time_open = nominal.minutes >= kMostMinutes;
  out.run_time_min = base::Triple::exact(nominal.minutes);
  std::vector<double> draws(worlds.size());
  const auto draw = [&](DutyModel& drawn, std::size_t k) {
    options.check();
    std::vector<double> capacity(drawn.hubs(), 1), load(chosen.size(), 1);
    for (std::size_t h = 0; h < drawn.hubs(); ++h) {
      // The kit system's figure may span drains as well; what is left here is the spread from cell to cell, unless the
      // project knows better.
      const double spread = motor::cell_spread(drawn.cells()[h].chemistry);
      base::Triple range{1 - spread, 1, 1 + spread};
      if (h < brief.supply.packs.size()) {
        const base::Triple& told = brief.supply.packs[h].capacity_mah;
        if (told.nominal > 0) {
          range.low = std::max(range.low, told.low / told.nominal);
          range.high = std::min(range.high, told.high / told.nominal);
        }
      }
      capacity[h] = base::triangular_draw(
          range, base::uniform_draw(options.seed, base::stream_of(fmt::format("capacity {}", h)), k));
    }
    const brief::Sample sample = brief.parameters.draw(options.seed, k);
    for (std::size_t f = 0; f < chosen.size(); ++f) {
      if (chosen[f].candidate == nullptr) continue;
      load[f] = candidate::load_factor(chosen[f].candidate->drives, brief, sample, worlds[k][f].running_current_ma,
                                       chosen[f].candidate->nominal.running_current_ma);
    }
    drawn.set(sample, capacity, load);
    draws[k] = drawn.run_time().minutes;
  };
  // In slices, each with a model of its own; as many as give every thread enough to do.
  constexpr std::size_t kSlices = 16;
  base::parallel_for(kSlices, options.control != nullptr ? options.control->jobs : 1, [&](std::size_t slice) {
    DutyModel drawn = model;
    for (std::size_t k = slice; k < draws.size(); k += kSlices) draw(drawn, k);
  });
  if (!draws.empty()) out.run_time_min = interval_of(std::move(draws), nominal.minutes);
  return out;
}

}  // namespace assessment
