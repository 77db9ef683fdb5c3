// The document on paper: Pango breaks the lines, this file breaks the pages, Cairo writes the PDF.
//
// Units are points (1/72 inch), y down. Everything is laid out twice: the first time to learn the pages of the chapters
// and how many there are, the second time to print them.
#include <cairo-pdf.h>
#include <pango/pangocairo.h>

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <map>
#include <memory>

#include "base/check.h"
#include "dossier/document.h"

namespace dossier {
namespace {

using report::Primitive;

template <auto Free>
struct Freed {
  template <class T>
  void operator()(T* p) const {
    Free(p);
  }
};
using SurfacePtr = std::unique_ptr<cairo_surface_t, Freed<cairo_surface_destroy>>;
using CairoPtr = std::unique_ptr<cairo_t, Freed<cairo_destroy>>;
using LayoutPtr = std::unique_ptr<PangoLayout, Freed<g_object_unref>>;
using ContextPtr = std::unique_ptr<PangoContext, Freed<g_object_unref>>;
using FontPtr = std::unique_ptr<PangoFontDescription, Freed<pango_font_description_free>>;

constexpr const char* kFonts = "Inter, DejaVu Sans";
constexpr double kBody = 9.5, kSmall = 8.2, kCaption = 8;
constexpr double kMargin = 48, kFoot = 30;  // foot: room for the page number above the lower margin
constexpr double kAfter = 7;                // below a block
constexpr double kCellPad = 4;
constexpr double kLineAir = 1.18;
// Drawings are made in pixels with letters of 10 to 13; not above this they print as large as the text around them.
constexpr double kMostScale = 0.82;
constexpr int kKeptLines = 2;  // of a paragraph, at either side of a page break

struct Size {
  double width = 0, height = 0;
};
Size size_of(Paper paper) {
  // ISO 216 A4 is 210 x 297 mm; ANSI/ASME Y14.1 size A is 8.5 x 11 inch.
  return paper == Paper::a4 ? Size{210 / 25.4 * 72, 297 / 25.4 * 72} : Size{612, 792};
}

struct Rgb {
  double r = 0, g = 0, b = 0;
};
Rgb rgb_of(std::string_view hex) {
  KW_CHECK(hex.size() == 7 && hex[0] == '#', fmt::format("colour \"{}\"", hex));
  const auto part = [&](std::size_t at) {
    return static_cast<double>(std::strtol(std::string(hex.substr(at, 2)).c_str(), nullptr, 16)) / 255;
  };
  return {part(1), part(3), part(5)};
}

std::string_view colour_of(Tone tone) {
  switch (tone) {
    case Tone::faint:
      return report::ink::kFaint;
    case Tone::good:
      return report::ink::kGood;
    case Tone::bad:
      return "#a84300";
    case Tone::plain:
    case Tone::strong:
      break;
  }
  return report::ink::kText;
}

/// Where a heading stands.
struct Mark {
  int page = 0;
  double x = 0, y = 0;
};

/// Widths of a table's columns and heights of its rows.
struct Measured {
  double first = 0;  ///< where the first column starts
  std::vector<double> width;
  double head = 0;  ///< height, without the title
  std::vector<double> row;
};

/// What the first round teaches the second.
struct Known {
  int pages = 0;
  std::map<std::string, Mark> marks;
  std::map<const Table*, Measured> tables;
};

struct TextLook {
  double size = kBody;
  bool bold = false;
  double width = -1;  ///< < 0: one line
  PangoAlignment align = PANGO_ALIGN_LEFT;
  bool figures = false;  ///< digits of one width
};

class Press {
 public:
  Press(const Document& document, Paper paper, const Known& known, const Unwanted& unwanted)
      : document_(document), known_(known), unwanted_(unwanted), paper_(size_of(paper)), page_(paper_) {
    learnt_.tables = known.tables;
    surface_.reset(cairo_pdf_surface_create_for_stream(
        [](void* to, const unsigned char* data, unsigned length) {
          static_cast<std::string*>(to)->append(reinterpret_cast<const char*>(data), length);
          return CAIRO_STATUS_SUCCESS;
        },
        &bytes_, paper_.width, paper_.height));
    cairo_pdf_surface_restrict_to_version(surface_.get(), CAIRO_PDF_VERSION_1_5);
    const auto tell = [&](cairo_pdf_metadata_t what, const char* text) {
      cairo_pdf_surface_set_metadata(surface_.get(), what, text);
    };
    tell(CAIRO_PDF_METADATA_TITLE, document.title.c_str());
    tell(CAIRO_PDF_METADATA_SUBJECT, document.subject.c_str());
    tell(CAIRO_PDF_METADATA_KEYWORDS, document.keywords.c_str());
    tell(CAIRO_PDF_METADATA_CREATOR, "Kitwright");
    tell(CAIRO_PDF_METADATA_CREATE_DATE, nullptr);  // Cairo would tell the time, and every run would give other bytes
    cairo_.reset(cairo_create(surface_.get()));
    cairo_font_options_t* options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_set_font_options(cairo_.get(), options);
    cairo_font_options_destroy(options);
  }

