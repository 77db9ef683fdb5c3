#include "project/parameter_names.h"

namespace project {

const std::array<ParameterName, kParameterNames>& parameter_names() {
  static constexpr std::array<ParameterName, kParameterNames> kNames = {{
      {"spur_efficiency", "", 0.05, 1, "share of the power a spur mesh passes on"},
      {"bevel_efficiency", "", 0.05, 1, "share of the power a bevel mesh passes on"},
      {"crown_efficiency", "", 0.05, 1, "share of the power a crown mesh passes on"},
      {"ring_efficiency", "", 0.05, 1, "share of the power the mesh at a ring gear passes on"},
      {"worm_friction", "", 0, 2, "coefficient of friction in a worm mesh"},
      {"bearing_loss", "", 0, 0.9, "share of the torque lost on each shaft"},
      {"tooth_stress_mpa", "MPa", 0.1, 1000, "allowable bending stress of a tooth"},
      {"bevel_support", "", 0.01, 1, "share of the tooth load a bevel keeps when its shafts are held on one side"},
      {"crown_support", "", 0.01, 1, "share of the tooth load a crown pair keeps when its shafts are held on one side"},
      {"axle_shear_modulus_mpa", "MPa", 1, 1e6, "shear modulus of an axle"},
      {"axle_shear_stress_mpa", "MPa", 0.1, 2000, "allowable shear stress of an axle"},
      {"pin_friction", "", 0, 2, "coefficient of friction in pins and journals"},
      {"ring_friction", "", 0, 2, "coefficient of friction in the bearing of a turntable"},
      {"rolling_resistance", "", 0, 2, "resisting force per weight of wheels and tracks on a hard floor"},
      {"ground_friction", "", 0, 3, "coefficient of friction of tyres and tracks on the floor"},
      {"screw_friction_factor", "", 0.1, 10, "multiplies the thread friction of an actuator"},
      {"motor_torque_factor", "", 0.1, 10, "multiplies the stall torque of a motor"},
      {"motor_speed_factor", "", 0.1, 10, "multiplies the no-load speed of a motor"},
      {"supply_voltage_factor", "", 0.1, 10, "multiplies the open-circuit voltage of a hub"},
      {"mass_factor", "", 0.1, 10, "multiplies masses that are estimates"},
      {"stiffness_factor", "", 0.1, 10, "multiplies the stiffness of beams, axles, pins and their holes"},
      {"play_factor", "", 0, 10, "multiplies the play of pins and axles and the backlash of drives"},
  }};
  return kNames;
}

}  // namespace project
