// Reading a luff's wants: defaults, conversions, and every problem at its own place, all at once.
#include "functions/luff/wants.h"

#include "functions/luff/fixture.h"
#include "functions/luff/luff.h"

namespace functions::luff {
namespace {

using lift_fixture::crane;
using lift_fixture::function;
using lift_fixture::kRad;
using lift_fixture::problems;
using Lines = std::vector<std::string>;

std::shared_ptr<const Wants> wants_of(const std::string& toml, const brief::Brief& brief) {
  document::Diagnostics d;
  auto out = std::dynamic_pointer_cast<const Wants>(read(function("luff", toml), brief, d));
  EXPECT_NE(out, nullptr);
  return out;
}

TEST(LuffWants, TakesTravelAndLoadPointFromTheBodiesWhenNotTold) {
  const auto w = wants_of("moves = \"boom\"\nload_g = 100\n", crane());
  EXPECT_EQ(w->body, 2);
  EXPECT_EQ(w->parent, 1);
  EXPECT_EQ(w->load_body, 3);  // the stick hangs outermost
  EXPECT_DOUBLE_EQ(w->high_rad, 70 * kRad);
  EXPECT_DOUBLE_EQ(w->load_at_mm[0], 290 + 80);
  EXPECT_EQ(w->base_box.low, (lattice::Point2{-16, -16}));
  EXPECT_EQ(w->rod_box.high, (lattice::Point2{20, 2}));
}

TEST(LuffWants, OwnAngleOverridesTheJointAndRegionsRoundInwards) {
  const auto w = wants_of(
      "moves = \"boom\"\nangle_deg = [-10, 45]\nbase_region_p = { x = [-3.3, 2.2], z = [-4, -0.6] }\n", crane());
  EXPECT_DOUBLE_EQ(w->low_rad, -10 * kRad);
  EXPECT_DOUBLE_EQ(w->high_rad, 45 * kRad);
  EXPECT_EQ(w->base_box.low, (lattice::Point2{-6, -8}));
  EXPECT_EQ(w->base_box.high, (lattice::Point2{4, -2}));
}

TEST(LuffWants, ReportsEveryProblemAtItsPlace) {
  EXPECT_EQ(problems(kind(), function("luff", "load_g = -5\nmoves = \"bom\"\nspeed = 3\n"), crane()),
            (Lines{"luff.out_of_range /load_g", "luff.unknown_body /moves", "luff.unknown_key /speed"}));
  EXPECT_EQ(problems(kind(), function("luff", "moves = \"upper\"\n"), crane()), (Lines{"luff.joint /moves"}));
  EXPECT_EQ(problems(kind(), function("luff", "moves = \"stick\"\nload_g = 5\nload_on = \"boom\"\n"), crane()),
            (Lines{"luff.load_elsewhere /load_on"}));
  EXPECT_EQ(problems(kind(), function("luff", "moves = \"boom\"\nangle_deg = [10, 10.5]\n"), crane()),
            (Lines{"luff.angle_range /angle_deg"}));
  EXPECT_EQ(problems(kind(), function("luff", "moves = \"boom\"\nangle_deg = [-100, 90]\n"), crane()),
            (Lines{"luff.angle_range /angle_deg"}));
  EXPECT_EQ(
      problems(kind(), function("luff", "moves = \"boom\"\nrod_region_p = { x = [1.1, 1.2], z = [0, 1] }\n"), crane()),
      (Lines{"luff.empty_region /rod_region_p"}));
  EXPECT_EQ(problems(kind(),
                     function("luff",
                              "moves = \"boom\"\nbase_region_p = { x = [-80, 80], z = [-80, 80] }\n"
                              "rod_region_p = { x = [-80, 80], z = [-80, 80] }\n"),
                     crane()),
            (Lines{"luff.region_too_large /base_region_p"}));
}

TEST(LuffWants, AsksForTheLoadPointWhenTheBodyHasNoSize) {
  brief::Brief b = crane();
  b.bodies[3].size_mm = {};
  EXPECT_EQ(problems(kind(), function("luff", "moves = \"boom\"\nload_g = 50\n"), b),
            (Lines{"luff.load_point /load_g"}));
  EXPECT_TRUE(problems(kind(), function("luff", "moves = \"boom\"\n"), b).empty());
  EXPECT_TRUE(
      problems(kind(), function("luff", "moves = \"boom\"\nload_g = 50\nload_at_mm = [300, 0, 140]\n"), b).empty());
}

TEST(LuffWants, DocumentsEveryKey) {
  for (const document::FieldDoc& f : fields()) EXPECT_GT(f.doc.size(), 20U) << f.key;
}

}  // namespace
}  // namespace functions::luff
