// Covers design/run: what the user says about parts, room and locks holds for every candidate of a searched example,
// whatever its kind does with it; and a design that was stopped says so.
#include <gtest/gtest.h>

#include <algorithm>
#include <atomic>
#include <set>

#include "design/design.h"
#include "document/toml_reader.h"

namespace {

const std::string kProject = std::string(KW_SOURCE_DIR) + "/examples/market_cart";

std::string replaced(std::string text, const std::string& what, const std::string& by) {
  const std::size_t at = text.find(what);
  EXPECT_NE(at, std::string::npos) << what;
  return at == std::string::npos ? text : text.replace(at, what.size(), by);
}

std::string cart() {
  document::Diagnostics d;
  return document::read_text_file(kProject + "/project.toml", document::kMostTomlBytes, d).value_or("");
}

/// The driven axle of the market cart with further lines in its table and further tables behind.
std::string cart_with(const std::string& of_travel, const std::string& tables = "") {
  return replaced(cart(), "kind = \"wheels\"\n", "kind = \"wheels\"\n" + of_travel) + "\n" + tables;
}

design::Result searched(const std::string& text, design::Stage stage = design::Stage::candidates) {
  design::Options options;
  options.project = kProject;
  options.text = text;
  options.stop_after = stage;
  options.only_function = "travel";
  design::Result r = design::run(options, {});
  EXPECT_FALSE(r.bad_input) << (r.bad_input ? document::text_of(r.diagnostics.sorted().front()) : "");
  return r;
}

const std::vector<candidate::Candidate>& list(const design::Result& r) {
  return r.functions.at(0).proposal.candidates;
}

bool accepts(const candidate::Need& n, stock::ClassId part) {
  return std::find(n.accepts.begin(), n.accepts.end(), part) != n.accepts.end();
}
bool may_use(const candidate::Candidate& c, stock::ClassId part) {
  return std::any_of(c.demand.needs.begin(), c.demand.needs.end(),
                     [&](const candidate::Need& n) { return accepts(n, part); });
}

/// A part that about half of the candidates may use.
stock::ClassId divides(const design::Result& r) {
  stock::ClassId best{};
  std::size_t nearest = list(r).size();
  for (std::size_t i = 0; i < r.brief->catalogue->classes.size(); ++i) {
    const stock::ClassId part{static_cast<int>(i)};
    const auto users = static_cast<std::size_t>(
        std::count_if(list(r).begin(), list(r).end(), [&](const auto& c) { return may_use(c, part); }));
    const std::size_t off = 2 * users > list(r).size() ? 2 * users - list(r).size() : list(r).size() - 2 * users;
    if (users == 0 || users == list(r).size() || off >= nearest) continue;
    nearest = off;
    best = part;
  }
  EXPECT_LT(nearest, list(r).size()) << "no part divides the list";
  return best;
}

std::set<std::string> keys(const design::Result& r) {
  std::set<std::string> out;
  for (const candidate::Candidate& c : list(r)) out.insert(c.key);
  return out;
}

}  // namespace

TEST(Run, APartThatMayNotBeUsedIsInNoCandidate) {
  const design::Result all = searched(cart());
  ASSERT_GT(list(all).size(), 3U);
  const stock::ClassId part = divides(all);
  const std::string& id = all.brief->catalogue->at(part).id;
  const design::Result without = searched(cart_with("must_not_use = [\"" + id + "\"]\n"));
  ASSERT_FALSE(list(without).empty()) << id;
  for (const candidate::Candidate& c : list(without)) EXPECT_FALSE(may_use(c, part)) << c.key << " " << id;
}

TEST(Run, APartThatMustBeUsedIsPromisedByEveryCandidate) {
  const design::Result all = searched(cart());
  const stock::ClassId part = divides(all);
  const std::string& id = all.brief->catalogue->at(part).id;
  const design::Result with = searched(cart_with("must_use = [\"" + id + "\"]\n"));
  ASSERT_FALSE(list(with).empty()) << id;
  for (const candidate::Candidate& c : list(with)) {
    EXPECT_TRUE(std::any_of(c.demand.needs.begin(), c.demand.needs.end(),
                            [&](const candidate::Need& n) { return n.accepts == std::vector<stock::ClassId>{part}; }))
        << c.key << ": no other part may stand in for " << id;
  }
}

