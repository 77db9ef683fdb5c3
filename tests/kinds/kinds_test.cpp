// The laws every kind must keep, run over the list of kinds on the functions of the example projects: nobody adds a
// kind without an example, and no kind is named here.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <map>
#include <memory>
#include <set>

#include "assembly/checker.h"
#include "assembly/order.h"
#include "candidate/running.h"
#include "design/building.h"
#include "design/design.h"
#include "design/read.h"
#include "document/toml_reader.h"
#include "functions/kinds.h"
#include "routing/checker.h"

namespace {

namespace fs = std::filesystem;
using candidate::Candidate;
using candidate::Proposal;

const fs::path kSource = KW_SOURCE_DIR;

struct Case {
  std::string project;
  std::shared_ptr<const brief::Brief> brief;
  brief::Function function;
  const candidate::Kind* kind = nullptr;
};

/// Ways of serving a kind that no example asks for, in the place of one of its functions.
struct Variant {
  const char* project;
  const char* function;
  const char* wants;
  int lower_p;  ///< its room reaches so much further down
};
constexpr Variant kVariants[] = {
    {"floodlight_cart", "legs",
     "foot_mm = [160, 56]\nlegs = 4\nswing = \"lengthways\"\nway = \"slides\"\nlifts = false\nguide_p = 3\ntime_s = "
     "20\n"
     "most_stages = 1\n",
     0},
    {"floodlight_cart", "legs",
     "foot_mm = [160, 56]\nlegs = 4\nswing = \"lengthways\"\nway = \"slides\"\nlift_mm = 3\nfoot_tolerance_mm = 20\n"
     "time_s = 20\nmost_stages = 1\n",
     0},
    {"tow_tractor", "steering",
     "angle_deg = 30\ntime_s = 3\nwheel = \"wheel_48\"\nmax_error_deg = 4\nby = \"rack\"\nstops = "
     "\"soft\"\nmost_stages = 1\n",
     4},
};

/// Every function of every example project, and the variants.
const std::vector<Case>& cases() {
  static const std::vector<Case> all = [] {
    std::vector<Case> out, variants;
    std::vector<fs::path> folders;
    for (const auto& entry : fs::directory_iterator(kSource / "examples")) {
      if (fs::exists(entry.path() / "project.toml")) folders.push_back(entry.path());
    }
    std::sort(folders.begin(), folders.end());
    for (const fs::path& folder : folders) {
      design::Options options;
      options.project = folder.string();
      options.catalogue = (kSource / "catalogue").string();
      document::Diagnostics diagnostics;
      const auto brief = design::read_brief(options, diagnostics);
      for (const document::Diagnostic& d : diagnostics.sorted()) {
        if (d.severity == document::Severity::error) ADD_FAILURE() << document::text_of(d);
      }
      if (!brief) continue;
      for (const brief::Function& f : brief->functions) {
        out.push_back({folder.filename().string(), brief, f, functions::find_kind(f.kind)});
        for (const Variant& v : kVariants) {
          if (folder.filename() != v.project || f.id != v.function) continue;
          Case c = out.back();
          document::Diagnostics wrong;
          auto wants = document::parse_toml(v.wants, "variant.toml", wrong);
          EXPECT_TRUE(wants.has_value()) << v.wants;
          if (!wants) continue;
          c.function.wants = std::move(*wants);
          if (c.function.room) c.function.room->low.z_hp -= 2 * v.lower_p;
          variants.push_back(std::move(c));
        }
      }
    }
    out.insert(out.end(), variants.begin(), variants.end());
    return out;
  }();
  return all;
}

std::string name_of(const Case& c) {
  return c.project + "/" + c.function.id + " (" + c.function.kind + ")";
}

Proposal propose(const Case& c, const brief::Brief& brief, const brief::Function& function, int jobs = 1) {
  document::Diagnostics diagnostics;
  const auto wants = c.kind->read(function, brief, diagnostics);
  EXPECT_NE(wants, nullptr) << name_of(c);
  if (!wants) return {};
  base::RunControl control;
  control.jobs = jobs;
  return c.kind->propose(function, *wants, brief, control);
}

/// Everything of a proposal that a result may depend on, in words. Class indices are written as ids, so that two stocks
/// or catalogues compare.
std::string print(const Proposal& p, const stock::Catalogue& catalogue) {
  std::string out = fmt::format("examined {} complete {}\n", p.examined, p.complete);
  for (const Candidate& c : p.candidates) {
    out += c.key + "\n";
    for (const candidate::Margin& m : c.nominal.margins)
      out += fmt::format("  {} {:.12g} {}\n", m.name, m.ratio, m.note);
    for (const candidate::Need& n : c.demand.needs) {
      out += fmt::format("  {} x", n.count);
      for (const stock::ClassId id : n.accepts) out += " " + catalogue.at(id).id;
      out += "\n";
    }
  }
  for (const candidate::Rejection& r : p.rejections) out += fmt::format("- {} {} {}\n", r.code, r.count, r.text);
  return out;
}

/// Parts of a drive's frame: they follow from its layout, and more stock may give a better drive another frame.
bool frame_part(stock::Family f) {
  return f == stock::Family::axle || f == stock::Family::bush || f == stock::Family::beam || f == stock::Family::pin ||
         f == stock::Family::joiner;
}

/// Idlers follow from the layout too: how often a class of wheel is driven and drives at once.
std::map<int, int> idlers_of(const Candidate& c) {
  std::map<int, int> out;
  if (!c.route) return out;
  const routing::Layout& l = c.route->layout;
  std::set<int> driven, counted;
  for (const routing::PlacedMesh& m : l.meshes) {
    if (driven.contains(m.driver) && counted.insert(m.driver).second)
      ++out[c.route->problem->kit.wheels[static_cast<std::size_t>(l.wheels[static_cast<std::size_t>(m.driver)].wheel)]
                .id];
    driven.insert(m.driven);
  }
  return out;
}

/// What two candidates are compared by, worked out once each.
struct Weighed {
  double worst = 0, mass_g = 0;
  int ports = 0;
  std::map<std::vector<stock::ClassId>, int> needs;
};

std::vector<Weighed> weighed(const Proposal& p, const stock::Catalogue& catalogue) {
  std::vector<Weighed> out;
  for (const Candidate& c : p.candidates) {
    candidate::Demand own = c.demand;
    std::erase_if(own.needs, [&](const candidate::Need& n) { return frame_part(catalogue.at(n.accepts[0]).family); });
    const int copies = c.route ? c.route->problem->kit.copies : 1;
    for (const auto& [id, count] : idlers_of(c)) {
      for (candidate::Need& n : own.needs)
        if (n.accepts == std::vector{stock::ClassId{id}}) n.count -= count * copies;
    }
    std::erase_if(own.needs, [](const candidate::Need& n) { return n.count == 0; });
    Weighed w{c.nominal.worst(), candidate::parts_mass_g(own, catalogue), c.demand.ports, {}};
    for (const candidate::Need& n : own.needs) w.needs[n.accepts] += n.count;
    out.push_back(std::move(w));
  }
  return out;
}

/// Whether `a` serves whatever `b` serves at no more of anything.
bool at_least_as_good(const Weighed& a, const Weighed& b) {
  if (a.worst < b.worst * (1 - 1e-9) || a.ports > b.ports || a.mass_g > b.mass_g * (1 + 1e-9)) return false;
  return std::all_of(a.needs.begin(), a.needs.end(), [&](const auto& need) {
    const auto it = b.needs.find(need.first);
    return it != b.needs.end() && need.second <= it->second;
  });
}

}  // namespace

