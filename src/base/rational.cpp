#include "base/rational.h"

#include <fmt/format.h>

#include <numeric>

#include "base/check.h"

namespace base {
namespace {

__extension__ typedef __int128 Wide;

Wide gcd_wide(Wide a, Wide b) {
  if (a < 0) a = -a;
  if (b < 0) b = -b;
  while (b != 0) {
    const Wide r = a % b;
    a = b;
    b = r;
  }
  return a;
}

Rational reduced(Wide num, Wide den) {
  KW_CHECK(den != 0, "rational with denominator zero");
  if (den < 0) {
    num = -num;
    den = -den;
  }
  const Wide g = gcd_wide(num, den);
  if (g > 1) {
    num /= g;
    den /= g;
  }
  KW_CHECK(num <= INT64_MAX && num >= -INT64_MAX && den <= INT64_MAX, "rational leaves 64 bits");
  // Both are in lowest terms and the denominator is positive, so the checked constructor keeps them as they are.
  return Rational(static_cast<std::int64_t>(num), static_cast<std::int64_t>(den));
}

}  // namespace

Rational::Rational(std::int64_t num, std::int64_t den) : num_(num), den_(den) {
  KW_CHECK(den != 0, "rational with denominator zero");
  KW_CHECK(num != INT64_MIN && den != INT64_MIN, "rational at the edge of 64 bits");
  const std::int64_t g = std::gcd(num, den);
  if (g > 1) {
    num_ /= g;
    den_ /= g;
  }
  if (den_ < 0) {
    num_ = -num_;
    den_ = -den_;
  }
}

Rational Rational::inverse() const {
  KW_CHECK(num_ != 0, "inverse of zero");
  return Rational(den_, num_);
}

Rational Rational::abs() const {
  return num_ < 0 ? -*this : *this;
}

std::string Rational::text() const {
  return den_ == 1 ? fmt::format("{}", num_) : fmt::format("{}/{}", num_, den_);
}

Rational operator*(const Rational& a, const Rational& b) {
  return reduced(static_cast<Wide>(a.num_) * b.num_, static_cast<Wide>(a.den_) * b.den_);
}

Rational operator+(const Rational& a, const Rational& b) {
  return reduced(static_cast<Wide>(a.num_) * b.den_ + static_cast<Wide>(b.num_) * a.den_,
                 static_cast<Wide>(a.den_) * b.den_);
}

Rational operator-(const Rational& a) {
  Rational r = a;
  r.num_ = -r.num_;
  return r;
}

std::strong_ordering operator<=>(const Rational& a, const Rational& b) {
  const Wide left = static_cast<Wide>(a.num_) * b.den_;
  const Wide right = static_cast<Wide>(b.num_) * a.den_;
  if (left < right) return std::strong_ordering::less;
  if (left > right) return std::strong_ordering::greater;
  return std::strong_ordering::equal;
}

}  // namespace base
