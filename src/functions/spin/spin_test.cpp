// Covers functions/spin: the search against brute force on a small stock, shared first stages, torque at the motor by
// an energy balance, the chance that it starts, the laws, cuts that are told, and what it says without gears.
#include "functions/spin/spin.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <map>
#include <set>

#include "functions/crawler/small_kit.h"
#include "functions/drive/placing.h"
#include "functions/spin/demand.h"
#include "functions/spin/search.h"
#include "routing/shaft_load.h"
#include "stock/catalogue.h"
#include "structure/torsion.h"

namespace drive = functions::drive;
namespace spin = functions::spin;
using brief::Parameter;

namespace {

const candidate::Kind kSpin = spin::kind();

const std::string kTwo =
    "most_stages = 2\n"
    "[[outputs]]\nname = \"fan\"\nratio = [0.3, 0.5]\n"
    "[[outputs]]\nname = \"drum\"\nrpm = [20, 60]\nturns = \"opposite\"\n"
    "friction_nmm = { low = 3, nominal = 6, high = 15 }\n";

spin::Wants wants_of(const std::string& toml, const brief::Brief& b) {
  document::Diagnostics diagnostics;
  const auto wants = kSpin.read(small_kit::function("spin", toml), b, diagnostics);
  EXPECT_TRUE(wants) << toml;
  return dynamic_cast<const spin::Wants&>(*wants);
}

/// The small machine with so few gears that everything can be tried.
brief::Brief scarce() {
  brief::Brief b = small_kit::machine();
  auto stock = std::make_shared<stock::Stock>(*b.stock);
  for (const auto& [id, count] : {std::pair{"gear_8", 2}, std::pair{"gear_12", 2}, std::pair{"gear_20", 1},
                                  std::pair{"gear_24", 2}, std::pair{"gear_40", 1}, std::pair{"bevel_12", 1},
                                  std::pair{"bevel_20", 1}, std::pair{"worm_1", 0}, std::pair{"motor_large", 0}})
    small_kit::set_count(*stock, *b.catalogue, id, count);
  b.stock = stock;
  return b;
}

}  // namespace

/// What the search finds on paper, before anything is laid out, made into candidates and thinned by domination.
std::vector<candidate::Candidate> on_paper(const std::string& toml, const brief::Function& f, const brief::Brief& b) {
  const spin::Wants wants = wants_of(toml, b);
  candidate::RejectionLog log;
  std::vector<candidate::Candidate> out;
  for (const double widen : {1.0, candidate::kNearMiss}) {
    for (const spin::Layout& layout : spin::search(f, wants, b, widen, log, {}).layouts) {
      candidate::Candidate c;
      c.nominal = spin::evaluate(layout, wants, b, 1, b.parameters.nominal());
      if (c.nominal.worst() < candidate::kNearMiss) continue;
      c.key = spin::key_of(layout, wants, *b.catalogue);
      c.demand = spin::demand_of(layout, wants, b, f);
      c.demand.running_current_ma = spin::told_current_ma(layout, wants, b, 1, b.parameters.nominal());
      if (drive::uses_all_wanted(f, c.demand)) out.push_back(std::move(c));
    }
    if (!out.empty()) break;
  }
  candidate::keep_non_dominated(out, *b.catalogue);
  return out;
}