TEST(Kinds, EachHasAnExampleAFolderAndDocumentedFields) {
  for (const candidate::Kind& kind : functions::kinds()) {
    const std::string name(kind.name);
    EXPECT_FALSE(kind.summary.empty()) << name;
    EXPECT_TRUE(fs::exists(kSource / "src" / "functions" / name / "README.md")) << name;
    for (const document::FieldDoc& f : kind.fields()) {
      EXPECT_FALSE(f.doc.empty()) << name << "." << f.key;
      // A number says its unit by its key.
      if (f.key.ends_with("_mm")) {
        EXPECT_EQ(f.unit, "mm") << name << "." << f.key;
      }
    }
    EXPECT_TRUE(std::any_of(cases().begin(), cases().end(), [&](const Case& c) { return c.function.kind == name; }))
        << "no example project uses the kind " << name;
  }
  EXPECT_EQ(functions::find_kind("no_such_kind"), nullptr);
}

TEST(Kinds, UnknownKeysAreRefusedAtTheirPlace) {
  for (const Case& c : cases()) {
    ASSERT_NE(c.kind, nullptr) << name_of(c);
    brief::Function f = c.function;
    document::Entry stranger;
    stranger.key = "no_such_key";
    stranger.key_where = {"project.toml", 77, 3};
    stranger.value.kind = document::Node::Kind::integer;
    stranger.value.where = {"project.toml", 77, 17};
    stranger.value.path = "/functions/0/wants/no_such_key";
    f.wants.entries.push_back(stranger);
    document::Diagnostics diagnostics;
    EXPECT_EQ(c.kind->read(f, *c.brief, diagnostics), nullptr) << name_of(c);
    const auto list = diagnostics.sorted();
    EXPECT_TRUE(std::any_of(list.begin(), list.end(), [](const auto& d) { return d.where.line == 77; })) << name_of(c);
  }
}

