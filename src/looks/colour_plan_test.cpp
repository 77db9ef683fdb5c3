// Colour plans against a try of every assignment; schemes against a try of every colouring; lacks and their ways out.
// The referee by another solver is in tests/looks.
#include "looks/colour_plan.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <functional>
#include <map>
#include <random>
#include <set>

namespace {

using looks::ColourPlan;
using looks::Left;
using looks::Zone;
using stock::ClassId;

stock::Catalogue catalogue(int classes) {
  stock::Catalogue out;
  for (int i = 0; i < classes; ++i) {
    stock::PartClass c;
    c.id = c.name = "part_" + std::to_string(i);
    c.family = i % 2 == 0 ? stock::Family::panel : stock::Family::beam;
    out.classes.push_back(std::move(c));
  }
  return out;
}

/// Least missing, then least weight of what does not match, by giving piece after piece everything it could get.
std::pair<int, std::int64_t> tried(const std::vector<Zone>& zones, std::vector<Left> left) {
  struct Place {
    const Zone* zone;
    const looks::Need* need;
  };
  std::vector<Place> places;
  for (const Zone& z : zones) {
    for (const looks::Need& n : z.needs) {
      for (int i = 0; i < n.count; ++i) places.push_back({&z, &n});
    }
  }
  std::pair<int, std::int64_t> best{1000, 0};
  const std::function<void(std::size_t, int, std::int64_t)> go = [&](std::size_t at, int missing, std::int64_t cost) {
    if (at == places.size()) {
      best = std::min(best, {missing, cost});
      return;
    }
    const Place& p = places[at];
    for (Left& l : left) {
      const auto& accepts = p.need->accepts;
      if (l.count == 0 || std::find(accepts.begin(), accepts.end(), l.part) == accepts.end()) continue;
      --l.count;
      go(at + 1, missing, cost + (l.colour == p.zone->colour ? 0 : p.zone->weight));
      ++l.count;
    }
    go(at + 1, missing + 1, cost + p.zone->weight);
  };
  go(0, 0, 0);
  return best;
}

struct Case {
  std::vector<Zone> zones;
  std::vector<Left> left;
};

Case random_case(unsigned seed) {
  std::mt19937 random(seed);
  const auto pick = [&](int low, int high) {
    return low + static_cast<int>(random() % static_cast<unsigned>(high - low + 1));
  };
  static const std::vector<std::string> kColours{"red", "blue", "white", "green"};
  Case c;
  for (int part = 0; part < 3; ++part) {
    for (int colour = 0; colour < 4; ++colour) {
      if (pick(0, 2) > 0) c.left.push_back({ClassId{part}, kColours[static_cast<std::size_t>(colour)], pick(0, 2)});
    }
  }
  const int zones = pick(1, 3);
  for (int z = 0; z < zones; ++z) {
    Zone zone{"zone " + std::to_string(z), kColours[static_cast<std::size_t>(pick(0, 3))], pick(1, 5), {}};
    const int needs = pick(1, 2);
    for (int n = 0; n < needs; ++n) {
      looks::Need need{{ClassId{pick(0, 2)}}, pick(1, 2)};
      const ClassId more{pick(0, 2)};
      if (more != need.accepts[0]) need.accepts.push_back(more);
      std::sort(need.accepts.begin(), need.accepts.end());
      zone.needs.push_back(std::move(need));
    }
    c.zones.push_back(std::move(zone));
  }
  return c;
}

TEST(ColourPlan, EqualsATryOfEveryAssignment) {
  const stock::Catalogue kit = catalogue(3);
  int lacking = 0, mismatching = 0;
  for (unsigned seed = 1; seed <= 60; ++seed) {
    const Case c = random_case(seed);
    const ColourPlan plan = looks::plan_colours(c.zones, c.left, kit);
    EXPECT_EQ(std::pair(plan.missing, plan.cost), tried(c.zones, c.left)) << "seed " << seed;
    lacking += plan.missing > 0 ? 1 : 0;
    mismatching += plan.mismatched > 0 ? 1 : 0;
  }
  EXPECT_GT(lacking, 3);
  EXPECT_GT(mismatching, 10);
}

TEST(ColourPlan, GivesNoPieceTwiceAndAddsUp) {
  const stock::Catalogue kit = catalogue(3);
  for (unsigned seed = 1; seed <= 200; ++seed) {
    const Case c = random_case(seed);
    const ColourPlan plan = looks::plan_colours(c.zones, c.left, kit);
    std::map<std::pair<ClassId, std::string>, int> have;
    for (const Left& l : c.left) have[{l.part, l.colour}] += l.count;
    std::int64_t cost = 0;
    for (std::size_t z = 0; z < c.zones.size(); ++z) {
      const looks::ZonePlan& p = plan.zones[z];
      int matching = 0, other = 0;
      for (const looks::Given& g : p.given) {
        have[{g.part, g.colour}] -= g.count;
        const auto& accepts = c.zones[z].needs[static_cast<std::size_t>(g.need)].accepts;
        EXPECT_NE(std::find(accepts.begin(), accepts.end(), g.part), accepts.end());
        EXPECT_EQ(g.matches, g.colour == c.zones[z].colour);
        (g.matches ? matching : other) += g.count;
      }
      EXPECT_EQ(matching, p.matching);
      EXPECT_EQ(other, p.mismatched);
      EXPECT_EQ(matching + other + p.missing, p.wanted);
      EXPECT_EQ(p.cost, static_cast<std::int64_t>(c.zones[z].weight) * (p.mismatched + p.missing));
      cost += p.cost;
    }
    EXPECT_EQ(cost, plan.cost);
    for (const auto& [type, count] : have) EXPECT_GE(count, 0);
  }
}

TEST(ColourPlan, EveryWayOutEndsItsLack) {
  const stock::Catalogue kit = catalogue(5);
  int ways = 0;
  for (unsigned seed = 1; seed <= 120; ++seed) {
    Case c = random_case(seed);
    c.left.push_back({ClassId{4}, "red", 20});
    const ColourPlan plan = looks::plan_colours(c.zones, c.left, kit);
    for (const looks::Lack& lack : plan.lacks) {
      for (const looks::WayOut& w : lack.ways_out) {
        Case changed = c;
        looks::Need& need =
            changed.zones[static_cast<std::size_t>(lack.zone)].needs[static_cast<std::size_t>(lack.need)];
        if (w.kind == looks::WayOut::Kind::more_pieces) changed.left.push_back({w.part, "white", w.count});
        if (w.kind == looks::WayOut::Kind::other_class) need.accepts.push_back(w.part);
        if (w.kind == looks::WayOut::Kind::fewer_wanted) {
          need.count -= w.count;
          auto& needs = changed.zones[static_cast<std::size_t>(lack.zone)].needs;
          std::erase_if(needs, [](const looks::Need& n) { return n.count == 0; });
        }
        // At least: what it frees may fill another zone as well.
        EXPECT_LE(looks::plan_colours(changed.zones, changed.left, kit).missing, plan.missing - lack.missing);
        ++ways;
      }
    }
  }
  EXPECT_GT(ways, 10);
}

TEST(ColourPlan, LacksFallWhereTheyAreSeenLeast) {
  const stock::Catalogue kit = catalogue(1);
  const std::vector<Zone> zones{{"floor", "red", 1, {{{ClassId{0}}, 3}}}, {"cab", "red", 9, {{{ClassId{0}}, 3}}}};
  const ColourPlan plan = looks::plan_colours(zones, {{ClassId{0}, "red", 4}}, kit);
  EXPECT_EQ(plan.zones[0].missing, 2);
  EXPECT_EQ(plan.zones[1].missing, 0);
}

TEST(ColourPlan, AColourNobodyToldMatchesNone) {
  const stock::Catalogue kit = catalogue(1);
  const ColourPlan plan = looks::plan_colours({{"cab", "red", 2, {{{ClassId{0}}, 3}}}}, {{ClassId{0}, "", 5}}, kit);
  EXPECT_EQ(plan.mismatched, 3);
  EXPECT_EQ(plan.cost, 6);
}

TEST(Schemes, EqualATryOfEveryColouring) {
  const stock::Catalogue kit = catalogue(3);
  for (unsigned seed = 1; seed <= 60; ++seed) {
    const Case c = random_case(seed);
    std::set<std::string> known;
    for (const Left& l : c.left) {
      const bool wanted = std::any_of(c.zones.begin(), c.zones.end(), [&](const Zone& z) {
        return std::any_of(z.needs.begin(), z.needs.end(), [&](const looks::Need& n) {
          return std::find(n.accepts.begin(), n.accepts.end(), l.part) != n.accepts.end();
        });
      });
      if (wanted && l.count > 0) known.insert(l.colour);
    }
    // Cost, changed zones and colours of every colouring, by the set it uses; of each set the best.
    std::map<std::set<std::string>, std::tuple<std::int64_t, int, std::vector<std::string>>> best;
    std::vector<std::string> of_zone(c.zones.size());
    const std::function<void(std::size_t)> go = [&](std::size_t at) {
      if (at == c.zones.size()) {
        std::vector<Zone> zones = c.zones;
        int changed = 0;
        for (std::size_t z = 0; z < zones.size(); ++z) {
          changed += zones[z].colour != of_zone[z] ? 1 : 0;
          zones[z].colour = of_zone[z];
        }
        const std::tuple found(looks::plan_colours(zones, c.left, kit).cost, changed, of_zone);
        const std::set<std::string> used(of_zone.begin(), of_zone.end());
        const auto [it, fresh] = best.try_emplace(used, found);
        if (!fresh) it->second = std::min(it->second, found);
        return;
      }
      for (const std::string& colour : known) {
        of_zone[at] = colour;
        go(at + 1);
      }
    };
    go(0);
    const looks::Schemes schemes = looks::best_schemes(c.zones, c.left);
    EXPECT_TRUE(schemes.proven);
    for (const std::size_t size : {std::size_t{2}, std::size_t{3}}) {
      std::vector<std::tuple<std::int64_t, int, std::vector<std::string>>> wanted;
      for (const auto& [used, found] : best) {
        if (used.size() == size) wanted.push_back(found);
      }
      std::sort(wanted.begin(), wanted.end());
      if (wanted.size() > 5) wanted.resize(5);
      std::vector<std::tuple<std::int64_t, int, std::vector<std::string>>> told;
      for (const looks::Scheme& s : size == 2 ? schemes.two : schemes.three) {
        told.emplace_back(s.cost, s.changed_zones, s.of_zone);
        EXPECT_EQ(s.colours.size(), size);
      }
      EXPECT_EQ(told, wanted) << "seed " << seed << ", " << size << " colours";
    }
  }
}

TEST(Schemes, ALimitIsTold) {
  const ClassId panel{0};
  const Case c{{{"cab", "red", 2, {{{panel}, 2}}}, {"floor", "blue", 1, {{{panel}, 2}}}},
               {{panel, "red", 2}, {panel, "blue", 1}, {panel, "white", 2}}};
  looks::SchemeOptions options;
  options.node_limit = 1;
  EXPECT_FALSE(looks::best_schemes(c.zones, c.left, options).proven);
  EXPECT_TRUE(looks::best_schemes(c.zones, c.left).proven);
}

}  // namespace