// Second route: every way of giving each output a train of up to two meshes, with or without a first mesh in common,
// made into candidates and thinned by the definition of domination alone.
void expect_as_by_brute_force(const std::string& wide, const brief::Brief& b, std::set<double>& margins) {
  const spin::Wants wants = wants_of(wide, b);
  const brief::Function f = small_kit::function("spin", wide);
  const auto p = small_kit::propose(kSpin, f, b);
  ASSERT_TRUE(p.complete) << p.limit_text;

  const gearing::MeshTable table = gearing::find_meshes(*b.catalogue);
  const stock::ClassId motor = *b.catalogue->find("motor_small");
  std::vector<gearing::Mesh> meshes;
  for (const gearing::Mesh& m : table.meshes) {
    const bool ring = gearing::drives_ring(m.type);
    if (!ring && b.stock->count_of(m.driver) > 0 && b.stock->count_of(m.driven) > 0) meshes.push_back(m);
  }
  std::vector<gearing::Train> tails{{}};
  for (const gearing::Mesh& first : meshes) {
    tails.push_back({{first}});
    for (const gearing::Mesh& second : meshes) tails.push_back({{first, second}});
  }
  std::vector<candidate::Candidate> all;
  const auto consider = [&](const std::optional<gearing::Mesh>& shared, const gearing::Train& a, bool a_by,
                            const gearing::Train& c, bool c_by) {
    spin::Layout layout{motor, shared, {a, c}, {a_by, c_by}};
    for (std::size_t i = 0; i < 2; ++i) {
      if (!layout.by_shared[i]) continue;
      layout.path[i].stages.insert(layout.path[i].stages.begin(), *shared);
      if (layout.path[i].stages.size() > 2) return;
    }
    std::map<stock::ClassId, int> used;
    if (shared) ++used[shared->driver], ++used[shared->driven];
    for (std::size_t i = 0; i < 2; ++i) {
      for (std::size_t s = layout.by_shared[i] ? 1 : 0; s < layout.path[i].stages.size(); ++s)
        ++used[layout.path[i].stages[s].driver], ++used[layout.path[i].stages[s].driven];
    }
    for (const auto& [id, count] : used)
      if (count > b.stock->count_of(id)) return;
    const gearing::Train& drum = layout.path[1];
    if (drum.right_angles() == 0 && drum.ratio() > base::Rational(0)) return;
    candidate::Candidate made;
    made.nominal = spin::evaluate(layout, wants, b, 1, b.parameters.nominal());
    const auto& reached = made.nominal.margins;
    if (made.nominal.worst() < candidate::kNearMiss || reached[0].ratio < 1 || reached[1].ratio < 1) return;
    made.key = spin::key_of(layout, wants, *b.catalogue);
    made.demand = spin::demand_of(layout, wants, b, f);
    made.demand.running_current_ma = spin::told_current_ma(layout, wants, b, 1, b.parameters.nominal());
    all.push_back(std::move(made));
  };
  for (const gearing::Train& a : tails)
    for (const gearing::Train& c : tails) consider(std::nullopt, a, false, c, false);
  for (const gearing::Mesh& shared : meshes) {
    for (const gearing::Train& a : tails) {
      if (a.stages.size() > 1) continue;
      for (const gearing::Train& c : tails)
        if (c.stages.size() <= 1) consider(shared, a, true, c, true);
    }
  }
  ASSERT_GT(all.size(), 100u);
  candidate::keep_non_dominated(all, *b.catalogue);

  // Different layouts of the same needs and margins are one choice, so the sets of needs are compared.
  const auto sets = [](const std::vector<candidate::Candidate>& list) {
    std::set<std::vector<std::pair<std::vector<stock::ClassId>, int>>> out;
    for (const candidate::Candidate& c : list) {
      std::vector<std::pair<std::vector<stock::ClassId>, int>> needs;
      for (const candidate::Need& n : c.demand.needs) needs.emplace_back(n.accepts, n.count);
      std::sort(needs.begin(), needs.end());
      out.insert(needs);
    }
    return out;
  };
  const std::vector<candidate::Candidate> found = on_paper(wide, f, b);
  EXPECT_EQ(sets(found), sets(all));
  ASSERT_FALSE(found.empty());
  EXPECT_EQ(found.front().nominal.worst(), all.front().nominal.worst());
  for (const candidate::Candidate& c : found) margins.insert(c.nominal.worst());
  // What is laid out is some of it, and no better than the best.
  ASSERT_FALSE(p.candidates.empty());
  for (const candidate::Candidate& c : p.candidates) {
    EXPECT_LE(c.nominal.worst(), all.front().nominal.worst() * (1 + 1e-12)) << c.key;
    EXPECT_TRUE(c.route) << c.key;
  }
}

TEST(Spin, FindsExactlyTheNonDominatedLayoutsOfASmallStock) {
  const auto wide = [](double fan_nmm, double drum_nmm, const std::string& more) {
    const auto friction = [](double nmm) {
      const std::string text = std::to_string(nmm);
      return "friction_nmm = { low = " + text + ", nominal = " + text + ", high = " + text + " }\n";
    };
    return more + "most_stages = 2\n[[outputs]]\nname = \"fan\"\nratio = [0.15, 0.6]\n" + friction(fan_nmm) +
           "[[outputs]]\nname = \"drum\"\nrpm = [15, 190]\nturns = \"opposite\"\n" + friction(drum_nmm);
  };
  std::set<double> margins;
  expect_as_by_brute_force(wide(5, 5, ""), scarce(), margins);
  EXPECT_EQ(*margins.rbegin(), candidate::kMarginCap);
  // Heavy outputs: the stall reserve governs, and the drum falls below its range under some loads.
  margins.clear();
  expect_as_by_brute_force(wide(25, 40, ""), scarce(), margins);
  EXPECT_GT(margins.size(), 5u);
  EXPECT_LT(*margins.rbegin(), candidate::kMarginCap);
  margins.clear();
  expect_as_by_brute_force(wide(3, 90, "sticking = 1.1\n"), scarce(), margins);
  EXPECT_GT(margins.size(), 5u);
}

