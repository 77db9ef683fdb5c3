#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <numbers>

#include "base/text.h"
#include "report/ground.h"
#include "report/json.h"

namespace report {
namespace {

using assessment::SitePlan;
using base::plain;
using Align = Table::Align;
using Json = nlohmann::ordered_json;

std::string lift_text(const SitePlan::Lift& lift) {
  if (lift.place.empty()) return "";
  std::string out = fmt::format("{}, {} mm", lift.place, plain(lift.radius_mm, 3));
  if (!lift.reached)
    out += lift.reach_high_mm > 0
               ? fmt::format(" (reaches {} to {})", plain(lift.reach_low_mm, 3), plain(lift.reach_high_mm, 3))
               : std::string(" (reaches nothing there)");
  return out;
}

std::string answer_of(const SitePlan::Load& l) {
  if (!l.possible) return fmt::format("no, the {}: {}", l.end == "both ends" ? "ends" : l.end, l.stop);
  std::string out = l.parts == 1 ? "whole" : fmt::format("{} parts of {} g", l.parts, plain(l.part_g, 3));
  if (l.carried) out += fmt::format(", carried on \"{}\"", l.stow_place);
  return out;
}

/// A load's foot seen from above.
void draw_foot(Svg& svg, Pixel middle, const brief::Vec3& size, double per_mm, std::string_view colour, bool dashed) {
  const double w = std::max(7.0, size.x_mm * per_mm), h = std::max(7.0, size.y_mm * per_mm);
  svg.rect({middle.x - w / 2, middle.y - h / 2}, w, h, {colour, 1.6, "#ffffff", dashed ? "3 2" : "", 1});
}

}  // namespace

Svg site_drawing(const brief::Brief& brief, const assessment::Assessment& a, double width) {
  const SitePlan& plan = a.site;
  const double reach_mm = a.lifting.radius_mm.empty() ? 0 : a.lifting.radius_mm.back(),
               least_mm = a.lifting.radius_mm.empty() ? 0 : a.lifting.radius_mm.front();
  const brief::Vec3 axis = a.lifting.axis_mm;
  const auto on_site = [](const brief::WorkPlace& w, double x, double y) {
    const double c = std::cos(w.heading_rad), s = std::sin(w.heading_rad);
    return brief::Vec3{w.x_mm + c * x - s * y, w.y_mm + s * x + c * y, 0};
  };
  double low_x = 1e300, high_x = -1e300, low_y = 1e300, high_y = -1e300;
  const auto cover = [&](const brief::Vec3& p, double around_mm) {
    low_x = std::min(low_x, p.x_mm - around_mm);
    high_x = std::max(high_x, p.x_mm + around_mm);
    low_y = std::min(low_y, p.y_mm - around_mm);
    high_y = std::max(high_y, p.y_mm + around_mm);
  };
  for (const brief::WorkPlace& w : plan.places) cover(on_site(w, axis.x_mm, axis.y_mm), reach_mm);
  for (const brief::SiteLoad& l : brief.site_loads) {
    cover(l.from_mm, std::max(l.size_mm.x_mm, l.size_mm.y_mm));
    cover(l.to_mm, std::max(l.size_mm.x_mm, l.size_mm.y_mm));
  }
  constexpr double kTop = 28, kEdge = 14;
  const double per_mm =
      std::min((width - 2 * kEdge) / std::max(1.0, high_x - low_x), 0.9 * width / std::max(1.0, high_y - low_y));
  const double map_px = per_mm * (high_y - low_y) + 2 * kEdge;
  Svg svg(width, 0, "Site");
  svg.text({0, 14}, "Site: loads from where to where", {14, Anchor::start, ink::kText, true});
  const double left = (width - per_mm * (high_x - low_x)) / 2;
  const auto at = [&](const brief::Vec3& p) {
    return Pixel{left + per_mm * (p.x_mm - low_x), kTop + kEdge + per_mm * (high_y - p.y_mm)};
  };
  svg.rect({0, kTop}, width, map_px, {ink::kLine, 1, "none", "", 1});
  for (const brief::WorkPlace& w : plan.places) {
    const Pixel turn = at(on_site(w, axis.x_mm, axis.y_mm));
    svg.circle(turn, per_mm * reach_mm, {ink::kGood, 1, ink::kGround, "", 0.5});
    svg.circle(turn, per_mm * least_mm, {ink::kGood, 1, "#ffffff", "2 3", 1});
  }
  for (const brief::WorkPlace& w : plan.places) {
    std::vector<Pixel> stand;
    for (const brief::Vec3& p : a.stance.support_mm) stand.push_back(at(on_site(w, p.x_mm, p.y_mm)));
    if (stand.size() > 2) svg.polyline(stand, {ink::kText, 1.2, "#ffffff", "", 1}, true);
    const Pixel o = at(on_site(w, 0, 0)), nose = at(on_site(w, 0.35 * std::max(reach_mm, 100.0), 0));
    svg.line(o, nose, {ink::kText, 2, "none", "", 1});
    svg.circle(o, 3, {ink::kText, 1.4, "#ffffff", "", 1});
  }
  for (std::size_t i = 0; i < plan.loads.size(); ++i) {
    const brief::SiteLoad& l = brief.site_loads[i];
    const std::string_view colour = !plan.loads[i].possible ? ink::kBad : ink::kThird;
    const Pixel from = at(l.from_mm), to = at(l.to_mm);
    draw_foot(svg, from, l.size_mm, per_mm, colour, false);
    draw_foot(svg, to, l.size_mm, per_mm, colour, true);
    const double dx = to.x - from.x, dy = to.y - from.y, length = std::hypot(dx, dy);
    if (length < 24) continue;
    const double ux = dx / length, uy = dy / length;
    const Pixel a1{from.x + 9 * ux, from.y + 9 * uy}, b1{to.x - 9 * ux, to.y - 9 * uy};
    svg.line(a1, b1, {colour, 1.4, "none", "", 1});
    svg.line(b1, {b1.x - 7 * ux - 4 * uy, b1.y - 7 * uy + 4 * ux}, {colour, 1.4, "none", "", 1});
    svg.line(b1, {b1.x - 7 * ux + 4 * uy, b1.y - 7 * uy - 4 * ux}, {colour, 1.4, "none", "", 1});
  }
  // Numbers on the map, names below: names of neighbours would cover each other.
  double y = kTop + map_px + 18;
  for (std::size_t i = 0; i < plan.loads.size(); ++i) {
    const Pixel p = at(brief.site_loads[i].from_mm);
    svg.text({p.x, p.y + 4}, std::to_string(i + 1), {10, Anchor::middle, ink::kText, true, true});
  }
  for (std::size_t i = 0; i < plan.places.size(); ++i) {
    const Pixel p = at(on_site(plan.places[i], 0, 0));
    svg.text({p.x - 6, p.y + 14}, std::string(1, static_cast<char>('A' + i % 26)),
             {11, Anchor::end, ink::kText, true, true});
  }
  for (std::size_t i = 0; i < plan.places.size(); ++i) {
    svg.text({0, y},
             fitted(fmt::format("{}  {}{}", static_cast<char>('A' + i % 26), plan.places[i].id,
                                plan.places[i].feet_down ? ", feet down" : ""),
                    width, 11),
             {11, Anchor::start, ink::kText, false});
    y += 15;
  }
  for (std::size_t i = 0; i < plan.loads.size(); ++i) {
    const SitePlan::Load& l = plan.loads[i];
    svg.fitted_text({0, y}, fmt::format("{}  {}, {} g: {}", i + 1, l.id, plain(l.mass_g, 3), answer_of(l)), width,
                    {11, Anchor::start, l.possible ? ink::kText : ink::kBad, false});
    y += 15;
  }
  svg.text({0, y}, "ring: what the hook reaches; full square: from, dashed: to; thick line: the nose",
           {10, Anchor::start, ink::kFaint, false});
  svg.set_height(y + 6);
  return svg;
}

std::string site_text(const SitePlan& plan, const TextOptions& o) {
  std::string out = heading("Loads", o);
  if (!plan.judged) return out + paragraph("  ", "not planned: " + plan.why_not, o);
  Table t;
  t.column("load");
  t.column("mass g", Align::right);
  t.column("can it be moved", Align::left, true);
  t.column("picked up at");
  t.column("set down at");
  t.column("lifts there g", Align::right);
  for (const SitePlan::Load& l : plan.loads) {
    t.row({l.id, plain(l.mass_g, 3), answer_of(l), lift_text(l.pick), lift_text(l.set),
           plain(std::min(l.possible ? l.pick.rated_g : l.best_pick_g, l.possible ? l.set.rated_g : l.best_set_g), 3)},
          !l.possible   ? Tint::bad
          : l.parts > 1 ? Tint::warm
                        : Tint::none);
  }
  out += t.str(o);
  for (const SitePlan::Load& l : plan.loads) {
    if (!l.carried) continue;
    out += paragraph("  ",
                     fmt::format("{} stands on \"{}\" while it is driven; {} deg are left to tipping ({} wanted)", l.id,
                                 l.stow_place, plain(l.driving_deg, 3), plain(plan.wanted_deg, 3)),
                     o);
  }
  if (!plan.stow.empty()) {
    std::string places;
    for (std::size_t i = 0; i < plan.stow.size(); ++i)
      places += fmt::format("{}{} on \"{}\"", i > 0 ? ", " : "", plan.loads[i].id, plan.stow[i]);
    out += paragraph("  all on board: ",
                     fmt::format("{}; {} deg are left to tipping{}", places, plain(plan.stow_deg, 3),
                                 plan.stow_complete ? "" : "; the search ended early, there may be a better one"),
                     o);
  }
  if (!plan.note.empty()) out += paragraph("  ", plan.note, o);
  return out;
}

Json json_of(const SitePlan& plan) {
  const auto number = [](double x) { return std::isfinite(x) ? Json(rounded(x)) : Json(nullptr); };
  Json out{{"judged", plan.judged}, {"why_not", plan.why_not}};
  if (!plan.judged) return out;
  const auto lift = [&](const SitePlan::Lift& l) {
    return Json{{"place", l.place},
                {"radius_mm", number(l.radius_mm)},
                {"slew_deg", number(l.slew_deg)},
                {"rated_g", number(l.rated_g)},
                {"reached", l.reached},
                {"reach_low_mm", number(l.reach_low_mm)},
                {"reach_high_mm", number(l.reach_high_mm)}};
  };
  Json places = Json::array(), loads = Json::array();
  for (const brief::WorkPlace& w : plan.places) {
    places.push_back({{"id", w.id},
                      {"x_mm", number(w.x_mm)},
                      {"y_mm", number(w.y_mm)},
                      {"heading_deg", number(w.heading_rad * 180 / std::numbers::pi)},
                      {"feet_down", w.feet_down}});
  }
  for (const SitePlan::Load& l : plan.loads) {
    loads.push_back({{"id", l.id},
                     {"mass_g", number(l.mass_g)},
                     {"possible", l.possible},
                     {"stop", l.stop},
                     {"end", l.end},
                     {"parts", l.parts},
                     {"part_g", number(l.part_g)},
                     {"pick", lift(l.pick)},
                     {"set", lift(l.set)},
                     {"carried", l.carried},
                     {"stow_place", l.stow_place},
                     {"driving_deg", number(l.driving_deg)},
                     {"spare", number(l.spare)},
                     {"picks_whole", l.picks_whole},
                     {"sets_whole", l.sets_whole},
                     {"best_pick_g", number(l.best_pick_g)},
                     {"best_set_g", number(l.best_set_g)}});
  }
  out["note"] = plan.note;
  out["places"] = std::move(places);
  out["loads"] = std::move(loads);
  out["all_on_board"] = {{"keeps_balance", plan.all_stow},
                         {"complete", plan.stow_complete},
                         {"places", plan.stow},
                         {"tipping_deg", number(plan.stow_deg)},
                         {"wanted_deg", number(plan.wanted_deg)}};
  return out;
}

}  // namespace report
