// What every motorised kind shares: a motor class with a train behind it, its operating point, and its parts.
//
// Output = the train's last shaft (or turntable). Torques and currents are those of ONE side; a mirrored pair has two.
// Torque N mm, speed rad/s, current mA. The load is given at the output, friction there included.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "candidate/candidate.h"
#include "candidate/kind.h"
#include "gearing/train.h"
#include "gearing/train_load.h"
#include "gearing/train_search.h"
#include "motor/motor.h"

namespace functions::drive {

struct Powertrain {
  stock::ClassId motor{};
  int motors = 1;        ///< equal motors on the same input shaft, per side
  gearing::Train train;  ///< no stage = the motor drives the output itself
  int joiners = 0;       ///< per side, where its place needs axles joined to longer ones than the stock has
};

/// The powertrain with one set of parameters, ready to be asked about loads. Cheap to copy.
struct Machine {
  motor::Constants motor;
  motor::Feed feed;  ///< of each motor
  int motors = 1;
  double ratio = 1;     ///< |output speed / motor speed|
  double forward = 1;   ///< efficiency motor to output
  double backward = 1;  ///< output to motor; <= 0 locks
  gearing::MeshEfficiencies meshes;
  gearing::ToothLimits teeth;
  double axle_shear_stress_mpa = 0;
};
[[nodiscard]] Machine machine(const Powertrain&, const brief::Brief&, const brief::Sample&);

/// The answer to one load.
struct State {
  double speed_rad_s = 0;       ///< of the output; 0 when stalled
  double stall_torque_nmm = 0;  ///< the most the output gives, port current limit included
  double current_ma = 0;        ///< all motors of the side
  double tooth_margin = 0;      ///< allowable / force of the weakest mesh at this load
  int weakest_stage = -1;
  double axle_margin = 0;         ///< torque an axle stands / torque in the most loaded axle
  double stall_tooth_margin = 0;  ///< weakest mesh when the motor is stalled against a stop
  bool self_locking = false;      ///< a load on the output cannot turn the motor
  double hold_margin = 0;  ///< what the motor's own friction holds with the current off / load; infinite if locking
};
/// `load_nmm` >= 0 opposes the motion.
[[nodiscard]] State state(const Powertrain&, const Machine&, const stock::KitSystem&, double load_nmm);
/// Speed and current only: for sweeps over a travel. A negative load helps the motion.
struct QuickState {
  double speed_rad_s = 0;
  double current_ma = 0;
};
[[nodiscard]] QuickState quick_state(const Machine&, double load_nmm);
[[nodiscard]] double stall_torque_nmm(const Machine&);

/// Speed of the output over an opposing torque: a straight line down to the stall torque, because motor and feed are
/// linear. Asking the drive at every position of every variant would be most of a search.
struct SpeedLine {
  double no_load_rad_s = 0;
  double slope = 0;      ///< rad/s lost per N mm
  double stall_nmm = 0;  ///< port current limit included
  [[nodiscard]] double at(double torque_nmm) const {
    return torque_nmm < stall_nmm ? no_load_rad_s - slope * torque_nmm : 0.0;
  }
};
[[nodiscard]] SpeedLine speed_line(const Machine&);

/// Candidates are compared, and demands counted, by running currents in whole steps, rounded up: a difference below it
/// is far inside the motors' own spread and no choice between candidates; finer steps only multiply candidates that are
/// alike. Evaluations carry the current as it is, which every later figure is worked out from.
inline constexpr double kCurrentStepMa = 20;
[[nodiscard]] double stepped_current_ma(double current_ma);
/// The same of all drives together, when so many alike share `current_ma`.
[[nodiscard]] double stepped_current_ma(double current_ma, int drives);

/// What a judge says of a powertrain with nominal parameters.
struct Judged {
  double worst = 0;       ///< worst margin
  double current_ma = 0;  ///< running current of the side, in whole steps (stepped_current_ma)
  std::string limit;      ///< name of the margin that governs, "force"
  double reached = 0, wanted = 0;
  std::string unit;
};

class Placers;
struct Site;

/// A powertrain at one of the places where a function may have it.
struct Stand {
  std::shared_ptr<const Site> site;
  Judged judged;  ///< there
};

struct Query {
  /// Lower bounds of what any use of the output asks: nothing that falls short of kNearMiss times these can serve.
  double least_torque_nmm = 0;
  double least_speed_rad_s = 0;
  /// Torque the output must be able to give at some other moment, when that is more (a slope, a start): narrows the
  /// ratios that are searched.
  double most_torque_nmm = 0;
  /// Margin that no drive can exceed because something else sets it (the floor's grip, a balance).
  double ceiling = candidate::kMarginCap;
  gearing::TrainQuery train;  ///< rules only; low and high are filled in here, copies from the function's sides
  std::vector<int> motors_per_side{1};
  /// Full judgement. Promise: worst <= min(stall torque / greater of least_torque and most_torque, speed at
  /// least_torque / least_speed, ceiling).
  std::function<Judged(const Powertrain&)> judge;
  /// Puts the stages of a train into the order the kind wants before it is judged; empty: as found.
  std::function<gearing::Train(gearing::Train)> arrange;
  /// With placers, only what can be built at `site` is kept, in the given order of stages or in another one.
  Placers* placers = nullptr;
  std::shared_ptr<const Site> site;
  /// For kinds whose output may be at several places: those worth trying for a powertrain, best first, instead of
  /// `site`.
  std::function<std::vector<Stand>(const Powertrain&)> stands;
};

struct Powertrains {
  std::vector<Powertrain> kept;  ///< non-dominated in worst margin, current, motors and every gear; best first
  std::vector<Judged> judged;    ///< same order
  std::vector<std::shared_ptr<const Site>> sites;  ///< same order: where it stands; null without placers
  std::int64_t examined = 0;
  bool complete = true;
  std::string limit_text;
};

/// Value of a kind's `most_stages` that nobody entered.
inline constexpr int kAsNeeded = -1;
/// Runs a kind's search with trains of up to `most_stages` meshes. kAsNeeded: up to two meshes, then three, then four
/// until a candidate meets every want; Proposal::most_meshes tells how far it went.
[[nodiscard]] candidate::Proposal with_meshes(int most_stages,
                                              const std::function<candidate::Proposal(int most_meshes)>& search);
/// The same for a kind whose wants hold `most_stages`: its propose is this around its search.
template <class Wants, class Search>
[[nodiscard]] candidate::Proposal propose_by_length(const brief::Function& function, const candidate::Wants& wants,
                                                    const brief::Brief& brief, const base::RunControl& control,
                                                    const Search& search) {
  const auto& own = dynamic_cast<const Wants&>(wants);
  return with_meshes(own.most_stages, [&](int most_meshes) {
    Wants limited = own;
    limited.most_stages = most_meshes;
    return search(function, limited, brief, control);
  });
}
/// Every motor in the stock x every train of its gears. What falls below kNearMiss goes to the log with its numbers.
[[nodiscard]] Powertrains powertrains(const brief::Brief&, const brief::Function&, const Query&,
                                      candidate::RejectionLog&, const base::RunControl&);

struct OutputShaft {
  bool own_axle = true;    ///< false: the output is a turntable or the actuator's own shaft
  int extra_length_p = 0;  ///< what sits on the axle beside gears and bearings (a sprocket, a drum)
};
/// Motors, gears, axles, bushes, pins and bearing beams, times the function's sides; ports and channels; currents stay
/// 0.
[[nodiscard]] candidate::Demand demand_of(const Powertrain&, const brief::Brief&, const brief::Function&,
                                          const OutputShaft& = {});
/// Adds a need; equal acceptable sets are summed. An empty set (the kit system has no such part) adds nothing.
void add_need(candidate::Demand&, std::vector<stock::ClassId> accepts, int count, std::string label, std::string role);

/// "motor_m x1|8:24,12:20": stable, for keys.
[[nodiscard]] std::string key_of(const Powertrain&, const stock::Catalogue&);
/// "medium motor, 8:24 · 12:20 (5:1)": for people.
[[nodiscard]] std::string title_of(const Powertrain&, const stock::Catalogue&);
/// Whether a class may be used by a function at all (its must_not_use list).
[[nodiscard]] bool allowed(const brief::Function&, stock::ClassId);
/// Whether the parts of a demand include every class the function must use.
[[nodiscard]] bool uses_all_wanted(const brief::Function&, const candidate::Demand&);

}  // namespace functions::drive