TEST(Kinds, CandidatesAreServedEvaluatedAndLaidOut) {
  int judged = 0;
  for (const Case& c : cases()) {
    const Proposal p = propose(c, *c.brief, c.function);
    EXPECT_TRUE(p.complete) << name_of(c) << ": " << p.limit_text;
    if (p.candidates.empty()) {
      EXPECT_FALSE(p.rejections.empty()) << name_of(c) << " proposes nothing and does not say why";
    }
    std::map<std::string, int> keys;
    for (const Candidate& cand : p.candidates) {
      EXPECT_EQ(++keys[cand.key], 1) << name_of(c) << " repeats " << cand.key;
      EXPECT_GE(cand.nominal.worst(), candidate::kNearMiss) << name_of(c);
      EXPECT_FALSE(cand.nominal.margins.empty()) << name_of(c);
      EXPECT_EQ(cand.demand.running_current_ma > 0, cand.demand.ports > 0) << name_of(c) << " " << cand.key;
      for (const candidate::Need& n : cand.demand.needs) {
        int have = 0;
        for (const stock::ClassId id : n.accepts) have += c.brief->stock->count_of(id);
        EXPECT_LE(n.count, have) << name_of(c) << " " << cand.key << ": " << n.label;
      }
      // What has neither motor nor gear (a pin, a bar that is pushed) has no train to lay out.
      const bool driven =
          std::any_of(cand.demand.needs.begin(), cand.demand.needs.end(), [&](const candidate::Need& n) {
            const stock::Family family = c.brief->catalogue->at(n.accepts[0]).family;
            return family == stock::Family::motor || family == stock::Family::gear;
          });
      if (!driven) {
        EXPECT_FALSE(cand.route) << name_of(c) << " " << cand.key;
        continue;
      }
      // An independent judge approves the layout of every train.
      ASSERT_TRUE(cand.route) << name_of(c) << " " << cand.key;
      EXPECT_FALSE(cand.cells.empty()) << name_of(c) << " " << cand.key;
      const std::vector<std::string> faults = routing::check(*cand.route->problem, cand.route->layout);
      EXPECT_TRUE(faults.empty()) << name_of(c) << " " << cand.key << ": " << (faults.empty() ? "" : faults.front());
      // Another one that its parts can be put in one after the other.
      const assembly::Order order = assembly::order_of(*cand.route->problem, cand.route->layout);
      const std::vector<std::string> blocked = assembly::check(*cand.route->problem, cand.route->layout, order);
      EXPECT_TRUE(blocked.empty()) << name_of(c) << " " << cand.key << ": " << (blocked.empty() ? "" : blocked.front());
      EXPECT_TRUE(order.complete()) << name_of(c) << " " << cand.key << ": " << order.locked.text;
      ++judged;
    }
    for (std::size_t i = 0; i < p.candidates.size(); i += 1 + p.candidates.size() / 12) {
      const Candidate& cand = p.candidates[i];
      const candidate::Evaluation again = cand.evaluate(c.brief->parameters.nominal());
      ASSERT_EQ(again.margins.size(), cand.nominal.margins.size()) << name_of(c);
      for (std::size_t k = 0; k < again.margins.size(); ++k) {
        EXPECT_EQ(again.margins[k].name, cand.nominal.margins[k].name);
        EXPECT_NEAR(again.margins[k].ratio, cand.nominal.margins[k].ratio, 1e-9 * (1 + cand.nominal.margins[k].ratio))
            << name_of(c) << " " << cand.key << " " << again.margins[k].name;
      }
      const candidate::Evaluation drawn = cand.evaluate(c.brief->parameters.draw(c.brief->seed, 5));
      ASSERT_EQ(drawn.margins.size(), cand.nominal.margins.size());
      EXPECT_EQ(drawn.worst(), cand.evaluate(c.brief->parameters.draw(c.brief->seed, 5)).worst());
    }
  }
  EXPECT_GT(judged, 100);
}

