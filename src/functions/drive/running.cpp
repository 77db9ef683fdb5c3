#include "functions/drive/running.h"

#include <fmt/format.h>

#include <algorithm>

#include "base/text.h"
#include "gearing/tooth.h"

namespace functions::drive {

balance::MassPoint machine_mass(const brief::Brief& brief, double mass_factor) {
  std::vector<balance::MassPoint> points;
  points.reserve(brief.bodies.size());
  for (const brief::Body& body : brief.bodies) {
    const double mass_g = body.mass_g.nominal * (body.mass_is_estimate ? mass_factor : 1);
    points.push_back({mass_g, {body.centre_mm.x_mm, body.centre_mm.y_mm, body.centre_mm.z_mm}});
  }
  return balance::combined(points);
}

std::vector<stock::ClassId> choices(const brief::Brief& brief, const brief::Function& function, stock::Family family,
                                    const std::string& wanted) {
  std::vector<stock::ClassId> out;
  for (const stock::ClassId id : brief.catalogue->of(family)) {
    if (allowed(function, id) && (wanted.empty() || brief.catalogue->at(id).id == wanted)) out.push_back(id);
  }
  return out;
}

bool in_stock(const brief::Brief& brief, const brief::Function& function, stock::ClassId part, int needed,
              candidate::RejectionLog& log, std::string_view code) {
  const int have = brief.stock->count_of(part);
  if (have >= needed) return true;
  log.add(fmt::format("{}.{}", function.kind, code), needed - have, "pieces", [&] {
    return fmt::format("{}: {} needed{}, the stock has {}", brief.catalogue->at(part).name, needed,
                       function.sides > 1 ? fmt::format(" on {} sides", function.sides) : "", have);
  });
  return false;
}

std::vector<stock::ClassId> full_beams(const brief::Brief& brief, const brief::Function& function, int least,
                                       int most) {
  std::vector<stock::ClassId> out;
  for (const stock::ClassId id : choices(brief, function, stock::Family::beam, "")) {
    const auto* beam = std::get_if<stock::Beam>(&brief.catalogue->at(id).data);
    if (beam != nullptr && beam->width_p == 1 && beam->thickness_p == 1 && beam->length_p >= least &&
        beam->length_p <= most)
      out.push_back(id);
  }
  return out;
}

void count_search(const Powertrains& found, candidate::Proposal& out) {
  out.examined += found.examined;
  if (found.complete) return;
  out.complete = false;
  out.limit_text = found.limit_text;
}

Judged judged_of(const candidate::Evaluation& e, int drives) {
  const auto governs =
      std::min_element(e.margins.begin(), e.margins.end(),
                       [](const candidate::Margin& a, const candidate::Margin& b) { return a.ratio < b.ratio; });
  return {e.worst(),
          stepped_current_ma(e.running_current_ma / drives),
          governs->name,
          governs->capability,
          governs->requirement,
          governs->unit};
}

candidate::Margin ratio_margin(std::string name, double ratio, double need_nmm, std::string note) {
  const double capped = std::min(ratio, candidate::kMarginCap);
  candidate::Margin m = candidate::at_least(std::move(name), capped * need_nmm, need_nmm, "N mm", std::move(note));
  m.ratio = need_nmm > 0 ? std::max(0.0, capped) : candidate::kMarginCap;
  return m;
}

bool floor_allows(const std::string& kind, const std::vector<candidate::Margin>& margins, const std::string& roller,
                  candidate::RejectionLog& log) {
  bool good = true;
  for (const candidate::Margin& m : margins) {
    if (m.ratio >= candidate::kNearMiss) continue;
    good = false;
    std::string code = m.name;
    std::replace(code.begin(), code.end(), ' ', '_');
    log.add(kind + "." + code, m.requirement - m.capability, m.unit, [&] {
      return fmt::format("{} on {}: {}{}{} of {}{}{} asked ({}); no drive changes that", m.name, roller,
                         base::plain(m.capability), m.unit.empty() ? "" : " ", m.unit, base::plain(m.requirement),
                         m.unit.empty() ? "" : " ", m.unit, m.note);
    });
  }
  return good;
}

double rack_limit_nmm(const brief::Brief& brief, stock::ClassId pinion, stock::ClassId rack, double radius_mm,
                      double tooth_stress_mpa) {
  const auto& gear = std::get<stock::Gear>(brief.catalogue->at(pinion).data);
  const auto& toothed = std::get<stock::Rack>(brief.catalogue->at(rack).data);
  const double form = std::min(gearing::lewis_form_factor(gear.teeth), gearing::lewis_form_factor_rack());
  return radius_mm * gearing::tooth_load_n(tooth_stress_mpa, std::min(gear.face_width_mm, toothed.face_width_mm),
                                           brief.system().module_mm, form);
}

}  // namespace functions::drive
