// From a boom's plain numbers to a frame.
#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <tuple>

#include "base/check.h"
#include "base/text.h"
#include "structure/boom.h"

namespace structure {
namespace {

constexpr double kGravity_m_s2 = 9.81;
/// Of what counts as stiff, against beams and axles: it gives less than a thousandth of what they give, and no digits
/// are lost.
constexpr double kStiff = 1e4;

std::string beam_name(const BoomBeam& b) {
  return "beam " + std::to_string(b.from_p) + "-" + std::to_string(b.to_p) + " in plane " + std::to_string(b.plane);
}

bool covers(const BoomBeam& b, int station) {
  return b.from_p <= station && station <= b.to_p;
}

const BoomBeam* beam_at(const Boom& boom, int plane, int station) {
  for (const BoomBeam& b : boom.beams) {
    if (b.plane == plane && covers(b, station)) return &b;
  }
  return nullptr;
}

/// Every cross axle with its name.
std::vector<std::pair<int, std::string>> all_axles(const Boom& boom) {
  std::vector<std::pair<int, std::string>> out{{0, "foot axle"}, {boom.length_p, "tip axle"}};
  out.emplace_back(boom.actuator.at_p, "actuator axle");
  for (const BoomAxle& a : boom.axles) out.emplace_back(a.at_p, "axle at " + std::to_string(a.at_p));
  return out;
}

class Builder {
 public:
  Builder(const Boom& boom, const BoomLoad& load) : boom_(boom), p_(boom.parts), load_(load) {}

  BoomFrame build() {
    add_beams();
    for (const BoomPin& pin : boom_.pins) add_pin(pin);
    for (const auto& [station, name] : all_axles(boom_)) add_axle(station, name);
    for (const BoomTie& tie : boom_.ties) add_tie(tie);
    if (reaches_on()) add_reach();
    const Vec3 gravity = gravity_m_s2();
    out_.loads.gravity_m_s2 = gravity;
    const double kg = load_.tip_mass_g * 1e-3;
    const Vec3 weight{kg * gravity[0], kg * gravity[1], kg * gravity[2]};
    // Everything beyond the tip is stiff, so its weight acts at the gauge with its moment about it.
    const double dx = load_.mass_mm[0] - load_.gauge_mm[0], dz = load_.mass_mm[1] - load_.gauge_mm[1];
    out_.loads.nodes.push_back({out_.tip,
                                {weight[0], weight[1] + load_.side_force_n, weight[2], -dz * weight[1],
                                 dz * weight[0] - dx * weight[2], dx * weight[1]}});
    return std::move(out_);
  }

 private:
  [[nodiscard]] double y_mm(int side, int plane) const {
    if (boom_.sides == 1) return plane * p_.pitch_mm;
    return side * (boom_.inner_p + plane) * p_.pitch_mm;
  }
  [[nodiscard]] Vec3 gravity_m_s2() const {
    const double tilt = load_.side_slope_rad, pitch = load_.luff_rad + load_.carrier_rad;
    return {-kGravity_m_s2 * std::cos(tilt) * std::sin(pitch), kGravity_m_s2 * std::sin(tilt),
            -kGravity_m_s2 * std::cos(tilt) * std::cos(pitch)};
  }
  [[nodiscard]] bool reaches_on() const {
    return load_.mass_mm[0] != 0 || load_.mass_mm[1] != 0 || load_.gauge_mm[0] != 0 || load_.gauge_mm[1] != 0;
  }
  /// A massless arm from the tip to where the gauges are.
  void add_reach() {
    const double x = load_.gauge_mm[0], z = load_.gauge_mm[1];
    if (x == 0 && z == 0) return;
    const std::string name = "beyond the tip";
    const BarSection& b = p_.beam;
    const int far = node(name, {boom_.length_p * p_.pitch_mm + x, 0, z});
    member(name, out_.tip, far,
           {kStiff * b.area_mm2, kStiff * b.second_y_mm4, kStiff * b.second_z_mm4, kStiff * b.torsion_mm4},
           p_.beam_material, 0, {0, 1, 0});
    out_.tip = far;
  }
  [[nodiscard]] std::vector<int> sides() const { return boom_.sides == 1 ? std::vector{1} : std::vector{-1, 1}; }

  int node(const std::string& name, const Vec3& at, const SixFlags& held = {}) {
    out_.frame.nodes.push_back({name, at, held});
    return static_cast<int>(out_.frame.nodes.size()) - 1;
  }
  void member(const std::string& name, int a, int b, const BarSection& s, const Material& m, double mass_g_mm,
              const Vec3& up) {
    FrameMember out{name, a, b, s, m, mass_g_mm};
    out.up = up;
    out_.frame.members.push_back(out);
  }

