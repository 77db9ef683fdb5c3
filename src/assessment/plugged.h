// Which drive the motor in a socket belongs to: the one place where ports become drives.
#pragma once

#include <optional>
#include <vector>

#include "assessment/assessment.h"

namespace assessment {

/// The motor in one socket.
struct SocketMotor {
  std::size_t function = 0;  ///< index into the chosen functions
  std::size_t drive = 0;     ///< index into the candidate's drives
};

/// One entry a port, in the order of `ports`; empty where no chosen candidate tells a drive for that motor.
[[nodiscard]] std::vector<std::optional<SocketMotor>> socket_motors(const std::vector<Chosen>& chosen,
                                                                    const std::vector<PortUse>& ports);

}  // namespace assessment
