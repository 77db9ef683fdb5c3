// The inner loops of the search over one function's block of a row matrix: int32, row after row, columns padded to a
// multiple of kLane with copies of column 0. Plain loops; the compiler makes one version per instruction set and the
// machine picks at start. Integer loops are exact; the float loops do the same operations in the same order in every
// version (no contraction, no reassociation), so all machines search alike.
#pragma once

#include <cstdint>

namespace allocation::kernel {

inline constexpr int kLane = 8;

/// sum[c] += sum over i of weight[i] * d[row[i] * stride + c], for c < stride.
void add_weighted(float* sum, const std::int32_t* d, int stride, const int* row, const float* weight, int n_rows);

/// The same in double. Exact while all sums stay below 2^53 and the weights are whole numbers.
void add_weighted_exact(double* sum, const std::int32_t* d, int stride, const int* row, const double* weight,
                        int n_rows);

/// Smallest and largest value of every row.
void row_ranges(const std::int32_t* d, int stride, int n_rows, std::int32_t* low, std::int32_t* high);

/// sum[c] += sum over rows of weight[r] * max(0, d[r * stride + c] - room[r]).
void add_excess(float* sum, const std::int32_t* d, int stride, int n_rows, const std::int32_t* room,
                const float* weight);

/// dead[c] |= d[c] > room, for c < stride; dead is one int32 per column.
void mark_above(std::int32_t* dead, const std::int32_t* d, int stride, std::int32_t room);

/// The same with INT32_MAX for what exceeds.
void mask_above(std::int32_t* gone, const std::int32_t* d, int n, std::int32_t room);

/// Widens kLane ranges per row listed, low[i * kLane ...] and high likewise, to the values d[row[i] * stride + c] >= 0,
/// c < n, each lane to its own columns, except where gone[c] is INT32_MAX instead of 0. n a multiple of kLane.
void masked_ranges(const std::int32_t* d, int stride, int n, const int* row, int n_rows, const std::int32_t* gone,
                   std::int32_t* low, std::int32_t* high);

/// d[c] -= amount.
void lower(std::int32_t* d, int stride, std::int32_t amount);

/// Position of the smallest value, the first of equals; n a multiple of kLane.
int argmin(const float* v, int n);

inline constexpr int kWords = 4;

/// Largest of d[c] * unit - price * charge[c], c < n, n a multiple of kLane; all of it within 32 bits.
std::int32_t most_beside(const std::int32_t* d, std::int32_t unit, const std::int32_t* charge, std::int32_t price,
                         int n);

/// load += more - less, n values each.
void move_load(std::int64_t* load, const std::int32_t* more, const std::int32_t* less, int n);

/// out = from & masks[at[0]..] & masks[at[1]..] & ..., n words each, a multiple of kWords; out may be from.
void and_words(const std::uint64_t* from, int n, const std::uint64_t* masks, const int* at, int n_masks,
               std::uint64_t* out);

}  // namespace allocation::kernel