  /// A pin or axle in a hole. `spins`: free to turn about its own axis there.
  void hole(const std::string& name, int inner, int outer, Clearance clearance, bool spins) {
    if (clearance.engaged_mm == 0) clearance.engaged_mm = p_.beam_thickness_mm;
    const double l = clearance.engaged_mm, radial = p_.bedding_mpa * l, tilt = p_.bedding_mpa * l * l * l / 12;
    out_.frame.joints.push_back(
        {name, inner, outer, {0, 1, 0}, {radial, radial, radial, spins ? 0 : tilt, tilt, tilt}});
    if (spins) clearance.turn_rad = 0;
    out_.clearances.push_back(clearance);
    out_.actuator.push_back(false);
  }

  void add_beams() {
    for (const int side : sides()) {
      for (const BoomBeam& b : boom_.beams) {
        std::set<int> stations{b.from_p, b.to_p};
        for (const int s : taken_holes(boom_, b)) stations.insert(s);
        int last = -1;
        for (const int s : stations) {
          const int n = node(beam_name(b) + " at " + std::to_string(s), {s * p_.pitch_mm, y_mm(side, b.plane), 0});
          beam_nodes_[{side, b.plane, s}] = n;
          if (last >= 0) member(beam_name(b), last, n, p_.beam, p_.beam_material, p_.beam_mass_g_mm, {0, 0, 1});
          last = n;
        }
      }
    }
  }
  [[nodiscard]] int beam_node(int side, int plane, int station) const { return beam_nodes_.at({side, plane, station}); }

  void add_pin(const BoomPin& pin) {
    const std::string name = "pin at " + std::to_string(pin.at_p) + ", planes " + std::to_string(pin.plane) + "-" +
                             std::to_string(pin.plane + 1);
    const double x = pin.at_p * p_.pitch_mm;
    for (const int side : sides()) {
      const int a = node(name, {x, y_mm(side, pin.plane), 0}), b = node(name, {x, y_mm(side, pin.plane + 1), 0});
      member(name, a, b, p_.pin, p_.pin_material, 0, {0, 0, 1});
      // It sits in the first beam and turns in the second.
      hole(name, a, beam_node(side, pin.plane, pin.at_p), p_.pin_clearance, false);
      hole(name, b, beam_node(side, pin.plane + 1, pin.at_p), p_.pin_clearance, true);
      out_.loads.nodes.push_back({a, pin_weight()});
    }
  }
  [[nodiscard]] Six pin_weight() const {
    const double kg = p_.pin_mass_g * 1e-3;
    const Vec3 g = gravity_m_s2();
    return {kg * g[0], kg * g[1], kg * g[2], 0, 0, 0};
  }

  void add_axle(int station, const std::string& name) {
    const bool foot = name == "foot axle", tip = name == "tip axle", actuator = name == "actuator axle";
    const double ahead_p = actuator ? boom_.actuator.ahead_p : 0, above_p = actuator ? boom_.actuator.above_p : 0;
    const double x = (station + ahead_p) * p_.pitch_mm, z = above_p * p_.pitch_mm;
    const bool on_brackets = ahead_p != 0 || above_p != 0;
    // What grips the tip axle must do so on both sides, or it would twist the boom; its moment in the boom's plane goes
    // through its own actuator, not through the axle's twist.
    const bool gripped = tip && reaches_on();
    BarSection section = p_.axle;
    if (gripped) section.torsion_mm4 *= kStiff;
    // Places along the axle, each with the beam's node it passes through or -1; a thousandth of a pitch tells two
    // apart.
    const auto key_of = [&](double y) { return std::lround(1000 * y / p_.pitch_mm); };
    std::map<long, std::pair<double, int>> stops;
    for (const int side : sides()) {
      for (const BoomBeam& b : boom_.beams) {
        if (!covers(b, station)) continue;
        if (on_brackets && innermost(boom_, station, station)->plane != b.plane) continue;
        const double y = y_mm(side, b.plane);
        stops[key_of(y)] = {y, beam_node(side, b.plane, station)};
      }
    }
    std::vector<double> more;
    const double bearing = boom_.foot.bearing_p * p_.pitch_mm;
    if (foot) more = {-bearing, bearing};
    if (tip) more = {0};  // where the load hangs
    if (actuator) {
      for (const double y : boom_.actuator.y_p) more.push_back(y * p_.pitch_mm);
    }
    for (const double y : more) stops.try_emplace(key_of(y), y, -1);
    int last = -1;
    bool held = false;
    for (const auto& [key, stop] : stops) {
      const auto [y, beam] = stop;
      const int n = node(name, {x, y, z});
      if (last >= 0) member(name, last, n, section, p_.axle_material, p_.axle_mass_g_mm, {0, 0, 1});
      last = n;
      if (beam >= 0) {
        int holder = beam;
        if (on_brackets) {
          holder = node("actuator bracket", {x, y, z});
          member("actuator bracket", beam, holder, p_.beam, p_.beam_material, p_.beam_mass_g_mm, {0, 1, 0});
        }
        // Its turn about itself must be held somewhere; the first beam does it.
        hole(name, n, holder, p_.axle_clearance, held && !gripped);
        held = true;
      }
      if (foot && (key == key_of(bearing) || key == key_of(-bearing))) {
        hole("foot bearing", node("foot bearing", {x, y, 0}, kFixed), n, boom_.foot.bearing, true);
      }
      if (tip && key == key_of(0)) out_.tip = n;
      if (actuator) {
        for (const double place : boom_.actuator.y_p) {
          if (key == key_of(place * p_.pitch_mm)) add_actuator(n, {x, y, z});
        }
      }
    }
  }

