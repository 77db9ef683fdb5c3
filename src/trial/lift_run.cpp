#include "trial/lift_run.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>
#include <numbers>

#include "trial/working.h"

namespace trial {
namespace {

using balance::Vec3;

constexpr double kTipped_rad = 2 * std::numbers::pi / 180;
constexpr double kRest_s = 0.6, kSteady_s = 1.2, kSwings = 1.2, kMostPhase_s = 120;
constexpr double kSample_s = 0.04;

/// The lift as it goes: one phase after the other, what is watched in each.
class Lift {
 public:
  Lift(const LiftPlan& plan, double step_ms, double friction, const std::atomic<bool>* stop)
      : plan_(plan), stop_(stop), input_(plan.movers.size(), 0.0), working_(rig_of(plan), {step_ms, friction}) {}

  LiftRun run() {
    out_.why_not = working_.fault_at_start();
    if (!out_.why_not.empty()) return out_;
    out_.least_margin_mm = out_.least_foot_n = std::numeric_limits<double>::infinity();
    watched_ = false;
    go_on(kRest_s);
    watched_ = true;
    if (plan_.hoist >= 0) {
      const double up_mm = plan_.lift_mm;
      phase("hoist up", plan_.hoist, 1, [&] { return working_.position(index(plan_.hoist)) >= up_mm; });
      steady();
      if (plan_.luff >= 0 && std::fabs(plan_.luff_to_rad - luff()) > 1e-4) luff_to("luff out", plan_.luff_to_rad);
    } else {
      luff_to("raise", plan_.luff_up_rad);
    }
    steady();
    out_.standing_margin_mm = margin();
    if (plan_.slew >= 0) {
      slew();
      const double omega = std::sqrt(balance::kGravity * 1e3 / working_.rope_mm());
      begin("swing");
      slewing_ = true;
      go_on(kSwings * 2 * std::numbers::pi / omega);
      slewing_ = false;
      end();
      steady();
      inch();
      steady();
    }
    const auto down = [&] { return working_.load_on_ground(); };
    if (plan_.hoist >= 0) {
      phase("set down", plan_.hoist, -1, down);
    } else {
      const double sense = plan_.luff_to_rad > luff() ? 1 : -1;
      phase("set down", plan_.luff, sense, down);
    }
    out_.set_down = !out_.tipped && out_.why_not.empty() && !out_.phases.empty() && out_.phases.back().arrives;
    out_.put_down = working_.load() - working_.base();
    if (out_.why_not.empty()) out_.why_not = working_.fault();
    out_.time_s = working_.time_s();
    out_.steps = working_.engine().steps();
    out_.state_hash = working_.engine().state_hash();
    return out_;
  }

 private:
  static WorkRig rig_of(const LiftPlan& plan) {
    WorkRig rig;
    rig.machine = plan.machine;
    rig.state = plan.state;
    rig.joint = plan.joint;
    rig.movers = plan.movers;
    rig.load_g = plan.load_g;
    rig.rope_mm = plan.rope_mm;
    rig.load_r_mm = plan.load_r_mm;
    return rig;
  }
  static std::size_t index(int mover) { return static_cast<std::size_t>(mover); }
  [[nodiscard]] double luff() const { return working_.position(index(plan_.luff)); }
  [[nodiscard]] double margin() const { return balance::stability_margin_mm(plan_.polygon, working_.feet().centre); }
  [[nodiscard]] bool over() const { return out_.tipped || !out_.why_not.empty() || failed_; }

  void begin(const char* name) {
    if (over()) return;
    LiftPhase p;
    p.name = name;
    p.start_s = working_.time_s();
    p.least_margin_mm = p.least_foot_n = std::numeric_limits<double>::infinity();
    out_.phases.push_back(p);
    open_ = true;
  }
  void end() {
    if (open_ && !out_.phases.empty()) out_.phases.back().end_s = working_.time_s();
    open_ = false;
  }

  bool step() {
    if (over()) return false;
    if (stop_ != nullptr && stop_->load(std::memory_order_relaxed)) {
      out_.why_not = "given up";
      return false;
    }
    if (!working_.step(input_)) {
      failed_ = true;
      return false;
    }
    watch();
    return !over();
  }

