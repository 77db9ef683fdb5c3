// Covers tables.h: letters, hole coordinates, mesh distances, wording.
#include "routing/tables.h"

#include <gtest/gtest.h>

#include "routing/samples.h"

using routing::pitches_text;

TEST(PitchesText, SaysHalvesAsPeopleDo) {
  EXPECT_EQ(pitches_text(0), "0");
  EXPECT_EQ(pitches_text(1), "½");
  EXPECT_EQ(pitches_text(7), "3½");
  EXPECT_EQ(pitches_text(-4), "−2");
  EXPECT_EQ(pitches_text(-1), "−½");
  EXPECT_EQ(pitches_text(4, 5), "2–2½");
  EXPECT_EQ(pitches_text(-2, 1), "−1 to ½");
  EXPECT_EQ(pitches_text(0.5, 1.5), "0.25–0.75");
}

TEST(ShaftTable, NamesShaftsFromTheMotorOnWithTheirHoles) {
  const auto s = routing::samples::two_stage();
  const auto rows = routing::shaft_table(s.problem, s.layout);
  ASSERT_EQ(rows.size(), 3U);
  EXPECT_EQ(rows[0].name, "A");
  EXPECT_EQ(rows[0].carries, "motor");
  EXPECT_EQ(rows[0].hole, "x 0, z 2");
  EXPECT_EQ(rows[0].axle_p, 6);
  EXPECT_EQ(rows[1].name, "B");
  ASSERT_EQ(rows[1].items.size(), 2U);
  EXPECT_EQ(rows[1].items[0].name, "24");
  EXPECT_EQ(rows[1].items[1].name, "12");
  EXPECT_EQ(rows[2].carries, "hub");
  EXPECT_EQ(rows[2].axle_p, 7);
  EXPECT_FALSE(rows[2].overhung);
}

TEST(ShaftTable, FlagsWhatHangsOut) {
  const auto s = routing::samples::bevel();
  const auto rows = routing::shaft_table(s.problem, s.layout);
  EXPECT_TRUE(rows[0].overhung);
  EXPECT_FALSE(rows[1].overhung);
  EXPECT_TRUE(rows[2].overhung);
  EXPECT_EQ(rows[2].hole, "y 3½, z 0");
}

TEST(ShaftNames, FollowTheMotionNotTheOrderOfStorage) {
  auto s = routing::samples::two_stage();
  std::swap(s.layout.shafts[1], s.layout.shafts[2]);
  for (auto& w : s.layout.wheels) w.shaft = w.shaft == 0 ? 0 : 3 - w.shaft;
  EXPECT_EQ(routing::shaft_names(s.layout), (std::vector<std::string>{"A", "C", "B"}));
}

TEST(ShaftNames, StayDifferentPastTheAlphabet) {
  routing::Layout l;
  l.shafts.resize(50);
  auto names = routing::shaft_names(l);
  std::sort(names.begin(), names.end());
  EXPECT_EQ(std::adjacent_find(names.begin(), names.end()), names.end());
  EXPECT_EQ(std::count(names.begin(), names.end(), "I"), 0);
}

TEST(MeshTable, GivesTheCentreDistanceOfModuleTimesTeeth) {
  // m (z1 + z2) / 2, ISO 21771-1:2024: 8 and 24 teeth of module 1 stand 16 mm apart, four half-pitches of 4 mm.
  const auto s = routing::samples::two_stage();
  const auto rows = routing::mesh_table(s.problem, s.layout);
  ASSERT_EQ(rows.size(), 2U);
  EXPECT_EQ(rows[0].driver, "8 on A");
  EXPECT_EQ(rows[0].driven, "24 on B");
  EXPECT_DOUBLE_EQ(rows[0].wanted_mm, 16);
  EXPECT_DOUBLE_EQ(rows[0].offered_mm, 16);
  EXPECT_EQ(routing::misfit_text(rows[0].misfit_mm), "fits");
}

TEST(MeshTable, TellsAnObliqueMisfitAndItsDirection) {
  // 28 and 40 teeth want 34 mm; six by six half-pitches are 24 sqrt 2 = 33.941 mm.
  const auto s = routing::samples::bevel();
  const auto rows = routing::mesh_table(s.problem, s.layout);
  EXPECT_NEAR(rows[0].offered_mm, 33.9411, 1e-4);
  EXPECT_EQ(routing::misfit_text(rows[0].misfit_mm), "0.06 mm too close");
  EXPECT_FALSE(rows[1].has_distance);
  EXPECT_EQ(rows[1].type, "bevel");
}

TEST(MeshTable, WormAndRing) {
  const auto w = routing::samples::worm();
  const auto worm = routing::mesh_table(w.problem, w.layout);
  EXPECT_DOUBLE_EQ(worm[0].wanted_mm, 16);
  EXPECT_DOUBLE_EQ(worm[0].offered_mm, 16);
  const auto r = routing::samples::ring();
  const auto ring = routing::mesh_table(r.problem, r.layout);
  EXPECT_EQ(ring[1].driven, "ring 60");
  EXPECT_DOUBLE_EQ(ring[1].wanted_mm, 36);
  EXPECT_DOUBLE_EQ(ring[1].offered_mm, 36);
}

TEST(MeshTable, MisfitAgreesWithTheLayoutsOwn) {
  for (const auto& [name, s] : routing::samples::all()) {
    const auto rows = routing::mesh_table(s.problem, s.layout);
    for (std::size_t i = 0; i < rows.size(); ++i) {
      EXPECT_NEAR(std::fabs(rows[i].misfit_mm) * 1000, s.layout.meshes[i].misfit_um, 0.5) << name;
    }
  }
}

TEST(TablesText, HasALineForEveryShaftAndMesh) {
  const auto s = routing::samples::two_outputs();
  const std::string text = routing::tables_text(s.problem, s.layout);
  EXPECT_EQ(std::count(text.begin(), text.end(), '\n'), 4 + 3);
  EXPECT_NE(text.find("shaft C (front wheel): along y through x 7, z 0; axle 9 from 0–9; 40 at 1½–2 and road wheel at "
                      "6½–7½; bearings at ½, 3½ and 8½; bushes at 1–1½ and 7½–8"),
            std::string::npos)
      << text;
}