  /// Prints everything; returns what was learnt.
  Known print() {
    title();
    for (std::size_t i = 0; i < document_.blocks.size(); ++i) {
      std::visit([&](const auto& block) { put(block, i); }, document_.blocks[i]);
    }
    if (!floating_.empty()) new_page();
    end_page();
    whole_pages();
    context_.reset();
    cairo_.reset();
    cairo_surface_finish(surface_.get());
    const cairo_status_t status = cairo_surface_status(surface_.get());
    KW_CHECK(status == CAIRO_STATUS_SUCCESS, fmt::format("Cairo: {}", cairo_status_to_string(status)));
    learnt_.pages = page_number_;
    return std::move(learnt_);
  }
  [[nodiscard]] std::string bytes() { return std::move(bytes_); }

 private:
  // --- text ---------------------------------------------------------------------------------------------------------
  LayoutPtr layout(std::string_view text, const TextLook& look) {
    // One context for all: its cache of shaped words is what makes thousands of layouts quick.
    if (!context_) {
      context_.reset(pango_cairo_create_context(cairo_.get()));
      pango_context_set_round_glyph_positions(context_.get(), FALSE);
    }
    LayoutPtr out(pango_layout_new(context_.get()));
    FontPtr& font = fonts_[{look.size, look.bold}];
    if (!font) {
      font.reset(pango_font_description_from_string(kFonts));
      pango_font_description_set_absolute_size(font.get(), look.size * PANGO_SCALE);
      pango_font_description_set_weight(font.get(), look.bold ? PANGO_WEIGHT_SEMIBOLD : PANGO_WEIGHT_NORMAL);
    }
    pango_layout_set_font_description(out.get(), font.get());
    pango_layout_set_text(out.get(), text.data(), static_cast<int>(text.size()));
    if (look.width >= 0) {
      pango_layout_set_width(out.get(), static_cast<int>(look.width * PANGO_SCALE));
      pango_layout_set_wrap(out.get(), PANGO_WRAP_WORD_CHAR);
      pango_layout_set_alignment(out.get(), look.align);
      pango_layout_set_line_spacing(out.get(), static_cast<float>(kLineAir));
    }
    if (look.figures) {
      PangoAttrList* list = pango_attr_list_new();
      pango_attr_list_insert(list, pango_attr_font_features_new("tnum=1"));
      pango_layout_set_attributes(out.get(), list);
      pango_attr_list_unref(list);
    }
    return out;
  }
  static Size size_of_layout(PangoLayout* l) {
    PangoRectangle r;
    pango_layout_get_extents(l, nullptr, &r);
    return {static_cast<double>(r.width) / PANGO_SCALE, static_cast<double>(r.height) / PANGO_SCALE};
  }
  double width_of(std::string_view text, const TextLook& look) {
    TextLook line = look;
    line.width = -1;
    return size_of_layout(layout(text, line).get()).width;
  }
  void colour(std::string_view hex, double opacity = 1) {
    const Rgb c = rgb_of(hex);
    cairo_set_source_rgba(cairo_.get(), c.r, c.g, c.b, opacity);
  }
  /// The first round only learns where things come to stand.
  [[nodiscard]] bool measuring() const { return known_.pages == 0; }
  void show(PangoLayout* l, double x, double y, std::string_view hex) {
    if (measuring()) return;
    colour(hex);
    cairo_move_to(cairo_.get(), x, y);
    pango_cairo_show_layout(cairo_.get(), l);
    cairo_new_path(cairo_.get());  // text leaves a current point, from which the next path would start
  }
  void rule(double x1, double y1, double x2, double y2, double width, std::string_view hex) {
    colour(hex);
    cairo_set_line_width(cairo_.get(), width);
    cairo_move_to(cairo_.get(), x1, y1);
    cairo_line_to(cairo_.get(), x2, y2);
    cairo_stroke(cairo_.get());
  }
  void box(double x, double y, double side) {
    colour(report::ink::kText);
    cairo_set_line_width(cairo_.get(), 0.7);
    cairo_rectangle(cairo_.get(), x, y, side, side);
    cairo_stroke(cairo_.get());
  }