  void add_actuator(int mount, const Vec3& at) {
    // Base seen from the boom: turned back by the luffing angle.
    const double c = std::cos(load_.luff_rad), s = std::sin(load_.luff_rad), p = p_.pitch_mm;
    const double base_x = (boom_.actuator.base_x_p * c + boom_.actuator.base_z_p * s) * p;
    const double base_z = (-boom_.actuator.base_x_p * s + boom_.actuator.base_z_p * c) * p;
    const Vec3 along{at[0] - base_x, 0, at[2] - base_z};
    out_.frame.joints.push_back(
        {"actuator", node("actuator base", at, kFixed), mount, along, {boom_.actuator.stiffness_n_mm, 0, 0, 0, 0, 0}});
    Clearance play;
    play.axial_mm = boom_.actuator.play_mm;
    out_.clearances.push_back(play);
    out_.actuator.push_back(true);
  }

  void add_tie(const BoomTie& tie) {
    const std::string name = std::string(tie.level_p > 0 ? "upper" : "lower") + " tie at " + std::to_string(tie.at_p);
    const auto beam = innermost(boom_, tie.at_p, tie.at_p + 1);
    int ends[2] = {0, 0};
    for (int i = 0; i < 2; ++i) {
      const int side = i == 0 ? -1 : 1;
      const double y = y_mm(side, beam->plane), x = tie.at_p * p_.pitch_mm;
      ends[i] = node(name, {x + p_.pitch_mm / 2, y, tie.level_p * p_.pitch_mm});
      for (int hole_no = 0; hole_no < 2; ++hole_no) {
        const int n = node(name, {x + hole_no * p_.pitch_mm, y, 0});
        member(name, n, ends[i], p_.beam, p_.beam_material, p_.beam_mass_g_mm, {0, 1, 0});
        hole(name, n, beam_node(side, beam->plane, tie.at_p + hole_no), p_.pin_clearance, true);
        out_.loads.nodes.push_back({n, pin_weight()});
      }
    }
    member(name, ends[0], ends[1], p_.beam, p_.beam_material, p_.beam_mass_g_mm, {0, 0, 1});
  }

