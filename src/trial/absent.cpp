// Instead of the trials where the engine is missing.
#include "trial/lift_run.h"
#include "trial/live.h"
#include "trial/machine.h"
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

struct LiveMachine::Inside {};

LiveMachine::LiveMachine(const MachineRig&, const balance::GroundLine&, double, const DriveOptions&)
    : why_not_(engine_text()) {}

LiveMachine::~LiveMachine() = default;

double LiveMachine::time_s() const {
  return 0;
}

bool LiveMachine::advance(double, double, const std::vector<double>&) {
  return false;
}

bool LiveMachine::advance_sides(double, double, double, double, const std::vector<double>&) {
  return false;
}

void LiveMachine::set_load_share(double) {}

double LiveMachine::side_mm_s(bool) const {
  return 0;
}

MachineSample LiveMachine::now() const {
  return {};
}

MachineRig machine_rig(const brief::Brief&, const std::vector<assessment::Chosen>&, const assessment::Assessment&,
                       const MachineWish&) {
  MachineRig out;
  out.why_not = engine_text();
  return out;
}

DriveRun drive_across(const DriveRig&, double, const DriveOptions&) {
  DriveRun out;
  out.why_not = engine_text();
  return out;
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
