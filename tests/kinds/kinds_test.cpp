// The laws every kind must keep, run over the list of kinds on the functions of the example projects: nobody adds a
// kind without an example, and no kind is named here.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <map>
#include <memory>

#include "design/design.h"
#include "design/read.h"
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

/// Every function of every example project.
const std::vector<Case>& cases() {
  static const std::vector<Case> all = [] {
    std::vector<Case> out;
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
      }
    }
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
  return f == stock::Family::axle || f == stock::Family::bush || f == stock::Family::beam || f == stock::Family::pin;
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
      EXPECT_GT(cand.demand.running_current_ma, 0) << name_of(c) << " " << cand.key;
      for (const candidate::Need& n : cand.demand.needs) {
        int have = 0;
        for (const stock::ClassId id : n.accepts) have += c.brief->stock->count_of(id);
        EXPECT_LE(n.count, have) << name_of(c) << " " << cand.key << ": " << n.label;
      }
      // An independent judge approves the layout of every train.
      ASSERT_TRUE(cand.route) << name_of(c) << " " << cand.key;
      EXPECT_FALSE(cand.cells.empty()) << name_of(c) << " " << cand.key;
      const std::vector<std::string> faults = routing::check(*cand.route->problem, cand.route->layout);
      EXPECT_TRUE(faults.empty()) << name_of(c) << " " << cand.key << ": " << (faults.empty() ? "" : faults.front());
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

TEST(Kinds, MoreStockNeverTakesAChoiceAway) {
  for (const Case& c : cases()) {
    brief::Brief richer = *c.brief;
    auto stock = std::make_shared<stock::Stock>(*c.brief->stock);
    for (stock::StockType& t : stock->types) t.count += t.count > 0 ? 1 : 0;
    richer.stock = stock;
    const Proposal before = propose(c, *c.brief, c.function);
    const std::vector<Weighed> old = weighed(before, *c.brief->catalogue);
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
          ASSERT_TRUE(std::binary_search(b.cells.begin(), b.cells.end(), image)) << name_of(c) << " " << cand.key;
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
  }
  EXPECT_GE(designs, 3);
  EXPECT_GE(together, 10) << "functions that stand somewhere";
}
