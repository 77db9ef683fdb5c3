#include "functions/drive/told_drive.h"

#include <algorithm>

#include "routing/sense.h"

namespace functions::drive {

candidate::Drive drive_of(const Powertrain& p, const Machine& m, int copies, const Placed* placed) {
  candidate::Drive out;
  out.motor = p.motor;
  out.motors = p.motors * copies;
  out.outputs = copies;
  out.ratio = m.ratio;
  out.forward_efficiency = m.forward;
  out.backward_efficiency = m.backward;
  if (placed == nullptr) return out;
  const auto& motors = placed->problem->inputs.at(static_cast<std::size_t>(placed->layout->input)).motors;
  if (motors.size() > 1 && motors.front().direction != motors.back().direction)
    out.sense_note = "its motors face each other on one shaft, so the second one is set the other way; ";
  return out;
}

void set_steady(candidate::Drive& d, double low, double high, double per_rad, double plus_nmm, double minus_nmm,
                double plus_free_nmm, double minus_free_nmm) {
  d.endless = !(low < high);
  d.at = d.endless ? std::vector<double>{0} : std::vector<double>{low, high};
  const std::size_t n = d.at.size();
  d.per_rad.assign(n, per_rad);
  d.plus_nmm.assign(n, plus_nmm);
  d.minus_nmm.assign(n, minus_nmm);
  d.plus_free_nmm.assign(n, plus_free_nmm);
  d.minus_free_nmm.assign(n, minus_free_nmm);
}

int image_sense(const gearing::Train& train) {
  const auto worms = std::count_if(train.stages.begin(), train.stages.end(),
                                   [](const gearing::Stage& s) { return s.type == gearing::MeshType::worm; });
  return worms % 2 == 1 ? 1 : -1;
}

std::string image_note(const gearing::Train& train) {
  return image_sense(train) < 0
             ? "the motor of the other side faces the other way and is set the other way too"
             : "the motor of the other side is set the same way, because its worm has the same thread";
}

std::vector<candidate::Drive> mirrored(candidate::Drive left, const gearing::Train& train, const Placed* placed) {
  candidate::Drive right = left;
  left.name = "left";
  right.name = "right";
  right.channel = 1;
  const bool laid_out_right =
      placed != nullptr &&
      placed->problem->inputs[static_cast<std::size_t>(placed->layout->input)].motors.front().face.y_hp < 0;
  (laid_out_right ? left : right).sense *= image_sense(train);
  return {std::move(left), std::move(right)};
}

int sense_about_axis(const Placed* placed) {
  if (placed == nullptr) return 0;
  const std::vector<int> senses = routing::output_senses(*placed->problem, *placed->layout);
  const auto& inputs = placed->problem->inputs;
  if (senses.empty() || inputs.empty()) return 0;
  const auto input = static_cast<std::size_t>(placed->layout->input);
  if (input >= inputs.size() || inputs[input].motors.empty()) return 0;
  // Looking at the shaft's end against its direction, counter-clockwise is positive about that direction.
  return senses.front() * inputs[input].motors.front().direction;
}

int sense_at_terminal(const Placed* placed) {
  const int about = sense_about_axis(placed);
  if (about == 0 || placed->layout->place.empty() || placed->layout->place.front() < 0) return 0;
  const routing::Place& place =
      placed->problem->outputs.front().places.at(static_cast<std::size_t>(placed->layout->place.front()));
  return place.terminal ? about * place.terminal->direction : 0;
}

}  // namespace functions::drive
