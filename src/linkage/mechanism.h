// A planar mechanism as it is drawn: bodies, pins, sliders, screw actuators, gear pairs, and what drives it.
//
// Body 0 is the frame. Every body has a frame of its own (x, z in mm, angles counter-clockwise from x to z, rad);
// points of a joint are given in the frames of its two bodies, so one drawing holds every position. A convenient
// drawing gives all bodies the frame of the paper: then the drawn position is the one with every angle 0. Field words:
// link, pin (revolute joint), slider (prismatic joint), mobility. Mobility by Kutzbach:
//   M = 3 (L - 1) - 2 J1 - J2        L links with the frame, J1 pins and sliders, J2 gear pairs
// Source: Norton, Design of Machinery, ch. 2.
#pragma once

#include <string>
#include <vector>

#include "lattice/lattice.h"
#include "linkage/actuator.h"  // Vec2

namespace linkage {

struct Joint {
  enum class Kind {
    pin,    ///< the two points coincide; value = angle of b minus angle of a
    slider  ///< b's point stays on a line of a, b does not turn in a; value = travel of b's point along the line
  };
  Kind kind = Kind::pin;
  int a = 0, b = 0;     ///< bodies
  Vec2 at_a, at_b;      ///< in the frame of a and of b
  double axis_rad = 0;  ///< slider: direction of travel in the frame of a
  double turn_rad = 0;  ///< slider: angle of b minus angle of a, constant
  // Coulomb friction; see statics.h.
  double friction = 0;      ///< coefficient
  double radius_mm = 0;     ///< pin: radius of the journal
  double guide_mm = 0;      ///< slider: length of the guide, 0 = short against the forces' lever arms (a shoe)
  bool guide_in_a = false;  ///< the short guiding part belongs to a (a bush), not to b (a crosshead)
  std::string name;
};

/// Two toothed bodies on pins of one carrier: turn of pin_b's gear = ratio x turn of pin_a's gear + phase, both seen
/// from the carrier. External mesh: ratio < 0; internal: ratio > 0 and not 1.
struct Gear {
  int pin_a = 0, pin_b = 0;  ///< joints
  double ratio = -1;
  double phase_rad = 0;
  double pressure_angle_rad = 0;
  std::string name;
};

struct Mechanism {
  std::vector<std::string> bodies = {"frame"};
  std::vector<Joint> joints;
  std::vector<Gear> gears;
  std::vector<int> inputs;  ///< joints whose value is given from outside: motor, screw, hand; a lock is one too

  int add_body(std::string name);
  int add_pin(int a, Vec2 at_a, int b, Vec2 at_b, std::string name = "");
  int add_slider(int a, Vec2 at_a, int b, Vec2 at_b, double axis_rad, double turn_rad = 0, std::string name = "");
  int add_gear(int pin_a, int pin_b, double ratio, double phase_rad = 0, double pressure_angle_rad = 0);
  /// Makes a joint an input; returns its place in `inputs`.
  int drive(int joint);

  struct Actuator {
    int barrel = 0, rod = 0;                    ///< bodies
    int base_pin = 0, rod_pin = 0, travel = 0;  ///< joints; the value of `travel` is the pin-to-pin length in mm
    int input = 0;
  };
  /// A driven length between a point of a and a point of b: barrel and rod on a slider, a pin at either end.
  Actuator add_actuator(int a, Vec2 at_a, int b, Vec2 at_b, const std::string& name = "actuator");
};

/// A hole of the lattice in mm.
[[nodiscard]] Vec2 at_hole(lattice::Point2 hole, double pitch_mm);

struct Mobility {
  int links = 0;        ///< with the frame
  int full_joints = 0;  ///< pins and sliders: each takes two degrees of freedom
  int half_joints = 0;  ///< gear pairs: each takes one
  int value = 0;        ///< < 0 overclosed, 0 a structure, n: n inputs make it move in one way
};
[[nodiscard]] Mobility mobility(const Mechanism& mechanism);

/// What makes the drawing unusable: joints to bodies that do not exist, gears without a common carrier, a body that
/// hangs on nothing, inputs that do not match the mobility ... Empty when it can be computed.
[[nodiscard]] std::vector<std::string> problems(const Mechanism& mechanism);

}  // namespace linkage
