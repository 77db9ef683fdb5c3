// Covers candidate: non-domination against the definition by brute force, rejection log, margins, loads from currents.
#include "candidate/candidate.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "candidate/running.h"
#include "candidate/test_parts.h"

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
  const auto with = [](Candidate c, const std::vector<lattice::Point3>& cells, int body = 0) {
    c.cells = {{body, lattice::Cells(cells)}};
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

// Second route: the current of every motor written out with its own constants, at a load that is told.
TEST(LoadFactor, TakesTheMotorsOwnSpreadOutOfTheCurrent) {
  brief::Brief b;
  b.catalogue = candidate::test::parts();
  for (auto& f : b.parameters.figure) f.value = base::Triple::exact(1);
  std::vector<candidate::Drive> drives(2);
  for (std::size_t i = 0; i < 2; ++i) {
    drives[i].motor = ClassId{0};
    drives[i].motors = 1 + static_cast<int>(i);
    drives[i].at = {0};
    drives[i].per_rad = {1};
    drives[i].plus_nmm = {20.0 + 30 * static_cast<double>(i)};
    drives[i].minus_nmm = drives[i].plus_nmm;
    drives[i].plus_free_nmm = drives[i].minus_free_nmm = {0};
  }
  const brief::Sample nominal = b.parameters.nominal();
  const auto current_ma = [&](const brief::Sample& sample, double load) {
    const motor::Constants m = candidate::motor_constants(drives[0], b, sample);
    // One motor carries 20 N mm, two carry 50 together.
    return 1000 * (3 * m.no_load_current_a + load * (20 + 50) / m.torque_nmm_per_a);
  };
  for (const double strength : {0.9, 1.0, 1.1}) {
    for (const double load : {0.7, 1.0, 1.4}) {
      brief::Sample drawn = nominal;
      drawn.value[static_cast<std::size_t>(brief::Parameter::motor_torque_factor)] = strength;
      EXPECT_NEAR(candidate::load_factor(drives, b, drawn, current_ma(drawn, load), current_ma(nominal, 1)), load, 1e-9)
          << strength;
    }
  }
  EXPECT_EQ(candidate::load_factor(drives, b, nominal, 0, current_ma(nominal, 1)), 1);  // less than no load: not told
}
