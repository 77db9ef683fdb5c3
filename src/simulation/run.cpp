#include "simulation/run.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/check.h"
#include "motor/thermal.h"

namespace simulation {
namespace {

constexpr double kMilli = 1e-3;   // N mm rad/s to W
constexpr double kBlock_s = 0.1;  // heat and charge follow this slowly: windings take tens of seconds
constexpr double kMostRows = 1200;
constexpr double kWakesAgain = 0.6;  // a cut-out closes again when it has cooled to this share: common practice
constexpr int kSolves = 6;           // more than two passes are rare; one that does not settle is counted

/// Table along the travel with the piece last used, because positions move little from step to step.
class Travel {
 public:
  explicit Travel(const candidate::Drive& d) : d_(&d) {}

  struct Here {
    double per_rad = 0, plus_nmm = 0, minus_nmm = 0;
  };
  [[nodiscard]] Here at(double position, double share) {
    const std::size_t n = d_->at.size();
    if (n == 1)
      return {d_->per_rad[0], mix(d_->plus_free_nmm[0], d_->plus_nmm[0], share),
              mix(d_->minus_free_nmm[0], d_->minus_nmm[0], share)};
    while (piece_ + 2 < n && position >= d_->at[piece_ + 1]) ++piece_;
    while (piece_ > 0 && position < d_->at[piece_]) --piece_;
    const double x = std::clamp((position - d_->at[piece_]) / (d_->at[piece_ + 1] - d_->at[piece_]), 0.0, 1.0);
    const auto between = [&](const std::vector<double>& y) { return y[piece_] + x * (y[piece_ + 1] - y[piece_]); };
    return {between(d_->per_rad), mix(between(d_->plus_free_nmm), between(d_->plus_nmm), share),
            mix(between(d_->minus_free_nmm), between(d_->minus_nmm), share)};
  }

 private:
  static double mix(double free, double full, double share) { return free + share * (full - free); }
  const candidate::Drive* d_;
  std::size_t piece_ = 0;
};

struct State {
  const DriveModel* model;
  Travel travel;
  Travel::Here here;
  double input = 0, target = 0, share = 1;
  double position = 0, speed = 0;  // signed, of the motor
  double resistance = 0;
  motor::Rise rise;
  double heat_j = 0;  // into the winding since the last block
  double current = 0;
  bool at_low = false, at_high = false;
  bool hot_told = false;

  // One step, in the sense of the motion.
  int sense = 0;  // 0: at rest
  double load_nmm = 0, output_nmm = 0;
  enum class Regime { drawing, circulating, limited };
  /// The drive's motors on one hub.
  struct Part {
    std::size_t hub = 0;
    double motors = 1, limit_a = 0, u = 0;
    Regime regime = Regime::drawing;
    double slope = 0, free_slope = 0;  // mean speed of the step over the hub's voltage; `free_`: as if without a limit
  };
  std::vector<Part> parts;
  double speed0 = 0, free_speed0 = 0;  // mean speed of the step at no voltage

