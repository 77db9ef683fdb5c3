// A script in the engine beside the simulation, on an example machine.
#include "trial/script_drive.h"

#include <gtest/gtest.h>

#include <cmath>

#include "design/design.h"

namespace trial {
namespace {

TEST(ScriptDrive, MovesAsTheSimulationSays) {
  design::Options from;
  from.project = KW_SOURCE_DIR "/examples/orchard_platform";
  const design::Result r = design::run(from);
  ASSERT_TRUE(r.feasible() && r.assessed);
  const auto chosen = design::chosen_of(r);
  const simulation::Machine machine = simulation::machine_of(*r.brief, chosen, r.assessed->power.ports);
  document::Diagnostics d;
  const auto script =
      simulation::parse_script("time_s,boom_lift,stick_lift\n0,1,0\n1.5,0,1\n4,-0.5,0\n6,0,0\n", "script",
                               simulation::drivable(machine, *r.brief), simulation::function_ids(*r.brief), d);
  ASSERT_TRUE(script);
  const ScriptTrial t = try_script(*r.brief, chosen, *r.assessed, machine, *script, {}, 1, true);
  ASSERT_EQ(t.why_not, "");
  ASSERT_EQ(t.moves.size(), 3U);
  EXPECT_TRUE(t.doubts.empty());
  for (const ScriptMove& m : t.moves) {
    EXPECT_GT(m.closed_way * m.input, 0) << m.time.what;
    EXPECT_NEAR(m.trial_way, m.closed_way, 0.15 * std::fabs(m.closed_way) + 1) << m.time.what;
    EXPECT_NEAR(m.time.trial, m.time.closed, 0.15 * m.time.closed + 0.1) << m.time.what;
    EXPECT_EQ(m.time.told(), !m.time.cause.empty());
  }
  // What the engine cannot move is said, and nothing to drive is an answer.
  simulation::Script none;
  none.inputs = {"boom_lift"};
  none.steps = {{0, {0}, {}}, {900, {0}, {}}};
  EXPECT_NE(try_script(*r.brief, chosen, *r.assessed, machine, none, {}, 1, false).why_not.find("at most"),
            std::string::npos);
}

}  // namespace
}  // namespace trial
