// Exact rational numbers for gear ratios and lattice quantities.
// Always in lowest terms with a positive denominator. Overflow of 64 bits is a fault of ours and throws (KW_CHECK):
// four stages of teeth up to 10^4 stay below 10^16.
#pragma once

#include <compare>
#include <cstdint>
#include <string>

namespace base {

class Rational {
 public:
  constexpr Rational() = default;
  constexpr Rational(std::int64_t whole) : num_(whole) {}  // NOLINT: whole numbers convert by meaning
  Rational(std::int64_t num, std::int64_t den);

  [[nodiscard]] std::int64_t num() const { return num_; }
  [[nodiscard]] std::int64_t den() const { return den_; }
  [[nodiscard]] double value() const { return static_cast<double>(num_) / static_cast<double>(den_); }
  [[nodiscard]] Rational inverse() const;  ///< zero has none: KW_CHECK
  [[nodiscard]] Rational abs() const;
  [[nodiscard]] std::string text() const;  ///< "5/24", "3", "-1/2"

  friend Rational operator*(const Rational& a, const Rational& b);
  friend Rational operator/(const Rational& a, const Rational& b) { return a * b.inverse(); }
  friend Rational operator+(const Rational& a, const Rational& b);
  friend Rational operator-(const Rational& a, const Rational& b) { return a + (-b); }
  friend Rational operator-(const Rational& a);
  friend bool operator==(const Rational&, const Rational&) = default;
  friend std::strong_ordering operator<=>(const Rational& a, const Rational& b);

 private:
  std::int64_t num_ = 0;
  std::int64_t den_ = 1;
};

}  // namespace base