  // --- pages --------------------------------------------------------------------------------------------------------
  [[nodiscard]] double left() const { return kMargin; }
  [[nodiscard]] double width() const { return page_.width - 2 * kMargin; }
  [[nodiscard]] double bottom() const { return page_.height - kMargin - kFoot + 12; }
  [[nodiscard]] double room() const { return bottom() - y_; }
  [[nodiscard]] bool at_top() const { return y_ <= kMargin + 0.01; }

  void end_page() {
    const TextLook look{kCaption, false, -1, PANGO_ALIGN_LEFT, true};
    std::string number = document_.page_n_of_m;
    const auto put_in = [&](const char* name, int value) {
      const std::size_t at = number.find(name);
      KW_CHECK(at != std::string::npos, "page_n_of_m");
      number.replace(at, 3, std::to_string(value));
    };
    put_in("{n}", page_number_);
    put_in("{m}", known_.pages);
    const double y = page_.height - kMargin + 2;
    rule(left(), y - 5, left() + width(), y - 5, 0.5, report::ink::kLine);
    const LayoutPtr n = layout(number, look);
    const double taken = size_of_layout(n.get()).width;
    show(n.get(), left() + width() - taken, y, report::ink::kFaint);
    const LayoutPtr foot = layout(document_.footer, {kCaption});
    pango_layout_set_width(foot.get(), static_cast<int>((width() - taken - 12) * PANGO_SCALE));
    pango_layout_set_ellipsize(foot.get(), PANGO_ELLIPSIZE_END);
    show(foot.get(), left(), y, report::ink::kFaint);
    cairo_show_page(cairo_.get());
    heed(unwanted_);
  }
  void begin_page(bool across) {
    ++page_number_;
    page_ = across ? Size{paper_.height, paper_.width} : paper_;
    cairo_pdf_surface_set_size(surface_.get(), page_.width, page_.height);
    y_ = kMargin;
  }
  void new_page() {
    end_page();
    whole_pages();
    begin_page(false);
    std::vector<const Figure*> floating;
    floating.swap(floating_);
    for (const Figure* f : floating) place(*f);
  }
  /// Drawings that fill a page of their own wait until the page in hand is full, so that none is left half empty.
  void whole_pages() {
    std::vector<const Figure*> waiting;
    waiting.swap(waiting_);
    for (const Figure* f : waiting) {
      begin_page(f->drawing.width() > f->drawing.height());
      const LayoutPtr caption = caption_of(*f);
      const double words = f->caption.empty() ? 0 : size_of_layout(caption.get()).height + 6;
      const double scale = std::min(width() / f->drawing.width(), (bottom() - y_ - words) / f->drawing.height());
      draw(f->drawing, left() + (width() - f->drawing.width() * scale) / 2, y_, scale);
      show(caption.get(), left(), y_ + f->drawing.height() * scale + 4, report::ink::kFaint);
      end_page();
    }
  }
  /// A new page unless this height is left. Never two in a row.
  void need(double height) {
    if (room() < height && !at_top()) new_page();
  }

  // --- how much a block needs so that nothing of it stands alone
  // ------------------------------------------------------
  double least(std::size_t i) {
    if (i >= document_.blocks.size()) return 0;
    return std::visit([&](const auto& block) { return least_of(block, i); }, document_.blocks[i]);
  }
  double least_of(const Heading& h, std::size_t i) { return heading_height(h) + least(i + 1); }
  double least_of(const Paragraph& p, std::size_t i) {
    const LayoutPtr l = layout(p.text, {kBody, p.tone == Tone::strong, width()});
    const int lines = pango_layout_get_line_count(l.get());
    const double all = size_of_layout(l.get()).height;
    if (lines > 2 * kKeptLines) return all * kKeptLines / lines;
    // A few words before a drawing or a table stay with it.
    const Block* next = i + 1 < document_.blocks.size() ? &document_.blocks[i + 1] : nullptr;
    const bool together =
        next != nullptr && (std::holds_alternative<Figure>(*next) || std::holds_alternative<Table>(*next));
    return all + (together ? kAfter + least(i + 1) : 0);
  }
  double least_of(const List& list, std::size_t) {
    double out = 0;
    for (std::size_t k = 0; k < list.items.size() && k < 2; ++k) out += item_height(list, k);
    return out;
  }
  double least_of(const Notice& n, std::size_t) { return notice_height(n); }
  double least_of(const Table& t, std::size_t) {
    const Measured& m = measured(t);
    double out = (t.title.empty() ? 0 : kTitleHeight) + m.head;
    for (std::size_t r = 0; r < t.rows.size() && r < 2; ++r) out += m.row[r];
    return out;
  }
  double least_of(const Figure& f, std::size_t) { return f.whole_page ? 0 : least_height(f); }
  double least_of(const Live&, std::size_t i) { return least(i + 1); }
  double least_of(const Contents&, std::size_t) { return 120; }

