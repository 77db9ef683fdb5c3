#include "report/text.h"

#include <fmt/format.h>

#include <algorithm>

#include "base/text.h"
#include "report/bench.h"
#include "report/building.h"
#include "report/duty.h"
#include "report/ground.h"
#include "report/json.h"
#include "report/load_chart.h"
#include "report/looks.h"

namespace report {
namespace {

using base::plain;
using Align = Table::Align;

std::string percent(double share) {
  return plain(100 * share, 3) + " %";
}

std::string interval(const base::Triple& t, int digits = 3) {
  return plain(t.low, digits) + " to " + plain(t.high, digits);
}

/// The margin that limits a candidate; null when it has none.
const candidate::Margin* weakest(const candidate::Candidate& c) {
  const auto least = std::min_element(c.nominal.margins.begin(), c.nominal.margins.end(),
                                      [](const auto& a, const auto& b) { return a.ratio < b.ratio; });
  return least == c.nominal.margins.end() ? nullptr : &*least;
}

std::string amount(double value, const std::string& unit) {
  return plain(value, 3) + (unit.empty() ? "" : " " + unit);
}

std::string margin_text(const candidate::Margin& m) {
  std::string out = m.name + ": " + amount(m.capability, m.unit);
  if (m.requirement != 0) out += ", asked " + amount(m.requirement, m.unit);
  if (!m.note.empty()) out += ", " + m.note;
  return out;
}

std::string ratio_text(double ratio) {
  return ratio >= candidate::kMarginCap ? "ample" : plain(ratio, 3);
}

std::string ratio_interval(const base::Triple& t) {
  if (t.low >= candidate::kMarginCap) return "ample";
  return ratio_text(t.low) + " to " + ratio_text(t.high);
}

/// Why nothing is decided, for a result whose status is "undecided".
std::string undecided_text(const design::Result& r) {
  if (r.stopped) return "The search was stopped before it knew whether anything fits.";
  if (!r.allocated->gap_text.empty()) return r.allocated->gap_text;
  return "Nothing fits among the candidates that were computed, but not all of them were: see below.";
}

std::string head(const design::Result& r, const TextOptions& o) {
  const brief::Brief& b = *r.brief;
  std::string out = tinted(b.name.empty() ? b.folder : b.name, Tint::strong, o) + "\n";
  if (!b.description.empty()) out += paragraph("", b.description, o);
  out += fmt::format("kit system {}, stock {}: {} part types, {} parts\n", b.system().name, b.stock->file,
                     b.stock->types.size(), b.stock->pieces());
  return out;
}

std::string verdict(const design::Result& r, const TextOptions& o) {
  const design::Allocated& a = *r.allocated;
  if (!a.feasible) {
    if (status_of(r) == "undecided") {
      return "\n" + tinted("UNDECIDED", Tint::warm, o) + ": " + undecided_text(r) + "\n";
    }
    return "\n" + tinted("INFEASIBLE", Tint::bad, o) + ": nothing in this stock meets every want.\n";
  }
  std::string out = "\n" + tinted("FEASIBLE", Tint::good, o);
  if (r.proven_best()) {
    out += ", proven best of the candidates listed.\n";
  } else if (a.gap_text.empty()) {
    const std::vector<std::string> cut = r.incomplete();
    out += fmt::format(", best of the candidates listed; the list of {} is not complete, see below.\n",
                       base::list_text(cut));
  } else {
    out += ". " + a.gap_text + "\n";
  }
  std::string line = "worst margin " + ratio_text(a.worst_margin);
  if (r.assessed) {
    const assessment::Assessment& s = *r.assessed;
    if (s.certainty.draws > 0) {
      line += fmt::format(" · confidence {} of {} draws", percent(s.certainty.confidence), s.certainty.draws);
    }
    line += fmt::format(" · mass {}{} g", s.mass_is_estimate ? "about " : "", plain(s.mass_g, 3));
    line += fmt::format(" · {} parts taken, {} kept back, {} left", s.parts_used, s.parts_reserved, s.parts_left);
    const auto problems = std::count_if(s.findings.begin(), s.findings.end(), [](const assessment::Finding& f) {
      return f.severity == assessment::Finding::Severity::problem;
    });
    if (problems > 0) {
      line += "\n" + tinted(fmt::format("{} problem{} of the whole model: see the findings", problems,
                                        problems == 1 ? "" : "s"),
                            Tint::bad, o);
    }
  }
  return out + line + "\n";
}

std::string functions_section(const design::Result& r, const TextOptions& o) {
  std::string out = heading("Functions", o);
  Table t;
  t.column("function");
  t.column("kind");
  t.column("margin", Align::right);
  t.column("5 to 95 %", Align::right);
  t.column("sure", Align::right);
  t.column("limited by", Align::left, true);
  std::string how;
  for (std::size_t f = 0; f < r.functions.size(); ++f) {
    const design::FunctionResult& fn = r.functions[f];
    const candidate::Candidate* c = r.chosen(f);
    if (c == nullptr) {
      t.row({fn.id, fn.kind, "-", "", "", "left out (wished)"}, Tint::faint);
      continue;
    }
    const candidate::Margin* least = weakest(*c);
    std::string spread, sure;
    if (r.assessed && r.assessed->certainty.draws > 0) {
      const auto& certainty = r.assessed->certainty.functions[f];
      sure = percent(certainty.confidence);
      if (least != nullptr)
        spread = ratio_interval(certainty.ratio[static_cast<std::size_t>(least - c->nominal.margins.data())]);
    }
    t.row({fn.id, fn.kind, ratio_text(c->nominal.worst()), spread, sure, least ? margin_text(*least) : ""},
          c->nominal.worst() < 1 ? Tint::bad : Tint::none);
    how += paragraph(fmt::format("  {}: ", fn.id), c->title, o);
  }
  return out + t.str(o) + heading("How they are built", o) + how;
}

std::string balance_section(const assessment::Assessment& s, const TextOptions& o) {
  std::string out = heading("Mass and balance", o);
  Table t;
  t.column("body");
  t.column("mass g", Align::right);
  t.column("low to high", Align::right);
  t.column("from", Align::left, true);
  for (const assessment::MassLine& m : s.masses) {
    t.row({m.body, plain(m.mass_g.nominal, 4), interval(m.mass_g),
           m.estimate ? fmt::format("estimate: chosen parts {} g, kept back {} g, the rest {} g", plain(m.parts_g, 3),
                                    plain(m.reserve_g, 3), plain(m.fill_g, 3))
                      : "entered"});
  }
  t.row({"whole", plain(s.mass_g, 4), interval(s.mass_interval_g), s.mass_is_estimate ? "estimate" : "entered"});
  out += t.str(o);
  out += fmt::format("  centre of gravity: x {} mm, y {} mm, z {} mm (all joints at zero, no load)\n",
                     plain(s.centre_mm.x_mm, 3), plain(s.centre_mm.y_mm, 3), plain(s.centre_mm.z_mm, 3));
  const assessment::Stance& st = s.stance;
  if (!st.judged) return out + paragraph("  tipping: ", "not judged, " + st.why_not, o);
  out += paragraph(
      "  tipping: ",
      fmt::format("at {} deg ({}) towards {} deg (0 front, 90 left), {}; {} postures looked at{}",
                  plain(st.least_deg, 3), interval(st.least_interval_deg), plain(st.least_direction_deg, 3),
                  st.worst_text, st.postures, st.load_g > 0 ? fmt::format(", load {} g in all", plain(st.load_g)) : ""),
      o);
  return out;
}

std::string power_section(const design::Result& r, const TextOptions& o) {
  const assessment::Power& p = r.assessed->power;
  if (p.ports.empty()) return "";
  std::string out = heading("Power", o);
  Table t;
  t.column("socket");
  t.column("function");
  t.column("running mA", Align::right);
  t.column("stalled mA", Align::right);
  t.column("socket gives mA", Align::right);
  for (const assessment::PortUse& u : p.ports) {
    t.row({p.hub_limit_ma.size() > 1 ? fmt::format("hub {} / {}", u.hub + 1, u.port) : fmt::format("{}", u.port),
           u.function, plain(u.running_ma, 3), plain(u.stall_ma, 3), plain(u.limit_ma, 3)},
          u.running_ma > u.limit_ma ? Tint::bad : Tint::none);
  }
  out += t.str(o);
  double limit_ma = 0;
  for (const double l : p.hub_limit_ma) limit_ma += l;
  out += paragraph("  ",
                   fmt::format("all at once {} mA of {} mA; {} mA on average with the duties asked for",
                               plain(p.running_ma, 3), plain(limit_ma, 3), plain(p.average_ma, 3)),
                   o);
  if (p.run_time_min.nominal > 0) {
    out += p.duty.run_time_open
               ? fmt::format("  run time more than {} min\n", plain(p.run_time_min.nominal, 4))
               : fmt::format("  run time {} min ({})\n", plain(p.run_time_min.nominal, 3), interval(p.run_time_min));
  }
  return out + duty_text(p.duty, o);
}

std::string parts_section(const design::Result& r, const TextOptions& o) {
  std::string out = heading("Parts taken", o);
  Table t;
  t.column("part", Align::left, true);
  t.column("colour");
  t.column("stock", Align::right);
  t.column("taken", Align::right);
  t.column("kept back", Align::right);
  t.column("left", Align::right);
  for (const assessment::PartLine& p : r.assessed->parts) {
    if (p.used == 0 && p.reserved == 0) continue;
    t.row({p.name, p.colour, fmt::format("{}", p.stock), fmt::format("{}", p.used), fmt::format("{}", p.reserved),
           fmt::format("{}", p.left())},
          p.left() == 0 ? Tint::warm : Tint::none);
  }
  return out + t.str(o);
}

std::string findings_section(const std::vector<assessment::Finding>& findings, const TextOptions& o) {
  if (findings.empty()) return "";
  std::string out = heading("Findings", o);
  for (const assessment::Finding& f : findings) {
    const Tint tint = f.severity == assessment::Finding::Severity::problem   ? Tint::bad
                      : f.severity == assessment::Finding::Severity::warning ? Tint::warm
                                                                             : Tint::none;
    std::string text = paragraph(fmt::format("  {:<8} ", assessment::name_of(f.severity)), f.text, o);
    const std::string word = assessment::name_of(f.severity);
    if (o.colour) text.replace(2, word.size(), tinted(word, tint, o));
    out += text;
    for (const assessment::Remedy& m : f.remedies) {
      const std::string unit = m.unit.empty() ? "" : " " + m.unit;
      const auto told = [&](double value) { return plain(value, 3) + unit; };
      out += paragraph("           tried: ",
                       fmt::format("{}: {} {} instead of {}, {}", m.text, m.what, told(m.after), told(m.before),
                                   m.enough ? "enough" : "not enough"),
                       o);
      for (const assessment::Amendment& a : m.amendments) {
        out += paragraph("             edit: ", assessment::text_of(a), o);
      }
    }
  }
  return out;
}

/// The usual cautions for what the chosen design has in it.
std::string cautions_section(const design::Result& r, const TextOptions& o) {
  bool loaded = false, moves = false;
  for (std::size_t f = 0; f < r.functions.size(); ++f) {
    const candidate::Candidate* c = r.chosen(f);
    if (c == nullptr) continue;
    loaded = loaded || !c->payloads.empty();
    moves = moves || c->demand.ports > 0;
  }
  std::string out = heading("Cautions", o);
  const auto say = [&](std::string_view text) { out += paragraph("  - ", text, o); };
  if (moves) {
    say("Moving arms, actuators and open gears pinch and shear: keep fingers, long hair and loose sleeves away.");
    say("A stalled motor gets hot, and so do its wires: switch off, do not hold it against a stop.");
    say("Cells: mind the polarity, never short them, do not mix old and new or different ones, charge only what is "
        "made "
        "for it.");
  }
  if (loaded) {
    say("A wound rope and a raised load store energy: nobody below, and lower the load before working on the model.");
    say("All figures are for this model. Nothing here is for lifting or carrying anything real; there local rules and "
        "qualified people decide.");
  }
  say("Small parts: not within reach of young children.");
  return out;
}

std::string front_section(const design::Result& r, const TextOptions& o, bool whole) {
  if (r.front.empty()) return "";
  std::string out = heading("Trade-offs (worst margin, mass of the taken parts, parts left)", o);
  Table t;
  t.column("");
  t.column("margin", Align::right);
  t.column("parts g", Align::right);
  t.column("left", Align::right);
  t.column("differs in", Align::left, true);
  constexpr std::size_t kShown = 8;
  std::size_t shown = 0;
  const std::vector<int>& base_choice = r.allocated->choice;
  for (const design::FrontPoint& p : r.front) {
    if (!whole && shown == kShown) break;
    ++shown;
    std::vector<std::string> changes;
    for (std::size_t f = 0; f < p.choice.size(); ++f) {
      if (f < base_choice.size() && p.choice[f] != base_choice[f]) {
        changes.push_back(p.choice[f] < 0 ? "no " + r.functions[f].id : r.functions[f].id);
      }
    }
    t.row({p.chosen ? "*" : "", ratio_text(p.worst_margin), plain(p.parts_mass_g, 4), fmt::format("{}", p.parts_left),
           p.chosen ? "this design" : base::list_text(changes)},
          p.chosen ? Tint::strong : Tint::none);
  }
  out += t.str(o);
  if (shown < r.front.size()) out += fmt::format("  {} more: add --front\n", r.front.size() - shown);
  if (!r.front_note.empty()) out += paragraph("  ", r.front_note, o);
  return out;
}

std::string conflict_section(const design::Allocated& a, const TextOptions& o) {
  const auto amount = [](double value, const std::string& unit) {
    return base::plain(value, 9) + (unit.empty() ? "" : " " + unit);
  };
  std::string out;
  if (!a.conflicts.empty()) out += heading("What stands in the way", o);
  for (const design::Conflict& c : a.conflicts) {
    out += paragraph("  ", c.text, o);
    for (const design::Conflict::Resource& x : c.resources) {
      out += paragraph(
          "    ",
          fmt::format("{}: needed {}, available {}", x.what, amount(x.needed, x.unit), amount(x.available, x.unit)), o);
      for (const design::Conflict::Demand& d : x.demands) {
        out += paragraph(
            "      - ",
            fmt::format("{}{} at least {}", d.reserve ? "kept back for " : "", d.who, amount(d.least, x.unit)), o);
      }
    }
    if (c.minimal && c.members.size() > 1) out += "    Without any one of them this conflict is gone.\n";
  }
  if (!a.ways_out.empty()) {
    out += heading("Ways out (each solved again and feasible)", o);
    int n = 0;
    for (const design::WayOut& w : a.ways_out) {
      out += paragraph(fmt::format("  {}. ", ++n),
                       fmt::format("{} (worst margin then {})", w.text, ratio_text(w.worst_margin)), o);
    }
  } else if (!a.conflicts.empty()) {
    out += heading("Ways out", o) + paragraph("  ", "No single change that was tried makes it feasible.", o);
  }
  if (a.pairs_out.looked_for) {
    out += heading("Ways out by two changes together (each pair solved again and feasible)", o);
    int n = 0;
    for (const design::PairOut& p : a.pairs_out.pairs) {
      out += paragraph(
          fmt::format("  {}. ", ++n),
          fmt::format("{}, and {} (worst margin then {})", p.first.text, p.second.text, ratio_text(p.worst_margin)), o);
    }
    if (n == 0 && a.pairs_out.complete) out += paragraph("  ", "No pair of changes makes it feasible.", o);
    if (!a.pairs_out.note.empty()) out += paragraph("  ", a.pairs_out.note, o);
  }
  return out;
}

std::string near_misses(const design::Result& r, const TextOptions& o) {
  std::string out;
  for (const design::FunctionResult& fn : r.functions) {
    const bool any = std::any_of(fn.proposal.candidates.begin(), fn.proposal.candidates.end(),
                                 [](const auto& c) { return c.nominal.worst() >= 1; });
    if (any) continue;
    out += paragraph(
        fmt::format("  {}: ", fn.id),
        fn.proposal.candidates.empty()
            ? fn.proposal.examined == 0 ? std::string("nothing could be tried")
                                        : fmt::format("none of {} variants works", fn.proposal.examined)
            : fmt::format(
                  "the best of {} variants reaches margin {}: {}", fn.proposal.examined,
                  ratio_text(fn.proposal.candidates.front().nominal.worst()),
                  weakest(fn.proposal.candidates.front()) ? margin_text(*weakest(fn.proposal.candidates.front())) : ""),
        o);
    for (const candidate::Rejection& x : fn.proposal.rejections) {
      out += paragraph("      ", fmt::format("{} fell to: {}", x.count, x.text), o);
    }
  }
  return out.empty() ? "" : heading("Functions that nothing serves", o) + out;
}

/// Why lists of candidates are not complete.
std::string limits_text(const design::Result& r, const TextOptions& o) {
  std::string out;
  for (const design::FunctionResult& fn : r.functions) {
    if (!fn.proposal.complete) out += paragraph("  " + fn.id + ": ", fn.proposal.limit_text, o);
  }
  return out;
}

std::string candidates_section(const design::Result& r, const TextOptions& o) {
  std::string out = heading("Candidates", o);
  Table t;
  t.column("function");
  t.column("kind");
  t.column("examined", Align::right);
  t.column("meshes", Align::right);
  t.column("kept", Align::right);
  t.column("meet all", Align::right);
  t.column("best", Align::right);
  t.column("best one", Align::left, true);
  for (const design::FunctionResult& fn : r.functions) {
    const auto good = std::count_if(fn.proposal.candidates.begin(), fn.proposal.candidates.end(),
                                    [](const auto& c) { return c.nominal.worst() >= 1; });
    const bool none = fn.proposal.candidates.empty();
    t.row({fn.id, fn.kind, fmt::format("{}", fn.proposal.examined),
           fn.proposal.most_meshes < 0 ? "" : fmt::format("to {}", fn.proposal.most_meshes),
           fmt::format("{}", fn.proposal.candidates.size()), fmt::format("{}", good),
           none ? "-" : ratio_text(fn.proposal.candidates.front().nominal.worst()),
           none ? "" : fn.proposal.candidates.front().title});
  }
  out += t.str(o);
  return out + limits_text(r, o);
}

}  // namespace

std::string diagnostics_text(const document::Diagnostics& diagnostics, const TextOptions& options) {
  std::string out;
  std::size_t errors = 0, warnings = 0;
  for (const document::Diagnostic& d : diagnostics.sorted()) {
    std::string text = document::text_of(d);
    while (!text.empty() && text.back() == '\n') text.pop_back();
    out += text + "\n";
    (d.severity == document::Severity::error ? errors : warnings) += 1;
  }
  if (errors + warnings == 0) return out;
  const auto counted = [](std::size_t n, std::string_view word) {
    return fmt::format("{} {}{}", n, word, n == 1 ? "" : "s");
  };
  std::string sum;
  if (errors > 0) sum += counted(errors, "error");
  if (warnings > 0) sum += (sum.empty() ? "" : ", ") + counted(warnings, "warning");
  return out + tinted(sum, errors > 0 ? Tint::bad : Tint::warm, options) + "\n";
}

std::string design_text(const design::Result& r, const TextOptions& o, bool whole_front) {
  if (!r.brief) return "";
  std::string out = head(r, o);
  if (r.reached == design::Stage::brief) return check_text(r, o);
  if (r.reached == design::Stage::candidates || !r.allocated) return out + candidates_section(r, o) + near_misses(r, o);
  out += verdict(r, o);
  if (r.stopped && r.feasible()) out += tinted("stopped before the end; this is the best so far\n", Tint::warm, o);
  // A search that was stopped knows no reasons yet.
  if (!r.feasible() && r.stopped && status_of(r) == "undecided") return out + candidates_section(r, o);
  if (!r.feasible()) return out + conflict_section(*r.allocated, o) + near_misses(r, o) + candidates_section(r, o);
  out += functions_section(r, o);
  if (!r.incomplete().empty()) out += heading("What was not looked at", o) + limits_text(r, o);
  if (r.assessed) {
    out += findings_section(r.assessed->findings, o);
    out += balance_section(*r.assessed, o);
    if (r.assessed->lifting.judged) out += load_chart_text(r.assessed->lifting, o);
    if (r.assessed->ground.judged) out += ground_text(r.assessed->ground, o);
    if (!r.brief->site_loads.empty()) out += site_text(r.assessed->site, o);
    out += power_section(r, o) + parts_section(r, o) + looks_text(r, o);
    if (r.bench) out += "\n" + bench_text(*r.bench, o);
  }
  out += front_section(r, o, whole_front);
  out += cautions_section(r, o);
  return out;
}

std::string check_text(const design::Result& r, const TextOptions& o) {
  if (!r.brief) return "";
  const brief::Brief& b = *r.brief;
  std::string out = head(r, o);
  out += heading("Bodies", o);
  Table t;
  t.column("body");
  t.column("on");
  t.column("joint");
  t.column("mass g", Align::right);
  t.column("");
  for (const brief::Body& body : b.bodies) {
    static constexpr const char* kJoint[] = {"fixed", "slew", "pitch"};
    t.row({body.id, body.parent < 0 ? "" : b.bodies[static_cast<std::size_t>(body.parent)].id,
           body.parent < 0 ? "" : kJoint[static_cast<int>(body.joint.type)], plain(body.mass_g.nominal, 4),
           body.mass_is_estimate ? "estimate" : ""});
  }
  out += t.str(o) + heading("Functions", o);
  Table f;
  f.column("function");
  f.column("kind");
  f.column("");
  f.column("sides", Align::right);
  f.column("duty", Align::right);
  f.column("kept to", Align::left, true);
  for (const brief::Function& fn : b.functions) {
    f.row({fn.id, fn.kind, fn.required ? "required" : "wished, weight " + plain(fn.weight), fmt::format("{}", fn.sides),
           percent(fn.duty), fn.lock});
  }
  out += f.str(o);
  out += fmt::format("  supply: {} sockets, {} channels, {} mA in all, {} V\n", b.supply.ports, b.supply.channels,
                     plain(b.supply.total_current_ma), plain(b.supply.voltage_v));
  return out;
}

std::string explain_text(const design::Result& r, std::size_t f, const std::string& key, const TextOptions& o) {
  const design::FunctionResult& fn = r.functions.at(f);
  const candidate::Proposal& p = fn.proposal;
  std::string out = tinted(fn.id, Tint::strong, o) +
                    fmt::format(" ({}): {} variants examined, {} kept\n", fn.kind, p.examined, p.candidates.size());
  if (!p.complete) out += paragraph("  ", p.limit_text, o);
  const candidate::Candidate* chosen = r.chosen(f);
  const candidate::Candidate* shown = chosen;
  for (const candidate::Candidate& c : p.candidates) {
    if (!key.empty() && c.key == key) shown = &c;
  }
  if (shown == nullptr && !p.candidates.empty()) shown = &p.candidates.front();

  if (shown != nullptr) {
    out += heading(shown == chosen ? "Chosen" : "Candidate", o);
    out += paragraph("  ", shown->title, o) + "  key " + shown->key + "\n";
    Table t;
    t.column("margin", Align::right);
    t.column("of");
    t.column("reached", Align::right);
    t.column("asked", Align::right);
    t.column("unit");
    t.column("5 to 95 %", Align::right);
    t.column("where", Align::left, true);
    for (std::size_t m = 0; m < shown->nominal.margins.size(); ++m) {
      const candidate::Margin& x = shown->nominal.margins[m];
      const bool drawn = shown == chosen && r.assessed && r.assessed->certainty.draws > 0;
      t.row({ratio_text(x.ratio), x.name, plain(x.capability, 4), plain(x.requirement, 4), x.unit,
             drawn ? ratio_interval(r.assessed->certainty.functions[f].ratio[m]) : "", x.note},
            x.ratio < 1 ? Tint::bad : Tint::none);
    }
    out += t.str(o);
    if (!shown->figures.empty()) out += heading("Figures", o);
    for (const candidate::Figure& x : shown->figures) {
      out += fmt::format("  {}: {} {}\n", x.name, plain(x.value, 4), x.unit);
    }
    out += heading("Needs", o);
    for (const candidate::Need& n : shown->demand.needs) {
      out += paragraph(fmt::format("  {:>3} x ", n.count), n.role.empty() ? n.label : n.label + ": " + n.role, o);
    }
    out += fmt::format("  sockets {}, channels {}, {} mA at the load, {} mA stalled\n", shown->demand.ports,
                       shown->demand.channels, plain(shown->nominal.running_current_ma, 3),
                       plain(shown->demand.stall_current_ma, 3));
    out += building_text(*shown, r.brief->functions.at(f).sides, o);
    if (shown == chosen) out += building_text(design::building_order(r), *r.brief, o);
    if (!shown->notes.empty()) out += heading("Notes", o);
    for (const std::string& n : shown->notes) out += paragraph("  - ", n, o);
    for (const candidate::Curve& c : shown->curves) {
      if (c.x.empty()) continue;
      const auto [low, high] = std::minmax_element(c.y.begin(), c.y.end());
      out += paragraph(
          "  curve ",
          fmt::format("{}: {} from {} to {} {} over {} {} to {} {}; least at {}, greatest at {}", c.name, c.y_name,
                      plain(*low, 4), plain(*high, 4), c.y_unit, c.x_name, plain(c.x.front(), 4), plain(c.x.back(), 4),
                      c.x_unit, plain(c.x[static_cast<std::size_t>(low - c.y.begin())], 4),
                      plain(c.x[static_cast<std::size_t>(high - c.y.begin())], 4)),
          o);
    }
  }

  if (!p.candidates.empty()) {
    out += heading("Best candidates", o);
    Table t;
    t.column("");
    t.column("margin", Align::right);
    t.column("limited by");
    t.column("mA", Align::right);
    t.column("candidate", Align::left, true);
    constexpr std::size_t kShown = 12;
    for (std::size_t i = 0; i < p.candidates.size(); ++i) {
      const candidate::Candidate& c = p.candidates[i];
      if (i >= kShown && &c != chosen && &c != shown) continue;
      t.row({&c == chosen ? "*" : "", ratio_text(c.nominal.worst()), weakest(c) ? weakest(c)->name : "",
             plain(c.nominal.running_current_ma, 3), c.title},
            &c == chosen ? Tint::strong : Tint::none);
    }
    out += t.str(o);
    if (p.candidates.size() > kShown) out += fmt::format("  {} kept in all; --json lists them\n", p.candidates.size());
  }
  if (!p.rejections.empty()) {
    out += heading("Why not others (nearest miss of each reason)", o);
    Table t;
    t.column("variants", Align::right);
    t.column("reason", Align::left, true);
    for (const candidate::Rejection& x : p.rejections) t.row({fmt::format("{}", x.count), x.text});
    out += t.str(o);
  }
  return out;
}

std::string compare_text(const std::vector<Compared>& kits, const TextOptions& o) {
  std::string out = tinted("Donor kits for this project", Tint::strong, o) + "\n";
  Table t;
  t.column("stock", Align::left);
  t.column("parts", Align::right);
  t.column("feasible");
  t.column("margin", Align::right);
  t.column("sure", Align::right);
  t.column("mass g", Align::right);
  t.column("left", Align::right);
  t.column("what stands in the way", Align::left, true);
  for (const Compared& k : kits) {
    const design::Result& r = *k.result;
    const std::string parts = r.brief ? fmt::format("{}", r.brief->stock->pieces()) : "-";
    if (r.bad_input || !r.allocated) {
      t.row({k.stock_file, parts, "bad input", "", "", "", "", "see the messages"}, Tint::bad);
    } else if (!r.feasible()) {
      std::string why;
      for (const design::Conflict& c : r.allocated->conflicts) why += (why.empty() ? "" : "; ") + c.text;
      const bool undecided = status_of(r) == "undecided";
      t.row({k.stock_file, parts, undecided ? "undecided" : "no", "", "", "", "", undecided ? undecided_text(r) : why},
            Tint::bad);
    } else {
      t.row({k.stock_file, parts, "yes", ratio_text(r.allocated->worst_margin),
             r.assessed ? percent(r.assessed->certainty.confidence) : "",
             r.assessed ? plain(r.assessed->mass_g, 4) : "",
             r.assessed ? fmt::format("{}", r.assessed->parts_left) : "", ""});
    }
  }
  return out + t.str(o);
}

}  // namespace report
