#include "report/svg.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace report {
namespace {

using Form = Primitive::Form;

std::string number(double v) {
  std::string text = fmt::format("{:.2f}", v);
  text.erase(text.find_last_not_of('0') + 1);
  if (text.back() == '.') text.pop_back();
  return text == "-0" ? "0" : text;
}

std::string style_text(const Primitive& p) {
  std::string out =
      fmt::format(R"( fill="{}" stroke="{}" stroke-width="{}")", p.fill, p.stroke, number(p.stroke_width));
  if (!p.dash.empty()) out += fmt::format(R"( stroke-dasharray="{}")", p.dash);
  if (p.opacity < 1) out += fmt::format(R"( opacity="{}")", number(p.opacity));
  return out;
}

std::string svg_text(const Primitive& p) {
  static constexpr std::string_view kAnchor[] = {"start", "middle", "end"};
  const auto x = [&](std::size_t i) { return number(p.points[i].x); };
  const auto y = [&](std::size_t i) { return number(p.points[i].y); };
  switch (p.form) {
    case Form::line:
      return fmt::format("<line x1=\"{}\" y1=\"{}\" x2=\"{}\" y2=\"{}\"{}/>\n", x(0), y(0), x(1), y(1), style_text(p));
    case Form::rect:
      return fmt::format("<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"{}/>\n", x(0), y(0), number(p.width),
                         number(p.height), style_text(p));
    case Form::circle:
      return fmt::format("<circle cx=\"{}\" cy=\"{}\" r=\"{}\"{}/>\n", x(0), y(0), number(p.width), style_text(p));
    case Form::polyline:
    case Form::polygon: {
      std::string list;
      for (std::size_t i = 0; i < p.points.size(); ++i) list += fmt::format("{}{},{}", i == 0 ? "" : " ", x(i), y(i));
      return fmt::format("<{} points=\"{}\" stroke-linejoin=\"round\"{}/>\n",
                         p.form == Form::polygon ? "polygon" : "polyline", list, style_text(p));
    }
    case Form::text:
      return fmt::format(
          "<text x=\"{}\" y=\"{}\" font-size=\"{}\" text-anchor=\"{}\" fill=\"{}\"{}{}>{}</text>\n", x(0), y(0),
          number(p.size), kAnchor[static_cast<int>(p.anchor)], p.fill, p.bold ? " font-weight=\"bold\"" : "",
          p.halo ? " paint-order=\"stroke\" stroke=\"#ffffff\" stroke-width=\"3\"" : "", escaped(p.words));
    case Form::view:
      return fmt::format("<g data-view=\"{}\" data-x0=\"{}\" data-y0=\"{}\" data-px_per_pitch=\"{}\">\n", p.words, x(0),
                         y(0), number(p.width));
    case Form::shift:
      return fmt::format("<g transform=\"translate({} {})\">\n", x(0), y(0));
    case Form::close:
      return "</g>\n";
  }
  return {};
}

}  // namespace

double text_width(std::string_view text, double size, bool bold) {
  // DejaVu Sans: widest common glyphs (m, w, capitals, %) 0.97, mean of English text 0.55 of the size (measured on our
  // own reports); narrow ones are told apart so that rows of digits and prose both fit.
  double sum = 0;
  for (const char c : text) {
    if ((static_cast<unsigned char>(c) & 0xC0U) == 0x80U) continue;
    if (static_cast<unsigned char>(c) >= 0x80U) {
      sum += 0.98;  // fractions, arrows, the minus sign: as wide as the widest letters
      continue;
    }
    switch (c) {
      case 'i':
      case 'j':
      case 'l':
      case '.':
      case ',':
      case ':':
      case ' ':
      case '\'':
      case '|':
        sum += 0.34;
        break;
      case 'f':
      case 'r':
      case 't':
      case '(':
      case ')':
      case '-':
      case '/':
      case '"':
        sum += 0.44;
        break;
      case 'm':
      case 'w':
      case 'M':
      case 'W':
      case '%':
      case '@':
        sum += 0.98;
        break;
      default:
        sum += c >= 'A' && c <= 'Z' ? 0.72 : 0.64;
    }
  }
  return sum * size * (bold ? 1.1 : 1);
}

std::string fitted(std::string_view text, double width, double size, bool bold) {
  if (text_width(text, size, bold) <= width) return std::string(text);
  std::string out(text);
  while (!out.empty() && text_width(out + "..", size, bold) > width) {
    out.pop_back();
    while (!out.empty() && (static_cast<unsigned char>(out.back()) & 0xC0U) == 0x80U) out.pop_back();
    if (!out.empty() && (static_cast<unsigned char>(out.back()) & 0x80U) != 0) out.pop_back();
  }
  return out + "\xE2\x80\xA6";
}

