// The search as a whole: brute force on a small stock, laws, trade facts, wants, and the answers when nothing fits.
#include "functions/hoist/hoist.h"

#include <algorithm>
#include <atomic>
#include <set>
#include <tuple>

#include "functions/hoist/evaluate.h"
#include "functions/luff/fixture.h"
#include "stock/catalogue.h"

namespace functions::hoist {
namespace {

using lift_fixture::crane;
using lift_fixture::figure;
using lift_fixture::function;
using lift_fixture::margin;
using lift_fixture::problems;
using lift_fixture::propose;
using Lines = std::vector<std::string>;

const char* const kSlow = "load_g = 600\nhook_travel_mm = 250\nspeed_mm_s = 8\nrope_run_mm = 200\n";

double best_worst(const candidate::Proposal& p) {
  return p.candidates.empty() ? 0 : p.candidates.front().nominal.worst();
}

const candidate::Rejection* rejection(const candidate::Proposal& p, std::string_view code) {
  const auto at = std::find_if(p.rejections.begin(), p.rejections.end(),
                               [&](const candidate::Rejection& r) { return r.code == code; });
  return at == p.rejections.end() ? nullptr : &*at;
}

void set_stock(brief::Brief& b, const std::vector<std::pair<std::string, int>>& counts) {
  auto stock = std::make_shared<stock::Stock>(*b.stock);
  for (const auto& [id, count] : counts) lift_fixture::set_count(*stock, *b.catalogue, id, count);
  b.stock = stock;
}

TEST(HoistWants, ReadsDefaultsAndConverts) {
  const brief::Brief b = crane();
  document::Diagnostics d;
  const auto w = std::dynamic_pointer_cast<const Wants>(
      read(function("hoist", "load_g = 200\nhook_travel_mm = 300\ntime_s = 12\nfalls = [1, 3]\n"), b, d));
  ASSERT_NE(w, nullptr);
  EXPECT_DOUBLE_EQ(w->wanted_speed_mm_s, 25);
  EXPECT_TRUE(w->wanted_as_time);
  EXPECT_EQ(w->falls_high, 3);
  EXPECT_DOUBLE_EQ(w->run_mm, 160);  // length of "upper", which carries the drum
  EXPECT_EQ(w->hang_body, 3);        // the stick hangs outermost
  EXPECT_DOUBLE_EQ(w->hang_mm.x_mm, 370);
}

// Second route: every mesh of spur gears turns the sense over; a rope at the drum's front comes in when the drum turns
// about -y.
TEST(Hoist, TheMotorsSenseIsToldForARopeAtTheDrumsFront) {
  // Quick enough, and not held, so that spur trains serve.
  const candidate::Proposal p = propose(
      kind(),
      function("hoist", "load_g = 200\nhook_travel_mm = 250\nspeed_mm_s = 40\nrope_run_mm = 200\nhold = false\n"),
      crane());
  ASSERT_FALSE(p.candidates.empty());
  int spur = 0;
  for (const candidate::Candidate& c : p.candidates) {
    ASSERT_NE(c.route, nullptr);
    EXPECT_NE(c.drives.front().sense, 0) << c.key;
    const routing::Layout& l = c.route->layout;
    int sign = c.route->problem->inputs.at(static_cast<std::size_t>(l.input)).motors.front().direction;
    bool all_spur = true;
    for (const routing::PlacedMesh& m : l.meshes) {
      all_spur =
          all_spur && c.route->problem->kit.pairs[static_cast<std::size_t>(m.pair)].type == routing::PairType::spur;
      sign = -sign;
    }
    if (!all_spur) continue;
    EXPECT_EQ(c.drives.front().sense, -sign) << c.key;
    ++spur;
  }
  EXPECT_GT(spur, 0);
}

TEST(HoistWants, ReportsEveryProblemAtItsPlace) {
  const brief::Brief b = crane();
  EXPECT_EQ(problems(kind(), function("hoist", "load_g = 200\nhook_travel_mm = 300\n"), b), (Lines{"hoist.no_speed "}));
  EXPECT_EQ(problems(kind(),
                     function("hoist",
                              "load_g = 200\nhook_travel_mm = 300\nspeed_mm_s = 5\ntime_s = 9\n"
                              "falls = [1, 1.5]\nsheave_part = \"gear_9\"\nsheave_diameter_mm = 4.5\n"
                              "hangs_on = \"stik\"\nropes = 3\n"),
                     b),
            (Lines{"hoist.two_speeds /time_s", "hoist.falls /falls", "hoist.unknown_part /sheave_part",
                   "hoist.sheave /sheave_diameter_mm", "hoist.unknown_body /hangs_on", "hoist.unknown_key /ropes"}));
  EXPECT_EQ(problems(kind(), function("hoist", "load_g = -1\n"), b),
            (Lines{"hoist.missing_key /hook_travel_mm", "hoist.no_speed ", "hoist.out_of_range /load_g"}));
  for (const document::FieldDoc& f : fields()) EXPECT_GT(f.doc.size(), 20U) << f.key;
}

TEST(Hoist, ProposesCandidatesThatHoldWhatTheySay) {
  const brief::Brief b = crane();
  const candidate::Proposal p = propose(kind(), function("hoist", kSlow), b);
  ASSERT_FALSE(p.candidates.empty());
  EXPECT_GE(best_worst(p), 1);
  std::set<std::string> keys;
  for (const candidate::Candidate& c : p.candidates) {
    EXPECT_TRUE(keys.insert(c.key).second) << c.key;
    const candidate::Evaluation again = c.evaluate(b.parameters.nominal());
    const candidate::Evaluation drawn = c.evaluate(b.parameters.draw(3, 11));
    ASSERT_EQ(again.margins.size(), c.nominal.margins.size());
    ASSERT_EQ(drawn.margins.size(), c.nominal.margins.size());
    for (std::size_t i = 0; i < again.margins.size(); ++i) {
      EXPECT_EQ(again.margins[i].ratio, c.nominal.margins[i].ratio);
      EXPECT_EQ(drawn.margins[i].name, c.nominal.margins[i].name);
    }
    EXPECT_EQ(c.payloads.front().body, 3);
    EXPECT_DOUBLE_EQ(c.payloads.front().mass_g, 600);
    EXPECT_FALSE(c.curves.empty());
    EXPECT_TRUE(std::any_of(c.notes.begin(), c.notes.end(),
                            [](const std::string& note) { return note.find("fingers") != std::string::npos; }));
  }
}

TEST(Hoist, BestCandidateEqualsBruteForceFromScratch) {
  brief::Brief b = crane();
  set_stock(b, {{"gear_40", 0}, {"gear_8", 1}, {"gear_24", 1}, {"worm_1", 1}, {"motor_small", 0}});
  for (const double speed : {6.0, 9.0, 25.0}) {
    const candidate::Proposal p = propose(kind(),
                                          function("hoist",
                                                   "load_g = 500\nhook_travel_mm = 300\nrope_run_mm = 200\n"
                                                   "falls = [1, 2]\nspeed_mm_s = " +
                                                       std::to_string(speed) + "\n"),
                                          b);
    const double pi = std::numbers::pi, friction = 0.2, rope = 0.9;
    const double e = (16 - friction * 4.8) / (16 + friction * 4.8);
    const double weight = (0.5 + 0.0012) * 9.81;
    const double r = 9 / 1.3, kt = 80 / (1.3 - 0.09), ke = (9 - r * 0.09) / (250 * pi / 30);
    const double tan_lead = 1.0 / 16, cos_n = std::cos(20 * pi / 180);
    const double worm_forward = (cos_n - friction * tan_lead) / (cos_n + friction / tan_lead);
    struct Drive {
      double reduction, efficiency, worm_ratio;
      double tooth_limit_nmm;  // on the drum
    };
    const double y8 = pi * (0.154 - 0.912 / 8), y24 = 0.337, b0 = 0.98;
    const auto load = [](double y) { return 25 * 7 * y; };
    const std::vector<Drive> drives = {
        {1, b0, 0, 1e9},
        {3, b0 * b0 * 0.93, 0, load(y8) * 12 * b0},
        {1.0 / 3, b0 * b0 * 0.93, 0, load(y8) * 4 * b0},
        {8, b0 * b0 * worm_forward, friction / (cos_n * tan_lead), load(y8) * 4 * b0},
        {24, b0 * b0 * worm_forward, friction / (cos_n * tan_lead), load(y24) * 12 * b0},
    };
    double best = 0;
    for (const auto& [core, flange, width] : {std::tuple{8.0, 22.0, 14.0}, {16.0, 32.0, 22.0}}) {
      for (int falls = 1; falls <= 2; ++falls) {
        const double wound = 300 * falls + 3 * pi * (core + rope);
        double laid = 0;
        int layer = 0;
        while (laid < wound) laid += std::floor(width / rope) * pi * (core + (2 * ++layer - 1) * rope);
        ASSERT_LE(core + 2 * layer * rope + 3 * rope, flange);
        const double pull = falls == 1 ? weight / e : weight / (e + e * e);
        for (const Drive& d : drives) {
          double worst = std::min(9.99, 55 / (3 * pull));
          double slowest = 1e300;
          for (int k = 1; k <= layer; ++k) {
            const double radius = (core + (2 * k - 1) * rope) / 2;
            const double current = 0.09 + pull * radius / d.reduction / d.efficiency / kt;
            const double w = current > 1.5 ? 0 : (9 - (r + 0.8) * current) / ke / d.reduction;
            slowest = std::min(slowest, std::max(0.0, w) * radius / falls);
          }
          worst = std::min(worst, slowest / speed);
          const double outer = (core + (2 * layer - 1) * rope) / 2, torque = pull * outer;
          const double stall = kt * (std::min(1.5, 9 / (r + 0.8)) - 0.09) * d.reduction * d.efficiency;
          worst = std::min({worst, stall / torque, d.tooth_limit_nmm / torque});
          best = std::max(best, std::min(worst, d.worm_ratio));
        }
      }
    }
    if (best < candidate::kNearMiss) {
      EXPECT_TRUE(p.candidates.empty()) << speed;
    } else {
      ASSERT_FALSE(p.candidates.empty()) << best;
      EXPECT_NEAR(best_worst(p), best, 2e-3 * best) << "speed " << speed;
    }
  }
}

TEST(Hoist, WithoutWormTheLoadRunsTheTrainBackwards) {
  // Common practice, no source: a train without a worm or lock back-drives under a hanging load.
  brief::Brief b = crane();
  const std::string quick = "load_g = 600\nhook_travel_mm = 250\nspeed_mm_s = 40\nrope_run_mm = 200\n";
  set_stock(b, {{"worm_1", 0}});
  const candidate::Proposal none = propose(kind(), function("hoist", quick), b);
  EXPECT_TRUE(none.candidates.empty());
  const candidate::Rejection* why = rejection(none, "drive.hold");
  ASSERT_NE(why, nullptr);
  EXPECT_GT(why->count, 0);
  EXPECT_EQ(why->unit, "N mm");
  const candidate::Proposal loose = propose(kind(), function("hoist", quick + "hold = false\n"), b);
  ASSERT_FALSE(loose.candidates.empty());
  EXPECT_GE(best_worst(loose), 1);
  for (const candidate::Candidate& c : loose.candidates) {
    EXPECT_TRUE(std::any_of(c.notes.begin(), c.notes.end(), [](const std::string& n) {
      return n.find("runs the train backwards") != std::string::npos ||
             n.find("only its own friction") != std::string::npos;
    })) << c.title;
  }
  // With a worm, slower, it holds.
  set_stock(b, {{"worm_1", 1}});
  const candidate::Proposal held = propose(kind(), function("hoist", kSlow), b);
  ASSERT_GE(best_worst(held), 1);
  EXPECT_NE(held.candidates.front().title.find("worm"), std::string::npos);
  EXPECT_EQ(margin(held.candidates.front().nominal, "hold").note, "by the worm");
}

TEST(Hoist, MoreFallsPullLessAndWindMore) {
  const brief::Brief b = crane();
  const std::string base = "load_g = 600\nhook_travel_mm = 250\nspeed_mm_s = 2\nrope_run_mm = 200\n";
  const candidate::Proposal one = propose(kind(), function("hoist", base), b);
  const candidate::Proposal two = propose(kind(), function("hoist", base + "falls = [2, 2]\n"), b);
  ASSERT_FALSE(one.candidates.empty());
  ASSERT_FALSE(two.candidates.empty());
  const candidate::Candidate& a = one.candidates.front();
  const candidate::Candidate& c = two.candidates.front();
  const double e = figure(a, "sheave efficiency");
  EXPECT_NEAR(figure(c, "rope pull at the drum") / figure(a, "rope pull at the drum"), 1 / (1 + e), 1e-12);
  EXPECT_GT(figure(c, "rope needed"), figure(a, "rope needed") + 249);
  EXPECT_EQ(figure(c, "sheaves"), 2);
}

TEST(Hoist, ForceMarginFallsInProportionToTheLoad) {
  brief::Brief b = crane();
  set_stock(b, {{"hook", 0}});
  const auto force = [&](const std::string& load) {
    const candidate::Proposal p = propose(
        kind(), function("hoist", "load_g = " + load + "\nhook_travel_mm = 250\nspeed_mm_s = 3\nrope_run_mm = 200\n"),
        b);
    std::vector<std::pair<std::string, double>> out;
    for (const candidate::Candidate& c : p.candidates) {
      out.emplace_back(c.key, margin(c.nominal, "force").capability / margin(c.nominal, "force").requirement);
      EXPECT_NEAR(c.lifts_g(b.parameters.nominal()), std::stod(load) * out.back().second, 1e-6);  // there is no hook
    }
    return out;
  };
  const auto light = force("150"), heavy = force("450");
  int compared = 0;
  for (const auto& [key, ratio] : light) {
    for (const auto& [other, lower] : heavy) {
      if (key != other) continue;
      EXPECT_NEAR(ratio / lower, 3, 1e-9);
      ++compared;
    }
  }
  EXPECT_GT(compared, 0);
}

TEST(Hoist, AShortRopeAndASmallDrumAreRefusedWithTheMissingLength) {
  brief::Brief b = crane();
  set_stock(b, {{"rope_2000", 0}, {"drum_16", 0}});
  const candidate::Proposal p =
      propose(kind(), function("hoist", "load_g = 100\nhook_travel_mm = 900\nspeed_mm_s = 5\nrope_run_mm = 200\n"), b);
  EXPECT_TRUE(p.candidates.empty());
  const candidate::Rejection* rope = rejection(p, "hoist.rope_too_short");
  ASSERT_NE(rope, nullptr);
  EXPECT_NEAR(rope->shortfall, 900 + 3 * std::numbers::pi * 8.9 + 200 - 1000, 1e-9);
  EXPECT_NE(rope->text.find(" mm too short"), std::string::npos);

  brief::Brief narrow = crane();
  auto catalogue = std::make_shared<stock::Catalogue>(lift_fixture::small_kit());
  for (stock::PartClass& c : catalogue->classes)
    if (auto* drum = std::get_if<stock::Drum>(&c.data)) *drum = {8, 14, 6};
  narrow.catalogue = catalogue;
  const candidate::Proposal q = propose(
      kind(), function("hoist", "load_g = 100\nhook_travel_mm = 900\nspeed_mm_s = 5\nrope_run_mm = 200\n"), narrow);
  EXPECT_TRUE(q.candidates.empty());
  const candidate::Rejection* drum = rejection(q, "hoist.drum_too_small");
  ASSERT_NE(drum, nullptr);
  // One layer of 6 turns: 14 mm flange leaves (3 - 1.35) mm for 0.9 mm of rope.
  EXPECT_NEAR(drum->shortfall, 900 + 3 * std::numbers::pi * 8.9 - 6 * std::numbers::pi * 8.9, 1e-9);
}

TEST(Hoist, UnusedStockNeverMakesTheBestWorseAndThreadsChangeNothing) {
  brief::Brief b = crane();
  set_stock(b, {{"gear_40", 0}, {"motor_large", 0}, {"drum_16", 0}, {"rope_2000", 0}});
  const std::string toml = "load_g = 200\nhook_travel_mm = 250\nspeed_mm_s = 6\nrope_run_mm = 200\nfalls = [1, 2]\n";
  double before = best_worst(propose(kind(), function("hoist", toml), b));
  for (const char* id : {"gear_40", "motor_large", "drum_16", "rope_2000"}) {
    set_stock(b, {{id, 5}});
    const double after = best_worst(propose(kind(), function("hoist", toml), b));
    EXPECT_GE(after, before * (1 - 1e-12)) << id;
    before = after;
  }
  EXPECT_GT(before, 1);
  base::RunControl four;
  four.jobs = 4;
  EXPECT_EQ(lift_fixture::text_of(propose(kind(), function("hoist", toml), b)),
            lift_fixture::text_of(propose(kind(), function("hoist", toml), b, four)));
}

TEST(Hoist, SidesMustsAndSheavesAreCounted) {
  const brief::Brief b = crane();
  brief::Function f = function("hoist", std::string(kSlow) + "falls = [2, 2]\nsheave_part = \"bush\"\n");
  f.sides = 2;
  f.must_use = {*b.catalogue->find("drum_16")};
  f.must_not_use = {*b.catalogue->find("rope_1000")};
  const candidate::Proposal p = propose(kind(), f, b);
  ASSERT_FALSE(p.candidates.empty());
  for (const candidate::Candidate& c : p.candidates) {
    EXPECT_EQ(c.demand.ports, 2);
    const auto count = [&](std::string_view role) {
      for (const candidate::Need& n : c.demand.needs)
        if (n.role.find(role) != std::string::npos) return n.count;
      return 0;
    };
    EXPECT_EQ(count("drum"), 2);
    EXPECT_EQ(count("rope"), 2);
    EXPECT_GE(count("sheaves"), 4);
    EXPECT_NE(c.key.find("drum_16"), std::string::npos);
    EXPECT_EQ(c.key.find("rope_1000"), std::string::npos);
  }
}

TEST(Hoist, EmptyStockIsAnAnswerAndAStopIsSaid) {
  brief::Brief b = crane();
  b.stock = std::make_shared<stock::Stock>();
  const candidate::Proposal p = propose(kind(), function("hoist", kSlow), b);
  EXPECT_TRUE(p.candidates.empty());
  EXPECT_NE(rejection(p, "hoist.no_drum"), nullptr);
  EXPECT_NE(rejection(p, "hoist.no_rope"), nullptr);

  const std::atomic<bool> stop{true};
  base::RunControl control;
  control.stop = &stop;
  const candidate::Proposal q = propose(kind(), function("hoist", kSlow), crane(), control);
  EXPECT_FALSE(q.complete);
  EXPECT_FALSE(q.limit_text.empty());
}

TEST(Hoist, WorksWithARealCatalogue) {
  document::Diagnostics d;
  auto catalogue = stock::load_kit_system("metric8", std::string(KW_SOURCE_DIR) + "/catalogue", d);
  ASSERT_TRUE(catalogue.has_value());
  brief::Brief b = crane();
  b.stock = std::make_shared<stock::Stock>(lift_fixture::plenty(*catalogue, 6));
  b.catalogue = std::make_shared<stock::Catalogue>(std::move(*catalogue));
  const candidate::Proposal p = propose(kind(),
                                        function("hoist",
                                                 "load_g = 200\nhook_travel_mm = 320\nspeed_mm_s = 25\nfalls = [1, 2]\n"
                                                 "sheave_part = \"hook_pulley\"\n"),
                                        b);
  ASSERT_FALSE(p.candidates.empty());
  EXPECT_GE(best_worst(p), 1);
}

}  // namespace
}  // namespace functions::hoist

TEST(Hoist, TheLoadHangsFromTheBoomNotFromBallastBesideIt) {
  brief::Brief b = lift_fixture::crane();
  b.bodies.insert(b.bodies.begin() + 2,
                  {"ballast", 1, {}, base::Triple::exact(300), false, {-90, 0, 140}, {40, 80, 40}});
  b.bodies[3].parent = 1;                // boom
  b.bodies[4].parent = 3;                // stick
  b.bodies.erase(b.bodies.begin() + 4);  // leaves boom and ballast at the same depth
  brief::Function f = lift_fixture::function("hoist", "load_g = 100\nhook_travel_mm = 100\nspeed_mm_s = 20\n");
  document::Diagnostics diagnostics;
  const auto wants = functions::hoist::kind().read(f, b, diagnostics);
  ASSERT_NE(wants, nullptr);
  EXPECT_EQ(dynamic_cast<const functions::hoist::Wants&>(*wants).hang_body, 3);
}
