#include "functions/drive/rack_drive.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "base/text.h"
#include "functions/drive/running.h"

namespace functions::drive {

namespace {

constexpr int kFullMesh = 2;

int teeth_along(double travel_mm, double module_mm) {
  return static_cast<int>(std::ceil(travel_mm / (std::numbers::pi * module_mm) - 1e-9));
}

}  // namespace

int rack_teeth(double travel_mm, double module_mm) {
  return teeth_along(travel_mm, module_mm) + kFullMesh;
}

double joint_gap_mm(double rack_mm, double pitch_mm) {
  return std::ceil(rack_mm / pitch_mm - 1e-9) * pitch_mm - rack_mm;
}

std::vector<RackPinion> rack_pinions(const brief::Brief& brief, const brief::Function& function, double travel_mm,
                                     int bars, int pinions, candidate::RejectionLog& log) {
  const stock::KitSystem& system = brief.system();
  std::vector<RackPinion> out;
  const std::vector<stock::ClassId> racks = choices(brief, function, stock::Family::rack, "");
  if (racks.empty())
    log.add(function.kind + ".no_rack", 1, "pieces",
            [] { return std::string("the kit system has no rack that this function may use"); });
  const int teeth = rack_teeth(travel_mm, system.module_mm);
  for (const stock::ClassId rack : racks) {
    const auto* data = std::get_if<stock::Rack>(&brief.catalogue->at(rack).data);
    if (data == nullptr || data->teeth <= 0) continue;
    const int in_line = (teeth + data->teeth - 1) / data->teeth;
    const int have = brief.stock->count_of(rack);
    if (have < in_line * bars) {
      log.add(function.kind + ".too_few_racks", in_line * bars - have, "pieces", [&] {
        return fmt::format("{} mm of travel need {} teeth, {} of {}; the stock has {}", base::plain(travel_mm), teeth,
                           in_line * bars, brief.catalogue->at(rack).name, have);
      });
      continue;
    }
    const std::size_t before = out.size();
    int most = 0;
    for (const stock::ClassId pinion : choices(brief, function, stock::Family::gear, "")) {
      const auto* gear = std::get_if<stock::Gear>(&brief.catalogue->at(pinion).data);
      if (gear == nullptr || gear->form != stock::GearForm::spur) continue;
      const int count = brief.stock->count_of(pinion);
      most = std::max(most, count);
      if (count < pinions) continue;
      RackPinion m;
      m.pinion = pinion;
      m.rack = rack;
      m.racks = in_line;
      m.radius_mm = system.module_mm * gear->teeth / 2;
      m.offered_mm = (in_line * data->teeth - (teeth - teeth_along(travel_mm, system.module_mm))) * std::numbers::pi *
                     system.module_mm;
      out.push_back(m);
    }
    if (out.size() == before)
      log.add(function.kind + ".too_few_pinions", pinions - most, "pieces", [&] {
        return fmt::format(
            "{} need{} {} spur gear{} alike as pinion{}; of those that this function may use the stock has {}",
            brief.catalogue->at(rack).name, pinions == 1 ? "s" : "", pinions, pinions == 1 ? "" : "s",
            pinions == 1 ? "" : "s", most == 0 ? "none" : fmt::format("{} at most", most));
      });
  }
  return out;
}

void tell_racks(const RackPinion& mover, const brief::Brief& brief, candidate::Candidate& c) {
  const auto& rack = std::get<stock::Rack>(brief.catalogue->at(mover.rack).data);
  c.figures.push_back({"racks in line", static_cast<double>(mover.racks), ""});
  c.figures.push_back({"travel that the racks offer", mover.offered_mm, "mm"});
  if (mover.racks == 1) return;
  const double gap_mm = joint_gap_mm(rack.length_mm, brief.system().pitch_mm);
  std::string at;
  for (int i = 1; i < mover.racks; ++i) at += (i > 1 ? ", " : "") + base::plain(i * rack.length_mm, 4);
  c.figures.push_back({"joints between racks", static_cast<double>(mover.racks - 1), ""});
  c.notes.push_back(
      fmt::format("{} racks in line: butt them in mesh with a spare gear so that the pitch goes on", mover.racks));
  c.notes.push_back(fmt::format("joints between racks {} mm from the first one's end{}", at,
                                gap_mm < 0.05
                                    ? std::string()
                                    : fmt::format("; each rack started at a hole of its own, they would gape {} mm and "
                                                  "the pinion jump there",
                                                  base::plain(gap_mm, 3))));
}

double line_time_s(const std::vector<double>& torque_nmm, double travel_mm, double per_rad_mm, const SpeedLine& line) {
  double seconds = 0, before = 0;
  for (std::size_t i = 0; i < torque_nmm.size(); ++i) {
    const double speed = line.at(torque_nmm[i]) * per_rad_mm;
    if (!(speed > 0)) return std::numeric_limits<double>::infinity();
    if (i > 0) {
      const double step_mm = travel_mm / static_cast<double>(torque_nmm.size() - 1);
      const double off = (speed - before) / before;
      seconds += step_mm / before * (std::fabs(off) > 1e-9 ? std::log1p(off) / off : 1);
    }
    before = speed;
  }
  return seconds;
}

}  // namespace functions::drive
