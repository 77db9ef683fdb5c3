#include "assessment/plugged.h"

namespace assessment {

std::vector<std::optional<SocketMotor>> socket_motors(const std::vector<Chosen>& chosen,
                                                      const std::vector<PortUse>& ports) {
  std::vector<std::optional<SocketMotor>> out;
  std::vector<int> next(chosen.size(), 0);
  for (const PortUse& u : ports) {
    out.emplace_back();
    for (std::size_t f = 0; f < chosen.size(); ++f) {
      if (chosen[f].candidate == nullptr || chosen[f].function->id != u.function) continue;
      int before = u.motor >= 0 ? u.motor : next[f]++;
      const auto& drives = chosen[f].candidate->drives;
      for (std::size_t d = 0; d < drives.size() && !out.back(); ++d) {
        if (before < drives[d].motors) out.back() = SocketMotor{f, d};
        before -= drives[d].motors;
      }
      break;
    }
  }
  return out;
}

}  // namespace assessment
