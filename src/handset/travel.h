// How long a chosen drive takes from end to end, with its spread. Inside of handset/.
#pragma once

#include <array>
#include <optional>
#include <vector>

#include "assessment/assessment.h"
#include "base/triple.h"
#include "motor/cells.h"

namespace handset {

struct TravelTimes {
  base::Triple plus_s, minus_s;  ///< 5 %, nominal, 95 % of the draws; endless: of one turn, or of one metre
};

/// The drives of one function against the clock, each alone on its hub. The draws, as many as the project asks for,
/// take the motors' and the cells' spread, and the load's as the candidate's running current shows it.
class TravelClock {
 public:
  TravelClock(const brief::Brief& brief, const std::vector<assessment::Chosen>& chosen,
              const std::vector<assessment::PortUse>& ports, std::size_t function);

  /// At a share of the load and of the full input with fresh cells. Infinite where it stalls.
  [[nodiscard]] TravelTimes times(std::size_t drive, double load_share, double input) const;
  /// The slower way with usual parts and cells used to `depth`, s; infinite where it stalls.
  [[nodiscard]] double usual_s(std::size_t drive, double load_share, double input, double depth) const;

 private:
  struct World {
    brief::Sample sample;
    double load_factor = 1;
  };
  [[nodiscard]] std::array<double, 2> both_s(std::size_t drive, double load_share, double input, double depth,
                                             const World& world) const;

  const brief::Brief& brief_;
  const candidate::Candidate& candidate_;
  std::vector<World> draws_;
  std::vector<std::optional<std::size_t>> hub_;  ///< per drive: of its first motor
};

}  // namespace handset
