#include "report/svg.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace report {
namespace {

std::string number(double v) {
  std::string text = fmt::format("{:.2f}", v);
  text.erase(text.find_last_not_of('0') + 1);
  if (text.back() == '.') text.pop_back();
  return text == "-0" ? "0" : text;
}

std::string style_text(const Style& s) {
  std::string out = fmt::format(R"( fill="{}" stroke="{}" stroke-width="{}")", s.fill, s.stroke, number(s.width));
  if (!s.dash.empty()) out += fmt::format(R"( stroke-dasharray="{}")", s.dash);
  if (s.opacity < 1) out += fmt::format(R"( opacity="{}")", number(s.opacity));
  return out;
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

void Svg::line(Pixel a, Pixel b, const Style& style) {
  body_ += fmt::format("<line x1=\"{}\" y1=\"{}\" x2=\"{}\" y2=\"{}\"{}/>\n", number(a.x), number(a.y), number(b.x),
                       number(b.y), style_text(style));
}

void Svg::rect(Pixel corner, double width, double height, const Style& style) {
  body_ += fmt::format("<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"{}/>\n", number(corner.x), number(corner.y),
                       number(std::max(width, 0.0)), number(std::max(height, 0.0)), style_text(style));
}

void Svg::circle(Pixel centre, double radius, const Style& style) {
  body_ += fmt::format("<circle cx=\"{}\" cy=\"{}\" r=\"{}\"{}/>\n", number(centre.x), number(centre.y),
                       number(std::max(radius, 0.0)), style_text(style));
}

void Svg::polyline(const std::vector<Pixel>& points, const Style& style, bool closed) {
  if (points.empty()) return;
  std::string list;
  for (const Pixel& p : points) list += fmt::format("{}{},{}", list.empty() ? "" : " ", number(p.x), number(p.y));
  body_ += fmt::format("<{} points=\"{}\" stroke-linejoin=\"round\"{}/>\n", closed ? "polygon" : "polyline", list,
                       style_text(style));
}

void Svg::text(Pixel at, std::string_view text, const TextStyle& style) {
  static constexpr std::string_view kAnchor[] = {"start", "middle", "end"};
  body_ +=
      fmt::format("<text x=\"{}\" y=\"{}\" font-size=\"{}\" text-anchor=\"{}\" fill=\"{}\"{}{}>{}</text>\n",
                  number(at.x), number(at.y), number(style.size), kAnchor[static_cast<int>(style.anchor)], style.colour,
                  style.bold ? " font-weight=\"bold\"" : "",
                  style.halo ? " paint-order=\"stroke\" stroke=\"#ffffff\" stroke-width=\"3\"" : "", escaped(text));
}

void Svg::place(Pixel at, const Svg& inner) {
  body_ += fmt::format("<g transform=\"translate({} {})\">\n{}</g>\n", number(at.x), number(at.y), inner.body_);
}

std::string Svg::str() const {
  return fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0}\" height=\"{1}\" viewBox=\"0 0 {0} {1}\" "
      "font-family=\"DejaVu Sans, Verdana, Helvetica, sans-serif\" role=\"img\">\n<title>{2}</title>\n"
      "<rect width=\"{0}\" height=\"{1}\" fill=\"#ffffff\"/>\n{3}</svg>\n",
      number(width_), number(height_), escaped(title_), body_);
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
