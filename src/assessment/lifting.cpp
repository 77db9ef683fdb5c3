#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "assessment/changes.h"
#include "assessment/internal.h"
#include "assessment/undercarriage.h"
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

struct Model {
  balance::LiftingMachine machine;
  double slew_low_rad = 0, slew_high_rad = 0;
  double wanted_g = 0, wanted_radius_mm = 0;
  brief::Vec3 axis_mm;  ///< that radii count from
  std::string why_not;
  std::string note;  ///< what was left out
};

/// Where a body that runs out on a slide stops; null when none of the chosen functions moves it.
const candidate::Reaches* reaches_of(const std::vector<Chosen>& chosen, std::size_t body) {
  for (const Chosen& x : chosen) {
    if (x.candidate == nullptr || x.candidate->reaches.at_mm.empty()) continue;
    if (x.candidate->reaches.body == static_cast<int>(body)) return &x.candidate->reaches;
  }
  return nullptr;
}

/// Multiplies the postures by the stops of one body's joint; a body that does not move the hook, or one too many, stays
/// at `rests`.
void spread(Model& model, const std::string& id, std::size_t body, bool moves_hook, std::vector<double> stops,
            double per_unit, const char* unit, std::vector<balance::LiftPosture>& postures, double rests = 0) {
  const bool tried = moves_hook && stops.size() * postures.size() <= kMostPostures;
  if (!tried) stops = {rests};
  if (moves_hook && !tried)
    model.note +=
        fmt::format("{}\"{}\" is looked at at {} {} only, more than {} postures else", model.note.empty() ? "" : "; ",
                    id, base::plain(rests / per_unit, 3), unit, kMostPostures);
  std::vector<balance::LiftPosture> next;
  for (const balance::LiftPosture& p : postures) {
    for (const double stop : stops) {
      balance::LiftPosture q = p;
      q.joint[body] = stop;
      if (tried)
        q.name += fmt::format("{}{} at {} {}", q.name.empty() ? "" : ", ", id, base::plain(stop / per_unit, 3), unit);
      next.push_back(std::move(q));
    }
  }
  postures = std::move(next);
}