TEST(Run, NothingStandsWhereSomethingElseDoes) {
  const design::Result all = searched(cart());
  ASSERT_FALSE(list(all).empty());
  // In the middle of what the best candidate fills on the chassis; high above the cart nobody stands.
  const auto& cells = list(all).front().cells;
  const auto on_chassis = std::find_if(cells.begin(), cells.end(), [](const auto& b) { return b.body == 0; });
  ASSERT_NE(on_chassis, cells.end());
  const lattice::Point3 at = on_chassis->cells.list()[on_chassis->cells.size() / 2];
  const auto box = [](int x_hp, int y_hp, int z_hp) {
    const auto range = [](int hp) {
      return "[" + std::to_string(hp / 2.0) + ", " + std::to_string(hp / 2.0 + 1) + "]";
    };
    return "[[placed]]\nid = \"cell box\"\nbox_p = { x = " + range(x_hp) + ", y = " + range(y_hp) +
           ", z = " + range(z_hp) + " }\n";
  };
  const design::Result r = searched(cart_with("", box(at.x_hp, at.y_hp, at.z_hp)));
  const std::vector<brief::TakenRoom> taken = r.brief->taken_room();
  ASSERT_FALSE(taken.empty());
  for (const candidate::Candidate& c : list(r)) {
    for (const candidate::BodyCells& b : c.cells) {
      for (const lattice::Point3& cell : b.cells) {
        for (const brief::TakenRoom& t : taken)
          EXPECT_FALSE(t.body == b.body && lattice::holds(t.box, cell)) << c.key << " " << t.id;
      }
    }
  }
  EXPECT_NE(keys(r), keys(all)) << "the best one cannot stand there any more";
  EXPECT_EQ(keys(searched(cart_with("", box(at.x_hp, at.y_hp, 100)))), keys(all));
}

TEST(Run, ALockThatIsNoCandidateIsToldAtItsPlaceWithOneThatIs) {
  design::Options options;
  options.project = kProject;
  options.only_function = "travel";
  const design::Result all = searched(cart());
  ASSERT_FALSE(list(all).empty());
  std::string near = list(all).front().key;
  near.back() = near.back() == 'x' ? 'y' : 'x';
  options.text = cart_with("lock = \"" + near + "\"\n");
  const design::Result r = design::run(options, {});
  EXPECT_TRUE(r.bad_input);
  const auto problems = r.diagnostics.sorted();
  const auto told = std::find_if(problems.begin(), problems.end(),
                                 [](const document::Diagnostic& d) { return d.code == "design.unknown_lock"; });
  ASSERT_NE(told, problems.end());
  EXPECT_GT(told->where.line, 1);
  EXPECT_NE(document::text_of(*told).find(list(all).front().key), std::string::npos) << document::text_of(*told);
}

TEST(Run, ALockWithoutItsLayoutMeansTheFirstOfThatDrive) {
  design::Options options;
  options.project = kProject;
  const design::Result all = searched(cart());
  const std::string& key = list(all).back().key;
  const std::size_t layout = key.find("|at ");
  ASSERT_NE(layout, std::string::npos) << key;
  const std::string drive = key.substr(0, layout);
  const auto first = std::find_if(list(all).begin(), list(all).end(),
                                  [&](const auto& c) { return c.key.rfind(drive + "|at ", 0) == 0; });
  options.text =
      replaced(cart_with("lock = \"" + drive + "\"\n"), "id = \"tray\"", "id = \"tray\"\npriority = \"wished\"");
  options.stop_after = design::Stage::allocation;
  options.only_function = "travel";
  options.ways_out = false;
  const design::Result r = design::run(options, {});
  ASSERT_FALSE(r.bad_input) << document::text_of(r.diagnostics.sorted().front());
  ASSERT_TRUE(r.feasible());
  ASSERT_NE(r.chosen(0), nullptr);
  EXPECT_EQ(r.chosen(0)->key, first->key);
}