// Second route: power. What the outputs take per turn of the motor, mesh by mesh from the far end, is the motor's
// torque.
TEST(Spin, MotorTorqueBalancesTheWorkOfTheOutputs) {
  const brief::Brief b = small_kit::machine();
  const spin::Wants wants = wants_of(kTwo, b);
  const auto found =
      spin::search(small_kit::function("spin", kTwo), wants, b, 1, *std::make_unique<candidate::RejectionLog>(), {});
  ASSERT_FALSE(found.layouts.empty());
  const gearing::MeshEfficiencies losses{0.93, 0.93, 0.93, 0.93, 0.2, 0.02};
  int shared = 0;
  for (const spin::Layout& l : found.layouts) {
    shared += l.shared ? 1 : 0;
    double motor_nmm = 0;
    for (std::size_t i = 0; i < 2; ++i) {
      double torque = (i == 0 ? 5.0 : 6.0) / 0.98;  // nominal friction, over its own bearing
      for (auto s = l.path[i].stages.rbegin(); s != l.path[i].stages.rend(); ++s)
        torque = torque * std::fabs(s->ratio.value()) / gearing::forward_efficiency(*s, losses) / 0.98;
      motor_nmm += torque;
    }
    EXPECT_NEAR(spin::motor_torque_nmm(l, wants, b.parameters, b.parameters.nominal(), losses), motor_nmm,
                1e-9 * motor_nmm);
  }
  EXPECT_GT(shared, 0);
}