  // --- blocks -------------------------------------------------------------------------------------------------------
  void title() {
    y_ += 26;
    const LayoutPtr name = layout(document_.title, {26, true, width()});
    show(name.get(), left(), y_, report::ink::kText);
    y_ += size_of_layout(name.get()).height + 6;
    const LayoutPtr under = layout(document_.subtitle, {11, false, width()});
    flow(under.get(), left(), report::ink::kFaint);  // may be a page long
    y_ += 12;
    rule(left(), y_, left() + width(), y_, 1.2, report::ink::kText);
    y_ += 14;
  }

  static std::string link_to(const Mark& m) { return fmt::format("page={} pos=[{:.1f} {:.1f}]", m.page, m.x, m.y); }

  static TextLook heading_look(int level) {
    return {level == 1 ? 16.0 : level == 2 ? 12.5 : 10.0, true, -1, PANGO_ALIGN_LEFT, false};
  }
  double heading_height(const Heading& h) {
    TextLook look = heading_look(h.level);
    look.width = width();
    return size_of_layout(layout(h.text, look).get()).height + (h.level == 1 ? 28 : h.level == 2 ? 18 : 11);
  }
  void put(const Heading& h, std::size_t i) {
    if (h.level <= 2 && !floating_.empty()) new_page();  // before something else begins
    // A chapter does not start at the foot of a page.
    double least_room = heading_height(h) + least(i + 1);
    if (h.level == 1) least_room = std::max(least_room, paper_.height / 4);
    need(std::min(least_room, paper_.height - 2 * kMargin - kFoot));
    if (!at_top()) y_ += h.level == 1 ? 18 : h.level == 2 ? 10 : 5;
    TextLook look = heading_look(h.level);
    look.width = width();
    const LayoutPtr l = layout(h.text, look);
    learnt_.marks[h.anchor] = {page_number_, left(), y_};
    show(l.get(), left(), y_, report::ink::kText);
    if (h.level <= 2) {
      const int parent = h.level == 1 ? CAIRO_PDF_OUTLINE_ROOT : chapter_;
      const int id = cairo_pdf_surface_add_outline(surface_.get(), parent, h.text.c_str(),
                                                   link_to(learnt_.marks[h.anchor]).c_str(),
                                                   static_cast<cairo_pdf_outline_flags_t>(0));
      if (h.level == 1) chapter_ = id;
    }
    y_ += size_of_layout(l.get()).height + (h.level == 1 ? 8 : 5);
    if (h.level == 1) {
      rule(left(), y_ - 4, left() + width(), y_ - 4, 0.6, report::ink::kLine);
      y_ += 3;
    }
  }

  /// Lines of a layout over as many pages as it takes, never fewer than kKeptLines on either side of a break.
  void flow(PangoLayout* l, double x, std::string_view hex) {
    const int lines = pango_layout_get_line_count(l);
    const double line_height = size_of_layout(l).height / lines;
    int at = 0;
    while (at < lines) {
      int fit = std::min(lines - at, static_cast<int>(room() / line_height));
      if (fit < lines - at) {
        fit = std::min(fit, lines - at - kKeptLines);
        if (fit < kKeptLines) fit = 0;
      }
      if (fit <= 0 && at_top()) fit = lines - at;
      for (int k = 0; k < fit; ++k) {
        PangoLayoutLine* line = pango_layout_get_line_readonly(l, at + k);
        colour(hex);
        cairo_move_to(cairo_.get(), x, y_ + line_height * 0.76);
        pango_cairo_show_layout_line(cairo_.get(), line);
        cairo_new_path(cairo_.get());
        y_ += line_height;
      }
      at += fit;
      if (at < lines) new_page();
    }
  }
  void put(const Paragraph& p, std::size_t i) {
    need(std::min(least_of(p, i), paper_.height - 2 * kMargin - kFoot - 20));
    const LayoutPtr l = layout(p.text, {kBody, p.tone == Tone::strong, width()});
    flow(l.get(), left(), colour_of(p.tone));
    y_ += kAfter;
  }

