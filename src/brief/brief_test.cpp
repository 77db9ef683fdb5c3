// Covers brief: references, body tree, joints, support, supply, parameters and defaults, with an invented tiny kit
// system; problems with code and place.
#include "brief/brief.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <numbers>

#include "brief/build.h"
#include "project/project.h"

using brief::Brief;
using brief::Joint;
using brief::Parameter;
using document::Diagnostics;
using stock::ClassId;
using stock::Figure;

namespace {

Figure figure(double low, double nominal, double high) {
  return {{low, nominal, high}, stock::Source::invented, ""};
}

stock::PartClass part(std::string id, stock::Family family, std::string name, stock::PartData data,
                      std::vector<std::string> also = {}) {
  stock::PartClass c;
  c.id = std::move(id);
  c.family = family;
  c.name = std::move(name);
  c.also = std::move(also);
  c.mass_g = figure(9, 10, 11);
  c.data = std::move(data);
  return c;
}

stock::Hub hub(int ports, double voltage_v, double resistance_ohm, double capacity_mah) {
  stock::Hub h;
  h.ports = ports;
  h.channels = ports;
  h.voltage_v = voltage_v;
  h.port_current_ma = 800 + ports;
  h.total_current_ma = 2000;
  h.internal_resistance_ohm = figure(resistance_ohm / 2, resistance_ohm, resistance_ohm * 2);
  h.capacity_mah = figure(capacity_mah * 0.9, capacity_mah, capacity_mah * 1.1);
  return h;
}

enum Class { gear_24, gear_40, panel, hub_2, hub_4 };

/// Invented figures.
std::shared_ptr<const stock::Catalogue> kit() {
  auto c = std::make_shared<stock::Catalogue>();
  c->system.id = "tiny";
  c->system.craft.pin_friction = figure(0.1, 0.2, 0.4);
  c->system.craft.spur_efficiency = figure(0.85, 0.92, 0.96);
  c->system.craft.fill_density_g_cm3 = figure(0.05, 0.1, 0.2);
  c->classes = {part("gear_24", stock::Family::gear, "gear, 24 teeth", stock::Gear{}, {"24 tooth gear"}),
                part("gear_40", stock::Family::gear, "gear, 40 teeth", stock::Gear{}),
                part("panel", stock::Family::panel, "Panel", std::monostate{}),
                part("hub_2", stock::Family::hub, "small hub", hub(2, 9, 1.5, 500)),
                part("hub_4", stock::Family::hub, "large hub", hub(4, 8, 1.0, 800))};
  return c;
}

std::shared_ptr<const stock::Stock> donor(int small_hubs = 1, int large_hubs = 2) {
  auto s = std::make_shared<stock::Stock>();
  s->types = {{ClassId{gear_24}, "grey", 4, 2}, {ClassId{panel}, "green", 6, 3}};
  if (small_hubs > 0) s->types.push_back({ClassId{hub_2}, "", small_hubs, 4});
  if (large_hubs > 0) s->types.push_back({ClassId{hub_4}, "", large_hubs, 5});
  return s;
}

struct Result {
  std::optional<Brief> brief;
  std::vector<document::Diagnostic> problems;
  std::string errors;    ///< "code @ line:column path; ..."
  std::string warnings;  ///< codes only
};

Result build(const std::string& text, std::shared_ptr<const stock::Stock> stock = donor()) {
  Result out;
  Diagnostics d;
  const auto project = project::parse_project(text, "machines/x/project.toml", d);
  const std::vector<std::string> kinds = {"crawler", "slew", "luff", "hoist", "spin"};
  if (project) out.brief = brief::build(*project, kit(), std::move(stock), d, kinds);
  for (const auto& p : d.sorted()) {
    out.problems.push_back(p);
    if (p.severity == document::Severity::warning) {
      out.warnings += (out.warnings.empty() ? "" : " ") + p.code;
    } else {
      out.errors += (out.errors.empty() ? "" : "; ") + p.code + " @ " + std::to_string(p.where.line) + ":" +
                    std::to_string(p.where.column) + " " + p.path;
    }
  }
  return out;
}

const std::string kHead = "[project]\nname = \"a\"\nsystem = \"tiny\"\n";
const std::string kStand = "[support]\ntype = \"tracks\"\nlength_mm = 200\nwidth_mm = 100\n";
const std::string kChassis =
    "[[bodies]]\nid = \"chassis\"\nmass_g = 900\ncentre_mm = [0, 0, 40]\nsize_mm = [200, 100, 60]\n";
const std::string kSpin = "[[functions]]\nid = \"fan\"\nkind = \"spin\"\n";

}  // namespace

