// Covers assessment/findings and leads: what each finding says of mass, stock, current, cells and tipping, with figures
// worked out by hand; what a remedy promises is done to the brief and judged anew. Cables against brute force.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "assessment/internal.h"
#include "assessment/leads.h"
#include "assessment/test_chassis.h"

using namespace assessment;

namespace {

/// An invented machine: one body of 1000 g on four points, a hub with two sockets, motors on their own.
struct Machine {
  static constexpr stock::ClassId kMotor{0}, kHub{1}, kCable{2};
  std::shared_ptr<stock::Catalogue> catalogue = std::make_shared<stock::Catalogue>();
  std::shared_ptr<stock::Stock> stock = std::make_shared<stock::Stock>();
  brief::Brief brief;
  std::vector<candidate::Candidate> candidates;
  std::vector<Taken> taken;

  Machine() {
    catalogue->system.pitch_mm = 8;
    catalogue->system.craft.fill_density_g_cm3.value = base::Triple::exact(0.1);
    stock::Motor motor;
    motor.lead_mm = 100;
    stock::Hub hub;
    hub.ports = 2;
    hub.total_current_ma = 1500;
    hub.port_current_ma = 800;
    hub.capacity_mah.value = base::Triple::exact(1000);
    stock::Cable cable;
    cable.length_mm = 250;
    add("motor", stock::Family::motor, motor, 50, 4);
    add("hub", stock::Family::hub, hub, 200, 2);
    add("cable", stock::Family::cable, cable, 8, 3);
    assessment::test::give_chassis(brief, catalogue, stock);
    brief.supply.hubs = {kHub};
    brief.supply.capacity_mah = 1000;
  }
  void add(const char* id, stock::Family family, stock::PartData data, double mass_g, int pieces) {
    stock::PartClass p;
    p.id = p.name = id;
    p.family = family;
    p.data = std::move(data);
    p.mass_g.value = base::Triple::exact(mass_g);
    stock->types.push_back({stock::ClassId{static_cast<int>(catalogue->classes.size())}, "", pieces, 1});
    catalogue->classes.push_back(std::move(p));
  }
  void runs(const std::string& id, double running_ma, double stall_ma, double duty = 1) {
    candidate::Candidate c;
    c.demand.needs = {{{kMotor}, 1, "motor", ""}};
    c.demand.ports = 1;
    c.demand.running_current_ma = c.nominal.running_current_ma = running_ma;
    c.demand.stall_current_ma = stall_ma;
    c.masses = {{-1, 50}};
    c.nominal.margins = {candidate::at_least("force", 2, 1, "N")};
    candidates.push_back(c);
    brief::Function f;
    f.id = id;
    f.duty = duty;
    brief.functions.push_back(f);
    taken.push_back({0, 1, static_cast<int>(brief.functions.size()) - 1});
  }
  [[nodiscard]] Assessment judged() const {
    std::vector<Chosen> chosen;
    for (std::size_t f = 0; f < candidates.size(); ++f) chosen.push_back({&brief.functions[f], &candidates[f]});
    return assess(brief, chosen, taken, {1, 200});
  }
};

const Finding* found(const Assessment& a, const std::string& code) {
  const auto at = std::find_if(a.findings.begin(), a.findings.end(), [&](const Finding& f) { return f.code == code; });
  return at == a.findings.end() ? nullptr : &*at;
}

double number(const Finding& f, const std::string& name) {
  const auto at = std::find_if(f.numbers.begin(), f.numbers.end(), [&](const Number& n) { return n.name == name; });
  return at == f.numbers.end() ? NAN : at->value;
}

}  // namespace

TEST(Findings, TellAMassBeyondItsLimitAndNoneWithin) {
  Machine m;
  m.brief.limits.mass_g = 999;
  const Assessment a = m.judged();
  const Finding* over = found(a, "mass.over");
  ASSERT_NE(over, nullptr);
  EXPECT_EQ(over->severity, Finding::Severity::problem);
  EXPECT_EQ(over->text, "It weighs 1000 g; you allow 999 g.");
  EXPECT_EQ(number(*over, "mass"), 1000);
  m.brief.limits.mass_g = 1000;
  EXPECT_EQ(found(m.judged(), "mass.over"), nullptr);
  EXPECT_EQ(found(m.judged(), "mass.estimate"), nullptr) << "somebody entered it";
}

