// Where legs, actuators and their drives stand on the chassis.
//
// One drive with its legs is laid out; the other drives are its mirror images. A cross shaft runs from the actuator at
// the leg's plane to the one at the mirrored plane: along x for legs that swing sideways (front and rear), along y for
// legs that swing lengthways (left and right).
#pragma once

#include <memory>
#include <vector>

#include "functions/drive/site.h"
#include "functions/stabiliser/evaluate.h"

namespace functions::stabiliser {

/// Mounts keep this far off the ground at either end of the travel: half an actuator's width.
inline constexpr int kMountHeight_p = 1;

/// Whether a cross shaft can join two of the legs.
[[nodiscard]] bool can_join(const Wants&);
/// Whether another leg swings in the same plane on the other side of the middle.
[[nodiscard]] bool faces_its_image(const Wants&);
/// Length of the axle that joins them: from half-way inside one actuator to half-way inside the other, which is the
/// distance of the legs' planes.
[[nodiscard]] int cross_shaft_p(const Wants&, const Leg&);

/// Boxes that one leg sweeps, beams on either side of its actuator (one beam: on the outer side), on the chassis'
/// lattice.
[[nodiscard]] std::vector<lattice::Box3> leg_boxes(const Wants&, const Leg&);

/// Whether a shaft through a base mount would be struck by the leg.
[[nodiscard]] bool shaft_struck(const Wants&, const Leg&, lattice::Point2 base);

[[nodiscard]] std::shared_ptr<const drive::Site> site_for(const Problem&, const brief::Function&, int on_shaft,
                                                          lattice::Point2 base,
                                                          const std::vector<lattice::Point2>& rods);

}  // namespace functions::stabiliser
