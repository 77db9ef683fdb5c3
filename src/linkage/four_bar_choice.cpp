// What is told of a search's choices and rejections, and the mechanism of a choice.
#include <array>
#include <cmath>
#include <numbers>

#include "base/text.h"
#include "linkage/synthesis.h"

namespace linkage {
namespace {

double degrees(double rad) {
  return rad * 180 / std::numbers::pi;
}

}  // namespace

std::string_view code_of(Unfit reason) {
  constexpr std::array<std::string_view, 11> kCodes = {"bars_missing",    "does_not_close",  "transmission_angle",
                                                       "turns_back",      "swing_too_small", "swing_too_large",
                                                       "torque_too_high", "tilts",           "rise",
                                                       "drifts",          "off_path"};
  return kCodes[static_cast<std::size_t>(reason)];
}

std::string text(const Misfit& misfit) {
  const auto number = [](double v) { return base::plain(v, 3); };
  const FourBarChoice& c = misfit.nearest;
  const std::string by = number(misfit.shortfall);
  std::string out;
  switch (misfit.reason) {
    case Unfit::stock:
      out = "the stock has no bars for links of " + std::to_string(c.crank_p) + ", " + std::to_string(c.coupler_p) +
            " and " + std::to_string(c.rocker_p) + " pitches";
      break;
    case Unfit::closes:
      out = "does not close on the way, " + by + " mm too far apart";
      break;
    case Unfit::transmission:
      out = "transmission angle falls to " + number(degrees(c.transmission_rad)) + " deg, " + by + " deg too little";
      break;
    case Unfit::turns_back:
      out = "the driven link turns back " + by + " deg inside the travel";
      break;
    case Unfit::swing_small:
      out = "swings " + number(degrees(std::fabs(c.output_swing_rad))) + " deg, " + by + " deg too little";
      break;
    case Unfit::swing_large:
      out = "swings " + number(degrees(std::fabs(c.output_swing_rad))) + " deg, " + by + " deg too much";
      break;
    case Unfit::torque:
      out = "takes " + number(c.torque_nmm) + " N mm at the crank, " + by + " N mm too much";
      break;
    case Unfit::tilt:
      out = "tilts " + number(degrees(c.tilt_rad)) + " deg, " + by + " deg too much";
      break;
    case Unfit::rise:
      out = "rises " + number(c.rise_mm) + " mm, " + by + " mm off what is wanted";
      break;
    case Unfit::drift:
      out = "drifts " + number(c.drift_mm) + " mm sideways, " + by + " mm too much";
      break;
    case Unfit::path:
      out = "passes " + number(c.path_error_mm) + " mm from a wanted place, " + by + " mm too far";
      break;
  }
  return out + " (" + std::to_string(misfit.count) + " of them)";
}

BuiltFourBar build(const FourBarTask& task, const FourBarChoice& choice) {
  BuiltFourBar out;
  const double pitch = task.pitch_mm;
  const double a = choice.crank_p * pitch, b = choice.coupler_p * pitch, c = choice.rocker_p * pitch;
  const Vec2 from = at_hole(choice.crank_pivot, pitch), to = at_hole(choice.rocker_pivot, pitch);
  Mechanism& m = out.mechanism;
  const int crank = m.add_body("crank"), coupler = m.add_body("coupler"), rocker = m.add_body("rocker");
  m.drive(m.add_pin(0, from, crank, {}, "crank pivot"));
  m.add_pin(0, to, rocker, {}, "rocker pivot");
  m.add_pin(crank, {a, 0}, coupler, {}, "crank pin");
  m.add_pin(coupler, {b, 0}, rocker, {c, 0}, "rocker pin");
  const Vec2 pin = {from.x_mm + a * std::cos(choice.start_rad), from.z_mm + a * std::sin(choice.start_rad)};
  const Vec2 end = {to.x_mm + c * std::cos(choice.output_from_rad), to.z_mm + c * std::sin(choice.output_from_rad)};
  const std::vector<BodyPose> drawing = {drawn({}, 0), drawn(from, choice.start_rad),
                                         drawn(pin, std::atan2(end.z_mm - pin.z_mm, end.x_mm - pin.x_mm)),
                                         drawn(to, choice.output_from_rad)};
  out.start = read(Loops(m), drawing);
  return out;
}

}  // namespace linkage
