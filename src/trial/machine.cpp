#include "trial/machine.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "balance/mass.h"
#include "trial/working.h"

namespace trial {
namespace {

using balance::Stop;
using Does = Stick::Does;

constexpr double kTippedOver_rad = 75 * std::numbers::pi / 180;
constexpr double kSettle_s = 0.4, kSpeedUp_s = 1;
constexpr double kSlid_mm = 60;
constexpr double kLeans_rad = 6 * std::numbers::pi / 180;

/// One body with all of the vehicle's weight.
balance::LiftingMachine hull_of(const DriveRig& rig) {
  balance::LiftingMachine m;
  balance::LiftingBody hull;
  hull.weighed.body.mass_g = rig.vehicle.weight_n / balance::kGravity * 1e3;
  hull.weighed.body.centre = {rig.vehicle.centre.x_mm, rig.centre_left_mm, rig.vehicle.centre.z_mm};
  m.bodies = {hull};
  m.hook_body = -1;
  return m;
}

DriveSample sample_of(const Working& w) {
  DriveSample s;
  const Working::Place at = w.place();
  s.time_s = w.time_s();
  s.x_mm = at.x_mm;
  s.y_mm = at.y_mm;
  s.z_mm = at.z_mm;
  s.pitch_rad = at.pitch_rad;
  s.yaw_rad = at.yaw_rad;
  s.roll_rad = at.roll_rad;
  s.rocker_rad = w.rocker_rad();
  s.speed_mm_s = (w.side_mm_s(true) + w.side_mm_s(false)) / 2;
  s.pull_n = w.pull_n();
  s.contacts = w.feet().contacts;
  s.underside = w.feet().underside;
  s.friction_in_use = w.feet().friction;
  return s;
}

/// Axles that a steering drive turns. Candidates do not tell which: two outputs are both ends, one is the end that is
/// not driven, else the front.
std::vector<double> steered_axles(const balance::SideView& v, int outputs) {
  if (v.wheels.empty()) return {};
  const auto [rear, front] = std::minmax_element(
      v.wheels.begin(), v.wheels.end(), [](const auto& a, const auto& b) { return a.axle.x_mm < b.axle.x_mm; });
  if (outputs >= 2) return {rear->axle.x_mm, front->axle.x_mm};
  return {front->driven && !rear->driven ? rear->axle.x_mm : front->axle.x_mm};
}

}  // namespace

struct MachineRig::Inside {
  WorkRig work;
  struct Moved {
    int mover = -1;  ///< -1: the steered wheels
    int body = -1;
  };
  std::vector<Moved> moved;  ///< per stick
  double most_steer_rad = 0, steer_rad_s = 0;
  double payload_g = 0, tare_g = 0;
};

MachineRig machine_rig(const brief::Brief& brief, const std::vector<assessment::Chosen>& chosen,
                       const assessment::Assessment& assessed, const MachineWish& wish) {
  MachineRig out;
  auto inside = std::make_shared<MachineRig::Inside>();
  WorkRig& work = inside->work;
  const assessment::Ground& ground = assessed.ground;
  out.drives = ground.judged;
  if (out.drives) {
    out.drive = rig_of(ground, wish.speed_mm_s);
    out.why_not = not_tried_because(out.drive);
    if (!out.why_not.empty()) return out;
  }
  const assessment::Lifting& lifting = assessed.lifting;
  if (lifting.judged && lifting.machine) {
    work.machine = *lifting.machine;
    // Without a slewing axis its figures count from the luffing pivot; the ground's from the machine's origin.
    if (work.machine.slew_body < 0) {
      for (balance::LiftingBody& b : work.machine.bodies)
        if (b.weighed.body.parent < 0)
          b.weighed.body.origin = b.weighed.body.origin + balance::Vec3{lifting.axis_mm.x_mm, lifting.axis_mm.y_mm, 0};
      for (balance::SupportState& state : work.machine.states)
        for (balance::Support& s : state.supports)
          for (balance::Point2* p : {&s.from, &s.to}) {
            p->x_mm += lifting.axis_mm.x_mm;
            p->y_mm += lifting.axis_mm.y_mm;
          }
    }
    work.movers = movers_of(brief, chosen, out.left_out);
    for (std::size_t b = 0; b < brief.bodies.size(); ++b) {
      const brief::Joint& joint = brief.bodies[b].joint;
      const bool fixed = joint.type == brief::Joint::Type::fixed;
      work.joint.push_back(fixed ? work.machine.postures.front().joint[b]
                                 : std::clamp(0.0, joint.low_rad, joint.high_rad));
      out.bodies.push_back(brief.bodies[b].id);
    }
    for (const Mover& m : work.movers)
      if (m.type == Mover::Type::screw)
        work.joint[static_cast<std::size_t>(m.body)] = std::clamp(m.drive.start, m.low, m.high);
    for (const Mover& m : work.movers) {
      if (m.type != Mover::Type::rope || m.body != work.machine.hook_body) continue;
      std::vector<balance::Body> bodies;
      for (std::size_t b = 0; b < work.machine.bodies.size(); ++b) {
        bodies.push_back(work.machine.bodies[b].weighed.body);
        (bodies[b].joint == balance::Joint::slides ? bodies[b].travel_mm : bodies[b].angle_rad) =
            bodies[b].joint == balance::Joint::fixed ? 0 : work.joint[b];
      }
      const double high_mm = balance::poses(bodies)[static_cast<std::size_t>(m.body)].apply(work.machine.hook).z_mm;
      work.load_floats = wish.over_edge;
      work.rope_mm = wish.over_edge ? m.high - m.low + 60 : 0.6 * high_mm;
      inside->tare_g = work.machine.tare_n / balance::kGravity * 1e3;
      inside->payload_g = lifting.wanted_g;
      work.load_g = inside->payload_g + inside->tare_g;
      if (work.rope_mm < 20) work.load_g = 0;
    }
    if (!(work.load_g > 0)) std::erase_if(work.movers, [](const Mover& m) { return m.type == Mover::Type::rope; });
  } else if (out.drives) {
    work.machine = hull_of(out.drive);
    work.joint = {0};
    work.gyration_mm = extent_of(out.drive.vehicle).length_mm() / 4;
  } else {
    out.why_not = ground.why_not;
    return out;
  }
  for (std::size_t i = 0; i < work.movers.size(); ++i) {
    const Mover& m = work.movers[i];
    const Does does = m.type == Mover::Type::ring    ? Does::slew
                      : m.type == Mover::Type::screw ? Does::luff
                                                     : Does::hoist;
    out.sticks.push_back({does, m.name, m.drive.plus, m.drive.minus});
    inside->moved.push_back({static_cast<int>(i), m.body});
  }
  if (out.drives) {
    Gear gear;
    gear.rig = out.drive;
    for (const assessment::Chosen& c : chosen) {
      if (c.candidate == nullptr || out.drive.vehicle.belt) continue;
      for (const candidate::Drive& d : c.candidate->drives) {
        if (d.use != candidate::Drive::Use::steer || d.at.empty() || !gear.steered_x_mm.empty()) continue;
        gear.steered_x_mm = steered_axles(out.drive.vehicle, d.outputs);
        inside->most_steer_rad = std::min(std::fabs(d.at.front()), std::fabs(d.at.back()));
        MotionRig how;
        add_motors(brief, d, how);
        inside->steer_rad_s = motor::line(how.motor, how.feed).no_load_speed_rad_s * d.ratio * d.per_rad.front();
        out.sticks.push_back({Does::steer, d.name.empty() ? c.function->id : d.name, "left", "right"});
        inside->moved.push_back({});
      }
    }
    double sum = 0;
    int count = 0;
    for (const balance::SideWheel& w : out.drive.vehicle.wheels) {
      const bool steered = std::any_of(gear.steered_x_mm.begin(), gear.steered_x_mm.end(),
                                       [&](double x) { return std::fabs(x - w.axle.x_mm) < 1; });
      if (!steered) sum += w.axle.x_mm, ++count;
    }
    gear.turn_about_x_mm = count > 0 ? sum / count : 0;
    // What turns by its sides' speeds does so with the same stick.
    if (gear.steered_x_mm.empty() && ground.turn_moment_nmm > 0) {
      out.sticks.push_back({Does::steer, "both sides against one another", "left", "right"});
      inside->moved.push_back({});
    }
    work.gear = gear;
  }
  out.inside = std::move(inside);
  return out;
}

struct LiveMachine::Inside {
  Inside(const std::shared_ptr<const MachineRig::Inside>& of, const WorkRig& made, const WorkOptions& options)
      : rig(of), work(made), working(made, options), input(made.movers.size(), 0.0) {}
  std::shared_ptr<const MachineRig::Inside> rig;
  WorkRig work;
  Working working;
  std::vector<double> input;
  double least_mm = 0, most_mm = 0, steer_rad = 0;
  double step_s = 0.002;
};

LiveMachine::LiveMachine(const MachineRig& rig, const balance::GroundLine& ground, double slope_across_rad,
                         const DriveOptions& options) {
  why_not_ = rig.why_not;
  if (!why_not_.empty()) return;
  WorkRig work = rig.inside->work;
  double least_mm = 0, most_mm = 0;
  if (work.gear) {
    const Extent extent = extent_of(rig.drive.vehicle);
    work.gear->ground = ground;
    work.gear->beyond_mm = 3000 + 3 * extent.length_mm();
    work.gear->start_mm = ground.front().x_mm - extent.front_mm - 20;
    least_mm = ground.front().x_mm - work.gear->beyond_mm + 2 * extent.length_mm();
    most_mm = ground.back().x_mm + work.gear->beyond_mm - 2 * extent.length_mm();
  }
  work.machine.slope = {slope_across_rad, -std::numbers::pi / 2};
  inside_ = std::make_unique<Inside>(rig.inside, work, WorkOptions{options.step_ms, options.friction});
  inside_->least_mm = least_mm;
  inside_->most_mm = most_mm;
  inside_->step_s = options.step_ms * 1e-3;
  why_not_ = inside_->working.fault_at_start();
}

LiveMachine::~LiveMachine() = default;

double LiveMachine::time_s() const {
  return inside_ ? inside_->working.time_s() : 0;
}

bool LiveMachine::advance(double until_s, double throttle, const std::vector<double>& stick) {
  if (!why_not_.empty()) return false;
  throttle = std::clamp(throttle, -1.0, 1.0);
  const MachineRig::Inside& rig = *inside_->rig;
  double turn = 0;
  for (std::size_t i = 0; i < rig.moved.size() && i < stick.size(); ++i)
    if (rig.moved[i].mover < 0) turn = std::clamp(stick[i], -1.0, 1.0);
  if (rig.most_steer_rad > 0) return advance_sides(until_s, throttle, throttle, turn, stick);
  // One side ahead of the other; standing, both against one another.
  return advance_sides(until_s, throttle - turn, throttle + turn, 0, stick);
}

bool LiveMachine::advance_sides(double until_s, double left, double right, double steer,
                                const std::vector<double>& stick) {
  if (!why_not_.empty()) return false;
  Working& w = inside_->working;
  const MachineRig::Inside& rig = *inside_->rig;
  for (std::size_t i = 0; i < rig.moved.size(); ++i) {
    if (rig.moved[i].mover < 0) continue;
    const double share = i < stick.size() ? std::clamp(stick[i], -1.0, 1.0) : 0;
    // Taken away at the ends of the travel.
    const auto m = static_cast<std::size_t>(rig.moved[i].mover);
    const Mover& mover = inside_->work.movers[m];
    const bool rope = mover.type == Mover::Type::rope;
    const double most_mm = inside_->work.rope_mm;
    const double at = w.position(m), high = rope ? most_mm - 20 : mover.high, low = rope ? -0.9 * most_mm : mover.low;
    const bool ends = mover.type != Mover::Type::ring || !mover.drive.endless;
    inside_->input[m] = ends && ((share > 0 && at >= high) || (share < 0 && at <= low)) ? 0 : share;
  }
  while (w.time_s() < until_s && !tipped_) {
    if (inside_->work.gear) {
      const double x_mm = w.place().x_mm, sum = left + right;
      const bool at_end = (x_mm >= inside_->most_mm && sum > 0) || (x_mm <= inside_->least_mm && sum < 0);
      const double most = rig.steer_rad_s * inside_->step_s;
      inside_->steer_rad += std::clamp(steer * rig.most_steer_rad - inside_->steer_rad, -most, most);
      w.drive(at_end ? 0 : left, at_end ? 0 : right, inside_->steer_rad);
    }
    if (!w.step(inside_->input)) {
      why_not_ = w.fault();
      return false;
    }
    const Working::Place at = w.place();
    tipped_ = std::fabs(at.pitch_rad) > kTippedOver_rad || std::fabs(at.roll_rad) > kTippedOver_rad;
  }
  return !tipped_;
}

void LiveMachine::set_load_share(double share) {
  if (inside_) inside_->working.set_load_g(inside_->rig->tare_g + share * inside_->rig->payload_g);
}

double LiveMachine::side_mm_s(bool left) const {
  return inside_ ? inside_->working.side_mm_s(left) : 0;
}

MachineSample LiveMachine::now() const {
  MachineSample out;
  if (!inside_) return out;
  const Working& w = inside_->working;
  out.drive = sample_of(w);
  out.joint = inside_->work.joint;
  for (const MachineRig::Inside::Moved& m : inside_->rig->moved) {
    if (m.mover < 0) {
      out.stick.push_back(inside_->steer_rad);
      continue;
    }
    const auto i = static_cast<std::size_t>(m.mover);
    out.stick.push_back(w.position(i));
    if (inside_->work.movers[i].type != Mover::Type::rope) out.joint[static_cast<std::size_t>(m.body)] = w.position(i);
  }
  out.steer_rad = inside_->steer_rad;
  out.hangs = inside_->work.load_g > 0;
  if (out.hangs) {
    out.hook = w.hook();
    out.load = w.load();
  }
  return out;
}

DriveRun drive_across(const DriveRig& rig, double slope_rad, const DriveOptions& options) {
  DriveRun out;
  out.why_not = not_tried_because(rig);
  if (!out.why_not.empty()) return out;
  const Extent extent = extent_of(rig.vehicle);
  WorkRig work;
  work.machine = hull_of(rig);
  work.machine.slope = {slope_rad, -std::numbers::pi / 2};
  work.joint = {0};
  work.gyration_mm = extent.length_mm() / 4;
  Gear gear;
  gear.rig = rig;
  work.gear = gear;
  Working w(work, {options.step_ms, options.friction});
  out.why_not = w.fault_at_start();
  if (!out.why_not.empty()) return out;
  const double end_mm = 2 * extent.length_mm();
  const double most_s = options.most_time_s > 0 ? options.most_time_s : 4 * end_mm / rig.speed_mm_s + 6;
  double next_sample_s = 0;
  out.end = End::out_of_time;
  out.stop = Stop::pull;
  while (w.time_s() < most_s) {
    if (options.stop != nullptr && options.stop->load(std::memory_order_relaxed)) {
      out.why_not = "given up";
      break;
    }
    const double share = std::clamp((w.time_s() - kSettle_s) / kSpeedUp_s, 0.0, 1.0);
    w.drive(share, share, 0);
    if (!w.step({})) break;
    const Working::Place at = w.place();
    out.most_pitch_rad = std::max(out.most_pitch_rad, at.pitch_rad);
    out.least_pitch_rad = std::min(out.least_pitch_rad, at.pitch_rad);
    out.most_roll_rad = std::max(out.most_roll_rad, std::fabs(at.roll_rad));
    out.drift_mm = at.y_mm;
    out.most_pull_n = std::max(out.most_pull_n, w.pull_n());
    out.stopped_at_mm = at.x_mm + rig.vehicle.centre.x_mm;
    if (options.sample_ms > 0 && w.time_s() >= next_sample_s) {
      out.samples.push_back(sample_of(w));
      next_sample_s += options.sample_ms * 1e-3;
    }
    if (std::fabs(at.roll_rad) > kLeans_rad) {
      out.end = End::tipped;
      out.stop = Stop::balance;
      break;
    }
    if (std::fabs(at.y_mm) > kSlid_mm) {
      out.end = End::stuck;
      out.stop = Stop::friction;
      break;
    }
    if (at.x_mm > end_mm) {
      out.end = End::passed;
      out.stop = Stop::nothing;
      break;
    }
  }
  if (!w.fault().empty()) {
    out.end = End::unstable;
    out.why_not = w.fault();
  }
  out.time_s = w.time_s();
  out.steps = w.engine().steps();
  out.state_hash = w.engine().state_hash();
  return out;
}

}  // namespace trial
