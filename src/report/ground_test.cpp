// Covers ground.h: no text covers another or leaves the drawing; what is lifted, tips or stops it is told in words.
#include "report/ground.h"

#include <gtest/gtest.h>

#include <cstdlib>
#include <fstream>
#include <numbers>

#include "balance/sample_loader.h"
#include "report/svg_texts.h"

namespace {

using balance::Slope;

std::string kept(const std::string& name, const report::Svg& drawing) {
  // For looking at them: KW_PICTURES names a folder.
  if (const char* folder = std::getenv("KW_PICTURES")) {
    std::ofstream(std::string(folder) + "/" + name + ".svg") << drawing.str();
  }
  return drawing.str();
}

void expect_readable(const std::string& name, const report::Svg& drawing) {
  const auto all = report::svg_texts::texts(kept(name, drawing));
  EXPECT_GT(all.size(), 5U) << name;
  report::svg_texts::expect_no_text_on_text(name, all);
  for (const auto& t : all) {
    EXPECT_GE(t.left, -0.01) << name << ": " << t.words;
    EXPECT_LE(t.right, drawing.width() + 0.01) << name << ": " << t.words;
    EXPECT_GE(t.top, 0) << name << ": " << t.words;
    EXPECT_LE(t.bottom, drawing.height()) << name << ": " << t.words;
  }
}

std::size_t count(const std::string& text, const std::string& part) {
  std::size_t n = 0;
  for (std::size_t at = text.find(part); at != std::string::npos; at = text.find(part, at + 1)) ++n;
  return n;
}

/// The sample loader with its boom raised.
balance::MassSpread spread(const balance::LiftingMachine& m) {
  std::vector<balance::WeighedBody> bodies;
  for (const auto& b : m.bodies) bodies.push_back(b.weighed);
  bodies[1].body.angle_rad = 0.7;
  bodies[2].body.angle_rad = 0.5;
  bodies[3].body.angle_rad = -0.6;
  return mass_spread(bodies);
}

balance::SideView groomer() {
  balance::SideView v;
  for (int i = 0; i < 6; ++i) v.wheels.push_back({{40.0 * i - 100, 16}, 16, true, i / 2});
  for (int k = 0; k < 3; ++k) v.rockers.push_back({{80.0 * k - 80, 20}, 0.35, false});
  v.wheels.push_back({{140, 30}, 14, true, -1});
  v.belt = true;
  v.weight_n = 20;
  v.centre = {-5, 45};
  v.underside = {{-110, 28}, {110, 28}};
  return v;
}

}  // namespace

TEST(StandingDrawing, IsReadableInEveryState) {
  const auto m = balance::sample::loader();
  const auto mass = spread(m);
  for (const auto& state : m.states) {
    for (const Slope& slope : {Slope{}, Slope{0.12, 0.6}, Slope{0.9, 1.6}}) {
      const auto standing = stand(state, balance::weight_n(mass.total.mass_g), mass.total.at, slope);
      expect_readable(state.name + (slope.angle_rad > 0 ? " on a slope" : ""),
                      report::standing_drawing(state, standing, mass, slope, 420));
    }
  }
}

TEST(StandingDrawing, TellsLiftedWheelsAndTipping) {
  const auto m = balance::sample::loader();
  const auto mass = spread(m);
  const double weight = balance::weight_n(mass.total.mass_g);
  const auto feet = stand(m.states[1], weight, mass.total.at);
  EXPECT_EQ(count(report::standing_drawing(m.states[1], feet, mass, {}, 420).str(), ">lifted<"), 4U);
  const Slope steep{1.2, 0};
  const auto tips = stand(m.states[1], weight, mass.total.at, steep);
  EXPECT_NE(report::standing_drawing(m.states[1], tips, mass, steep, 420).str().find("tips:"), std::string::npos);
}

TEST(CrossingDrawing, IsReadableAndTellsWhatStopsIt) {
  const auto v = groomer();
  for (const auto& [name, ground, friction, verdict] :
       {std::tuple{"step", balance::step_up(20), base::Triple{0.4, 0.9, 1.1}, "friction 0.9 to 1.1: passed"},
        std::tuple{"high step", balance::step_up(45), base::Triple::exact(0.5), "stopped by friction"},
        std::tuple{"trench", balance::trench(250, 300), base::Triple::exact(0.8), "stopped by balance"}}) {
    const auto crossing = cross(v, ground);
    const auto drawing = report::crossing_drawing(v, ground, crossing, friction, name, 820);
    expect_readable(name, drawing);
    EXPECT_NE(drawing.str().find(verdict), std::string::npos) << name;
  }
}

TEST(GroundDrawing, TellsRangesAndRampsInWords) {
  assessment::Ground g;
  g.judged = true;
  g.friction = {0.4, 0.6, 0.9};
  g.step.looked_up_to_mm = 60;
  g.trench.looked_up_to_mm = 250;
  for (std::size_t i = 0; i < assessment::kFrictions; ++i) {
    g.step.at[i] = {0.4, 5.0 + 3 * static_cast<double>(i), 9, balance::Stop::friction};
    g.trench.at[i] = {0.4, 80, 81, balance::Stop::clearance};
    g.grade[i] = {0.3, balance::GradeStop::effort, 1};
  }
  g.underside_known = true;
  g.clearance_mm = 12;
  g.approach_deg = 34;
  g.departure_deg = 90;
  g.breakover_deg = 41;
  g.turn_moment_nmm = 560;
  const auto drawing = report::ground_drawing(g, 520);
  expect_readable("ranges", drawing);
  for (const char* words :
       {"5 mm, then friction", "80 mm, then clearance", "then motors' pull", "departure nothing touches"})
    EXPECT_NE(drawing.str().find(words), std::string::npos) << words;
}

TEST(SiteDrawing, ShowsEveryLoadAndPlace) {
  brief::Brief brief;
  assessment::Assessment a;
  a.stance.support_mm = {{-80, -60, 0}, {80, -60, 0}, {80, 60, 0}, {-80, 60, 0}};
  a.lifting.radius_mm = {100, 200, 300};
  a.site.judged = true;
  a.site.places = {{"at the gate", 0, 0, 0, false}, {"by the shed", 500, 60, 1.6, true}};
  for (int i = 0; i < 3; ++i) {
    brief::SiteLoad l;
    l.id = "load " + std::to_string(i);
    l.mass_g = 100;
    l.size_mm = {40, 30, 20};
    l.from_mm = {220.0, -100 + 110.0 * i, 0};
    l.to_mm = {600.0, 160 - 110.0 * i, 0};
    brief.site_loads.push_back(l);
    assessment::SitePlan::Load p;
    p.id = l.id;
    p.mass_g = 100;
    p.possible = i != 1;
    p.stop = i == 1 ? "out of reach" : "";
    p.end = i == 1 ? "pick-up" : "";
    p.parts = i + 1;
    p.part_g = 100.0 / p.parts;
    a.site.loads.push_back(p);
  }
  const auto drawing = report::site_drawing(brief, a, 520);
  expect_readable("site", drawing);
  for (const char* words :
       {"A  at the gate", "B  by the shed, feet down", "no, the pick-up: out of reach", "3 parts of"})
    EXPECT_NE(drawing.str().find(words), std::string::npos) << words;
}
