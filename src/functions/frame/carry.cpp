#include "functions/frame/carry.h"

#include <algorithm>
#include <cmath>

#include "base/check.h"
#include "structure/frame.h"
#include "structure/kit_parts.h"

namespace functions::frame {
namespace {

using structure::Frame;
using structure::FrameMember;
using structure::FrameModel;
using structure::FrameState;
using structure::Vec3;

constexpr double kGravity_m_s2 = 9.81;

/// Where the parts of the model stand in its lists.
struct Model {
  Frame frame;
  int load_node = -1;
  std::vector<std::size_t> housing, beams;  ///< members
  double beam_height_mm = 0, beam_thickness_mm = 0;
};

Model model_of(const Wants& w, const stock::KitSystem& system, int beams, structure::Level level) {
  Model m;
  Frame& f = m.frame;
  const std::vector<int> outer = structure::add_body(f, w.shape, w.holes, {}, level);
  for (std::size_t i = 0; i < f.members.size(); ++i) m.housing.push_back(i);
  // What is pinned to either half is far stiffer than the body: a bar ten times as wide as it.
  const double side_mm = 10 * std::max({w.shape.height_mm, w.shape.width_mm, std::fabs(w.load_at_mm[0])});
  const structure::BarSection plate = structure::bar_section({structure::Form::rectangle, side_mm, side_mm});
  const structure::Material stiff{2300, 850};
  f.nodes.push_back({"load", {w.load_at_mm[0], w.load_at_mm[1], w.load_at_mm[2]}, {}});
  m.load_node = static_cast<int>(f.nodes.size()) - 1;
  for (std::size_t i = 0; i < w.holes.size(); ++i) {
    if (w.holes[i].at_mm[0] <= 0) {
      f.nodes[static_cast<std::size_t>(outer[i])].held = structure::kFixed;
      continue;
    }
    const Vec3 hole = w.holes[i].at_mm;
    const Vec3 way{w.load_at_mm[0] - hole[0], w.load_at_mm[1] - hole[1], w.load_at_mm[2] - hole[2]};
    if (std::hypot(way[0], way[1], way[2]) < 1e-6) {
      // The load stands in the hole: a stub to it has no length.
      f.joints.push_back({"load", outer[i], m.load_node, {0, 1, 0}, {1e9, 1e9, 1e9, 1e12, 1e12, 1e12}});
      continue;
    }
    FrameMember bar{"held to it", outer[i], m.load_node, plate, stiff, 0};
    // Any vector that is not along the bar.
    const bool along_z = std::fabs(way[2]) > 0.9 * std::hypot(way[0], way[1], way[2]);
    bar.up = along_z ? Vec3{1, 0.3, 0} : Vec3{0, 0, 1};
    f.members.push_back(bar);
  }
  if (beams == 0) return m;
  const structure::BoomParts parts = structure::kit_parts(system, structure::full_beam_thickness_p(system), {}, level);
  m.beam_height_mm = structure::kit_figures(system).beam_height_mm;
  m.beam_thickness_mm = parts.beam_thickness_mm;
  const double radial = parts.bedding_mpa * parts.beam_thickness_mm;
  const double tilt = radial * parts.beam_thickness_mm * parts.beam_thickness_mm / 12;
  for (const structure::BeamRow& row : structure::beam_rows(w.holes, system.pitch_mm)) {
    const Vec3 pin = w.holes[row.holes.front()].axis;
    for (int copy = 0; copy < beams; ++copy) {
      int last = -1;
      for (const std::size_t h : row.holes) {
        f.nodes.push_back({"beam", w.holes[h].at_mm, {}});
        const int node = static_cast<int>(f.nodes.size()) - 1;
        f.joints.push_back({"beam pin", outer[h], node, pin, {radial, radial, radial, 0, tilt, tilt}});
        if (last >= 0) {
          m.beams.push_back(f.members.size());
          FrameMember beam{"beam", last, node, parts.beam, parts.beam_material, 0};
          // Its height is square to its pins.
          if (std::fabs(pin[2]) > 0.5) beam.up = {0, 1, 0};
          f.members.push_back(beam);
        }
        last = node;
      }
    }
  }
  return m;
}

/// Whether the frame lies on both faces that the pin's way leads to, in its half: then it cannot slip off.
bool clasped(const std::vector<structure::FixingHole>& holes, const structure::FixingHole& hole) {
  const auto side = [](const structure::FixingHole& h) {
    return h.axis[0] * h.at_mm[0] + h.axis[1] * h.at_mm[1] + h.axis[2] * h.at_mm[2];
  };
  return std::any_of(holes.begin(), holes.end(), [&](const structure::FixingHole& h) {
    return h.axis == hole.axis && (h.at_mm[0] > 0) == (hole.at_mm[0] > 0) && side(h) * side(hole) < 0;
  });
}

/// Greatest stress of bending about both axes and stretch at a member's ends.
double stress_mpa(const FrameMember& member, const std::array<double, 12>& ends, double height_mm, double width_mm) {
  double most = 0;
  for (const std::size_t end : {std::size_t{0}, std::size_t{6}}) {
    most = std::max(most, std::fabs(ends[end]) / member.section.area_mm2 +
                              std::fabs(ends[end + 4]) * height_mm / 2 / member.section.second_y_mm4 +
                              std::fabs(ends[end + 5]) * width_mm / 2 / member.section.second_z_mm4);
  }
  return most;
}

}  // namespace

Carried carry(const Wants& w, const stock::KitSystem& system, int beams, structure::Level level) {
  const Model m = model_of(w, system, beams, level);
  const FrameModel model(m.frame);
  KW_CHECK(!model.mechanism(), "holes that were checked hold the body");
  // Down in the body's own axes.
  const std::size_t down = w.upright ? 0 : 2;
  structure::Loads loads;
  structure::NodeLoad load{m.load_node, {}};
  load.load[down] = -w.load_g / 1000 * kGravity_m_s2;
  load.load[1] = w.side_n;
  loads.nodes = {load};
  loads.gravity_m_s2[down] = -kGravity_m_s2;
  const FrameState state = model.solve(loads);
  const structure::Six& at = state.displacement[static_cast<std::size_t>(m.load_node)];
  Carried out;
  out.sag_mm = std::fabs(at[down]);
  out.sway_mm = std::fabs(at[1]);
  out.roll_rad = std::fabs(at[3]);
  // Pins that carry the body, and those of the beams on the same holes, sum as seen by the hole: the body's own pin is
  // looked at, which is cut between body and frame.
  for (std::size_t j = 0; j < m.frame.joints.size(); ++j) {
    if (m.frame.joints[j].name == "load") continue;
    const structure::Six& q = state.joint_force[j];
    out.pin_n = std::max(out.pin_n, std::hypot(q[0], q[1], q[2]));
    // The body's own pins come first, one a hole. Pressed on it would be fine; told apart it is not, on the safe side.
    if (j < w.holes.size() && !clasped(w.holes, w.holes[j])) out.pull_n = std::max(out.pull_n, std::fabs(q[0]));
  }
  const FrameState unit = model.solve_unit(m.load_node, static_cast<structure::Freedom>(down));
  double housing = 0, pins = 0, bars = 0;
  for (const std::size_t i : m.housing) {
    housing += model.member_share(static_cast<int>(i), unit, state).sum();
    // Arms from the middle line to the holes stand for the wall between them; the shell itself runs along the line.
    const FrameMember& member = m.frame.members[i];
    const auto on_line = [&](int node) {
      const Vec3& at_mm = m.frame.nodes[static_cast<std::size_t>(node)].at_mm;
      return std::hypot(at_mm[1], at_mm[2]) < 1e-3;
    };
    if (!on_line(member.a) || !on_line(member.b)) continue;
    out.housing_mpa =
        std::max(out.housing_mpa, stress_mpa(member, state.end_force[i], w.shape.height_mm, w.shape.width_mm));
  }
  for (const std::size_t i : m.beams) {
    bars += model.member_share(static_cast<int>(i), unit, state).sum();
    out.beam_mpa = std::max(out.beam_mpa,
                            stress_mpa(m.frame.members[i], state.end_force[i], m.beam_height_mm, m.beam_thickness_mm));
  }
  for (std::size_t j = 0; j < m.frame.joints.size(); ++j) pins += model.joint_share(static_cast<int>(j), unit, state);
  const double sum = housing + pins + bars;
  if (std::fabs(sum) > 1e-15) {
    // What is nothing but rounding is nothing, without a sign.
    const auto share = [&](double part) { return std::fabs(part) < 1e-9 * std::fabs(sum) ? 0.0 : part / sum; };
    out.housing_share = share(housing);
    out.pin_share = share(pins);
    out.beam_share = share(bars);
  }
  return out;
}

}  // namespace functions::frame
