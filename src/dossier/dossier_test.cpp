// Covers the dossier of whole demos: sound PDF with embedded fonts, figures as in the result, nothing outside of paper
// or drawing, no word on another, same bytes again, list of parts that its own kit fulfils. qpdf and poppler judge the
// PDF: programs that share nothing with the writer.
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <ctime>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <regex>
#include <set>

#include "assembly/checker.h"
#include "assembly/order.h"
#include "base/shell.h"
#include "base/text.h"
#include "dossier/parts.h"
#include "dossier/write.h"
#include "report/json.h"

namespace dossier {
namespace {

namespace fs = std::filesystem;

struct Ran {
  int status = -1;
  std::string out;
};
/// A program of the tests' list of packages; where it is missing the test fails and says so.
Ran run(const std::string& command) {
  Ran out;
  FILE* pipe = popen((command + " 2>&1").c_str(), "r");
  if (pipe == nullptr) return out;
  std::array<char, 4096> buffer{};
  for (std::size_t n = 0; (n = fread(buffer.data(), 1, buffer.size(), pipe)) > 0;) out.out.append(buffer.data(), n);
  out.status = pclose(pipe);
  return out;
}

void write(const fs::path& file, const std::string& bytes) {
  fs::create_directories(file.parent_path());
  std::ofstream(file, std::ios::binary) << bytes;
}

Texts texts(const std::string& language = "en") {
  document::Diagnostics d;
  auto out = load_texts(language, KW_SOURCE_DIR "/catalogue", d);
  EXPECT_TRUE(out.has_value());
  return out.value_or(Texts());
}

struct Word {
  double left = 0, top = 0, right = 0, bottom = 0;
  std::string text;
};
struct Page {
  double width = 0, height = 0;
  std::vector<Word> words;
};
std::vector<Page> pages_of(const std::string& boxes) {
  std::vector<Page> out;
  const std::regex page("<page width=\"([0-9.]+)\" height=\"([0-9.]+)\"");
  const std::regex word(
      "<word xMin=\"([-0-9.]+)\" yMin=\"([-0-9.]+)\" xMax=\"([-0-9.]+)\" yMax=\"([-0-9.]+)\">([^<]*)<");
  std::size_t at = 0;
  while (at < boxes.size()) {
    const std::size_t end = std::min(boxes.find('\n', at), boxes.size());
    const std::string line = boxes.substr(at, end - at);
    std::smatch m;
    if (line.find("<page") != std::string::npos && std::regex_search(line, m, page)) {
      out.push_back({std::stod(m[1]), std::stod(m[2]), {}});
    } else if (!out.empty() && line.find("<word") != std::string::npos && std::regex_search(line, m, word)) {
      out.back().words.push_back({std::stod(m[1]), std::stod(m[2]), std::stod(m[3]), std::stod(m[4]), m[5]});
    }
    at = end + 1;
  }
  return out;
}

/// Boxes of words are as high as the font; letters take about the middle half of it.
void expect_words_apart(const Page& page, std::size_t number) {
  for (std::size_t i = 0; i < page.words.size(); ++i) {
    const Word& a = page.words[i];
    EXPECT_TRUE(a.left > 20 && a.right < page.width - 20 && a.top > 10 && a.bottom < page.height - 10)
        << "page " << number << ": \"" << a.text << "\" leaves the paper";
    for (std::size_t k = i + 1; k < page.words.size(); ++k) {
      const Word& b = page.words[k];
      const double wide = std::min(a.right, b.right) - std::max(a.left, b.left);
      const double ha = (a.bottom - a.top) / 4, hb = (b.bottom - b.top) / 4;
      const double high = std::min(a.bottom - ha, b.bottom - hb) - std::max(a.top + ha, b.top + hb);
      EXPECT_FALSE(wide > 0.6 && high > 0.6) << "page " << number << ": \"" << a.text << "\" on \"" << b.text << "\"";
    }
  }
}

/// Without any white, which programs that read a PDF guess from distances; the real minus as a hyphen.
std::string folded(std::string text) {
  for (const auto& [from, to] : {std::pair<std::string, std::string>{"\xC2\xA0", ""}, {"\xE2\x88\x92", "-"}}) {
    for (std::size_t at = text.find(from); at != std::string::npos; at = text.find(from, at))
      text.replace(at, from.size(), to);
  }
  std::erase_if(text, [](char c) { return c == ' ' || c == '\n' || c == '\t' || c == '\f'; });
  return text;
}

std::string with_unit(double value, const std::string& unit) {
  return base::plain(value) + (unit == "deg" ? "\xC2\xB0" : unit.empty() ? "" : " " + unit);
}

/// Every margin, figure and sum of design.json stands in the text of the PDF.
void expect_figures(const nlohmann::ordered_json& j, const std::string& text) {
  int told = 0;
  const auto expect = [&](const std::string& what) {
    ++told;
    EXPECT_NE(text.find(folded(what)), std::string::npos) << what;
  };
  for (const auto& f : j["functions"]) {
    if (f["chosen"].is_null()) continue;
    for (const auto& m : f["chosen"]["margins"]) {
      const std::string unit = m["unit"];
      if (!m["capability"].is_number() || !m["requirement"].is_number()) continue;
      expect(m["name"].get<std::string>() + " " + with_unit(m["capability"], unit) + " " +
             with_unit(m["requirement"], unit));
    }
    expect(base::plain(100 * f["chosen"]["confidence"].get<double>(), 3) + " %");
  }
  const auto& a = j["assessment"];
  expect(base::plain(a["mass_interval_g"]["nominal"], 3) + " g");
  for (const auto& p : a["power"]["sockets"]) expect(base::plain(p["running_ma"], 3) + " mA");
  if (a["stance"].value("judged", false)) expect(base::plain(a["stance"]["least_deg"], 3) + "\xC2\xB0");
  EXPECT_GT(told, 10);
}

void expect_sound_dossier(const std::string& demo) {
  design::Options o;
  o.project = KW_SOURCE_DIR "/examples/" + demo;
  o.front = false;
  const design::Result r = design::run(o);
  ASSERT_TRUE(r.feasible() && r.assessed) << demo;
  const Texts english = texts();
  const std::clock_t start = std::clock();
  const Document document = document_of(r, english);
  const std::string pdf = pdf_of(document, Paper::a4);
  const double seconds = static_cast<double>(std::clock() - start) / CLOCKS_PER_SEC;
#if defined(NDEBUG) && !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
  EXPECT_LT(seconds, 2);
#else
  (void)seconds;
#endif
  EXPECT_EQ(pdf, pdf_of(document_of(r, english), Paper::a4)) << "not the same bytes again";

  const fs::path folder = fs::path(testing::TempDir()) / ("kw_dossier_" + demo);
  const fs::path file = folder / "dossier.pdf";
  write(file, pdf);
  const std::string named = base::shell_word(file.string());
  const Ran check = run("qpdf --check " + named);
  EXPECT_EQ(check.status, 0) << "qpdf (package qpdf): " << check.out;
  EXPECT_EQ(check.out.find("WARNING"), std::string::npos) << check.out;
  const Ran fonts = run("pdffonts " + named);
  ASSERT_EQ(fonts.status, 0) << "pdffonts (package poppler-utils): " << fonts.out;
  // Columns emb, sub, uni of every font.
  const std::regex row("(yes|no) +(yes|no) +(yes|no) +[0-9]+ +[0-9]+");
  int embedded = 0;
  for (auto i = std::sregex_iterator(fonts.out.begin(), fonts.out.end(), row); i != std::sregex_iterator();
       ++i, ++embedded)
    EXPECT_EQ((*i)[1].str() + (*i)[3].str(), "yesyes") << fonts.out;
  EXPECT_GT(embedded, 0);
  EXPECT_NE(fonts.out.find("Inter"), std::string::npos) << "package fonts-inter: " << fonts.out;
  const Ran about = run("pdfinfo " + named);
  EXPECT_EQ(about.out.find("rror"), std::string::npos) << about.out;
  EXPECT_NE(about.out.find(r.brief->name), std::string::npos);
  EXPECT_EQ(about.out.find("CreationDate"), std::string::npos) << "no time of writing, or runs would differ";
  EXPECT_NE(about.out.find("(A4)"), std::string::npos) << about.out;

  const Ran text = run("pdftotext -layout " + named + " -");
  ASSERT_EQ(text.status, 0) << "pdftotext (package poppler-utils)";
  expect_figures(report::design_json(r), folded(text.out));
  const std::vector<Page> pages = pages_of(run("pdftotext -bbox " + named + " -").out);
  ASSERT_GT(pages.size(), 5u);
  for (std::size_t i = 0; i < pages.size(); ++i) {
    expect_words_apart(pages[i], i + 1);
    EXPECT_GT(pages[i].words.size(), 12u) << "page " << i + 1 << " is empty";
  }
  // Nothing of a drawing is cut at its edge; text_width is what letters take at most.
  for (const Block& b : document.blocks) {
    const auto* f = std::get_if<Figure>(&b);
    if (f == nullptr) continue;
    double shift = 0;
    std::vector<double> outer;
    for (const report::Primitive& p : f->drawing.primitives()) {
      using Form = report::Primitive::Form;
      if (p.form == Form::shift || p.form == Form::view) outer.push_back(shift);
      if (p.form == Form::shift) shift += p.points[0].x;
      if (p.form == Form::close) {
        shift = outer.back();
        outer.pop_back();
      }
      if (p.form != Form::text) continue;
      const double w = report::text_width(p.words, p.size, p.bold), x = shift + p.points[0].x;
      const double left = p.anchor == report::Anchor::end ? x - w : p.anchor == report::Anchor::middle ? x - w / 2 : x;
      constexpr double kAir = 0.12;  // text_width is that much more than the letters of the printed font
      EXPECT_GT(left + kAir * w, -1) << f->name << ": " << p.words;
      EXPECT_LT(left + w - kAir * w, f->drawing.width() + 1) << f->name << ": " << p.words;
    }
  }

  // The kit it was designed for has all of it, and lacks what is taken out.
  write(folder / "dossier.html", html_of(document));
  document::Diagnostics d;
  const auto list = read_parts(folder.string(), d);
  ASSERT_TRUE(list.has_value());
  EXPECT_EQ(list->hash, project_hash(*r.brief, ""));
  EXPECT_EQ(check_stock(*list, *r.brief->catalogue, *r.brief->stock).missing, 0);
  stock::Stock poorer = *r.brief->stock;
  std::erase_if(poorer.types, [&](const stock::StockType& t) {
    return r.brief->catalogue->at(t.part).family == stock::Family::motor;
  });
  int motors = 0;
  for (const PartNeed& n : list->needs) {
    const auto id = r.brief->catalogue->find(n.accepts.front());
    if (id && r.brief->catalogue->at(*id).family == stock::Family::motor) motors += n.count;
  }
  EXPECT_EQ(check_stock(*list, *r.brief->catalogue, poorer).missing, motors);

  // Every train goes together as told, says a judge that shares no code with the search.
  for (const assessment::Chosen& c : design::chosen_of(r)) {
    if (c.candidate == nullptr || !c.candidate->route) continue;
    const candidate::Route& route = *c.candidate->route;
    const assembly::Order order = assembly::order_of(*route.problem, route.layout);
    EXPECT_TRUE(order.complete()) << order.locked.text;
    EXPECT_EQ(assembly::check(*route.problem, route.layout, order), std::vector<std::string>{})
        << assembly::order_text(order);
  }

  // Other languages print too; their sentences are longer.
  for (const char* language : {"de", "fr"}) {
    Texts translated = texts(language);
    std::set<std::string> unknown;
    translated.tell_unknown(&unknown);
    const std::string other = pdf_of(document_of(r, translated), Paper::letter);
    for (const std::string& words : unknown)
      ADD_FAILURE() << "catalogue/texts/" << language << ".toml has no [terms] or [phrases] for: " << words;
    write(file, other);
    EXPECT_EQ(run("qpdf --check " + named).status, 0) << language;
    const std::vector<Page> foreign = pages_of(run("pdftotext -bbox " + named + " -").out);
    for (std::size_t i = 0; i < foreign.size(); ++i) {
      SCOPED_TRACE(language);
      expect_words_apart(foreign[i], i + 1);
      EXPECT_NEAR(std::min(foreign[i].width, foreign[i].height), 612, 0.1) << "US letter is 8.5 inch wide";
    }
  }
  fs::remove_all(folder);
}

TEST(Dossier, OfTheBasculeBridgeIsSound) {
  expect_sound_dossier("bascule_bridge");
}
TEST(Dossier, OfTheTowTractorIsSound) {
  expect_sound_dossier("tow_tractor");
}
TEST(Dossier, OfTheLogLoaderIsSound) {
  expect_sound_dossier("log_loader");
}

TEST(Dossier, TellsTheRevisionOfProjectOrCommand) {
  design::Result r;
  r.publication.revision = "B";
  Options options;
  EXPECT_EQ(revision_of(r, options), "B");
  options.revision = "C";
  EXPECT_EQ(revision_of(r, options), "C");
}

TEST(Page, PrintsDecalsAtTheirTrueSize) {
  Document d;
  d.title = "sizes";
  d.language = "en";
  d.page_n_of_m = "{n}{m}";
  report::Svg drawing(600, 40, "");
  drawing.text({0, 20}, "left", {.size = 12});
  drawing.text({400, 20}, "right", {.size = 12});
  Figure f{std::move(drawing), "", "f"};
  f.mm_per_pixel = 0.25;
  d.add(std::move(f));
  const fs::path file = fs::path(testing::TempDir()) / "kw_true_size.pdf";
  write(file, pdf_of(d, Paper::letter));
  const std::vector<Page> pages = pages_of(run("pdftotext -bbox " + base::shell_word(file.string()) + " -").out);
  fs::remove(file);
  ASSERT_EQ(pages.size(), 1u);
  double left = 0, right = 0;
  for (const Word& w : pages[0].words) {
    if (w.text == "left") left = w.left;
    if (w.text == "right") right = w.left;
  }
  EXPECT_NEAR(right - left, 100 / 25.4 * 72, 0.2);  // 400 px of 0.25 mm, in points
  EXPECT_NE(html_of(d).find("width:150.00mm"), std::string::npos);
}

TEST(Dossier, TheHashFollowsTheProjectsText) {
  brief::Brief b;
  auto stock = std::make_shared<stock::Stock>();
  b.stock = stock;
  b.folder = "no_such_folder";
  const std::string one = project_hash(b, "a"), other = project_hash(b, "b");
  EXPECT_EQ(one.size(), 64u);
  EXPECT_NE(one, other);
  // "1\na0\n0\n", hashed by sha256sum (GNU coreutils).
  EXPECT_EQ(one, run("printf '1\\na0\\n0\\n' | sha256sum").out.substr(0, 64));
}

TEST(Page, EscapesWhatCouldBreakOut) {
  Document d;
  d.title = "<b>&\"";
  d.language = "en";
  d.page_n_of_m = "{n}{m}";
  d.parts_json = "{\"a\": \"</script><script>\"}";
  d.add(Live{Live::Type::space, "\"><i>", "{\"b\": \"</script>\"}", ""});
  const std::string html = html_of(d);
  EXPECT_EQ(html.find("<b>"), std::string::npos);
  EXPECT_EQ(html.find("<i>"), std::string::npos);
  std::size_t closed = 0;
  for (std::size_t at = html.find("</script>"); at != std::string::npos; at = html.find("</script>", at + 1)) ++closed;
  EXPECT_EQ(closed, 3u);  // data of the picture, list of parts, the script itself
}

}  // namespace
}  // namespace dossier
