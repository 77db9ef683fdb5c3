// Stickers of the project at their true size, to be cut out.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "dossier/author.h"

namespace dossier {
namespace {

constexpr double kPixels_mm = 4;   // of a drawing, per mm of paper
constexpr double kSheet_mm = 174;  // width of text on A4; Letter is wider
constexpr double kGap_mm = 4;
constexpr double kRuler_mm = 50;

using report::Pixel;

/// The part of a convex polygon between two upright lines (Sutherland, Hodgman, "Reentrant polygon clipping", Comm. ACM
/// 17 (1974) 32-42).
std::vector<Pixel> between(std::vector<Pixel> shape, double low, double high) {
  for (const auto& [at, sign] : {std::pair{low, 1.0}, std::pair{high, -1.0}}) {
    std::vector<Pixel> kept;
    for (std::size_t i = 0; i < shape.size(); ++i) {
      const Pixel a = shape[i], b = shape[(i + 1) % shape.size()];
      const double da = sign * (a.x - at), db = sign * (b.x - at);
      if (da >= 0) kept.push_back(a);
      if (da * db < 0) kept.push_back({at, a.y + (b.y - a.y) * da / (da - db)});
    }
    shape = std::move(kept);
  }
  return shape;
}

void stripes(report::Svg& out, Pixel corner, double width, double height, const design::Decal& d) {
  const double period = width / d.stripes;
  const int before = static_cast<int>(std::ceil(height / period));
  for (int k = -before; k < d.stripes; ++k) {
    const double x = corner.x + k * period, lower = corner.y + height;
    const auto shape =
        between({{x, lower}, {x + period / 2, lower}, {x + period / 2 + height, corner.y}, {x + height, corner.y}},
                corner.x, corner.x + width);
    if (shape.size() > 2) out.polyline(shape, {.stroke = "none", .width = 0, .fill = d.colour}, true);
  }
}

void one_decal(report::Svg& out, Pixel corner, const design::Decal& d) {
  const double w = d.width_mm * kPixels_mm, h = d.height_mm * kPixels_mm;
  out.rect(corner, w, h, {.stroke = "none", .width = 0, .fill = d.ground});
  if (d.stripes > 0) stripes(out, corner, w, h, d);
  if (!d.text.empty()) {
    // Capital letters are about 0.73 of the size high (measured of the two fonts).
    constexpr double kCapital = 0.73, kOfHeight = 0.72, kOfWidth = 0.94;
    const double fits = kOfWidth * w / std::max(report::text_width(d.text, 1, true), 1e-9);
    const double size = std::min(kOfHeight * h / kCapital, fits);
    out.text({corner.x + w / 2, corner.y + h / 2 + kCapital / 2 * size}, d.text,
             {.size = size, .anchor = report::Anchor::middle, .colour = d.colour, .bold = true});
  }
  out.rect(corner, w, h, {.stroke = "#8a94a3", .width = 0.6, .dash = "6 4"});  // where to cut
}

/// Decals side by side on one strip of paper.
struct Strip {
  std::vector<const design::Decal*> decals;
  double used_mm = 0, height_mm = 0;
};

std::vector<Strip> strips_of(const std::vector<design::Decal>& decals) {
  std::vector<Strip> out;
  for (const design::Decal& d : decals) {
    for (int k = 0; k < d.count; ++k) {
      if (out.empty() || out.back().used_mm + d.width_mm > kSheet_mm) out.emplace_back();
      Strip& s = out.back();
      s.decals.push_back(&d);
      s.used_mm += d.width_mm + kGap_mm;
      s.height_mm = std::max(s.height_mm, d.height_mm);
    }
  }
  return out;
}

report::Svg ruler(const std::string& words) {
  const double long_px = kRuler_mm * kPixels_mm;
  report::Svg out(kSheet_mm * kPixels_mm, 34, words);
  out.line({1, 16}, {1 + long_px, 16}, {.width = 1});
  for (int mm = 0; mm <= static_cast<int>(kRuler_mm); mm += 10)
    out.line({1 + mm * kPixels_mm, 10}, {1 + mm * kPixels_mm, 22}, {.width = 1});
  out.text({long_px + 16, 20}, words, {.size = 13});
  return out;
}

}  // namespace

void write_decals(Author& a) {
  const std::vector<design::Decal>& decals = a.result.publication.decals;
  if (decals.empty()) return;
  const Texts& t = a.t;
  a.chapter("decals.title", "decals");
  a.say(t("decals.intro"));
  const auto at_true_size = [&](report::Svg drawing, std::string caption, std::string name) {
    Figure f{std::move(drawing), std::move(caption), std::move(name)};
    f.mm_per_pixel = 1 / kPixels_mm;
    a.doc.add(std::move(f));
  };
  at_true_size(ruler(t("decals.ruler", {{"length", t.quantity(kRuler_mm, "mm")}})), "", "decals_ruler");
  int number = 0;
  for (const Strip& s : strips_of(decals)) {
    std::vector<std::string> names;
    for (const design::Decal* d : s.decals) {
      if (names.empty() || names.back() != d->id) names.push_back(d->id);
    }
    report::Svg drawing(kSheet_mm * kPixels_mm, s.height_mm * kPixels_mm + 2, t.list(names));
    double x = 1;
    for (const design::Decal* d : s.decals) {
      one_decal(drawing, {x, 1}, *d);
      x += (d->width_mm + kGap_mm) * kPixels_mm;
    }
    at_true_size(std::move(drawing), t.list(names), fmt::format("decals_{}", ++number));
  }
  Table table;
  table.title = t("decals.list");
  table.columns = {
      {t("decals.decal"), false}, {t("parts.count"), true}, {t("decals.size"), true}, {t("decals.on"), false}};
  for (const design::Decal& d : decals)
    table.rows.push_back(
        {{d.id, Tone::strong},
         {std::to_string(d.count)},
         {t("decals.size_value", {{"width", t.number(d.width_mm)}, {"height", t.number(d.height_mm)}})},
         {d.where_on}});
  a.doc.add(std::move(table));
}

}  // namespace dossier
