// What an ornamental drive is asked to turn, validated and in core units.
#pragma once

#include <array>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "base/triple.h"
#include "candidate/kind.h"
#include "lattice/space.h"

namespace functions::spin {

/// Sense of rotation of an output against the motor's.
enum class Turns { any, same, opposite };

struct Output {
  std::string name;
  std::array<double, 2> ratio{0, 0};  ///< output speed / motor speed, magnitudes; {0, 0} = not said
  std::array<double, 2> rpm{0, 0};    ///< {0, 0} = not said
  Turns turns = Turns::any;
  base::Triple friction_nmm{2, 5, 12};  ///< torque the turning part and its bearings take
  /// Where it comes out, on the carrier's lattice in hole pitches; empty = anywhere on the room's upper, left or front
  /// face.
  std::optional<std::array<double, 3>> at_p;
  lattice::Axis axis = lattice::Axis::z;  ///< of its shaft, with at_p
  std::string carries;                    ///< class id of the part on the output's axle; empty = nothing from the stock

  [[nodiscard]] bool by_rpm() const { return rpm[1] > 0; }
};

struct Wants : candidate::Wants {
  std::vector<Output> outputs;
  int most_stages = 2;       ///< meshes between motor and any output
  bool shared_stage = true;  ///< outputs may share a first stage
  double sticking = 1.5;     ///< torque to break loose / torque to keep turning
};

[[nodiscard]] std::vector<document::FieldDoc> fields();
[[nodiscard]] std::shared_ptr<const candidate::Wants> read(const brief::Function&, const brief::Brief&,
                                                           document::Diagnostics&);

}  // namespace functions::spin
