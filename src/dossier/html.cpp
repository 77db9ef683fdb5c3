// The document as one page for a browser: drawings in line, style and script inside, nothing asked of any network.
#include <fmt/format.h>

#include <algorithm>

#include "dossier/document.h"
#include "dossier/page_files.h"

namespace dossier {
namespace {

using report::escaped;

std::string_view class_of(Tone tone) {
  switch (tone) {
    case Tone::strong:
      return "strong";
    case Tone::faint:
      return "faint";
    case Tone::good:
      return "good";
    case Tone::bad:
      return "bad";
    case Tone::plain:
      break;
  }
  return "";
}

std::string class_text(Tone tone, bool right = false) {
  std::string names(class_of(tone));
  if (right) names += names.empty() ? "right" : " right";
  return names.empty() ? "" : fmt::format(" class=\"{}\"", names);
}

/// JSON inside of a script element must not hold "</script": every "<" is written as JSON may write it.
std::string in_script(const std::string& json) {
  std::string out;
  for (const char c : json) out += c == '<' ? std::string("\\u003c") : std::string(1, c);
  return out;
}

class Page {
 public:
  explicit Page(const Document& document) : document_(document) {}

  std::string made() {
    for (const Block& b : document_.blocks) std::visit([&](const auto& block) { put(block); }, b);
    if (open_) body_ += "</section>\n";
    // The policy forbids every request, also those that a mistake would make.
    return fmt::format(R"(<!doctype html>
<html lang="{0}">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:">
<meta name="generator" content="Kitwright">
<title>{1}</title>
<style>
{2}</style>
</head>
<body>
<header><h1>{1}</h1><p class="faint">{3}</p></header>
<main>
{4}</main>
<footer class="faint">{5}</footer>
<script type="application/json" id="parts">{6}</script>
<script>
{7}</script>
</body>
</html>
)",
                       document_.language, escaped(document_.title), kPageStyle, escaped(document_.subtitle), body_,
                       escaped(document_.footer), in_script(document_.parts_json), kPageScript);
  }

 private:
  void put(const Heading& h) {
    if (h.level == 1) {
      if (open_) body_ += "</section>\n";
      body_ += fmt::format("<section aria-labelledby=\"{}\">\n", h.anchor);
      open_ = true;
    }
    // No level is jumped, whatever size of heading the paper has: those who hear the page count on it.
    level_ = std::min(h.level, level_ + 1);
    body_ += fmt::format("<h{0} id=\"{1}\">{2}</h{0}>\n", level_ + 1, h.anchor, escaped(h.text));
  }
  void put(const Paragraph& p) { body_ += fmt::format("<p{}>{}</p>\n", class_text(p.tone), escaped(p.text)); }
  void put(const List& list) {
    const bool numbers = list.mark == List::Mark::number, boxes = list.mark == List::Mark::box;
    body_ += numbers ? "<ol>\n" : boxes ? "<ul class=\"boxes\">\n" : "<ul>\n";
    for (const std::string& item : list.items) {
      body_ += boxes ? fmt::format("<li><label><input type=\"checkbox\"> {}</label></li>\n", escaped(item))
                     : fmt::format("<li>{}</li>\n", escaped(item));
    }
    body_ += numbers ? "</ol>\n" : "</ul>\n";
  }
  void put(const Notice& n) {
    body_ += fmt::format("<aside class=\"{}\">\n", n.danger ? "danger" : "notice");
    if (!n.title.empty()) body_ += fmt::format("<p class=\"strong\">{}</p>\n", escaped(n.title));
    for (const std::string& line : n.lines) body_ += fmt::format("<p>{}</p>\n", escaped(line));
    body_ += "</aside>\n";
  }
  void put(const Table& t) {
    if (t.rows.empty()) return;
    body_ += "<div class=\"table\"><table>\n";
    if (!t.title.empty()) body_ += fmt::format("<caption>{}</caption>\n", escaped(t.title));
    body_ += "<thead><tr>";
    if (t.boxes) body_ += "<td></td>";
    for (const Column& c : t.columns) {
      // A column without a name has no heading for those who hear the page either.
      body_ += c.heading.empty()
                   ? std::string("<td></td>")
                   : fmt::format("<th scope=\"col\"{}>{}</th>", c.right ? " class=\"right\"" : "", escaped(c.heading));
    }
    body_ += "</tr></thead>\n<tbody>\n";
    for (const auto& row : t.rows) {
      body_ += "<tr>";
      if (t.boxes)
        body_ += fmt::format("<td><input type=\"checkbox\" aria-label=\"{}\"></td>",
                             row.empty() ? "" : escaped(row.front().text));
      for (std::size_t c = 0; c < row.size(); ++c) {
        body_ += fmt::format("<td{}>{}</td>", class_text(row[c].tone, t.columns[c].right), escaped(row[c].text));
      }
      body_ += "</tr>\n";
    }
    body_ += "</tbody>\n</table></div>\n";
  }
  void put(const Figure& f) {
    std::string drawing = f.drawing.str();
    // What has no title of its own is called as its caption says.
    constexpr std::string_view kUntitled = "<title></title>";
    if (const std::size_t at = drawing.find(kUntitled); at != std::string::npos)
      drawing.replace(at, kUntitled.size(), "<title>" + escaped(f.caption) + "</title>");
    if (f.mm_per_pixel > 0) {  // as on paper, whatever the screen
      const std::string size =
          fmt::format("<svg style=\"width:{:.2f}mm;max-width:none\"", f.drawing.width() * f.mm_per_pixel);
      drawing.replace(drawing.find("<svg"), 4, size);
    }
    body_ += fmt::format("<figure{}>\n{}",
                         f.whole_page         ? " class=\"wide\""
                         : f.mm_per_pixel > 0 ? " class=\"table\""
                                              : "",
                         drawing);
    if (!f.caption.empty()) body_ += fmt::format("<figcaption>{}</figcaption>\n", escaped(f.caption));
    body_ += "</figure>\n";
  }
  void put(const Live& l) {
    body_ += fmt::format(
        "<figure class=\"live\" data-live=\"{}\" aria-label=\"{}\">\n<script "
        "type=\"application/json\">{}</script>\n<figcaption>{}</figcaption>\n</figure>\n",
        l.type == Live::Type::linkage ? "linkage" : "space", escaped(l.title), in_script(l.data), escaped(l.hint));
  }
  void put(const Contents& c) {
    body_ += fmt::format("<nav aria-label=\"{0}\"><p class=\"strong\">{0}</p>\n<ul>\n", escaped(c.title));
    for (const Block& b : document_.blocks) {
      const auto* h = std::get_if<Heading>(&b);
      if (h != nullptr && h->level <= 2)
        body_ +=
            fmt::format("<li class=\"level{}\"><a href=\"#{}\">{}</a></li>\n", h->level, h->anchor, escaped(h->text));
    }
    body_ += "</ul></nav>\n";
  }

  const Document& document_;
  std::string body_;
  bool open_ = false;
  int level_ = 0;
};

}  // namespace

std::string html_of(const Document& document) {
  return Page(document).made();
}

}  // namespace dossier