  explicit State(const DriveModel& m) : model(&m), travel(m.drive) {
    position = m.drive.endless ? 0 : m.drive.start;
    at_low = !m.drive.endless && position <= low();  // it need not be told that it stands where it started
    at_high = !m.drive.endless && position >= high();
    share = m.load_share;
    resistance = m.motor.resistance_ohm;
    here = travel.at(position, share);
    double left = m.drive.motors;
    for (const Plug& p : m.elsewhere) left -= p.motors;
    KW_CHECK(left > 0, "a drive has a motor on its own hub");
    parts.push_back({m.hub, left, m.port_limit_a, 0, Regime::drawing, 0, 0});
    for (const Plug& p : m.elsewhere)
      parts.push_back({p.hub, static_cast<double>(p.motors), p.port_limit_a, 0, Regime::drawing, 0, 0});
  }
  [[nodiscard]] double low() const { return model->drive.at.front(); }
  [[nodiscard]] double high() const { return model->drive.at.back(); }
  [[nodiscard]] double output_torque(int direction) const { return direction > 0 ? here.plus_nmm : here.minus_nmm; }
};

double drive_torque_nmm(const DriveModel& m, double output_nmm) {
  return candidate::motor_torque_nmm(m.drive, output_nmm);
}

class Stepper {
 public:
  Stepper(const Machine& machine, const Script& script, const std::vector<std::string>& ids, const Options& options)
      : machine_(machine), script_(script), options_(options), dt_(options.step_s) {
    KW_CHECK(dt_ > 0 && dt_ <= 0.02, "a step is between 0 and 20 ms");
    for (const DriveModel& m : machine.drives) {
      KW_CHECK(m.inertia_nmm_s2 > 0, "a motor has an inertia");
      KW_CHECK(m.hub < machine.hubs.size(), "a motor is plugged into a hub");
      for (const Plug& p : m.elsewhere) KW_CHECK(p.hub < machine.hubs.size(), "a motor is plugged into a hub");
      states_.emplace_back(m);
      out_.drives.push_back(m.name);
      int column = -1, load = -1;
      for (std::size_t i = 0; i < script.inputs.size(); ++i) {
        const bool own = script.inputs[i] == m.name;
        if (own || (column < 0 && m.function < ids.size() && script.inputs[i] == ids[m.function]))
          column = static_cast<int>(i);
      }
      for (std::size_t i = 0; i < script.loads.size(); ++i) {
        if (m.function < ids.size() && script.loads[i] == ids[m.function]) load = static_cast<int>(i);
      }
      column_.push_back(column);
      load_column_.push_back(load);
    }
    out_.moved.assign(states_.size(), 0);
    out_.most_current_a = out_.most_speed_rad_s = out_.moved;
    for (const HubModel& h : machine.hubs) {
      out_.hubs.push_back(h.name);
      hubs_.push_back({h.depth, motor::open_voltage_v(h.cells, h.depth), motor::resistance_ohm(h.cells, h.depth),
                       motor::open_voltage_v(h.cells, h.depth)});
      out_.least_voltage_v.push_back(hubs_.back().voltage_v);
      out_.most_hub_current_a.push_back(0);
    }
    KW_CHECK(options.handling.empty() || options.handling.size() == states_.size(), "one handling a drive");
    held_.assign(options.interlocks.size(), false);
    ramped_.assign(states_.size(), 0);
    const std::size_t n = hubs_.size();
    matrix_.assign(n * n, 0);
    right_.assign(n, 0);
  }

  Outcome go() {
    const double end_s = script_.end_s();
    const auto steps = static_cast<std::int64_t>(std::llround(end_s / dt_));
    const double sample_s = options_.sample_s > 0 ? options_.sample_s : std::max(dt_, end_s / kMostRows);
    const auto every = std::max<std::int64_t>(1, std::llround(sample_s / dt_));
    const auto block = std::max<std::int64_t>(1, std::llround(kBlock_s / dt_));
    for (std::int64_t k = 0; k < steps; ++k) {
      time_s_ = static_cast<double>(k) * dt_;
      read_script();
      if (k % every == 0) sample();
      for (State& s : states_) prepare(s);
      solve();
      for (std::size_t h = 0; h < hubs_.size(); ++h) {
        hubs_[h].charge_as += hubs_[h].current_a * dt_;
        hubs_[h].square_a2s += hubs_[h].current_a * hubs_[h].current_a * dt_;
      }
      for (std::size_t i = 0; i < states_.size(); ++i) advance(i);
      keep_extremes();
      if ((k + 1) % block == 0) slow_step(static_cast<double>(block) * dt_);
    }
    const auto rest = steps % block;
    if (rest > 0) slow_step(static_cast<double>(rest) * dt_);
    time_s_ = static_cast<double>(steps) * dt_;
    sample();
    for (const State& s : states_)
      out_.energy.kinetic += s.model->drive.motors * 0.5 * s.model->inertia_nmm_s2 * kMilli * s.speed * s.speed;
    out_.steps = steps;
    return std::move(out_);
  }

