// What a crawler is asked to do, validated and in core units.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "candidate/kind.h"
#include "functions/crawler/going.h"

namespace functions::crawler {

/// tracks: a belt of links round end wheels, driven by a sprocket. wheels: rigid rows of equal wheels.
enum class Running { tracks, wheels };

struct Wants : candidate::Wants {
  Running running = Running::tracks;
  double speed_mm_s = 0;  ///< on the flat
  double slope_deg = 10;  ///< to climb straight up
  std::optional<double> step_mm;
  int motors_per_side = 1;    ///< at most
  int most_stages = -1;       ///< meshes between motor and sprocket or wheel
  bool turns_on_spot = true;  ///< steered by driving the sides against each other
  std::optional<double> contact_length_mm;
  std::optional<double> gauge_mm;
  double end_raise_mm = 0;  ///< tracks: end wheels' lowest point above the ground
  double end_reach_mm = 0;  ///< tracks: end wheels' centres beyond the ground contact
  int sprockets_per_side = 2;
  int wheels_per_side = 2;
  std::string sprocket;  ///< class id; empty = any in the stock
  std::string wheel;
  std::string track_link;

  // Filled in by read(): never missing.
  double contact_mm = 0;   ///< contact_length_mm or from the machine's support
  double tread_mm = 0;     ///< gauge_mm or from the machine's support
  double middle_x_mm = 0;  ///< of the ground contact, machine frame
  double slope_rad = 0;

  [[nodiscard]] bool tracked() const { return running == Running::tracks; }
};

[[nodiscard]] std::vector<document::FieldDoc> fields();
[[nodiscard]] std::shared_ptr<const candidate::Wants> read(const brief::Function&, const brief::Brief&,
                                                           document::Diagnostics&);

}  // namespace functions::crawler
