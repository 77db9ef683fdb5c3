// What is lifted, from where to where, and the closed forms beside it.
#include "trial/lift.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "balance/lifting_machine.h"
#include "base/text.h"
#include "handset/plan.h"
#include "trial/lift_run.h"
#include "trial/swing.h"

namespace trial {
namespace {

using balance::Point2;
using balance::Vec3;

constexpr double kDeg = std::numbers::pi / 180;
constexpr double kClear_mm = 40;     // under the load on its way
constexpr double kLoad_mm = 12;      // radius of the ball that stands for it
constexpr double kStartShare = 0.8;  // of the edge's radius, where it is picked up
constexpr double kFriction = 1;      // under the feet
constexpr double kPlace_mm = 10;     // a place nearer than this is the place
constexpr double kSame = 0.03;       // runs nearer than this say the same
constexpr double kSlower = 0.3;      // of the slewing input, when a gap's cause is looked for
constexpr double kSwing_deg = 0.5;   // so much is the same swing
constexpr int kRadii = 80, kSlews = 5;

double grams(double newton) {
  return newton / balance::kGravity * 1e3;
}

std::vector<balance::Body> posed(const LiftPlan& plan, double slew_rad, double luff_rad) {
  std::vector<balance::Body> out;
  for (std::size_t b = 0; b < plan.machine.bodies.size(); ++b) {
    balance::Body body = plan.machine.bodies[b].weighed.body;
    double at = plan.joint[b];
    if (static_cast<int>(b) == plan.machine.slew_body) at = slew_rad;
    if (static_cast<int>(b) == plan.machine.luff_body) at = luff_rad;
    if (body.joint == balance::Joint::turns) body.angle_rad = at;
    if (body.joint == balance::Joint::slides) body.travel_mm = at;
    out.push_back(body);
  }
  return out;
}

Vec3 hook_of(const LiftPlan& plan, double slew_rad, double luff_rad) {
  const std::vector<balance::Body> bodies = posed(plan, slew_rad, luff_rad);
  return balance::poses(bodies)[static_cast<std::size_t>(plan.machine.hook_body)].apply(plan.machine.hook);
}

/// Where the whole with its load presses the ground, rigid and at rest.
Point2 pressure_of(const LiftPlan& plan, double slew_rad, double luff_rad) {
  const balance::MassPoint own = balance::total_mass(posed(plan, slew_rad, luff_rad));
  const Vec3 hook = hook_of(plan, slew_rad, luff_rad);
  const double whole = own.mass_g + plan.load_g;
  return {(own.mass_g * own.at.x_mm + plan.load_g * hook.x_mm) / whole,
          (own.mass_g * own.at.y_mm + plan.load_g * hook.y_mm) / whole};
}

/// Steady rate and lags of the slewing drive, the load hanging free of it.
struct SlewDrive {
  double rate_rad_s = 0, start_lag_s = 0, stop_lag_s = 0;
  double dead_share = 0;  ///< of the input, that friction takes: below it nothing turns
};
SlewDrive slew_drive(const LiftPlan& plan) {
  const Mover& m = plan.movers[static_cast<std::size_t>(plan.slew)];
  const MotionRig& how = m.how;
  const double per = per_motor_rad(how), u = plan.input, e = how.efficiency;
  const double friction_nm = how.friction_nmm * 1e-3 / how.per_rad, kt = how.motor.torque_nmm_per_a * 1e-3;
  const double behind_ohm = how.motor.resistance_ohm + u * u * how.feed.resistance_ohm;
  SlewDrive out;
  out.rate_rad_s =
      per / how.motor.emf_v_s *
      (u * how.feed.voltage_v - behind_ohm * (friction_nm * per / (e * how.motors * kt) + how.motor.no_load_current_a));
  out.dead_share = std::min(1.0, how.motor.resistance_ohm / u / how.feed.voltage_v *
                                     (friction_nm * per / (e * how.motors * kt) + how.motor.no_load_current_a));
  // About the slewing axis, the load left out: it hangs.
  double inertia = how.motors * how.rotor_nmm_s2 * 1e-3 / (per * per);
  const std::vector<balance::Body> bodies = posed(plan, 0, plan.luff_to_rad);
  const std::vector<balance::Pose> poses = balance::poses(bodies);
  const auto slew = static_cast<std::size_t>(plan.machine.slew_body);
  const Vec3 axis = poses[slew].t;
  for (std::size_t b = slew; b < bodies.size(); ++b) {
    int up = static_cast<int>(b);
    while (up > static_cast<int>(slew)) up = bodies[static_cast<std::size_t>(up)].parent;
    if (up != static_cast<int>(slew)) continue;
    const Vec3 at = poses[b].apply(bodies[b].centre) - axis;
    inertia += bodies[b].mass_g * 1e-9 * (at.x_mm * at.x_mm + at.y_mm * at.y_mm);
  }
  const double slope = how.motors * kt * how.motor.emf_v_s / (per * per);  // N m s/rad per ohm
  out.start_lag_s = inertia * behind_ohm / (slope * e);
  // Stopping: the shorted motor and all friction; coasts a way of rate x lag.
  const double brake = slope * (2 - e) / how.motor.resistance_ohm;
  const double rubs = friction_nm + how.motors * kt * how.motor.no_load_current_a * e / per;
  const double like = rubs / brake;  // speed at which the motor brakes as much
  const double tau = inertia / brake;
  out.stop_lag_s =
      like > 0 && out.rate_rad_s > 0 ? tau * (1 - like / out.rate_rad_s * std::log(1 + out.rate_rad_s / like)) : tau;
  return out;
}

Beside figure(const char* id, std::string what, const char* unit, double closed, double trial, double grid) {
  Beside b;
  b.id = id;
  b.what = std::move(what);
  b.unit = unit;
  b.closed = closed;
  b.trial = trial;
  b.grid = grid;
  return b;
}

/// Fills in what the driver and the closed form reckon with. Friction shortens a ramp: it starts to turn late and
/// stands before the input is gone.
void reckon(LiftPlan& plan, const SlewDrive& drive) {
  plan.rate_rad_s = drive.rate_rad_s;
  plan.dead_share = drive.dead_share;
  plan.turning_ramp_s = plan.ramp_s * (1 - drive.dead_share);
  plan.stop_lag_s = drive.stop_lag_s;
  plan.start_lag_s = drive.start_lag_s;
}

struct ClosedSwing {
  double start_rad = 0, most_rad = 0;
};
ClosedSwing closed_swing(const LiftPlan& plan, double rope_mm) {
  const Vec3 hook = hook_of(plan, 0, plan.luff_to_rad);
  const Vec3 axis =
      balance::poses(posed(plan, 0, plan.luff_to_rad))[static_cast<std::size_t>(plan.machine.slew_body)].t;
  const double radius_mm = std::hypot(hook.x_mm - axis.x_mm, hook.y_mm - axis.y_mm);
  const double angle_rad = std::fabs(plan.slew_to_rad);
  return {slew_swing(plan.rate_rad_s, radius_mm, angle_rad, rope_mm, plan.turning_ramp_s, plan.start_lag_s).during_rad,
          most_slew_swing_rad(plan.rate_rad_s, radius_mm, angle_rad, rope_mm, plan.turning_ramp_s,
                              (plan.start_lag_s + plan.stop_lag_s) / 2)};
}

}  // namespace

LiftTrial try_lift(const brief::Brief& brief, const std::vector<assessment::Chosen>& chosen,
                   const assessment::Assessment& assessed, const LiftWish& wish, const base::RunControl& control) {
  LiftTrial out;
  if (!engine_present()) {
    out.why_not = engine_text();
    return out;
  }
  const assessment::Lifting& lifting = assessed.lifting;
  if (!lifting.judged || !lifting.machine) {
    out.why_not = "it lifts nothing: " + lifting.why_not;
    return out;
  }
  LiftPlan plan;
  plan.machine = *lifting.machine;
  const balance::LiftingMachine& machine = plan.machine;
  for (Mover& m : movers_of(brief, chosen, out.left_out)) {
    int* at = m.type == Mover::Type::ring && m.body == machine.slew_body    ? &plan.slew
              : m.type == Mover::Type::screw && m.body == machine.luff_body ? &plan.luff
              : m.type == Mover::Type::rope && m.body == machine.hook_body  ? &plan.hoist
                                                                            : nullptr;
    if (at == nullptr) continue;
    *at = static_cast<int>(plan.movers.size());
    plan.movers.push_back(std::move(m));
  }
  out.hoists = plan.hoist >= 0;
  out.slews = plan.slew >= 0;
  if (plan.hoist < 0 && plan.luff < 0) {
    out.why_not = "no drive lifts the hook: neither a hoist nor a screw that luffs its boom is among the chosen drives";
    return out;
  }
  // On what it stands, and how its stages stand: where it lifts most at the wanted radius.
  std::size_t state = 0;
  for (std::size_t s = 1; s < lifting.at_wanted.size(); ++s)
    if (lifting.at_wanted[s].rated_g > lifting.at_wanted[state].rated_g) state = s;
  int posture = 0;
  for (std::size_t p = 0; p < machine.postures.size(); ++p)
    if (state < lifting.at_wanted.size() && machine.postures[p].name == lifting.at_wanted[state].posture)
      posture = static_cast<int>(p);
  plan.state = static_cast<int>(state);
  plan.joint = machine.postures[static_cast<std::size_t>(posture)].joint;
  out.state = machine.states[state].name;
  out.posture = machine.postures[static_cast<std::size_t>(posture)].name;
  out.load_g = wish.load_g > 0 ? wish.load_g : lifting.wanted_g;
  plan.load_g = out.load_g + grams(machine.tare_n);
  plan.load_r_mm = kLoad_mm;
  plan.polygon = balance::tipping_polygon(machine.states[state]);
  out.polygon = plan.polygon;
  if (plan.polygon.size() < 3) {
    out.why_not = "what it stands on holds it about no line";
    return out;
  }

  if (out.slews) {
    const double low = lifting.slew_deg.front(), high = lifting.slew_deg.back();
    double to_deg = wish.slew_deg;
    if (!(std::fabs(to_deg) > 0)) {
      to_deg = state < lifting.at_wanted.size() ? lifting.at_wanted[state].slew_deg : 0;
      if (std::fabs(to_deg) < 20) to_deg = high >= 90 ? 90 : std::fabs(low) > high ? low : high;
    }
    const Mover& m = plan.movers[static_cast<std::size_t>(plan.slew)];
    plan.slew_to_rad = std::clamp(to_deg * kDeg, m.low, m.high);
    plan.input = std::clamp(wish.input, 0.01, 1.0);
    plan.ramp_s = wish.ramp_s;
    if (plan.ramp_s < 0) {
      plan.ramp_s = 0;
      const handset::Plan set = handset::plan(brief, chosen, assessed);
      for (const handset::Assignment& a : set.assignments)
        if (a.name == m.name) plan.ramp_s = a.ramp_s;
    }
  }
  out.slew_rad = plan.slew_to_rad;
  out.input = plan.input;
  out.ramp_s = plan.ramp_s;

  // The chart's edge: the greatest radius at which it carries the load all the way round, on its worst slope.
  std::vector<balance::LiftingMachine> slopes;
  for (const double downhill_deg : lifting.slope_deg > 0 ? lifting.downhill_deg : std::vector<double>{0}) {
    slopes.push_back(machine);
    slopes.back().slope = {lifting.slope_deg * kDeg, downhill_deg * kDeg};
  }
  const double needed_n = balance::weight_n(out.load_g);
  balance::Lifter level(machine, {});
  const auto [near_mm, far_mm] = level.radius_range_mm(posture);
  const auto rated_n = [&](double radius_mm) {
    double least = std::numeric_limits<double>::infinity();
    for (const balance::LiftingMachine& m : slopes) {
      balance::Lifter lifter(m, {});
      const balance::Lifter::Reach reach = lifter.reach(posture, radius_mm);
      if (!reach.reached) return 0.0;
      for (int k = 0; k < (out.slews ? kSlews : 1); ++k) {
        const double slew = out.slews ? plan.slew_to_rad * k / (kSlews - 1) : 0;
        least = std::min(least, lifter.cell(plan.state, posture, slew, radius_mm, reach).rated_n);
      }
    }
    return least;
  };
  double edge_mm = -1;
  for (int k = kRadii; k >= 0 && edge_mm < 0; --k) {
    const double radius_mm = near_mm + (far_mm - near_mm) * k / kRadii;
    if (control.stopped()) {
      out.why_not = "given up";
      return out;
    }
    if (rated_n(radius_mm) >= needed_n) edge_mm = radius_mm;
  }
  if (edge_mm < 0) {
    out.why_not = fmt::format("the load chart carries {} g nowhere on the way of the hook", base::plain(out.load_g, 4));
    return out;
  }
  out.edge_radius_mm = edge_mm;
  out.rated_g = grams(rated_n(edge_mm));
  const balance::Lifter::Reach edge = level.reach(posture, edge_mm);
  const balance::LiftDetail detail = level.detail(plan.state, posture, plan.slew_to_rad, edge_mm);
  out.tipping_g = grams(detail.cell.tipping_n);
  plan.luff_to_rad = edge.luff_rad;

  const double edge_height_mm = hook_of(plan, 0, edge.luff_rad).z_mm;
  double start_rad = edge.luff_rad;
  out.start_radius_mm = edge_mm;
  if (plan.luff >= 0) {
    const Mover& m = plan.movers[static_cast<std::size_t>(plan.luff)];
    if (out.hoists) {
      const double radius_mm = std::clamp(kStartShare * edge_mm, near_mm, edge_mm);
      if (const balance::Lifter::Reach at = level.reach(posture, radius_mm); at.reached) {
        start_rad = std::clamp(at.luff_rad, m.low, m.high);
        out.start_radius_mm = radius_mm;
      }
    } else {
      // Up by the boom until the load is clear, or as far as it goes.
      constexpr int kLooks = 400;
      plan.luff_up_rad = edge.luff_rad;
      for (int k = 1; k <= kLooks; ++k) {
        plan.luff_up_rad = edge.luff_rad + (m.high - edge.luff_rad) * k / kLooks;
        if (hook_of(plan, 0, plan.luff_up_rad).z_mm - edge_height_mm > kClear_mm) break;
      }
      if (hook_of(plan, 0, plan.luff_up_rad).z_mm - edge_height_mm < 5) {
        out.why_not = "without a hoist the boom hardly lifts the hook at the chart's edge";
        return out;
      }
    }
  }
  plan.joint[static_cast<std::size_t>(machine.luff_body)] = start_rad;
  if (machine.slew_body >= 0) plan.joint[static_cast<std::size_t>(machine.slew_body)] = 0;
  const double start_height_mm = hook_of(plan, 0, start_rad).z_mm;
  plan.rope_mm = start_height_mm - kLoad_mm - 1;
  if (plan.rope_mm < 20) {
    out.why_not = "the hook point hangs too low for a rope under it";
    return out;
  }
  double swings_mm = plan.rope_mm;
  if (out.hoists) {
    const Mover& m = plan.movers[static_cast<std::size_t>(plan.hoist)];
    const double drop_mm = std::max(0.0, start_height_mm - edge_height_mm);
    plan.lift_mm = std::min({drop_mm + kClear_mm, m.high - m.low, plan.rope_mm - 20});
    if (plan.lift_mm < drop_mm + 5) {
      out.why_not = fmt::format("the hook's travel of {} mm does not keep the load off the ground while it luffs out",
                                base::plain(m.high - m.low, 3));
      return out;
    }
    swings_mm -= plan.lift_mm;
  }
  out.rope_mm = swings_mm;
  plan.place = hook_of(plan, plan.slew_to_rad, edge.luff_rad);
  plan.place.z_mm = 0;
  out.place = plan.place;
  if (out.slews) {
    const SlewDrive drive = slew_drive(plan);
    if (!(drive.rate_rad_s > 0)) {
      out.why_not = "the slewing drive does not turn it at this input";
      return out;
    }
    reckon(plan, drive);
  }
  out.run = run_lift(plan, wish.step_ms, kFriction, control.stop);
  const LiftRun& run = out.run;
  if (!run.why_not.empty()) return out;

  const double weight_n = balance::weight_n(plan.load_g);
  const double lifted_rad = out.hoists ? edge.luff_rad : plan.luff_up_rad;
  const ClosedSwing closed = out.slews ? closed_swing(plan, swings_mm) : ClosedSwing{};
  if (out.slews) {
    Beside b = figure("start_swing", "greatest swing of the load while it slews, until the input is taken away", "deg",
                      closed.start_rad / kDeg, run.start_swing_rad / kDeg, kSwing_deg);
    if (b.told()) {
      // A light load pulls little at the drive, a slow one swings little: where one of them closes the gap, that was
      // it.
      struct Other {
        double load, input;
        const char* text;
      };
      constexpr Other kOthers[] = {
          {0.1, 1, "the swinging load pulls at the slewing drive, which the closed form leaves out"},
          {1, kSlower, "so wide a swing is not the sum of small ones, as the closed form has it"},
          {0.1, kSlower, "its pull at the drive and its speed together"}};
      b.cause = "not found: neither a tenth of the load nor less input brings the two together";
      for (const Other& other : kOthers) {
        LiftPlan changed = plan;
        changed.load_g *= other.load;
        changed.input *= plan.dead_share + other.input * (1 - plan.dead_share);
        const SlewDrive drive = slew_drive(changed);
        if (!(drive.rate_rad_s > 0)) continue;
        reckon(changed, drive);
        const LiftRun again = run_lift(changed, wish.step_ms, kFriction, control.stop);
        const Beside less = figure("", "", "deg", closed_swing(changed, swings_mm).start_rad / kDeg,
                                   again.start_swing_rad / kDeg, kSwing_deg);
        if (!again.why_not.empty() || less.told()) continue;
        b.cause =
            fmt::format("with {}{}{} it is {} deg against {}: {}", other.load < 1 ? "a tenth of the load" : "",
                        other.load < 1 && other.input < 1 ? " and " : "",
                        other.input < 1 ? fmt::format("{} % of the input", base::plain(100 * changed.input, 2)) : "",
                        base::plain(less.trial, 2), base::plain(less.closed, 2), other.text);
        break;
      }
    }
    out.figures.push_back(std::move(b));
    Beside most = figure("swing", "greatest swing of the load while it slews and after", "deg", closed.most_rad / kDeg,
                         run.slew_swing_rad / kDeg, kSwing_deg);
    most.bound = true;
    if (most.told()) most.cause = "the stop is harder than its ramp and the drive's lag make it";
    out.figures.push_back(std::move(most));
  }
  {
    const double closed_mm = balance::stability_margin_mm(plan.polygon, pressure_of(plan, 0, lifted_rad));
    Beside b =
        figure("standing_margin", "from the load's and the machine's weight to the tipping line, before it slews", "mm",
               closed_mm, run.standing_margin_mm, 1);
    if (b.told()) b.cause = "the give of joints and feet, which the closed form of a rigid machine leaves out";
    out.figures.push_back(std::move(b));
  }
  if (out.slews) {
    double most_nmm = 0;
    for (int k = 0; k < kSlews; ++k) {
      const Vec3 hook = hook_of(plan, plan.slew_to_rad * k / (kSlews - 1), lifted_rad);
      for (std::size_t i = 0; i < plan.polygon.size(); ++i) {
        const Point2 a = plan.polygon[i], b = plan.polygon[(i + 1) % plan.polygon.size()];
        const double length = std::hypot(b.x_mm - a.x_mm, b.y_mm - a.y_mm);
        if (length < 1e-9) continue;
        const double inside =
            ((b.x_mm - a.x_mm) * (hook.y_mm - a.y_mm) - (b.y_mm - a.y_mm) * (hook.x_mm - a.x_mm)) / length;
        most_nmm = std::max(most_nmm, swing_moment_nmm(weight_n, closed.most_rad, -inside, hook.z_mm));
      }
    }
    Beside b = figure("swing_moment", "most that swinging takes of what holds it upright", "N mm", most_nmm,
                      run.swing_moment_nmm, 2);
    b.bound = true;
    if (b.told())
      b.cause = "starting and stopping the machine's own upper parts, and its rocking on joints and feet that give";
    out.figures.push_back(std::move(b));
  }
  if (run.set_down) {
    const double off_mm = std::hypot(run.put_down.x_mm - plan.place.x_mm, run.put_down.y_mm - plan.place.y_mm);
    Beside b =
        figure("set_down", "from where the load should stand to where it was set down", "mm", 0, off_mm, kPlace_mm);
    if (b.told() && !run.samples.empty()) {
      const double turn_mm = (run.samples.back().slew_rad - plan.slew_to_rad) * edge_mm;
      b.cause =
          fmt::format("of that {} mm by stopping the slewing too {}, the rest by what gives under the load",
                      base::plain(std::fabs(turn_mm), 2), (turn_mm > 0) == (plan.slew_to_rad > 0) ? "late" : "early");
    }
    out.figures.push_back(std::move(b));
  }

  if (wish.doubts && !control.stopped()) {
    const auto apart = [](double a, double b, double least) {
      return std::fabs(a - b) > kSame * std::max(std::fabs(a), least);
    };
    const LiftRun finer = run_lift(plan, wish.step_ms / 2, kFriction, control.stop);
    if (apart(finer.most_swing_rad, run.most_swing_rad, 2 * kDeg) ||
        apart(finer.least_margin_mm, run.least_margin_mm, 20))
      out.doubts.push_back(fmt::format("half the time step gives a swing of {} deg and a margin of {} mm",
                                       base::plain(finer.most_swing_rad / kDeg, 3),
                                       base::plain(finer.least_margin_mm, 3)));
    for (const double friction : {0.8 * kFriction, 1.2 * kFriction}) {
      const LiftRun other = run_lift(plan, wish.step_ms, friction, control.stop);
      if (other.tipped != run.tipped || apart(other.least_margin_mm, run.least_margin_mm, 20))
        out.doubts.push_back(fmt::format("a friction of {} under its feet gives a margin of {} mm",
                                         base::plain(friction, 2), base::plain(other.least_margin_mm, 3)));
    }
    LiftPlan lighter = plan;
    lighter.load_g *= 0.8;
    const LiftRun light = run_lift(lighter, wish.step_ms, kFriction, control.stop);
    if (light.tipped || light.least_margin_mm < run.least_margin_mm - 1)
      out.doubts.push_back(fmt::format("not monotone: four fifths of the load leave a margin of {} mm",
                                       base::plain(light.least_margin_mm, 3)));
  }
  return out;
}

}  // namespace trial