  const Boom& boom_;
  const BoomParts& p_;
  const BoomLoad& load_;
  BoomFrame out_;
  std::map<std::tuple<int, int, int>, int> beam_nodes_;
};

}  // namespace

std::optional<BoomBeam> innermost(const Boom& boom, int from_p, int to_p) {
  std::optional<BoomBeam> out;
  for (const BoomBeam& b : boom.beams) {
    if (covers(b, from_p) && covers(b, to_p) && (!out || b.plane < out->plane)) out = b;
  }
  return out;
}

std::vector<int> taken_holes(const Boom& boom, const BoomBeam& beam) {
  std::set<int> out;
  const auto take = [&](int station) {
    if (covers(beam, station)) out.insert(station);
  };
  for (const auto& [station, name] : all_axles(boom)) take(station);
  for (const BoomPin& pin : boom.pins) {
    if (pin.plane == beam.plane || pin.plane + 1 == beam.plane) take(pin.at_p);
  }
  for (const BoomTie& tie : boom.ties) {
    const auto at = innermost(boom, tie.at_p, tie.at_p + 1);
    if (at && at->plane == beam.plane) {
      take(tie.at_p);
      take(tie.at_p + 1);
    }
  }
  return {out.begin(), out.end()};
}

std::optional<std::string> fault(const Boom& boom) {
  const auto text = [](double x) { return base::plain(x, 4); };
  const auto count = [](int x) { return std::to_string(x); };
  const BoomParts& p = boom.parts;
  if (boom.sides != 1 && boom.sides != 2) return "a boom has one or two sides, not " + count(boom.sides);
  if (boom.length_p < 1) return "a boom is at least one pitch long, not " + count(boom.length_p);
  if (!(p.pitch_mm > 0)) return "the pitch must be positive, not " + text(p.pitch_mm) + " mm";
  for (const auto& [value, what] : {std::pair{p.beam_thickness_mm, "beam thickness"},
                                    {p.bedding_mpa, "bedding"},
                                    {boom.actuator.stiffness_n_mm, "actuator stiffness"},
                                    {boom.foot.bearing_p, "distance of the foot bearings from the middle"}}) {
    if (!(value > 0)) return "the " + std::string(what) + " must be positive, not " + text(value);
  }
  if (p.beam_mass_g_mm < 0 || p.axle_mass_g_mm < 0 || p.pin_mass_g < 0) return std::string("masses are not negative");
  for (const Clearance& c : {p.pin_clearance, p.axle_clearance, boom.foot.bearing, boom.foot.turntable}) {
    if (c.diametral_mm < 0 || c.axial_mm < 0 || c.turn_rad < 0 || c.tilt_rad < 0 || c.engaged_mm < 0) {
      return std::string("clearances are not negative");
    }
  }
  if (boom.foot.turntable.diametral_mm > 0 && boom.foot.turntable.engaged_mm == 0) {
    return std::string("a turntable with diametral clearance needs the length it is engaged over");
  }
  if (boom.actuator.play_mm < 0) return std::string("the actuator's play is not negative");
  if (boom.actuator.y_p.empty()) return std::string("the actuator has no place on its axle");

  for (std::size_t i = 0; i < boom.beams.size(); ++i) {
    const BoomBeam& b = boom.beams[i];
    if (b.to_p <= b.from_p) return beam_name(b) + " ends before it begins";
    if (boom.sides == 2 && boom.inner_p + b.plane < 0.5) return beam_name(b) + " crosses the middle of the boom";
    for (std::size_t j = 0; j < i; ++j) {
      const BoomBeam& c = boom.beams[j];
      if (c.plane == b.plane && b.from_p <= c.to_p && c.from_p <= b.to_p) {
        return beam_name(c) + " and " + beam_name(b) + " are in the same place";
      }
    }
    const double y_p = boom.sides == 1 ? b.plane : boom.inner_p + b.plane;
    if (covers(b, 0) && std::fabs(std::fabs(y_p) - boom.foot.bearing_p) < 0.99) {
      return beam_name(b) + " and the foot's bearing are in the same place";
    }
  }
  std::set<int> axles;
  for (const auto& [station, name] : all_axles(boom)) {
    const bool anywhere =
        std::any_of(boom.beams.begin(), boom.beams.end(), [s = station](const BoomBeam& b) { return covers(b, s); });
    if (!anywhere) return "the " + name + " at station " + count(station) + " passes through no beam";
    if (!axles.insert(station).second) return "two axles at station " + count(station);
  }
  // Two short pins may meet end to end in a middle beam's hole; anything else needs a hole of its own.
  std::set<std::pair<int, int>> pinned, tied;  // plane, station
  for (const BoomPin& pin : boom.pins) {
    for (const int plane : {pin.plane, pin.plane + 1}) {
      if (beam_at(boom, plane, pin.at_p) == nullptr) {
        return "the pin at " + count(pin.at_p) + " finds no beam in plane " + count(plane);
      }
    }
    if (axles.count(pin.at_p) != 0) return "the pin at " + count(pin.at_p) + " is where an axle is";
    if (!pinned.insert({pin.plane, pin.at_p}).second) {
      return "two pins at " + count(pin.at_p) + " between the same planes";
    }
  }
  for (const BoomTie& tie : boom.ties) {
    if (boom.sides == 1) return std::string("a boom of one side has nothing to tie");
    if (tie.level_p != 1 && tie.level_p != -1) return "a tie lies one pitch above or below, not " + count(tie.level_p);
    const auto beam = innermost(boom, tie.at_p, tie.at_p + 1);
    if (!beam) return "the tie at " + count(tie.at_p) + " finds no beam with two holes there";
    for (const int s : {tie.at_p, tie.at_p + 1}) {
      const bool taken = axles.count(s) != 0 || pinned.count({beam->plane, s}) != 0 ||
                         pinned.count({beam->plane - 1, s}) != 0 || !tied.insert({beam->plane, s}).second;
      if (taken) return "the tie at " + count(tie.at_p) + " needs hole " + count(s) + ", which is taken";
    }
  }
  return std::nullopt;
}

BoomFrame frame_of(const Boom& boom, const BoomLoad& load) {
  const auto wrong = fault(boom);
  KW_CHECK(!wrong, wrong.value_or(""));
  return Builder(boom, load).build();
}

}  // namespace structure