TEST(Brief, AWholeProjectIsResolvedAndConverted) {
  const Result r =
      build(kHead + "seed = 9\ndraws = 50\n" + kStand +
            "center_mm = [10, 0]\n[limits]\nmass_g = 3000\nenvelope_mm = [400, 200, 250]\n" + kChassis +
            "[[bodies]]\nid = \"upper\"\nparent = \"chassis\"\nmass_g = { low = 1, nominal = 2, high = 3 }\n"
            "centre_mm = [0, 0, 90]\n"
            "joint = { type = \"slew\", pivot_mm = [5, 0, 70], range_deg = [-90, 180] }\n"
            "[[reserves]]\npart = [\"panel\", \"Gear, 24 TEETH\"]\ncount = 3\ncolour = \" Green \"\n"
            "body = \"upper\"\n"
            "[[functions]]\nid = \"swing\"\nkind = \"slew\"\npriority = \"wished\"\nweight = 3\nsides = 2\n"
            "body = \"upper\"\nduty = 0.25\nmust_use = \"24 tooth gear\"\nmust_not_use = [\"gear_40\"]\n"
            "lock = \"k\"\n[functions.wants]\nrpm = 3\n");
  EXPECT_EQ(r.errors, "");
  EXPECT_EQ(r.warnings, "");
  ASSERT_TRUE(r.brief);
  const Brief& b = *r.brief;
  EXPECT_EQ(b.name, "a");
  EXPECT_EQ(b.folder, "machines/x");
  EXPECT_EQ(b.seed, 9u);
  EXPECT_EQ(b.draws, 50);
  EXPECT_EQ(b.limits.mass_g, 3000);
  EXPECT_EQ(b.limits.envelope_mm->y_mm, 200);
  ASSERT_EQ(b.bodies.size(), 2u);
  EXPECT_EQ(b.bodies[1].parent, 0);
  EXPECT_EQ(b.bodies[1].joint.type, Joint::Type::slew);
  EXPECT_DOUBLE_EQ(b.bodies[1].joint.low_rad, -std::numbers::pi / 2);
  EXPECT_DOUBLE_EQ(b.bodies[1].joint.high_rad, std::numbers::pi);
  EXPECT_EQ(b.bodies[1].joint.pivot_mm.x_mm, 5);
  EXPECT_EQ(b.bodies[1].mass_g, (base::Triple{1, 2, 3}));
  EXPECT_FALSE(b.bodies[1].mass_is_estimate);
  EXPECT_EQ(b.total_mass_g(), 902);
  ASSERT_EQ(b.reserves.size(), 1u);
  EXPECT_EQ(b.reserves[0].accepts, (std::vector<ClassId>{ClassId{gear_24}, ClassId{panel}}));
  EXPECT_EQ(b.reserves[0].colour, "green");
  EXPECT_EQ(b.reserves[0].count, 3);
  EXPECT_EQ(b.reserves[0].body, 1);
  ASSERT_EQ(b.functions.size(), 1u);
  const brief::Function& f = b.functions[0];
  EXPECT_FALSE(f.required);
  EXPECT_EQ(f.weight, 3);
  EXPECT_EQ(f.sides, 2);
  EXPECT_EQ(f.body, 1);
  EXPECT_EQ(f.duty, 0.25);
  EXPECT_EQ(f.must_use, std::vector<ClassId>{ClassId{gear_24}});
  EXPECT_EQ(f.must_not_use, std::vector<ClassId>{ClassId{gear_40}});
  EXPECT_EQ(f.lock, "k");
  EXPECT_EQ(f.wants.find("rpm")->integer, 3);
  EXPECT_EQ(b.support.type, brief::Support::Type::tracks);
  ASSERT_EQ(b.support.points_mm.size(), 4u);
  EXPECT_EQ(b.support.points_mm[0].x_mm, -90);
  EXPECT_EQ(b.support.points_mm[2].x_mm, 110);
  EXPECT_EQ(b.support.points_mm[2].y_mm, 50);
}