TEST(Findings, TellAMassThatMovedAwayFromWhatWasComputedWith) {
  Machine m;
  brief::Body& chassis = m.brief.bodies[0];
  chassis.mass_is_estimate = true;
  chassis.size_mm = {200, 100, 50};  // 1000 cm3 of 0.1 g/cm3, and a hub of 200 g: 300 g
  chassis.mass_g = base::Triple::exact(300);
  const Assessment before = m.judged();
  EXPECT_EQ(found(before, "mass.drift"), nullptr);
  const Finding* estimate = found(before, "mass.estimate");
  ASSERT_NE(estimate, nullptr);
  EXPECT_NE(estimate->text.find("\"chassis\""), std::string::npos);
  m.runs("travel", 100, 100);  // 50 g of motor on top: a sixth more
  const Assessment a = m.judged();
  const Finding* drift = found(a, "mass.drift");
  ASSERT_NE(drift, nullptr);
  EXPECT_EQ(number(*drift, "computed for"), 300);
  EXPECT_NEAR(number(*drift, "with the chosen parts"), 350, 1e-9);
}

TEST(Findings, NameWhatIsUsedToTheLastPiece) {
  Machine m;
  m.runs("travel", 100, 100);
  EXPECT_EQ(found(m.judged(), "parts.used_up"), nullptr) << "three motors are left";
  m.taken[0].count = 4;
  m.stock->types[0].colour = "grey";
  const Assessment a = m.judged();
  const Finding* none_left = found(a, "parts.used_up");
  ASSERT_NE(none_left, nullptr);
  EXPECT_EQ(none_left->text, "No spare is left of: motor (grey).");
  EXPECT_EQ(none_left->numbers.at(0).value, 4);
}

TEST(Findings, TellCurrentsBeyondASocketAndBeyondAHub) {
  Machine m;
  m.runs("travel", 700, 800);
  EXPECT_EQ(found(m.judged(), "power.port_current"), nullptr);
  EXPECT_EQ(found(m.judged(), "power.stall_current"), nullptr) << "just what the socket gives";
  m.candidates[0].demand.stall_current_ma = 801;
  const Assessment held = m.judged();
  const Finding* stall = found(held, "power.stall_current");
  ASSERT_NE(stall, nullptr);
  EXPECT_EQ(stall->severity, Finding::Severity::note);
  EXPECT_EQ(stall->function, "travel");
  m.candidates[0].nominal.running_current_ma = 801;
  const Assessment running = m.judged();
  const Finding* port = found(running, "power.port_current");
  ASSERT_NE(port, nullptr);
  EXPECT_EQ(port->severity, Finding::Severity::problem);
  EXPECT_EQ(port->text, "\"travel\" draws 801 mA at its load; its socket gives 800 mA.");
  EXPECT_EQ(found(running, "power.stall_current"), nullptr) << "told once";

  EXPECT_EQ(found(running, "power.hub_current"), nullptr) << "801 of 1500 mA";
  m.runs("slew", 750, 750);
  const Assessment both = m.judged();
  const Finding* hub = found(both, "power.hub_current");
  ASSERT_NE(hub, nullptr);
  EXPECT_EQ(number(*hub, "hub 1"), 1551);
  EXPECT_EQ(number(*hub, "hub 1 limit"), 1500);
}

