// Covers design/scale: which scales are looked at, how far the parts that cannot shrink are off at each, which one is
// called best; sizes worked out by hand, designs held against design::run.
#include "design/scale.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>

#include "design/read.h"
#include "document/toml_reader.h"

namespace {

const std::string kProject = std::string(KW_SOURCE_DIR) + "/examples/market_cart";

/// The market cart with its driven axle alone, as a model of an invented cart.
std::string axle_alone(const std::string& real) {
  document::Diagnostics d;
  const std::string all =
      document::read_text_file(kProject + "/project.toml", document::kMostTomlBytes, d).value_or("");
  const std::size_t tray = all.find("[[functions]]\nid = \"tray\"");
  EXPECT_NE(tray, std::string::npos);
  return all.substr(0, tray) + real;
}

design::ScaleOptions options_of(const std::string& text) {
  design::ScaleOptions out;
  out.design.project = kProject;
  out.design.text = text;
  return out;
}

}  // namespace

TEST(Scale, NeedsAMachineThatIsModelled) {
  const design::ScaleStudy s = design::study_scale(options_of(axle_alone("")));
  EXPECT_TRUE(s.bad_input);
  ASSERT_FALSE(s.diagnostics.sorted().empty());
  EXPECT_EQ(s.diagnostics.sorted().front().code, "design.no_real_machine");
  EXPECT_TRUE(s.scales.empty());
}

TEST(Scale, LooksAtEvenStepsAndAtWhatThePartsStandFor) {
  design::ScaleOptions options =
      options_of(axle_alone("[real]\nscale = 20\nlength_mm = 4640\nheight_mm = 1800\nwheel_diameter_mm = 960\n"));
  options.from = 15;
  options.to = 30;
  options.steps = 3;
  const design::ScaleStudy s = design::study_scale(options);
  ASSERT_FALSE(s.bad_input) << text_of(s.diagnostics.sorted().front());
  EXPECT_EQ(s.own_scale, 20);

  // Every sort of wheel in the stock once, smallest first.
  document::Diagnostics d;
  const auto brief = design::read_brief(options.design, d);
  std::vector<double> wheels_mm;
  for (const stock::StockType& t : brief->stock->types) {
    const auto* wheel = std::get_if<stock::Wheel>(&brief->catalogue->at(t.part).data);
    if (wheel != nullptr && t.count > 0) wheels_mm.push_back(wheel->diameter_mm);
  }
  std::sort(wheels_mm.begin(), wheels_mm.end());
  wheels_mm.erase(std::unique(wheels_mm.begin(), wheels_mm.end()), wheels_mm.end());
  ASSERT_FALSE(wheels_mm.empty());
  std::vector<double> told_mm;
  for (const design::PartScale& p : s.parts) {
    if (p.dimension != "wheel diameter") continue;
    told_mm.push_back(p.part_mm);
    EXPECT_NEAR(p.scale, 960 / p.part_mm, 1e-12) << p.part;
    EXPECT_FALSE(p.at_most);
  }
  told_mm.erase(std::unique(told_mm.begin(), told_mm.end()), told_mm.end());
  EXPECT_EQ(told_mm, wheels_mm);

  // 15, sqrt(15 * 30) = 21.2, 30, the own one, and those of wheels between.
  std::vector<double> expected{15, 20, 21.2, 30};
  for (const double mm : wheels_mm) {
    const double scale = std::round(10 * 960 / mm) / 10;
    if (scale >= 15 && scale <= 30) expected.push_back(scale);
  }
  std::sort(expected.begin(), expected.end());
  expected.erase(std::unique(expected.begin(), expected.end()), expected.end());
  ASSERT_EQ(s.scales.size(), expected.size());
  for (std::size_t i = 0; i < expected.size(); ++i) {
    const design::ScaleAt& at = s.scales[i];
    EXPECT_NEAR(at.scale, expected[i], 1e-9);
    EXPECT_NEAR(at.factor, 20 / at.scale, 1e-12);
    EXPECT_NEAR(at.length_mm, 4640 / at.scale, 1e-9);
    EXPECT_NEAR(at.height_mm, 1800 / at.scale, 1e-9);
    ASSERT_EQ(at.mismatches.size(), 1U);
    double nearest = 1e9;
    for (const double mm : wheels_mm) nearest = std::min(nearest, std::fabs(mm * at.scale / 960 - 1));
    EXPECT_NEAR(at.worst_mismatch, nearest, 1e-12) << at.scale;
    ASSERT_EQ(at.functions.size(), 1U);
    EXPECT_EQ(at.functions[0].served, at.functions[0].worst >= 1);
    EXPECT_FALSE(at.functions[0].why.empty());
  }

  // Of the feasible ones none is nearer.
  ASSERT_GE(s.best, 0);
  const design::ScaleAt& best = s.scales[static_cast<std::size_t>(s.best)];
  EXPECT_TRUE(best.feasible);
  for (const design::ScaleAt& at : s.scales) {
    if (!at.feasible) continue;
    EXPECT_GE(at.worst_mismatch, best.worst_mismatch - 1e-9) << at.scale;
  }

  // At every scale, its own among them, it is what a design of the project at that size finds among all candidates.
  EXPECT_TRUE(std::any_of(s.scales.begin(), s.scales.end(), [](const design::ScaleAt& at) { return at.scale == 20; }));
  for (const design::ScaleAt& at : s.scales) {
    design::Options whole = options.design;
    whole.stop_after = design::Stage::allocation;
    whole.ways_out = false;
    whole.size_factor = at.factor;
    const design::Result r = design::run(whole, {});
    EXPECT_EQ(at.feasible, r.feasible()) << at.scale;
    EXPECT_TRUE(at.proven) << at.scale;
    EXPECT_EQ(at.worst_margin, r.feasible() ? r.allocated->worst_margin : 0) << at.scale;
    const std::vector<candidate::Candidate>& all = r.functions[0].proposal.candidates;
    EXPECT_EQ(at.functions[0].worst, all.empty() ? 0 : all.front().nominal.worst()) << at.scale;
  }
}

TEST(Scale, SaysWhatCameNearestWhereNothingCanBeBuilt) {
  design::ScaleOptions options = options_of(axle_alone("[real]\nscale = 20\nlength_mm = 4640\n"));
  options.from = options.to = 90;  // the axle's room is less than three pitches long then
  options.steps = 1;
  const design::ScaleStudy s = design::study_scale(options);
  ASSERT_FALSE(s.bad_input);
  ASSERT_EQ(s.scales.size(), 1U);
  EXPECT_FALSE(s.scales[0].feasible);
  EXPECT_EQ(s.best, -1);
  EXPECT_TRUE(s.scales[0].mismatches.empty()) << "nobody told a size of a part";
  if (s.scales[0].bad_input.empty()) {
    ASSERT_EQ(s.scales[0].functions.size(), 1U);
    EXPECT_FALSE(s.scales[0].functions[0].served);
    EXPECT_EQ(s.scales[0].functions[0].why.rfind("nearest miss", 0), 0U) << s.scales[0].functions[0].why;
  }
}
