#include "structure/bearing_body.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "base/check.h"
#include "structure/frame_matrices.h"

namespace structure {
namespace {

BodyShape assumed(std::string name, double length_p, double width_p, double height_p, double mass_g, double pitch_mm) {
  KW_CHECK(length_p > 0 && width_p > 0 && height_p > 0 && pitch_mm > 0, "a body has a length, a width and a height");
  BodyShape s;
  s.name = std::move(name);
  s.length_mm = length_p * pitch_mm;
  s.width_mm = width_p * pitch_mm;
  s.height_mm = height_p * pitch_mm;
  s.mass_g = mass_g;
  s.wall_mm = {1.0, 1.5, 2.0};
  s.e_mpa = {2000, 2300, 2500};  // ABS, Terluran GP-35: 2300
  s.poisson = 0.35;
  s.seam = {0.1, 0.5, 0.9};
  s.bedding_mpa = {450, 900, 1800};
  s.hole_depth_mm = pitch_mm / 2;
  return s;
}

/// Thousandths: tells two places or directions apart.
long micro(double value) {
  return std::lround(value * 1000);
}

/// A beam still goes on a pin that is so far off its hole, in pitches: a tenth of a millimetre at 8 mm.
constexpr double kOffLattice_p = 0.0125;

}  // namespace

BodyShape motor_body(const stock::Motor& m, double mass_g, double pitch_mm) {
  return assumed("motor body", m.length_p, m.width_p, m.height_p, mass_g, pitch_mm);
}

BodyShape hub_body(const stock::Hub& h, double mass_g, double pitch_mm) {
  BodyShape out = assumed("hub body", h.length_p, h.width_p, h.height_p, mass_g, pitch_mm);
  out.seam = {0.05, 0.2, 0.6};  // a cell hatch opens one wall; end walls still keep it from warping freely
  return out;
}

std::vector<std::string> body_assumptions() {
  return {"The body is a rectangular tube of even wall, 1.5 mm (1 to 2): assumed.",
          "Its material is ABS, E = 2300 MPa (2000 to 2500): Terluran GP-35 data sheet, spread assumed.",
          "The seam of a motor carries half the shear flow (a tenth to nine tenths), that of a hub with a cell hatch a "
          "fifth (a twentieth to six tenths): assumed.",
          "A pin beds in a fixing hole with 900 N/mm per mm (450 to 1800) over half a pitch: assumed.",
          "Motor, gears and cells inside carry nothing: assumed, on the safe side."};
}

std::vector<FixingHole> corner_holes(const BodyShape& s, double pitch_mm) {
  std::vector<FixingHole> out;
  for (const double x : {-1.0, 1.0}) {
    for (const double inward_mm : {0.0, pitch_mm}) {
      for (const double y : {-1.0, 1.0}) {
        out.push_back({{x * ((s.length_mm - pitch_mm) / 2 - inward_mm), y * (s.width_mm - pitch_mm) / 2,
                        (pitch_mm - s.height_mm) / 2},
                       {0, 1, 0}});
      }
    }
  }
  return out;
}

std::vector<FixingHole> fixing_holes(const std::optional<std::vector<stock::FixingHole>>& told, const BodyShape& shape,
                                     double pitch_mm) {
  if (!told) return corner_holes(shape, pitch_mm);
  std::vector<FixingHole> out;
  for (const stock::FixingHole& h : *told) {
    Vec3 axis{};
    axis.at(static_cast<std::size_t>(h.axis)) = 1;
    out.push_back({{h.at_p[0] * pitch_mm, h.at_p[1] * pitch_mm, h.at_p[2] * pitch_mm}, axis});
  }
  return out;
}

bool hold_firmly(const std::vector<FixingHole>& holes) {
  // A line is its direction and where it passes the plane across it.
  std::set<std::array<long, 6>> lines;
  for (const FixingHole& h : holes) {
    const double along = h.at_mm[0] * h.axis[0] + h.at_mm[1] * h.axis[1] + h.at_mm[2] * h.axis[2];
    std::array<long, 6> line{};
    for (std::size_t k = 0; k < 3; ++k) {
      line.at(k) = micro(h.axis.at(k));
      line.at(k + 3) = micro(h.at_mm.at(k) - along * h.axis.at(k));
    }
    lines.insert(line);
  }
  return lines.size() >= 2;
}

std::vector<BeamRow> beam_rows(const std::vector<FixingHole>& holes, double pitch_mm) {
  // Which way its pins go, place across it in its face, and the face.
  std::map<std::array<long, 3>, std::vector<std::size_t>> lines;
  for (std::size_t i = 0; i < holes.size(); ++i) {
    const FixingHole& h = holes[i];
    if (std::fabs(h.axis[0]) > 0.5) continue;
    const bool up = std::fabs(h.axis[2]) > 0.5;
    const double side = up ? h.at_mm[2] : h.at_mm[1];
    lines[{up ? 1 : 0, side < 0 ? -1 : 1, micro(up ? h.at_mm[1] : h.at_mm[2])}].push_back(i);
  }
  std::vector<BeamRow> out;
  for (auto& [line, all] : lines) {
    std::stable_sort(all.begin(), all.end(),
                     [&](std::size_t a, std::size_t b) { return holes[a].at_mm[0] < holes[b].at_mm[0]; });
    BeamRow best;
    for (const std::size_t first : all) {
      if (holes[first].at_mm[0] > 0) break;
      BeamRow row;
      for (const std::size_t next : all) {
        const double pitches = (holes[next].at_mm[0] - holes[first].at_mm[0]) / pitch_mm;
        const auto whole = static_cast<int>(std::lround(pitches));
        if (pitches < 0 || std::fabs(pitches - whole) > kOffLattice_p || whole + 1 <= row.length_p) continue;
        row.holes.push_back(next);
        row.length_p = whole + 1;
      }
      if (holes[row.holes.back()].at_mm[0] > 0 && row.holes.size() > best.holes.size()) best = std::move(row);
    }
    if (!best.holes.empty()) out.push_back(std::move(best));
  }
  return out;
}

std::vector<int> add_body(Frame& frame, const BodyShape& shape, const std::vector<FixingHole>& holes,
                          const BodyPlace& place, Level level) {
  using internal::vector_of;
  const Eigen::Vector3d x = vector_of(place.along).normalized();
  const Eigen::Vector3d y = vector_of(place.up).cross(x).normalized(), z = x.cross(y);
  const auto direction = [&](const Vec3& v) -> Vec3 {
    const Eigen::Vector3d w = v[0] * x + v[1] * y + v[2] * z;
    return {w.x(), w.y(), w.z()};
  };
  const auto in_frame = [&](const Vec3& v) -> Vec3 {
    const Vec3 d = direction(v);
    return {place.centre_mm[0] + d[0], place.centre_mm[1] + d[1], place.centre_mm[2] + d[2]};
  };
  const double e_mpa = at(shape.e_mpa, level);
  const Material material{e_mpa, e_mpa / (2 * (1 + shape.poisson))};
  const BarSection shell =
      box_section(shape.height_mm, shape.width_mm, at(shape.wall_mm, level), at(shape.seam, level));
  const auto node = [&](const std::string& name, const Vec3& where) {
    frame.nodes.push_back({name, where, {}});
    return static_cast<int>(frame.nodes.size()) - 1;
  };
  // Middle line with a node at each distinct x of a hole; a micrometre tells two places apart.
  std::map<long, int> spine;
  for (const FixingHole& h : holes) spine.emplace(std::lround(h.at_mm[0] * 1000), -1);
  KW_CHECK(spine.size() >= 2, "a load-bearing body has holes at two places along it");
  const double first_mm = static_cast<double>(spine.begin()->first) / 1000;
  const double span_mm = static_cast<double>(spine.rbegin()->first) / 1000 - first_mm;
  int last = -1;
  for (auto& [key, id] : spine) {
    id = node(shape.name, in_frame({static_cast<double>(key) / 1000, 0, 0}));
    if (last >= 0) {
      FrameMember m{shape.name, last, id, shell, material, shape.mass_g / span_mm};
      m.up = direction({0, 0, 1});
      frame.members.push_back(m);
    }
    last = id;
  }
  const double radial = at(shape.bedding_mpa, level) * shape.hole_depth_mm;
  const double tilt = radial * shape.hole_depth_mm * shape.hole_depth_mm / 12;
  std::vector<int> outer;
  for (const FixingHole& h : holes) {
    const Vec3 where = in_frame(h.at_mm);
    int inner = spine.at(std::lround(h.at_mm[0] * 1000));
    if (std::hypot(h.at_mm[1], h.at_mm[2]) > 1e-3) {
      const int end = node(shape.name + " hole", where);
      FrameMember arm{shape.name, inner, end, shell, material, 0};
      arm.up = direction({1, 0, 0});
      frame.members.push_back(arm);
      inner = end;
    }
    outer.push_back(node(shape.name + " fixing", where));
    frame.joints.push_back(
        {shape.name + " fixing", inner, outer.back(), direction(h.axis), {radial, radial, radial, 0, tilt, tilt}});
  }
  return outer;
}

BodyStiffness body_stiffness(const BodyShape& shape, const std::vector<FixingHole>& holes) {
  double middle_mm = 0, far = 0;
  for (const FixingHole& h : holes) {
    if (h.at_mm[0] <= 0) continue;
    middle_mm += h.at_mm[0];
    ++far;
  }
  KW_CHECK(far > 0, "holes in both halves of a body");
  middle_mm /= far;
  const auto one = [&](Level level) -> std::array<double, 4> {
    Frame f;
    const std::vector<int> outer = add_body(f, shape, holes, {}, level);
    // Both groups are clamped; the far one is pushed as one through a plate far stiffer than the body.
    f.nodes.push_back({"far group", {middle_mm, 0, 0}, {}});
    const int hub = static_cast<int>(f.nodes.size()) - 1;
    const double side = 10 * std::max(shape.height_mm, shape.width_mm);
    const BarSection plate = bar_section({Form::rectangle, side, side});
    for (std::size_t i = 0; i < holes.size(); ++i) {
      const auto id = static_cast<std::size_t>(outer[i]);
      if (holes[i].at_mm[0] <= 0) {
        f.nodes[id].held = kFixed;
        continue;
      }
      KW_CHECK(std::hypot(holes[i].at_mm[1], holes[i].at_mm[2]) > 1e-3, "a fixing hole lies off the middle line");
      FrameMember m{"plate", hub, outer[i], plate, {2300, 850}, 0};
      // Any direction that is not along the plate will do: it is the same about both axes.
      m.up = {1, 0.3, 0.7};
      f.members.push_back(m);
    }
    const FrameModel model(f);
    KW_CHECK(!model.mechanism(), "the holes do not hold the body");
    const auto k = [&](Freedom freedom) {
      return 1 / model.solve_unit(hub, freedom)
                     .displacement[static_cast<std::size_t>(hub)][static_cast<std::size_t>(freedom)];
    };
    return {k(Freedom::x), k(Freedom::y), k(Freedom::z), k(Freedom::turn_x)};
  };
  const auto low = one(Level::low), nominal = one(Level::nominal), high = one(Level::high);
  const auto triple = [&](std::size_t i) { return base::Triple{low[i], nominal[i], high[i]}; };
  return {triple(0), triple(1), triple(2), triple(3)};
}

}  // namespace structure