 private:
  struct Hub {
    double depth, emf_v, resistance_ohm, voltage_v;
    double current_a = 0;  // of the last step
    double charge_as = 0;  // since the last block
    double square_a2s = 0;
    double heat = 0;  // of the cut-out
    bool off = false;
  };

  void keep_extremes() {
    for (std::size_t i = 0; i < states_.size(); ++i) {
      out_.most_current_a[i] = std::max(out_.most_current_a[i], std::fabs(states_[i].current));
      out_.most_speed_rad_s[i] = std::max(out_.most_speed_rad_s[i], std::fabs(states_[i].speed));
    }
    for (std::size_t h = 0; h < hubs_.size(); ++h) {
      out_.least_voltage_v[h] = std::min(out_.least_voltage_v[h], hubs_[h].voltage_v);
      out_.most_hub_current_a[h] = std::max(out_.most_hub_current_a[h], hubs_[h].current_a);
    }
  }

  void read_script() {
    while (next_row_ < script_.steps.size() && script_.steps[next_row_].time_s <= time_s_ + dt_ / 2) {
      const Step& row = script_.steps[next_row_++];
      for (std::size_t i = 0; i < states_.size(); ++i) {
        if (column_[i] >= 0 && !std::isnan(row.input[static_cast<std::size_t>(column_[i])]))
          states_[i].target = row.input[static_cast<std::size_t>(column_[i])];
        if (load_column_[i] >= 0 && !std::isnan(row.load[static_cast<std::size_t>(load_column_[i])])) {
          states_[i].share = row.load[static_cast<std::size_t>(load_column_[i])];
          states_[i].here = states_[i].travel.at(states_[i].position, states_[i].share);
        }
      }
    }
    double asked = 0, could = 0;
    for (const State& s : states_) {
      if (s.model->looks_only) continue;
      asked += s.model->drive.motors * std::fabs(s.current);
      for (const State::Part& p : s.parts) could += p.motors * hubs_[p.hub].emf_v / s.model->motor.resistance_ohm;
    }
    others_share_ = could > 0 ? asked / could : 0;
    if (options_.engine) {
      const double input = options_.engine(dt_, others_share_);
      for (std::size_t i = 0; i < states_.size(); ++i) {
        if (states_[i].model->looks_only && column_[i] < 0) states_[i].target = input;
      }
    }
    std::vector<bool>& held = held_drive_;
    held.assign(states_.size(), false);
    for (std::size_t k = 0; k < options_.interlocks.size(); ++k) {
      const bool now = holds(options_.interlocks[k], held);
      if (now && !held_[k]) tell("held back: " + options_.interlocks[k].text);
      held_[k] = now;
    }
    for (std::size_t i = 0; i < states_.size(); ++i) {
      State& s = states_[i];
      const Handling how = options_.handling.empty() ? Handling{} : options_.handling[i];
      const double wanted = held[i] ? 0 : how.limit * std::clamp(s.target, -1.0, 1.0);
      const double most = how.ramp_s > 0 ? dt_ / how.ramp_s : 2;
      ramped_[i] += std::clamp(wanted - ramped_[i], -most, most);
      s.input = ramped_[i] * soft_share(s, how, ramped_[i]);
    }
  }

  /// What the nearness of the end it goes to leaves of an input.
  static double soft_share(const State& s, const Handling& how, double input) {
    if (s.model->drive.endless || !(how.soft_zone > 0) || input == 0) return 1;
    const double left = input > 0 ? s.high() - s.position : s.position - s.low();
    return std::clamp(left / how.soft_zone, how.soft_input, 1.0);
  }

