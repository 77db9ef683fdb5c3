// Dense LU with partial pivoting for the small systems of one mechanism position (4 to 30 unknowns), in place and
// without allocation. A library's blocked factorisation spends more on its set-up than these systems take. Rows first.
#pragma once

#include <cmath>
#include <cstddef>
#include <span>
#include <utility>

namespace linkage {

/// Factors `a` (n x n) into P a = L U, row swaps in `pivot`. Returns the sign of the determinant, 0 when a pivot falls
/// below `least` (the matrix is singular; the factors are then of no use).
inline int lu_factor(std::span<double> a, std::span<int> pivot, std::size_t n, double least) {
  int sign = 1;
  for (std::size_t k = 0; k < n; ++k) {
    std::size_t best = k;
    double size = std::fabs(a[k * n + k]);
    for (std::size_t i = k + 1; i < n; ++i) {
      const double other = std::fabs(a[i * n + k]);
      if (other > size) {
        size = other;
        best = i;
      }
    }
    if (!(size > least)) return 0;
    pivot[k] = static_cast<int>(best);
    if (best != k) {
      for (std::size_t j = 0; j < n; ++j) std::swap(a[k * n + j], a[best * n + j]);
      sign = -sign;
    }
    const double diagonal = a[k * n + k];
    if (diagonal < 0) sign = -sign;
    const double inverse = 1 / diagonal;
    const double* upper = &a[k * n];
    for (std::size_t i = k + 1; i < n; ++i) {
      double* row = &a[i * n];
      const double factor = row[k] * inverse;
      row[k] = factor;
      if (factor == 0) continue;
      for (std::size_t j = k + 1; j < n; ++j) row[j] -= factor * upper[j];
    }
  }
  return sign;
}

/// Solves with the factors, in place.
inline void lu_solve(std::span<const double> lu, std::span<const int> pivot, std::size_t n, std::span<double> b) {
  for (std::size_t k = 0; k < n; ++k) std::swap(b[k], b[static_cast<std::size_t>(pivot[k])]);
  for (std::size_t i = 1; i < n; ++i) {
    double sum = b[i];
    for (std::size_t j = 0; j < i; ++j) sum -= lu[i * n + j] * b[j];
    b[i] = sum;
  }
  for (std::size_t i = n; i-- > 0;) {
    double sum = b[i];
    for (std::size_t j = i + 1; j < n; ++j) sum -= lu[i * n + j] * b[j];
    b[i] = sum / lu[i * n + i];
  }
}

}  // namespace linkage