  static constexpr double kIndent = 16;
  double item_height(const List& list, std::size_t k) {
    return size_of_layout(layout(list.items[k], {kBody, false, width() - kIndent}).get()).height + 2;
  }
  void put(const List& list, std::size_t i) {
    need(std::min(least_of(list, i), paper_.height / 2));
    for (std::size_t k = 0; k < list.items.size(); ++k) {
      const LayoutPtr l = layout(list.items[k], {kBody, false, width() - kIndent});
      const double height = size_of_layout(l.get()).height, line = height / pango_layout_get_line_count(l.get());
      // Short entries stay whole, and the last one does not go to the next page alone.
      double wanted = std::min(height, 4 * line);
      if (k + 2 == list.items.size()) wanted += std::min(item_height(list, k + 1), 4 * line);
      need(wanted);
      if (list.mark == List::Mark::box) {
        box(left() + 1, y_ + 2, 7.5);
      } else {
        const LayoutPtr mark = layout(list.mark == List::Mark::number ? fmt::format("{}.", k + 1) : "\xE2\x80\xA2",
                                      {kBody, false, -1, PANGO_ALIGN_LEFT, true});
        colour(report::ink::kFaint);
        cairo_move_to(cairo_.get(), left() + 1, y_ + line * 0.76);
        pango_cairo_show_layout_line(cairo_.get(), pango_layout_get_line_readonly(mark.get(), 0));
        cairo_new_path(cairo_.get());
      }
      flow(l.get(), left() + kIndent, report::ink::kText);
      y_ += 2;
    }
    y_ += kAfter - 2;
  }

  static constexpr double kNoticePad = 9;
  double notice_height(const Notice& n) {
    double out = 2 * kNoticePad;
    if (!n.title.empty()) out += size_of_layout(notice_line(n.title, true).get()).height + 3;
    for (const std::string& s : n.lines) out += size_of_layout(notice_line(s, false).get()).height + 3;
    return out - 3;
  }
  LayoutPtr notice_line(std::string_view text, bool bold) {
    return layout(text, {kBody, bold, width() - 2 * kNoticePad - 4});
  }
  void put(const Notice& n, std::size_t) {
    const double height = notice_height(n);
    need(height);
    const std::string_view edge = n.danger ? report::ink::kBad : report::ink::kGood;
    colour(n.danger ? "#fdf1ea" : report::ink::kGround);
    cairo_rectangle(cairo_.get(), left(), y_, width(), height);
    cairo_fill(cairo_.get());
    colour(edge);
    cairo_rectangle(cairo_.get(), left(), y_, 3, height);
    cairo_fill(cairo_.get());
    double y = y_ + kNoticePad;
    const auto line = [&](const std::string& text, bool bold) {
      const LayoutPtr l = notice_line(text, bold);
      show(l.get(), left() + kNoticePad + 4, y, report::ink::kText);
      y += size_of_layout(l.get()).height + 3;
    };
    if (!n.title.empty()) line(n.title, true);
    for (const std::string& s : n.lines) line(s, false);
    y_ += height + kAfter + 3;
  }