  /// Whether an interlock holds its function back in this step; marks the drives that it stops.
  bool holds(const Interlock& lock, std::vector<bool>& held) {
    const auto wants = [&](std::size_t function) {
      return std::any_of(states_.begin(), states_.end(), [&](const State& s) {
        return s.model->function == function && s.target != 0 && !held[static_cast<std::size_t>(&s - states_.data())];
      });
    };
    const auto runs = [&](std::size_t function) {
      return std::any_of(states_.begin(), states_.end(), [&](const State& s) {
        return s.model->function == function && ramped_[static_cast<std::size_t>(&s - states_.data())] != 0;
      });
    };
    std::size_t stopped = lock.function;
    if (!wants(stopped)) return false;
    if (lock.rule == Interlock::Rule::not_together) {
      if (!wants(lock.other) && !runs(lock.other)) return false;
      if (runs(lock.function) && !runs(lock.other)) stopped = lock.other;
    } else {
      // Its place counts from where it stood at the start to its other end; a hundredth of the way is at the place.
      constexpr double kThere = 0.01;
      bool away = false, there = true;
      for (const State& s : states_) {
        if (s.model->function != lock.other || s.model->drive.endless) continue;
        const double way = (s.high() - s.low()) * kThere, start = s.model->drive.start;
        const double other_end = s.high() - start > start - s.low() ? s.high() : s.low();
        away = away || std::fabs(s.position - start) > way;
        there = there && std::fabs(s.position - other_end) <= way;
      }
      if (lock.rule == Interlock::Rule::not_while_away ? !away : there) return false;
    }
    for (std::size_t i = 0; i < states_.size(); ++i) {
      if (states_[i].model->function == stopped) held[i] = true;
    }
    return true;
  }

  /// The sense in which it moves or would start to move.
  void prepare(State& s) {
    double input = s.input;
    if (s.model->soft_ends && ((s.at_high && input > 0) || (s.at_low && input < 0))) input = 0;
    const motor::Constants& m = s.model->motor;
    s.sense = s.speed > 0 ? 1 : s.speed < 0 ? -1 : 0;
    // The loads in the middle of the step, foretold by half a step at the present speed: second order like the rest.
    if (!s.model->drive.endless) {
      s.here = s.travel.at(s.position, s.share);
      if (s.sense != 0)
        s.here = s.travel.at(s.position + s.speed * s.model->drive.ratio * s.here.per_rad * dt_ / 2, s.share);
    }
    if (s.sense == 0) {
      for (const int direction : {1, -1}) {
        if ((direction > 0 && s.at_high) || (direction < 0 && s.at_low)) continue;
        double current = 0;  // mean of its motors
        for (const State::Part& p : s.parts) {
          const Hub& hub = hubs_[p.hub];
          double one = hub.off ? 0 : direction * input * hub.voltage_v / s.resistance;
          if (p.limit_a > 0 && input != 0) one = std::min(one, p.limit_a / std::fabs(input));
          current += p.motors / s.model->drive.motors * one;
        }
        const double push = m.torque_nmm_per_a * (current - m.no_load_current_a) -
                            drive_torque_nmm(*s.model, s.output_torque(direction));
        if (push > 0) s.sense = direction;
      }
    }
    for (State::Part& p : s.parts) p.u = hubs_[p.hub].off ? 0 : s.sense == 0 ? std::fabs(input) : s.sense * input;
    for (State::Part& p : s.parts) {
      if (!(p.u > 0) && p.regime == State::Regime::limited) p.regime = State::Regime::drawing;
    }
    if (s.sense == 0) return;
    s.output_nmm = s.output_torque(s.sense);
    s.load_nmm = drive_torque_nmm(*s.model, s.output_nmm);
  }