TEST(Findings, ARunTimeThatIsTooShortGetsRemediesThatDoWhatTheySay) {
  Machine m;
  m.runs("travel", 600, 600);
  m.runs("slew", 200, 200, 0.5);
  // 1000 mAh over 700 mA: 85.7 min; 5 % of the draws below 79.
  m.brief.limits.run_time_min = 70;
  EXPECT_EQ(found(m.judged(), "run_time.short"), nullptr);
  EXPECT_EQ(found(m.judged(), "run_time.unsure"), nullptr);
  m.brief.limits.run_time_min = 84;
  const Assessment close = m.judged();
  const Finding* unsure = found(close, "run_time.unsure");
  ASSERT_NE(unsure, nullptr);
  EXPECT_EQ(unsure->severity, Finding::Severity::warning);
  m.brief.limits.run_time_min = 120;
  const Assessment a = m.judged();
  const Finding* lasts = found(a, "run_time.short");
  ASSERT_NE(lasts, nullptr);
  EXPECT_EQ(lasts->severity, Finding::Severity::problem);
  EXPECT_NEAR(number(*lasts, "run time"), 60 * 1000 / 700.0, 1e-9);
  bool duty_tried = false;
  for (const Remedy& r : lasts->remedies) {
    ASSERT_FALSE(r.amendments.empty()) << r.text;
    const Amendment& change = r.amendments.front();
    if (change.table != "functions" || change.key != "duty") continue;
    duty_tried = true;
    // 120 min allow 500 mA; 100 of them go to "slew", so "travel" may work two thirds of the time: 66 % in whole ones.
    EXPECT_EQ(text_of(change), "functions.travel.duty = 0.66");
    EXPECT_TRUE(r.enough);
    Machine changed = m;
    changed.brief.functions[0].duty = 0.66;
    const Assessment after = changed.judged();
    EXPECT_NEAR(after.power.run_time_min.nominal, r.after, 1e-9);
    EXPECT_EQ(found(after, "run_time.short"), nullptr);
  }
  EXPECT_TRUE(duty_tried);
  EXPECT_TRUE(std::any_of(lasts->remedies.begin(), lasts->remedies.end(), [](const Remedy& r) {
    return r.text.find("one more \"hub\"") != std::string::npos;
  })) << "two are in the stock";
}

// tan(angle) = distance of the centre's foot point to the tipping line / height of the centre.
TEST(Findings, TellAMachineThatTipsTooSoonOrStandsNowhere) {
  Machine m;
  EXPECT_EQ(found(m.judged(), "stance.low"), nullptr);
  m.brief.bodies[0].centre_mm = {0, 0, 60 / std::tan(7 * std::numbers::pi / 180)};
  const Assessment tall = m.judged();
  const Finding* low = found(tall, "stance.low");
  ASSERT_NE(low, nullptr);
  EXPECT_EQ(low->severity, Finding::Severity::warning);
  EXPECT_NEAR(number(*low, "least tipping angle"), 7, 0.01);
  m.brief.limits.tipping_angle_deg = 6.5;
  EXPECT_EQ(found(m.judged(), "stance.low"), nullptr) << "it is what was asked for";
  m.brief.limits.tipping_angle_deg = 12;
  const Assessment below = m.judged();
  ASSERT_NE(found(below, "stance.below_wanted"), nullptr);
  EXPECT_EQ(found(below, "stance.below_wanted")->severity, Finding::Severity::problem);

  m.brief.bodies[0].centre_mm = {0, 70, 50};
  const Assessment beside = m.judged();
  const Finding* falls = found(beside, "stance.falls");
  ASSERT_NE(falls, nullptr);
  EXPECT_EQ(falls->severity, Finding::Severity::problem);
  EXPECT_LT(number(*falls, "least tipping angle"), 0);

  m.brief.support.points_mm.clear();
  const Assessment nowhere = m.judged();
  const Finding* why = found(nowhere, "stance.not_judged");
  ASSERT_NE(why, nullptr);
  EXPECT_GT(why->text.size(), std::string("Tipping was not judged: .").size()) << "it says why";
}

TEST(Findings, TheGravestStandFirst) {
  Machine m;
  m.runs("travel", 900, 900);
  m.taken[0].count = 4;
  m.brief.limits.mass_g = 500;
  const Assessment a = m.judged();
  ASSERT_GE(a.findings.size(), 3U);
  EXPECT_TRUE(std::is_sorted(a.findings.begin(), a.findings.end(),
                             [](const Finding& x, const Finding& y) { return x.severity > y.severity; }));
  EXPECT_EQ(a.findings.front().severity, Finding::Severity::problem);
}

