// Covers the list of parts and what a stock lacks of it, against counting every way of giving parts out.
#include <gtest/gtest.h>

#include <algorithm>
#include <functional>
#include <random>

#include "dossier/parts.h"

namespace dossier {
namespace {

stock::Catalogue catalogue_of(int classes) {
  stock::Catalogue out;
  for (int i = 0; i < classes; ++i) {
    stock::PartClass c;
    c.id = c.name = std::string(1, static_cast<char>('a' + i));
    out.classes.push_back(c);
  }
  return out;
}

stock::Stock stock_of(const std::vector<int>& counts) {
  stock::Stock out;
  for (std::size_t i = 0; i < counts.size(); ++i)
    if (counts[i] > 0) out.types.push_back({static_cast<stock::ClassId>(i), "", counts[i], 0});
  return out;
}

/// Fewest pieces that stay missing, by trying every class for every piece.
int fewest_missing(const PartsList& list, std::vector<int> free) {
  std::vector<std::vector<std::size_t>> pieces;
  for (const PartNeed& n : list.needs) {
    std::vector<std::size_t> accepts;
    for (const std::string& id : n.accepts) accepts.push_back(static_cast<std::size_t>(id[0] - 'a'));
    for (int i = 0; i < n.count; ++i) pieces.push_back(accepts);
  }
  const std::function<int(std::size_t)> least = [&](std::size_t at) {
    if (at == pieces.size()) return 0;
    int best = 1 + least(at + 1);
    for (const std::size_t k : pieces[at]) {
      if (free[k] == 0) continue;
      --free[k];
      best = std::min(best, least(at + 1));
      ++free[k];
    }
    return best;
  };
  return least(0);
}

TEST(StockCheck, LacksAsFewPiecesAsAnyWayOfGivingThemOut) {
  std::mt19937 random(5);
  const auto up_to = [&](unsigned n) { return static_cast<int>(random() % (n + 1)); };
  const stock::Catalogue catalogue = catalogue_of(4);
  int lacking = 0;
  for (int round = 0; round < 300; ++round) {
    PartsList list;
    const int needs = 1 + up_to(3);
    for (int i = 0; i < needs; ++i) {
      PartNeed n;
      n.count = up_to(2);
      for (int k = 0; k < 4; ++k)
        if (up_to(1) == 1) n.accepts.push_back(std::string(1, static_cast<char>('a' + k)));
      if (n.accepts.empty()) n.accepts.push_back("a");
      list.needs.push_back(n);
    }
    std::vector<int> counts;
    for (int k = 0; k < 4; ++k) counts.push_back(up_to(2));
    const StockCheck check = check_stock(list, catalogue, stock_of(counts));
    EXPECT_EQ(check.missing, fewest_missing(list, counts)) << "round " << round;
    int told = 0, to_get = 0;
    for (const Lack& l : check.lacks) told += l.missing;
    for (const auto& [id, pieces] : check.to_get) to_get += pieces;
    EXPECT_EQ(told, check.missing);
    EXPECT_EQ(to_get, check.missing);
    // With what is told to get, nothing is missing any more.
    for (const auto& [id, pieces] : check.to_get) counts[static_cast<std::size_t>(id[0] - 'a')] += pieces;
    EXPECT_EQ(check_stock(list, catalogue, stock_of(counts)).missing, 0);
    lacking += check.missing > 0 ? 1 : 0;
  }
  EXPECT_GT(lacking, 50);  // both answers were tried
  EXPECT_LT(lacking, 250);
}

TEST(StockCheck, AClassTheCatalogueLacksCountsAsMissing) {
  PartsList list;
  list.needs.push_back({{"unheard_of"}, 3, "thing", "winch", "", false, ""});
  const StockCheck check = check_stock(list, catalogue_of(2), stock_of({5, 5}));
  EXPECT_EQ(check.missing, 3);
  EXPECT_EQ(check.unknown, std::vector<std::string>{"unheard_of"});
}

TEST(PartsFile, SomethingElseIsRefusedWithAHint) {
  document::Diagnostics d;
  EXPECT_FALSE(read_parts(KW_SOURCE_DIR "/schema/project.schema.json", d));
  ASSERT_EQ(d.sorted().size(), 1u);
  EXPECT_EQ(d.sorted()[0].code, "dossier.bad_parts");
  EXPECT_NE(d.sorted()[0].hint.find("parts.json"), std::string::npos);
  document::Diagnostics none;
  EXPECT_FALSE(read_parts(KW_SOURCE_DIR "/no_such_dossier", none));
  EXPECT_EQ(none.sorted()[0].code, "file.missing");
}

}  // namespace
}  // namespace dossier