TEST(Run, SaysThatItWasStopped) {
  std::atomic<bool> stop{true};
  base::RunControl control;
  control.stop = &stop;
  design::Options options;
  options.project = kProject;
  const design::Result r = design::run(options, control);
  EXPECT_TRUE(r.stopped);
  EXPECT_FALSE(r.proven_best());
}

TEST(Run, FewTrainsOfEachMotorGiveADesignThatSaysSo) {
  design::Options options;
  options.project = kProject;
  options.stop_after = design::Stage::allocation;
  options.ways_out = false;
  const design::Result all = design::run(options, {});
  options.best_only = 2;
  const design::Result few = design::run(options, {});
  ASSERT_TRUE(all.feasible());
  ASSERT_TRUE(few.feasible());
  EXPECT_TRUE(all.incomplete().empty());
  const std::vector<std::string> cut = few.incomplete();
  EXPECT_NE(std::find(cut.begin(), cut.end(), "travel"), cut.end());
  EXPECT_FALSE(few.proven_best());
  EXPECT_LE(few.allocated->worst_margin, all.allocated->worst_margin + 1e-9);
  for (std::size_t f = 0; f < all.functions.size(); ++f) {
    const auto &of_all = all.functions[f].proposal, &of_few = few.functions[f].proposal;
    EXPECT_LE(of_few.candidates.size(), of_all.candidates.size()) << all.functions[f].id;
    ASSERT_EQ(of_few.candidates.empty(), of_all.candidates.empty()) << all.functions[f].id;
    if (of_all.candidates.empty()) continue;
    EXPECT_NEAR(of_few.candidates.front().nominal.worst(), of_all.candidates.front().nominal.worst(), 1e-9);
    if (!of_few.complete) {
      EXPECT_NE(of_few.limit_text.find("2 best trains of each motor"), std::string::npos) << of_few.limit_text;
    }
  }
}

TEST(Run, WhyAWishIsLeftOutIsSaidOfTheCandidatesThatWereLookedAt) {
  design::Options options;
  options.project = std::string(KW_SOURCE_DIR) + "/examples/quay_rig";
  options.best_only = 4;
  options.front = false;
  const design::Result r = design::run(options, {});
  ASSERT_TRUE(r.assessed);
  EXPECT_FALSE(r.incomplete().empty());
  const std::vector<assessment::Finding>& all = r.assessed->findings;
  const auto told = std::find_if(all.begin(), all.end(), [](const auto& f) { return f.code == "function.left_out"; });
  ASSERT_NE(told, all.end());
  EXPECT_NE(told->text.find("is left out. Among the candidates that were looked at: "), std::string::npos)
      << told->text;
}

TEST(Run, WhereFewTrainsDoNotServeEveryOneIsLookedAt) {
  const design::Result all = searched(cart());
  // A drive that the few do not have: the last of all, as a lock and as the only one that a part allows.
  design::Options options;
  options.project = kProject;
  options.best_only = 1;
  options.stop_after = design::Stage::allocation;
  options.text = cart_with("lock = \"" + list(all).back().key + "\"\n");
  const design::Result locked = design::run(options, {});
  EXPECT_FALSE(locked.bad_input) << "a lock may name any candidate";
  // Nothing may be added: no design, and that is certain.
  options.text = replaced(cart(), "mass_g = 1500", "mass_g = 5");
  design::Options whole = options;
  whole.best_only = 0;
  const design::Result none = design::run(options, {}), as_ever = design::run(whole, {});
  ASSERT_FALSE(as_ever.bad_input) << document::text_of(as_ever.diagnostics.sorted().front());
  ASSERT_TRUE(none.allocated && as_ever.allocated);
  EXPECT_FALSE(none.feasible());
  EXPECT_TRUE(none.incomplete().empty());
  ASSERT_EQ(none.functions.size(), as_ever.functions.size());
  for (std::size_t f = 0; f < none.functions.size(); ++f)
    EXPECT_EQ(none.functions[f].proposal.candidates.size(), as_ever.functions[f].proposal.candidates.size());
}