TEST(Leads, CablesGoWhereTheyReachAsWellAsAnySharingOutCould) {
  std::uint64_t state = 5;
  const auto below = [&](int n) {
    state = state * 6364136223846793005ULL + 1442695040888963407ULL;
    return static_cast<int>((state >> 33) % static_cast<std::uint64_t>(n));
  };
  int served = 0, not_served = 0;
  for (int round = 0; round < 400; ++round) {
    std::vector<double> lacks(static_cast<std::size_t>(1 + below(4))), cables(static_cast<std::size_t>(below(5)));
    for (double& l : lacks) l = below(7) - 2;
    for (double& c : cables) c = below(6);
    // Every order of the cables, the first ones to the leads that lack something.
    std::vector<std::size_t> order(cables.size());
    for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
    bool possible = false;
    do {
      std::size_t next = 0;
      possible = possible || std::all_of(lacks.begin(), lacks.end(), [&](double lack) {
                   return lack <= 0 || (next < order.size() && cables[order[next++]] >= lack);
                 });
    } while (std::next_permutation(order.begin(), order.end()));
    const auto given = give_cables(lacks, cables);
    ASSERT_EQ(given.has_value(), possible);
    ++(possible ? served : not_served);
    if (!given) continue;
    std::vector<bool> used(cables.size(), false);
    for (std::size_t i = 0; i < lacks.size(); ++i) {
      const int k = (*given)[i];
      ASSERT_EQ(k >= 0, lacks[i] > 0);
      if (k < 0) continue;
      EXPECT_GE(cables[static_cast<std::size_t>(k)], lacks[i]);
      EXPECT_FALSE(used[static_cast<std::size_t>(k)]) << "each once";
      used[static_cast<std::size_t>(k)] = true;
    }
  }
  EXPECT_GT(served, 50);
  EXPECT_GT(not_served, 50);
}

TEST(Leads, RunAlongTheAxesWithALoopAtEveryJoint) {
  Machine m;
  brief::Body upper, boom;
  upper.id = "upper";
  upper.parent = 0;
  upper.joint = {brief::Joint::Type::slew, {0, 0, 80}, -1, 1};
  boom.id = "boom";
  boom.parent = 1;
  boom.joint = {brief::Joint::Type::pitch, {40, 0, 120}, 0, 1};
  m.brief.bodies.push_back(upper);
  m.brief.bodies.push_back(boom);
  brief::Placed hub;
  hub.id = "hub";
  hub.box = {{-10, -2, 4}, {-6, 2, 8}};  // its middle: (-8, 0, 6) half-pitches of 4 mm
  m.brief.placed = {hub};
  m.runs("luff", 100, 100);
  candidate::Drive drive;
  drive.motor = Machine::kMotor;
  drive.motors = 1;
  m.candidates[0].drives = {drive};
  const auto stand = [&](int body, const lattice::Point3& face) {
    auto problem = std::make_shared<routing::Problem>();
    routing::Terminal motor;
    motor.face = face;
    problem->inputs.resize(1);
    problem->inputs[0].motors = {motor};
    auto route = std::make_shared<candidate::Route>();
    route->problem = problem;
    route->layout.input = 0;
    route->body = body;
    m.candidates[0].route = route;
  };
  const auto ends = [&] { return lead_ends(m.brief, {{&m.brief.functions[0], &m.candidates[0]}}); };
  ASSERT_EQ(ends().size(), 1U);
  EXPECT_EQ(ends()[0].own_mm, 100);
  EXPECT_EQ(ends()[0].needs_mm, std::vector<double>{0}) << "where it stands is not known";
  stand(-1, {2, 3, 6});
  EXPECT_NEAR(ends()[0].needs_mm[0], 4 * (10 + 3 + 0), 1e-9);
  // On the boom's lattice, whose origin is its pivot: (40 + 20, 8, 120) mm against (-32, 0, 24), and two joints.
  stand(2, {5, 2, 0});
  EXPECT_NEAR(ends()[0].needs_mm[0], 92 + 8 + 96 + 2 * kLoop_mm, 1e-9);
  m.brief.placed[0].id = "another thing";
  EXPECT_EQ(ends()[0].needs_mm[0], 0) << "nobody told where the hub stands";
}

TEST(Leads, CablesThatFunctionsTakeAreNotFree) {
  Machine m;
  m.runs("luff", 100, 100);
  const std::vector<Chosen> chosen{{&m.brief.functions[0], &m.candidates[0]}};
  EXPECT_EQ(free_cables(m.brief, chosen).size(), 3U);
  m.candidates[0].demand.needs.push_back({{Machine::kCable}, 2, "cable", ""});
  EXPECT_EQ(free_cables(m.brief, chosen), std::vector<stock::ClassId>{Machine::kCable});
  EXPECT_EQ(length_mm(m.brief, Machine::kCable), 250);
  EXPECT_EQ(length_mm(m.brief, Machine::kMotor), 0) << "no cable";
}
