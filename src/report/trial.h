// Trials beside their closed forms: text, JSON, CSV and the strip of one course. Numbers come from trial/.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>

#include "report/layout.h"
#include "report/svg.h"
#include "trial/machine.h"
#include "trial/trial.h"

namespace report {

[[nodiscard]] std::string trial_text(const trial::Report& report, const TextOptions& options);
[[nodiscard]] std::string trial_text(const trial::CourseTrial& course, const TextOptions& options);
[[nodiscard]] nlohmann::ordered_json json_of(const trial::Beside& figure);
[[nodiscard]] nlohmann::ordered_json json_of(const trial::Report& report);
[[nodiscard]] nlohmann::ordered_json json_of(const trial::CourseTrial& course);

/// {belt, gauge_mm, wheels, rockers, underside_mm}: what a picture of the vehicle needs, in its own frame.
[[nodiscard]] nlohmann::ordered_json json_of(const trial::DriveRig& rig);
/// One instant of a drive.
[[nodiscard]] nlohmann::ordered_json json_of(const trial::DriveSample& sample);
/// One instant of a machine in space: the drive's with joints, sticks, hook and load.
[[nodiscard]] nlohmann::ordered_json json_of(const trial::MachineSample& sample);
[[nodiscard]] nlohmann::ordered_json json_of(const balance::GroundLine& line);

/// Time, place, pitch, speed of the drive, pull, contacts; one line a sample, units in the heads.
[[nodiscard]] std::string trial_csv(const trial::CourseTrial& course);
/// The vehicle at the places that matter, as it was driven, over what its contacts use of the friction.
[[nodiscard]] Svg trial_drawing(const trial::CourseTrial& course, double width);

}  // namespace report
