// What driven wheels are asked to do, validated and in core units.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "candidate/kind.h"
#include "functions/wheels/undercarriage.h"

namespace functions::wheels {

enum class End { rear, front };
/// How a motor's torque gets to the two wheels of an axle.
enum class Split { any, differential, solid_axle };

struct Wants : candidate::Wants {
  double speed_mm_s = 0;
  double slope_deg = 10;
  std::optional<double> step_mm;
  std::optional<double> curve_radius_mm;
  int axles = 2;
  int driven_axles = 1;
  End driven_from = End::rear;  ///< the driven axles are neighbours, counted from this end
  Split split = Split::any;     ///< one side; with two sides every driven wheel has a drive of its own
  Frame frame = Frame::fixed;
  std::optional<double> wheelbase_mm;  ///< first to last axle
  std::optional<double> track_mm;      ///< between the middles of left and right tyres
  std::string wheel;                   ///< class id; empty = any in the stock
  int most_stages = -1;

  // Filled in by read().
  double base_mm = 0;
  double tread_mm = 0;
  double middle_x_mm = 0;  ///< of the wheelbase, machine frame
  double slope_rad = 0;
};

/// Axles spread evenly over the wheelbase; which of them are driven.
[[nodiscard]] Undercarriage undercarriage_of(const Wants&, double radius_mm);

[[nodiscard]] std::vector<document::FieldDoc> fields();
[[nodiscard]] std::shared_ptr<const candidate::Wants> read(const brief::Function&, const brief::Brief&,
                                                           document::Diagnostics&);

}  // namespace functions::wheels