TEST(Brief, ARoomHoldsTheLatticePointsInsideIt) {
  const Result r =
      build(kHead + kStand + kChassis + kSpin + "room_p = { x = [-6, 6], y = [-4.3, 4.3], z = [0.2, 9] }\n");
  EXPECT_EQ(r.errors, "");
  ASSERT_TRUE(r.brief);
  ASSERT_TRUE(r.brief->functions[0].room);
  EXPECT_EQ(*r.brief->functions[0].room, (lattice::Box3{{-12, -8, 1}, {12, 8, 18}}));
  EXPECT_FALSE(build(kHead + kStand + kChassis + kSpin).brief->functions[0].room);
  EXPECT_EQ(build(kHead + kStand + kChassis + kSpin + "room_p = { x = [0, 6], y = [1, 1.9], z = [0, 9] }\n").errors,
            "brief.room_too_narrow @ 16:10 /functions/0/room_p");
}

TEST(BriefReferences, UnknownPartsAndBodiesGetTheNearestName) {
  const Result r =
      build(kHead + kStand + kChassis + "[[reserves]]\npart = [\"gear_42\", \"gear, 24 tooth\"]\nbody = \"chasis\"\n" +
            kSpin + "must_use = \"hup_4\"\nbody = \"nowhere\"\n");
  EXPECT_EQ(r.errors,
            "brief.unknown_part @ 14:9 /reserves/0/part/0; brief.unknown_part @ 14:20 /reserves/0/part/1; "
            "brief.unknown_body @ 15:8 /reserves/0/body; brief.unknown_part @ 19:12 /functions/0/must_use; "
            "brief.unknown_body @ 20:8 /functions/0/body");
  EXPECT_FALSE(r.brief);
  EXPECT_EQ(r.problems[0].hint, "\"gear_24\"");
  EXPECT_EQ(r.problems[1].hint, "\"gear, 24 teeth\"");
  EXPECT_EQ(r.problems[2].hint, "\"chassis\"");
  EXPECT_EQ(r.problems[3].hint, "\"hub_4\"");
  EXPECT_EQ(r.problems[4].hint, "one of \"chassis\"");
}

TEST(BriefReferences, UnknownKindsGetTheNearestName) {
  const Result r = build(kHead + kStand + kChassis + "[[functions]]\nid = \"a\"\nkind = \"craler\"\n");
  EXPECT_EQ(r.errors, "brief.unknown_kind @ 15:8 /functions/0/kind");
  EXPECT_EQ(r.problems[0].hint, "\"crawler\"");
}

TEST(BriefReferences, AMissingKindIsNotReportedTwice) {
  EXPECT_EQ(build(kHead + kStand + kChassis + "[[functions]]\nid = \"a\"\n").errors,
            "function.missing_key @ 13:1 /functions/0/kind");
}

TEST(BriefReferences, MustAndMustNotContradict) {
  EXPECT_EQ(
      build(kHead + kStand + kChassis + kSpin + "must_use = \"gear_24\"\nmust_not_use = \"24 tooth gear\"\n").errors,
      "brief.must_and_must_not @ 13:1 /functions/0");
}

TEST(BriefReferences, AProjectOfAnotherKitSystemIsRefused) {
  EXPECT_EQ(build("[project]\nname = \"a\"\nsystem = \"other\"\n" + kStand + kChassis + kSpin).errors,
            "brief.other_system @ 3:10 /project/system");
}

