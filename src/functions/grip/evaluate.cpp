#include "functions/grip/evaluate.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/text.h"
#include "functions/drive/running.h"
#include "functions/drive/screw_drive.h"
#include "gearing/tooth.h"

namespace functions::grip {

using brief::Parameter;

std::vector<double> crank_torque_nmm(const Problem& problem, const Closer& closer, const brief::Sample& sample) {
  const Wants& w = problem.wants;
  std::vector<double> torque = torque_per_n(closer.drive, closer.pair, problem.brief->system().pitch_mm, w.opening_mm,
                                            sample[Parameter::spur_efficiency]);
  for (double& t : torque) t *= w.force_n;
  return torque;
}

double jaw_gear_limit_nmm(const Closer& closer, const brief::Brief& brief, double tooth_stress_mpa) {
  const auto& gear = std::get<stock::Gear>(brief.catalogue->at(*closer.gear).data);
  const double load_n = gearing::tooth_load_n(tooth_stress_mpa, gear.face_width_mm, brief.system().module_mm,
                                              gearing::lewis_form_factor(gear.teeth));
  return gearing::tooth_torque_nmm(load_n, gear.teeth, brief.system().module_mm);
}

candidate::Evaluation evaluate(const Problem& problem, const Closer& closer, const drive::Powertrain& powertrain,
                               const brief::Sample& sample) {
  const Wants& w = problem.wants;
  const brief::Brief& brief = *problem.brief;
  const drive::Machine machine = drive::machine(powertrain, brief, sample);
  const std::vector<double> torque = crank_torque_nmm(problem, closer, sample);
  const auto peak = std::max_element(torque.begin(), torque.end());
  const drive::State s = drive::state(powertrain, machine, brief.system(), *peak);
  const double at_mm = w.opening_mm[0] + (w.opening_mm[1] - w.opening_mm[0]) *
                                             static_cast<double>(peak - torque.begin()) / (kOpenings - 1);
  candidate::Evaluation e;
  // It runs at its full squeeze only at the object; the current there is what the port must give.
  e.running_current_ma = s.current_ma * problem.sides;
  e.margins.push_back(candidate::at_least("squeeze", w.force_n * s.stall_torque_nmm / *peak, w.force_n, "N",
                                          fmt::format("at an opening of {} mm", base::plain(at_mm, 3))));
  const double speed = drive::speed_line(machine).no_load_rad_s;
  const double swing = std::fabs(closer.drive.open_rad - closer.drive.closed_rad);
  e.margins.push_back(candidate::at_most("time", speed > 0 ? swing / speed : std::numeric_limits<double>::infinity(),
                                         w.time_s, "s", "without an object"));
  if (!powertrain.train.stages.empty())
    e.margins.push_back(drive::ratio_margin("tooth", s.tooth_margin, *peak,
                                            gearing::stage_name(powertrain.train, std::max(0, s.weakest_stage))));
  e.margins.push_back(drive::ratio_margin("axle", s.axle_margin, *peak, "at the full squeeze"));
  if (closer.gear) {
    // One jaw's share goes through the pair, most where the jaw stands straight ahead.
    double moment = 0;
    for (int i = 0; i < kOpenings; ++i) {
      const double opening = w.opening_mm[0] + (w.opening_mm[1] - w.opening_mm[0]) * i / (kOpenings - 1);
      moment = std::max(moment, w.force_n * closer.pair.jaw_mm * std::cos(jaw_angle_rad(closer.pair, opening)));
    }
    e.margins.push_back(candidate::at_least("jaw gear",
                                            jaw_gear_limit_nmm(closer, brief, sample[Parameter::tooth_stress_mpa]),
                                            moment, "N mm", "pair of gears that joins both jaws"));
  }
  if (w.hold) {
    const drive::Lock lock = drive::worm_lock(powertrain.train, machine.meshes.worm_friction);
    e.margins.push_back(
        candidate::at_least("hold", lock.reached, lock.needed, "",
                            lock.reached > 0 ? "friction that the worm needs to lock" : "nothing in the train locks"));
  }
  return e;
}

}  // namespace functions::grip