  /// Mean speed of the step as speed0 + sum slope U. The motors of a drive share their speed, whatever their hubs; one
  /// at its port's limit pushes with that current.
  void line(State& s, bool limited, double& speed0) const {
    const motor::Constants& m = s.model->motor;
    const double n = s.model->drive.motors;
    double push = 0, drawing = 0;
    for (const State::Part& p : s.parts) {
      if (limited && p.regime == State::Regime::limited) {
        push += p.motors / n * m.torque_nmm_per_a * p.limit_a / p.u;
      } else {
        drawing += p.motors / n;
      }
    }
    const double a = 2 * s.model->inertia_nmm_s2 / dt_;  // J (v' - v)/dt = a (v_mid - v)
    const double b = m.torque_nmm_per_a * m.emf_v_s / s.resistance * drawing;
    const bool rests = s.sense == 0;
    speed0 =
        rests ? 0 : (a * std::fabs(s.speed) - m.torque_nmm_per_a * m.no_load_current_a - s.load_nmm + push) / (a + b);
    for (State::Part& p : s.parts) {
      const bool free = !(limited && p.regime == State::Regime::limited);
      (limited ? p.slope : p.free_slope) =
          rests || !free ? 0 : p.motors / n * m.torque_nmm_per_a * p.u / s.resistance / (a + b);
    }
  }
  [[nodiscard]] double mean_speed(const State& s, bool limited) const {
    double v = limited ? s.speed0 : s.free_speed0;
    for (const State::Part& p : s.parts) v += (limited ? p.slope : p.free_slope) * hubs_[p.hub].voltage_v;
    return v;
  }
  /// Current of one motor of a part.
  [[nodiscard]] double current_of(const State& s, const State::Part& p, double mean_speed) const {
    if (p.regime == State::Regime::limited) return p.limit_a / p.u;
    return (p.u * hubs_[p.hub].voltage_v - s.model->motor.emf_v_s * mean_speed) / s.resistance;
  }

  /// Port voltages: all drives are linear in them once their regimes are known, U + r I(U) = E for every hub.
  void solve() {
    const std::size_t n = hubs_.size();
    for (State& s : states_) line(s, false, s.free_speed0);
    bool settled = false;
    for (int pass = 0; pass < kSolves && !settled; ++pass) {
      std::fill(matrix_.begin(), matrix_.end(), 0.0);
      for (std::size_t h = 0; h < n; ++h) {
        matrix_[h * n + h] = 1;
        right_[h] = hubs_[h].emf_v;
      }
      for (State& s : states_) {
        line(s, true, s.speed0);
        const double emf = s.model->motor.emf_v_s;
        for (const State::Part& p : s.parts) {
          const double r = hubs_[p.hub].resistance_ohm * p.motors;
          if (p.regime == State::Regime::limited) right_[p.hub] -= r * p.limit_a;
          if (p.regime != State::Regime::drawing) continue;
          right_[p.hub] += r * p.u * emf * s.speed0 / s.resistance;
          double* row = &matrix_[p.hub * n];
          row[p.hub] += r * p.u * p.u / s.resistance;
          for (const State::Part& q : s.parts) row[q.hub] -= r * p.u * emf * q.slope / s.resistance;
        }
      }
      eliminate();
      settled = true;
      for (State& s : states_) {
        const double v = mean_speed(s, false);
        for (State::Part& p : s.parts) {
          const double drawn =
              p.u * (p.u * hubs_[p.hub].voltage_v - s.model->motor.emf_v_s * v) / s.resistance;  // from the port
          const State::Regime regime = p.limit_a > 0 && p.u > 0 && drawn > p.limit_a ? State::Regime::limited
                                       : drawn > 0                                   ? State::Regime::drawing
                                                                                     : State::Regime::circulating;
          settled = settled && regime == p.regime;
          p.regime = regime;
        }
      }
    }
    if (!settled) {
      ++out_.unsettled;
      for (State& s : states_) line(s, true, s.speed0);
    }
    for (Hub& hub : hubs_) hub.current_a = 0;
    for (const State& s : states_) {
      const double v = mean_speed(s, true);
      for (const State::Part& p : s.parts) {
        if (p.regime != State::Regime::circulating) hubs_[p.hub].current_a += p.motors * p.u * current_of(s, p, v);
      }
    }
  }