TEST(BriefBodies, ParentsComeBeforeTheirChildrenAndTheChassisFirst) {
  const Result r =
      build(kHead + kStand +
            "[[bodies]]\nid = \"stick\"\nparent = \"boom\"\n[[bodies]]\nid = \"boom\"\nparent = \"upper\"\n"
            "[[bodies]]\nid = \"upper\"\nparent = \"under\"\n[[bodies]]\nid = \"gate\"\nparent = \"under\"\n"
            "[[bodies]]\nid = \"under\"\n" +
            kSpin);
  ASSERT_TRUE(r.brief) << r.errors;
  std::string order;
  for (std::size_t i = 0; i < r.brief->bodies.size(); ++i) {
    const brief::Body& b = r.brief->bodies[i];
    EXPECT_LT(b.parent, static_cast<int>(i));
    order += b.id + ":" + std::to_string(b.parent) + " ";
  }
  EXPECT_EQ(order, "under:-1 upper:0 gate:0 boom:1 stick:3 ");
}

TEST(BriefBodies, AChassisThatIsOnlyNamedOrAbsentIsMadeFromTheFootprint) {
  for (const char* bodies :
       {"", "[[bodies]]\nid = \"upper\"\nparent = \"chassis\"\nmass_g = 1\ncentre_mm = [0, 0, 0]\n"}) {
    const Result r = build(kHead + kStand + bodies + kSpin);
    ASSERT_TRUE(r.brief) << r.errors;
    EXPECT_EQ(r.warnings, "brief.chassis_assumed");
    const brief::Body& chassis = r.brief->bodies[0];
    EXPECT_EQ(chassis.id, "chassis");
    EXPECT_EQ(chassis.parent, -1);
    EXPECT_EQ(chassis.size_mm.z_mm, 50);
    EXPECT_TRUE(chassis.mass_is_estimate);
    // 20 x 10 x 5 cm at 0.05, 0.1 and 0.2 g/cm3.
    EXPECT_DOUBLE_EQ(chassis.mass_g.low, 50);
    EXPECT_DOUBLE_EQ(chassis.mass_g.nominal, 100);
    EXPECT_DOUBLE_EQ(chassis.mass_g.high, 200);
    EXPECT_EQ(chassis.centre_mm.z_mm, 25);
  }
}

TEST(BriefBodies, CirclesAreReportedOnceAndNothingElseIsBlamed) {
  const Result r = build(kHead + kStand + kChassis +
                         "[[bodies]]\nid = \"a\"\nparent = \"c\"\n[[bodies]]\nid = \"b\"\nparent = \"a\"\n"
                         "[[bodies]]\nid = \"c\"\nparent = \"b\"\n[[bodies]]\nid = \"d\"\nparent = \"a\"\n"
                         "[[bodies]]\nid = \"e\"\nparent = \"e\"\n" +
                         kSpin + "body = \"d\"\n");
  EXPECT_EQ(r.errors, "brief.body_cycle @ 15:10 /bodies/1/parent; brief.body_cycle @ 27:10 /bodies/5/parent");
  const auto first =
      std::find_if(r.problems.begin(), r.problems.end(), [](const auto& p) { return p.code == "brief.body_cycle"; });
  ASSERT_NE(first, r.problems.end());
  EXPECT_EQ(first->message, "bodies carry each other in a circle: \"a\" on \"c\" on \"b\" on \"a\"");
}

TEST(BriefBodies, UnknownParentsAreReportedWithTheNearestName) {
  const Result r = build(kHead + kStand + kChassis + "[[bodies]]\nid = \"a\"\nparent = \"chasis\"\n" + kSpin);
  EXPECT_EQ(r.errors, "brief.unknown_body @ 15:10 /bodies/1/parent");
}

TEST(BriefBodies, OnlyTheChassisStandsOnTheGroundAndItHasNoJoint) {
  const Result r = build(kHead + kStand + "[[bodies]]\nid = \"a\"\n" + kChassis + kSpin);
  EXPECT_EQ(r.errors, "brief.several_chassis @ 8:1 /bodies/0");
  EXPECT_EQ(build(kHead + kStand + kChassis + "joint = { type = \"slew\", pivot_mm = [0, 0, 0] }\n" + kSpin).errors,
            "brief.chassis_joint @ 13:9 /bodies/0/joint");
}