  void watch() {
    const double margin_mm = margin(), swing = working_.swing_rad(), lean = working_.lean_rad();
    if (watched_) {
      // A load that still stands on the ground does not swing.
      const double hangs = working_.load_on_ground() ? 0 : swing;
      out_.most_swing_rad = std::max(out_.most_swing_rad, hangs);
      out_.least_margin_mm = std::min(out_.least_margin_mm, margin_mm);
      out_.least_foot_n = std::min(out_.least_foot_n, working_.feet().least_n);
      if (slewing_) {
        out_.slew_swing_rad = std::max(out_.slew_swing_rad, hangs);
        if (turning_) out_.start_swing_rad = std::max(out_.start_swing_rad, hangs);
        moments();
      }
      if (open_) {
        LiftPhase& p = out_.phases.back();
        p.most_swing_rad = std::max(p.most_swing_rad, hangs);
        p.least_margin_mm = std::min(p.least_margin_mm, margin_mm);
        p.least_foot_n = std::min(p.least_foot_n, working_.feet().least_n);
      }
    }
    out_.most_lean_rad = std::max(out_.most_lean_rad, lean);
    if (lean > kTipped_rad) out_.tipped = true;
    if (working_.time_s() < next_sample_s_) return;
    next_sample_s_ += kSample_s;
    LiftSample s;
    s.time_s = working_.time_s();
    s.hook = working_.hook() - working_.base();
    s.load = working_.load() - working_.base();
    if (plan_.slew >= 0) s.slew_rad = working_.position(index(plan_.slew));
    if (plan_.luff >= 0) s.luff_rad = luff();
    s.rope_mm = working_.rope_mm();
    s.rope_n = working_.rope_n();
    s.swing_rad = swing;
    s.margin_mm = margin_mm;
    s.least_foot_n = working_.feet().least_n;
    s.lean_rad = lean;
    out_.samples.push_back(s);
  }

  /// What holds the machine about every tipping line, against the same machine at rest with the load hanging plumb.
  void moments() {
    const std::vector<balance::Point2>& p = plan_.polygon;
    std::vector<balance::Body> bodies;
    for (std::size_t b = 0; b < plan_.machine.bodies.size(); ++b) {
      balance::Body body = plan_.machine.bodies[b].weighed.body;
      double at = plan_.joint[b];
      for (const int m : {plan_.slew, plan_.luff})
        if (m >= 0 && plan_.movers[index(m)].body == static_cast<int>(b)) at = working_.position(index(m));
      if (body.joint == balance::Joint::turns) body.angle_rad = at;
      if (body.joint == balance::Joint::slides) body.travel_mm = at;
      bodies.push_back(body);
    }
    balance::poses(bodies, poses_);
    double grams = plan_.load_g;
    const Vec3 hook = poses_[static_cast<std::size_t>(plan_.machine.hook_body)].apply(plan_.machine.hook);
    double mx = plan_.load_g * hook.x_mm, my = plan_.load_g * hook.y_mm;
    for (std::size_t b = 0; b < bodies.size(); ++b) {
      const Vec3 c = poses_[b].apply(bodies[b].centre);
      grams += bodies[b].mass_g;
      mx += bodies[b].mass_g * c.x_mm;
      my += bodies[b].mass_g * c.y_mm;
    }
    const double weight_n = balance::weight_n(grams);
    const balance::Point2 rest{mx / grams, my / grams};
    const Working::Feet& feet = working_.feet();
    for (std::size_t i = 0; i < p.size(); ++i) {
      const balance::Point2 a = p[i], b = p[(i + 1) % p.size()];
      const double length = std::hypot(b.x_mm - a.x_mm, b.y_mm - a.y_mm);
      if (length < 1e-9) continue;
      const double nx = -(b.y_mm - a.y_mm) / length, ny = (b.x_mm - a.x_mm) / length;  // inwards
      const auto inside = [&](balance::Point2 q) { return (q.x_mm - a.x_mm) * nx + (q.y_mm - a.y_mm) * ny; };
      out_.swing_moment_nmm =
          std::max(out_.swing_moment_nmm, inside(rest) * weight_n - inside(feet.centre) * feet.sum_n);
    }
  }

