// Covers what a page needs to move a mechanism: joints found from drawn ends, rigid parts, driver, measured curve; the
// bars keep their lengths in every position that is drawn.
#include "dossier/linkage.h"

#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>

namespace dossier {
namespace {

using candidate::Shape;
using nlohmann::json;
using Role = Shape::Role;

Texts english() {
  document::Diagnostics d;
  return load_texts("en", KW_SOURCE_DIR "/catalogue", d).value_or(Texts());
}

/// Two equal arms on pivots 60 mm apart, joined by a bar: a parallelogram, so that its positions are known exactly.
candidate::Candidate parallelogram(double low_deg, double drawn_deg, double high_deg) {
  candidate::Candidate c;
  const auto position = [&](double deg, bool ghost) {
    const double a = deg * std::acos(-1.0) / 180, x = 20 * std::cos(a), z = 20 * std::sin(a);
    const Role role = ghost ? Role::ghost : Role::moving_beam;
    c.shapes.push_back({role, 0, 0, x, z, ghost ? "" : "arm"});
    c.shapes.push_back({role, 60, 0, 60 + x, z, ""});
    c.shapes.push_back({ghost ? Role::ghost : Role::actuator, x, z, 60 + x, z, ghost ? "" : "rod"});
  };
  position(low_deg, true);
  position(high_deg, true);
  position(drawn_deg, false);
  c.shapes.push_back({Role::pivot, 0, 0, 2, 0, "pivot"});
  c.shapes.push_back({Role::pivot, 60, 0, 2, 0, ""});
  c.curves.push_back({"torque", "angle of the arm", "deg", "torque", "N mm", {-30, 0, 25}, {3, 1, 2}});
  return c;
}

TEST(Linkage, FindsJointsDriverAndTheCurvesAngle) {
  const auto text = linkage_json(parallelogram(60, 90, 115), english());
  ASSERT_TRUE(text.has_value());
  const json j = json::parse(*text);
  EXPECT_EQ(j.at("form"), "bars");
  EXPECT_EQ(j.at("points").size(), 4u);
  EXPECT_EQ(j.at("stays"), json({true, false, true, false}));
  EXPECT_EQ(j.at("bars").size(), 3u);
  EXPECT_EQ(j.at("driver"), 0);
  EXPECT_NEAR(j.at("from_deg"), -30, 1e-3);
  EXPECT_NEAR(j.at("to_deg"), 25, 1e-3);
  EXPECT_TRUE(j.at("follows").empty());
  // Both arms and the rod, and the ends of the rod that keep no other distance.
  EXPECT_EQ(j.at("rods"), json({{0, 1}, {1, 3}, {2, 3}}));
  EXPECT_EQ(j.at("measure").at("bar"), 0);
  EXPECT_EQ(j.at("measure").at("sign"), 1);
  EXPECT_NEAR(j.at("measure").at("at_drawn"), 0, 1e-3);
  ASSERT_EQ(j.at("curves").size(), 1u);
}

TEST(Linkage, AnAngleThatFallsIsMeasuredBackwards) {
  // The low end of the curve is where the arm stands highest.
  const json j = json::parse(*linkage_json(parallelogram(65, 90, 120), english()));
  EXPECT_EQ(j.at("measure").at("sign"), -1);
  EXPECT_NEAR(j.at("measure").at("at_drawn"), 0, 1e-3);
}

TEST(Linkage, ShapesThatAreNoChainGiveNone) {
  candidate::Candidate c = parallelogram(60, 90, 115);
  c.shapes.pop_back();
  c.shapes[5].x2_mm += 3;  // the rod would be longer at one end of the travel
  EXPECT_FALSE(linkage_json(c, english()).has_value());
  EXPECT_FALSE(linkage_json({}, english()).has_value());
  c = parallelogram(90, 90, 90);  // nothing moves
  EXPECT_FALSE(linkage_json(c, english()).has_value());
}

}  // namespace
}  // namespace dossier
