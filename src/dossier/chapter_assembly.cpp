// In which order trains and functions go together, told in the language of the texts.
#include <fmt/format.h>

#include <algorithm>

#include "assembly/order.h"
#include "design/building.h"
#include "dossier/author.h"
#include "routing/tables.h"

namespace dossier {
namespace {

using assembly::Piece;
using assembly::PieceKind;
using assembly::Step;
using assembly::StepSort;

/// Steps of one train: `names` are the letters of its shafts.
class Steps {
 public:
  Steps(const Texts& t, const assembly::Order& order, std::vector<std::string> letters)
      : t_(t), order_(order), letters_(std::move(letters)) {}

  [[nodiscard]] std::string text(const Step& s) const {
    const Piece& first = piece(s.pieces.front());
    const std::string from = from_text(s.way), where = along(first);
    switch (s.sort) {
      case StepSort::stand:
        return t_("assembly.stand", {{"part", t_.term(first.name)}, {"from", from}, {"holes", holes(first)}});
      case StepSort::put_in:
        return t_("assembly.put_in", {{"part", t_.term(first.name)}, {"from", from}, {"at", where}});
      case StepSort::push_on:
        return t_(first.name == assembly::kJoiner ? "assembly.push_joiner" : "assembly.push_on",
                  {{"part", t_.term(first.name)}, {"shaft", letter(first)}, {"from", from}, {"at", where}});
      case StepSort::slide:
        return slide(s);
      case StepSort::bring:
        return t_("assembly.bring", {{"parts", names(s.pieces, "number.and")}, {"from", from}});
    }
    return {};
  }

  [[nodiscard]] std::string locked() const {
    const assembly::Locked& l = order_.locked;
    return t_("assembly.locked_parts", {{"parts", names(l.pieces, "number.and")}}) + " " +
           (l.freed_by.empty() ? t_("assembly.locked_for_good")
                               : t_("assembly.freed_by", {{"parts", names(l.freed_by, "number.or")}}));
  }

 private:
  [[nodiscard]] const Piece& piece(int i) const { return order_.pieces[static_cast<std::size_t>(i)]; }
  [[nodiscard]] std::string letter(const Piece& p) const { return letters_.at(static_cast<std::size_t>(p.shaft)); }
  [[nodiscard]] std::string from_text(lattice::Way way) const {
    return t_("assembly.from_" + std::string(lattice::name_of(way)));
  }
  [[nodiscard]] std::string along(const Piece& p) const {
    return fmt::format("{} {}", lattice::letter(p.axis), t_.term(routing::pitches_text(p.from_hp, p.to_hp)));
  }
  /// "; " between, since names of parts have commas of their own.
  [[nodiscard]] std::string joined(const std::vector<std::string>& words, std::string_view last) const {
    std::string out;
    for (std::size_t i = 0; i < words.size(); ++i)
      out += (i == 0 ? "" : i + 1 == words.size() ? " " + t_(last) + " " : "; ") + words[i];
    return out;
  }
  [[nodiscard]] std::string holes(const Piece& wall) const {
    std::vector<std::string> out;
    for (const lattice::Cross c : wall.holes) out.push_back(routing::hole_text(wall.axis, c));
    return joined(out, "number.and");
  }
  [[nodiscard]] std::string names(const std::vector<int>& pieces, std::string_view last) const {
    std::vector<std::string> out;
    for (const int i : pieces) {
      const Piece& p = piece(i);
      const bool on_shaft = p.shaft >= 0 && p.kind != PieceKind::body;
      out.push_back(on_shaft ? t_("assembly.of_shaft", {{"part", t_.term(p.name)}, {"shaft", letter(p)}})
                             : t_.term(p.name));
    }
    return joined(out, last);
  }
  [[nodiscard]] std::string slide(const Step& s) const {
    const Piece& axle = piece(s.pieces.front());
    const std::string part = t_.term(axle.name), hole = routing::hole_text(axle.axis, axle.at), at = along(axle);
    if (s.through.empty()) {
      return s.made_up >= 0 ? t_("assembly.take", {{"part", part}, {"shaft", letter(axle)}})
                            : t_("assembly.lay", {{"part", part}, {"shaft", letter(axle)}, {"hole", hole}, {"at", at}});
    }
    std::string out;
    if (!s.held.empty()) {
      std::vector<std::string> held;
      for (const assembly::Held& h : s.held)
        held.push_back(
            t_("assembly.held",
               {{"part", t_.term(piece(h.piece).name)}, {"from", from_text(h.way)}, {"at", along(piece(h.piece))}}));
      out = t_("assembly.hold", {{"parts", joined(held, "number.and")}}) + " ";
    }
    std::vector<std::string> through;
    for (const int i : s.through)
      through.push_back(t_(piece(i).kind == PieceKind::body ? "assembly.into" : "assembly.through",
                           {{"part", t_.term(piece(i).name)}}));
    return out + t_("assembly.slide", {{"part", part},
                                       {"shaft", letter(axle)},
                                       {"from", from_text(s.way)},
                                       {"through", joined(through, "number.and")},
                                       {"hole", hole},
                                       {"at", at}});
  }

  const Texts& t_;
  const assembly::Order& order_;
  std::vector<std::string> letters_;
};

}  // namespace

void write_assembly(Author& a, const candidate::Route& route, const std::string& id) {
  const Texts& t = a.t;
  const assembly::Order order = assembly::order_of(*route.problem, route.layout);
  if (order.pieces.empty()) return;
  a.head(t("assembly.function"), id + "-assembly");
  if (route.problem->kit.copies == 2) a.say(t("assembly.one_side"), Tone::faint);
  const Steps told(t, order, routing::shaft_names(route.layout));
  List steps;
  steps.mark = List::Mark::number;
  for (const Step& s : order.steps)
    steps.items.push_back(s.made_up >= 0 ? t("assembly.outside", {{"step", told.text(s)}}) : told.text(s));
  a.doc.add(std::move(steps));
  if (!order.complete()) a.doc.add(Notice{t("assembly.locked"), {told.locked()}, true});
}

void write_assembly_of_bodies(Author& a) {
  const Texts& t = a.t;
  const std::vector<design::BodyOrder> bodies = design::building_order(a.result);
  const bool any = std::any_of(bodies.begin(), bodies.end(), [](const auto& b) { return b.units.size() > 1; });
  if (!any) return;
  a.chapter("assembly.title", "assembly");
  a.say(t("assembly.intro"));
  for (const design::BodyOrder& b : bodies) {
    if (b.units.size() < 2) continue;
    const std::string& body = a.brief.bodies[static_cast<std::size_t>(b.body)].id;
    a.section(t("assembly.on", {{"body", body}}), fmt::format("assembly-{}", b.body + 1));
    List steps;
    steps.mark = List::Mark::number;
    for (const assembly::UnitStep& s : b.order.steps) {
      std::vector<std::string> names;
      for (const int u : s.units) names.push_back(b.units[static_cast<std::size_t>(u)].name);
      const std::string way(lattice::name_of(s.way));
      steps.items.push_back(s.units.size() > 1
                                ? t("assembly.together", {{"units", t.list(names)}})
                                : t("assembly.moves", {{"unit", names.front()}, {"way", t("assembly.way_" + way)}}));
    }
    a.doc.add(std::move(steps));
  }
}

}  // namespace dossier
