#include "dossier/write.h"

#include <fmt/format.h>
#include <glib.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <set>

#include "base/check.h"
#include "document/toml_reader.h"
#include "dossier/author.h"
#include "dossier/parts.h"

namespace dossier {
namespace {

namespace fs = std::filesystem;

/// The bytes of a file of the project; empty when there is none.
std::string bytes_of(const fs::path& file) {
  std::error_code failed;
  if (!fs::is_regular_file(file, failed)) return {};
  document::Diagnostics silent;  // what cannot be read was told when the project was read
  return document::read_text_file(file.string(), stock::kMostStockBytes, silent).value_or("");
}

}  // namespace

std::string project_hash(const brief::Brief& brief, const std::string& project_text) {
  const fs::path folder = brief.folder;
  const std::string parts[] = {project_text.empty() ? bytes_of(folder / "project.toml") : project_text,
                               bytes_of(brief.stock->file), bytes_of(folder / "bench_tests.csv")};
  GChecksum* sum = g_checksum_new(G_CHECKSUM_SHA256);
  for (const std::string& p : parts) {
    // The length first, so that no two sets of files run into the same bytes.
    const std::string head = fmt::format("{}\n", p.size());
    g_checksum_update(sum, reinterpret_cast<const guchar*>(head.data()), static_cast<gssize>(head.size()));
    g_checksum_update(sum, reinterpret_cast<const guchar*>(p.data()), static_cast<gssize>(p.size()));
  }
  std::string out = g_checksum_get_string(sum);
  g_checksum_free(sum);
  return out;
}

std::string revision_of(const design::Result& result, const Options& options) {
  return options.revision.empty() ? result.publication.revision : options.revision;
}

namespace {

/// The places were worked out for the English words: longer ones get smaller letters, down to this share.
constexpr double kLeastSize = 0.78;

/// A paragraph in as many lines as it has; what is too long for the smallest letters is cut.
void tell_paragraph(std::vector<report::Primitive>& all, std::size_t first, const std::string& words) {
  const std::size_t lines = static_cast<std::size_t>(all[first].lines);
  const double room = all[first].room, size = all[first].size;
  double share = 1;
  std::vector<std::string> broken = report::wrapped(words, room, size);
  while (broken.size() > lines && share > kLeastSize) {
    share -= 0.02;
    broken = report::wrapped(words, room, size * share);
  }
  for (std::size_t i = 0; i < lines; ++i) {
    report::Primitive& p = all[first + i];
    p.size = size * share;
    p.words = i < broken.size() ? broken[i] : "";
    if (i + 1 == lines && broken.size() > lines) p.words = report::fitted(p.words + " " + broken[lines], room, p.size);
  }
}

}  // namespace

report::Svg in_language(report::Svg drawing, const Texts& t) {
  if (t.language() == "en") return drawing;
  std::vector<report::Primitive>& all = drawing.primitives();
  for (std::size_t i = 0; i < all.size(); ++i) {
    report::Primitive& p = all[i];
    if (p.form != report::Primitive::Form::text || p.lines < 0) continue;
    if (p.lines > 0) {
      tell_paragraph(all, i, t.term(p.whole));
    } else if (!p.whole.empty()) {
      const std::string other = t.term(p.whole);
      const double share = p.room / std::max(report::text_width(other, p.size, p.bold), 1e-9);
      if (share < 1) p.size *= std::max(share, kLeastSize);
      p.words = report::fitted(other, p.room, p.size, p.bold);
    } else {
      std::string other = t.term(p.words);
      const double share = report::text_width(p.words, p.size, p.bold) / report::text_width(other, p.size, p.bold);
      if (share < 1) p.size *= std::max(share, kLeastSize);
      p.words = std::move(other);
    }
  }
  return drawing;
}

Table in_columns(Table head, std::vector<std::vector<Cell>> entries, std::size_t columns) {
  const std::vector<Column> once = head.columns;
  for (std::size_t k = 1; k < columns; ++k) {
    head.columns.push_back({"", false});  // air between
    head.columns.insert(head.columns.end(), once.begin(), once.end());
  }
  const std::size_t high = (entries.size() + columns - 1) / columns;
  for (std::size_t row = 0; row < high; ++row) {
    auto& cells = head.rows.emplace_back();
    for (std::size_t k = 0; k < columns; ++k) {
      const std::size_t i = k * high + row;
      if (k > 0) cells.emplace_back();
      if (i < entries.size()) {
        cells.insert(cells.end(), entries[i].begin(), entries[i].end());
      } else {
        cells.resize(cells.size() + once.size());
      }
    }
  }
  return head;
}

void Author::figure(report::Svg drawing, std::string caption, std::string name, bool whole_page) {
  doc.add(Figure{in_language(std::move(drawing), t), std::move(caption), std::move(name), whole_page});
}

std::string Author::range(const base::Triple& triple, std::string_view unit, int significant) const {
  const std::string low = t.number(triple.low, significant), high = t.number(triple.high, significant);
  const std::string nominal = t.quantity(triple.nominal, unit, significant);
  return low == high ? nominal : t("number.range", {{"nominal", nominal}, {"low", low}, {"high", high}});
}

namespace {

std::string shortened(const std::string& name) {
  constexpr std::size_t kMostBytes = 200;  // eight lines of a title
  if (name.size() <= kMostBytes) return name;
  std::size_t end = kMostBytes;
  while ((static_cast<unsigned char>(name[end]) & 0xC0U) == 0x80U) --end;  // not amid a letter
  return name.substr(0, end) + "\xE2\x80\xA6";
}

/// What the project calls by names of its own.
std::set<std::string, std::less<>> names_of(const design::Result& r) {
  const brief::Brief& b = *r.brief;
  std::set<std::string, std::less<>> out{b.name};
  for (const auto& f : r.functions) out.insert(f.id);
  for (const auto& o : b.bodies) out.insert(o.id);
  for (const auto& o : b.placed) out.insert(o.id);
  for (const auto& o : b.openables) out.insert(o.id);
  for (const auto& o : b.obstacles) out.insert(o.id);
  for (const auto& l : b.site_loads) out.insert(l.id);
  for (const auto& p : b.work_places) out.insert(p.id);
  for (const auto& p : b.stow_places) out.insert(p.id);
  for (const auto& p : b.duty) out.insert(p.id);
  for (const auto& z : r.zones) out.insert(z.id);
  for (const auto& k : b.reserves) out.insert(k.reason);
  if (r.assessed) {
    for (const auto& p : r.assessed->power.duty.phases) out.insert(p.id);
  }
  return out;
}

}  // namespace

Document document_of(const design::Result& r, const Texts& all_texts, const Options& options) {
  KW_CHECK(r.feasible() && r.assessed, "a dossier needs an assessed design");
  const Texts t = all_texts.with_names(names_of(r));
  Document doc;
  const std::string hash = project_hash(*r.brief, options.project_text);
  doc.title = shortened(r.brief->name);
  doc.subtitle = r.brief->description;
  doc.language = t.language();
  doc.subject = t("front.subject");
  doc.keywords = fmt::format("sha256:{}", hash);
  const std::string revision = revision_of(r, options), mark = hash.substr(0, 12);
  doc.footer = revision.empty()
                   ? t("front.footer", {{"project", doc.title}, {"hash", mark}})
                   : t("front.footer_revision", {{"project", doc.title}, {"revision", revision}, {"hash", mark}});
  doc.page_n_of_m = t("front.page", {{"n", "{n}"}, {"m", "{m}"}});
  doc.continued = t("front.continued");
  doc.parts_json = parts_json(parts_list(r, hash));
  Author author{r, *r.brief, *r.assessed, design::chosen_of(r), t, options, doc};
  for (const auto chapter : {write_front, write_parts, write_machine, write_functions, write_stance, write_ground,
                             write_power, write_handset, write_colours, write_decals, write_close}) {
    chapter(author);
    heed(options.unwanted);
  }
  return doc;
}

std::string file_of(const Document& document, const design::Result& result, const std::string& name) {
  if (name == "dossier.html") return html_of(document);
  if (name == "dossier_a4.pdf") return pdf_of(document, Paper::a4);
  if (name == "dossier_letter.pdf") return pdf_of(document, Paper::letter);
  if (name == "parts.json") return document.parts_json;
  KW_CHECK(name == "parts.csv", name);
  return parts_csv(parts_list(result, ""));
}

std::vector<File> write_dossier(const design::Result& result, const Texts& texts, const Options& options) {
  const Document document = document_of(result, texts, options);
  std::vector<File> out;
  for (const char* name : kFiles) out.push_back({name, file_of(document, result, name)});
  for (const Block& b : document.blocks) {
    if (const auto* f = std::get_if<Figure>(&b)) out.push_back({"figures/" + f->name + ".svg", f->drawing.str()});
  }
  return out;
}

}  // namespace dossier