TEST(BriefBodies, JointsNeedAPivotAndFixedOnesHaveNoRange) {
  const std::string arm = kHead + kStand + kChassis + "[[bodies]]\nid = \"arm\"\nparent = \"chassis\"\n";
  EXPECT_EQ(build(arm + "joint = { type = \"pitch\" }\n" + kSpin).errors,
            "brief.joint_without_pivot @ 16:9 /bodies/1/joint");
  EXPECT_EQ(build(arm + "joint = { type = \"fixed\", range_deg = [0, 5] }\n" + kSpin).errors,
            "brief.fixed_range @ 16:9 /bodies/1/joint");
}

TEST(BriefBodies, WhatIsAssumedIsSaid) {
  const Result r = build(kHead + kStand + kChassis +
                         "[[bodies]]\nid = \"boom\"\nparent = \"chassis\"\nsize_mm = [300, 20, 20]\n"
                         "joint = { type = \"pitch\", pivot_mm = [40, 0, 90] }\n" +
                         kSpin);
  ASSERT_TRUE(r.brief) << r.errors;
  EXPECT_EQ(r.warnings, "brief.centre_assumed brief.range_assumed");
  const brief::Body& boom = r.brief->bodies[1];
  EXPECT_EQ(boom.centre_mm.x_mm, 190);
  EXPECT_EQ(boom.centre_mm.z_mm, 90);
  EXPECT_DOUBLE_EQ(boom.mass_g.nominal, 12);
  EXPECT_TRUE(boom.mass_is_estimate);
  EXPECT_EQ(boom.joint.low_rad, 0);
  EXPECT_DOUBLE_EQ(boom.joint.high_rad, std::numbers::pi / 3);
}

TEST(BriefBodies, ABodyWithNeitherMassNorSizeIsWarnedAbout) {
  const Result r = build(kHead + kStand + kChassis +
                         "[[bodies]]\nid = \"arm\"\nparent = \"chassis\"\ncentre_mm = [0, 0, 0]\n" + kSpin);
  EXPECT_EQ(r.warnings, "brief.mass_unknown");
  EXPECT_EQ(r.brief->bodies[1].mass_g.nominal, 0);
  EXPECT_TRUE(r.brief->bodies[1].mass_is_estimate);
}

TEST(BriefSupport, PointsMustSpanAnArea) {
  const std::string feet = kHead + "[support]\ntype = \"feet\"\npoints_mm = ";
  EXPECT_EQ(build(feet + "[[0, 0], [1, 0]]\n" + kChassis + kSpin).errors, "brief.support_points @ 4:1 /support");
  EXPECT_EQ(build(feet + "[[0, 0], [0, 0], [0, 0]]\n" + kChassis + kSpin).errors, "brief.support_flat @ 4:1 /support");
  EXPECT_EQ(build(feet + "[[0, 0], [5, 5], [-3, -3], [1, 1]]\n" + kChassis + kSpin).errors,
            "brief.support_flat @ 4:1 /support");
  const Result good = build(feet + "[[0, 0], [100, 0, 3], [50, 80]]\n" + kChassis + kSpin);
  ASSERT_TRUE(good.brief) << good.errors;
  EXPECT_EQ(good.brief->support.points_mm[1].z_mm, 3);
}

TEST(BriefSupport, MissingSizesAreReportedAndAMissingTableFallsBackOnTheChassis) {
  EXPECT_EQ(build(kHead + "[support]\ntype = \"feet\"\nlength_mm = 5\n" + kChassis + kSpin).errors,
            "brief.support_size @ 4:1 /support");
  const Result r = build(kHead + kChassis + kSpin);
  ASSERT_TRUE(r.brief) << r.errors;
  EXPECT_EQ(r.warnings, "brief.support_assumed");
  EXPECT_EQ(r.brief->support.points_mm[0].x_mm, -100);
  EXPECT_EQ(build(kHead + kSpin).errors, "brief.support_missing @ 0:0 /support");
}

