// What a candidate tells of its drive to the stages behind it: power, handset, simulation.
#pragma once

#include <string>
#include <vector>

#include "candidate/drive.h"
#include "functions/drive/drive.h"
#include "functions/drive/placing.h"

namespace functions::drive {

/// A screw actuator's rod comes out when its input turns counter-clockwise, seen on the input: right-handed thread, nut
/// on the rod (common practice, no source). Told to the builder, who checks it at the first start.
inline constexpr int kRodOutCounterClockwise = 1;

/// Motor, train and counts; the travel is the kind's to add. `copies` drives alike move together. Motors that face each
/// other on one shaft are told in the note.
[[nodiscard]] candidate::Drive drive_of(const Powertrain&, const Machine&, int copies, const Placed* placed);

/// The same torque and rate everywhere: sets at, per_rad and the tables. `low` < `high` makes ends, else endless.
void set_steady(candidate::Drive&, double low, double high, double per_rad, double plus_nmm, double minus_nmm,
                double plus_free_nmm, double minus_free_nmm);

/// Sense of a mirror image's motor, seen on its shaft, against that of the one that is laid out: -1, but 1 with an odd
/// number of worms, because the thread of a mirrored worm stays right-handed.
[[nodiscard]] int image_sense(const gearing::Train&);
/// The same for the builder, where both hang on one channel.
[[nodiscard]] std::string image_note(const gearing::Train&);

/// A drive of one side and its mirror image on a channel of its own, "left" and "right"; see image_sense.
[[nodiscard]] std::vector<candidate::Drive> mirrored(candidate::Drive, const gearing::Train&, const Placed* placed);

/// Sense of the first output about its positive axis when the motor turns counter-clockwise, seen on its shaft. 0
/// without a layout.
[[nodiscard]] int sense_about_axis(const Placed* placed);
/// The same seen on the terminal (an actuator's input, a wheel's hub) that the output shaft enters.
[[nodiscard]] int sense_at_terminal(const Placed* placed);

}  // namespace functions::drive