  void go_on(double time_s) {
    const double until_s = working_.time_s() + time_s;
    while (working_.time_s() < until_s && step()) {
    }
  }
  void steady() {
    working_.steady(true);
    go_on(kSteady_s);
    working_.steady(false);
  }
  void phase(const char* name, int mover, double input, const std::function<bool()>& there) {
    begin(name);
    if (over()) return;
    input_[index(mover)] = input;
    const double until_s = working_.time_s() + kMostPhase_s;
    bool arrived = false;
    double mark_s = working_.time_s(), mark = working_.position(index(mover));
    while (working_.time_s() < until_s && step()) {
      if (there()) {
        arrived = true;
        break;
      }
      if (working_.time_s() < mark_s + 2) continue;
      const double here = working_.position(index(mover));
      const double least = plan_.movers[index(mover)].type == Mover::Type::rope ? 0.05 : 1e-4;
      if (std::fabs(here - mark) < least) break;
      mark_s = working_.time_s();
      mark = here;
    }
    input_[index(mover)] = 0;
    if (!over() && !out_.phases.empty()) out_.phases.back().arrives = arrived;
    end();
    if (!arrived && !over()) out_.why_not = std::string("it comes to a stop: \"") + name + "\"";
  }
  void luff_to(const char* name, double to_rad) {
    const double sense = to_rad > luff() ? 1 : -1;
    phase(name, plan_.luff, sense, [&] { return sense * (luff() - to_rad) >= 0; });
  }
  /// Full input after its ramp, taken away again so that the coasting ends at the angle: a drive with an even ramp and
  /// a lag coasts by  rate (ramp / 2 + lag).
  void slew() {
    begin("slew");
    slewing_ = true;
    const double sense = plan_.slew_to_rad > 0 ? 1 : -1;
    const double start_s = working_.time_s();
    double share = 0;
    const double rise = plan_.ramp_s > 0 ? plan_.input / plan_.ramp_s : 0;
    bool stopping = false;
    double slowest = std::numeric_limits<double>::infinity();
    while (working_.time_s() < start_s + kMostPhase_s) {
      const double at = sense * working_.position(index(plan_.slew));
      const double rate = sense * working_.speed(index(plan_.slew));
      const double turns = std::max(rate, 0.0);
      const double way = turns * (turns / plan_.rate_rad_s * plan_.turning_ramp_s / 2 + plan_.stop_lag_s);
      turning_ = !stopping;
      stopping = stopping || at + way >= sense * plan_.slew_to_rad;
      const double dt_s = working_.engine().model().opt.timestep;
      if (rise > 0) {
        share = std::clamp(share + (stopping ? -rise : rise) * dt_s, 0.0, plan_.input);
      } else {
        share = stopping ? 0 : plan_.input;
      }
      input_[index(plan_.slew)] = sense * share;
      if (!step()) break;
      if (stopping && share <= 0) {
        slowest = std::fabs(working_.speed(index(plan_.slew)));
        if (slowest < 2e-3) break;
      }
      if (!stopping && working_.time_s() > start_s + plan_.ramp_s + 2 && rate < 1e-3) {
        out_.why_not = "it does not turn";
        break;
      }
    }
    input_[index(plan_.slew)] = 0;
    slewing_ = turning_ = false;
    end();
  }

  /// What it stopped short or overran is taken back slowly, as a driver does.
  void inch() {
    if (over()) return;
    constexpr double kNear_rad = 0.4 * std::numbers::pi / 180, kTouch_s = 0.06, kLook_s = 0.3, kLonger_s = 12;
    const auto off = [&] { return plan_.slew_to_rad - working_.position(index(plan_.slew)); };
    out_.overrun_rad = -off() * (plan_.slew_to_rad > 0 ? 1 : -1);
    const double until_s = working_.time_s() + kLonger_s;
    const double share = std::min(1.0, plan_.dead_share * plan_.input + 0.12);
    working_.steady(true);
    while (std::fabs(off()) > kNear_rad && working_.time_s() < until_s && !over()) {
      // In touches, longer where much is missing, with pauses to look.
      input_[index(plan_.slew)] = off() > 0 ? share : -share;
      go_on(kTouch_s * std::clamp(std::fabs(off()) / 0.05, 1.0, 6.0));
      input_[index(plan_.slew)] = 0;
      go_on(kLook_s);
    }
    input_[index(plan_.slew)] = 0;
    working_.steady(false);
  }

  const LiftPlan& plan_;
  const std::atomic<bool>* stop_;
  std::vector<double> input_;
  Working working_;
  LiftRun out_;
  std::vector<balance::Pose> poses_;
  double next_sample_s_ = 0;
  bool watched_ = false, open_ = false, slewing_ = false, turning_ = false, failed_ = false;
};

}  // namespace

LiftRun run_lift(const LiftPlan& plan, double step_ms, double friction, const std::atomic<bool>* stop) {
  return Lift(plan, step_ms, friction, stop).run();
}

}  // namespace trial