TEST(BriefSupply, OneHubWithTheMostPortsIsTheDefault) {
  const Result r = build(kHead + kStand + kChassis + kSpin);
  ASSERT_TRUE(r.brief) << r.errors;
  const brief::Supply& s = r.brief->supply;
  EXPECT_EQ(s.hubs, std::vector<ClassId>{ClassId{hub_4}});
  EXPECT_EQ(s.ports, 4);
  EXPECT_EQ(s.voltage_v, 8);
  EXPECT_EQ(s.capacity_mah, 800);
  EXPECT_EQ(s.capacity_range_mah, (base::Triple{800 * 0.9, 800, 800 * 1.1}));
}

TEST(BriefSupply, HubsAddUpAndTheWeakestSetsVoltageAndResistance) {
  const Result r = build(kHead + kStand + kChassis + "[supply]\nhubs = [\"hub_4\", \"small hub\"]\n" + kSpin);
  ASSERT_TRUE(r.brief) << r.errors;
  const brief::Supply& s = r.brief->supply;
  EXPECT_EQ(s.hubs, (std::vector<ClassId>{ClassId{hub_2}, ClassId{hub_4}}));
  EXPECT_EQ(s.ports, 6);
  EXPECT_EQ(s.channels, 6);
  EXPECT_EQ(s.voltage_v, 8);
  EXPECT_EQ(s.resistance_ohm, 1.5);
  EXPECT_EQ(s.port_current_ma, 802);
  EXPECT_EQ(s.total_current_ma, 4000);
  EXPECT_EQ(s.capacity_mah, 1300);
}

TEST(BriefSupply, CellsOverrideTheHubsOwn) {
  const Result r = build(kHead + kStand + kChassis +
                         "[supply]\nhubs = 2\n[supply.cells]\nvoltage_v = 7.2\n"
                         "capacity_mah = { low = 900, nominal = 1000, high = 1100 }\nresistance_ohm = 0.3\n" +
                         kSpin);
  ASSERT_TRUE(r.brief) << r.errors;
  const brief::Supply& s = r.brief->supply;
  EXPECT_EQ(s.ports, 8);
  EXPECT_EQ(s.voltage_v, 7.2);
  EXPECT_EQ(s.resistance_ohm, 0.3);
  EXPECT_EQ(s.capacity_range_mah, (base::Triple{1800, 2000, 2200}));
}

TEST(BriefSupply, TooFewHubsInTheStockAreAWarningBecauseInfeasibleIsAnAnswer) {
  const Result named =
      build(kHead + kStand + kChassis + "[supply]\nhubs = [\"hub_4\", \"hub_4\", \"hub_2\"]\n" + kSpin, donor(1, 1));
  ASSERT_TRUE(named.brief) << named.errors;
  EXPECT_EQ(named.warnings, "brief.hubs_short");
  EXPECT_EQ(named.problems[0].path, "/supply/hubs/1");
  EXPECT_EQ(named.brief->supply.ports, 6);
  const Result counted = build(kHead + kStand + kChassis + "[supply]\nhubs = 5\n" + kSpin);
  EXPECT_EQ(counted.warnings, "brief.hubs_short");
  EXPECT_EQ(counted.brief->supply.ports, 10);
  const Result none = build(kHead + kStand + kChassis + kSpin, donor(0, 0));
  EXPECT_EQ(none.warnings, "brief.no_hub");
  EXPECT_EQ(none.brief->supply.ports, 0);
  EXPECT_EQ(build(kHead + kStand + kChassis + "[supply]\nhubs = 0\n" + kSpin, donor(0, 0)).warnings, "");
}

TEST(BriefSupply, OnlyHubsAreHubs) {
  EXPECT_EQ(build(kHead + kStand + kChassis + "[supply]\nhubs = \"gear_24\"\n" + kSpin).errors,
            "brief.not_a_hub @ 14:8 /supply/hubs");
}