void add_postures(const brief::Brief& brief, const std::vector<Chosen>& chosen, Model& model) {
  balance::LiftingMachine& m = model.machine;
  std::vector<balance::LiftPosture> postures{{"", std::vector<double>(brief.bodies.size(), 0.0)}};
  for (std::size_t b = 0; b < brief.bodies.size(); ++b) {
    const brief::Joint& joint = brief.bodies[b].joint;
    const bool fixed = joint.type == brief::Joint::Type::fixed;
    const int own = static_cast<int>(b);
    if (const candidate::Reaches* r = fixed ? reaches_of(chosen, b) : nullptr) {
      m.bodies[b].weighed.body.joint = balance::Joint::slides;
      m.bodies[b].weighed.body.axis = to_balance(r->along);
      spread(model, brief.bodies[b].id, b, brief::hangs_on(brief, m.hook_body, own), r->at_mm, 1, "mm", postures);
      continue;
    }
    if (fixed || own == m.slew_body || own == m.luff_body) continue;
    const double low = std::min(joint.low_rad, joint.high_rad), high = std::max(joint.low_rad, joint.high_rad);
    std::vector<double> stops{std::clamp(0.0, low, high)};
    const bool between = own > m.luff_body && brief::hangs_on(brief, m.hook_body, own) && high - low > 1e-9;
    spread(model, brief.bodies[b].id, b, between, {low, (low + high) / 2, high}, kDeg, "deg", postures,
           std::clamp(0.0, low, high));
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
    const bool luffs = std::any_of(brief.bodies.begin(), brief.bodies.end(),
                                   [](const brief::Body& b) { return b.joint.type == brief::Joint::Type::pitch; });
    out.why_not = !luffs ? "no body of the project luffs: a boom is a body with joint = { type = \"pitch\", ... }"
                  : loads.empty() ? "no load hangs on a body that luffs: give load_g to a hoist, a luff or a grip"
                                  : "no load hangs on a body that luffs: what is carried hangs on \"" +
                                        brief.bodies[static_cast<std::size_t>(loads.front().body)].id + "\"";
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
  out.axis_mm = axis;
  out.wanted_g = load->mass_g;
  out.wanted_radius_mm = std::hypot(load->at_mm.x_mm - axis.x_mm, load->at_mm.y_mm - axis.y_mm);

  m.states = {undercarriage_of(brief, chosen).state};
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
    for (const candidate::Give& give : c->gives) {
      // Of several that tell one joint's, the softest counts: they speak of the same beams.
      balance::Curve& known = m.bodies.at(static_cast<std::size_t>(std::max(give.body, 0))).give;
      const auto softest = [](const std::vector<double>& v) {
        return v.empty() ? 0.0 : *std::max_element(v.begin(), v.end());
      };
      if (softest(give.rad_per_nmm) <= softest(known.value)) continue;
      known = give.at_rad.empty() ? balance::Curve::constant(give.rad_per_nmm.front())
                                  : balance::Curve{give.at_rad, give.rad_per_nmm};
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
  // Without a figure a joint counts as firm, which nobody should read as strong.
  for (int b = m.hook_body; b >= 0; b = body_at(b).parent) {
    if (body_at(b).joint.type != brief::Joint::Type::pitch) continue;
    const bool known = std::any_of(m.joint_limits.begin(), m.joint_limits.end(),
                                   [&](const balance::JointLimit& l) { return l.body == b; });
    if (!known)
      out.note += fmt::format("{}what holds \"{}\" at its pivot, which no function tells", out.note.empty() ? "" : "; ",
                              body_at(b).id);
  }
  if (m.slew_body < 0) measure_from(axis, m);
  add_postures(brief, chosen, out);
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

/// Ways that the slope it must lift on falls; one way, of no meaning, on the level.
std::vector<balance::Slope> slopes_of(const brief::Limits& limits) {
  if (!(limits.lifting_slope_rad > 0)) return {{}};
  if (limits.lifting_downhill_rad) return {{limits.lifting_slope_rad, *limits.lifting_downhill_rad}};
  // Between two of these ways the pull downhill is at most 1 - cos 15 deg = 3.4 % short of its greatest.
  constexpr int kWays = 12;
  std::vector<balance::Slope> out;
  for (int k = 0; k < kWays; ++k) out.push_back({limits.lifting_slope_rad, 2 * std::numbers::pi * k / kWays});
  return out;
}

/// Whether a cell is worse than another of the same place: out of reach first, then the smaller rated load.
bool worse(const balance::LiftCell& a, const balance::LiftCell& b) {
  return a.reached != b.reached ? !a.reached : a.rated_n < b.rated_n;
}

/// Best posture at its worst slewing angle, at the wanted radius or as near to it as the hook comes; `model` stands on
/// one slope.
Lifting::AtWanted at_wanted(const Model& model, int state, const std::vector<double>& slews, bool sagged,
                            const Options& control) {
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
    control.check();
    Lifting::AtWanted worst;
    worst.rated_g = std::numeric_limits<double>::infinity();
    for (const double slew_rad : slews) {
      const balance::LiftCell cell = lifter.cell(state, posture, slew_rad, radius_mm, reach);
      const double rated_g = cell.rated_n * kGramPerNewton;
      if (!cell.reached || rated_g >= worst.rated_g) continue;
      worst = {rated_g,
               static_cast<int>(cell.rated_governs),
               model.machine.postures[static_cast<std::size_t>(posture)].name,
               slew_rad / kDeg,
               model.machine.slope.downhill_rad / kDeg,
               0};
    }
    if (std::isfinite(worst.rated_g) && (best.posture.empty() || worst.rated_g > best.rated_g)) best = worst;
  }
  return best;
}

/// The same on the worst of several slopes.
Lifting::AtWanted at_wanted(Model& model, int state, const std::vector<double>& slews, bool sagged,
                            const std::vector<balance::Slope>& slopes, const Options& control) {
  std::optional<Lifting::AtWanted> worst;
  for (const balance::Slope& slope : slopes) {
    model.machine.slope = slope;
    Lifting::AtWanted at = at_wanted(model, state, slews, sagged, control);
    if (!worst || at.rated_g < worst->rated_g) worst = std::move(at);
  }
  return *worst;
}

}  // namespace

Lifting judge_lifting(const brief::Brief& brief, const std::vector<Chosen>& chosen, const std::vector<MassLine>& masses,
                      const Worlds& worlds, const Options& options, int jobs) {
  Lifting out;
  Model model = model_of(brief, chosen, masses, worlds);
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
  const std::vector<balance::Slope> slopes = slopes_of(brief.limits);
  out.slope_deg = brief.limits.lifting_slope_rad / kDeg;
  balance::LoadChart chart;
  for (const balance::Slope& slope : slopes) {
    if (out.slope_deg > 0) out.downhill_deg.push_back(slope.downhill_rad / kDeg);
    model.machine.slope = slope;
    options.check();
    balance::LoadChart here = balance::load_chart(m, axes, {}, jobs);
    if (chart.cells.empty()) {
      chart = std::move(here);
      continue;
    }
    for (std::size_t i = 0; i < chart.cells.size(); ++i)
      if (worse(here.cells[i], chart.cells[i])) chart.cells[i] = here.cells[i];
  }
  out.radius_mm = axes.radius_mm;
  for (const double s : slews) out.slew_deg.push_back(s / kDeg);
  out.cells.reserve(chart.cells.size());
  for (const balance::LiftCell& c : chart.cells) {
    out.cells.push_back({c.reached, c.greatest_n * kGramPerNewton, c.rated_n * kGramPerNewton,
                         c.rated_governs == balance::Limit::none ? -1 : static_cast<int>(c.rated_governs),
                         c.hook_height_mm, c.confidence});
  }
  out.axis_mm = model.axis_mm;
  balance::LiftingMachine level = m;
  level.slope = {};
  out.machine = std::make_shared<const balance::LiftingMachine>(std::move(level));
  out.chart = std::make_shared<const balance::LoadChart>(std::move(chart));
  for (std::size_t s = 0; s < m.states.size(); ++s) {
    options.check();
    Lifting::AtWanted at = at_wanted(model, static_cast<int>(s), slews, true, slopes, options);
    options.check();
    at.rigid_g = at_wanted(model, static_cast<int>(s), slews, false, slopes, options).rated_g;
    out.at_wanted.push_back(std::move(at));
  }
  return out;
}

std::vector<Finding> lifting_findings(const brief::Brief& brief, const std::vector<Chosen>& chosen,
                                      const Assessment& assessment, const Worlds& worlds, const Options& options,
                                      double left_parts_g) {
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
  // Feet that stand further in than the wheels, or raise the machine, can take off load.
  for (std::size_t s = 1; s < l.at_wanted.size(); ++s) {
    constexpr double kNoticed = 0.98;
    if (!(l.at_wanted[s].rated_g < kNoticed * l.at_wanted[0].rated_g)) continue;
    out.push_back(
        {Finding::Severity::note,
         "lifting.feet_lower",
         fmt::format("It lifts less {}: at {} mm {}; {}: {}.", l.states[s], base::plain(l.wanted_radius_mm, 3),
                     told(l.at_wanted[s]), l.states[0], told(l.at_wanted[0])),
         "",
         {{"rated " + l.states[0], l.at_wanted[0].rated_g, "g"}, {"rated " + l.states[s], l.at_wanted[s].rated_g, "g"}},
         {}});
  }
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
  Remedy lighter{fmt::format("lift no more than {} g there", base::plain(std::floor(at.rated_g))),
                 "load",
                 l.wanted_g,
                 std::floor(at.rated_g),
                 "g",
                 true};
  for (const Chosen& c : chosen) {
    const document::Node* load = c.candidate == nullptr ? nullptr : c.function->wants.find("load_g");
    if (load != nullptr && load->is_number() && load->number() > lighter.after && lighter.after > 0)
      lighter.amendments.push_back({"functions", c.function->id, "wants/load_g", number_value(lighter.after)});
  }
  f.remedies.push_back(std::move(lighter));

  const Setup machine(brief, chosen, assessment.masses);
  const auto rated_g = [&](const Setup& tried, const std::vector<balance::Slope>& slopes) {
    options.check();
    Model model = model_of(tried.brief, tried.chosen(), tried.masses, worlds);
    if (!model.why_not.empty()) return 0.0;
    return at_wanted(model, static_cast<int>(best), slews_of(model, options.chart_slews), true, slopes, options)
        .rated_g;
  };
  // Tried on the slope that is the worst now; what is told holds on all of them.
  const std::vector<balance::Slope> all = slopes_of(brief.limits),
                                    now{{brief.limits.lifting_slope_rad, at.downhill_deg * kDeg}};
  const Sought sought{"rated load", "g", at.rated_g, l.wanted_g,
                      [&](const Setup& tried) { return rated_g(tried, all.size() > 1 ? now : all); }};
  for (const auto& family : {moved_bodies(machine), ballast(machine, left_parts_g), larger_stands(machine)}) {
    std::optional<std::pair<const Change*, int>> done;
    std::optional<Remedy> remedy = best_of(machine, family, sought, &done);
    if (!remedy) continue;
    if (all.size() > 1) {
      Setup tried = machine;
      done->first->make(tried, done->second);
      remedy->after = rated_g(tried, all);
      remedy->enough = remedy->after >= l.wanted_g;
    }
    f.remedies.push_back(std::move(*remedy));
  }
  std::stable_sort(f.remedies.begin(), f.remedies.end(),
                   [](const Remedy& x, const Remedy& y) { return x.enough > y.enough; });
  out.push_back(std::move(f));
  return out;
}

}  // namespace assessment
