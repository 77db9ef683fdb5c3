// One model of the physics engine with its state. Not for other folders.
//
// Lengths are metres, masses kilograms, forces newtons inside the engine; everything outside is mm, g and N.
// The engine ends the program on an error of its own; here that becomes a text. It counts bad numbers as warnings and
// starts the state anew; here that ends a run.
#pragma once

#include <mujoco/mujoco.h>

#include <cstdint>
#include <memory>
#include <string>

namespace trial {

class Engine {
 public:
  /// From a model description (MJCF). Empty fault(): ready to run. Models are read one at a time, whatever the threads.
  explicit Engine(const std::string& description);
  ~Engine();
  Engine(const Engine&) = delete;
  Engine& operator=(const Engine&) = delete;

  [[nodiscard]] const std::string& fault() const { return fault_; }
  [[nodiscard]] const mjModel& model() const { return *model_; }
  [[nodiscard]] mjData& data() { return *data_; }
  [[nodiscard]] const mjData& data() const { return *data_; }

  /// Coulomb friction of a degree of freedom for the steps to come, N or N m; > 0 keeps its row.
  void set_friction(int dof, double most) { model_->dof_frictionloss[dof] = most > 1e-9 ? most : 1e-9; }

  /// Where a joint's spring rests from now on.
  void set_rest(int qpos, double at) { model_->qpos_spring[qpos] = at; }
  /// Mass of a body for the steps to come, kg; what hangs on it stays.
  void set_mass(int body, double kg) { model_->body_mass[body] = kg; }

  /// Index of a named thing; -1: there is none.
  [[nodiscard]] int id(int type, const std::string& name) const;
  /// Deepest overlap of any contact and largest violation of any equality in the present pose, m; call before the first
  /// step. A constraint that starts violated gives plausible wrong answers.
  [[nodiscard]] double violation();

  /// Positions, velocities, contacts and constraint rows of this instant; false: see fault().
  bool begin_step();
  /// Forces, and on to the next instant; false: see fault().
  bool end_step();
  [[nodiscard]] std::uint64_t steps() const { return steps_; }
  /// FNV-1a over the exact state.
  [[nodiscard]] std::uint64_t state_hash() const;

 private:
  bool healthy();

  mjModel* model_ = nullptr;
  mjData* data_ = nullptr;
  std::string fault_;
  std::uint64_t steps_ = 0;
};

}  // namespace trial
