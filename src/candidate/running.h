// A candidate's drive at work: motor constants, loads along the travel, the cells behind it. Shared by the stages that
// run drives: assessment, simulation, handset.
#pragma once

#include "brief/brief.h"
#include "candidate/drive.h"
#include "motor/cells.h"
#include "motor/motor.h"
#include "motor/warmth.h"

namespace candidate {

/// Constants of a motor part with one set of parameters.
[[nodiscard]] motor::Constants motor_constants(const stock::Motor&, const brief::Sample&);
[[nodiscard]] motor::Constants motor_constants(const Drive&, const brief::Brief&, const brief::Sample&);
/// Heat figures of the drive's motor, from its mass and size (motor::estimated_thermal).
[[nodiscard]] motor::Thermal motor_thermal(const Drive&, const brief::Brief&);

/// Cells of hub `h` (index into Supply::hubs), nominal.
[[nodiscard]] motor::Cells cells_of(const brief::Brief&, std::size_t h);
[[nodiscard]] const stock::Hub& hub_of(const brief::Brief&, std::size_t h);

/// Output torque at a position, straight between the tables' entries. `share` of the load: 0 = none, 1 = as designed.
[[nodiscard]] double torque_nmm(const Drive&, double at, bool plus, double share);
/// Travel per radian of the output shaft at a position.
[[nodiscard]] double travel_per_rad(const Drive&, double at);
/// Torque asked of each motor for an output torque (of one output): T r n_out / (e n) opposing, T r e_b n_out / n
/// helping.
[[nodiscard]] double motor_torque_nmm(const Drive&, double output_nmm);
/// At each motor over the whole travel, both ways.
struct MotorLoad {
  double mean_nmm = 0;  ///< a helping load counts as none
  double peak_nmm = 0;
};
[[nodiscard]] MotorLoad motor_load(const Drive&, double share);

/// The function counts to the greatest it is ever asked for (a slope, a start) at each motor.
[[nodiscard]] double heaviest_motor_nmm(const Drive&);

/// Load of a drawn world over the usual one, from the currents that the candidate runs at in both. A current carries
/// the motor's own spread as well, which is taken out of it: with n motors I = sum n I0 + f sum n T/k_t, each side with
/// its own constants, so f = (I - sum n I0) / (sum n T/k_t) over the same of the usual world. 1 where nothing runs.
[[nodiscard]] double load_factor(const std::vector<Drive>& drives, const brief::Brief&, const brief::Sample& drawn,
                                 double drawn_ma, double usual_ma);

/// "6 alkaline cells"
[[nodiscard]] std::string text_of(const motor::Cells&);

}  // namespace candidate