  // --- tables -------------------------------------------------------------------------------------------------------
  static constexpr double kTitleHeight = 16;
  TextLook cell_look(const Table& t, std::size_t c, bool bold, double w) {
    return {kSmall, bold, w, t.columns[c].right ? PANGO_ALIGN_RIGHT : PANGO_ALIGN_LEFT, t.columns[c].right};
  }
  /// A table is measured once, whatever looks ahead at it.
  const Measured& measured(const Table& t) {
    const auto [it, fresh] = learnt_.tables.try_emplace(&t);
    if (fresh) {
      it->second = columns_of(t);
      it->second.head = cells_height(t, it->second, head_of(t), true);
      for (const auto& row : t.rows) it->second.row.push_back(cells_height(t, it->second, row, false));
    }
    return it->second;
  }
  /// Every column at least as wide as its longest word; what is left goes where lines would have to be broken.
  Measured columns_of(const Table& t) {
    Measured out;
    out.first = t.boxes ? 15 : 0;
    const std::size_t n = t.columns.size();
    std::vector<double> least(n, 0), most(n, 0);
    const auto measure = [&](std::size_t c, const std::string& text, bool bold) {
      most[c] = std::max(most[c], width_of(text, cell_look(t, c, bold, -1)) + 2 * kCellPad + 1);
      std::size_t at = 0;
      while (at < text.size()) {
        const std::size_t end = std::min(text.find(' ', at), text.size());
        least[c] = std::max(least[c], width_of(std::string_view(text).substr(at, end - at), cell_look(t, c, bold, -1)) +
                                          2 * kCellPad + 1);
        at = end + 1;
      }
    };
    for (std::size_t c = 0; c < n; ++c) measure(c, t.columns[c].heading, true);
    for (const auto& row : t.rows) {
      for (std::size_t c = 0; c < n; ++c) measure(c, row[c].text, row[c].tone == Tone::strong);
    }
    const double room = width() - out.first;
    double sum_least = 0, sum_most = 0;
    for (std::size_t c = 0; c < n; ++c) {
      sum_least += least[c];
      sum_most += most[c];
    }
    out.width = least;
    if (sum_most <= room) {
      // Not wider than needed, but for tables that nearly fill the page.
      const double spread = sum_most > 0.6 * room ? (room - sum_most) / static_cast<double>(n) : 0;
      for (std::size_t c = 0; c < n; ++c) out.width[c] = most[c] + spread;
    } else if (sum_least < room) {
      // Short columns are not broken: each gets its share of what is left, the rest goes to those that want more.
      std::vector<std::size_t> open;
      for (std::size_t c = 0; c < n; ++c) open.push_back(c);
      std::sort(open.begin(), open.end(), [&](std::size_t a, std::size_t b) {
        return most[a] - least[a] != most[b] - least[b] ? most[a] - least[a] < most[b] - least[b] : a < b;
      });
      double spare = room - sum_least;
      for (std::size_t k = 0; k < n; ++k) {
        const double given = std::min(most[open[k]] - least[open[k]], spare / static_cast<double>(n - k));
        out.width[open[k]] += given;
        spare -= given;
      }
    } else {
      for (double& w : out.width) w *= room / sum_least;  // words are broken then
    }
    return out;
  }
  double cells_height(const Table& t, const Measured& columns, const std::vector<Cell>& cells, bool head) {
    double out = 0;
    for (std::size_t c = 0; c < cells.size(); ++c) {
      const bool bold = head || cells[c].tone == Tone::strong;
      out = std::max(
          out,
          size_of_layout(layout(cells[c].text, cell_look(t, c, bold, columns.width[c] - 2 * kCellPad)).get()).height);
    }
    return out + 4.5;
  }
  static std::vector<Cell> head_of(const Table& t) {
    std::vector<Cell> out;
    for (const Column& c : t.columns) out.push_back({c.heading, Tone::faint});
    return out;
  }
  void put_cells(const Table& t, const Measured& columns, const std::vector<Cell>& cells, bool head, double height) {
    KW_CHECK(height < paper_.height - 2 * kMargin - kFoot, "a row of a table is higher than a page");
    double x = left() + columns.first;
    if (t.boxes && !head) box(left() + 3, y_ + 3, 7);
    for (std::size_t c = 0; c < cells.size(); ++c) {
      const bool bold = head || cells[c].tone == Tone::strong;
      const LayoutPtr l = layout(cells[c].text, cell_look(t, c, bold, columns.width[c] - 2 * kCellPad));
      show(l.get(), x + kCellPad, y_ + 2, colour_of(cells[c].tone));
      x += columns.width[c];
    }
    y_ += height;
    rule(left(), y_, x, y_, head ? 0.9 : 0.35, head ? report::ink::kText : report::ink::kLine);
    y_ += 0.5;
  }
  void put_head(const Table& t, const Measured& columns, bool again) {
    if (!t.title.empty()) {
      const LayoutPtr l = layout(again ? t.title + " " + document_.continued : t.title, {kSmall + 0.6, true, width()});
      show(l.get(), left(), y_, report::ink::kText);
      y_ += kTitleHeight;
    }
    put_cells(t, columns, head_of(t), true, columns.head);
  }
  void put(const Table& t, std::size_t i) {
    if (t.rows.empty()) return;
    need(std::min(least_of(t, i), paper_.height / 2));
    const Measured& m = measured(t);
    put_head(t, m, false);
    for (std::size_t r = 0; r < t.rows.size(); ++r) {
      // The last row does not go to the next page alone.
      const double wanted = m.row[r] + (r + 2 == t.rows.size() ? m.row[r + 1] : 0);
      if (room() < wanted) {
        new_page();
        put_head(t, m, true);
      }
      put_cells(t, m, t.rows[r], false, m.row[r]);
    }
    y_ += kAfter + 3;
  }

