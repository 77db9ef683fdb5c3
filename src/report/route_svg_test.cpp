// Covers route_svg.h: what is on the sheet stays on it and no text covers another, for layouts of every kind of mesh.
#include "report/route_svg.h"

#include <gtest/gtest.h>

#include <cstdlib>
#include <fstream>
#include <regex>

#include "report/sheet.h"
#include "report/svg_texts.h"
#include "routing/drawing.h"
#include "routing/route.h"
#include "routing/samples.h"
#include "routing/test_kit.h"

namespace {

using report::svg_texts::expect_no_text_on_text;
using report::svg_texts::number;
using report::svg_texts::Text;
using report::svg_texts::texts;

std::string sheet_of(const std::string& name, const routing::samples::Sample& s) {
  const std::string svg = report::route_sheet(s.problem, s.layout, {"sample " + name, "invented, laid by hand"}).str();
  // For looking at them: KW_PICTURES names a folder.
  if (const char* folder = std::getenv("KW_PICTURES")) std::ofstream(std::string(folder) + "/" + name + ".svg") << svg;
  return svg;
}

TEST(RouteSheet, NoTextCoversAnother) {
  for (const auto& [name, s] : routing::samples::all()) {
    const std::vector<Text> all = texts(sheet_of(name, s));
    EXPECT_GT(all.size(), 40U);
    expect_no_text_on_text(name, all);
  }
}

TEST(RouteSheet, NoTextCoversAnotherOnSearchedLayouts) {
  // Three stages, 1 : 18 within 3 %, in a box of 12 x 8 pitches between two walls; invented stock.
  routing::Problem p;
  p.kit = routing::test_kit::spur_kit({{8}, {12}, {16}, {20}, {24}, {28}, {32}, {36}, {40}, {48}});
  p.box = {{0, -4, 0}, {24, 9, 16}};
  p.walls.at_hp[1] = {-1, 6};
  p.inputs.push_back({{routing::test_kit::motor(routing::Axis::y, {4, -2, 8}, 1)}});
  routing::Output o;
  o.name = "output";
  o.places.push_back({routing::Axis::y, {20, 4}, -1, 0, {}, std::nullopt});
  o.low = {97, 1800};
  o.high = {103, 1800};
  p.outputs.push_back(o);
  p.most_right_angles = 0;
  const routing::Routes found = routing::route(p, {.best = 8});
  ASSERT_GE(found.layouts.size(), 3U) << (found.refusals.empty() ? "" : found.refusals.front().text);
  for (std::size_t i = 0; i < found.layouts.size(); ++i) {
    const std::string name = "searched_" + std::to_string(i);
    expect_no_text_on_text(name, texts(sheet_of(name, {p, found.layouts[i]})));
  }
}

TEST(RouteSheet, TellsProgramsWhereEachViewHasItsOrigin) {
  for (const auto& [name, s] : routing::samples::all()) {
    const std::string svg = sheet_of(name, s);
    std::size_t at = 0;
    for (const std::string axes : {"xy", "xz", "yz"}) {
      at = svg.find("<g data-view=\"" + axes + "\"", at);
      ASSERT_NE(at, std::string::npos) << name << " " << axes;
      const std::string group = svg.substr(at, svg.find('>', at) - at);
      EXPECT_GT(number(group, "data-px_per_pitch"), 0) << name;
      // The origin of the frame is one of the lattice points that are drawn, if the window holds it: on the paper then.
      EXPECT_LT(std::abs(number(group, "data-x0")), 10 * report::kRouteSheetWidth) << name;
    }
  }
}

TEST(RouteSheet, NothingLiesOutside) {
  for (const auto& [name, s] : routing::samples::all()) {
    const std::string svg = sheet_of(name, s);
    const double width = number(svg.substr(0, svg.find('>')), "width"),
                 height = number(svg.substr(0, svg.find('>')), "height");
    EXPECT_EQ(width, report::kRouteSheetWidth);
    EXPECT_EQ(height, report::kRouteSheetHeight) << name << ": the hand-made layouts fit on one A4";
    const auto inside = [&, &name = name](double x, double y, const std::string& what) {
      EXPECT_TRUE(x >= 14 && x <= width - 14 && y >= 14 && y <= height - 14) << name << ": " << what;
    };
    for (const Text& t : texts(svg)) {
      inside(t.left, t.top, t.words);
      inside(t.right, t.bottom, t.words);
    }
    const std::regex shape("<(line|circle|polyline|polygon)([^>]*)/>");
    for (auto i = std::sregex_iterator(svg.begin(), svg.end(), shape); i != std::sregex_iterator(); ++i) {
      const std::string kind = (*i)[1], tag = (*i)[2];
      if (kind == "line") {
        inside(number(tag, "x1"), number(tag, "y1"), tag);
        inside(number(tag, "x2"), number(tag, "y2"), tag);
      } else if (kind == "circle") {
        const double r = number(tag, "r");
        inside(number(tag, "cx") - r, number(tag, "cy") - r, tag);
        inside(number(tag, "cx") + r, number(tag, "cy") + r, tag);
      } else {
        const std::regex pair("(-?[0-9.]+),(-?[0-9.]+)");
        for (auto k = std::sregex_iterator(tag.begin(), tag.end(), pair); k != std::sregex_iterator(); ++k) {
          inside(std::stod((*k)[1]), std::stod((*k)[2]), tag);
        }
      }
    }
  }
}

TEST(RouteSheet, LongAndCrowdedTrainsStayReadable) {
  // A row of twenty shafts: the tables outgrow the sheet, which then grows downwards; still nothing may touch.
  routing::samples::Sample s;
  s.problem.kit = routing::samples::kit();
  const int w = routing::samples::spur(s.problem.kit, 24, 40);
  const int pair = routing::samples::pair(s.problem.kit, w, w, routing::PairType::spur, {-1});
  s.problem.inputs.push_back({{routing::samples::motor(routing::Axis::y, {0, -1, 0}, 1, {{-3, -9, -3}, {3, -1, 3}})}});
  for (int i = 0; i < 20; ++i) {
    s.layout.shafts.push_back(routing::samples::shaft(routing::Axis::y, {6 * i, 0}, 0, 8, {1, 7}, {2, 5}));
    s.layout.wheels.push_back(routing::samples::wheel(w, i, s.layout, 3 + i % 2, 4 + i % 2));
    if (i > 0) s.layout.meshes.push_back({pair, i - 1, i, 0});
  }
  const std::string svg = sheet_of("crowded", s);
  EXPECT_GT(number(svg.substr(0, svg.find('>')), "height"), report::kRouteSheetHeight);
  const std::vector<Text> all = texts(svg);
  expect_no_text_on_text("crowded", all);
  for (const Text& t : all) {
    EXPECT_GE(t.left, 14) << t.words;
    EXPECT_LE(t.right, report::kRouteSheetWidth - 14) << t.words;
  }
}

TEST(BuildingDrawing, IsTheSheetWhereThereIsARoute) {
  candidate::Candidate c;
  c.title = "motor, 8:24, 12:20";
  c.shapes.push_back({candidate::Shape::Role::gear, 0, 0, 10, 0, "drum"});
  const std::string mechanism = report::building_drawing(c, "hoist").str();
  EXPECT_EQ(mechanism.find("seen from above"), std::string::npos);
  const auto s = routing::samples::two_stage();
  c.route = std::make_shared<const candidate::Route>(
      candidate::Route{std::make_shared<const routing::Problem>(s.problem), s.layout, -1});
  const std::string sheet = report::building_drawing(c, "hoist").str();
  for (const char* words : {">hoist<", ">motor, 8:24, 12:20<", ">seen from above<", ">hub turns at 1/5"}) {
    EXPECT_NE(sheet.find(words), std::string::npos) << words;
  }
}

TEST(RouteSheet, TellsHolesTeethAndMisfit) {
  const std::string bevel = sheet_of("bevel", routing::samples::bevel());
  EXPECT_NE(bevel.find(">A: x \xE2\x88\x92"
                       "3, z 3<"),
            std::string::npos);
  EXPECT_NE(bevel.find(">C: y 3\xC2\xBD, z 0<"), std::string::npos);
  EXPECT_NE(bevel.find(">bevel 20<"), std::string::npos);
  EXPECT_NE(bevel.find(">0.06 mm too close<"), std::string::npos);
  EXPECT_NE(bevel.find("third-angle projection"), std::string::npos);
  const std::string two = sheet_of("two_outputs", routing::samples::two_outputs());
  EXPECT_NE(two.find("its mirror image"), std::string::npos);
}

TEST(RouteSheet, IsTheSameEveryTime) {
  const auto s = routing::samples::ring();
  EXPECT_EQ(sheet_of("ring", s), sheet_of("ring", s));
}

}  // namespace
