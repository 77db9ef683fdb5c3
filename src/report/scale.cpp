#include "report/scale.h"

#include <fmt/format.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "base/text.h"
#include "report/json.h"

namespace report {
namespace {

using base::plain;
using Align = Table::Align;
using Json = nlohmann::ordered_json;

std::string size_text(const design::ScaleAt& at) {
  if (!(at.length_mm > 0)) return "";
  std::string out = plain(std::round(at.length_mm));
  for (const double more_mm : {at.width_mm, at.height_mm})
    if (more_mm > 0) out += " x " + plain(std::round(more_mm));
  return out;
}

std::string verdict_of(const design::ScaleAt& at) {
  if (!at.bad_input.empty()) return "cannot be read: " + at.bad_input;
  std::string failing;
  for (const auto& f : at.functions) {
    if (f.served || !f.required) continue;
    failing += fmt::format("{}\"{}\" fails: {}", failing.empty() ? "" : "; ", f.id, f.why);
  }
  if (!failing.empty()) return failing;
  if (!at.feasible) return "each function for itself, but not all from one stock";
  return fmt::format("feasible, worst margin {}{}", plain(at.worst_margin, 3), at.proven ? "" : ", not proven best");
}

}  // namespace

std::string scale_text(const design::ScaleStudy& s, const TextOptions& o) {
  std::string out = heading("Scale of " + s.name, o);
  Table parts;
  parts.column("dimension");
  parts.column("real mm", Align::right);
  parts.column("part", Align::left, true);
  parts.column("mm", Align::right);
  parts.column("is true at 1 to", Align::right);
  for (const design::PartScale& p : s.parts)
    parts.row({p.dimension, plain(p.real_mm), p.part, plain(p.part_mm, 3),
               (p.at_most ? "at most " : "") + plain(p.scale, 3)});
  if (!parts.empty()) out += parts.str(o);
  Table t;
  t.column("1 to", Align::right);
  t.column("model mm");
  t.column("parts off by", Align::right);
  t.column("what works", Align::left, true);
  for (std::size_t i = 0; i < s.scales.size(); ++i) {
    const design::ScaleAt& at = s.scales[i];
    const bool own = std::fabs(at.factor - 1) < 1e-9;
    t.row({plain(at.scale, 3) + (own ? " *" : ""), size_text(at),
           at.mismatches.empty() ? "" : plain(100 * at.worst_mismatch, 3) + " %", verdict_of(at)},
          static_cast<int>(i) == s.best ? Tint::good
          : at.feasible                 ? Tint::none
                                        : Tint::warm);
  }
  out += t.str(o);
  out += paragraph(
      "  ", "* = the project as it is written; masses and loads go with the cube of the size, speeds with the size.",
      o);
  if (s.best >= 0) {
    const design::ScaleAt& at = s.scales[static_cast<std::size_t>(s.best)];
    std::string why;
    for (const design::Mismatch& m : at.mismatches) {
      why += fmt::format("{}{} {} mm for {} mm ({}{} %)", why.empty() ? "" : ", ", m.dimension, plain(m.part_mm, 3),
                         plain(m.wanted_mm, 3), m.share >= 0 ? "+" : "", plain(100 * m.share, 2));
    }
    out += paragraph("  ",
                     fmt::format("Best: 1 to {}; of the scales that work the one whose parts are nearest to true{}.",
                                 plain(at.scale, 3), why.empty() ? "" : ": " + why),
                     o);
  } else {
    out += paragraph(
        "  ", s.stopped ? "Stopped before any scale was found to work." : "No scale that was looked at works.", o);
  }
  if (s.stopped) out += paragraph("  ", "Stopped before the end: scales are missing.", o);
  return out;
}

Json scale_json(const design::ScaleStudy& s) {
  const auto number = [](double x) { return std::isfinite(x) ? Json(rounded(x)) : Json(nullptr); };
  Json parts = Json::array(), scales = Json::array();
  for (const design::PartScale& p : s.parts) {
    parts.push_back({{"dimension", p.dimension},
                     {"part", p.part},
                     {"real_mm", number(p.real_mm)},
                     {"part_mm", number(p.part_mm)},
                     {"scale", number(p.scale)},
                     {"at_most", p.at_most}});
  }
  for (const design::ScaleAt& at : s.scales) {
    Json functions = Json::array(), mismatches = Json::array();
    for (const auto& f : at.functions) {
      functions.push_back(
          {{"id", f.id}, {"required", f.required}, {"served", f.served}, {"margin", number(f.worst)}, {"why", f.why}});
    }
    for (const design::Mismatch& m : at.mismatches) {
      mismatches.push_back({{"dimension", m.dimension},
                            {"part", m.part},
                            {"wanted_mm", number(m.wanted_mm)},
                            {"part_mm", number(m.part_mm)},
                            {"share", number(m.share)}});
    }
    scales.push_back({{"scale", number(at.scale)},
                      {"factor", number(at.factor)},
                      {"bad_input", at.bad_input},
                      {"length_mm", number(at.length_mm)},
                      {"width_mm", number(at.width_mm)},
                      {"height_mm", number(at.height_mm)},
                      {"feasible", at.feasible},
                      {"proven", at.proven},
                      {"worst_margin", number(at.worst_margin)},
                      {"worst_mismatch", number(at.worst_mismatch)},
                      {"functions", std::move(functions)},
                      {"mismatches", std::move(mismatches)}});
  }
  return {{"format", "kitwright.scale"},
          {"version", kFormatVersion},
          {"status", s.bad_input   ? "bad_input"
                     : s.best >= 0 ? "feasible"
                                   : "infeasible"},
          {"stopped", s.stopped},
          {"diagnostics", json_of(s.diagnostics)},
          {"own_scale", number(s.own_scale)},
          {"parts", std::move(parts)},
          {"scales", std::move(scales)},
          {"best_scale", s.best < 0 ? Json(nullptr) : number(s.scales[static_cast<std::size_t>(s.best)].scale)}};
}

}  // namespace report
