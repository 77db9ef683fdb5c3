// Drawings as one list of primitives, with a fixed palette that colour-blind people can tell apart, and their SVG
// writer; other writers (dossier/, PDF) walk the same list. Coordinates are pixels, y down. Numbers are printed with
// two decimals, so equal drawings are equal bytes.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace report {

/// Palette: Okabe & Ito, "Color Universal Design", 2008 (from memory), on a white ground.
namespace ink {
inline constexpr std::string_view kText = "#1f2430";
inline constexpr std::string_view kFaint = "#667080";
inline constexpr std::string_view kLine = "#c9ced6";
inline constexpr std::string_view kGround = "#eef1f5";
inline constexpr std::string_view kGood = "#0072b2";   ///< blue
inline constexpr std::string_view kBad = "#d55e00";    ///< vermilion
inline constexpr std::string_view kWarm = "#e69f00";   ///< orange
inline constexpr std::string_view kThird = "#009e73";  ///< bluish green
}  // namespace ink

struct Pixel {
  double x = 0, y = 0;
};

struct Style {
  std::string_view stroke = ink::kText;
  double width = 1;
  std::string_view fill = "none";
  std::string_view dash = "";  ///< "4 3"
  double opacity = 1;
};

enum class Anchor { start, middle, end };

struct TextStyle {
  double size = 12;
  Anchor anchor = Anchor::start;
  std::string_view colour = ink::kText;
  bool bold = false;
  bool halo = false;  ///< a white edge, for text that may lie on lines
};

/// Width a text takes at most, in pixels, with the fonts named in the drawing (DejaVu Sans is the widest of them).
[[nodiscard]] double text_width(std::string_view text, double size, bool bold = false);
/// The text, cut with an ellipsis to fit `width` pixels.
[[nodiscard]] std::string fitted(std::string_view text, double width, double size, bool bold = false);
/// Broken at blanks into lines of at most `width` pixels.
[[nodiscard]] std::vector<std::string> wrapped(std::string_view text, double width, double size);
/// Text safe inside XML and HTML.
[[nodiscard]] std::string escaped(std::string_view text);

/// One thing drawn. What a form does not name is unused.
struct Primitive {
  enum class Form {
    line,      ///< points[0] to points[1]
    rect,      ///< corner points[0], width, height
    circle,    ///< centre points[0], radius = width
    polyline,  ///< open
    polygon,   ///< closed
    text,      ///< words at points[0], on the base line
    view,      ///< opens a group: axes in `words`, origin points[0], pixels a pitch = width
    shift,     ///< opens a group moved by points[0]
    close      ///< of the innermost group
  };
  Form form = Form::line;
  std::vector<Pixel> points = {};
  double width = 0, height = 0;
  std::string stroke = {}, fill = {}, dash = {};  ///< "#rrggbb" or "none"; text: its colour in `fill`
  double stroke_width = 0, opacity = 1;
  std::string words = {};
  double size = 0;  ///< of letters
  Anchor anchor = Anchor::start;
  bool bold = false, halo = false;
  // What the words are of, for those who tell them in another language: the whole text before it was cut or broken into
  // lines, and the room a line has. The lines after the first of a paragraph have none of it.
  std::string whole = {};
  double room = 0;
  int lines = 0;  ///< first line of a paragraph: how many follow with it, itself included; the others: -1
};

class Svg {
 public:
  Svg(double width, double height, std::string_view title);

  void line(Pixel a, Pixel b, const Style& style = {});
  void rect(Pixel corner, double width, double height, const Style& style = {});
  void circle(Pixel centre, double radius, const Style& style = {});
  void polyline(const std::vector<Pixel>& points, const Style& style = {}, bool closed = false);
  void text(Pixel at, std::string_view text, const TextStyle& style = {});
  /// Cut with an ellipsis where it is wider than `room`.
  void fitted_text(Pixel at, std::string_view text, double room, const TextStyle& style = {});
  /// Broken into lines of at most `room`, `line_height` from one base line to the next; returns how many.
  std::size_t paragraph(Pixel at, std::string_view text, double room, double line_height, const TextStyle& style = {});
  /// Until close_group(), shapes belong to a view: programs read where its origin is and how large a pitch. `axes` are
  /// those to the right and upward, "xz".
  void open_view(std::string_view axes, Pixel origin, double pixels_per_pitch);
  void close_group();
  /// Puts another drawing's shapes here.
  void place(Pixel at, const Svg& inner);

  [[nodiscard]] double width() const { return width_; }
  [[nodiscard]] double height() const { return height_; }
  void set_height(double height) { height_ = height; }
  [[nodiscard]] const std::string& title() const { return title_; }
  /// In the order of painting. Texts may be changed (a translation); groups stay balanced.
  [[nodiscard]] const std::vector<Primitive>& primitives() const { return primitives_; }
  [[nodiscard]] std::vector<Primitive>& primitives() { return primitives_; }
  [[nodiscard]] std::string str() const;

 private:
  Primitive& add(Primitive::Form form, std::vector<Pixel> points, const Style& style);

  double width_, height_;
  std::string title_;
  std::vector<Primitive> primitives_;
};

/// A scale from data to pixels: y = from + (value - low) / (high - low) * (to - from). Equal bounds map to the middle.
struct Scale {
  double low = 0, high = 1, from = 0, to = 1;
  [[nodiscard]] double operator()(double value) const {
    return high > low ? from + (value - low) / (high - low) * (to - from) : (from + to) / 2;
  }
};
/// Round numbers covering [low, high], about `count` of them, first and last outside or on the bounds.
[[nodiscard]] std::vector<double> round_ticks(double low, double high, int count);

}  // namespace report
