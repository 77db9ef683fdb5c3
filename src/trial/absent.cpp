// Instead of the trials where the engine is missing.
#include "trial/lift_run.h"
#include "trial/live.h"
#include "trial/motion.h"
#include "trial/trial.h"

namespace trial {

bool engine_present() {
  return false;
}

std::string engine_text() {
  return "this program was built without its physics engine: install libmujoco-dev and build it anew";
}

std::string not_tried_because(const DriveRig&) {
  return engine_text();
}

DriveRun drive(const DriveRig&, const balance::GroundLine&, const DriveOptions&) {
  DriveRun out;
  out.why_not = engine_text();
  return out;
}

struct LiveDrive::Inside {};

LiveDrive::LiveDrive(const DriveRig&, const balance::GroundLine&, DriveOptions) : why_not_(engine_text()) {}

LiveDrive::~LiveDrive() = default;

double LiveDrive::time_s() const {
  return 0;
}

bool LiveDrive::advance(double, double) {
  return false;
}

DriveSample LiveDrive::now() const {
  return {};
}

MotionRun move_joint(const MotionRig&, const MotionOptions&) {
  MotionRun out;
  out.why_not = engine_text();
  return out;
}

TippingRun ramp_until_it_tips(const balance::LiftingMachine&, int, int, double, double, const TippingOptions&) {
  TippingRun out;
  out.why_not = engine_text();
  return out;
}

LiftRun run_lift(const LiftPlan&, double, double, const std::atomic<bool>*) {
  LiftRun out;
  out.why_not = engine_text();
  return out;
}

}  // namespace trial
