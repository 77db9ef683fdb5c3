// Covers design/explain: why nothing fits and what each way out writes into the project, from candidates made by hand;
// each amendment is done to the brief and the problem made and solved anew. Trade-offs and surer choices beside.
#include "design/explain.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "allocation/solve.h"
#include "design/problem.h"

namespace {

/// Two functions, "lift" and "turn", on one estimated body of 1000 cm3, with a stock of three classes of parts.
struct Desk {
  std::shared_ptr<brief::Brief> brief = std::make_shared<brief::Brief>();
  std::vector<design::FunctionResult> functions;
  static constexpr stock::ClassId kGear{0}, kAxle{1}, kBeam{2};

  Desk() {
    auto catalogue = std::make_shared<stock::Catalogue>();
    for (const char* id : {"gear", "axle", "beam"}) {
      stock::PartClass part;
      part.id = part.name = id;
      part.mass_g.value = base::Triple::exact(10);
      catalogue->classes.push_back(part);
    }
    catalogue->system.craft.fill_density_g_cm3.value = base::Triple::exact(0.5);
    brief->catalogue = catalogue;
    stock_of(2, 2, 2);
    brief::Body chassis;
    chassis.id = "chassis";
    chassis.mass_is_estimate = true;
    chassis.size_mm = {100, 100, 100};
    brief->bodies = {chassis};
    brief->supply.ports = brief->supply.channels = 4;
    for (const char* id : {"lift", "turn"}) {
      brief::Function f;
      f.id = id;
      f.kind = "spin";
      brief->functions.push_back(f);
      functions.push_back({id, "spin", true, {}});
    }
  }

  void stock_of(int gears, int axles, int beams) {
    auto stock = std::make_shared<stock::Stock>();
    stock->types = {{kGear, "", gears, 1}, {kAxle, "", axles, 2}, {kBeam, "", beams, 3}};
    brief->stock = stock;
  }

  /// A candidate of function `f` with one margin, "speed" in rpm, asked for as 100.
  candidate::Candidate& offer(std::size_t f, const std::string& key, double ratio,
                              std::vector<std::pair<stock::ClassId, int>> needs) {
    candidate::Candidate c;
    c.key = c.title = key;
    for (const auto& [part, count] : needs)
      c.demand.needs.push_back({{part}, count, brief->catalogue->at(part).name, ""});
    c.nominal.margins = {{"speed", 100 * ratio, 100, "rpm", "", ratio}};
    c.masses = {{0, candidate::parts_mass_g(c.demand, *brief->catalogue)}};
    auto& list = functions[f].proposal.candidates;
    list.push_back(std::move(c));
    return list.back();
  }

  void want(std::size_t f, const std::string& key, double value) {
    document::Entry e;
    e.key = key;
    e.value = assessment::number_value(value);
    brief->functions[f].wants.kind = document::Node::Kind::table;
    brief->functions[f].wants.entries.push_back(e);
  }

