// Covers functions/hand: knobs with trains against the lever rule, pushers and latches against handbook formulas
// written out, the laws of a kind, what is said when parts lack.
#include "functions/hand/hand.h"

#include <gtest/gtest.h>

#include <cmath>

#include "functions/crawler/small_kit.h"
#include "functions/hand/knob.h"
#include "functions/hand/pins.h"
#include "routing/checker.h"

namespace hand = functions::hand;

namespace {

const candidate::Kind kHand = hand::kind();

brief::Brief box() {
  brief::Brief b = small_kit::machine();
  b.bodies.resize(1);
  stock::Catalogue c = small_kit::kit();
  const auto add = [&](std::string id, stock::Family family, stock::PartData data) {
    stock::PartClass part;
    part.id = part.name = std::move(id);
    part.family = family;
    part.mass_g = small_kit::exact(1);
    part.data = std::move(data);
    c.classes.push_back(std::move(part));
  };
  add("wheel_24", stock::Family::wheel, stock::Wheel{24, 8});
  add("joiner", stock::Family::joiner, std::monostate{});
  stock::Stock s = small_kit::plenty(c, 6);
  small_kit::use(b, std::move(c), std::move(s));
  return b;
}

const std::string kKnob = "torque_nmm = 250\nturn_deg = 180\nmost_turns = 6\nat_mm = [0, 56]\nmost_stages = 1\n";

}  // namespace

// Second route: the golden rule of the lever. Force at the rim times its way is torque times turn, less each mesh and
// bearing.
TEST(Knob, FingersWorkIsTheShaftsWorkAndTheLosses) {
  const brief::Brief b = box();
  const auto p = small_kit::propose(kHand, small_kit::function("hand", kKnob), b);
  ASSERT_FALSE(p.candidates.empty());
  for (const candidate::Candidate& c : p.candidates) {
    ASSERT_NE(c.route, nullptr);
    for (const std::string& fault : routing::check(*c.route->problem, c.route->layout))
      ADD_FAILURE() << c.key << ": " << fault;
    EXPECT_EQ(c.demand.ports, 0);
    EXPECT_EQ(c.demand.channels, 0);
    EXPECT_EQ(c.demand.running_current_ma, 0);
    int knobs = 0;
    for (const candidate::Need& n : c.demand.needs) {
      if (n.role == "knob") knobs += n.count;
      for (const stock::ClassId id : n.accepts) EXPECT_NE(b.catalogue->at(id).family, stock::Family::motor) << c.key;
    }
    EXPECT_EQ(knobs, 1) << c.key;
    double keeps = 0.98;
    bool worm = false;
    for (const routing::PlacedMesh& m : c.route->layout.meshes) {
      worm = worm || c.route->problem->kit.pairs[static_cast<std::size_t>(m.pair)].type == routing::PairType::worm;
      keeps *= 0.93 * 0.98;
    }
    if (worm) continue;  // a worm's loss is covered by gearing
    const double turns = small_kit::figure(c, "turns of the knob");
    const double force = small_kit::figure(c, "force of a finger for the wanted torque");
    const double diameter = c.key.find("wheel_43") != std::string::npos ? 43 : 24;
    // Two fingers, each on a way of pi d a turn; half of it each because T = F d is a couple.
    EXPECT_NEAR(2 * force * std::numbers::pi * diameter * turns * keeps, 250 * std::numbers::pi, 1e-6) << c.key;
    EXPECT_LE(turns, 6 / candidate::kNearMiss);
  }
}

TEST(Knob, SpreadOfMotorsDoesNotTouchFingers) {
  const brief::Brief b = box();
  const auto p = small_kit::propose(kHand, small_kit::function("hand", kKnob), b);
  ASSERT_FALSE(p.candidates.empty());
  brief::Sample weak = b.parameters.nominal();
  weak.value[static_cast<std::size_t>(brief::Parameter::supply_voltage_factor)] = 0.5;
  weak.value[static_cast<std::size_t>(brief::Parameter::motor_torque_factor)] = 0.5;
  const candidate::Candidate& c = p.candidates.front();
  EXPECT_EQ(c.evaluate(weak).worst(), c.nominal.worst());
}

TEST(Knob, HoldsByAWorm) {
  const auto p = small_kit::propose(kHand, small_kit::function("hand", kKnob + "hold = true\n"), box());
  ASSERT_FALSE(p.candidates.empty());
  for (const candidate::Candidate& c : p.candidates) EXPECT_NE(c.key.find("worm"), std::string::npos) << c.key;
}

