// The drives of a candidate as power, handset and simulation see them: a motor, a train, and what it moves along its
// travel. Numbers only, so that nobody has to ask which kind made them.
#pragma once

#include <string>
#include <vector>

#include "stock/part.h"

namespace candidate {

/// Equal motors that move one thing together. Torques act at the output shaft of the train, N mm; positive opposes the
/// motion, negative helps it. Travel in radians or millimetres, see `angle`.
struct Drive {
  std::string name;  ///< "left", "front axle"; empty when the candidate has only one
  stock::ClassId motor{};
  int motors = 1;   ///< all told: also those of further wheels, legs or sides that must move with it
  int outputs = 1;  ///< output shafts that they turn, alike; the torques below are of one
  int channel = 0;  ///< drives of a candidate with the same number move together
  bool looks_only = false;

  double ratio = 1;                ///< > 0, output shaft speed / motor speed
  double forward_efficiency = 1;   ///< motor to output, (0, 1]
  double backward_efficiency = 1;  ///< output to motor; <= 0 locks

  /// What the driver uses it for: decides its place on the handset, its ramp and its interlocks.
  enum class Use { other, travel, steer, slew, raise, hoist, stand };
  Use use = Use::other;
  std::string moves;        ///< "hook", "boom", "machine"; for people, like the next two
  std::string plus, minus;  ///< what the two senses are called: "up", "down"
  bool angle = true;        ///< travel in radians, else in millimetres
  int body = -1;            ///< whose joint it turns, index into Brief::bodies; -1 = none
  double start = 0;         ///< where it stands when the machine is switched on
  bool endless = true;      ///< no ends; the tables then have one entry

  std::vector<double> at;                             ///< positions along the travel, rising; one entry when endless
  std::vector<double> per_rad;                        ///< travel per radian of the output shaft, > 0, at each position
  std::vector<double> plus_nmm, minus_nmm;            ///< torque of the load it was designed for, moving that way
  std::vector<double> plus_free_nmm, minus_free_nmm;  ///< the same without its load
  double heaviest_nmm = 0;                            ///< the most it is ever asked for (a slope, a start)
  double inertia_g_mm2 = 0;                           ///< of what it moves, at one output shaft; 0 = negligible

  /// +1: the motor turning counter-clockwise, seen on its shaft, moves it towards plus; -1: towards minus; 0: not
  /// known. From the meshes of the layout.
  int sense = 0;
  std::string sense_note;  ///< what the sense rests on beside the meshes
};

}  // namespace candidate