// Second route: virtual work (unit-load method, Timoshenko, Strength of Materials I, energy chapter). Without losses
// the torque in every slice of every axle is that of the outputs beyond it; an output's turn is the sum over all slices
// of that torque times the one that a unit torque at the output alone would make there, times length / (G K).
TEST(Spin, WindUpOfEveryOutputIsTheVirtualWorkOfItsUnitTorque) {
  brief::Brief b = small_kit::machine();
  for (const Parameter p : {Parameter::spur_efficiency, Parameter::bevel_efficiency, Parameter::crown_efficiency,
                            Parameter::ring_efficiency})
    small_kit::fix(b, p, 1);
  small_kit::fix(b, Parameter::bearing_loss, 0);
  const spin::Wants wants = wants_of(kTwo, b);
  const candidate::Proposal p = kSpin.propose(small_kit::function("spin", kTwo), wants, b, {});
  const structure::Section section = structure::section_of(b.system().axle);
  const double stiffness_nmm2 =
      b.parameters.nominal()[Parameter::axle_shear_modulus_mpa] * structure::torsion_constant_mm4(section);
  int compared = 0, shared = 0;
  for (const candidate::Candidate& c : p.candidates) {
    if (!c.route) continue;
    const drive::Placed placed{nullptr, c.route->problem, std::make_shared<const routing::Layout>(c.route->layout), {}};
    const auto paths = drive::paths_of(placed);
    const auto spans = routing::shaft_spans(*placed.problem, *placed.layout);
    const routing::Layout& l = *placed.layout;
    const auto has_worm = [&](int mesh) {
      const routing::PlacedMesh& m = l.meshes[static_cast<std::size_t>(mesh)];
      return placed.problem->kit.pairs[static_cast<std::size_t>(m.pair)].type == routing::PairType::worm;
    };
    if (std::any_of(paths.begin(), paths.end(),
                    [&](const auto& path) { return std::any_of(path.begin(), path.end(), has_worm); }))
      continue;  // a worm loses by its friction
    // Torque in a slice of a shaft for one newton millimetre at one output.
    const auto teeth = [&](int wheel) {
      return placed.problem->kit.wheels[static_cast<std::size_t>(l.wheels[static_cast<std::size_t>(wheel)].wheel)]
          .teeth;
    };
    const auto unit = [&](std::size_t output, std::size_t shaft, double at_mm) {
      double torque = 1;
      const std::vector<int>& path = paths[output];
      for (std::size_t i = path.size() + 1; i-- > 0;) {
        if (i < path.size()) {
          const routing::PlacedMesh& m = l.meshes[static_cast<std::size_t>(path[i])];
          torque *= static_cast<double>(teeth(m.driver)) / teeth(m.driven);
        }
        const int in = i > 0 ? l.meshes[static_cast<std::size_t>(path[i - 1])].driven : -1;
        const int out = i < path.size() ? l.meshes[static_cast<std::size_t>(path[i])].driver : -1;
        if ((in < 0 ? 0 : l.wheels[static_cast<std::size_t>(in)].shaft) != static_cast<int>(shaft)) continue;
        double far_mm = 0;
        bool inside = false;
        for (const routing::Twist& t : spans[shaft].twists) {
          if (t.from_wheel != in || t.to_wheel != out || t.length_mm < far_mm) continue;
          far_mm = t.length_mm;
          inside = at_mm > std::min(t.from_mm, t.to_mm) && at_mm < std::max(t.from_mm, t.to_mm);
        }
        if (inside) return torque;
      }
      return 0.0;
    };
    for (std::size_t o = 0; o < 2; ++o) {
      double turn_rad = 0;
      for (std::size_t s = 0; s < l.shafts.size(); ++s) {
        std::vector<double> cuts;
        for (const routing::Twist& t : spans[s].twists) cuts.insert(cuts.end(), {t.from_mm, t.to_mm});
        std::sort(cuts.begin(), cuts.end());
        for (std::size_t k = 1; k < cuts.size(); ++k) {
          const double middle_mm = (cuts[k] + cuts[k - 1]) / 2;
          const double first = unit(0, s, middle_mm), second = unit(1, s, middle_mm);
          const double real_nmm = wants.sticking * (5.0 * first + 6.0 * second);  // nominal friction of fan and drum
          turn_rad += real_nmm * (o == 0 ? first : second) * (cuts[k] - cuts[k - 1]) / stiffness_nmm2;
          shared += first > 0 && second > 0 && cuts[k] > cuts[k - 1] ? 1 : 0;
        }
      }
      const double told_deg = small_kit::figure(c, std::string("wind-up, felt at ") + (o == 0 ? "fan" : "drum"));
      EXPECT_NEAR(told_deg * small_kit::kDeg, turn_rad, 1e-9 + 1e-6 * turn_rad) << c.key;
      ++compared;
    }
  }
  EXPECT_GT(compared, 0);
  EXPECT_GT(shared, 0) << "some axle is twisted by both";
}

TEST(Spin, ASharedFirstStageSavesParts) {
  brief::Brief b = scarce();
  // Both outputs need a train of two meshes; with one 8 and one 40 only a shared 8:40 serves them.
  const std::string slow =
      "most_stages = 2\n[[outputs]]\nname = \"a\"\nratio = [0.06, 0.11]\n[[outputs]]\nname = \"b\"\nratio = [0.06, "
      "0.125]\n";
  auto stock = std::make_shared<stock::Stock>(*b.stock);
  small_kit::set_count(*stock, *b.catalogue, "gear_8", 1);
  b.stock = stock;
  const auto with = small_kit::propose(kSpin, small_kit::function("spin", slow), b);
  ASSERT_FALSE(with.candidates.empty());
  for (const candidate::Candidate& c : with.candidates) EXPECT_NE(c.title.find("shared"), std::string::npos) << c.title;
  const auto without = small_kit::propose(kSpin, small_kit::function("spin", "shared_stage = false\n" + slow), b);
  EXPECT_TRUE(std::none_of(without.candidates.begin(), without.candidates.end(),
                           [](const candidate::Candidate& c) { return c.nominal.worst() >= 1; }));
}