// reach 60 + stroke 3 + half a pitch 4 = 67 mm: 9 pitches. Buckling: Euler, pi^2 E I/L^2 (Shigley, Eq. 4-42, from
// memory) between guides 30 mm apart; cross of 4.8 x 1.8 mm: I = (w t^3 + t w^3 - t^4)/12; E = 2 (1 + 0.35) G.
TEST(Knob, TellsWhatFingersHoldOfAJoint) {
  brief::Brief b = box();
  brief::Body boom;
  boom.id = "boom";
  boom.parent = 0;
  boom.joint = {brief::Joint::Type::pitch, {0, 0, 56}, -0.2, 1};
  b.bodies.push_back(boom);
  const auto p = small_kit::propose(kHand, small_kit::function("hand", kKnob + "moves = \"boom\"\n"), b);
  ASSERT_FALSE(p.candidates.empty());
  int trains = 0;
  for (const candidate::Candidate& c : p.candidates) {
    const bool direct = c.key.find("|direct") != std::string::npos;
    ASSERT_EQ(c.holdings.size(), direct ? 1u : 2u) << c.key;
    EXPECT_EQ(c.holdings[0].limit, candidate::Holding::Limit::luff);
    for (const candidate::Holding& h : c.holdings) {
      EXPECT_EQ(h.body, 1);
      EXPECT_EQ(h.at_rad, (std::vector<double>{-0.2, 1}));
    }
    EXPECT_DOUBLE_EQ(c.holdings[0].holds.front(), small_kit::margin(c.nominal, "finger torque").capability);
    if (direct) continue;
    ++trains;
    EXPECT_EQ(c.holdings[1].limit, candidate::Holding::Limit::tooth);
    EXPECT_DOUBLE_EQ(c.holdings[1].holds.back(), 250 * small_kit::margin(c.nominal, "tooth").ratio);
  }
  EXPECT_GT(trains, 0);
  EXPECT_TRUE(small_kit::propose(kHand, small_kit::function("hand", kKnob), b).candidates.front().holdings.empty());
}

TEST(Pusher, IsLongEnoughAndDoesNotBuckle) {
  const brief::Brief b = box();
  const auto f = small_kit::function("hand", "device = \"pusher\"\nreach_mm = 60\n");
  const auto p = small_kit::propose(kHand, f, b);
  ASSERT_FALSE(p.candidates.empty());
  const candidate::Candidate& c = p.candidates.front();
  EXPECT_EQ(small_kit::figure(c, "length needed"), 67);
  EXPECT_NE(c.key.find("pusher axle"), std::string::npos) << c.key;
  const double w = 4.8, t = 1.8, i = (w * t * t * t + t * w * w * w - t * t * t * t) / 12, e = 2 * 1.35 * 800;
  EXPECT_NEAR(small_kit::margin(c.nominal, "buckling").capability,
              std::numbers::pi * std::numbers::pi * e * i / (30 * 30), 1e-6);
  EXPECT_NEAR(small_kit::margin(c.nominal, "finger force").requirement, 4 * (1 + 2 * 0.2 * 0.2), 1e-12);
}

TEST(Pusher, JoinsTwoAxlesWhenNoneReaches) {
  const brief::Brief b = box();
  const auto f = small_kit::function("hand", "device = \"pusher\"\nreach_mm = 110\n");  // 15 pitches
  const auto p = small_kit::propose(kHand, f, b);
  ASSERT_FALSE(p.candidates.empty());
  EXPECT_NE(p.candidates.front().key.find("joined"), std::string::npos) << p.candidates.front().key;
  brief::Function alone = f;
  alone.must_not_use = {*b.catalogue->find("joiner")};
  const auto none = small_kit::propose(kHand, alone, b);
  EXPECT_TRUE(none.candidates.empty());
  const candidate::Rejection* axle = small_kit::rejection(none, "hand.axle_too_short");
  ASSERT_NE(axle, nullptr);
  EXPECT_EQ(axle->shortfall, 15 - 12);
}

TEST(Latch, HoldsInShearAndCanBeDrawn) {
  const auto p = small_kit::propose(kHand, small_kit::function("hand", "device = \"latch\"\nload_n = 15\n"), box());
  ASSERT_EQ(p.candidates.size(), 1u);
  const candidate::Candidate& c = p.candidates.front();
  EXPECT_NEAR(small_kit::margin(c.nominal, "hold").capability, 30 * std::numbers::pi / 4 * (4.8 * 4.8 - 3.0 * 3.0),
              1e-6);
  EXPECT_NEAR(small_kit::margin(c.nominal, "finger force").requirement, 2 * 0.2 * 15, 1e-12);
  // Ten times the load cannot be drawn under load: a figure, not a design.
  const auto stuck =
      small_kit::propose(kHand, small_kit::function("hand", "device = \"latch\"\nload_n = 150\n"), box());
  EXPECT_TRUE(stuck.candidates.empty());
  const candidate::Rejection* force = small_kit::rejection(stuck, "hand.finger_force");
  ASSERT_NE(force, nullptr);
  EXPECT_NEAR(force->shortfall, 60 - 8, 1e-9);
}

TEST(Hand, ObeysTheLawsOfAKind) {
  small_kit::expect_laws(kHand, small_kit::function("hand", kKnob + "knob = \"wheel_24\"\n"), box());
  small_kit::expect_laws(kHand, small_kit::function("hand", "device = \"pusher\"\nreach_mm = 60\n"), box());
  small_kit::expect_laws(kHand, small_kit::function("hand", "device = \"latch\"\nload_n = 10\n"), box());
}

TEST(HandWants, ReportsEveryProblemAtItsPlace) {
  const auto found = small_kit::problems(
      kHand, small_kit::function("hand", "device = \"pusher\"\nreach_mm = 20\ntorque_nmm = 5\nload_n = 3\n"), box());
  ASSERT_EQ(found.size(), 2u) << ::testing::PrintToString(found);
  EXPECT_EQ(found[0], "hand.other_device 3 /torque_nmm");
  EXPECT_EQ(found[1], "hand.other_device 4 /load_n");
  EXPECT_EQ(small_kit::problems(kHand, small_kit::function("hand", "turn_deg = 90\n"), box()).size(), 1u);
}
