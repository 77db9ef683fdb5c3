// Covers base: exact rationals against integer arithmetic, draws against the closed-form mean, text helpers, parallel
// loop.
#include <gtest/gtest.h>

#include <cmath>
#include <numeric>

#include "base/check.h"
#include "base/parallel.h"
#include "base/rational.h"
#include "base/shell.h"
#include "base/text.h"
#include "base/triple.h"

using base::Rational;

TEST(Rational, StaysInLowestTermsWithPositiveDenominator) {
  const Rational r(-12, -36);
  EXPECT_EQ(r.num(), 1);
  EXPECT_EQ(r.den(), 3);
  EXPECT_EQ(Rational(12, -36).text(), "-1/3");
  EXPECT_EQ(Rational(8, 4).text(), "2");
}

TEST(Rational, FieldLawsHoldOnAGrid) {
  for (int a = -6; a <= 6; ++a) {
    for (int b = 1; b <= 5; ++b) {
      for (int c = -4; c <= 4; ++c) {
        for (int d = 1; d <= 3; ++d) {
          const Rational x(a, b), y(c, d);
          EXPECT_EQ(x + y, Rational(a * d + c * b, b * d));
          EXPECT_EQ(x * y, Rational(a * c, b * d));
          EXPECT_EQ(x < y, a * d < c * b);
          if (c != 0) {
            EXPECT_EQ(x / y * y, x);
          }
        }
      }
    }
  }
}

TEST(Rational, RefusesZeroDenominatorAndOverflow) {
  EXPECT_THROW(Rational(1, 0), base::InternalFault);
  EXPECT_THROW(Rational(INT64_MAX) * Rational(3), base::InternalFault);
  EXPECT_THROW((void)Rational(0).inverse(), base::InternalFault);
}

TEST(Draws, TriangularMeanAndBoundsMatchTheClosedForm) {
  const base::Triple t{2, 3, 7};
  double sum = 0;
  constexpr int kDraws = 20000;
  for (int i = 0; i < kDraws; ++i) {
    const double x =
        base::triangular_draw(t, base::uniform_draw(7, base::stream_of("friction"), static_cast<unsigned>(i)));
    ASSERT_GE(x, t.low);
    ASSERT_LE(x, t.high);
    sum += x;
  }
  // Mean (a+b+c)/3 = 4, variance (a2+b2+c2-ab-ac-bc)/18 = 1.1667; five standard errors of the mean.
  EXPECT_NEAR(sum / kDraws, 4.0, 5 * std::sqrt(1.1667 / kDraws));
  EXPECT_EQ(base::triangular_draw(base::Triple::exact(5), 0.9), 5);
}

TEST(Draws, DependOnNothingButSeedStreamAndIndex) {
  const double first = base::uniform_draw(1, 2, 3);
  (void)base::uniform_draw(9, 9, 9);
  EXPECT_EQ(base::uniform_draw(1, 2, 3), first);
  EXPECT_NE(base::uniform_draw(1, 2, 4), first);
}

TEST(Text, NearestNameFindsSlipsAndRefusesStrangers) {
  const std::vector<std::string> known{"angle_deg", "load_g", "time_s"};
  EXPECT_EQ(base::nearest_name("angel_deg", known), "angle_deg");
  EXPECT_EQ(base::nearest_name("laod_g", known), "load_g");
  EXPECT_EQ(base::nearest_name("entirely_else", known), std::nullopt);
}

TEST(Shell, QuotesOnlyWhatAShellWouldTakeApart) {
  EXPECT_EQ(base::shell_word("my_rig/stock.csv"), "my_rig/stock.csv");
  EXPECT_EQ(base::shell_word("Gr\xC3\xBCn"), "Gr\xC3\xBCn");
  EXPECT_EQ(base::shell_word("my rig"), "'my rig'");
  EXPECT_EQ(base::shell_word("it's $HOME"), "'it'\\''s $HOME'");
  EXPECT_EQ(base::shell_word(""), "''");
}

TEST(Text, PlainNumbersHaveNoNoise) {
  EXPECT_EQ(base::plain(12.5000001), "12.5");
  EXPECT_EQ(base::plain(1234567), "1234567");
  EXPECT_EQ(base::plain(0.00125), "0.00125");
  EXPECT_EQ(base::plain(-0.0), "0");
  EXPECT_EQ(base::plain(3.0), "3");
}

TEST(Parallel, AWorkersCallsComeOneAfterAnotherWithRisingIndices) {
  constexpr std::size_t kCount = 4000;
  ASSERT_EQ(base::workers(kCount, 3), 3U);
  EXPECT_EQ(base::workers(2, 3), 2U);
  EXPECT_EQ(base::workers(kCount, 0), 1U);
  std::vector<std::vector<std::size_t>> of(3);  // not atomic: a worker is one thread
  base::parallel_for_workers(kCount, 3, [&](std::size_t i, std::size_t worker) { of.at(worker).push_back(i); });
  std::vector<std::size_t> all;
  for (const std::vector<std::size_t>& one : of) {
    EXPECT_TRUE(std::is_sorted(one.begin(), one.end()));
    all.insert(all.end(), one.begin(), one.end());
  }
  std::sort(all.begin(), all.end());
  std::vector<std::size_t> expected(kCount);
  std::iota(expected.begin(), expected.end(), std::size_t{0});
  EXPECT_EQ(all, expected);
}

TEST(Parallel, EveryIndexRunsOnceAndTheLowestFaultSurfaces) {
  std::vector<int> hits(1000, 0);
  base::parallel_for(hits.size(), 4, [&](std::size_t i) { ++hits[i]; });
  EXPECT_EQ(std::accumulate(hits.begin(), hits.end(), 0), 1000);
  EXPECT_EQ(*std::max_element(hits.begin(), hits.end()), 1);
  EXPECT_THROW(base::parallel_for(8, 2,
                                  [](std::size_t i) {
                                    if (i > 2) throw std::runtime_error("x");
                                  }),
               std::runtime_error);
}
