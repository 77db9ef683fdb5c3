// How near to tipping the machine is in one posture.
#pragma once

#include <memory>
#include <vector>

#include "assessment/assessment.h"

namespace assessment {

class PostureStance {
 public:
  /// Bodies stand and weigh as in Assessment::masses; the loads hang where the chosen functions say.
  PostureStance(const brief::Brief& brief, const std::vector<Chosen>& chosen, const std::vector<MassLine>& masses);
  ~PostureStance();
  /// Least tipping angle in degrees over all directions for joint angles of every body, with a share of the loads
  /// (0 = none, 1 = as designed); negative: it falls. NaN when the project names fewer than three contacts or nothing
  /// has a mass.
  [[nodiscard]] double least_deg(const std::vector<double>& angle_rad, double load_share);

 private:
  struct Inside;
  std::unique_ptr<Inside> inside_;
};

}  // namespace assessment
