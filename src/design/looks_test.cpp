// Colour plan of a design: what counts as left, findings with ways out that were really tried.
#include "design/looks.h"

#include <gtest/gtest.h>

#include <algorithm>

namespace {

using stock::ClassId;

/// A panel in two colours and a beam; the lines say what is taken and kept back.
design::Result result(std::vector<assessment::PartLine> parts, std::vector<looks::Zone> zones) {
  auto catalogue = std::make_shared<stock::Catalogue>();
  for (const char* id : {"panel", "wide panel", "beam"}) {
    stock::PartClass c;
    c.id = c.name = id;
    c.family = std::string(id) == "beam" ? stock::Family::beam : stock::Family::panel;
    catalogue->classes.push_back(std::move(c));
  }
  auto brief = std::make_shared<brief::Brief>();
  brief->catalogue = catalogue;
  design::Result r;
  r.brief = brief;
  r.zones = std::move(zones);
  r.assessed.emplace();
  r.assessed->parts = std::move(parts);
  return r;
}

assessment::PartLine line(int part, std::string colour, int stock, int used, int reserved) {
  return {0, ClassId{part}, "", std::move(colour), stock, used, reserved};
}

const assessment::Finding* finding(const design::Result& r, const std::string& code) {
  const auto& all = r.assessed->findings;
  const auto it = std::find_if(all.begin(), all.end(), [&](const assessment::Finding& f) { return f.code == code; });
  return it == all.end() ? nullptr : &*it;
}

TEST(DesignLooks, OnlyWhatIsLeftIsGivenOut) {
  design::Result r =
      result({line(0, "red", 6, 2, 1), line(0, "blue", 4, 0, 0)}, {{"cab", "red", 2, {{{ClassId{0}}, 5}}}});
  design::plan_looks(r);
  ASSERT_TRUE(r.colours);
  EXPECT_EQ(r.colours->plan.zones[0].matching, 3);
  EXPECT_EQ(r.colours->plan.zones[0].mismatched, 2);
  const assessment::Finding* f = finding(r, "looks.mismatch");
  ASSERT_NE(f, nullptr);
  EXPECT_EQ(f->text, "Zone \"cab\": 2 of 5 pieces cannot be had in red: 2 of panel in blue.");
  ASSERT_EQ(f->remedies.size(), 1U);
  EXPECT_EQ(f->remedies[0].after, 0);
  EXPECT_EQ(finding(r, "looks.zone_lacks"), nullptr);
}

TEST(DesignLooks, LacksAreToldWithWaysOutThatWereTried) {
  design::Result r = result({line(0, "red", 4, 0, 3), line(1, "red", 9, 0, 0), line(2, "red", 9, 0, 0)},
                            {{"cab", "red", 2, {{{ClassId{0}}, 3}}}});
  design::plan_looks(r);
  const assessment::Finding* f = finding(r, "looks.zone_lacks");
  ASSERT_NE(f, nullptr);
  EXPECT_EQ(f->text, "Zone \"cab\" wants 3 of panel; 1 can be had in any colour, 2 are lacking.");
  std::vector<std::string> texts;
  for (const assessment::Remedy& m : f->remedies) {
    texts.push_back(m.text);
    EXPECT_EQ(m.before, 2);
    EXPECT_EQ(m.after, 0);
    EXPECT_TRUE(m.enough);
  }
  EXPECT_EQ(texts, (std::vector<std::string>{"have 2 more of panel", "build \"cab\" with 2 fewer of panel",
                                             "take wide panel as well, of which 9 are left",
                                             "give up the 3 kept back of panel"}));
}

TEST(DesignLooks, WithoutZonesNothingIsTold) {
  design::Result r = result({line(0, "red", 4, 0, 0)}, {});
  design::plan_looks(r);
  EXPECT_FALSE(r.colours);
  EXPECT_TRUE(r.assessed->findings.empty());
}

}  // namespace