TEST(Spin, RatiosAreExactAtTheEndsOfTheirRange) {
  const brief::Brief b = small_kit::machine();
  const auto at = [&](const std::string& range) {
    return small_kit::propose(
        kSpin, small_kit::function("spin", "most_stages = 1\n[[outputs]]\nname = \"a\"\nratio = " + range + "\n"), b);
  };
  const auto exact = at("[0.2, 0.2]");     // 8:40
  ASSERT_EQ(exact.candidates.size(), 2u);  // on either motor
  EXPECT_EQ(exact.candidates.front().nominal.worst(), candidate::kMarginCap);
  EXPECT_EQ(small_kit::figure(exact.candidates.front(), "ratio of a"), -0.2);
  const auto beside = at("[0.2001, 0.2002]");  // nothing: a near miss says by how much
  ASSERT_FALSE(beside.candidates.empty());
  EXPECT_LT(beside.candidates.front().nominal.worst(), 1);
  EXPECT_NEAR(beside.candidates.front().nominal.worst(), 0.2 / 0.2001, 1e-12);
}

// Second route: the share counted from the draws with the torque written out.
TEST(Spin, ChanceThatItStartsIsTheShareOfDraws) {
  brief::Brief b = small_kit::machine();
  const std::string heavy =
      "most_stages = 1\nsticking = 1.5\n[[outputs]]\nname = \"a\"\nratio = [1, 1]\n"
      "friction_nmm = { low = 5, nominal = 25, high = 45 }\n";
  brief::Function f = small_kit::function("spin", heavy);
  f.must_use = {*b.catalogue->find("motor_small")};
  const auto p = small_kit::propose(kSpin, f, b);
  ASSERT_FALSE(p.candidates.empty());
  int started = 0;
  for (int k = 0; k < b.draws; ++k) {
    const brief::Sample s = b.parameters.draw(b.seed, static_cast<std::uint64_t>(k));
    const double x = s[Parameter::pin_friction];
    const double load = x < 0.2 ? 25 - 20 * (0.2 - x) / 0.1 : 25 + 20 * (x - 0.2) / 0.2;
    // stall torque falls with the supply: the winding's stall current with it, less the no-load current
    const double current = 0.8 * s[Parameter::supply_voltage_factor];
    const double stall = 40 * s[Parameter::motor_torque_factor] * (current - 0.05) / (0.8 - 0.05);
    started += 1.5 * load / (1 - s[Parameter::bearing_loss]) <= stall ? 1 : 0;
  }
  const auto direct = std::find_if(p.candidates.begin(), p.candidates.end(), [](const candidate::Candidate& c) {
    return c.key.find("direct") != std::string::npos;
  });
  ASSERT_NE(direct, p.candidates.end());
  const double chance = small_kit::figure(*direct, "chance that it starts");
  EXPECT_GT(chance, 5);
  EXPECT_LT(chance, 95);
  EXPECT_DOUBLE_EQ(chance, 100.0 * started / b.draws);
}

TEST(Spin, ObeysTheLawsOfAKind) {
  small_kit::expect_laws(kSpin, small_kit::function("spin", kTwo), scarce());
}

TEST(Spin, TwoSidesNeedExactlyTwiceOne) {
  small_kit::expect_mirror(kSpin, small_kit::function("spin", kTwo), small_kit::machine());
}

// Second route: the full search of the same stock. What is cut is told with a bound that the full search keeps.
TEST(Spin, WhatIsCutIsToldWithABoundOnWhatItCouldHaveGained) {
  const brief::Brief b = small_kit::machine();
  const spin::Wants wants = wants_of(kTwo, b);
  const brief::Function f = small_kit::function("spin", kTwo);
  candidate::RejectionLog log;
  const auto best = [&](const spin::Found& found) {
    double margin = 0;
    for (const spin::Layout& l : found.layouts)
      margin = std::max(margin, spin::evaluate(l, wants, b, 1, b.parameters.nominal()).worst());
    return margin;
  };
  const auto cut = spin::search(f, wants, b, 1, log, {}, {200, 4000});
  EXPECT_FALSE(cut.complete);
  EXPECT_GT(cut.left_out, 0);
  ASSERT_FALSE(cut.layouts.empty());
  const auto all = spin::search(f, wants, b, 1, log, {});
  EXPECT_TRUE(all.complete);
  EXPECT_EQ(spin::limit_text(all, best(all)), "");
  EXPECT_GT(all.layouts.size(), cut.layouts.size());
  EXPECT_LE(best(all), std::max(best(cut), cut.best_left_out));
  EXPECT_NE(spin::limit_text(cut, best(cut)).find(std::to_string(cut.left_out)), std::string::npos);
  EXPECT_NE(spin::limit_text(cut, cut.best_left_out).find("none could have a better margin"), std::string::npos);
  EXPECT_NE(spin::limit_text(cut, cut.best_left_out / 2).find("none could exceed"), std::string::npos);
}

