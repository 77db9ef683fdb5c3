// Covers candidate: non-domination against the definition by brute force, rejection log, margins.
#include "candidate/candidate.h"

#include <gtest/gtest.h>

#include <algorithm>

using candidate::Candidate;
using stock::ClassId;

namespace {

stock::Catalogue three_parts() {
  stock::Catalogue c;
  for (int i = 0; i < 3; ++i) {
    stock::PartClass p;
    p.id = "part_" + std::to_string(i);
    p.mass_g.value = base::Triple::exact(1 + i);
    c.classes.push_back(p);
  }
  return c;
}

Candidate make(const std::string& key, double margin, std::vector<int> counts) {
  Candidate c;
  c.key = key;
  c.nominal.margins.push_back(candidate::at_least("force", margin, 1, "N"));
  for (int i = 0; i < static_cast<int>(counts.size()); ++i) {
    const int n = counts[static_cast<std::size_t>(i)];
    if (n > 0) c.demand.needs.push_back({{ClassId{i}}, n, "part", ""});
  }
  return c;
}

bool beats(const Candidate& a, const Candidate& b, const stock::Catalogue& cat) {
  const auto count = [](const Candidate& c, int i) {
    int n = 0;
    for (const auto& need : c.demand.needs) n += need.accepts[0] == ClassId{i} ? need.count : 0;
    return n;
  };
  for (int i = 0; i < 3; ++i) {
    if (count(a, i) > count(b, i)) return false;
  }
  return a.nominal.worst() >= b.nominal.worst() &&
         candidate::parts_mass_g(a.demand, cat) <= candidate::parts_mass_g(b.demand, cat);
}

}  // namespace

TEST(NonDominated, KeepsExactlyWhatTheDefinitionKeeps) {
  const stock::Catalogue cat = three_parts();
  std::vector<Candidate> all;
  std::uint64_t state = 12345;
  const auto next = [&](int n) {
    state = state * 6364136223846793005ULL + 1442695040888963407ULL;
    return static_cast<int>((state >> 33) % static_cast<std::uint64_t>(n));
  };
  for (int i = 0; i < 300; ++i) {
    all.push_back(make("k" + std::to_string(1000 + i), 1 + 0.1 * next(12), {next(4), next(4), next(4)}));
  }
  std::vector<std::string> expected;
  for (std::size_t i = 0; i < all.size(); ++i) {
    bool out = false;
    for (std::size_t j = 0; j < all.size() && !out; ++j) {
      // Of mutually dominating (equal) candidates the first by key stays.
      if (i != j && beats(all[j], all[i], cat) && (!beats(all[i], all[j], cat) || all[j].key < all[i].key)) out = true;
    }
    if (!out) expected.push_back(all[i].key);
  }
  candidate::keep_non_dominated(all, cat);
  std::vector<std::string> got;
  for (const Candidate& c : all) got.push_back(c.key);
  std::sort(got.begin(), got.end());
  EXPECT_EQ(got, expected);
}

TEST(NonDominated, CandidatesThatTakeOtherRoomStay) {
  const stock::Catalogue cat = three_parts();
  const auto with = [](Candidate c, std::vector<lattice::Point3> cells, int body = 0) {
    c.cells = {{body, std::move(cells)}};
    return c;
  };
  const auto kept = [&](std::vector<Candidate> all) {
    candidate::keep_non_dominated(all, cat);
    std::string keys;
    for (const Candidate& c : all) keys += c.key;
    return keys;
  };
  const Candidate good = make("a", 2, {1}), poor = make("b", 1, {2});
  EXPECT_EQ(kept({good, poor}), "a");
  EXPECT_EQ(kept({with(good, {{0, 0, 0}}), with(poor, {{0, 0, 0}})}), "a");
  EXPECT_EQ(kept({with(good, {{0, 0, 0}}), with(poor, {{0, 0, 0}, {1, 0, 0}})}), "a");
  EXPECT_EQ(kept({with(good, {{0, 0, 0}, {1, 0, 0}}), with(poor, {{0, 0, 0}})}), "ab");
  EXPECT_EQ(kept({with(good, {{0, 0, 0}}), with(poor, {{1, 0, 0}, {2, 0, 0}})}), "ab");
  EXPECT_EQ(kept({with(good, {{0, 0, 0}}), with(poor, {{0, 0, 0}}, 1)}), "ab") << "same place, another body";
  EXPECT_EQ(kept({good, with(poor, {{0, 0, 0}})}), "a") << "what takes no room is in nobody's way";
}

TEST(Margins, AreRatiosWithACapAndNeverNotANumber) {
  EXPECT_DOUBLE_EQ(candidate::at_least("f", 30, 20, "N").ratio, 1.5);
  EXPECT_DOUBLE_EQ(candidate::at_most("t", 8, 10, "s").ratio, 1.25);
  EXPECT_DOUBLE_EQ(candidate::at_least("f", 30, 0, "N").ratio, candidate::kMarginCap);
  EXPECT_DOUBLE_EQ(candidate::at_least("f", 0.0 / 1.0, 5, "N").ratio, 0);
  EXPECT_DOUBLE_EQ(candidate::at_most("t", std::numeric_limits<double>::infinity(), 10, "s").ratio, 0);
  EXPECT_DOUBLE_EQ(candidate::at_least("f", std::numeric_limits<double>::quiet_NaN(), 10, "s").ratio, 0);
}

TEST(Rejections, CountAndKeepTheNearestMiss) {
  candidate::RejectionLog log;
  log.add("short", 9.4, "mm", [] { return "9.4 mm too short"; });
  log.add(
      "short", 2.1, "mm", [] { return "2.1 mm too short"; }, 5);
  log.add("weak", 1, "N", [] { return "1 N too weak"; });
  const auto list = log.take();
  ASSERT_EQ(list.size(), 2U);
  EXPECT_EQ(list[0].count, 6);
  EXPECT_EQ(list[0].text, "2.1 mm too short");
}
