// The search as a whole: brute force on a small stock, laws, trade facts, and the answers when nothing fits.
#include "functions/luff/luff.h"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <map>
#include <set>

#include "functions/luff/evaluate.h"
#include "functions/luff/fixture.h"
#include "functions/luff/present.h"
#include "stock/catalogue.h"

namespace functions::luff {
namespace {

using lift_fixture::crane;
using lift_fixture::figure;
using lift_fixture::function;
using lift_fixture::kRad;
using lift_fixture::margin;
using lift_fixture::propose;

const char* const kBoom =
    "moves = \"boom\"\nload_g = 150\ntime_s = 14\n"
    "base_region_p = { x = [-5, 3], z = [-7, -2] }\nrod_region_p = { x = [3, 12], z = [-1, 1] }\n";

double best_worst(const candidate::Proposal& p) {
  return p.candidates.empty() ? 0 : p.candidates.front().nominal.worst();
}

bool has_need(const candidate::Candidate& c, stock::ClassId id, int count) {
  return std::any_of(c.demand.needs.begin(), c.demand.needs.end(),
                     [&](const candidate::Need& n) { return n.accepts == std::vector{id} && n.count == count; });
}

TEST(Luff, ProposesCandidatesThatHoldWhatTheySay) {
  const brief::Brief b = crane();
  const candidate::Proposal p = propose(kind(), function("luff", kBoom), b);
  ASSERT_FALSE(p.candidates.empty());
  EXPECT_TRUE(p.complete);
  EXPECT_GE(best_worst(p), 1);
  EXPECT_GT(p.examined, 1000);
  std::set<std::string> keys;
  for (const candidate::Candidate& c : p.candidates) {
    EXPECT_TRUE(keys.insert(c.key).second) << c.key;
    EXPECT_GE(c.nominal.worst(), candidate::kNearMiss);
    const candidate::Evaluation again = c.evaluate(b.parameters.nominal());
    ASSERT_EQ(again.margins.size(), c.nominal.margins.size());
    for (std::size_t i = 0; i < again.margins.size(); ++i)
      EXPECT_EQ(again.margins[i].ratio, c.nominal.margins[i].ratio);
    const candidate::Evaluation drawn = c.evaluate(b.parameters.draw(7, 3));
    ASSERT_EQ(drawn.margins.size(), c.nominal.margins.size());
    for (std::size_t i = 0; i < drawn.margins.size(); ++i) EXPECT_EQ(drawn.margins[i].name, c.nominal.margins[i].name);
    EXPECT_GT(c.demand.running_current_ma, 0);
    EXPECT_GE(c.demand.stall_current_ma, c.demand.running_current_ma);
    EXPECT_EQ(c.demand.ports, 1);
    EXPECT_FALSE(c.shapes.empty());
    EXPECT_EQ(c.curves.front().x.size(), static_cast<std::size_t>(kAngles));
    // The drawn lengths stay within the part, with the clearance.
    const double open = c.key.starts_with("actuator_long") ? 192 : 136, closed = open == 192 ? 120 : 88;
    EXPECT_LE(figure(c, "longest length"), open - 1 + 1e-6);
    EXPECT_GE(figure(c, "shortest length"), closed + 1 - 1e-6);
    EXPECT_GE(figure(c, "least lever arm"), 8 + 2.4 - 1e-9);  // half an actuator and half an axle
  }
}

// Second route: the moments of boom, stick and load written out, against what motor and actuators hold angle by angle.
TEST(Luff, LiftsTheMassAtWhichItsForceEnds) {
  const brief::Brief b = crane();
  const candidate::Proposal p =
      propose(kind(), function("luff", std::string(kBoom) + "load_on = \"stick\"\nload_at_mm = [360, 0, 140]\n"), b);
  ASSERT_FALSE(p.candidates.empty());
  for (std::size_t k = 0; k < std::min<std::size_t>(p.candidates.size(), 12); ++k) {
    const candidate::Candidate& c = p.candidates[k];
    const double load_g = c.lifts_g(b.parameters.nominal());
    const double ratio = margin(c.nominal, "force").capability / margin(c.nominal, "force").requirement;
    EXPECT_EQ(load_g > 150, ratio > 1) << c.key;
    double closest = 1e9;
    for (const candidate::Holding& h : c.holdings) {
      if (h.limit != candidate::Holding::Limit::luff) continue;
      for (std::size_t i = 0; i < h.at_rad.size(); ++i) {
        // The stick level, which it can be at any angle of the boom, is the worst: 140 mm from its pivot to the load.
        const double moment_nmm =
            9.81e-3 * (std::cos(h.at_rad[i]) * (120 * 90 + (60 + load_g) * 180) + 60 * 70 + load_g * 140);
        closest = std::min(closest, h.holds[i] / moment_nmm);
      }
    }
    // The pins' friction goes with the weight that hangs on them, a few tenths of a per cent.
    EXPECT_NEAR(closest, 1, 0.01) << c.key;
    EXPECT_LT(c.lifts_g(b.parameters.draw(7, 3)), 3 * load_g);
  }
}

/// Worst margin of one placement and drive, computed from scratch: own triangle, own screw, own train loss. The drive
/// is a chain of spur pairs given by teeth.
struct Scratch {
  const brief::Brief& b;
  std::vector<double> angle, most, least;
  double weight_n, time_s;

