#include "report/building.h"

#include <fmt/format.h>

#include "lattice/sweep.h"
#include "report/json_values.h"

namespace report {
namespace {

using Json = nlohmann::ordered_json;

std::string body_name(const brief::Brief& brief, int body) {
  return brief.bodies.at(static_cast<std::size_t>(body)).id;
}

/// "from above" for what moves down into its place.
std::string_view from_text(lattice::Way way) {
  if (way.axis == lattice::Axis::z) return way.sign < 0 ? "from above" : "from below";
  if (way.axis == lattice::Axis::x) return way.sign < 0 ? "from the front" : "from the back";
  return way.sign < 0 ? "from the left" : "from the right";
}

}  // namespace

std::string building_text(const candidate::Candidate& c, int sides, const TextOptions& o) {
  if (c.route == nullptr) return {};
  const assembly::Order order = assembly::order_of(*c.route->problem, c.route->layout);
  std::string out = heading("Assembly order", o);
  out += paragraph("  ",
                   sides > 1 ? "One side; the other is its mirror image. Holes in pitches: x forward, y left, z up."
                             : "Holes in pitches: x forward, y left, z up.",
                   o);
  int number = 0;
  for (const assembly::Step& s : order.steps) {
    out += paragraph(fmt::format("  {:>3}. ", ++number), (s.made_up >= 0 ? "Outside: " : "") + s.text, o);
  }
  if (!order.complete()) out += paragraph("  - ", order.locked.text, o);
  return out;
}

Json building_json(const candidate::Candidate& c) {
  if (c.route == nullptr) return nullptr;
  static constexpr const char* kKind[] = {"wall", "axle", "wheel", "ring", "bush", "attachment", "body"};
  static constexpr const char* kSort[] = {"stand", "put_in", "push_on", "slide", "bring"};
  const assembly::Order order = assembly::order_of(*c.route->problem, c.route->layout);
  const auto half = [](double hp) { return number(hp / 2); };
  Json pieces = Json::array();
  for (const assembly::Piece& p : order.pieces) {
    Json holes = Json::array();
    for (const lattice::Cross h : p.holes) holes.push_back(Json::array({half(h.u_hp), half(h.v_hp)}));
    pieces.push_back({{"kind", kKind[static_cast<int>(p.kind)]},
                      {"name", p.name},
                      {"shaft", p.shaft},
                      {"axis", std::string(1, lattice::letter(p.axis))},
                      {"at_p", Json::array({half(p.at.u_hp), half(p.at.v_hp)})},
                      {"from_p", half(p.from_hp)},
                      {"to_p", half(p.to_hp)},
                      {"holes_p", std::move(holes)}});
  }
  Json steps = Json::array();
  for (const assembly::Step& s : order.steps) {
    Json held = Json::array();
    for (const assembly::Held& h : s.held) held.push_back({{"piece", h.piece}, {"way", lattice::name_of(h.way)}});
    steps.push_back({{"sort", kSort[static_cast<int>(s.sort)]},
                     {"pieces", s.pieces},
                     {"way", lattice::name_of(s.way)},
                     {"held", std::move(held)},
                     {"through", s.through},
                     {"made_up", s.made_up},
                     {"group", s.group},
                     {"text", s.text}});
  }
  return {{"pieces", std::move(pieces)},   {"steps", std::move(steps)},         {"complete", order.complete()},
          {"locked", order.locked.pieces}, {"freed_by", order.locked.freed_by}, {"locked_text", order.locked.text}};
}

std::string building_text(const std::vector<design::BodyOrder>& bodies, const brief::Brief& brief,
                          const TextOptions& o) {
  std::string out;
  for (const design::BodyOrder& b : bodies) {
    if (b.units.size() < 2) continue;
    if (out.empty()) out += heading("Order of the functions", o);
    std::string text;
    for (const assembly::UnitStep& s : b.order.steps) {
      std::string names;
      for (const int u : s.units) {
        names += (names.empty() ? "" : " and ") + b.units.at(static_cast<std::size_t>(u)).name;
      }
      text += (text.empty() ? "" : ", then ") + names +
              (s.units.size() > 1 ? " (built up together)" : fmt::format(" {}", from_text(s.way)));
    }
    out += paragraph("  " + body_name(brief, b.body) + ": ", text + ".", o);
  }
  return out;
}

Json building_json(const std::vector<design::BodyOrder>& bodies, const brief::Brief& brief) {
  Json out = Json::array();
  for (const design::BodyOrder& b : bodies) {
    Json steps = Json::array();
    for (const assembly::UnitStep& s : b.order.steps) {
      Json names = Json::array();
      for (const int u : s.units) names.push_back(b.units.at(static_cast<std::size_t>(u)).name);
      steps.push_back({{"what", std::move(names)}, {"way", lattice::name_of(s.way)}});
    }
    out.push_back({{"body", body_name(brief, b.body)}, {"steps", std::move(steps)}});
  }
  return out;
}

}  // namespace report
