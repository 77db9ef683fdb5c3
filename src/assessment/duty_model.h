// The chosen drives on their hubs, and their steady state over the working cycle. Inside of assessment/.
//
// Every motor takes the torque its load asks for; the hub's port voltage follows from the sum (motor::share_supply).
// Over a travel, up and down, the mean torque counts for charge and heat, the greatest for stalling.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "assessment/assessment.h"
#include "candidate/running.h"
#include "motor/supply.h"

namespace assessment {

/// One motor plugged into a hub.
struct Plugged {
  std::size_t function = 0;  ///< index into Brief::functions
  std::size_t drive = 0;     ///< index into the candidate's drives
  std::size_t hub = 0;
  motor::Constants motor;
};

class DutyModel {
 public:
  /// `ports`: which function's motors sit in which hub, function by function in the order of their drives.
  DutyModel(const brief::Brief& brief, const std::vector<Chosen>& chosen, const std::vector<PortUse>& ports);

  enum class Load { mean, peak, heaviest };
  /// Another set of parameters: motors, cells by a factor on their charge, loads by a factor per function.
  void set(const brief::Sample& sample, const std::vector<double>& capacity_factor,
           const std::vector<double>& load_factor);
  /// Moves the motors of a function to a hub.
  void replug(std::size_t function, std::size_t hub);

  struct State {
    std::vector<motor::HubState> hubs;
    std::vector<std::vector<std::size_t>> motors;  ///< per hub: index into plugged()
    [[nodiscard]] bool over_limit() const;
  };
  /// Functions running together at a depth of discharge.
  [[nodiscard]] State run(const std::vector<std::size_t>& functions, double share, Load load,
                          const std::vector<double>& depth) const;
  /// Whether one of the function's motors stands in a state.
  [[nodiscard]] bool stalls(const State& state, std::size_t function) const {
    return stalled_on(state, function).has_value();
  }
  /// The hub on which it does.
  [[nodiscard]] std::optional<std::size_t> stalled_on(const State&, std::size_t function) const;

  [[nodiscard]] const std::vector<Plugged>& plugged() const { return plugged_; }
  [[nodiscard]] const std::vector<motor::Cells>& cells() const { return cells_; }
  [[nodiscard]] std::size_t hubs() const { return cells_.size(); }
  [[nodiscard]] const candidate::Drive& drive_of(const Plugged& p) const {
    return chosen_[p.function].candidate->drives[p.drive];
  }
  /// Functions of a phase that were chosen and have a drive.
  [[nodiscard]] std::vector<std::size_t> running(const brief::DutyPhase&) const;

  /// How long the cycle can be repeated, and why it ends. Time in minutes.
  struct RunTime {
    double minutes = 0;
    std::string ends_by;
  };
  [[nodiscard]] RunTime run_time() const;

 private:
  /// What the motors of some functions ask of each hub, at any depth of discharge.
  struct Loads {
    std::vector<std::vector<motor::PortLoad>> hubs;
    std::vector<std::vector<std::size_t>> motors;  ///< as in State
  };
  [[nodiscard]] Loads loads(const std::vector<std::size_t>& functions, double share, Load load) const;
  [[nodiscard]] std::vector<motor::HubState> shared(const Loads& loads, const std::vector<double>& depth) const;
  [[nodiscard]] double torque_nmm(std::size_t plugged, double share, Load) const;

  const brief::Brief& brief_;
  const std::vector<Chosen>& chosen_;
  std::vector<Plugged> plugged_;
  std::vector<motor::Cells> cells_, nominal_cells_;
  std::vector<double> load_factor_;
  /// Loads by motor and share: a run time asks for the same few thousands of times.
  mutable std::map<std::pair<std::size_t, double>, candidate::MotorLoad> known_;
};

/// The whole of DutyPower; `judged` false when nothing chosen tells its drive.
[[nodiscard]] DutyPower judge_duty(const brief::Brief& brief, const std::vector<Chosen>& chosen,
                                   const std::vector<PortUse>& ports,
                                   const std::vector<std::vector<candidate::Evaluation>>& worlds,
                                   const Options& options);

/// Codes: duty.stall, duty.hub_limit, duty.together, duty.heat, each with remedies that were tried.
[[nodiscard]] std::vector<Finding> duty_findings(const brief::Brief& brief, const std::vector<Chosen>& chosen,
                                                 const Assessment& assessment);

/// More pauses, and one more hub of the stock: each emptied again.
[[nodiscard]] std::vector<Remedy> run_time_remedies(const brief::Brief& brief, const std::vector<Chosen>& chosen,
                                                    const Assessment& assessment, double wanted_min);

}  // namespace assessment
