// Covers report: text layout, rounding, drawings that keep inside their paper, how a simulation is told.
#include <gtest/gtest.h>

#include "report/json.h"
#include "report/layout.h"
#include "report/simulation.h"
#include "report/svg.h"
#include "simulation/fixture.h"

using namespace report;

TEST(Layout, WrapsAtBlanksAndCutsLongWords) {
  EXPECT_EQ(wrapped_text("one two three", 8), (std::vector<std::string>{"one two", "three"}));
  EXPECT_EQ(wrapped_text("abcdefghijkl", 8), (std::vector<std::string>{"abcdefgh", "ijkl"}));
  EXPECT_EQ(wrapped_text("", 8), std::vector<std::string>{""});
}

TEST(Layout, TableKeepsWithinTheWidth) {
  Table t;
  t.column("name");
  t.column("reason", Table::Align::left, true);
  t.row({"slew", std::string(60, 'x') + " " + std::string(60, 'y')});
  TextOptions o;
  o.width = 80;
  std::size_t at = 0;
  const std::string text = t.str(o);
  while (at < text.size()) {
    const std::size_t end = text.find('\n', at);
    EXPECT_LE(width_of(std::string_view(text).substr(at, end - at)), 80u);
    at = end + 1;
  }
}

TEST(Layout, CountsCodePointsNotBytes) {
  EXPECT_EQ(width_of("\xC3\xA4\xC3\xB6"), 2u);
}

TEST(Layout, PlainTextHasNoEscapes) {
  EXPECT_EQ(tinted("x", Tint::bad, {}), "x");
  TextOptions colour;
  colour.colour = true;
  EXPECT_NE(tinted("x", Tint::bad, colour), "x");
}

TEST(Json, RoundsToSignificantDigits) {
  EXPECT_DOUBLE_EQ(rounded(123456.789), 123457);
  EXPECT_DOUBLE_EQ(rounded(0.000123456789), 0.000123457);
  EXPECT_DOUBLE_EQ(rounded(-2.5), -2.5);
  EXPECT_EQ(rounded(0), 0);
}

TEST(Status, IsInfeasibleOnlyWhenTheCandidatesInTheWayAreAllThereAre) {
  design::Result r;
  r.functions.resize(2);
  r.functions[0].id = "winch";
  r.functions[1].id = "fan";
  r.allocated.emplace();
  r.allocated->solution.status = allocation::Status::infeasible;
  r.allocated->conflicts.resize(1);
  r.allocated->conflicts[0].members = {"winch"};
  EXPECT_EQ(status_of(r), "infeasible");
  r.functions[1].proposal.complete = false;
  EXPECT_EQ(status_of(r), "infeasible") << "more candidates of the fan change nothing for the winch";
  r.functions[0].proposal.complete = false;
  EXPECT_EQ(status_of(r), "undecided");
  r.functions[0].proposal.complete = true;
  r.allocated->conflicts.clear();
  EXPECT_EQ(status_of(r), "undecided") << "nobody knows what is in the way";
}

TEST(Svg, EscapesWhatTheUserWrote) {
  EXPECT_EQ(escaped("<a & \"b\">\x01"), "&lt;a &amp; &quot;b&quot;&gt;");
}

TEST(Svg, FittedTextIsNeverWiderThanAsked) {
  for (const double width : {20.0, 60.0, 200.0}) {
    EXPECT_LE(text_width(fitted("a rather long label of a gear", width, 11), 11), width + 12);
  }
}

TEST(Svg, TicksCoverTheRangeWithRoundNumbers) {
  EXPECT_EQ(round_ticks(0, 100, 4), (std::vector<double>{0, 50, 100}));
  const std::vector<double> ticks = round_ticks(-3.2, 17.9, 5);
  EXPECT_LE(ticks.front(), -3.2);
  EXPECT_GE(ticks.back(), 17.9);
  EXPECT_LE(ticks.size(), 8u);
  EXPECT_EQ(round_ticks(5, 5, 4), std::vector<double>{5});
}

// A cycle brings the same events again; a fan is told in turns, a joint in degrees.
TEST(Simulation, RepeatedEventsAreToldOnceAndFansInTurns) {
  using namespace simulation;
  DriveModel fan = fixture::drive("fan", 5, 5), upper = fixture::drive("upper", 5, 5),
             gate = fixture::drive("gate", 5, 5);
  upper.drive.body = 1;
  gate.drive.endless = false;
  gate.drive.at = {0, 1};
  gate.drive.per_rad = {1, 1};
  gate.drive.plus_nmm = gate.drive.minus_nmm = {5, 5};
  gate.drive.plus_free_nmm = gate.drive.minus_free_nmm = {0, 0};
  const Machine machine{{fan, upper, gate}, {fixture::hub(9, 0.5)}};
  const Script script = fixture::script(
      {"fan", "upper", "gate"}, {{0, {1, 1, 1}}, {1, {1, 1, -1}}, {2, {1, 1, 1}}, {3, {0, 0, -1}}, {4, {0, 0, 0}}});
  const Outcome outcome = run(machine, script, {});
  const std::string text = simulation_text(outcome, machine, {}, {});
  EXPECT_NE(text.find(" turns"), std::string::npos) << text;
  EXPECT_EQ(text.find(" turns"), text.rfind(" turns")) << text;
  const std::size_t up = text.find("gate: at its end, up (2 times, the last at ");
  EXPECT_NE(up, std::string::npos) << text;
  EXPECT_EQ(text.find("gate: at its end, up", up + 1), std::string::npos) << text;
}