std::vector<std::string> wrapped(std::string_view text, double width, double size) {
  std::vector<std::string> lines;
  std::string line;
  std::size_t at = 0;
  while (at < text.size()) {
    const std::size_t end = std::min(text.find(' ', at), text.size());
    const std::string word(text.substr(at, end - at));
    const std::string longer = line.empty() ? word : line + " " + word;
    if (!line.empty() && text_width(longer, size) > width) {
      lines.push_back(line);
      line = fitted(word, width, size);
    } else {
      line = longer;
    }
    at = end + 1;
  }
  if (!line.empty()) lines.push_back(line);
  return lines;
}

std::string escaped(std::string_view text) {
  std::string out;
  out.reserve(text.size());
  for (const char c : text) {
    switch (c) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      default:
        // Control characters are not allowed in XML at all.
        if (static_cast<unsigned char>(c) >= 0x20 || c == '\n' || c == '\t') out += c;
    }
  }
  return out;
}

Svg::Svg(double width, double height, std::string_view title) : width_(width), height_(height), title_(title) {}

Primitive& Svg::add(Primitive::Form form, std::vector<Pixel> points, const Style& style) {
  Primitive& p = primitives_.emplace_back();
  p.form = form;
  p.points = std::move(points);
  p.stroke = style.stroke;
  p.fill = style.fill;
  p.dash = style.dash;
  p.stroke_width = style.width;
  p.opacity = style.opacity;
  return p;
}

void Svg::line(Pixel a, Pixel b, const Style& style) {
  add(Form::line, {a, b}, style);
}

void Svg::rect(Pixel corner, double width, double height, const Style& style) {
  Primitive& p = add(Form::rect, {corner}, style);
  p.width = std::max(width, 0.0);
  p.height = std::max(height, 0.0);
}

void Svg::circle(Pixel centre, double radius, const Style& style) {
  add(Form::circle, {centre}, style).width = std::max(radius, 0.0);
}

void Svg::polyline(const std::vector<Pixel>& points, const Style& style, bool closed) {
  if (!points.empty()) add(closed ? Form::polygon : Form::polyline, points, style);
}

void Svg::text(Pixel at, std::string_view text, const TextStyle& style) {
  Primitive& p = add(Form::text, {at}, {"none", 0, style.colour});
  p.words = text;
  p.size = style.size;
  p.anchor = style.anchor;
  p.bold = style.bold;
  p.halo = style.halo;
}

void Svg::fitted_text(Pixel at, std::string_view words, double room, const TextStyle& style) {
  text(at, fitted(words, room, style.size, style.bold), style);
  primitives_.back().whole = words;
  primitives_.back().room = room;
}

std::size_t Svg::paragraph(Pixel at, std::string_view words, double room, double line_height, const TextStyle& style) {
  const std::vector<std::string> lines = wrapped(words, room, style.size);
  for (std::size_t i = 0; i < lines.size(); ++i) {
    text({at.x, at.y + line_height * static_cast<double>(i)}, lines[i], style);
    Primitive& p = primitives_.back();
    p.lines = i == 0 ? static_cast<int>(lines.size()) : -1;
    if (i > 0) continue;
    p.whole = words;
    p.room = room;
  }
  return lines.size();
}

void Svg::open_view(std::string_view axes, Pixel origin, double pixels_per_pitch) {
  Primitive& p = add(Form::view, {origin}, {});
  p.words = axes;
  p.width = pixels_per_pitch;
}

void Svg::close_group() {
  add(Form::close, {}, {});
}

void Svg::place(Pixel at, const Svg& inner) {
  add(Form::shift, {at}, {});
  primitives_.insert(primitives_.end(), inner.primitives_.begin(), inner.primitives_.end());
  close_group();
}

std::string Svg::str() const {
  std::string body;
  for (const Primitive& p : primitives_) body += svg_text(p);
  return fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0}\" height=\"{1}\" viewBox=\"0 0 {0} {1}\" "
      "font-family=\"DejaVu Sans, Verdana, Helvetica, sans-serif\" role=\"img\">\n<title>{2}</title>\n"
      "<rect width=\"{0}\" height=\"{1}\" fill=\"#ffffff\"/>\n{3}</svg>\n",
      number(width_), number(height_), escaped(title_), body);
}

std::vector<double> round_ticks(double low, double high, int count) {
  if (!(high > low)) return {low};
  const double rough = (high - low) / std::max(count, 1);
  const double power = std::pow(10, std::floor(std::log10(rough)));
  double step = 10 * power;
  for (const double s : {1.0, 2.0, 5.0}) {
    if (s * power >= rough * (1 - 1e-9)) {
      step = s * power;
      break;
    }
  }
  std::vector<double> out;
  const auto first = std::floor(low / step + 1e-9), last = std::ceil(high / step - 1e-9);
  for (double i = first; i <= last; ++i) out.push_back(i * step);
  return out;
}

}  // namespace report