TEST(Spin, CarriesThePartOnItsAxle) {
  const brief::Brief b = small_kit::machine();
  const auto p = small_kit::propose(
      kSpin,
      small_kit::function("spin",
                          "most_stages = 1\n[[outputs]]\nname = \"a\"\nratio = [0.2, 0.4]\ncarries = \"fan\"\n"),
      b);
  ASSERT_FALSE(p.candidates.empty());
  const std::vector<stock::ClassId> fan{*b.catalogue->find("fan")};
  for (const candidate::Candidate& c : p.candidates)
    EXPECT_EQ(std::count_if(c.demand.needs.begin(), c.demand.needs.end(),
                            [&](const candidate::Need& n) { return n.accepts == fan && n.count == 1; }),
              1);
}

TEST(Spin, WithoutGearsItSaysWhatIsNearest) {
  brief::Brief b = scarce();
  auto stock = std::make_shared<stock::Stock>(*b.stock);
  for (const char* id : {"gear_8", "gear_12", "gear_20", "bevel_12", "bevel_20"})
    small_kit::set_count(*stock, *b.catalogue, id, 0);
  b.stock = stock;
  const auto p = small_kit::propose(
      kSpin, small_kit::function("spin", "most_stages = 1\n[[outputs]]\nname = \"fan\"\nratio = [0.05, 0.1]\n"), b);
  EXPECT_TRUE(p.candidates.empty());
  const candidate::Rejection* r = small_kit::rejection(p, "spin.no_train.fan");
  ASSERT_NE(r, nullptr);
  EXPECT_NE(r->text.find("0.6"), std::string::npos) << r->text;  // 24:40
  EXPECT_NEAR(r->shortfall, 0.6 / 0.1 - 1, 1e-6);
}

TEST(SpinWants, ReportsEveryProblemAtItsPlace) {
  const auto f = small_kit::function("spin",
                                     "[[outputs]]\nname = \"a\"\n[[outputs]]\nname = \"a\"\nratio = [1, 2]\nrpm = [1, "
                                     "2]\ncarries = \"fann\"\nturns = \"sideways\"\n");
  const auto found = small_kit::problems(kSpin, f, small_kit::machine());
  const std::vector<std::string> expected{"spin.duplicate_name 4 /outputs/1/name", "spin.speed 5 /outputs/1/ratio",
                                          "spin.unknown_part 7 /outputs/1/carries"};
  for (const std::string& e : expected)
    EXPECT_NE(std::find(found.begin(), found.end(), e), found.end()) << e << ::testing::PrintToString(found);
  EXPECT_EQ(found.size(), 5u) << ::testing::PrintToString(found);
}

namespace {

/// A machine of the metric kit system with a large kit's gears; the counts are invented.
brief::Brief large_kit() {
  document::Diagnostics diagnostics;
  const auto catalogue = stock::read_catalogue(KW_SOURCE_DIR "/catalogue/metric8", diagnostics);
  EXPECT_TRUE(catalogue.has_value());
  stock::Stock stock = small_kit::plenty(*catalogue, 8);
  for (stock::StockType& t : stock.types) {
    if (catalogue->at(t.part).family == stock::Family::gear) t.count = 0;
  }
  for (const auto& [id, count] :
       {std::pair{"gear_8", 6}, std::pair{"gear_12", 4}, std::pair{"gear_16", 4}, std::pair{"gear_20", 4},
        std::pair{"gear_24", 4}, std::pair{"gear_28", 2}, std::pair{"gear_36", 2}, std::pair{"gear_40", 3},
        std::pair{"bevel_12", 5}, std::pair{"bevel_20", 2}, std::pair{"crown_24", 1}, std::pair{"worm_1", 1}})
    small_kit::set_count(stock, *catalogue, id, count);
  brief::Brief b = small_kit::machine();
  small_kit::use(b, *catalogue, std::move(stock));
  return b;
}

std::map<stock::ClassId, int> gears_of(const candidate::Candidate& c, const stock::Catalogue& catalogue) {
  std::map<stock::ClassId, int> out;
  for (const candidate::Need& n : c.demand.needs) {
    if (catalogue.at(n.accepts.front()).family == stock::Family::gear) out[n.accepts.front()] += n.count;
  }
  return out;
}

}  // namespace