  /// Gauss without pivoting: every row's diagonal outweighs the rest, because a drive takes from its own hub more than
  /// its motors on another one push back.
  void eliminate() {
    const std::size_t n = hubs_.size();
    for (std::size_t k = 0; k < n; ++k) {
      for (std::size_t i = k + 1; i < n; ++i) {
        const double f = matrix_[i * n + k] / matrix_[k * n + k];
        if (f == 0) continue;
        for (std::size_t j = k; j < n; ++j) matrix_[i * n + j] -= f * matrix_[k * n + j];
        right_[i] -= f * right_[k];
      }
    }
    for (std::size_t k = n; k-- > 0;) {
      double sum = right_[k];
      for (std::size_t j = k + 1; j < n; ++j) sum -= matrix_[k * n + j] * hubs_[j].voltage_v;
      hubs_[k].voltage_v = sum / matrix_[k * n + k];
    }
  }

  void advance(std::size_t i) {
    State& s = states_[i];
    const DriveModel& model = *s.model;
    const motor::Constants& m = model.motor;
    const double n = model.drive.motors;
    const double v_mid = mean_speed(s, true);
    Energy& e = out_.energy;
    double current = 0, copper_w = 0;  // mean of its motors, all together
    for (const State::Part& p : s.parts) {
      const Hub& hub = hubs_[p.hub];
      const double one = current_of(s, p, v_mid);
      current += p.motors / n * one;
      const double port_a = p.regime == State::Regime::circulating ? 0 : std::max(0.0, p.u * one);
      // What the driver circulates is closed in itself: the motor brakes on its own resistance.
      e.source += hub.emf_v * p.motors * port_a * dt_;
      e.supply += (hub.emf_v - hub.voltage_v) * p.motors * port_a * dt_;
      if (p.regime == State::Regime::limited) {
        // The driver chops the voltage down until its limit flows, so it passes on what the motor takes.
        const double terminal_v = s.resistance * one + m.emf_v_s * v_mid;
        e.supply += p.motors * (hub.voltage_v * port_a - terminal_v * one) * dt_;
      } else if (p.regime == State::Regime::circulating) {
        // Only the part of the chopped voltage that would flow back: it is burnt in the driver.
        e.supply -= p.motors * p.u * one * hub.voltage_v * dt_;
      }
      copper_w += p.motors * s.resistance * one * one;
    }
    s.current = s.sense == 0 ? (s.input < 0 ? -current : current) : s.sense * current;
    e.copper += copper_w * dt_;
    s.heat_j += copper_w / n * dt_;

    if (s.sense == 0) return;
    double v_next = 2 * v_mid - std::fabs(s.speed);
    bool stopped = false;
    if (v_next <= 0) {
      v_next = 0;
      stopped = true;
    }
    const double v_used = stopped ? std::fabs(s.speed) / 2 : v_mid;
    const double shaft_nmm = m.torque_nmm_per_a * (current - m.no_load_current_a);
    e.motor_friction += n * (m.emf_v_s * current - shaft_nmm * kMilli) * v_mid * dt_;
    const double output_speed = v_used * model.drive.ratio;
    const double load_w = model.drive.outputs * s.output_nmm * kMilli * output_speed;
    e.load += load_w * dt_;
    e.train += (n * s.load_nmm * kMilli * v_used - load_w) * dt_;

    const double step = s.sense * output_speed * s.here.per_rad * dt_;
    s.position += step;
    out_.moved[i] += std::fabs(step);
    s.speed = s.sense * v_next;
    if (!model.drive.endless) check_ends(i, s);
  }

