#include "routing/layout.h"

#include <algorithm>

#include "base/check.h"
#include "routing/ground.h"

#include <fmt/format.h>

namespace routing {
namespace {

const Place& place_of(const Problem& p, const Layout& l, int output) {
  return p.outputs[static_cast<std::size_t>(output)]
      .places[static_cast<std::size_t>(l.place[static_cast<std::size_t>(output)])];
}

/// Faces of the terminals that hold a shaft: [outgoing up, outgoing down]; where there is none, far away.
std::pair<int, int> solid_ends(const Problem& p, const Layout& l, const PlacedShaft& s) {
  int low = s.from_hp, high = s.to_hp;
  const auto cut = [&](const Terminal& t) { (t.direction > 0 ? low : high) = t.face.at(t.axis); };
  if (s.input) {
    const Input input = input_of(p, l.input);
    for (const Terminal& t : input.motors) cut(t);
  }
  if (s.output >= 0) {
    const Place& place = place_of(p, l, s.output);
    if (place.terminal) cut(*place.terminal);
    if (place.far_terminal) cut(*place.far_terminal);
  }
  return {low, high};
}

}  // namespace

Input InputField::on(Cross at) const {
  Input out = at_origin;
  const Point3 by = lattice::point(axis(), at, 0);
  const auto move = [&](Point3& p) {
    for (const Axis a : lattice::kAxes) p.set(a, p.at(a) + by.at(a));
  };
  for (Terminal& t : out.motors) {
    move(t.face);
    for (Box3& b : t.solids) {
      move(b.low);
      move(b.high);
    }
  }
  return out;
}

bool has_inputs(const Problem& p) {
  return !p.inputs.empty() || std::any_of(p.input_fields.begin(), p.input_fields.end(), [](const InputField& f) {
    return std::any_of(f.free.begin(), f.free.end(), [](std::uint8_t free) { return free != 0; });
  });
}

Input input_of(const Problem& p, int number) {
  KW_CHECK(number >= 0, "no such input");
  if (number < static_cast<int>(p.inputs.size())) return p.inputs[static_cast<std::size_t>(number)];
  number -= static_cast<int>(p.inputs.size());
  for (const InputField& field : p.input_fields) {
    if (number < field.lines() && field.free[static_cast<std::size_t>(number)] != 0)
      return field.on(field.line(number));
    KW_CHECK(number >= field.lines(), "no input stands on that line");
    number -= field.lines();
  }
  KW_CHECK(false, "no such input");
  return {};
}

void join_axles(Kit& kit) {
  const auto singles = static_cast<int>(kit.axles.size());
  if (kit.joiners == 0 || singles == 0) return;
  const auto length_p = [&](int a) { return kit.axles[static_cast<std::size_t>(a)].length_p; };
  std::vector<AxleStock> joined;
  for (int low = 0; low < singles; ++low)
    for (int high = 0; high < singles; ++high) joined.push_back({-1, length_p(low) + length_p(high), 0, low, high});
  std::stable_sort(joined.begin(), joined.end(),
                   [](const AxleStock& a, const AxleStock& b) { return a.length_p < b.length_p; });
  kit.axles.own().insert(kit.axles.own().end(), joined.begin(), joined.end());
}

std::optional<int> joint_hp(const Kit& kit, const PlacedShaft& s) {
  const AxleStock& axle = kit.axles.at(static_cast<std::size_t>(s.axle));
  if (!axle.joined()) return std::nullopt;
  return s.from_hp + 2 * kit.axles.at(static_cast<std::size_t>(axle.low_part)).length_p;
}

std::string axle_text(const Kit& kit, int axle) {
  const AxleStock& a = kit.axles.at(static_cast<std::size_t>(axle));
  const auto length_p = [&](int part) { return kit.axles.at(static_cast<std::size_t>(part)).length_p; };
  return a.joined() ? fmt::format("{} + {}", length_p(a.low_part), length_p(a.high_part)) : std::to_string(a.length_p);
}

Box3 envelope_of(const Problem& p, const Layout& l) {
  const double h = p.kit.half_pitch_mm();
  Box3 box{};
  bool first = true;
  const auto add = [&](const Box3& b) {
    if (first) {
      box = b;
      first = false;
      return;
    }
    for (const Axis a : lattice::kAxes) {
      box.low.set(a, std::min(box.low.at(a), b.low.at(a)));
      box.high.set(a, std::max(box.high.at(a), b.high.at(a)));
    }
  };
  for (const PlacedWheel& w : l.wheels)
    add(hull({w.axis, w.at, w.from_hp, w.to_hp, p.kit.wheels[static_cast<std::size_t>(w.wheel)].outer_radius_mm, 0},
             h));
  for (const PlacedShaft& s : l.shafts) {
    const auto [low, high] = solid_ends(p, l, s);
    add(hull({s.axis, s.at, static_cast<double>(low), static_cast<double>(high), p.kit.axle_radius_mm, 0}, h));
    for (const int b : s.bushes_hp)
      add(hull({s.axis, s.at, static_cast<double>(b), static_cast<double>(b + p.kit.bush_hp), p.kit.bush_radius_mm, 0},
               h));
    if (const std::optional<int> joint = joint_hp(p.kit, s)) add(hull(joiner_round(p.kit, s.axis, s.at, *joint), h));
    for (const int w : s.bearings_hp) add(bearing_block(s.axis, s.at, w));
    if (s.output >= 0)
      for (const Attachment& a : place_of(p, l, s.output).attachments)
        add(hull({s.axis, s.at, static_cast<double>(a.from_hp), static_cast<double>(a.to_hp), a.radius_mm, 0}, h));
  }
  return box;
}

std::int64_t cost_of(const Problem& p, const Layout& l) {
  std::int64_t cost = 0;
  for (std::size_t i = 0; i < l.wheels.size(); ++i) {
    if (l.wheels[i].shaft < 0) continue;
    cost += Weights::part;
    if (!l.wheels[i].overhung) continue;
    bool angle = false;
    for (const PlacedMesh& m : l.meshes) {
      if (m.driver != static_cast<int>(i) && m.driven != static_cast<int>(i)) continue;
      const PairType type = p.kit.pairs[static_cast<std::size_t>(m.pair)].type;
      angle = angle || type == PairType::bevel || type == PairType::crown;
    }
    cost += angle ? Weights::overhung_angle : Weights::overhung;
  }
  for (const PlacedShaft& s : l.shafts) {
    cost += Weights::part * (1 + static_cast<std::int64_t>(s.bushes_hp.size()));
    cost += Weights::bearing * static_cast<std::int64_t>(s.bearings_hp.size());
    cost += axle_cost(p.kit.axles[static_cast<std::size_t>(s.axle)]);
  }
  for (const PlacedMesh& m : l.meshes) cost += Weights::misfit_um * m.misfit_um;
  const Box3 e = envelope_of(p, l);
  cost += Weights::envelope_hp * ((e.high.x_hp - e.low.x_hp) + (e.high.y_hp - e.low.y_hp) + (e.high.z_hp - e.low.z_hp));
  return cost;
}

std::string key_of(const Problem& p, const Layout& l) {
  std::string out = fmt::format("i{}", l.input);
  for (const int place : l.place) out += fmt::format(" o{}", place);
  for (const PlacedShaft& s : l.shafts) {
    out += fmt::format("|{}{},{} {}..{}", lattice::letter(s.axis), s.at.u_hp, s.at.v_hp, s.from_hp, s.to_hp);
    if (const std::optional<int> joint = joint_hp(p.kit, s)) out += fmt::format(" joined {}", *joint);
  }
  for (const PlacedMesh& m : l.meshes) {
    const auto wheel = [&](int i) {
      const PlacedWheel& w = l.wheels[static_cast<std::size_t>(i)];
      return fmt::format("{}@{}:{:g}", p.kit.wheels[static_cast<std::size_t>(w.wheel)].name, w.shaft, w.from_hp);
    };
    out += fmt::format("|{}>{}", wheel(m.driver), wheel(m.driven));
  }
  return out;
}

std::string text_of(const Problem& p, const Layout& l) {
  std::string train;
  for (const PlacedMesh& m : l.meshes) {
    const auto name = [&](int i) {
      return p.kit.wheels[static_cast<std::size_t>(l.wheels[static_cast<std::size_t>(i)].wheel)].name;
    };
    train += fmt::format("{}{}:{}", train.empty() ? "" : " · ", name(m.driver), name(m.driven));
  }
  const auto pitches = [](int hp) { return hp % 2 == 0 ? fmt::format("{}", hp / 2) : fmt::format("{}.5", hp / 2); };
  const Box3& e = l.envelope;
  return fmt::format("{}, {} shaft{}, {} x {} x {} pitches", train.empty() ? "direct" : train, l.shafts.size(),
                     l.shafts.size() == 1 ? "" : "s", pitches(e.high.x_hp - e.low.x_hp),
                     pitches(e.high.y_hp - e.low.y_hp), pitches(e.high.z_hp - e.low.z_hp));
}

}  // namespace routing