  // --- drawings -----------------------------------------------------------------------------------------------------
  LayoutPtr caption_of(const Figure& f) { return layout(f.caption, {kCaption, false, width()}); }
  Size figure_size(const Figure& f) {
    const double caption = f.caption.empty() ? 0 : size_of_layout(caption_of(f).get()).height + 4;
    if (f.mm_per_pixel > 0) {
      constexpr double kPoints_mm = 72 / 25.4;
      const double scale = f.mm_per_pixel * kPoints_mm;
      return {f.drawing.width() * scale, f.drawing.height() * scale + caption + kAfter};
    }
    const double most_high = page_.height - 2 * kMargin - kFoot - caption - 30;
    const double scale =
        std::min({width() / f.drawing.width(), most_high / std::max(f.drawing.height(), 1.0), kMostScale});
    return {f.drawing.width() * scale, f.drawing.height() * scale + caption + kAfter};
  }
  void put(const Figure& f, std::size_t i) {
    if (f.whole_page) {
      waiting_.push_back(&f);
      return;
    }
    // The text goes on beside a drawing that has no room any more; the next page begins with it.
    const bool below_heading = i > 0 && std::holds_alternative<Heading>(document_.blocks[i - 1]);
    const bool fits = at_top() || room() >= least_height(f);
    if (f.mm_per_pixel == 0 && !below_heading && (!fits || !floating_.empty())) {
      floating_.push_back(&f);
      return;
    }
    place(f);
  }
  /// A drawing may be a little smaller where that saves a page; its letters can still be read.
  double least_height(const Figure& f) {
    constexpr double kSmallest = 0.85;
    return f.mm_per_pixel > 0 ? figure_size(f).height : kSmallest * figure_size(f).height;
  }
  void place(const Figure& f) {
    need(least_height(f));
    const LayoutPtr caption = caption_of(f);
    const double words = f.caption.empty() ? 0 : size_of_layout(caption.get()).height + 4;
    const Size size = figure_size(f);
    const double around = words + kAfter, drawn = size.height - around;
    const double share = f.mm_per_pixel > 0 ? 1 : std::min(1.0, (room() - around) / drawn);
    draw(f.drawing, left(), y_, share * size.width / f.drawing.width());
    if (!f.caption.empty()) show(caption.get(), left(), y_ + share * drawn + 4, report::ink::kFaint);
    y_ += share * drawn + around + 4;
  }
  void put(const Live&, std::size_t) {}

  void draw(const report::Svg& drawing, double x, double y, double scale) {
    if (measuring()) return;
    cairo_t* c = cairo_.get();
    cairo_save(c);
    cairo_translate(c, x, y);
    cairo_scale(c, scale, scale);
    cairo_rectangle(c, 0, 0, drawing.width(), drawing.height());
    cairo_clip(c);
    int open = 0;
    for (const Primitive& p : drawing.primitives()) {
      switch (p.form) {
        case Primitive::Form::shift:
          cairo_save(c);
          ++open;
          cairo_translate(c, p.points[0].x, p.points[0].y);
          break;
        case Primitive::Form::view:
          cairo_save(c);
          ++open;
          break;
        case Primitive::Form::close:
          KW_CHECK(open > 0, "a group is closed that was not opened");
          cairo_restore(c);
          --open;
          break;
        case Primitive::Form::text:
          draw_text(p);
          break;
        default:
          draw_shape(p);
      }
    }
    KW_CHECK(open == 0, "a group of a drawing is not closed");
    cairo_restore(c);
  }
  void draw_shape(const Primitive& p) {
    cairo_t* c = cairo_.get();
    cairo_new_path(c);
    switch (p.form) {
      case Primitive::Form::rect:
        cairo_rectangle(c, p.points[0].x, p.points[0].y, p.width, p.height);
        break;
      case Primitive::Form::circle:
        cairo_arc(c, p.points[0].x, p.points[0].y, p.width, 0, 2 * std::acos(-1.0));
        cairo_close_path(c);
        break;
      default:
        for (const report::Pixel& q : p.points) cairo_line_to(c, q.x, q.y);
        if (p.form == Primitive::Form::polygon) cairo_close_path(c);
    }
    if (p.fill != "none") {
      colour(p.fill, p.opacity);
      cairo_fill_preserve(c);
    }
    if (p.stroke != "none" && p.stroke_width > 0) {
      colour(p.stroke, p.opacity);
      cairo_set_line_width(c, p.stroke_width);
      const bool bent = p.form == Primitive::Form::polyline || p.form == Primitive::Form::polygon;
      cairo_set_line_join(c, bent ? CAIRO_LINE_JOIN_ROUND : CAIRO_LINE_JOIN_MITER);
      std::vector<double> dashes;
      const char* at = p.dash.c_str();
      for (char* end = nullptr; *at != '\0'; at = end) {
        dashes.push_back(std::strtod(at, &end));
        if (end == at) break;
      }
      cairo_set_dash(c, dashes.data(), static_cast<int>(dashes.size()), 0);
      cairo_stroke_preserve(c);
      cairo_set_dash(c, nullptr, 0, 0);
    }
    cairo_new_path(c);
  }
  void draw_text(const Primitive& p) {
    if (p.words.empty()) return;
    cairo_t* c = cairo_.get();
    const LayoutPtr l = layout(p.words, {p.size, p.bold});
    PangoLayoutLine* line = pango_layout_get_line_readonly(l.get(), 0);
    const double w = size_of_layout(l.get()).width;
    const double x = p.points[0].x - (p.anchor == report::Anchor::end      ? w
                                      : p.anchor == report::Anchor::middle ? w / 2
                                                                           : 0);
    if (p.halo) {
      cairo_move_to(c, x, p.points[0].y);
      pango_cairo_layout_line_path(c, line);
      colour("#ffffff");
      cairo_set_line_width(c, 3);
      cairo_set_line_join(c, CAIRO_LINE_JOIN_ROUND);
      cairo_stroke(c);
    }
    colour(p.fill, p.opacity);
    cairo_move_to(c, x, p.points[0].y);
    pango_cairo_show_layout_line(c, line);
    cairo_new_path(c);
  }

