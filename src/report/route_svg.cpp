#include "report/route_svg.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <optional>
#include <vector>

#include "base/text.h"
#include "routing/drawing.h"
#include "routing/tables.h"

namespace report {
namespace {

using routing::Mark;
using routing::MarkRole;
using routing::Spot;

constexpr double kEdge = 28;                             // blank margin of the sheet
constexpr double kHead = 62;                             // title, subtitle
constexpr double kFoot = 40;                             // legend
constexpr double kGap = 22;                              // between views, and between views and tables
constexpr double kPixelsPerMm = kRouteSheetWidth / 297;  // of paper
constexpr double kLetter = 11;                           // in the views
constexpr double kCell = 10.5;                           // in the tables
constexpr double kLine = 14;                             // of a table's text

/// Line, area and letters of a role. Areas are pale so that lines and letters stand out on them.
struct Look {
  std::string_view line = ink::kText;
  double width = 1;
  std::string_view area = "none";
};

Look look_of(MarkRole role) {
  switch (role) {
    case MarkRole::lattice_point:
      return {"none", 0, "#9aa4b2"};
    case MarkRole::lattice_edge:
      return {ink::kFaint, 0.8, "none"};
    case MarkRole::wall:
      return {"none", 0, "#f1f3f6"};
    case MarkRole::keep_out:
      return {ink::kBad, 1, "#fdeee6"};
    case MarkRole::wheel:
    case MarkRole::ring:
      return {"#00664b", 1.5, "#e3f3ed"};
    case MarkRole::pitch_circle:
      return {"#00664b", 0.8, "none"};
    case MarkRole::axle:
      return {ink::kText, 1.2, "#a9b1bd"};
    case MarkRole::centre_line:
      return {ink::kText, 0.7, "none"};
    case MarkRole::bearing:
      return {"#5b6575", 1.1, "#dde2e8"};
    case MarkRole::bush:
      return {"#8a5a00", 1.2, "#f9dfae"};
    case MarkRole::joiner:
      return {"#6b4a00", 1.4, "#f2c96d"};
    case MarkRole::terminal:
      return {ink::kGood, 1.4, "#dcebf6"};
    case MarkRole::sweep:
      return {ink::kGood, 1, "#f0f6fb"};
    case MarkRole::attachment:
      return {"#8c4a72", 1.4, "#f5e6ef"};
    case MarkRole::wheel_label:
      return {"#00553f", 0.7, "none"};
    case MarkRole::misfit:
      return {"#a84300", 0.8, "none"};
    case MarkRole::dimension:
      return {ink::kFaint, 0.8, "none"};
    case MarkRole::hole_label:
    case MarkRole::shaft_label:
    case MarkRole::part_label:
    case MarkRole::view_title:
      return {ink::kText, 0.7, "none"};
  }
  return {};
}

/// Long dashes and two dots: extreme positions of movable parts (ISO 128-2, line type 05).
constexpr std::string_view kMovingDash = "10 2.5 1.5 2.5 1.5 2.5";

std::string_view dash_of(const Mark& m) {
  if (m.role == MarkRole::pitch_circle || m.role == MarkRole::centre_line) return "9 2.5 1.5 2.5";
  if (m.role == MarkRole::keep_out) return "5 3";
  if (m.role == MarkRole::sweep) return kMovingDash;
  return m.hidden ? "4 2.5" : "";
}

void arrow_head(Svg& svg, Pixel tip, Pixel from, std::string_view colour) {
  const double length = std::hypot(tip.x - from.x, tip.y - from.y);
  if (length < 1e-9) return;
  const double ux = (tip.x - from.x) / length, uy = (tip.y - from.y) / length;
  constexpr double kLong = 7, kHalf = 2.2;
  svg.polyline({tip,
                {tip.x - kLong * ux - kHalf * uy, tip.y - kLong * uy + kHalf * ux},
                {tip.x - kLong * ux + kHalf * uy, tip.y - kLong * uy - kHalf * ux}},
               {"none", 0, colour, "", 1}, true);
}

/// Paints a view so that the frame's origin falls on `origin`.
void paint(Svg& svg, const routing::View& view, Pixel origin, double scale, double pitch_mm) {
  constexpr std::string_view kAxes = "xyz";
  const char axes[] = {kAxes[static_cast<std::size_t>(view.right)], kAxes[static_cast<std::size_t>(view.up)]};
  svg.open_view({axes, 2}, origin, scale * pitch_mm);
  const auto at = [&](Spot s) { return Pixel{origin.x + s.right_mm * scale, origin.y - s.up_mm * scale}; };
  for (const Mark& m : view.marks) {
    const Look look = look_of(m.role);
    Style style{look.line, look.width, "none", dash_of(m), 1};
    if (m.fill) style = {"none", 0, look.area, "", 1};
    if (m.hidden) {
      style.width = std::max(0.7, look.width * 0.6);
      style.opacity = 0.75;
    } else if (!m.fill) {
      style.opacity = 1 - 0.35 * m.depth;  // farther solids lighter
    }
    switch (m.form) {
      case Mark::Form::circle:
        if (m.role == MarkRole::lattice_point) style = {"none", 0, look.area, "", 1};
        svg.circle(at(m.points[0]), std::max(m.radius_mm * scale, 0.9), style);
        break;
      case Mark::Form::line:
        svg.line(at(m.points[0]), at(m.points[1]), style);
        if (m.leader) svg.circle(at(m.points[0]), 1.7, {"none", 0, look.line, "", 1});
        break;
      case Mark::Form::rect: {
        const Pixel low = at(m.points[0]), high = at(m.points[1]);
        svg.rect({low.x, high.y}, high.x - low.x, low.y - high.y, style);
        break;
      }
      case Mark::Form::polyline: {
        std::vector<Pixel> points;
        for (const Spot& s : m.points) points.push_back(at(s));
        svg.polyline(points, style);
        break;
      }
      case Mark::Form::dimension:
        svg.line(at(m.points[0]), at(m.points[1]), style);
        arrow_head(svg, at(m.points[0]), at(m.points[1]), look.line);
        arrow_head(svg, at(m.points[1]), at(m.points[0]), look.line);
        break;
      case Mark::Form::text: {
        const double size = kLetter * m.size;
        const bool strong = m.role == MarkRole::view_title || m.role == MarkRole::wheel_label;
        const Pixel p = at(m.points[0]);
        svg.text({p.x, p.y + 0.36 * size}, m.text, {size, Anchor::middle, look.line, strong, true});
        break;
      }
    }
  }
  svg.close_group();
}

/// A table with ruled rows; cells are wrapped. Returns the height it takes; draws only when `svg` is given.
struct Column {
  std::string heading;
  double width = 0;
};
double table(Svg* svg, Pixel corner, const std::vector<Column>& columns,
             const std::vector<std::vector<std::string>>& rows) {
  constexpr double kPad = 5;
  double y = corner.y;
  const auto row = [&](const std::vector<std::string>& cells, bool head) {
    std::vector<std::vector<std::string>> lines;
    std::size_t most = 1;
    for (std::size_t c = 0; c < columns.size(); ++c) {
      // Bold letters are a tenth wider.
      lines.push_back(wrapped(cells[c], (columns[c].width - 2 * kPad) / (head || c == 0 ? 1.1 : 1), kCell));
      most = std::max(most, lines.back().size());
    }
    const double height = static_cast<double>(most) * kLine + 4;
    if (svg != nullptr) {
      double x = corner.x;
      for (std::size_t c = 0; c < columns.size(); ++c) {
        for (std::size_t i = 0; i < lines[c].size(); ++i) {
          svg->text({x + kPad, y + kLine * static_cast<double>(i + 1) - 2}, lines[c][i],
                    {kCell, Anchor::start, head ? ink::kFaint : ink::kText, head || c == 0});
        }
        x += columns[c].width;
      }
      svg->line({corner.x, y + height}, {x, y + height},
                {head ? ink::kText : ink::kLine, head ? 1.2 : 0.8, "none", "", 1});
    }
    y += height;
  };
  std::vector<std::string> heads;
  for (const Column& c : columns) heads.push_back(c.heading);
  row(heads, true);
  for (const auto& r : rows) row(r, false);
  return y - corner.y;
}

std::string joined(const std::vector<std::string>& words) {
  std::string out;
  for (const std::string& w : words) out += (out.empty() ? "" : ", ") + w;
  return out.empty() ? "\xE2\x80\x93" : out;
}

std::vector<std::vector<std::string>> shaft_rows(const routing::Problem& p, const routing::Layout& l) {
  std::vector<std::vector<std::string>> rows;
  for (const routing::ShaftRow& r : routing::shaft_table(p, l)) {
    const char along = lattice::letter(r.axis);
    std::vector<std::string> items, bearings, bushes;
    for (const auto& i : r.items) {
      items.push_back(fmt::format("{} at {}{}", i.name, routing::pitches_text(i.from_hp, i.to_hp),
                                  i.overhung ? " (overhung)" : ""));
    }
    for (const int b : r.bearings_hp) bearings.push_back(routing::pitches_text(b));
    for (const int b : r.bushes_hp) bushes.push_back(routing::pitches_text(b, b + r.bush_hp));
    rows.push_back({r.name, (r.carries.empty() ? "" : r.carries + ": ") + fmt::format("along {} at ", along) + r.hole,
                    fmt::format("{} ({} {})", r.axle, along, routing::pitches_text(r.from_hp, r.to_hp)), joined(items),
                    joined(bearings), joined(bushes)});
  }
  return rows;
}

std::string signed_text(const base::Rational& r) {
  return (r.num() < 0 ? "\xE2\x88\x92" : "") + r.abs().text();
}

std::vector<std::vector<std::string>> mesh_rows(const routing::Problem& p, const routing::Layout& l) {
  std::vector<std::vector<std::string>> rows;
  for (const routing::MeshRow& r : routing::mesh_table(p, l)) {
    rows.push_back({std::to_string(r.mesh + 1), r.driver + " drives " + r.driven, r.type, signed_text(r.ratio),
                    r.has_distance ? fmt::format("{:.2f} / {:.2f}", r.wanted_mm, r.offered_mm) : "axes meet",
                    r.has_distance ? routing::misfit_text(r.misfit_mm) : "slide to mesh"});
  }
  return rows;
}

/// Both tables, one above the other. Returns the height.
double tables(Svg* svg, Pixel corner, double width, const routing::Problem& p, const routing::Layout& l) {
  constexpr TextStyle kHeading{12, Anchor::start, ink::kText, true};
  const auto columns = [&](std::vector<Column> c) {
    double sum = 0;
    for (const Column& k : c) sum += k.width;
    for (Column& k : c) k.width *= width / sum;
    return c;
  };
  double y = corner.y;
  if (svg != nullptr) svg->text({corner.x, y + 11}, "Shafts (places in pitches; x forward, y left, z up)", kHeading);
  y += 18;
  y += table(
      svg, {corner.x, y},
      columns({{"", 24}, {"hole", 130}, {"axle", 88}, {"what sits on it, at", 136}, {"bearings", 66}, {"bushes", 66}}),
      shaft_rows(p, l));
  if (l.meshes.empty()) return y - corner.y;
  y += 16;
  if (svg != nullptr) svg->text({corner.x, y + 11}, "Meshes, from the input outwards", kHeading);
  y += 18;
  y += table(svg, {corner.x, y},
             columns({{"", 24},
                      {"wheels", 150},
                      {"type", 66},
                      {"ratio", 50},
                      {"distance wanted / offered, mm", 104},
                      {"fit", 96}}),
             mesh_rows(p, l));
  return y - corner.y;
}

/// Symbol of third-angle projection (ISO 5456-2): a truncated cone, its small end towards the circles.
void projection_symbol(Svg& svg, Pixel middle) {
  const Style line{ink::kText, 1.1, "none", "", 1};
  const Style axis{ink::kFaint, 0.7, "none", "5 1.5 1 1.5", 1};
  const double big = 8, small = 4, left = middle.x - 16, right = middle.x + 6;
  svg.circle({left, middle.y}, big, line);
  svg.circle({left, middle.y}, small, line);
  svg.polyline({{right, middle.y - small},
                {right + 18, middle.y - big},
                {right + 18, middle.y + big},
                {right, middle.y + small}},
               line, true);
  svg.line({left - big - 3, middle.y}, {right + 22, middle.y}, axis);
  svg.line({left, middle.y - big - 3}, {left, middle.y + big + 3}, axis);
}

bool has_role(const routing::Drawing& d, MarkRole role, bool hidden = false) {
  for (const routing::View* v : {&d.above, &d.from_right, &d.from_front}) {
    for (const Mark& m : v->marks) {
      if (m.role == role && (!hidden || m.hidden)) return true;
    }
  }
  return false;
}

/// Lines further down where one is not wide enough. Returns the height below the first line.
double legend(Svg& svg, Pixel corner, const routing::Drawing& d, double width) {
  struct Entry {
    MarkRole role;
    const char* text;
  };
  double x = corner.x;
  const double first_y = corner.y;
  const auto make_room = [&](const std::string& text) {
    if (x > corner.x && x + 26 + text_width(text, kCell) > corner.x + width) {
      x = corner.x;
      corner.y += 18;
    }
  };
  const auto say = [&](const std::string& text) {
    svg.text({x + 26, corner.y + 3.6}, text, {kCell, Anchor::start, ink::kFaint, false});
    x += 26 + text_width(text, kCell) + 16;
  };
  for (const Entry e :
       {Entry{MarkRole::wheel, "wheel, tip circle"}, Entry{MarkRole::pitch_circle, "pitch circle"},
        Entry{MarkRole::axle, "axle"}, Entry{MarkRole::bearing, "bearing hole"},
        Entry{MarkRole::wall, "beams run here"}, Entry{MarkRole::bush, "bush"}, Entry{MarkRole::joiner, "axle joiner"},
        Entry{MarkRole::terminal, "motor or body"}, Entry{MarkRole::sweep, "swept room"},
        Entry{MarkRole::attachment, "output part"}, Entry{MarkRole::keep_out, "keep free"}}) {
    if (!has_role(d, e.role)) continue;
    make_room(e.text);
    const Look look = look_of(e.role);
    if (e.role == MarkRole::pitch_circle) {
      svg.line({x, corner.y}, {x + 20, corner.y}, {look.line, 1, "none", "9 2.5 1.5 2.5", 1});
    } else {
      svg.rect({x, corner.y - 5}, 20, 10,
               {look.line, look.width, look.area,
                e.role == MarkRole::keep_out ? "5 3"
                : e.role == MarkRole::sweep  ? kMovingDash
                                             : std::string_view(),
                1});
    }
    say(e.text);
  }
  for (const MarkRole role :
       {MarkRole::wheel, MarkRole::axle, MarkRole::terminal, MarkRole::attachment, MarkRole::ring}) {
    if (!has_role(d, role, true)) continue;
    make_room("hidden");
    svg.line({x, corner.y}, {x + 20, corner.y}, {ink::kFaint, 1, "none", "4 2.5", 1});
    say("hidden");
    break;
  }
  return corner.y - first_y;
}

/// The views at one size of drawing. Third-angle: the columns share x, the rows share z, so that every point is found
/// straight above or beside.
struct Views {
  routing::Drawing drawing;
  double scale = 1;                ///< pixels per millimetre of the model
  double natural = 1;              ///< millimetres of paper per millimetre of the model
  double left_mm = 0, top_mm = 0;  ///< of the shared column and the shared row
  double column = 0, beside = 0;   ///< widths: above and main view, view from the front
  double upper = 0, lower = 0;     ///< heights: view from above, the two others
};

Views views_at(const routing::Problem& p, const routing::Layout& l, double natural) {
  Views v;
  v.natural = natural;
  v.scale = natural * kPixelsPerMm;
  routing::DrawingOptions options;
  options.text_mm = kLetter / v.scale;
  // As if all were bold: some labels are, and a little air does the others good.
  options.width_em = [](std::string_view text) { return text_width(text, 1, true); };
  v.drawing = routing::drawing(p, l, options);
  const routing::Window &a = v.drawing.above.paper, &m = v.drawing.from_right.paper, &f = v.drawing.from_front.paper;
  v.left_mm = std::min(a.low.right_mm, m.low.right_mm);
  v.top_mm = std::max(m.high.up_mm, f.high.up_mm);
  v.column = (std::max(a.high.right_mm, m.high.right_mm) - v.left_mm) * v.scale;
  v.beside = f.width_mm() * v.scale;
  v.upper = a.height_mm() * v.scale;
  v.lower = (v.top_mm - std::min(m.low.up_mm, f.low.up_mm)) * v.scale;
  return v;
}

/// Where the tables stand: in the free quarter over the view from the front, in a column of their own, or below all.
enum class TablesAt { quarter, column, below };
struct Arrangement {
  Views views;
  TablesAt tables = TablesAt::below;
  double table_width = 0, table_height = 0;
};

/// 1:n and n:1 with the steps of ISO 5455 and some between, largest first.
constexpr double kScales[] = {5,   4,       3,       2.5,  2,   1.5,     1.25, 1,    0.8,  1 / 1.5,
                              0.5, 1 / 2.5, 1.0 / 3, 0.25, 0.2, 1 / 7.5, 0.1,  0.05, 0.02, 0.01};

/// The largest views that fit a field together with the tables. Where long tables would squeeze them below this share
/// of the size they could have alone, the tables go below the field and the sheet grows.
constexpr double kSqueezed = 0.6;

Arrangement arranged(const routing::Problem& p, const routing::Layout& l, double width, double height) {
  constexpr double kLeastTable = 500, kMostTable = 640;
  std::optional<Arrangement> alone;
  double least_width = 0, least_height = 0;  // of the lattice without any labels
  for (const double natural : kScales) {
    if (alone && natural < kSqueezed * alone->views.natural) break;
    const double pixels = natural * kPixelsPerMm;
    const bool last = natural == *std::rbegin(kScales);
    if (!last && (least_width * pixels > width || least_height * pixels > height)) continue;
    const Views v = views_at(p, l, natural);
    least_width = v.drawing.from_right.lattice.width_mm() + v.drawing.from_front.lattice.width_mm();
    least_height = v.drawing.above.lattice.height_mm() + v.drawing.from_right.lattice.height_mm();
    const double both = v.column + kGap + v.beside, views_height = v.upper + kGap + v.lower;
    if (!alone && ((both <= width && views_height <= height) || last)) {
      alone = Arrangement{v, TablesAt::below, width, tables(nullptr, {0, 0}, width, p, l)};
    }
    if (both > width || views_height > height) continue;
    for (const TablesAt way : {TablesAt::quarter, TablesAt::column, TablesAt::below}) {
      const double taken = way == TablesAt::quarter ? v.column : way == TablesAt::column ? both : -kGap;
      const double table_width = way == TablesAt::below ? width : std::min(width - taken - kGap, kMostTable);
      if (table_width < kLeastTable) continue;
      const double t = tables(nullptr, {0, 0}, table_width, p, l);
      const double high = way == TablesAt::quarter  ? std::max(v.upper, t) + kGap + v.lower
                          : way == TablesAt::column ? std::max(views_height, t)
                                                    : views_height + kGap + t;
      if (high <= height) return {v, way, table_width, t};
    }
  }
  return *alone;
}

/// All three; `row_top`: where the lower row starts.
void paint(Svg& svg, const Views& v, Pixel corner, double row_top, double pitch_mm) {
  const Pixel main{corner.x - v.left_mm * v.scale, row_top + v.top_mm * v.scale};
  paint(svg, v.drawing.above, {main.x, corner.y + v.drawing.above.paper.high.up_mm * v.scale}, v.scale, pitch_mm);
  paint(svg, v.drawing.from_right, main, v.scale, pitch_mm);
  paint(svg, v.drawing.from_front,
        {corner.x + v.column + kGap - v.drawing.from_front.paper.low.right_mm * v.scale, main.y}, v.scale, pitch_mm);
}

std::string scale_text(double natural) {
  return natural >= 1 ? base::plain(natural) + ":1" : "1:" + base::plain(1 / natural);
}

std::string ratio_text(const routing::Problem& p, const routing::Layout& l) {
  std::vector<std::string> words;
  for (std::size_t o = 0; o < l.ratios.size() && o < p.outputs.size(); ++o) {
    const std::string times = l.ratios[o].abs().text();
    words.push_back(fmt::format("{} turns at {}the input's speed{}", p.outputs[o].name,
                                times == "1" ? "" : times + " times ", l.ratios[o].num() < 0 ? ", the other way" : ""));
  }
  return base::list_text(words);
}

}  // namespace

Svg route_sheet(const routing::Problem& p, const routing::Layout& l, const RouteCaption& caption) {
  const double room = kRouteSheetWidth - 2 * kEdge;
  const double high = kRouteSheetHeight - 2 * kEdge - kHead - kFoot;
  const Arrangement sheet = arranged(p, l, room, high);
  const Views& views = sheet.views;
  const double first_row = sheet.tables == TablesAt::quarter ? std::max(views.upper, sheet.table_height) : views.upper;
  const double views_height = first_row + kGap + views.lower;
  const double table_top = sheet.tables == TablesAt::below ? views_height + kGap : 0;
  const double body = std::max({high, views_height, table_top + sheet.table_height});
  const double height = body + 2 * kEdge + kHead + kFoot;
  Svg svg(kRouteSheetWidth, height, caption.title);
  const Style frame{ink::kLine, 1, "none", "", 1};
  svg.rect({kEdge / 2, kEdge / 2}, kRouteSheetWidth - kEdge, height - kEdge, frame);

  // Head: what it is on the left, scale and projection on the right.
  const double right = kRouteSheetWidth - kEdge;
  const std::string scale = fmt::format("scale {}, third-angle projection", scale_text(views.natural));
  const double scale_width = text_width(scale, 11) + 70;
  svg.text({kEdge, kEdge + 12}, fitted(caption.title, room - scale_width, 16, true),
           {16, Anchor::start, ink::kText, true});
  svg.text({kEdge, kEdge + 29}, fitted(caption.subtitle, room - scale_width, 11),
           {11, Anchor::start, ink::kFaint, false});
  std::string what = ratio_text(p, l);
  if (p.kit.copies == 2) what += ". Build it twice: this one and its mirror image";
  svg.text({kEdge, kEdge + 45}, fitted(what, room - scale_width, 11), {11, Anchor::start, ink::kText, false});
  svg.text({right - 64, kEdge + 14}, scale, {11, Anchor::end, ink::kText, false});
  projection_symbol(svg, {right - 26, kEdge + 10});
  // Scale bar of a round length.
  const std::vector<double> ticks = round_ticks(0, 160 / views.scale, 1);
  const double bar_mm = ticks.size() > 1 ? ticks[1] : 10;
  const std::string bar_text =
      fmt::format("{} mm = {} pitches", base::plain(bar_mm), base::plain(bar_mm / p.kit.pitch_mm, 3));
  const double bar = std::min(bar_mm * views.scale, 400.0), bar_left = right - text_width(bar_text, kCell) - 8 - bar;
  svg.line({bar_left, kEdge + 42}, {bar_left + bar, kEdge + 42}, {ink::kText, 2, "none", "", 1});
  for (const double x : {bar_left, bar_left + bar})
    svg.line({x, kEdge + 38}, {x, kEdge + 46}, {ink::kText, 1.2, "none", "", 1});
  svg.text({right, kEdge + 45.6}, bar_text, {kCell, Anchor::end, ink::kFaint, false});

  const double top = kEdge + kHead, views_width = views.column + kGap + views.beside;
  const double free = sheet.tables == TablesAt::column  ? room - sheet.table_width - kGap - views_width
                      : sheet.tables == TablesAt::below ? room - views_width
                                                        : 0;
  const double left = kEdge + std::max(0.0, free / 2), row_top = top + first_row + kGap;
  paint(svg, views, {left, top + first_row - views.upper}, row_top, p.kit.pitch_mm);
  tables(&svg, {sheet.tables == TablesAt::below ? kEdge : right - sheet.table_width, top + table_top},
         sheet.table_width, p, l);
  legend(svg, {kEdge, height - kEdge - 8}, views.drawing, room);
  return svg;
}

Svg route_views(const routing::Problem& p, const routing::Layout& l, double width, double height) {
  constexpr double kLegend = 24;
  // Smaller views do not always take less paper, as labels stay as large as they are. So where nothing fits, the sheet
  // is made larger, to be shrunk as a whole: the views that are then the largest are taken.
  std::optional<Views> best;
  double best_size = 0, least_width = 0, least_height = 0;
  for (const double natural : kScales) {
    // Without any labels they would be shrunk to less than what is at hand already.
    const double bare = natural * kPixelsPerMm;
    const double most =
        std::min({1.0, width / std::max(least_width * bare, 1.0), height / std::max(least_height * bare, 1.0)});
    if (best && bare * most * most <= best_size) continue;
    const Views v = views_at(p, l, natural);
    least_width = v.drawing.from_right.lattice.width_mm() + v.drawing.from_front.lattice.width_mm();
    least_height = v.drawing.above.lattice.height_mm() + v.drawing.from_right.lattice.height_mm();
    const double shrunk =
        std::min({1.0, width / (v.column + kGap + v.beside), height / (v.upper + kGap + v.lower + kLegend)});
    // Letters count as much as views.
    const double size = v.scale * shrunk * shrunk;
    if (best && size <= best_size) continue;
    best = v;
    best_size = size;
    if (shrunk == 1) break;
  }
  const double across = best->column + kGap + best->beside, high = best->upper + kGap + best->lower;
  Svg svg(std::max(width, across), high + kLegend, "three views");
  paint(svg, *best, {std::max(0.0, (width - across) / 2), 0}, best->upper + kGap, p.kit.pitch_mm);
  svg.set_height(high + kLegend + legend(svg, {0, high + kLegend - 8}, best->drawing, svg.width()));
  return svg;
}

}  // namespace report
