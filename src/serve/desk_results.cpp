// What the page asks about designs: jobs, results, explanations, drawings, charts.
#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "base/text.h"
#include "report/duty.h"
#include "report/ground.h"
#include "report/handset_study.h"
#include "report/json.h"
#include "report/load_chart.h"
#include "report/page.h"
#include "report/sheet.h"
#include "report/text.h"
#include "serve/desk.h"
#include "serve/json.h"

namespace serve {
namespace {

using Json = nlohmann::ordered_json;

constexpr const char* kSvg = "image/svg+xml";

Reply no_result() {
  return Reply::problem(404, "no design yet", "the first design of this project is still being computed.");
}

Reply no_machine() {
  return Reply::problem(404, "no machine yet", "no design serves all required functions; Findings tells why.");
}

/// A function and one of its candidates; or the reply that says which of the two is not there.
struct Named {
  std::size_t function = 0;
  const candidate::Candidate* candidate = nullptr;
  std::optional<Reply> unknown;
};

Named find(const design::Result& r, const std::string& function, const std::string& key) {
  Named out;
  std::vector<std::string> ids, keys;
  for (const design::FunctionResult& f : r.functions) ids.push_back(f.id);
  out.function = static_cast<std::size_t>(std::find(ids.begin(), ids.end(), function) - ids.begin());
  if (out.function == ids.size()) {
    const auto near = base::nearest_name(function, ids);
    out.unknown = Reply::problem(404, "no such function",
                                 fmt::format("there is no function {} in this design{}.", document::quoted(function),
                                             near ? "; did you mean " + *near + "?" : ""));
    return out;
  }
  const auto& candidates = r.functions[out.function].proposal.candidates;
  out.candidate = r.chosen(out.function);
  if (out.candidate == nullptr && !candidates.empty()) out.candidate = &candidates.front();
  if (key.empty()) return out;
  const auto at = std::find_if(candidates.begin(), candidates.end(), [&](const auto& c) { return c.key == key; });
  if (at == candidates.end()) {
    out.unknown = Reply::problem(404, "no such candidate",
                                 fmt::format("\"{}\" has no candidate {}.", function, document::quoted(key)));
    return out;
  }
  out.candidate = &*at;
  return out;
}

}  // namespace

Reply Desk::jobs() {
  std::string out = "[";
  for (const Job& j : runner_.jobs()) out += (out.size() > 1 ? "," : "") + job_json(j);
  return Reply::text(out + "]", "application/json");
}

Reply Desk::stop_job(int id) {
  if (!runner_.stop(id)) return Reply::problem(404, "no such job", fmt::format("there is no job {}.", id));
  return Reply::json({{"stopping", id}});
}

Reply Desk::result(bool sound) {
  const auto computed = sound ? runner_.sound() : runner_.latest();
  if (!computed) return no_result();
  // The design goes out byte for byte as the command prints it, so it is not parsed and written again.
  return Reply::text(fmt::format("{{\"revision\":{},\"design\":{}}}", computed->revision, *computed->json),
                     "application/json");
}

Reply Desk::explain(const std::string& function, const std::string& candidate) {
  const auto computed = runner_.sound();
  if (!computed) return no_result();
  Named named = find(*computed->result, function, candidate);
  if (named.unknown) return *named.unknown;
  return Reply::text(report::dumped(report::explain_json(*computed->result, named.function, candidate)),
                     "application/json");
}

Reply Desk::candidate_drawing(const std::string& function, const std::string& candidate) {
  const auto computed = runner_.sound();
  if (!computed) return no_result();
  Named named = find(*computed->result, function, candidate);
  if (named.unknown) return *named.unknown;
  if (named.candidate == nullptr)
    return Reply::problem(404, "nothing to draw", "this function has no candidate to draw.");
  return Reply::text(report::building_drawing(*named.candidate, computed->result->functions[named.function].id).str(),
                     kSvg);
}

Reply Desk::chart(int radii, int slews) {
  const auto now = snapshot();
  if (!now) return Reply::problem(404, "no project is open", "open one first.");
  const design::Options usual;
  if (radii == usual.chart_radii && slews == usual.chart_slews) {
    const auto computed = runner_.sound();
    if (!computed) return no_result();
    return Reply::text(report::dumped(report::chart_json(*computed->result)), "application/json");
  }
  const std::lock_guard one_at_a_time(chart_mutex_);
  design::Options options = runner_.options(now->named, now->text);
  options.front = false;
  options.chart_radii = radii;
  options.chart_slews = slews;
  const design::Result r = design::run(options, runner_.control());
  return Reply::text(report::dumped(report::chart_json(r)), "application/json");
}

Reply Desk::chart_drawing() {
  const auto computed = runner_.sound();
  if (!computed) return no_result();
  const design::Result& r = *computed->result;
  if (!r.assessed || !r.assessed->lifting.judged) {
    return Reply::problem(404, "no load chart", r.assessed ? r.assessed->lifting.why_not : "there is no design.");
  }
  return Reply::text(report::load_chart_sheet(r.assessed->lifting, r.brief->name).str(), kSvg);
}

Reply Desk::handset() {
  const auto computed = runner_.sound();
  if (!computed) return no_result();
  const design::Result& r = *computed->result;
  if (!r.assessed) return no_machine();
  return Reply::text(report::dumped(report::handset_document(r, report::handset_study(r), r.diagnostics, true)),
                     "application/json");
}

Reply Desk::duty_drawing() {
  constexpr double kWidth_px = 860;
  const auto computed = runner_.sound();
  if (!computed) return no_result();
  if (!computed->result->assessed) return no_machine();
  return Reply::text(report::duty_drawing(computed->result->assessed->power.duty, kWidth_px).str(), kSvg);
}

Reply Desk::ground_drawing() {
  constexpr double kWidth_px = 760;
  const auto computed = runner_.sound();
  if (!computed) return no_result();
  if (!computed->result->assessed) return no_machine();
  const assessment::Ground& ground = computed->result->assessed->ground;
  if (!ground.judged) return Reply::problem(404, "the ground was not judged", ground.why_not);
  return Reply::text(report::ground_drawing(ground, kWidth_px).str(), kSvg);
}

Reply Desk::site_drawing() {
  constexpr double kWidth_px = 760;
  const auto computed = runner_.sound();
  if (!computed) return no_result();
  if (!computed->result->assessed) return no_machine();
  const assessment::Assessment& assessed = *computed->result->assessed;
  if (!assessed.site.judged) return Reply::problem(404, "no site", assessed.site.why_not);
  return Reply::text(report::site_drawing(*computed->result->brief, assessed, kWidth_px).str(), kSvg);
}

Reply Desk::stance_with(const std::string& body, const brief::Vec3& centre) {
  const auto computed = runner_.sound();
  if (!computed) return no_result();
  const design::Result& r = *computed->result;
  if (!r.assessed) return no_machine();
  std::vector<assessment::MassLine> masses = r.assessed->masses;
  for (std::size_t b = 0; b < masses.size(); ++b) {
    if (masses[b].body != body) continue;
    // What is moved is where the project has the body; parts of functions that hang on it move with it.
    const brief::Vec3& from = r.brief->bodies[b].centre_mm;
    brief::Vec3& at = masses[b].centre_mm;
    at = {at.x_mm + centre.x_mm - from.x_mm, at.y_mm + centre.y_mm - from.y_mm, at.z_mm + centre.z_mm - from.z_mm};
    return Reply::json(report::json_of(assessment::stance_with(*r.brief, design::chosen_of(r), masses), *r.brief));
  }
  return Reply::problem(404, "no such body",
                        fmt::format("there is no body {} in this design.", document::quoted(body)));
}

Reply Desk::start_scale(const ScaleRequest& request) {
  const auto now = snapshot();
  if (!now) return Reply::problem(404, "no project is open", "open one first.");
  if (request.from > 0 && request.to > 0 && request.to < request.from)
    return Reply::problem(422, "no such range", "the smaller scale stands first.", "/to");
  design::ScaleOptions options;
  options.design = runner_.options(now->named, now->text);
  options.design.cache = nullptr;  // proposals of another scale are of no use to the designs between
  options.from = request.from;
  options.to = request.to;
  options.steps = request.steps;
  scale_.start(std::move(options), now->revision);
  Reply out = scale();
  out.status = 202;
  return out;
}

Reply Desk::scale() {
  return Reply::text(scale_.told(), "application/json");
}

Reply Desk::result_file(const std::string& name) {
  const auto computed = runner_.sound();
  if (!computed) return no_result();
  const design::Result& r = *computed->result;
  if (name == "report.txt")
    return Reply::text(report::design_text(r, report::TextOptions{}, true), "text/plain; charset=utf-8");
  if (name == "design.json") return Reply::text(*computed->json, "application/json");
  if (name == "sheet.svg") return Reply::text(report::sheet(r).str(), kSvg);
  if (name == "results.html") return Reply::text(report::results_page(r), "text/html; charset=utf-8");
  if (name == "guide.html" && r.assessed) {
    const report::HandsetStudy study = report::handset_study(r);
    return Reply::text(report::guide_page(report::view_of(r, study)), "text/html; charset=utf-8");
  }
  if (name == "chart.csv" && r.assessed && r.assessed->lifting.judged)
    return Reply::text(report::load_chart_csv(r.assessed->lifting), "text/csv; charset=utf-8");
  return Reply::problem(404, "no such file", fmt::format("this design has no file {}.", document::quoted(name)));
}

}  // namespace serve
