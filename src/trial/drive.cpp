#include "trial/drive.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "balance/mass.h"
#include "trial/driven.h"
#include "trial/live.h"
#include "trial/trial.h"

namespace trial {
namespace {

constexpr double kSpeedUp_s = 0.3;
constexpr double kStuckFor_s = 1.5, kStuck_mm = 2;
constexpr double kSlidBack_mm = 60;

/// Until it is over the course, or what keeps it from that.
DriveRun driven_over(const DriveRig& rig, const balance::GroundLine& ground, const DriveOptions& options) {
  DriveRun out;
  Driven driven(rig, ground, options);
  out.why_not = driven.fault_at_start();
  if (!out.why_not.empty()) return out;
  const double start_mm = driven.start_mm();
  const double end_mm = ground.back().x_mm - extent_of(rig.vehicle).rear_mm + 5;
  const double way_s = (end_mm - start_mm) / rig.speed_mm_s;
  const double most_s = options.most_time_s > 0 ? options.most_time_s : (rig.pull_n > 0 ? 15 : 4) * way_s + 5;
  double next_sample_s = 0, mark_mm = start_mm, mark_s = 0, last_underside_s = -1;
  const auto finish = [&](End end, balance::Stop stop) {
    out.end = end;
    out.stop = stop;
  };
  // What holds it: a drive near its stall is too weak, one that still turns slips.
  const auto friction_or_pull = [&] {
    return rig.pull_n > 0 && driven.speed_mm_s() < 0.1 * rig.speed_mm_s ? balance::Stop::pull : balance::Stop::friction;
  };
  const auto held_by = [&] {
    return last_underside_s > driven.time_s() - kStuckFor_s ? balance::Stop::clearance : friction_or_pull();
  };
  out.end = End::out_of_time;
  while (driven.time_s() < most_s) {
    if (options.stop != nullptr && options.stop->load(std::memory_order_relaxed)) {
      out.why_not = "given up";
      break;
    }
    if (!driven.step(1)) break;
    const double time_s = driven.time_s(), x_mm = driven.x_mm(), pitch_rad = driven.pitch_rad();
    if (time_s > kSettle_s && driven.touch().underside) {
      out.underside = true;
      last_underside_s = time_s;
    }
    out.most_pitch_rad = std::max(out.most_pitch_rad, pitch_rad);
    out.least_pitch_rad = std::min(out.least_pitch_rad, pitch_rad);
    out.most_pull_n = std::max(out.most_pull_n, driven.pull_n());
    out.stopped_at_mm = x_mm + rig.vehicle.centre.x_mm;
    if (options.sample_ms > 0 && time_s >= next_sample_s) {
      out.samples.push_back(driven.sample());
      next_sample_s += options.sample_ms * 1e-3;
    }
    if (x_mm < start_mm - kSlidBack_mm) {
      finish(End::stuck, friction_or_pull());
      break;
    }
    if (std::fabs(pitch_rad) > kTippedOver_rad) {
      finish(End::tipped, balance::Stop::balance);
      break;
    }
    if (x_mm > end_mm) {
      finish(End::passed, balance::Stop::nothing);
      break;
    }
    if (time_s < kSettle_s + kSpeedUp_s) {
      mark_mm = x_mm;
      mark_s = time_s;
    } else if (time_s > mark_s + kStuckFor_s && x_mm > mark_mm + kStuck_mm) {
      mark_mm = x_mm;
      mark_s = time_s;
    } else if (time_s > mark_s + kStuckFor_s) {
      finish(End::stuck, held_by());
      break;
    }
  }
  if (!driven.fault().empty()) {
    out.end = End::unstable;
    out.why_not = driven.fault();
  }
  if (out.end == End::out_of_time) out.stop = held_by();
  if (out.end == End::passed && out.underside) out.stop = balance::Stop::clearance;
  out.time_s = driven.time_s();
  out.steps = driven.engine().steps();
  out.state_hash = driven.engine().state_hash();
  return out;
}

}  // namespace

bool engine_present() {
  return true;
}

std::string engine_text() {
  return fmt::format("MuJoCo {}", mj_versionString());
}

std::string not_tried_because(const DriveRig& rig) {
  const std::string fault = balance::fault_of(rig.vehicle);
  if (!fault.empty()) return fault;
  if (rig.vehicle.belt && !rig.vehicle.rockers.empty())
    return "rocking pairs under a belt have no trial that can be trusted: only the closed form judges them";
  return "";
}

DriveRun drive(const DriveRig& rig, const balance::GroundLine& ground, const DriveOptions& options) {
  DriveRun out;
  out.why_not = not_tried_because(rig);
  return out.why_not.empty() ? driven_over(rig, ground, options) : out;
}

struct LiveDrive::Inside {
  Inside(const DriveRig& rig, const balance::GroundLine& ground, const DriveOptions& options)
      : driven(rig, ground, options),
        least_mm(ground.front().x_mm - options.beyond_mm + 2 * extent_of(rig.vehicle).length_mm()),
        most_mm(ground.back().x_mm + options.beyond_mm - 2 * extent_of(rig.vehicle).length_mm()) {}
  Driven driven;
  double least_mm, most_mm;  ///< where the vehicle's frame may be
};

LiveDrive::LiveDrive(const DriveRig& rig, const balance::GroundLine& ground, DriveOptions options) {
  why_not_ = not_tried_because(rig);
  if (!why_not_.empty()) return;
  if (!(options.beyond_mm > 0)) options.beyond_mm = kLiveBeyond_mm + 3 * extent_of(rig.vehicle).length_mm();
  inside_ = std::make_unique<Inside>(rig, ground, options);
  why_not_ = inside_->driven.fault_at_start();
}

LiveDrive::~LiveDrive() = default;

double LiveDrive::time_s() const {
  return inside_ ? inside_->driven.time_s() : 0;
}

bool LiveDrive::advance(double until_s, double throttle) {
  if (!why_not_.empty()) return false;
  Driven& d = inside_->driven;
  throttle = std::clamp(throttle, -1.0, 1.0);
  while (d.time_s() < until_s && !tipped_) {
    const bool at_end =
        (d.x_mm() >= inside_->most_mm && throttle > 0) || (d.x_mm() <= inside_->least_mm && throttle < 0);
    if (!d.step(at_end ? 0 : throttle)) {
      why_not_ = d.fault();
      return false;
    }
    tipped_ = std::fabs(d.pitch_rad()) > kTippedOver_rad;
  }
  return !tipped_;
}

DriveSample LiveDrive::now() const {
  return inside_ ? inside_->driven.sample() : DriveSample{};
}

}  // namespace trial
