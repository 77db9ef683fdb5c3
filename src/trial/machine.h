// The whole machine in space: both sides of what it drives on, its bodies on their joints, a load on its rope; under a
// driver's hand, along a slope across, or through a handset script.
//
// Unlike drive() it turns, leans and tips sideways. Every driven wheel has its share of the pull for itself; a belt is
// the outline under its wheels, one on either side. Steered wheels stand square to the line to the point that they roll
// about. How hard a belt turns is the engine's few contacts' word, not a belt's.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "trial/trial.h"

namespace trial {

/// What a stick can move besides driving along.
struct Stick {
  enum class Does { steer, slew, luff, hoist };
  Does does = Does::steer;
  std::string name;         ///< of the drive, "boom_lift"
  std::string plus, minus;  ///< "up", "down"
};

/// A machine made ready, and what moves it.
struct MachineRig {
  std::string why_not;
  bool drives = false;  ///< it drives along; else it stands on its supports
  DriveRig drive;
  std::vector<Stick> sticks;
  std::vector<std::string> left_out;
  std::vector<std::string> bodies;  ///< ids, in the order of MachineSample::joint
  struct Inside;
  std::shared_ptr<const Inside> inside;
};
/// The assessed machine with every drive that the engine can move; loads hang where a hoist has one.
struct MachineWish {
  double speed_mm_s = 0;  ///< without load; 0 = the usual of DriveRig
  bool over_edge =
      false;  ///< the load hangs as over a quay's edge: it meets no ground, the rope takes the whole travel
};
[[nodiscard]] MachineRig machine_rig(const brief::Brief& brief, const std::vector<assessment::Chosen>& chosen,
                                     const assessment::Assessment& assessed, const MachineWish& wish);

struct MachineSample {
  DriveSample drive;
  std::vector<double> joint;  ///< of every body, rad
  std::vector<double> stick;  ///< what every stick moves: rad, of the hook mm up from where it hung
  double steer_rad = 0;
  bool hangs = false;  ///< there is a load
  balance::Vec3 hook, load;
};

/// Driven by hand: see live.h.
class LiveMachine {
 public:
  LiveMachine(const MachineRig& rig, const balance::GroundLine& ground, double slope_across_rad,
              const DriveOptions& options);
  ~LiveMachine();
  LiveMachine(const LiveMachine&) = delete;
  LiveMachine& operator=(const LiveMachine&) = delete;

  [[nodiscard]] const std::string& why_not() const { return why_not_; }
  /// On to this time; `throttle` as LiveDrive's, one share for each of the rig's sticks, -1 to 1. False: it ended.
  bool advance(double until_s, double throttle, const std::vector<double>& stick);
  /// Likewise with a share for either side and for the steered wheels' angle.
  bool advance_sides(double until_s, double left, double right, double steer, const std::vector<double>& stick);
  void set_load_share(double share);
  [[nodiscard]] double side_mm_s(bool left) const;
  [[nodiscard]] double time_s() const;
  [[nodiscard]] MachineSample now() const;
  [[nodiscard]] bool tipped() const { return tipped_; }

 private:
  struct Inside;
  std::unique_ptr<Inside> inside_;
  std::string why_not_;
  bool tipped_ = false;
};

/// A vehicle driven along ground that falls to its right, for two of its lengths.
[[nodiscard]] DriveRun drive_across(const DriveRig& rig, double slope_rad, const DriveOptions& options);
/// Its statics: the smaller of  atan(way from the centre to the right contacts / height)  and of the angle at which
/// weight across and rolling resistance along use all of the friction, tan^2 = mu^2 - c^2 (friction circle; M. G.
/// Bekker, Theory of Land Locomotion, from memory).
struct AcrossClosed {
  double tips_rad = 0, slides_rad = 0;
};
[[nodiscard]] AcrossClosed across_closed(const DriveRig& rig, double friction);

}  // namespace trial