TEST(Kinds, DrivesTellWhatTheDemandAsksFor) {
  int told = 0, mirrored = 0;
  for (const Case& c : cases()) {
    const Proposal p = propose(c, *c.brief, c.function);
    const brief::Sample nominal = c.brief->parameters.nominal();
    for (std::size_t i = 0; i < p.candidates.size(); i += 1 + p.candidates.size() / 12) {
      const Candidate& cand = p.candidates[i];
      if (cand.demand.ports == 0) continue;
      int motors = 0;
      for (const candidate::Drive& d : cand.drives) {
        const std::string where = name_of(c) + " " + cand.key + " " + d.name;
        motors += d.motors;
        EXPECT_LT(d.channel, cand.demand.channels) << where;
        ASSERT_FALSE(d.at.empty()) << where;
        EXPECT_TRUE(std::is_sorted(d.at.begin(), d.at.end())) << where;
        EXPECT_EQ(d.endless, d.at.size() == 1) << where;
        for (const auto* table : {&d.per_rad, &d.plus_nmm, &d.minus_nmm, &d.plus_free_nmm, &d.minus_free_nmm})
          ASSERT_EQ(table->size(), d.at.size()) << where;
        EXPECT_GT(*std::min_element(d.per_rad.begin(), d.per_rad.end()), 0) << where;
        if (!d.endless) {
          EXPECT_GE(d.start, d.at.front() - 1e-9) << where;
          EXPECT_LE(d.start, d.at.back() + 1e-9) << where;
        }
        EXPECT_FALSE(d.moves.empty() || d.plus.empty() || d.minus.empty()) << where;
        EXPECT_GE(candidate::heaviest_motor_nmm(d), candidate::motor_load(d, 1).peak_nmm) << where;
        // Its peak at its load is the running current of the demand, told in steps; a crawler's is that on the level.
        const motor::Constants m = candidate::motor_constants(d, *c.brief, nominal);
        const double peak_ma =
            1000 * (m.no_load_current_a + candidate::motor_load(d, 1).peak_nmm / m.torque_nmm_per_a) * d.motors;
        EXPECT_LE(peak_ma, cand.demand.running_current_ma * 1.001 + 1) << where;
        ++told;
      }
      EXPECT_EQ(motors, cand.demand.ports) << name_of(c) << " " << cand.key;
      // Mirrored drives on channels of their own: seen on their shafts the motors turn opposite ways, but for each worm
      // once more, because it stays right-handed.
      if (cand.drives.size() == 2 && cand.drives[0].name == "left") {
        int way = -1;
        for (std::size_t at = cand.key.find(":worm"); at != std::string::npos; at = cand.key.find(":worm", at + 1))
          way = -way;
        EXPECT_EQ(cand.drives[0].sense, way * cand.drives[1].sense) << name_of(c) << " " << cand.key;
        EXPECT_NE(cand.drives[0].sense, 0) << name_of(c) << " " << cand.key;
        ++mirrored;
      }
    }
  }
  EXPECT_GT(told, 50);
  EXPECT_GT(mirrored, 0);
}

TEST(Kinds, RenamingPermutingTheStockAndThreadsChangeNothing) {
  for (const Case& c : cases()) {
    const std::string plain = print(propose(c, *c.brief, c.function), *c.brief->catalogue);
    brief::Function f = c.function;
    f.id = "something_else";
    brief::Brief turned = *c.brief;
    auto stock = std::make_shared<stock::Stock>(*c.brief->stock);
    std::reverse(stock->types.begin(), stock->types.end());
    turned.stock = stock;
    EXPECT_EQ(plain, print(propose(c, *c.brief, f), *c.brief->catalogue)) << name_of(c);
    EXPECT_EQ(plain, print(propose(c, turned, c.function, 2), *c.brief->catalogue)) << name_of(c);
  }
}

