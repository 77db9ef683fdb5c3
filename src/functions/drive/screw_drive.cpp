#include "functions/drive/screw_drive.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numbers>

#include "gearing/worm.h"

#include <fmt/format.h>

namespace functions::drive {

using brief::Parameter;

ActuatorTravel travel_of(const linkage::ActuatorTriangle& triangle, const std::vector<double>& angle_rad) {
  ActuatorTravel g;
  const std::size_t n = angle_rad.size();
  g.least_lever_mm = std::numeric_limits<double>::infinity();
  const double ax = triangle.base_mount.x_mm - triangle.pivot.x_mm, az = triangle.base_mount.z_mm - triangle.pivot.z_mm;
  const double bx = triangle.rod_mount.x_mm - triangle.pivot.x_mm, bz = triangle.rod_mount.z_mm - triangle.pivot.z_mm;
  for (std::size_t i = 0; i < n; ++i) {
    const linkage::TrianglePose pose = linkage::pose(triangle, angle_rad[i]);
    const double c = std::cos(angle_rad[i]), s = std::sin(angle_rad[i]);
    const double rx = bx * c - bz * s, rz = bx * s + bz * c;
    const double turning = ((rx - ax) * rx + (rz - az) * rz) / (pose.length_mm * pose.length_mm);
    g.length_mm.push_back(pose.length_mm);
    g.lever_mm.push_back(std::fabs(pose.lever_mm));
    g.eyes.push_back(std::fabs(turning) + std::fabs(1 - turning));
    if (g.lever_mm.back() < g.least_lever_mm) {
      g.least_lever_mm = g.lever_mm.back();
      g.least_lever_at = i;
    }
  }
  g.lengthens_to_raise = g.length_mm.back() > g.length_mm.front();
  g.stroke_mm = std::fabs(g.length_mm.back() - g.length_mm.front());
  // Exact rod travel of the half steps on either side: the length is known, so the shares sum to the stroke.
  for (std::size_t i = 0; i < n; ++i) {
    const double before = i > 0 ? std::fabs(g.length_mm[i] - g.length_mm[i - 1]) : 0;
    const double after = i + 1 < n ? std::fabs(g.length_mm[i + 1] - g.length_mm[i]) : 0;
    g.share_mm.push_back((before + after) / 2);
  }
  return g;
}

linkage::ActuatorTriangle triangle_of(lattice::Point2 base, lattice::Point2 rod, double pitch_mm) {
  const double half_mm = pitch_mm / 2;
  return {{0, 0}, {base.x_hp * half_mm, base.z_hp * half_mm}, {rod.x_hp * half_mm, rod.z_hp * half_mm}};
}

linkage::Screw screw_in(const stock::Actuator& part, const brief::Sample& sample) {
  // Just below the friction at which the screw jams; reached only by absurd inputs, then the force margin is all but 0.
  const double jam = 0.99 * std::numbers::pi * part.thread_mean_diameter_mm / part.lead_mm;
  return linkage::screw_of(
      part, std::min(part.thread_friction.value.nominal * sample[Parameter::screw_friction_factor], jam));
}

double travel_time_s(const ActuatorTravel& travel, const std::vector<double>& torque_nmm, double lead_mm,
                     const SpeedLine& line) {
  double turns_per_speed = 0;
  for (std::size_t i = 0; i < torque_nmm.size(); ++i) {
    const double speed = line.at(torque_nmm[i]);
    if (!(speed > 0)) return std::numeric_limits<double>::infinity();
    turns_per_speed += travel.share_mm[i] / speed;
  }
  return turns_per_speed * 2 * std::numbers::pi / lead_mm;
}

Lock worm_lock(const gearing::Train& train, double worm_friction) {
  Lock best{0, 1, "train without worm"};
  for (const gearing::Stage& stage : train.stages) {
    if (stage.type != gearing::MeshType::worm) continue;
    const double at = gearing::worm_locking_friction(stage.lead_angle_rad, stage.pressure_angle_rad);
    if (at > 0 && worm_friction / at > best.ratio()) best = {worm_friction, at, "worm in the train"};
  }
  return best;
}

Lock lock_of(const linkage::Screw& screw, const gearing::Train& train, double worm_friction) {
  const Lock thread{screw.friction, std::tan(linkage::lead_angle_rad(screw)), "thread"};
  if (linkage::holds(screw)) return thread;
  const Lock worm = worm_lock(train, worm_friction);
  return worm.ratio() > thread.ratio() ? worm : thread;
}

std::vector<stock::ClassId> usable_actuators(const brief::Brief& brief, const brief::Function& function, int least,
                                             candidate::RejectionLog& log) {
  const stock::Catalogue& catalogue = *brief.catalogue;
  std::vector<stock::ClassId> wanted, all;
  for (const stock::ClassId id : function.must_use)
    if (std::holds_alternative<stock::Actuator>(catalogue.at(id).data)) wanted.push_back(id);
  int most = 0;
  for (const stock::ClassId id : catalogue.of(stock::Family::actuator)) {
    if (!std::holds_alternative<stock::Actuator>(catalogue.at(id).data) || !allowed(function, id)) continue;
    if (!wanted.empty() && wanted != std::vector{id}) continue;
    const int count = brief.stock->count_of(id);
    most = std::max(most, count);
    if (count >= least) all.push_back(id);
  }
  if (all.empty())
    log.add(function.kind + ".no_actuator", least - most, "pieces", [&] {
      return fmt::format("{} screw actuator{} needed, the stock has {} that this function may use", least,
                         least > 1 ? "s are" : " is", most);
    });
  return all;
}

linkage::PlacementResult place_mounts(const linkage::PlacementTask& task, const brief::Function& function,
                                      candidate::Proposal& proposal, candidate::RejectionLog& log,
                                      const base::RunControl& control) {
  control.report("mounts", -1);
  linkage::PlacementResult placed = linkage::place_actuators(task, control);
  proposal.examined = placed.examined;
  if (!placed.complete) {
    proposal.complete = false;
    proposal.limit_text =
        fmt::format("stopped after {} of {} base mounts", placed.base_mounts_done, task.base_mounts.size());
  }
  for (const linkage::Miss& miss : placed.misses)
    log.add(
        fmt::format("{}.{}", function.kind, linkage::code_of(miss.reason)), miss.shortfall,
        std::string(linkage::unit_of(miss.reason)), [&] { return linkage::text(task, miss); }, miss.count);
  return placed;
}

std::vector<SweptRow> swept(lattice::Point2 pivot, lattice::Point2 base, const std::vector<lattice::Point2>& ends,
                            double low_rad, double high_rad, double half_width_hp, int row_hp) {
  constexpr int kSweepAngles = 25;
  std::map<int, std::array<int, 2>> rows;  // by row: least and greatest x
  const auto mark = [&](double x, double z) {
    const int first = static_cast<int>(std::floor((z - half_width_hp) / row_hp + 1e-9));
    const int last = static_cast<int>(std::ceil((z + half_width_hp) / row_hp - 1e-9)) - 1;
    for (int r = first; r <= last; ++r) {
      const int from = static_cast<int>(std::floor(x - half_width_hp + 1e-9));
      const int to = static_cast<int>(std::ceil(x + half_width_hp - 1e-9));
      const auto [it, fresh] = rows.try_emplace(r, std::array{from, to});
      if (!fresh) it->second = {std::min(it->second[0], from), std::max(it->second[1], to)};
    }
  };
  for (const lattice::Point2 end : ends) {
    for (int i = 0; i < kSweepAngles; ++i) {
      const double a = low_rad + (high_rad - low_rad) * i / (kSweepAngles - 1);
      const double ex = end.x_hp * std::cos(a) - end.z_hp * std::sin(a);
      const double ez = end.x_hp * std::sin(a) + end.z_hp * std::cos(a);
      const int steps = std::max(1, static_cast<int>(std::ceil(std::hypot(ex - base.x_hp, ez - base.z_hp))));
      for (int k = 0; k <= steps; ++k) {
        const double t = static_cast<double>(k) / steps;
        mark(pivot.x_hp + base.x_hp + t * (ex - base.x_hp), pivot.z_hp + base.z_hp + t * (ez - base.z_hp));
      }
    }
  }
  std::vector<SweptRow> out;
  for (const auto& [row, x] : rows) out.push_back({x, {row * row_hp, (row + 1) * row_hp}});
  return out;
}

}  // namespace functions::drive
