// What the chapters share while they are written. Inside of dossier/.
#pragma once

#include <string>
#include <vector>

#include "design/design.h"
#include "dossier/document.h"
#include "dossier/texts.h"
#include "dossier/write.h"
#include "report/overview.h"

namespace dossier {

struct Author {
  const design::Result& result;
  const brief::Brief& brief;
  const assessment::Assessment& assessed;
  std::vector<assessment::Chosen> chosen;
  const Texts& t;
  const Options& options;
  Document& doc;

  void chapter(std::string_view key, std::string anchor) { doc.add(Heading{1, t(key), std::move(anchor)}); }
  void section(std::string text, std::string anchor) { doc.add(Heading{2, std::move(text), std::move(anchor)}); }
  void head(std::string text, std::string anchor) { doc.add(Heading{3, std::move(text), std::move(anchor)}); }
  void say(std::string text, Tone tone = Tone::plain) { doc.add(Paragraph{std::move(text), tone}); }
  /// In the language of the texts.
  void figure(report::Svg drawing, std::string caption, std::string name, bool whole_page = false);

  /// "12 N mm (10 to 15)"
  [[nodiscard]] std::string range(const base::Triple& triple, std::string_view unit, int significant = 3) const;
  [[nodiscard]] std::string percent(double share) const { return t.quantity(100 * share, "%", 3); }
  /// Name of a part class in the language of the texts.
  [[nodiscard]] std::string part(stock::ClassId id) const { return t.term(brief.catalogue->at(id).name); }
};

/// Texts of a drawing in another language; bare figures get its decimal mark.
[[nodiscard]] report::Svg in_language(report::Svg drawing, const Texts& t);

/// Short entries in several columns: `head` names those of one, told again over each.
[[nodiscard]] Table in_columns(Table head, std::vector<std::vector<Cell>> entries, std::size_t columns);

void write_front(Author& a);      ///< title facts, contents, wanted against reached
void write_parts(Author& a);      ///< needed, replaceable, left
void write_machine(Author& a);    ///< three views, bodies, pivots
void write_functions(Author& a);  ///< one section each: drawing, holes, shafts, meshes, notes, curves
/// Of one train, in the section of its function; and of the functions and placed things on each body.
void write_assembly(Author& a, const candidate::Route& route, const std::string& id);
void write_assembly_of_bodies(Author& a);
void write_stance(Author& a);   ///< masses, tipping, load chart
void write_ground(Author& a);   ///< what it stands on and gets over, loads on the site
void write_power(Author& a);    ///< sockets, duty, run time
void write_handset(Author& a);  ///< set-up guide, first start
void write_colours(Author& a);  ///< colour plan, schemes of few colours
void write_decals(Author& a);   ///< at true size, to be cut out
void write_close(Author& a);    ///< limits, compromises, cautions, where this comes from

}  // namespace dossier