TEST(BriefParameters, ComeFromTheKitSystemAndTheProjectOverrides) {
  const Result r =
      build(kHead + kStand + kChassis +
            "[parameters]\npin_friction = 0.3\nmass_factor = { low = 0.5, nominal = 1, high = 2 }\n" + kSpin);
  ASSERT_TRUE(r.brief) << r.errors;
  const brief::Parameters& p = r.brief->parameters;
  EXPECT_EQ(p.at(Parameter::spur_efficiency).value, (base::Triple{0.85, 0.92, 0.96}));
  EXPECT_EQ(p.at(Parameter::pin_friction).value, base::Triple::exact(0.3));
  EXPECT_EQ(p.at(Parameter::pin_friction).source, stock::Source::measured);
  EXPECT_EQ(p.at(Parameter::mass_factor).value, (base::Triple{0.5, 1, 2}));
  EXPECT_EQ(p.at(Parameter::motor_torque_factor).value.nominal, 1);
  EXPECT_EQ(p.at(Parameter::motor_torque_factor).source, stock::Source::common_practice);
}

TEST(BriefParameters, NamesFollowTheEnumeration) {
  EXPECT_EQ(brief::name_of(Parameter::spur_efficiency), "spur_efficiency");
  EXPECT_EQ(brief::name_of(Parameter::worm_friction), "worm_friction");
  EXPECT_EQ(brief::name_of(Parameter::bevel_support), "bevel_support");
  EXPECT_EQ(brief::name_of(Parameter::axle_shear_stress_mpa), "axle_shear_stress_mpa");
  EXPECT_EQ(brief::name_of(Parameter::ring_friction), "ring_friction");
  EXPECT_EQ(brief::name_of(Parameter::screw_friction_factor), "screw_friction_factor");
  EXPECT_EQ(brief::name_of(Parameter::mass_factor), "mass_factor");
}

TEST(BriefParameters, DrawsDependOnSeedNumberAndNameOnlyAndStayInTheirTriples) {
  const Result r = build(kHead + kStand + kChassis + kSpin);
  brief::Parameters p = r.brief->parameters;
  double sum = 0;
  constexpr int kDraws = 4000;
  for (std::uint64_t k = 0; k < kDraws; ++k) {
    const brief::Sample s = p.draw(1, k);
    EXPECT_EQ(s.value, p.draw(1, k).value);
    for (int i = 0; i < brief::kParameterCount; ++i) {
      const auto parameter = static_cast<Parameter>(i);
      EXPECT_GE(s[parameter], p.at(parameter).value.low);
      EXPECT_LE(s[parameter], p.at(parameter).value.high);
    }
    sum += s[Parameter::pin_friction];
  }
  // The mean of a triangular distribution is (low + nominal + high) / 3; its spread here is 0.062, so the mean of 4000
  // draws stays within 5 x 0.062 / sqrt(4000).
  EXPECT_NEAR(sum / kDraws, (0.1 + 0.2 + 0.4) / 3, 0.005);
  const double before = p.draw(1, 3)[Parameter::ground_friction];
  p.figure[static_cast<std::size_t>(Parameter::pin_friction)] = figure(0, 1, 2);
  EXPECT_EQ(p.draw(1, 3)[Parameter::ground_friction], before);
  EXPECT_NE(p.draw(1, 3)[Parameter::motor_torque_factor], p.draw(2, 3)[Parameter::motor_torque_factor]);
  EXPECT_EQ(p.nominal()[Parameter::spur_efficiency], 0.92);
}

TEST(Brief, ErrorsOfTheReaderKeepItFromBeingBuiltButBothReport) {
  const Result r = build(kHead + "draws = 1\n" + kStand + kChassis + kSpin + "must_use = \"nothing like it\"\n");
  EXPECT_FALSE(r.brief);
  EXPECT_EQ(r.errors, "project.out_of_range @ 4:9 /project/draws; brief.unknown_part @ 17:12 /functions/0/must_use");
}

TEST(Brief, NothingIsSaidToBeAssumedWhereAValueWasOnlyMisread) {
  const Result r = build(kHead + kStand + "[[bodies]]\nid = \"chassis\"\nmass_g = nan\n" + kSpin);
  EXPECT_EQ(r.errors, "body.not_finite @ 10:10 /bodies/0/mass_g");
  EXPECT_EQ(r.warnings, "");
}

