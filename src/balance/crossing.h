// Crossing an obstacle slowly, contact by contact: where the vehicle stands, what friction it needs, how much room is
// left under it, and whether it keeps its balance.
//
// The centre of gravity is led forward in small steps. At each, the vehicle settles: it turns towards the contact that
// holds it up until one ahead of the centre and one behind hold it together (the nearest lowest place of the centre, on
// the path it came); rockers settle the same way about their pins. Where contacts change, the place is halved down,
// since the worst friction is needed just as a wheel meets an edge. Friction: the least coefficient for which contact
// forces within their cones balance the weight, and each free rocker about its pin, found by linear feasibility;
// undriven wheels only hold back by their rolling resistance. Pull: what all driven contacts push forward together,
// with their own rolling resistance, is at most what the motors give at the ground (the torque at the wheels over the
// radius). With one drive for all how it is shared out among the wheels is left free, as gears or a belt share it; with
// motors of its own no wheel pushes more than its own give, however little the others need. Rigid bodies, no momentum,
// no lateral tilt. A belt's torque is taken by the chassis.
#pragma once

#include <functional>
#include <limits>
#include <span>
#include <vector>

#include "balance/side_view.h"

namespace balance {

struct Contact {
  int wheel = -1;     ///< the wheel, or the rear wheel of a belt's span
  bool belt = false;  ///< the span from that wheel to the next
  SidePoint at;
  double normal_x = 0, normal_z = 1;  ///< unit, from the ground into the vehicle
};

struct Station {
  double centre_x_mm = 0, centre_z_mm = 0;
  double pitch_rad = 0;            ///< nose up
  std::vector<double> rocker_rad;  ///< each rocker's own pitch
  std::vector<Contact> contacts;   ///< that hold it here
  double clearance_mm = 0;         ///< least height of the underside over the ground; negative: it would sit on it
  double needed_friction = 0;      ///< infinite: no friction suffices. Without `each_station`: of all stations so far
  /// The same with no more pull than the motors give; infinite: their pull does not suffice whatever the friction.
  double friction_with_pull = 0;
};

enum class Stop { nothing, friction, balance, clearance, pull };
[[nodiscard]] const char* name_of(Stop stop);

struct Crossing {
  std::vector<Station> stations;  ///< up to where the balance is lost
  bool keeps_balance = true;      ///< false: it turns past 60 deg at the last station's next step
  double needed_friction = 0;     ///< largest of all stations
  double friction_at_mm = 0;      ///< centre's x there
  /// Largest of all stations, each with `pull_friction` or what it needs if more. With motors of their own: what all
  /// must be able to give so that the part of the wheel that needs most suffices.
  double needed_pull_n = 0;
  double pull_at_mm = 0;  ///< centre's x there
  double least_clearance_mm = 0, clearance_at_mm = 0;
  double most_pitch_rad = 0, least_pitch_rad = 0;
  double largest_drop_rad = 0;  ///< sudden turn where a contact is lost; it then lands hard

  /// What ends it with this friction; the first on the way counts.
  [[nodiscard]] Stop stopped_by(double friction) const;
  [[nodiscard]] double stopped_at_mm(double friction) const;
};
struct CrossingOptions {
  double step_mm = 2;          ///< of the centre
  double most_friction = 2.5;  ///< more counts as none suffices
  bool each_station = true;    ///< false: only the largest friction so far is worked out, which is much quicker
  double pull_n = std::numeric_limits<double>::infinity();  ///< of all motors at the ground; infinite: not looked at
  /// Friction at which the needed pull is told: the more grip, the less pull, since other wheels can help.
  double pull_friction = 2.5;
  /// Without `each_station` the walk ends where more than this is needed, or where the underside touches.
  double enough_friction = std::numeric_limits<double>::infinity();
};
/// KW_CHECK: fault_of(vehicle) is empty. From before the ground's first point to behind its last.
[[nodiscard]] Crossing cross(const SideView& vehicle, const GroundLine& ground, const CrossingOptions& options = {});

/// Largest obstacle of a growing family for each friction: every smaller one of the family that was tried passes too.
struct Largest {
  double friction = 0;
  double size_mm = 0;         ///< passed
  double next_mm = 0;         ///< the smallest that failed; equal to the family's end when none did
  Stop stop = Stop::nothing;  ///< what ends the next
};
struct Family {
  std::function<GroundLine(double size_mm)> ground = step_up;
  double most_mm = 0;
  int tried = 24;    ///< equal steps to `most_mm`, since passing need not be monotone
  int halvings = 6;  ///< between the last that passed and the first that failed
};
[[nodiscard]] std::vector<Largest> largest_passed(const SideView& vehicle, const Family& family,
                                                  std::span<const double> frictions,
                                                  const CrossingOptions& options = {});

}  // namespace balance