  void check_ends(std::size_t i, State& s) {
    const bool above = s.position >= s.high(), below = s.position <= s.low();
    if ((above && s.speed > 0) || (below && s.speed < 0)) {
      const bool first = above ? !s.at_high : !s.at_low;
      out_.energy.stops += s.model->drive.motors * 0.5 * s.model->inertia_nmm_s2 * kMilli * s.speed * s.speed;
      s.speed = 0;
      s.position = above ? s.high() : s.low();
      if (first)
        tell(fmt::format("{}: at its end, {}", out_.drives[i], above ? s.model->drive.plus : s.model->drive.minus));
    }
    s.at_high = s.position >= s.high();
    s.at_low = s.position <= s.low();
  }

  /// Charge, heat, cut-outs.
  void slow_step(double time_s) {
    for (std::size_t h = 0; h < hubs_.size(); ++h) {
      Hub& hub = hubs_[h];
      const HubModel& model = machine_.hubs[h];
      const double mean_a = hub.charge_as / time_s;
      const double effective_a = std::sqrt(hub.square_a2s / time_s);
      hub.charge_as = hub.square_a2s = 0;
      hub.depth = std::min(1.0, hub.depth + time_s * motor::depth_per_s(model.cells, mean_a));
      hub.emf_v = motor::open_voltage_v(model.cells, hub.depth);
      hub.resistance_ohm = motor::resistance_ohm(model.cells, hub.depth);
      if (model.cut_out.hold_a > 0) {
        hub.heat = motor::cut_out_heat(model.cut_out, hub.heat, effective_a, time_s);
        if (!hub.off && hub.heat >= 1) {
          hub.off = true;
          tell(model.name + ": cut out");
        } else if (hub.off && hub.heat <= kWakesAgain) {
          hub.off = false;
          tell(model.name + ": on again");
        }
      }
    }
    for (std::size_t i = 0; i < states_.size(); ++i) {
      State& s = states_[i];
      s.rise = motor::warmed_by(s.model->thermal, s.rise, s.heat_j / time_s, time_s);
      s.heat_j = 0;
      s.resistance = s.model->motor.resistance_ohm * (1 + motor::kCopperPerKelvin * s.rise.winding_k);
      if (!s.hot_told && s.rise.winding_k > s.model->thermal.limit_k) {
        s.hot_told = true;
        tell(out_.drives[i] + ": winding too hot");
      }
    }
  }

  void tell(std::string text) { out_.events.push_back({time_s_ + dt_, std::move(text)}); }

  void sample() {
    Sample row;
    row.time_s = time_s_;
    row.others_share = others_share_;
    share_.clear();
    for (const State& s : states_) {
      row.input.push_back(s.input);
      row.current_a.push_back(s.current);
      row.speed_rad_s.push_back(s.speed);
      row.position.push_back(s.position);
      share_.push_back(s.share);
      row.winding_k.push_back(s.rise.winding_k);
    }
    for (const Hub& h : hubs_) {
      row.voltage_v.push_back(h.voltage_v);
      row.hub_current_a.push_back(h.current_a);
      row.depth.push_back(h.depth);
    }
    row.tipping_deg =
        options_.tipping ? options_.tipping(row.position, share_) : std::numeric_limits<double>::quiet_NaN();
    out_.samples.push_back(std::move(row));
  }

  const Machine& machine_;
  const Script& script_;
  const Options& options_;
  double dt_;
  double time_s_ = 0;
  std::vector<State> states_;
  std::vector<int> column_, load_column_;
  std::vector<Hub> hubs_;
  std::vector<double> matrix_, right_;  // of the port voltages, row by row
  std::vector<double> ramped_, share_;  // per drive
  std::vector<bool> held_, held_drive_;
  double others_share_ = 0;
  std::size_t next_row_ = 0;
  Outcome out_;
};

}  // namespace

double Energy::error() const {
  const double flowed = std::max({std::fabs(source), copper + supply, std::fabs(load), 1e-12});
  return std::fabs(source - sum()) / flowed;
}

Outcome run(const Machine& machine, const Script& script, const std::vector<std::string>& function_ids,
            const Options& options) {
  return Stepper(machine, script, function_ids, options).go();
}

}  // namespace simulation