TEST(Brief, AProjectWithoutFunctionsIsWarnedAbout) {
  EXPECT_EQ(build(kHead + kStand + kChassis).warnings, "brief.no_functions");
}

TEST(Brief, TheWorkingCycleIsReadOrMadeFromTheDuties) {
  const std::string head = kHead + kStand + kChassis;
  const auto function = [](const char* id, const char* duty) {
    return "[[functions]]\nid = \"" + std::string(id) + "\"\nkind = \"spin\"\nduty = " + duty + "\n";
  };
  // Every function alone for its share; what never pauses runs through, the rest is a pause.
  Result r = build(head + function("a", "0.25") + function("b", "0.5") + function("fan", "1"));
  ASSERT_TRUE(r.brief) << r.errors;
  EXPECT_TRUE(r.brief->duty_is_default);
  ASSERT_EQ(r.brief->duty.size(), 3u);
  EXPECT_EQ(r.brief->duty[0].functions, (std::vector<int>{0, 2}));
  EXPECT_EQ(r.brief->duty[1].functions, (std::vector<int>{1, 2}));
  EXPECT_EQ(r.brief->duty[2].functions, std::vector<int>{2});
  EXPECT_DOUBLE_EQ(r.brief->duty[1].time_s, 2 * r.brief->duty[0].time_s);
  // Shares of more than all the time are scaled to it.
  r = build(head + function("a", "0.9") + function("b", "0.6"));
  ASSERT_EQ(r.brief->duty.size(), 2u);
  EXPECT_NEAR(r.brief->duty[0].time_s + r.brief->duty[1].time_s, 60, 1e-9);
  EXPECT_FALSE(r.brief->handset.said);

  r = build(head + function("a", "0.5") + function("b", "0.5") +
            "[[duty]]\nid = \"lift\"\nruns = [\"b\", \"a\"]\nload = 0.5\ntime_s = 12\n[handset]\nleft_handed = true\n");
  ASSERT_TRUE(r.brief) << r.errors;
  EXPECT_FALSE(r.brief->duty_is_default);
  ASSERT_EQ(r.brief->duty.size(), 1u);
  EXPECT_EQ(r.brief->duty[0].functions, (std::vector<int>{0, 1}));
  EXPECT_EQ(r.brief->duty[0].load, 0.5);
  EXPECT_TRUE(r.brief->handset.said && r.brief->handset.left_handed);
  EXPECT_EQ(r.brief->handset.sticks, 2);

  const auto starts = [](const Result& x, const char* code) { return x.errors.rfind(code, 0) == 0; };
  EXPECT_TRUE(
      starts(build(head + function("a", "1") + "[[duty]]\nid = \"x\"\nruns = [\"aa\"]\n"), "duty.unknown_function"));
  EXPECT_TRUE(starts(build(head + function("a", "1") + "[[duty]]\nid = \"x\"\nruns = [\"a\", \"a\"]\n"), "duty.twice"));
}

TEST(Brief, CellsAreOfTheHubUnlessTheProjectSaysOtherwise) {
  Result r = build(kHead + kStand + kChassis + kSpin + "[supply]\nhubs = [\"hub_4\", \"hub_2\"]\n");
  ASSERT_TRUE(r.brief) << r.errors;
  ASSERT_EQ(r.brief->supply.packs.size(), 2u);
  EXPECT_EQ(r.brief->supply.packs[0].voltage_v, 9);
  EXPECT_EQ(r.brief->supply.packs[1].capacity_mah.nominal, 800);
  r = build(kHead + kStand + kChassis + kSpin +
            "[supply]\nhubs = [\"hub_4\"]\ncells = { chemistry = \"li_ion\", count = 2, voltage_v = 8.4 }\n");
  ASSERT_TRUE(r.brief) << r.errors;
  EXPECT_EQ(r.brief->supply.packs[0].chemistry, stock::Chemistry::li_ion);
  EXPECT_EQ(r.brief->supply.packs[0].in_series, 2);
  EXPECT_EQ(r.brief->supply.packs[0].voltage_v, 8.4);
}
