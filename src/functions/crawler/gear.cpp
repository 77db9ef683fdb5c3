#include "functions/crawler/gear.h"

#include <algorithm>

namespace functions::crawler {

std::shared_ptr<const candidate::RunningGear> gear_of(const Variant& v, const Wants& wants, const brief::Brief& brief,
                                                      int sides) {
  auto out = std::make_shared<candidate::RunningGear>();
  const Outline outline = outline_of(wants, v.radius_mm);
  const double rear_mm = wants.middle_x_mm - wants.contact_mm / 2;
  out->gauge_mm = wants.tread_mm;
  out->steers_by_skidding = wants.turns_on_spot;
  const drive::Machine drive = drive::machine(v.powertrain, brief, brief.parameters.nominal());
  out->pull_n = drive::stall_torque_nmm(drive) / v.radius_mm * sides * v.driven_wheels;
  const auto row = [&](int count, double radius_mm, int driven) {
    for (int i = 0; i < count; ++i)
      out->wheels.push_back({rear_mm + wants.contact_mm * i / (count - 1), radius_mm, radius_mm, i < driven, true, -1});
  };
  if (!wants.tracked()) {
    row(wants.wheels_per_side, v.radius_mm, v.driven_wheels);
    out->width_mm = std::get<stock::Wheel>(brief.catalogue->at(v.roller).data).width_mm;
    return out;
  }
  out->belt = true;
  if (v.link) out->width_mm = std::get<stock::TrackLink>(brief.catalogue->at(*v.link).data).width_mm;
  const bool carry = wants.end_raise_mm <= 0 && wants.end_reach_mm <= 0;
  const candidate::RunningGear::Wheel end{
      rear_mm - outline.end_reach_mm, outline.end_height_mm, outline.end_radius_mm, true, carry, -1};
  out->wheels.push_back(end);
  if (!carry) {
    const double across_mm =
        brief.support.wheel_diameter_mm > 0 ? brief.support.wheel_diameter_mm : brief.system().pitch_mm;
    row(std::max(2, brief.support.wheels_per_side), across_mm / 2, 0);
    for (auto& w : out->wheels) w.driven = true;  // the belt drives them all
  }
  out->wheels.push_back(end);
  out->wheels.back().x_mm = rear_mm + wants.contact_mm + outline.end_reach_mm;
  return out;
}

}  // namespace functions::crawler