// More stock, and fewer trains of each motor: what is best stays as good.
TEST(Kinds, MoreStockNeverTakesAChoiceAway) {
  for (const Case& c : cases()) {
    brief::Brief richer = *c.brief;
    auto stock = std::make_shared<stock::Stock>(*c.brief->stock);
    for (stock::StockType& t : stock->types) t.count += t.count > 0 ? 1 : 0;
    richer.stock = stock;
    const Proposal before = propose(c, *c.brief, c.function);
    const std::vector<Weighed> old = weighed(before, *c.brief->catalogue);
    brief::Function of_few = c.function;
    of_few.best_only = 2;
    const Proposal few = propose(c, *c.brief, of_few);
    EXPECT_EQ(few.candidates.empty(), before.candidates.empty()) << name_of(c);
    if (!few.candidates.empty() && !before.candidates.empty()) {
      EXPECT_NEAR(few.candidates.front().nominal.worst(), before.candidates.front().nominal.worst(), 1e-9)
          << name_of(c);
    }
    const Proposal after = propose(c, richer, c.function);
    const std::vector<Weighed> now = weighed(after, *c.brief->catalogue);
    if (!before.candidates.empty()) {
      ASSERT_FALSE(after.candidates.empty()) << name_of(c);
      EXPECT_GE(after.candidates.front().nominal.worst(), before.candidates.front().nominal.worst() * (1 - 1e-9));
    }
    // A kind that proposes only the best of many says how many it left out; then others may take their places.
    const bool cut = std::any_of(after.rejections.begin(), after.rejections.end(),
                                 [](const candidate::Rejection& r) { return r.code.ends_with(".further"); });
    if (cut) continue;
    for (std::size_t i = 0; i < old.size(); ++i) {
      EXPECT_TRUE(std::any_of(now.begin(), now.end(), [&](const Weighed& w) { return at_least_as_good(w, old[i]); }))
          << name_of(c) << " lost " << before.candidates[i].key;
    }
  }
}

TEST(Kinds, AMirroredPairTakesEverythingTwiceInMirroredCells) {
  for (const Case& c : cases()) {
    brief::Function pair = c.function;
    pair.sides = 2;
    for (const Candidate& cand : propose(c, *c.brief, pair).candidates) {
      for (const candidate::Need& n : cand.demand.needs) {
        EXPECT_EQ(n.count % 2, 0) << name_of(c) << " " << cand.key << ": " << n.label;
      }
      EXPECT_EQ(cand.demand.ports % 2, 0) << name_of(c);
      for (const candidate::BodyCells& b : cand.cells) {
        for (const lattice::Point3& p : b.cells) {
          const lattice::Point3 image{p.x_hp, -p.y_hp - 1, p.z_hp};
          ASSERT_TRUE(b.cells.has(image)) << name_of(c) << " " << cand.key;
        }
      }
    }
  }
}

TEST(Kinds, ARaisedFlagStopsTheSearchAndIsTold) {
  for (const Case& c : cases()) {
    document::Diagnostics diagnostics;
    const auto wants = c.kind->read(c.function, *c.brief, diagnostics);
    ASSERT_NE(wants, nullptr);
    const std::atomic<bool> stop{true};
    base::RunControl control;
    control.stop = &stop;
    const Proposal p = c.kind->propose(c.function, *wants, *c.brief, control);
    EXPECT_FALSE(p.complete) << name_of(c);
    EXPECT_FALSE(p.limit_text.empty()) << name_of(c);
  }
}

TEST(Kinds, ChosenCandidatesNeverStandInEachOther) {
  int designs = 0, together = 0;
  for (const auto& entry : fs::directory_iterator(kSource / "examples")) {
    if (!fs::exists(entry.path() / "project.toml")) continue;
    design::Options options;
    options.project = entry.path().string();
    options.catalogue = (kSource / "catalogue").string();
    options.front = false;
    options.ways_out = false;
    const design::Result r = design::run(options);
    ASSERT_FALSE(r.bad_input) << entry.path();
    if (!r.feasible()) continue;
    ++designs;
    std::map<std::pair<int, lattice::Point3>, std::string> taken;
    for (std::size_t f = 0; f < r.functions.size(); ++f) {
      const Candidate* chosen = r.chosen(f);
      if (chosen == nullptr) continue;
      for (const candidate::BodyCells& b : chosen->cells) {
        for (const lattice::Point3& p : b.cells) {
          const auto [at, free] = taken.try_emplace({b.body, p}, r.functions[f].id);
          EXPECT_TRUE(free) << entry.path() << ": " << at->second << " and " << r.functions[f].id << " at "
                            << lattice::pitches_text(p);
        }
      }
      together += chosen->cells.empty() ? 0 : 1;
    }
    // Functions that cannot go in one after the other are built up together, and every one goes in.
    for (const design::BodyOrder& b : design::building_order(r)) {
      std::size_t placed = 0;
      for (const assembly::UnitStep& s : b.order.steps) placed += s.units.size();
      EXPECT_EQ(placed, b.units.size()) << entry.path();
    }
  }
  EXPECT_GE(designs, 3);
  EXPECT_GE(together, 10) << "functions that stand somewhere";
}
