#include "routing/tables.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/check.h"
#include "base/text.h"
#include "routing/solids.h"

namespace routing {
namespace {

/// Indices of the shafts in the order of their letters.
std::vector<int> order_of(const Layout& l) {
  std::vector<int> order;
  const auto add = [&](int s) {
    if (s >= 0 && std::find(order.begin(), order.end(), s) == order.end()) order.push_back(s);
  };
  if (!l.shafts.empty()) add(0);
  for (const PlacedMesh& m : l.meshes) {
    add(l.wheels.at(static_cast<std::size_t>(m.driver)).shaft);
    add(l.wheels.at(static_cast<std::size_t>(m.driven)).shaft);
  }
  for (std::size_t s = 0; s < l.shafts.size(); ++s) add(static_cast<int>(s));
  return order;
}

const Wheel& kind_of(const Problem& p, const PlacedWheel& w) {
  return p.kit.wheels.at(static_cast<std::size_t>(w.wheel));
}

std::string type_text(PairType t) {
  switch (t) {
    case PairType::spur:
      return "spur";
    case PairType::bevel:
      return "bevel";
    case PairType::crown:
      return "crown";
    case PairType::worm:
      return "worm";
    case PairType::ring_outer:
      return "ring outside";
    case PairType::ring_inner:
      return "ring inside";
  }
  return "";
}

double distance_mm(const Problem& p, const PlacedWheel& a, const PlacedWheel& b) {
  const double half_mm = p.kit.half_pitch_mm();
  if (a.axis == b.axis) return half_mm * std::hypot(a.at.u_hp - b.at.u_hp, a.at.v_hp - b.at.v_hp);
  // Crossing lines are apart along the one axis that is across both.
  const Axis n = lattice::other(a.axis, b.axis);
  const auto value = [&](const PlacedWheel& w) { return u_axis(w.axis) == n ? w.at.u_hp : w.at.v_hp; };
  return half_mm * std::abs(value(a) - value(b));
}

std::string text_of_value(double value_hp) {
  const double whole = std::round(value_hp);
  if (std::fabs(value_hp - whole) < 1e-6) return pitches_text(static_cast<int>(whole));
  return fmt::format("{}{:.2f}", value_hp < 0 ? "\xE2\x88\x92" : "", std::fabs(value_hp) / 2);
}

}  // namespace

std::vector<std::string> shaft_names(const Layout& l) {
  constexpr std::string_view kLetters = "ABCDEFGHJKLMNPQRSTUVWXYZ";
  std::vector<std::string> names(l.shafts.size());
  const std::vector<int> order = order_of(l);
  for (std::size_t i = 0; i < order.size(); ++i) {
    std::string name(1, kLetters[i % kLetters.size()]);
    if (i >= kLetters.size()) name += std::to_string(i / kLetters.size());
    names[static_cast<std::size_t>(order[i])] = name;
  }
  return names;
}

std::string pitches_text(int value_hp) {
  const int size = std::abs(value_hp);
  std::string out = value_hp < 0 ? "\xE2\x88\x92" : "";  // minus sign
  if (size / 2 > 0 || size % 2 == 0) out += std::to_string(size / 2);
  if (size % 2 != 0) out += "\xC2\xBD";  // one half
  return out;
}

std::string pitches_text(double from_hp, double to_hp) {
  // An en dash between positive numbers; beside a minus sign it would be misread.
  return text_of_value(from_hp) + (from_hp < 0 || to_hp < 0 ? " to " : "\xE2\x80\x93") + text_of_value(to_hp);
}

std::string hole_text(Axis axis, Cross c) {
  return fmt::format("{} {}, {} {}", letter(u_axis(axis)), pitches_text(c.u_hp), letter(v_axis(axis)),
                     pitches_text(c.v_hp));
}

std::vector<ShaftRow> shaft_table(const Problem& p, const Layout& l) {
  const std::vector<std::string> names = shaft_names(l);
  std::vector<ShaftRow> rows;
  for (const int i : order_of(l)) {
    const PlacedShaft& s = l.shafts[static_cast<std::size_t>(i)];
    ShaftRow row;
    row.name = names[static_cast<std::size_t>(i)];
    row.axis = s.axis;
    row.at = s.at;
    row.hole = hole_text(s.axis, s.at);
    row.axle_p = p.kit.axles.at(static_cast<std::size_t>(s.axle)).length_p;
    row.axle = axle_text(p.kit, s.axle);
    row.from_hp = s.from_hp;
    row.to_hp = s.to_hp;
    row.bearings_hp = s.bearings_hp;
    row.bushes_hp = s.bushes_hp;
    row.bush_hp = p.kit.bush_hp;
    // By its own name: what turns the input may be a knob.
    if (s.input) {
      const std::vector<Terminal>& motors = p.inputs.at(static_cast<std::size_t>(l.input)).motors;
      row.carries = motors.size() > 1 ? fmt::format("{} motors", motors.size()) : motors.front().name;
    }
    for (std::size_t w = 0; w < l.wheels.size(); ++w) {
      const PlacedWheel& wheel = l.wheels[w];
      if (wheel.shaft != i) continue;
      row.items.push_back({static_cast<int>(w), kind_of(p, wheel).name, wheel.from_hp, wheel.to_hp, wheel.overhung});
    }
    if (s.output >= 0) {
      const Output& o = p.outputs.at(static_cast<std::size_t>(s.output));
      row.carries += (row.carries.empty() ? "" : " and ") + o.name;
      const Place& place = o.places.at(static_cast<std::size_t>(l.place.at(static_cast<std::size_t>(s.output))));
      for (const Attachment& a : place.attachments) {
        row.items.push_back({-1, a.name, static_cast<double>(a.from_hp), static_cast<double>(a.to_hp), false});
      }
    }
    if (const std::optional<int> joint = joint_hp(p.kit, s)) {
      const double half_hp = p.kit.joiner_hp / 2.0;
      row.items.push_back({-1, "joiner", *joint - half_hp, *joint + half_hp, false});
    }
    std::stable_sort(row.items.begin(), row.items.end(),
                     [](const ShaftRow::Item& a, const ShaftRow::Item& b) { return a.from_hp < b.from_hp; });
    row.overhung = s.support != Support::straddled ||
                   std::any_of(row.items.begin(), row.items.end(), [](const auto& item) { return item.overhung; });
    rows.push_back(std::move(row));
  }
  return rows;
}

std::vector<MeshRow> mesh_table(const Problem& p, const Layout& l) {
  const std::vector<std::string> names = shaft_names(l);
  std::vector<MeshRow> rows;
  for (std::size_t i = 0; i < l.meshes.size(); ++i) {
    const PlacedMesh& m = l.meshes[i];
    const Pair& pair = p.kit.pairs.at(static_cast<std::size_t>(m.pair));
    const PlacedWheel& driver = l.wheels.at(static_cast<std::size_t>(m.driver));
    const PlacedWheel& driven = l.wheels.at(static_cast<std::size_t>(m.driven));
    const auto named = [&](const PlacedWheel& w) {
      return w.shaft < 0 ? kind_of(p, w).name
                         : fmt::format("{} on {}", kind_of(p, w).name, names[static_cast<std::size_t>(w.shaft)]);
    };
    MeshRow row;
    row.mesh = static_cast<int>(i);
    row.driver = named(driver);
    row.driven = named(driven);
    row.type = type_text(pair.type);
    row.ratio = pair.ratio;
    if (pair.type != PairType::bevel && pair.type != PairType::crown) {
      const double a = mesh_radius_mm(kind_of(p, driver), pair.type);
      const double b = mesh_radius_mm(kind_of(p, driven), pair.type);
      row.has_distance = true;
      row.wanted_mm = pair.type == PairType::ring_inner ? std::fabs(a - b) : a + b;
      row.offered_mm = distance_mm(p, driver, driven);
      row.misfit_mm = row.offered_mm - row.wanted_mm;
    }
    rows.push_back(std::move(row));
  }
  return rows;
}

std::string misfit_text(double misfit_mm) {
  // Below half a hundredth of a millimetre nobody can measure or feel it.
  if (std::fabs(misfit_mm) < 0.005) return "fits";
  return fmt::format("{:.2f} mm too {}", std::fabs(misfit_mm), misfit_mm > 0 ? "far apart" : "close");
}

std::string tables_text(const Problem& p, const Layout& l) {
  std::string out;
  for (const ShaftRow& r : shaft_table(p, l)) {
    std::vector<std::string> items, bearings, bushes;
    for (const ShaftRow::Item& item : r.items) {
      items.push_back(fmt::format("{} at {}{}", item.name, pitches_text(item.from_hp, item.to_hp),
                                  item.overhung ? " (overhung)" : ""));
    }
    for (const int b : r.bearings_hp) bearings.push_back(pitches_text(b));
    for (const int b : r.bushes_hp) bushes.push_back(pitches_text(b, b + r.bush_hp));
    out += fmt::format("  shaft {}{}: along {} through {}; axle {} from {}; {}; bearings at {}; bushes at {}\n", r.name,
                       r.carries.empty() ? "" : " (" + r.carries + ")", letter(r.axis), r.hole, r.axle,
                       pitches_text(r.from_hp, r.to_hp), items.empty() ? "no wheel" : base::list_text(items),
                       bearings.empty() ? "none" : base::list_text(bearings),
                       bushes.empty() ? "none" : base::list_text(bushes));
  }
  for (const MeshRow& r : mesh_table(p, l)) {
    out += fmt::format("  mesh {} drives {} ({}), ratio {}", r.driver, r.driven, r.type, r.ratio.text());
    out += r.has_distance ? fmt::format(": wants {:.2f} mm, holes offer {:.2f} mm, {}\n", r.wanted_mm, r.offered_mm,
                                        misfit_text(r.misfit_mm))
                          : ": the shafts meet\n";
  }
  return out;
}

}  // namespace routing