  /// Problem, locks and solution, as design::run() makes them.
  [[nodiscard]] design::Result solved() const {
    design::Result r;
    r.brief = brief;
    r.functions = functions;
    for (std::size_t f = 0; f < functions.size(); ++f) r.functions[f].required = brief->functions[f].required;
    r.allocated.emplace();
    r.allocated->problem = design::make_problem(*brief, r.functions, r.allocated->part_classes);
    design::apply_locks(*brief, r.functions, r.allocated->problem, r.diagnostics);
    EXPECT_FALSE(r.diagnostics.has_errors());
    r.allocated->solution = allocation::solve(r.allocated->problem, {});
    r.allocated->feasible = r.allocated->solution.status == allocation::Status::optimal;
    if (r.allocated->feasible) r.allocated->choice = r.allocated->solution.choice;
    return r;
  }
  [[nodiscard]] design::Result explained() const {
    design::Result r = solved();
    EXPECT_FALSE(r.feasible());
    design::explain_infeasible(r, {}, {});
    return r;
  }
};

const design::WayOut* way(const design::Result& r, design::WayOut::Type type, const std::string& function = "") {
  for (const design::WayOut& w : r.allocated->ways_out) {
    if (w.type == type && (function.empty() || w.functions == std::vector{function})) return &w;
  }
  return nullptr;
}

TEST(Explain, PartsThatAreShortAreNamedWithWhoNeedsThem) {
  Desk desk;
  desk.stock_of(3, 0, 0);
  desk.offer(0, "a", 1.2, {{Desk::kGear, 2}});
  desk.offer(1, "b", 1.3, {{Desk::kGear, 2}});
  const design::Result r = desk.explained();
  ASSERT_EQ(r.allocated->conflicts.size(), 1U);
  const design::Conflict& c = r.allocated->conflicts[0];
  EXPECT_EQ(c.members, (std::vector<std::string>{"lift", "turn"}));
  EXPECT_TRUE(c.smallest && c.minimal);
  ASSERT_EQ(c.resources.size(), 1U);
  EXPECT_EQ(c.resources[0].what, "gear");
  EXPECT_EQ(c.resources[0].needed, 4);
  EXPECT_EQ(c.resources[0].available, 3);
  const design::WayOut* more = way(r, design::WayOut::Type::more_parts);
  ASSERT_NE(more, nullptr);
  EXPECT_EQ(more->pieces, (std::vector<std::pair<std::string, int>>{{"gear", 1}}));
  EXPECT_TRUE(more->amendments.empty()) << "the list of parts is not the project's";
  desk.stock_of(4, 0, 0);
  EXPECT_TRUE(desk.solved().feasible()) << "one more of it, as told";
}

TEST(Explain, LeavingOneOutIsWrittenAsAWish) {
  Desk desk;
  desk.stock_of(3, 0, 0);
  desk.offer(0, "a", 1.2, {{Desk::kGear, 2}});
  desk.offer(1, "b", 1.3, {{Desk::kGear, 2}});
  const design::Result r = desk.explained();
  const design::WayOut* drop = way(r, design::WayOut::Type::drop_function, "turn");
  ASSERT_NE(drop, nullptr);
  ASSERT_EQ(drop->amendments.size(), 1U);
  EXPECT_EQ(text_of(drop->amendments[0]), "functions.turn.priority = \"wished\"");
  EXPECT_NEAR(drop->worst_margin, 1.2, 1e-9) << "of what is left";
  desk.brief->functions[1].required = false;
  const design::Result after = desk.solved();
  ASSERT_TRUE(after.feasible());
  EXPECT_EQ(after.allocated->choice, (std::vector<int>{0, -1}));
}

TEST(Explain, ALoosenedTargetIsWrittenRoundedToTheEasierSide) {
  Desk desk;
  desk.want(0, "speed_rpm", 100);
  desk.want(0, "load_g", 250);
  desk.offer(0, "slow", 0.87654, {{Desk::kGear, 1}});
  desk.offer(1, "b", 1.3, {{Desk::kAxle, 1}});
  const design::Result r = desk.explained();
  const design::WayOut* loosen = way(r, design::WayOut::Type::loosen_target, "lift");
  ASSERT_NE(loosen, nullptr);
  EXPECT_EQ(loosen->before, 1);
  EXPECT_NEAR(loosen->after, 0.876, 1e-9);
  ASSERT_EQ(loosen->amendments.size(), 1U);
  EXPECT_EQ(text_of(loosen->amendments[0]), "functions.lift.wants.speed_rpm = 87.6");

  // A figure of which less is better is rounded up: 8.2 s asked for, 9.125 s reached.
  candidate::Margin& m = desk.functions[0].proposal.candidates[0].nominal.margins[0];
  m = candidate::at_most("time", 9.125, 8.2, "s");
  desk.want(0, "time_s", 8.2);
  const design::Result slower = desk.explained();
  const design::WayOut* longer = way(slower, design::WayOut::Type::loosen_target, "lift");
  ASSERT_NE(longer, nullptr);
  ASSERT_EQ(longer->amendments.size(), 1U);
  EXPECT_EQ(text_of(longer->amendments[0]), "functions.lift.wants.time_s = 9.13");

  // Two wants of that value and unit: nobody knows which one was meant, so nothing is written.
  desk.want(0, "pause_s", 8.2);
  const design::Result unclear = desk.explained();
  const design::WayOut* which = way(unclear, design::WayOut::Type::loosen_target, "lift");
  ASSERT_NE(which, nullptr);
  EXPECT_TRUE(which->amendments.empty());
}

TEST(Explain, ALockIsOpenedAndAReserveReleased) {
  Desk desk;
  desk.stock_of(2, 2, 0);
  desk.offer(0, "by gears", 1.4, {{Desk::kGear, 2}});
  desk.offer(0, "by axles", 1.2, {{Desk::kAxle, 1}});
  desk.offer(1, "b", 1.3, {{Desk::kGear, 1}});
  desk.brief->functions[0].lock = "by gears";
  const design::Result locked = desk.explained();
  const design::WayOut* unlock = way(locked, design::WayOut::Type::unlock);
  ASSERT_NE(unlock, nullptr);
  ASSERT_EQ(unlock->amendments.size(), 1U);
  EXPECT_EQ(text_of(unlock->amendments[0]), "functions.lift.lock = \"\"");
  desk.brief->functions[0].lock.clear();
  EXPECT_NEAR(unlock->worst_margin, desk.solved().allocated->solution.worst_margin / 1000.0, 1e-9);

  desk.brief->reserves = {{{Desk::kAxle}, "", 2, "rails", -1}, {{Desk::kGear}, "", 1, "looks", -1}};
  const design::Result kept = desk.explained();
  const design::WayOut* release = way(kept, design::WayOut::Type::release_reserve);
  ASSERT_NE(release, nullptr);
  ASSERT_EQ(release->amendments.size(), 1U);
  EXPECT_EQ(release->amendments[0].table, "reserves");
  EXPECT_EQ(release->amendments[0].op, assessment::Amendment::Op::remove);
  const std::string reason = release->amendments[0].id;
  std::erase_if(desk.brief->reserves, [&](const brief::Reserve& x) { return x.reason == reason; });
  ASSERT_EQ(desk.brief->reserves.size(), 1U);
  EXPECT_TRUE(desk.solved().feasible());
}

TEST(Explain, ARaisedMassLimitIsTheLeastWholeGramThatServes) {
  Desk desk;
  // Motors and what stands on a body without an envelope count in full: 20 g each here.
  desk.brief->bodies[0].size_mm = {};
  desk.brief->bodies.push_back(desk.brief->bodies[0]);
  desk.brief->bodies[1].id = "hull";
  desk.brief->bodies[1].size_mm = {100, 100, 100};
  desk.offer(0, "a", 1.2, {{Desk::kGear, 2}});
  desk.offer(1, "b", 1.3, {{Desk::kAxle, 2}});
  desk.brief->limits.mass_g = 530;  // the hull's filling alone is 1000 cm3 of 0.5 g/cm3
  const design::Result r = desk.explained();
  const design::WayOut* raise = way(r, design::WayOut::Type::raise_budget);
  ASSERT_NE(raise, nullptr);
  EXPECT_EQ(raise->before, 530);
  EXPECT_EQ(raise->after, 540) << "500 g of filling and twice 20 g of parts";
  EXPECT_EQ(raise->text, "mass limit raised from 530 to 540 g");
  ASSERT_EQ(raise->amendments.size(), 1U);
  EXPECT_EQ(text_of(raise->amendments[0]), "limits.mass_g = 540");
  desk.brief->limits.mass_g = 540;
  EXPECT_TRUE(desk.solved().feasible());
  desk.brief->limits.mass_g = 539;
  EXPECT_FALSE(desk.solved().feasible());
}

TEST(Explain, TwoChangesAreTriedWhereNoneServesAlone) {
  Desk desk;
  desk.stock_of(1, 1, 0);
  desk.want(0, "speed_rpm", 100);
  desk.want(1, "speed_rpm", 100);
  desk.offer(0, "a", 0.9, {{Desk::kGear, 1}});
  desk.offer(1, "b", 0.8, {{Desk::kAxle, 1}});
  const design::Result r = desk.explained();
  EXPECT_TRUE(r.allocated->pairs_out.looked_for);
  ASSERT_FALSE(r.allocated->pairs_out.pairs.empty());
  const design::PairOut& both = r.allocated->pairs_out.pairs.front();
  EXPECT_NEAR(both.worst_margin, 0.8, 1e-9);
  std::vector<std::string> told;
  for (const design::WayOut* w : {&both.first, &both.second}) {
    for (const auto& amendment : w->amendments) told.push_back(text_of(amendment));
  }
  std::sort(told.begin(), told.end());
  EXPECT_EQ(told,
            (std::vector<std::string>{"functions.lift.wants.speed_rpm = 90", "functions.turn.wants.speed_rpm = 80"}));
}

TEST(TradeOffs, AreThoseThatNoOtherChoiceBeats) {
  Desk desk;
  desk.stock_of(9, 9, 9);
  const std::vector<std::pair<double, int>> offers{{1.9, 5}, {1.6, 4}, {1.5, 4}, {1.2, 1}, {1.1, 2}};
  for (std::size_t i = 0; i < offers.size(); ++i)
    desk.offer(0, std::string(1, static_cast<char>('a' + i)), offers[i].first, {{Desk::kGear, offers[i].second}});
  desk.offer(1, "x", 1.7, {{Desk::kAxle, 3}});
  desk.offer(1, "y", 1.3, {{Desk::kAxle, 1}});
  design::Result r = desk.solved();
  ASSERT_TRUE(r.feasible());
  design::find_front(r, {}, {});
  EXPECT_EQ(r.front_note, "");
  // By hand, over all ten choices: worst margin and 10 g a piece.
  std::vector<std::pair<double, double>> all;
  for (const auto& [margin, pieces] : offers) {
    all.emplace_back(std::min(margin, 1.7), 10.0 * (pieces + 3));
    all.emplace_back(std::min(margin, 1.3), 10.0 * (pieces + 1));
  }
  std::vector<std::pair<double, double>> expected, found;
  for (const auto& p : all) {
    const bool beaten = std::any_of(
        all.begin(), all.end(), [&](const auto& q) { return q.first >= p.first && q.second <= p.second && q != p; });
    if (!beaten) expected.push_back(p);
  }
  int chosen = 0;
  for (const design::FrontPoint& p : r.front) {
    found.emplace_back(p.worst_margin, p.parts_mass_g);
    EXPECT_EQ(p.parts_left, 27 - static_cast<int>(p.parts_mass_g / 10));
    chosen += p.chosen ? 1 : 0;
  }
  std::sort(expected.begin(), expected.end());
  expected.erase(std::unique(expected.begin(), expected.end()), expected.end());  // every pair of values once
  std::sort(found.begin(), found.end());
  EXPECT_EQ(found, expected);
  EXPECT_EQ(chosen, 1) << "the design is one of them";

  design::Options two;
  two.front_points = 2;
  r.front.clear();
  design::find_front(r, two, {});
  EXPECT_EQ(r.front.size(), 2U);
  EXPECT_EQ(r.front_note, "The front is not complete: it was ended at 2 points.");
}

TEST(ChoiceRemedies, OfferTheBestOtherCandidateThatCanBeHadWithTheRest) {
  Desk desk;
  desk.stock_of(3, 2, 0);
  desk.offer(0, "sure", 1.8, {{Desk::kGear, 3}});    // takes the gear that "turn" needs
  desk.offer(0, "surer", 1.5, {{Desk::kAxle, 2}});   // can be had
  desk.offer(0, "chosen", 1.1, {{Desk::kGear, 2}});  // what the design has
  desk.offer(1, "b", 1.02, {{Desk::kGear, 1}});
  auto& surer = desk.functions[0].proposal.candidates[1];
  surer.evaluate = [nominal = surer.nominal](const brief::Sample&) { return nominal; };
  design::Result r = desk.solved();
  ASSERT_TRUE(r.feasible());
  r.allocated->choice = {2, 0};
  r.assessed.emplace();
  r.assessed->certainty.draws = 50;
  assessment::Finding unsure;
  unsure.code = "function.unsure";
  unsure.function = "lift";
  r.assessed->findings = {unsure};
  design::add_choice_remedies(r, design::why_left_out(r, {}, {}), {}, {});
  ASSERT_EQ(r.assessed->findings[0].remedies.size(), 1U);
  const assessment::Remedy& remedy = r.assessed->findings[0].remedies[0];
  ASSERT_EQ(remedy.amendments.size(), 1U);
  EXPECT_EQ(text_of(remedy.amendments[0]), "functions.lift.lock = \"surer\"");
  EXPECT_NEAR(remedy.before, 1.1, 1e-9);
  EXPECT_NEAR(remedy.after, 1.5, 1e-9);
  EXPECT_TRUE(remedy.enough) << "it holds in every draw";
  EXPECT_NE(remedy.text.find("worst margin of the whole then 1.02"), std::string::npos) << remedy.text;

  // What the user has fixed is not proposed otherwise.
  desk.brief->functions[0].lock = "chosen";
  design::Result locked = desk.solved();
  locked.assessed = r.assessed;
  locked.assessed->findings = {unsure};
  design::add_choice_remedies(locked, design::why_left_out(locked, {}, {}), {}, {});
  EXPECT_TRUE(locked.assessed->findings[0].remedies.empty());
}

TEST(ChoiceRemedies, SayWhatAWishThatWasLeftOutWouldLack) {
  Desk desk;
  desk.stock_of(3, 0, 0);
  desk.offer(0, "a", 1.2, {{Desk::kGear, 2}});
  desk.offer(1, "b", 1.3, {{Desk::kGear, 2}});
  desk.brief->functions[1].required = false;
  design::Result r = desk.solved();
  ASSERT_TRUE(r.feasible());
  ASSERT_EQ(r.allocated->choice[1], -1);
  r.assessed.emplace();
  assessment::Finding left_out;
  left_out.code = "function.left_out";
  left_out.function = "turn";
  left_out.text = "Left out.";
  r.assessed->findings = {left_out};
  design::add_choice_remedies(r, design::why_left_out(r, {}, {}), {}, {});
  const std::string& text = r.assessed->findings[0].text;
  EXPECT_EQ(text.rfind("Left out. ", 0), 0U);
  EXPECT_NE(text.find("at least 4 of 'gear'; stock has 3"), std::string::npos) << text;
}

}  // namespace
