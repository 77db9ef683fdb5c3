#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "assessment/internal.h"
#include "balance/lifting.h"
#include "balance/load_chart.h"
#include "base/text.h"
#include "brief/body_tree.h"

namespace assessment {
namespace {

constexpr double kDeg = std::numbers::pi / 180;
/// Postures of the joints between the luffing boom and the hook: low, middle and high of each.
constexpr std::size_t kMostPostures = 27;
constexpr double kGramPerNewton = 1000 / balance::kGravity;

std::string limit_text(balance::Limit limit) {
  return limit == balance::Limit::sag ? "too soft to judge" : balance::name_of(limit);
}

/// Standard deviation of a margin over the draws, as a share of its nominal value.
double spread_of(const Worlds& worlds, std::size_t function, const candidate::Candidate& c, const std::string& margin) {
  const auto at = std::find_if(c.nominal.margins.begin(), c.nominal.margins.end(),
                               [&](const candidate::Margin& m) { return m.name == margin; });
  if (at == c.nominal.margins.end() || !(at->ratio > 0) || worlds.size() < 2) return 0;
  const auto m = static_cast<std::size_t>(at - c.nominal.margins.begin());
  double sum = 0, squares = 0;
  for (const auto& world : worlds) {
    const double ratio = world[function].margins[m].ratio;
    sum += ratio;
    squares += ratio * ratio;
  }
  const double n = static_cast<double>(worlds.size()), mean = sum / n;
  return std::sqrt(std::max(0.0, (squares - n * mean * mean) / (n - 1))) / at->ratio;
}

balance::Limit limit_of(candidate::Holding::Limit limit) {
  using From = candidate::Holding::Limit;
  switch (limit) {
    case From::luff:
      return balance::Limit::luff;
    case From::knuckle:
      return balance::Limit::knuckle;
    case From::slew:
      return balance::Limit::slew;
    case From::hoist:
      return balance::Limit::hoist;
    case From::tooth:
      return balance::Limit::tooth;
    case From::structure:
      return balance::Limit::structure;
  }
  return balance::Limit::structure;
}

/// Contacts of the machine as it drives: tracks press along two lines, everything else at points.
balance::SupportState ground_state(const brief::Brief& brief) {
  balance::SupportState out;
  const std::vector<brief::Vec3>& points = brief.support.points_mm;
  switch (brief.support.type) {
    case brief::Support::Type::tracks: {
      out.name = "on its tracks";
      for (const double side : {1.0, -1.0}) {
        double y_mm = 0, low_mm = std::numeric_limits<double>::infinity(), high_mm = -low_mm;
        for (const brief::Vec3& p : points) {
          if (side * p.y_mm <= 0) continue;
          y_mm = side * std::max(side * y_mm, side * p.y_mm);
          low_mm = std::min(low_mm, p.x_mm);
          high_mm = std::max(high_mm, p.x_mm);
        }
        if (low_mm < high_mm)
          out.supports.push_back({side > 0 ? "left track" : "right track", {low_mm, y_mm}, {high_mm, y_mm}});
      }
      if (out.supports.size() == 2) return out;
      out.supports.clear();
      break;
    }
    case brief::Support::Type::wheels:
      out.name = "on its wheels";
      break;
    case brief::Support::Type::feet:
      out.name = "on its feet";
      break;
    case brief::Support::Type::fixed_base:
      out.name = "on its base";
      break;
  }
  for (std::size_t i = 0; i < points.size(); ++i) {
    const balance::Point2 at{points[i].x_mm, points[i].y_mm};
    out.supports.push_back({fmt::format("contact {}", i + 1), at, at});
  }
  return out;
}

struct Model {
  balance::LiftingMachine machine;
  double slew_low_rad = 0, slew_high_rad = 0;
  double wanted_g = 0, wanted_radius_mm = 0;
  std::string why_not;
  std::string note;  ///< what was left out
};

void add_postures(const brief::Brief& brief, Model& model) {
  balance::LiftingMachine& m = model.machine;
  std::vector<balance::LiftPosture> postures{{"", std::vector<double>(brief.bodies.size(), 0.0)}};
  for (std::size_t b = 0; b < brief.bodies.size(); ++b) {
    const brief::Joint& joint = brief.bodies[b].joint;
    const bool fixed = joint.type == brief::Joint::Type::fixed;
    const int own = static_cast<int>(b);
    if (fixed || own == m.slew_body || own == m.luff_body) continue;
    const double low = std::min(joint.low_rad, joint.high_rad), high = std::max(joint.low_rad, joint.high_rad);
    std::vector<double> stops{std::clamp(0.0, low, high)};
    const bool between = own > m.luff_body && brief::hangs_on(brief, m.hook_body, own) && high - low > 1e-9;
    if (between && 3 * postures.size() <= kMostPostures) {
      stops = {low, (low + high) / 2, high};
    } else if (between) {
      model.note += fmt::format("{}\"{}\" is looked at at {} deg only, more than {} postures else",
                                model.note.empty() ? "" : "; ", brief.bodies[b].id, base::plain(stops[0] / kDeg, 3),
                                kMostPostures);
    }
    std::vector<balance::LiftPosture> next;
    for (const balance::LiftPosture& p : postures) {
      for (const double stop : stops) {
        balance::LiftPosture q = p;
        q.joint[b] = stop;
        if (between)
          q.name += fmt::format("{}{} at {} deg", q.name.empty() ? "" : ", ", brief.bodies[b].id,
                                base::plain(stop / kDeg, 3));
        next.push_back(std::move(q));
      }
    }
    postures = std::move(next);
  }
  for (balance::LiftPosture& p : postures)
    if (p.name.empty()) p.name = "as it stands";
  m.postures = std::move(postures);
}

/// Radii of a machine that does not slew are told from the frame's origin: puts that under a point.
void measure_from(const brief::Vec3& at, balance::LiftingMachine& m) {
  for (balance::LiftingBody& b : m.bodies) {
    if (b.weighed.body.parent >= 0) continue;
    b.weighed.body.origin = b.weighed.body.origin - balance::Vec3{at.x_mm, at.y_mm, 0};
  }
  for (balance::SupportState& state : m.states) {
    for (balance::Support& s : state.supports) {
      for (balance::Point2* p : {&s.from, &s.to}) *p = {p->x_mm - at.x_mm, p->y_mm - at.y_mm};
    }
  }
}

Model model_of(const brief::Brief& brief, const std::vector<Chosen>& chosen, const std::vector<MassLine>& masses,
               const Worlds& worlds) {
  Model out;
  balance::LiftingMachine& m = out.machine;
  // The load that hangs furthest out on a body that pitches; a hoist's before a boom's own.
  const candidate::Payload* load = nullptr;
  const std::vector<candidate::Payload> loads = loads_of(brief, chosen);
  const auto boom_under = [&](int body) {
    int boom = -1;
    for (int b = std::max(body, 0); b >= 0; b = brief.bodies[static_cast<std::size_t>(b)].parent)
      if (brief.bodies[static_cast<std::size_t>(b)].joint.type == brief::Joint::Type::pitch) boom = b;
    return boom;
  };
  for (const candidate::Payload& p : loads) {
    if (boom_under(p.body) < 0) continue;
    if (load == nullptr || p.body > load->body) load = &p;
  }
  if (load == nullptr) {
    out.why_not = "no load hangs on a body that luffs";
    return out;
  }
  m.hook_body = load->body;
  m.luff_body = boom_under(load->body);
  for (int b = brief.bodies[static_cast<std::size_t>(m.luff_body)].parent; b >= 0;
       b = brief.bodies[static_cast<std::size_t>(b)].parent) {
    if (brief.bodies[static_cast<std::size_t>(b)].joint.type == brief::Joint::Type::slew) m.slew_body = b;
  }
  const auto body_at = [&](int b) -> const brief::Body& { return brief.bodies[static_cast<std::size_t>(b)]; };
  const brief::Joint& luff = body_at(m.luff_body).joint;
  m.luff_low_rad = std::min(luff.low_rad, luff.high_rad);
  m.luff_high_rad = std::max(luff.low_rad, luff.high_rad);
  if (m.slew_body >= 0) {
    out.slew_low_rad = body_at(m.slew_body).joint.low_rad;
    out.slew_high_rad = body_at(m.slew_body).joint.high_rad;
  }
  for (std::size_t b = 0; b < brief.bodies.size(); ++b) {
    balance::LiftingBody body;
    body.weighed.body = balance_body(brief, b, masses[b]);
    body.weighed.source = masses[b].estimate ? balance::MassSource::estimated : balance::MassSource::measured;
    body.weighed.mass_sd_g = balance::sd_of(masses[b].mass_g);
    m.bodies.push_back(std::move(body));
  }
  m.hook = to_balance(load->at_mm) - to_balance(body_at(load->body).joint.pivot_mm);
  const brief::Vec3 axis = body_at(m.slew_body >= 0 ? m.slew_body : m.luff_body).joint.pivot_mm;
  out.wanted_g = load->mass_g;
  out.wanted_radius_mm = std::hypot(load->at_mm.x_mm - axis.x_mm, load->at_mm.y_mm - axis.y_mm);

  m.states = {ground_state(brief)};
  for (std::size_t f = 0; f < chosen.size(); ++f) {
    const candidate::Candidate* c = chosen[f].candidate;
    if (c == nullptr) continue;
    m.tare_n = std::max(m.tare_n, balance::weight_n(c->tare_g));
    if (!c->stands_on_mm.empty()) {
      balance::SupportState feet;
      feet.name = fmt::format("with \"{}\" down", chosen[f].function->id);
      feet.tipping_share = balance::kOutriggerShare;
      for (std::size_t i = 0; i < c->stands_on_mm.size(); ++i) {
        const balance::Point2 at{c->stands_on_mm[i].x_mm, c->stands_on_mm[i].y_mm};
        feet.supports.push_back({fmt::format("foot {}", i + 1), at, at});
      }
      m.states.push_back(std::move(feet));
    }
    for (const candidate::Holding& h : c->holdings) {
      const std::string name = fmt::format("\"{}\": {}", chosen[f].function->id, h.name);
      const double spread = spread_of(worlds, f, *c, h.margin);
      const bool at_hook = h.at_rad.empty() && (h.limit == candidate::Holding::Limit::hoist || h.body == m.hook_body) &&
                           h.limit != candidate::Holding::Limit::slew;
      if (at_hook) {
        if (h.body != m.hook_body) continue;  // another hook
        m.payload_limits.push_back(
            {limit_of(h.limit), name, [n = h.holds.front()](const balance::LiftPose&) { return n; }, spread});
        continue;
      }
      if (!brief::hangs_on(brief, m.hook_body, h.body)) continue;
      balance::Curve holds =
          h.at_rad.empty() ? balance::Curve::constant(h.holds.front()) : balance::Curve{h.at_rad, h.holds};
      m.joint_limits.push_back({limit_of(h.limit), name, h.body, std::move(holds), spread});
    }
  }
  if (m.slew_body < 0) measure_from(axis, m);
  add_postures(brief, out);
  out.why_not = balance::fault_of(m);
  return out;
}

std::vector<double> slews_of(const Model& model, int whole_turn) {
  if (model.machine.slew_body < 0) return {0};
  const double span = model.slew_high_rad - model.slew_low_rad;
  const bool whole = span >= 2 * std::numbers::pi - 1e-9;
  const int steps = std::max(1, static_cast<int>(std::ceil(whole_turn * span / (2 * std::numbers::pi) - 1e-9)));
  std::vector<double> out;
  for (int i = 0; i < (whole ? steps : steps + 1); ++i) out.push_back(model.slew_low_rad + span * i / steps);
  return out;
}

/// Best posture at its worst slewing angle, at the wanted radius or as near to it as the hook comes.
Lifting::AtWanted at_wanted(const Model& model, int state, const std::vector<double>& slews, bool sagged) {
  balance::LiftOptions options;
  options.sagged = sagged;
  balance::Lifter lifter(model.machine, options);
  const auto nearest_mm = [&](int posture) {
    const auto [low_mm, high_mm] = lifter.radius_range_mm(posture);
    return std::clamp(model.wanted_radius_mm, low_mm, high_mm);
  };
  const int postures = static_cast<int>(model.machine.postures.size());
  double short_mm = std::numeric_limits<double>::infinity();
  for (int p = 0; p < postures; ++p) short_mm = std::min(short_mm, std::fabs(nearest_mm(p) - model.wanted_radius_mm));
  Lifting::AtWanted best;
  for (int posture = 0; posture < postures; ++posture) {
    const double radius_mm = nearest_mm(posture);
    // A posture that does not come as near says nothing about the wanted radius.
    if (std::fabs(radius_mm - model.wanted_radius_mm) > short_mm + 1e-6) continue;
    const balance::Lifter::Reach reach = lifter.reach(posture, radius_mm);
    if (!reach.reached) continue;
    Lifting::AtWanted worst;
    worst.rated_g = std::numeric_limits<double>::infinity();
    for (const double slew_rad : slews) {
      const balance::LiftCell cell = lifter.cell(state, posture, slew_rad, radius_mm, reach);
      const double rated_g = cell.rated_n * kGramPerNewton;
      if (!cell.reached || rated_g >= worst.rated_g) continue;
      worst = {rated_g, static_cast<int>(cell.rated_governs),
               model.machine.postures[static_cast<std::size_t>(posture)].name, slew_rad / kDeg, 0};
    }
    if (std::isfinite(worst.rated_g) && (best.posture.empty() || worst.rated_g > best.rated_g)) best = worst;
  }
  return best;
}

}  // namespace

Lifting judge_lifting(const brief::Brief& brief, const std::vector<Chosen>& chosen, const std::vector<MassLine>& masses,
                      const Worlds& worlds, const Options& options, int jobs) {
  Lifting out;
  const Model model = model_of(brief, chosen, masses, worlds);
  out.why_not = model.why_not;
  if (!out.why_not.empty()) return out;
  const balance::LiftingMachine& m = model.machine;
  out.judged = true;
  out.note = model.note;
  out.radius_from = m.slew_body >= 0 ? "slewing axis" : "luffing pivot";
  out.hook_on = brief.bodies[static_cast<std::size_t>(m.hook_body)].id;
  out.wanted_g = model.wanted_g;
  out.wanted_radius_mm = model.wanted_radius_mm;
  for (const balance::SupportState& s : m.states) out.states.push_back(s.name);
  for (const balance::LiftPosture& p : m.postures) out.postures.push_back(p.name);
  for (int i = 0; i <= static_cast<int>(balance::Limit::sag); ++i)
    out.limits.push_back(limit_text(static_cast<balance::Limit>(i)));

  const std::vector<double> slews = slews_of(model, options.chart_slews);
  balance::ChartAxes axes = balance::even_axes(m, options.chart_radii, 1, 0, 0);
  axes.slew_rad = slews;
  const balance::LoadChart chart = balance::load_chart(m, axes, {}, jobs);
  out.radius_mm = axes.radius_mm;
  for (const double s : slews) out.slew_deg.push_back(s / kDeg);
  out.cells.reserve(chart.cells.size());
  for (const balance::LiftCell& c : chart.cells) {
    out.cells.push_back({c.reached, c.greatest_n * kGramPerNewton, c.rated_n * kGramPerNewton,
                         c.rated_governs == balance::Limit::none ? -1 : static_cast<int>(c.rated_governs),
                         c.hook_height_mm, c.confidence});
  }
  for (std::size_t s = 0; s < m.states.size(); ++s) {
    Lifting::AtWanted at = at_wanted(model, static_cast<int>(s), slews, true);
    at.rigid_g = at_wanted(model, static_cast<int>(s), slews, false).rated_g;
    out.at_wanted.push_back(std::move(at));
  }
  return out;
}

std::vector<Finding> lifting_findings(const brief::Brief& brief, const std::vector<Chosen>& chosen,
                                      const Assessment& assessment, const Worlds& worlds, const Options& options) {
  const Lifting& l = assessment.lifting;
  std::vector<Finding> out;
  if (!l.judged || !(l.wanted_g > 0)) return out;
  const auto enough = [&](const Lifting::AtWanted& at) { return at.rated_g >= l.wanted_g * (1 - 1e-9); };
  const auto good = std::find_if(l.at_wanted.begin(), l.at_wanted.end(), enough);
  const auto told = [&](const Lifting::AtWanted& at) {
    return fmt::format("{} g, limited by {}{}, {}", base::plain(at.rated_g, 3),
                       at.governs > 0 ? l.limits[static_cast<std::size_t>(at.governs)] : "nothing",
                       l.slew_deg.size() > 1 ? fmt::format(", slewed to {} deg", base::plain(at.slew_deg, 3)) : "",
                       at.posture);
  };
  if (good == l.at_wanted.begin()) return out;
  if (good != l.at_wanted.end()) {
    const std::size_t state = static_cast<std::size_t>(good - l.at_wanted.begin());
    out.push_back({Finding::Severity::note,
                   "lifting.feet_needed",
                   fmt::format("The wanted {} g at {} mm are within the rated load all round only {}; {}: {}.",
                               base::plain(l.wanted_g, 3), base::plain(l.wanted_radius_mm, 3), l.states[state],
                               l.states[0], told(l.at_wanted[0])),
                   "",
                   {{"rated " + l.states[0], l.at_wanted[0].rated_g, "g"},
                    {"rated " + l.states[state], good->rated_g, "g"},
                    {"wanted", l.wanted_g, "g"}},
                   {}});
    return out;
  }
  std::size_t best = 0;
  for (std::size_t s = 1; s < l.at_wanted.size(); ++s)
    if (l.at_wanted[s].rated_g > l.at_wanted[best].rated_g) best = s;
  const Lifting::AtWanted& at = l.at_wanted[best];
  Finding f{Finding::Severity::warning,
            "lifting.below_wanted",
            fmt::format("The wanted {} g at {} mm exceed the rated load all round; {}: {}.", base::plain(l.wanted_g, 3),
                        base::plain(l.wanted_radius_mm, 3), l.states[best], told(at)),
            "",
            {{"rated load", at.rated_g, "g"}, {"wanted", l.wanted_g, "g"}},
            {}};
  f.remedies.push_back({fmt::format("lift no more than {} g there", base::plain(std::floor(at.rated_g))), "load",
                        l.wanted_g, std::floor(at.rated_g), "g", true});

  constexpr int kMostPitches = 8;
  const double pitch_mm = brief.system().pitch_mm;
  std::optional<Remedy> moved;
  for (int k = 1; k <= kMostPitches && !(moved && moved->enough); ++k) {
    for (std::size_t b = 1; b < brief.bodies.size(); ++b) {
      if (brief.bodies[b].joint.type != brief::Joint::Type::fixed) continue;
      for (const int sign : {-1, 1}) {
        std::vector<MassLine> masses = assessment.masses;
        masses[b].centre_mm.x_mm += sign * k * pitch_mm;
        const Model model = model_of(brief, chosen, masses, worlds);
        const double after_g =
            at_wanted(model, static_cast<int>(best), slews_of(model, options.chart_slews), true).rated_g;
        if (after_g <= (moved ? moved->after : at.rated_g) + 1e-6) continue;
        moved = Remedy{fmt::format("move \"{}\" {} pitch{} {}", brief.bodies[b].id, k, k == 1 ? "" : "es",
                                   sign < 0 ? "back" : "forward"),
                       "rated load",
                       at.rated_g,
                       after_g,
                       "g",
                       after_g >= l.wanted_g};
      }
    }
  }
  if (moved) f.remedies.insert(f.remedies.begin() + (moved->enough ? 0 : 1), *moved);
  if (!moved || !moved->enough) f.text += fmt::format(" No body moved by {} pitches or less is enough.", kMostPitches);
  out.push_back(std::move(f));
  return out;
}

}  // namespace assessment