  double worst(lattice::Point2 base, lattice::Point2 rod, double closed, double open, const std::string& motor_id,
               const std::vector<std::pair<int, int>>& pairs, double load_limit_n) const {
    const double ax = base.x_hp * 4.0, az = base.z_hp * 4.0;
    const auto rod_at = [&](double t) {
      return std::pair{rod.x_hp * 4.0 * std::cos(t) - rod.z_hp * 4.0 * std::sin(t),
                       rod.x_hp * 4.0 * std::sin(t) + rod.z_hp * 4.0 * std::cos(t)};
    };
    std::vector<double> length, lever, rod_turn;
    for (const double t : angle) {
      const auto [x, z] = rod_at(t);
      const double dx = x - ax, dz = z - az, l = std::hypot(dx, dz);
      length.push_back(l);
      lever.push_back((ax * z - az * x) / l);
      rod_turn.push_back((dx * x + dz * z) / (l * l));
    }
    for (std::size_t i = 0; i < angle.size(); ++i) {
      if (length[i] > open - 1 + 1e-6 || length[i] < closed + 1 - 1e-6) return 0;
      if (std::fabs(lever[i]) < 10.4 || lever[i] * lever[0] <= 0) return 0;
    }
    // Screw (Shigley 8-1, 8-2), d_m 5 mm, lead 2 mm, f 0.2.
    const double pi = std::numbers::pi, dm = 5, l = 2, f = 0.2;
    const double up = dm / 2 * (l + pi * f * dm) / (pi * dm - f * l);
    const double down = dm / 2 * (pi * f * dm - l) / (pi * dm + f * l);
    const double circle = 0.2 * 2.4;  // pin friction x radius
    std::vector<double> raise, lower;
    double peak_torque = 0, peak_force = 0;
    for (std::size_t i = 0; i < angle.size(); ++i) {
      const double h = std::fabs(lever[i]), u = std::fabs(rod_turn[i]) + std::fabs(1 - rod_turn[i]);
      double torque[2] = {0, 0};
      for (const double m : {most[i], least[i]}) {
        for (int way = 0; way < 2; ++way) {
          const double against = way == 0 ? m : -m;
          double force = 0, t = 0;
          if (against + circle * weight_n >= 0) {
            force = (against + circle * weight_n) / (h - circle * (u + 1));
            t = force * up;
          } else {
            force = (-against - circle * weight_n) / (h + circle * (u + 1));
            t = force * down;
          }
          torque[way] = std::max(torque[way], t);
          peak_force = std::max(peak_force, force);
        }
      }
      raise.push_back(torque[0]);
      lower.push_back(torque[1]);
      peak_torque = std::max({peak_torque, torque[0], torque[1]});
    }
    // Motor line through the feed (9 V, 0.8 ohm) and the port's 1500 mA.
    const bool large = motor_id == "motor_large";
    const double ts = large ? 80 : 30, n0 = (large ? 250 : 300) * pi / 30, i0 = large ? 0.09 : 0.06,
                 is = large ? 1.3 : 0.7;
    const double r = 9 / is, kt = ts / (is - i0), ke = (9 - r * i0) / n0;
    double reduction = 1, efficiency = 1 - 0.02;
    for (const auto& [driver, driven] : pairs) {
      reduction *= static_cast<double>(driven) / driver;
      efficiency *= 0.93 * (1 - 0.02);
    }
    const auto speed = [&](double out_nmm) {
      const double current = i0 + out_nmm / reduction / efficiency / kt;
      return current > 1.5 ? 0.0 : (9 - (r + 0.8) * current) / ke / reduction;
    };
    const double stall_current = std::min(1.5, 9 / (r + 0.8));
    const double stall = kt * (stall_current - i0) * reduction * efficiency;
    double time = 0;
    for (const std::vector<double>* torque : {&raise, &lower}) {
      double sum = 0;
      for (std::size_t i = 0; i + 1 < angle.size(); ++i) {
        const double v1 = speed((*torque)[i]) * l / (2 * pi), v2 = speed((*torque)[i + 1]) * l / (2 * pi);
        if (v1 <= 0 || v2 <= 0) return 0;
        sum += std::fabs(length[i + 1] - length[i]) * (1 / v1 + 1 / v2) / 2;
      }
      time = std::max(time, sum);
    }
    double worst = std::min({9.99, stall / peak_torque, load_limit_n / peak_force, time_s / time});
    worst = std::min(worst, f * pi * dm / l);  // hold: f / tan(lead angle)
    // Teeth (Lewis, 25 MPa, face 7 mm, module 1): torque on each driven shaft, losses downstream put back.
    double torque = peak_torque;
    for (std::size_t k = pairs.size(); k-- > 0;) {
      torque /= (1 - 0.02);
      const auto form = [](int z) { return z == 8 ? std::numbers::pi * (0.154 - 0.912 / 8) : z == 24 ? 0.337 : 0.387; };
      const double y = std::min(form(pairs[k].first), form(pairs[k].second));
      const double force = torque / (pairs[k].second / 2.0);
      worst = std::min(worst, 25 * 7 * y / force);
      torque *= static_cast<double>(pairs[k].first) / pairs[k].second / 0.93;
    }
    return worst;
  }
};

TEST(Luff, BestCandidateEqualsBruteForceFromScratch) {
  brief::Brief b = crane();
  auto stock = std::make_shared<stock::Stock>(lift_fixture::plenty(*b.catalogue, 40));
  lift_fixture::set_count(*stock, *b.catalogue, "gear_8", 1);
  lift_fixture::set_count(*stock, *b.catalogue, "gear_24", 1);
  lift_fixture::set_count(*stock, *b.catalogue, "gear_40", 0);
  lift_fixture::set_count(*stock, *b.catalogue, "worm_1", 0);
  lift_fixture::set_count(*stock, *b.catalogue, "actuator_long", 0);
  b.stock = stock;
  for (const double time_s : {5.0, 9.0, 20.0}) {
    const std::string toml = "moves = \"boom\"\nload_g = 150\nangle_deg = [0, 50]\ntime_s = " + std::to_string(time_s) +
                             "\nbase_region_p = { x = [-2, 3], z = [-8, -5] }\n"
                             "rod_region_p = { x = [5, 10], z = [0, 1] }\n";
    const candidate::Proposal p = propose(kind(), function("luff", toml), b);

    Scratch scratch{b, {}, {}, {}, (0.120 + 0.060 + 0.150) * 9.81, time_s};
    for (int i = 0; i < 201; ++i) {
      const double t = 50 * kRad * i / 200;
      const double rigid = (0.120 * 90 + 0.210 * 180) * 9.81 * std::cos(t);
      const double stick = (0.060 * 70 + 0.150 * 150) * 9.81;
      scratch.angle.push_back(t);
      scratch.most.push_back(rigid + stick);
      scratch.least.push_back(rigid + stick * std::min(std::cos(t - 90 * kRad), std::cos(t + 20 * kRad)));
    }
    double best = 0;
    for (int bx = -4; bx <= 6; ++bx) {
      for (int bz = -16; bz <= -10; ++bz) {
        for (int rx = 10; rx <= 20; ++rx) {
          for (int rz = 0; rz <= 2; ++rz) {
            for (const char* motor : {"motor_small", "motor_large"}) {
              for (const auto& pairs : {std::vector<std::pair<int, int>>{}, {{8, 24}}, {{24, 8}}})
                best = std::max(best, scratch.worst({bx, bz}, {rx, rz}, 88, 136, motor, pairs, 105));
            }
          }
        }
      }
    }
    ASSERT_GT(best, 0);
    if (best < candidate::kNearMiss) {
      EXPECT_TRUE(p.candidates.empty());
    } else {
      ASSERT_FALSE(p.candidates.empty()) << best;
      EXPECT_NEAR(best_worst(p), best, 2e-3 * best) << "time " << time_s;
    }
  }
}

TEST(Luff, UnusedStockNeverMakesTheBestWorse) {
  brief::Brief b = crane();
  auto stock = std::make_shared<stock::Stock>(lift_fixture::plenty(*b.catalogue, 12));
  for (const char* id : {"gear_40", "worm_1", "motor_large", "actuator_long"})
    lift_fixture::set_count(*stock, *b.catalogue, id, 0);
  b.stock = stock;
  double before = best_worst(propose(kind(), function("luff", kBoom), b));
  EXPECT_GT(before, 0);
  for (const char* id : {"gear_40", "motor_large", "worm_1", "actuator_long"}) {
    auto more = std::make_shared<stock::Stock>(*b.stock);
    lift_fixture::set_count(*more, *b.catalogue, id, 4);
    b.stock = more;
    const double after = best_worst(propose(kind(), function("luff", kBoom), b));
    EXPECT_GE(after, before * (1 - 1e-12)) << id;
    before = after;
  }
}

TEST(Luff, NamesOfBodiesAndFunctionChangeNothing) {
  const brief::Brief b = crane();
  const candidate::Proposal p = propose(kind(), function("luff", kBoom), b);
  brief::Brief renamed = crane();
  renamed.bodies[2].id = "mast";
  renamed.bodies[3].id = "jib";
  brief::Function f =
      function("luff", std::string("moves = \"mast\"\n") + (kBoom + std::string("moves = \"boom\"\n").size()));
  f.id = "another";
  const candidate::Proposal q = propose(kind(), f, renamed);
  ASSERT_EQ(p.candidates.size(), q.candidates.size());
  for (std::size_t i = 0; i < p.candidates.size(); ++i) {
    EXPECT_EQ(p.candidates[i].key, q.candidates[i].key);
    EXPECT_EQ(p.candidates[i].nominal.worst(), q.candidates[i].nominal.worst());
  }
}

TEST(Luff, ForceMarginFallsInProportionToTheLoad) {
  // Weightless bodies: the load is all there is, and statics with Coulomb friction is linear in it.
  brief::Brief b = crane();
  b.bodies[2].mass_g = b.bodies[3].mass_g = base::Triple::exact(0);
  const auto force_ratio = [&](double load_g, const brief::Sample& sample) {
    const brief::Function f = function("luff", "moves = \"boom\"\nload_g = " + std::to_string(load_g) + "\n");
    document::Diagnostics d;
    const auto wants = std::dynamic_pointer_cast<const Wants>(read(f, b, d));
    Problem problem{std::make_shared<const brief::Brief>(b), 1, *wants, load_moments(b, *wants, kAngles)};
    const Geometry g = drive::travel_of(drive::triangle_of({6, -12}, {18, -2}, 8), problem.moments.angle_rad);
    const Design design{std::make_shared<const Problem>(std::move(problem)),
                        *b.catalogue->find("actuator_medium"),
                        1,
                        {6, -12},
                        {18, -2},
                        g,
                        {*b.catalogue->find("motor_large"), 1, {}}};
    return margin(evaluate(design, sample), "force");
  };
  for (const std::uint64_t k : {0, 1, 2}) {
    const brief::Sample sample = b.parameters.draw(5, k);
    const candidate::Margin one = force_ratio(80, sample), three = force_ratio(240, sample);
    EXPECT_GT(one.ratio, 1);
    EXPECT_NEAR(three.requirement, 3 * one.requirement, 1e-9 * three.requirement);
    const double light = one.capability / one.requirement, heavy = three.capability / three.requirement;  // not capped
    EXPECT_NEAR(heavy, light / 3, 1e-9 * light);
  }
}

TEST(Luff, SameBytesForAnyNumberOfThreads) {
  const brief::Brief b = crane();
  const std::string two = std::string(kBoom) + "max_actuators = 2\n";
  base::RunControl one, four;
  four.jobs = 4;
  EXPECT_EQ(lift_fixture::text_of(propose(kind(), function("luff", two), b, one)),
            lift_fixture::text_of(propose(kind(), function("luff", two), b, four)));
}

TEST(Luff, AStopIsSaid) {
  const std::atomic<bool> stop{true};
  base::RunControl control;
  control.stop = &stop;
  const candidate::Proposal p = propose(kind(), function("luff", kBoom), crane(), control);
  EXPECT_FALSE(p.complete);
  EXPECT_FALSE(p.limit_text.empty());
}

TEST(Luff, AnActuatorThatCannotReachIsRefusedWithTheMissingLength) {
  // Common practice, no source: at a small scale the folded arm is shorter than the closed actuator. Mounts within 6
  // pitches of the pivot on both sides, closed length 88 mm.
  const std::string folded =
      "moves = \"boom\"\nload_g = 20\nbase_region_p = { x = [0, 2], z = [-3, -2] }\n"
      "rod_region_p = { x = [3, 6], z = [0, 0] }\n";
  const candidate::Proposal p = propose(kind(), function("luff", folded), crane());
  EXPECT_TRUE(p.candidates.empty());
  const auto too_long = std::find_if(p.rejections.begin(), p.rejections.end(),
                                     [](const candidate::Rejection& r) { return r.code == "luff.actuator_too_long"; });
  ASSERT_NE(too_long, p.rejections.end());
  EXPECT_EQ(too_long->unit, "mm");
  EXPECT_GT(too_long->shortfall, 0);
  EXPECT_NE(too_long->text.find(" mm"), std::string::npos) << too_long->text;
  EXPECT_NE(too_long->text.find(" deg"), std::string::npos) << too_long->text;
  // By hand: the longest that the shortest posture allows, over all mounts (boom at 0 to 70 deg), against 89 mm.
  double best = 0;
  for (int bx = 0; bx <= 4; ++bx) {
    for (int bz = -6; bz <= -4; ++bz) {
      for (int rx = 6; rx <= 12; ++rx) {
        const auto length = [&](double t) {
          return std::hypot(rx * 4 * std::cos(t) - bx * 4, rx * 4 * std::sin(t) - bz * 4);
        };
        const double lever0 = std::fabs(bx * 4 * 0.0 - bz * 4 * rx * 4) / length(0);
        if (lever0 < 10) continue;  // nearer than an axle lets it, where nothing else serves
        best = std::max(best, std::min(length(0), length(70 * kRad)));
      }
    }
  }
  EXPECT_GE(too_long->shortfall, 88 + 1 - best - 1e-9);
}

TEST(Luff, ALeverBelowTheLeastIsRefusedWithItsLength) {
  const std::string shallow =
      "moves = \"boom\"\nload_g = 20\nmin_lever_mm = 60\nbase_region_p = { x = [-5, 3], z = [-3, -2] }\n"
      "rod_region_p = { x = [3, 12], z = [0, 0] }\n";
  const candidate::Proposal p = propose(kind(), function("luff", shallow), crane());
  EXPECT_TRUE(p.candidates.empty());
  EXPECT_TRUE(std::any_of(p.rejections.begin(), p.rejections.end(), [](const candidate::Rejection& r) {
    return r.code.find("lever") != std::string::npos && r.unit == "mm" && r.shortfall > 0;
  }));
}

// Half an actuator is 8 mm here, half an axle 2.4 mm. Mounts by hand: levers from the triangle's area.
TEST(Luff, AnActuatorStaysClearOfAnAxleAtThePivotUnlessNothingElseServes) {
  const brief::Brief b = crane();
  const auto noted = [](const candidate::Candidate& c) {
    return std::any_of(c.notes.begin(), c.notes.end(), [](const std::string& n) {
      return n.find("an axle through the pivot of boom would stand ") == 0 &&
             n.find("min_lever_mm = 10.4") != std::string::npos;
    });
  };
  // One base mount and one rod mount whose least lever lies between 10 and 10.4 mm, lengths within the medium actuator.
  lattice::Point2 base, rod;
  for (int bx = -14; bx <= 6; ++bx) {
    for (int bz = -16; bz <= -3; ++bz) {
      for (int rx = 6; rx <= 24; ++rx) {
        double least = 1e9, shortest = 1e9, longest = 0;
        for (const double t : {0.0, 70 * kRad}) {
          const double x = rx * 4 * std::cos(t), z = rx * 4 * std::sin(t), l = std::hypot(x - bx * 4, z - bz * 4);
          least = std::min(least, (bx * 4 * z - bz * 4 * x) / l);  // signed: no dead centre between
          shortest = std::min(shortest, l);
          longest = std::max(longest, l);
        }
        if (least > 10.02 && least < 10.38 && shortest > 90 && longest < 134) base = {bx, bz}, rod = {rx, 0};
      }
    }
  }
  ASSERT_NE(rod.x_hp, 0);
  const std::string one = fmt::format(
      "moves = \"boom\"\nload_g = 20\ntime_s = 30\nbase_region_p = {{ x = [{0}, {0}], z = [{1}, {1}] }}\n"
      "rod_region_p = {{ x = [{2}, {2}], z = [0, 0] }}\n",
      base.x_hp / 2.0, base.z_hp / 2.0, rod.x_hp / 2.0);
  const candidate::Proposal only = propose(kind(), function("luff", one), b);
  ASSERT_FALSE(only.candidates.empty());
  for (const candidate::Candidate& c : only.candidates) {
    EXPECT_LT(figure(c, "actuator clears the pivot's axle by"), 0);
    EXPECT_TRUE(noted(c)) << c.key;
  }
  for (const candidate::Candidate& c : propose(kind(), function("luff", kBoom), b).candidates) {
    EXPECT_GE(figure(c, "actuator clears the pivot's axle by"), -1e-9);
    EXPECT_FALSE(noted(c)) << c.key;
  }
  // Who asks for it gets nothing else.
  EXPECT_TRUE(propose(kind(), function("luff", one + "min_lever_mm = 10.4\n"), b).candidates.empty());
}

TEST(Luff, MustAndMustNotUseAreHonoured) {
  const brief::Brief b = crane();
  brief::Function f = function("luff", kBoom);
  f.must_not_use = {*b.catalogue->find("actuator_long"), *b.catalogue->find("motor_large")};
  f.must_use = {*b.catalogue->find("gear_24")};
  const candidate::Proposal p = propose(kind(), f, b);
  ASSERT_FALSE(p.candidates.empty());
  for (const candidate::Candidate& c : p.candidates) {
    EXPECT_EQ(c.key.find("actuator_long"), std::string::npos);
    EXPECT_EQ(c.key.find("motor_large"), std::string::npos);
    EXPECT_TRUE(std::any_of(c.demand.needs.begin(), c.demand.needs.end(), [&](const candidate::Need& n) {
      return n.accepts.front() == *b.catalogue->find("gear_24");
    }));
  }
}

TEST(Luff, AMirroredPairTakesEverythingTwice) {
  const brief::Brief b = crane();
  brief::Function f = function("luff", kBoom);
  f.sides = 2;
  const candidate::Proposal p = propose(kind(), f, b);
  ASSERT_FALSE(p.candidates.empty());
  for (const candidate::Candidate& c : p.candidates) {
    EXPECT_EQ(c.demand.ports, 2);
    const std::string actuator = c.key.substr(0, c.key.find(' '));
    EXPECT_TRUE(has_need(c, *b.catalogue->find(actuator), 2)) << c.key;
  }
}

TEST(Luff, TwoActuatorsSideBySideShareTheForce) {
  brief::Brief b = crane();
  const std::string heavy = std::string(kBoom).replace(std::string(kBoom).find("150"), 3, "700") + "time_s = 60\n";
  const std::string toml = std::string(heavy).replace(heavy.find("time_s = 14\n"), 12, "");
  const candidate::Proposal one = propose(kind(), function("luff", toml), b);
  const candidate::Proposal two = propose(kind(), function("luff", toml + "max_actuators = 2\n"), b);
  ASSERT_FALSE(two.candidates.empty());
  EXPECT_GT(best_worst(two), best_worst(one));
  const bool pair = std::any_of(two.candidates.begin(), two.candidates.end(), [&](const candidate::Candidate& c) {
    return c.key.find(" x2|base") != std::string::npos && figure(c, "force the actuator takes") >= 199;
  });
  EXPECT_TRUE(pair);
}

TEST(Luff, AScrewThatOverhaulsNeedsAWormToHold) {
  // Thread with 16 mm lead: tan(lead angle) = 1.02, far above the friction of 0.2.
  brief::Brief b = crane();
  auto catalogue = std::make_shared<stock::Catalogue>(lift_fixture::small_kit());
  for (stock::PartClass& c : catalogue->classes)
    if (auto* a = std::get_if<stock::Actuator>(&c.data)) a->lead_mm = 16;
  b.catalogue = catalogue;
  const std::string slow = std::string(kBoom).replace(std::string(kBoom).find("150"), 3, "20");
  const std::string toml = std::string(slow).replace(slow.find("time_s = 14"), 11, "time_s = 30");
  const candidate::Proposal held = propose(kind(), function("luff", toml), b);
  ASSERT_GE(best_worst(held), 1);
  for (const candidate::Candidate& c : held.candidates) {
    EXPECT_EQ(margin(c.nominal, "hold").note, "friction that the worm in the train needs to lock") << c.title;
    EXPECT_NE(c.title.find("worm"), std::string::npos) << c.title;
  }
  const candidate::Proposal loose = propose(kind(), function("luff", toml + "hold = false\n"), b);
  EXPECT_TRUE(std::any_of(loose.candidates.begin(), loose.candidates.end(), [](const candidate::Candidate& c) {
    return c.title.find("worm") == std::string::npos &&
           std::find(c.notes.begin(), c.notes.end(), "sinks when the motor is off") != c.notes.end();
  }));
}

TEST(Luff, SecondStageIsServedToo) {
  const std::string stick =
      "moves = \"stick\"\nload_g = 150\ntime_s = 14\nbase_region_p = { x = [-14, -3], z = [1, 5] }\n"
      "rod_region_p = { x = [-4, 4], z = [-3, 3] }\n";
  brief::Function f = function("luff", stick);
  f.body = 2;
  const candidate::Proposal p = propose(kind(), f, crane());
  ASSERT_FALSE(p.candidates.empty());
  EXPECT_GE(best_worst(p), 1);
  const std::vector<std::string>& notes = p.candidates.front().notes;
  EXPECT_TRUE(std::any_of(notes.begin(), notes.end(),
                          [](const std::string& n) { return n.find("stage below") != std::string::npos; }));
  EXPECT_EQ(p.candidates.front().masses.front().body, 2);
}

/// Margins of the trains behind a motor, whatever mounts and layouts they stand in, best first.
std::vector<double> margins_of_motor(const candidate::Proposal& p, const brief::Brief& b, stock::ClassId motor) {
  std::map<std::string, double> best;  // by drive
  for (const candidate::Candidate& c : p.candidates) {
    if (std::none_of(c.demand.needs.begin(), c.demand.needs.end(),
                     [&](const candidate::Need& n) { return n.accepts == std::vector{motor}; }))
      continue;
    const std::string drive = c.key.substr(c.key.find(b.catalogue->at(motor).id));
    double& margin = best[drive.substr(0, drive.find("|at "))];
    margin = std::max(margin, c.nominal.worst());
  }
  std::vector<double> out;
  for (const auto& [drive, margin] : best) out.push_back(margin);
  std::sort(out.rbegin(), out.rend());
  return out;
}

// Against the search of everything: nobody that was left out is better than those that were not.
TEST(Luff, FewTrainsOfEachMotorAreItsBest) {
  const brief::Brief b = crane();
  const brief::Function f = function("luff", kBoom);
  const candidate::Proposal all = propose(kind(), f, b);
  constexpr int kFew = 1;
  brief::Function asked = f;
  asked.best_only = kFew;
  const candidate::Proposal few = propose(kind(), asked, b);
  ASSERT_FALSE(all.candidates.empty());
  EXPECT_EQ(all.examined, few.examined);
  EXPECT_DOUBLE_EQ(best_worst(few), best_worst(all));
  EXPECT_LT(few.candidates.size(), all.candidates.size());
  for (const char* id : {"motor_small", "motor_large"}) {
    const stock::ClassId motor = *b.catalogue->find(id);
    const std::vector<double> of_all = margins_of_motor(all, b, motor), of_few = margins_of_motor(few, b, motor);
    ASSERT_GE(of_few.size(), std::min<std::size_t>(of_all.size(), kFew)) << id;
    for (std::size_t i = 0; i < std::min<std::size_t>(of_all.size(), kFew); ++i)
      EXPECT_NEAR(of_few[i], of_all[i], 1e-9) << id << " " << i;
  }
  const auto told = std::find_if(few.rejections.begin(), few.rejections.end(),
                                 [](const candidate::Rejection& r) { return r.code == candidate::kOnlyTheBest; });
  ASSERT_NE(told, few.rejections.end());
  EXPECT_GT(told->count, 0);
  EXPECT_TRUE(std::none_of(all.rejections.begin(), all.rejections.end(),
                           [](const candidate::Rejection& r) { return r.code == candidate::kOnlyTheBest; }));
  // More than there are: the same list as of everything.
  asked.best_only = 1'000'000;
  const candidate::Proposal most = propose(kind(), asked, b);
  EXPECT_EQ(most.candidates.size(), all.candidates.size());
  EXPECT_TRUE(std::none_of(most.rejections.begin(), most.rejections.end(),
                           [](const candidate::Rejection& r) { return r.code == candidate::kOnlyTheBest; }));
}

TEST(Luff, EmptyStockIsAnAnswer) {
  brief::Brief b = crane();
  b.stock = std::make_shared<stock::Stock>();
  const candidate::Proposal p = propose(kind(), function("luff", kBoom), b);
  EXPECT_TRUE(p.candidates.empty());
  ASSERT_EQ(p.rejections.size(), 1U);
  EXPECT_EQ(p.rejections.front().code, "luff.no_actuator");

  auto stock = std::make_shared<stock::Stock>(lift_fixture::plenty(*b.catalogue));
  lift_fixture::set_count(*stock, *b.catalogue, "motor_small", 0);
  lift_fixture::set_count(*stock, *b.catalogue, "motor_large", 0);
  b.stock = stock;
  const candidate::Proposal no_motor = propose(kind(), function("luff", kBoom), b);
  EXPECT_TRUE(no_motor.candidates.empty());
  EXPECT_TRUE(std::any_of(no_motor.rejections.begin(), no_motor.rejections.end(),
                          [](const candidate::Rejection& r) { return r.code == "drive.no_motor"; }));
}

TEST(Luff, WorksWithARealCatalogue) {
  document::Diagnostics d;
  auto catalogue = stock::load_kit_system("metric8", std::string(KW_SOURCE_DIR) + "/catalogue", d);
  ASSERT_TRUE(catalogue.has_value());
  brief::Brief b = crane();
  auto stock = std::make_shared<stock::Stock>(lift_fixture::plenty(*catalogue, 6));
  b.catalogue = std::make_shared<stock::Catalogue>(std::move(*catalogue));
  b.stock = stock;
  const candidate::Proposal p = propose(kind(), function("luff", kBoom), b);
  ASSERT_FALSE(p.candidates.empty());
  EXPECT_GE(best_worst(p), 1);
}

}  // namespace
}  // namespace functions::luff