TEST(Spin, SearchesALargeKitToTheEnd) {
  const brief::Brief b = large_kit();
  for (const char* toml :
       {"most_stages = 2\noutputs = [{ name = \"fan\", rpm = [150, 600] }, { name = \"beacon\", rpm = "
        "[20, 90] }]\n",
        "most_stages = 2\noutputs = [{ name = \"fan\", rpm = [200, 700] }, { name = \"crank\", rpm = "
        "[30, 120] }]\n",
        "outputs = [{ name = \"striker\", rpm = [40, 140] }]\n"}) {
    const auto p = small_kit::propose(kSpin, small_kit::function("spin", toml), b);
    EXPECT_TRUE(p.complete) << toml << p.limit_text;
    EXPECT_EQ(p.limit_text, "");
    ASSERT_FALSE(p.candidates.empty()) << toml;
    std::set<std::string> keys;
    for (const candidate::Candidate& c : p.candidates) {
      EXPECT_TRUE(keys.insert(c.key).second) << c.key;
      EXPECT_EQ(std::fmod(c.demand.running_current_ma, spin::kCurrentStepMa), 0);
      EXPECT_GE(c.demand.running_current_ma, c.nominal.running_current_ma * (1 - 1e-9)) << c.key;
      EXPECT_LE(c.demand.running_current_ma, c.nominal.running_current_ma + 3 * spin::kCurrentStepMa) << c.key;
    }
  }
}

// Second route: the pairs of gears that mesh at a ratio inside the range, from the mesh table alone. Each is listed,
// and a longer train that holds one is listed only for a better margin or less current.
TEST(Spin, OfAmpleTrainsOnlyThoseWithTheFewestGearsStay) {
  const brief::Brief b = large_kit();
  const std::string toml = "most_stages = 2\noutputs = [{ name = \"a\", ratio = [0.2, 0.45] }]\n";
  brief::Function f = small_kit::function("spin", toml);
  f.must_use = {*b.catalogue->find("motor_large")};
  const std::vector<candidate::Candidate> found = on_paper(toml, f, b);
  int pairs = 0, longer = 0;
  for (const gearing::Mesh& m : gearing::find_meshes(*b.catalogue).meshes) {
    const double ratio = std::fabs(m.ratio.value());
    if (gearing::drives_ring(m.type) || ratio < 0.2 || ratio > 0.45) continue;
    std::map<stock::ClassId, int> pair;
    ++pair[m.driver];
    ++pair[m.driven];
    if (b.stock->count_of(m.driver) < pair[m.driver] || b.stock->count_of(m.driven) < pair[m.driven]) continue;
    const auto listed =
        std::find_if(found.begin(), found.end(), [&](const auto& c) { return gears_of(c, *b.catalogue) == pair; });
    ASSERT_NE(listed, found.end()) << m.driver_teeth << ":" << m.driven_teeth;
    ++pairs;
    for (const candidate::Candidate& c : found) {
      const auto gears = gears_of(c, *b.catalogue);
      const bool holds = std::all_of(pair.begin(), pair.end(), [&](const auto& need) {
        const auto at = gears.find(need.first);
        return at != gears.end() && at->second >= need.second;
      });
      if (gears == pair) continue;
      ++longer;
      EXPECT_TRUE(!holds || c.nominal.worst() > listed->nominal.worst() ||
                  c.demand.running_current_ma < listed->demand.running_current_ma)
          << c.key << " holds " << listed->key;
    }
  }
  EXPECT_GT(pairs, 3);
  EXPECT_GT(longer, pairs * pairs);
}

TEST(Spin, ProposesFromTheMetricKitSystem) {
  document::Diagnostics diagnostics;
  const auto catalogue = stock::read_catalogue(KW_SOURCE_DIR "/catalogue/metric8", diagnostics);
  ASSERT_TRUE(catalogue.has_value());
  brief::Brief b = small_kit::machine();
  small_kit::use(b, *catalogue, small_kit::plenty(*catalogue, 2));
  const auto p = small_kit::propose(kSpin, small_kit::function("spin", kTwo), b);
  ASSERT_FALSE(p.candidates.empty());
  EXPECT_EQ(p.complete, p.limit_text.empty());
  EXPECT_GE(p.candidates.front().nominal.worst(), 1);
}
