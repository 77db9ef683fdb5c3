// Sway of a luffing boom: the closed forms it must keep to, samples against booms with scaled parts, what remedies say
// against booms that are really built so, margins, demand and the answers when it cannot be built.
#include "functions/luff/sway.h"

#include <algorithm>
#include <cmath>

#include "functions/luff/evaluate.h"
#include "functions/luff/fixture.h"
#include "functions/luff/luff.h"

namespace functions::luff {
namespace {

using brief::Parameter;
using lift_fixture::crane;
using lift_fixture::figure;
using lift_fixture::function;
using lift_fixture::kRad;
using lift_fixture::margin;
using lift_fixture::propose;

const char* const kBoom =
    "moves = \"boom\"\nload_g = 150\ntime_s = 14\n"
    "base_region_p = { x = [-5, 3], z = [-7, -2] }\nrod_region_p = { x = [3, 12], z = [-1, 1] }\n";

Wants wants_of(const std::string& toml, const brief::Brief& brief) {
  document::Diagnostics d;
  const auto out = std::dynamic_pointer_cast<const Wants>(read(function("luff", toml), brief, d));
  EXPECT_NE(out, nullptr);
  return out ? *out : Wants{};
}

struct Made {
  std::shared_ptr<const brief::Brief> brief;
  Booms booms;
  Made(const brief::Brief& b, const std::string& toml)
      : brief(std::make_shared<const brief::Brief>(b)), booms(brief, function("luff", toml), wants_of(toml, b)) {}
};

const std::string kBuilt = std::string(kBoom) + "beams = { length_p = 8, width_p = 4 }\n";
constexpr lattice::Point2 kBase{0, -12}, kRod{10, 0};

/// A crane whose boom ends at its tip: nothing hangs on it but the load.
brief::Brief short_crane() {
  brief::Brief b = crane();
  b.bodies.pop_back();
  b.bodies[2].centre_mm = {72, 0, 140};
  b.bodies[2].size_mm = {64, 20, 16};
  return b;
}

TEST(LuffSway, EverySampleIsTheBoomWithItsPartsScaled) {
  brief::Brief b = crane();
  b.bodies[2].mass_is_estimate = true;
  b.bodies[3].mass_is_estimate = true;
  const Made made(b, kBuilt);
  ASSERT_TRUE(made.booms.rows()) << made.booms.no_rows();
  const auto sway = made.booms.sway(kBase, kRod, 1), sag = made.booms.sag(kBase, kRod, 1);
  ASSERT_FALSE(sway->fault) << *sway->fault;
  ASSERT_FALSE(sag->fault);
  brief::Sample sample = b.parameters.nominal();
  EXPECT_NEAR(sway->value_mm(sample), sway->report.sway.total, 1e-9);
  sample.value[static_cast<std::size_t>(Parameter::stiffness_factor)] = 0.8;
  sample.value[static_cast<std::size_t>(Parameter::play_factor)] = 1.4;
  sample.value[static_cast<std::size_t>(Parameter::mass_factor)] = 1.07;

  const auto scaled = [&](const Gauged& g) {
    structure::Boom x = g.boom;
    structure::BoomParts& p = x.parts;
    for (structure::Material* m : {&p.beam_material, &p.pin_material, &p.axle_material}) {
      m->e_mpa *= 0.8;
      m->g_mpa *= 0.8;
    }
    p.bedding_mpa *= 0.8;
    x.actuator.stiffness_n_mm *= 0.8;
    x.actuator.play_mm *= 1.4;
    for (structure::Clearance* c : {&p.pin_clearance, &p.axle_clearance, &x.foot.bearing, &x.foot.turntable}) {
      c->diametral_mm *= 1.4;
      c->axial_mm *= 1.4;
      c->turn_rad *= 1.4;
      c->tilt_rad *= 1.4;
    }
    // Body and stage beyond are estimates, the 150 g are not; own axles and pins keep their mass.
    p.beam_mass_g_mm *= 1.07;
    structure::BoomLoad load = g.load;
    const double stick_g = 60, at_x = (load.mass_mm[0] * 210 - 150 * load.gauge_mm[0]) / stick_g;
    const double at_z = (load.mass_mm[1] * 210 - 150 * load.gauge_mm[1]) / stick_g;
    load.tip_mass_g = 150 + stick_g * 1.07;
    load.mass_mm = {(150 * load.gauge_mm[0] + stick_g * 1.07 * at_x) / load.tip_mass_g,
                    (150 * load.gauge_mm[1] + stick_g * 1.07 * at_z) / load.tip_mass_g};
    return structure::judge(x, load);
  };
  EXPECT_NEAR(sway->value_mm(sample), scaled(*sway).sway.total, 2e-3 * sway->value_mm(sample));
  EXPECT_NEAR(std::fabs(scaled(*sway).sway.elastic) / std::fabs(sway->report.sway.elastic), 1.05 / 0.8, 0.15);
  EXPECT_GT(scaled(*sag).sag.total, sag->report.sag.total);
  EXPECT_LE(scaled(*sag).sag.total, sag->value_mm(sample) * 1.002);
}

TEST(LuffSway, NoPostureIsWorseThanTheOneThatIsTold) {
  const brief::Brief b = crane();
  for (const char* rows : {"rows = 2", "rows = 1, pivot_width_p = 4"}) {
    const Made made(b, std::string(kBoom) + "beams = { length_p = 8, " + rows + " }\n");
    const auto sway = made.booms.sway(kBase, kRod, 1);
    ASSERT_FALSE(sway->fault) << *sway->fault;
    for (const double luff : {0.0, 35 * kRad, 70 * kRad}) {
      structure::BoomLoad load = sway->load;
      load.luff_rad = luff;
      EXPECT_LE(structure::judge(sway->boom, load).sway.total, sway->report.sway.total * 1.002) << rows << " " << luff;
    }
    const auto sag = made.booms.sag(kBase, kRod, 1);
    for (const double luff : {0.0, 35 * kRad, 70 * kRad}) {
      structure::BoomLoad load = sag->load;
      load.luff_rad = luff;
      EXPECT_LE(structure::judge(sag->boom, load).sag.total, sag->value_mm(b.parameters.nominal()) * 1.01) << luff;
    }
  }
}

TEST(LuffSway, BacklashOfTheSlewDriveCountsOverTheReach) {
  // Closed form: backlash t turns the whole boom, the load moves by reach x t sideways when it lies level.
  const brief::Brief b = crane();
  const auto play = [&](const char* slew) {
    const Made made(b,
                    std::string(kBoom) + "beams = { length_p = 8, slew_rock_deg = 0, slew_play_deg = " + slew + " }\n");
    const auto sway = made.booms.sway(kBase, kRod, 1);
    // Load point: 40 + 64 mm boom, the stick's end lies 330 mm in front of the boom's pivot.
    EXPECT_NEAR(sway->reach_mm, 330, 1e-9);
    return sway->report.sway.play;
  };
  EXPECT_NEAR(play("1.0") - play("0"), 330 * kRad, 1e-9);
}

TEST(LuffSway, SharesAreAWhole) {
  const Made made(crane(), kBuilt);
  const auto sway = made.booms.sway(kBase, kRod, 1);
  double sum = 0;
  for (const SwayShare& s : shares_of(sway->report.sway)) sum += s.percent;
  EXPECT_NEAR(sum, 100, 1e-3);
}

TEST(LuffSway, DoublingTheBeamsCutsTheSwayByTheShareThatIsTold) {
  // Second route: the boom described with two beams in each row.
  const brief::Brief b = short_crane();
  const Made single(b, kBuilt);
  const Made twice(b, std::string(kBoom) + "beams = { length_p = 8, width_p = 4, thickness = 2 }\n");
  const auto before = single.booms.sway(kBase, kRod, 1), after = twice.booms.sway(kBase, kRod, 1);
  ASSERT_FALSE(before->fault);
  ASSERT_FALSE(after->fault);
  const std::vector<TriedRemedy>& tried = single.booms.remedies(kBase, kRod, 1);
  const auto doubled =
      std::find_if(tried.begin(), tried.end(), [](const TriedRemedy& r) { return r.name == "doubling the beams"; });
  ASSERT_NE(doubled, tried.end());
  ASSERT_TRUE(doubled->possible) << doubled->what;
  EXPECT_GT(doubled->cut, 0.02);
  // The mass of the body counts the same, spread over twice the beams; the pins' own weight differs.
  EXPECT_NEAR(doubled->cut, 1 - after->report.sway.total / before->report.sway.total, 5e-3);
  EXPECT_NEAR(doubled->after_mm, after->report.sway.total, 5e-3 * before->report.sway.total);
  EXPECT_EQ(doubled->lacking, "");
  // Every other remedy is told too, possible or with the reason.
  EXPECT_EQ(tried.size(), 4U);
  for (const TriedRemedy& r : tried) EXPECT_FALSE(r.what.empty()) << r.name;
}

TEST(LuffSway, ASingleRowBendsSidewaysAsACantilever) {
  // F l^3/(3 E I), Shigley Table A-9; an actuator that stands upright cannot hold it sideways.
  brief::Brief b = short_crane();
  b.bodies[1].joint.type = brief::Joint::Type::fixed;  // no turntable
  const Made one(b, std::string(kBoom) +
                        "side_force_n = 1\nside_slope_deg = 0\n"
                        "beams = { rows = 1, length_p = 8, pin_play_mm = 0, axle_play_mm = 0 }\n");
  const auto sway = one.booms.sway({10, -12}, {10, 0}, 1);
  ASSERT_FALSE(sway->fault);
  structure::BoomLoad level = sway->load;
  level.luff_rad = 0;
  const structure::BoomReport report = structure::judge(sway->boom, level);
  const structure::BoomParts& p = sway->boom.parts;
  const double l = 64, bends = 1.0 * l * l * l / (3 * p.beam_material.e_mpa * p.beam.second_z_mm4);
  double beams_mm = 0;
  for (const structure::Source& s : report.sway.sources)
    beams_mm += s.part.rfind("beam", 0) == 0 && s.way == structure::Way::bends ? s.value : 0;
  EXPECT_NEAR(beams_mm, bends, 0.02 * bends);
}

TEST(LuffSway, ItsLimitIsAMarginAndItsPartsAreDemanded) {
  const brief::Brief b = short_crane();
  const candidate::Proposal plain = propose(kind(), function("luff", kBoom), b);
  const candidate::Proposal told = propose(kind(), function("luff", kBuilt), b);
  ASSERT_FALSE(told.candidates.empty());
  const candidate::Candidate& c = told.candidates.front();
  const double sway_mm = figure(c, "sway at the load, to either side");
  EXPECT_GT(sway_mm, 0.05);
  EXPECT_NEAR(figure(c, "rock angle, to either side") * kRad, std::atan2(sway_mm, 64), 1e-9);
  EXPECT_GT(figure(c, "sway cut by doubling the beams"), 1);
  // The report says by what share.
  char share[80];
  std::snprintf(share, sizeof share, "doubling the beams cuts the sway by %.2g %%",
                figure(c, "sway cut by doubling the beams"));
  EXPECT_TRUE(std::any_of(c.notes.begin(), c.notes.end(), [&](const std::string& n) {
    return n.find(share) != std::string::npos;
  })) << share;
  // Only told: the margins stay what they were.
  for (const candidate::Margin& m : c.nominal.margins) EXPECT_NE(m.name, "sway");

  const double limit_mm = sway_mm * 1.25;
  const candidate::Proposal held =
      propose(kind(), function("luff", kBuilt + "sway_max_mm = " + std::to_string(limit_mm) + "\n"), b);
  ASSERT_FALSE(held.candidates.empty());
  for (const candidate::Candidate& k : held.candidates) {
    const candidate::Margin& m = margin(k.nominal, "sway");
    EXPECT_NEAR(m.ratio, limit_mm / figure(k, "sway at the load, to either side"), 1e-5);
    EXPECT_NE(m.note.find("%"), std::string::npos);
    brief::Sample loose = b.parameters.nominal();
    loose.value[static_cast<std::size_t>(Parameter::play_factor)] = 1.5;
    EXPECT_LT(margin(k.evaluate(loose), "sway").ratio, m.ratio);
  }

  // Two rows of one beam with nine holes, their axles and bushes, beside what the drive needs.
  const auto count = [&](const candidate::Candidate& k, const std::string& role, stock::Family family) {
    int n = 0;
    for (const candidate::Need& need : k.demand.needs) {
      if (need.role.find(role) != std::string::npos && b.catalogue->at(need.accepts[0]).family == family)
        n += need.count;
    }
    return n;
  };
  EXPECT_EQ(count(c, "boom", stock::Family::beam), 2);
  EXPECT_GE(count(c, "boom", stock::Family::axle), 3);
  EXPECT_EQ(count(plain.candidates.front(), "boom", stock::Family::beam), 0);

  // Asked without describing the boom: judged for a usual one, nothing demanded, and it says so.
  const candidate::Proposal usual = propose(kind(), function("luff", std::string(kBoom) + "sway_max_mm = 50\n"), b);
  ASSERT_FALSE(usual.candidates.empty());
  EXPECT_EQ(count(usual.candidates.front(), "boom", stock::Family::beam), 0);
  const std::vector<std::string>& notes = usual.candidates.front().notes;
  EXPECT_TRUE(std::any_of(notes.begin(), notes.end(),
                          [](const std::string& n) { return n.find("tell beams") != std::string::npos; }));
}

TEST(LuffSway, ABoomThatSwaysTooMuchIsRefusedWithTheMillimetres) {
  const candidate::Proposal p = propose(kind(), function("luff", kBuilt + "sway_max_mm = 0.02\n"), short_crane());
  EXPECT_TRUE(p.candidates.empty());
  EXPECT_TRUE(std::any_of(p.rejections.begin(), p.rejections.end(), [](const candidate::Rejection& r) {
    return r.code == "luff.sway" && r.unit == "mm" && r.shortfall > 0 &&
           r.text.find("mm allowed; tried: doubling the beams") != std::string::npos;
  }));
}

TEST(LuffSway, ABoomThatTheStockCannotMakeIsRefusedWithThePieces) {
  brief::Brief b = short_crane();
  auto stock = std::make_shared<stock::Stock>(lift_fixture::plenty(*b.catalogue));
  lift_fixture::set_count(*stock, *b.catalogue, "beam_9", 1);
  lift_fixture::set_count(*stock, *b.catalogue, "beam_7", 1);
  lift_fixture::set_count(*stock, *b.catalogue, "beam_5", 1);
  b.stock = stock;
  const candidate::Proposal p = propose(kind(), function("luff", kBuilt), b);
  EXPECT_TRUE(p.candidates.empty());
  ASSERT_EQ(p.rejections.size(), 1U);
  EXPECT_EQ(p.rejections.front().code, "luff.no_boom");
  EXPECT_NE(p.rejections.front().text.find("2 with 9 holes (there are 1)"), std::string::npos)
      << p.rejections.front().text;
}

TEST(LuffSway, AFootThatCannotBeBuiltIsToldNotJudged) {
  // Bearings in the beams' own places.
  const candidate::Proposal p = propose(
      kind(), function("luff", std::string(kBoom) + "beams = { length_p = 8, width_p = 4, pivot_width_p = 4 }\n"),
      short_crane());
  ASSERT_FALSE(p.candidates.empty());
  const std::vector<std::string>& notes = p.candidates.front().notes;
  EXPECT_TRUE(std::any_of(notes.begin(), notes.end(), [](const std::string& n) {
    return n.find("could not be judged") != std::string::npos && n.find("bearing") != std::string::npos;
  }));
}

}  // namespace
}  // namespace functions::luff