  void put(const Contents& contents, std::size_t) {
    const LayoutPtr head = layout(contents.title, {kBody + 1, true, -1});
    show(head.get(), left(), y_, report::ink::kText);
    y_ += 18;
    for (const Block& block : document_.blocks) {
      const auto* h = std::get_if<Heading>(&block);
      if (h == nullptr || h->level > 2) continue;
      const TextLook look{h->level == 1 ? kBody : kSmall, h->level == 1, -1, PANGO_ALIGN_LEFT, true};
      const LayoutPtr name = layout(h->text, look);
      const double line = size_of_layout(name.get()).height * kLineAir, indent = h->level == 1 ? 0 : 14;
      need(line);
      const auto mark = known_.marks.find(h->anchor);
      const std::string page = mark == known_.marks.end() ? "" : std::to_string(mark->second.page);
      const LayoutPtr number = layout(page, look);
      // By page and place: named targets further on make Cairo 1.16 write a broken table of objects.
      const bool linked = mark != known_.marks.end();
      if (linked) cairo_tag_begin(cairo_.get(), "P", nullptr);
      if (linked) cairo_tag_begin(cairo_.get(), CAIRO_TAG_LINK, link_to(mark->second).c_str());
      show(name.get(), left() + indent, y_, report::ink::kText);
      show(number.get(), left() + width() - size_of_layout(number.get()).width, y_, report::ink::kFaint);
      if (linked) cairo_tag_end(cairo_.get(), CAIRO_TAG_LINK);
      if (linked) cairo_tag_end(cairo_.get(), "P");
      y_ += line + (h->level == 1 ? 1 : 0);
    }
    y_ += kAfter;
  }

  const Document& document_;
  const Known& known_;
  const Unwanted& unwanted_;
  Known learnt_;
  Size paper_, page_;
  std::string bytes_;
  SurfacePtr surface_;
  CairoPtr cairo_;
  ContextPtr context_;
  std::map<std::pair<double, bool>, FontPtr> fonts_;
  std::vector<const Figure*> waiting_;   // for a page of their own
  std::vector<const Figure*> floating_;  // for the top of the next page
  double y_ = kMargin;
  int page_number_ = 1;
  int chapter_ = CAIRO_PDF_OUTLINE_ROOT;
};

}  // namespace

Printed print(const Document& document, Paper paper, const Unwanted& unwanted) {
  Known known;
  Printed out;
  for (int round = 0; round < 2; ++round) {
    Press press(document, paper, known, unwanted);
    Known learnt = press.print();
    out.bytes = press.bytes();
    known = std::move(learnt);
  }
  out.pages = known.pages;
  for (const auto& [anchor, mark] : known.marks) out.page_of[anchor] = mark.page;
  return out;
}

}  // namespace dossier
