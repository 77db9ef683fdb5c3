#include "functions/grip/site.h"

#include <algorithm>
#include <cmath>

namespace functions::grip {
namespace {

using lattice::Axis;
using lattice::Box3;

constexpr int kBeam_hp = 2;

/// Hull of what a beam between two moving points passes over, half-pitches from the jaw's pivot.
struct Hull {
  double low_x = 1e9, low_z = 1e9, high_x = -1e9, high_z = -1e9;
  void add(double x, double z) {
    low_x = std::min(low_x, x - kBeam_hp / 2.0);
    high_x = std::max(high_x, x + kBeam_hp / 2.0);
    low_z = std::min(low_z, z - kBeam_hp / 2.0);
    high_z = std::max(high_z, z + kBeam_hp / 2.0);
  }
  [[nodiscard]] Box3 box(const lattice::Point3& at, int from_hp, int to_hp) const {
    const auto down = [](double v) { return static_cast<int>(std::floor(v + 1e-9)); };
    const auto up = [](double v) { return static_cast<int>(std::ceil(v - 1e-9)); };
    return {{at.x_hp + down(low_x), at.y_hp + from_hp, at.z_hp + down(low_z)},
            {at.x_hp + up(high_x), at.y_hp + to_hp, at.z_hp + up(high_z)}};
  }
};

}  // namespace

std::shared_ptr<const drive::Site> site_for(const Problem& problem, const brief::Function& fn, const Closer& closer) {
  const brief::Brief& brief = *problem.brief;
  const Wants& w = problem.wants;
  const JawDrive& d = closer.drive;
  const double pitch_mm = brief.system().pitch_mm;
  auto site = std::make_shared<drive::Site>(drive::site_of(brief, fn, fn.body));
  const drive::BodyLattice lattice = drive::lattice_of(brief, fn.body);
  const lattice::Point3 at = lattice.nearest({w.at_mm[0], w.at_y_mm, w.at_mm[1]}, "the jaw's pivot", site->notes);
  site->room.low.y_hp = std::max(site->room.low.y_hp, at.y_hp + kBeam_hp);

  Hull coupler, jaws;
  const double jaw_hp = 2.0 * w.jaw_p, spread_hp = 2 * closer.pair.half_spread_mm / pitch_mm * 2;
  constexpr int kSteps = 24;
  for (int i = 0; i <= kSteps; ++i) {
    const double crank = d.closed_rad + (d.open_rad - d.closed_rad) * i / kSteps;
    const double rocker = rocker_rad(d, pitch_mm, crank), jaw = rocker + d.quarter * std::acos(0.0);
    coupler.add(d.crank_pivot.x_hp + 2.0 * d.crank_p * std::cos(crank),
                d.crank_pivot.z_hp + 2.0 * d.crank_p * std::sin(crank));
    coupler.add(2.0 * d.rocker_p * std::cos(rocker), 2.0 * d.rocker_p * std::sin(rocker));
    jaws.add(2.0 * d.rocker_p * std::cos(rocker), 2.0 * d.rocker_p * std::sin(rocker));
    jaws.add(jaw_hp * std::cos(jaw), jaw_hp * std::sin(jaw));
    if (closer.pair.both) jaws.add(jaw_hp * std::cos(jaw), -spread_hp - jaw_hp * std::sin(jaw));
  }
  jaws.add(0, 0);
  site->occupied.push_back(coupler.box(at, -kBeam_hp, 0));
  site->occupied.push_back(jaws.box(at, -2 * kBeam_hp, -kBeam_hp));

  routing::Output out;
  out.name = "crank";
  out.places.push_back(drive::shaft_with(Axis::y, {at.x_hp + d.crank_pivot.x_hp, at.z_hp + d.crank_pivot.z_hp}, at.y_hp,
                                         at.y_hp + kBeam_hp, (d.crank_p + 0.5) * pitch_mm, "crank"));
  site->outputs = {std::move(out)};
  return site;
}

}  // namespace functions::grip
