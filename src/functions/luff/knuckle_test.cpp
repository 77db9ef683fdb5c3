// The stage at the end of a boom: which side its actuator works on and why, and that what it raises counts below.
#include <algorithm>
#include <cmath>
#include <tuple>

#include "functions/luff/evaluate.h"
#include "functions/luff/fixture.h"
#include "functions/luff/luff.h"

namespace functions::luff {
namespace {

using lift_fixture::crane;
using lift_fixture::figure;
using lift_fixture::function;
using lift_fixture::kRad;
using lift_fixture::margin;
using lift_fixture::propose;

const char* const kStick =
    "moves = \"stick\"\nload_g = 150\ntime_s = 14\nbase_region_p = { x = [-14, -3], z = [-5, 5] }\n"
    "rod_region_p = { x = [-4, 6], z = [-3, 3] }\n";

brief::Function on_boom(const std::string& toml) {
  brief::Function f = function("luff", toml);
  f.id = "stick_lift";
  f.body = 2;
  return f;
}

std::string note_with(const candidate::Candidate& c, const std::string& words) {
  for (const std::string& n : c.notes) {
    if (n.find(words) != std::string::npos) return n;
  }
  return "";
}

/// Least peak force on one side by trying every mount with moments from scratch: lever from the triangle's sides
/// (Heron), side from the order of the mounts about the pivot.
struct Scratch {
  double force_n = 1e9;
  std::int64_t feasible = 0;
};
Scratch best_on(bool below) {
  Scratch out;
  const double low = -90 * kRad, high = 20 * kRad, g = 9.81e-3;
  std::vector<double> angle, moment;
  for (int i = 0; i < kAngles; ++i) {
    const double t = low + (high - low) * i / (kAngles - 1);
    angle.push_back(t);
    // Stick 60 g at 70 mm, payload 150 g at 150 mm; the boom below at 0 to 70 deg; the greatest magnitude.
    double most = 0;
    for (int k = 0; k <= 70 * 8; ++k)
      most = std::max(most, std::fabs((60.0 * 70 + 150.0 * 150) * g * std::cos(t + k / 8.0 * kRad)));
    moment.push_back(most);
  }
  for (int bx = -28; bx <= -6; ++bx) {
    for (int bz = -10; bz <= 10; ++bz) {
      for (int rx = -8; rx <= 12; ++rx) {
        for (int rz = -6; rz <= 6; ++rz) {
          const double a = 4 * std::hypot(bx, bz), r = 4 * std::hypot(rx, rz);
          if (r == 0) continue;
          double force = 0;
          bool good = true;
          for (std::size_t i = 0; i < angle.size() && good; ++i) {
            const double x = 4 * (rx * std::cos(angle[i]) - rz * std::sin(angle[i]));
            const double z = 4 * (rx * std::sin(angle[i]) + rz * std::cos(angle[i]));
            const double l = std::hypot(x - 4.0 * bx, z - 4.0 * bz), s = (a + r + l) / 2;
            const double area = std::sqrt(std::max(0.0, s * (s - a) * (s - r) * (s - l)));
            const double lever = 2 * area / l;
            const bool lengthens = bx * z - bz * x > 0;  // the rod is counter-clockwise of the base mount
            good = lengthens == below && lever >= 10.4 - 1e-9 && l <= 191 + 1e-6 && l >= 89 - 1e-6;
            force = std::max(force, moment[i] / lever);
          }
          if (!good) continue;
          // One of both actuator classes must take the whole stroke.
          double least = 1e9, most = 0;
          for (const double t : {low, high}) {
            const double x = 4 * (rx * std::cos(t) - rz * std::sin(t)), z = 4 * (rx * std::sin(t) + rz * std::cos(t));
            least = std::min(least, std::hypot(x - 4.0 * bx, z - 4.0 * bz));
            most = std::max(most, std::hypot(x - 4.0 * bx, z - 4.0 * bz));
          }
          const bool medium = least >= 89 - 1e-6 && most <= 135 + 1e-6 && force <= 210;
          const bool longer = least >= 121 - 1e-6 && most <= 191 + 1e-6 && force <= 200;
          out.feasible += (medium ? 1 : 0) + (longer ? 1 : 0);
          if (medium || longer) out.force_n = std::min(out.force_n, force);
        }
      }
    }
  }
  return out;
}

TEST(LuffKnuckle, SidesAreExplainedByTheBestOfEach) {
  const brief::Brief b = crane();
  const candidate::Proposal p = propose(kind(), on_boom(kStick), b);
  ASSERT_FALSE(p.candidates.empty());
  const Scratch below = best_on(true), above = best_on(false);
  ASSERT_LT(below.force_n, 1e9);
  ASSERT_LT(above.force_n, 1e9);
  for (const candidate::Candidate& c : p.candidates) {
    const std::string note = note_with(c, "the actuator passes");
    const bool is_below =
        note.find("passes below the pivot of stick: it lengthens to raise it and the load pushes") != std::string::npos;
    const bool is_above =
        note.find("passes above the pivot of stick: it shortens to raise it and the load pulls") != std::string::npos;
    EXPECT_NE(is_below, is_above) << note;
    // The number of the other side is the best of the brute force.
    const double other_n = is_below ? above.force_n : below.force_n;
    char text[40];
    std::snprintf(text, sizeof text, "the least force is %.3g N", other_n);
    EXPECT_NE(note.find(text), std::string::npos) << note << " expected " << text;
    EXPECT_NE(note.find("lever arm"), std::string::npos);
    EXPECT_NE(note.find("stroke"), std::string::npos);
    // Mounts again: base above or below the line, told in millimetres.
    EXPECT_GT(figure(c, "least lever arm"), 10.4 - 1e-9);
    EXPECT_NEAR(figure(c, "actuator clears the pivot's axle by"), figure(c, "least lever arm") - 8 - 2.4, 1e-9);
  }
}

TEST(LuffKnuckle, ASideThatIsAskedForIsTheOnlyOne) {
  const brief::Brief b = crane();
  double best[2] = {0, 0};
  for (const char* side : {"below", "above"}) {
    const bool is_above = std::string(side) == "above";
    const candidate::Proposal p =
        propose(kind(), on_boom(std::string(kStick) + "actuator_side = \"" + side + "\"\n"), b);
    ASSERT_FALSE(p.candidates.empty()) << side;
    best[is_above ? 1 : 0] = p.candidates.front().nominal.worst();
    for (const candidate::Candidate& c : p.candidates) {
      EXPECT_NE(note_with(c, std::string("passes ") + side).find("that side was asked for"), std::string::npos);
      // The worst force pushes below and pulls above, as the load never passes over the pivot here.
      const std::string& note = margin(c.nominal, "force").note;
      if (note_with(c, "both pushes and pulls").empty()) {
        EXPECT_EQ(note.rfind(is_above ? "pulls" : "pushes", 0), 0U) << note;
      }
    }
  }
  const candidate::Proposal either = propose(kind(), on_boom(kStick), b);
  EXPECT_NEAR(either.candidates.front().nominal.worst(), std::max(best[0], best[1]), 1e-9);
}

TEST(LuffKnuckle, AMountUnderTheBoomIsBelowWhicheverWayTheBoomReaches) {
  const std::string ahead =
      "moves = \"boom\"\nload_g = 100\ntime_s = 30\nbase_region_p = { x = [0, 6], z = [-12, -6] }\n"
      "rod_region_p = { x = [3, 12], z = [-1, 1] }\n";
  const std::string astern =
      "moves = \"boom\"\nload_g = 100\ntime_s = 30\nbase_region_p = { x = [-6, 0], z = [-12, -6] }\n"
      "rod_region_p = { x = [-12, -3], z = [-1, 1] }\n";
  brief::Brief mirrored = crane();
  for (brief::Body& body : mirrored.bodies) {
    body.centre_mm.x_mm *= -1;
    body.joint.pivot_mm.x_mm *= -1;
    if (body.joint.type == brief::Joint::Type::pitch)
      std::tie(body.joint.low_rad, body.joint.high_rad) = std::pair{-body.joint.high_rad, -body.joint.low_rad};
  }
  const candidate::Proposal front = propose(kind(), function("luff", ahead), crane());
  const candidate::Proposal rear = propose(kind(), function("luff", astern), mirrored);
  ASSERT_FALSE(front.candidates.empty());
  ASSERT_FALSE(rear.candidates.empty());
  for (const candidate::Proposal* p : {&front, &rear}) {
    for (const candidate::Candidate& c : p->candidates)
      EXPECT_EQ(note_with(c, "the actuator passes").rfind("the actuator passes below", 0), 0U);
  }
  EXPECT_TRUE(propose(kind(), function("luff", astern + "actuator_side = \"above\"\n"), mirrored).candidates.empty());
}

TEST(LuffKnuckle, WhatTheStickRaisesCountsInTheBoom) {
  brief::Brief b = crane();
  const std::string boom =
      "moves = \"boom\"\ntime_s = 30\nbase_region_p = { x = [-5, 3], z = [-7, -2] }\n"
      "rod_region_p = { x = [3, 12], z = [-1, 1] }\n";
  const candidate::Proposal alone = propose(kind(), function("luff", boom), b);
  const candidate::Proposal written = propose(kind(), function("luff", boom + "load_g = 150\n"), b);
  b.functions.push_back(on_boom(kStick));
  const candidate::Proposal taken = propose(kind(), function("luff", boom), b);
  ASSERT_FALSE(taken.candidates.empty());
  const char* const moment = "greatest moment about the pivot";
  EXPECT_EQ(figure(taken.candidates[0], moment), figure(written.candidates[0], moment));
  // By hand: 150 g at the stick's end, 330 mm from the boom's pivot when all is stretched out level.
  EXPECT_NEAR(figure(taken.candidates[0], moment) - figure(alone.candidates[0], moment), 0.150 * 9.81 * 330, 1);
  EXPECT_NE(note_with(taken.candidates[0], "the 150 g that \"stick_lift\" raises hang on this pivot too"), "");
  // Lightest motor 31 g and actuator 19 g; boom 120 g with its centre 90 mm out: 10 g there add 8.83 N mm.
  const std::string ride = note_with(taken.candidates[0], "ride on boom");
  EXPECT_NE(ride.find("at least 50 g, which its mass of 120 g must contain"), std::string::npos) << ride;
  EXPECT_NE(ride.find("8.83 N mm"), std::string::npos) << ride;
}

TEST(LuffKnuckle, ALighterLoadBelowIsWarnedOf) {
  brief::Brief b = crane();
  b.functions.push_back(on_boom(kStick));
  document::Diagnostics d;
  const brief::Function boom = function("luff", "moves = \"boom\"\nload_g = 100\n");
  ASSERT_NE(kind().read(boom, b, d), nullptr);
  const auto list = d.sorted();
  ASSERT_EQ(list.size(), 1U);
  EXPECT_EQ(list[0].severity, document::Severity::warning);
  EXPECT_EQ(list[0].code, "luff.load_of_next_stage");
  EXPECT_EQ(list[0].path, "/load_g");
  EXPECT_NE(list[0].message.find("150 g"), std::string::npos);
  EXPECT_TRUE([&] {
    document::Diagnostics none;
    return kind().read(function("luff", "moves = \"boom\"\nload_g = 150\n"), b, none) != nullptr &&
           none.sorted().empty();
  }());
}

}  // namespace
}  // namespace functions::luff
