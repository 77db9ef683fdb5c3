#include "allocation/kernels.h"

#include <cstdint>
#include <cstring>

// Versioned functions are chosen by a resolver that runs before sanitizers are ready, so they get one version only.
#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__) && !defined(__SANITIZE_ADDRESS__) && \
    !defined(__SANITIZE_THREAD__)
#define ALLOCATION_CLONES __attribute__((target_clones("avx2", "default")))
#else
#define ALLOCATION_CLONES
#endif

namespace allocation::kernel {

ALLOCATION_CLONES
void add_weighted(float* __restrict sum, const std::int32_t* __restrict d, int stride, const int* row,
                  const float* weight, int n_rows) {
  int i = 0;
  for (; i + 4 <= n_rows; i += 4) {
    const std::int32_t* a = d + static_cast<std::int64_t>(row[i]) * stride;
    const std::int32_t* b = d + static_cast<std::int64_t>(row[i + 1]) * stride;
    const std::int32_t* e = d + static_cast<std::int64_t>(row[i + 2]) * stride;
    const std::int32_t* g = d + static_cast<std::int64_t>(row[i + 3]) * stride;
    const float wa = weight[i], wb = weight[i + 1], we = weight[i + 2], wg = weight[i + 3];
    for (int c = 0; c < stride; c += kLane) {
      for (int k = 0; k < kLane; ++k) {
        sum[c + k] = (sum[c + k] + (wa * static_cast<float>(a[c + k]) + wb * static_cast<float>(b[c + k]))) +
                     (we * static_cast<float>(e[c + k]) + wg * static_cast<float>(g[c + k]));
      }
    }
  }
  for (; i < n_rows; ++i) {
    const std::int32_t* a = d + static_cast<std::int64_t>(row[i]) * stride;
    const float wa = weight[i];
    for (int c = 0; c < stride; c += kLane) {
      for (int k = 0; k < kLane; ++k) sum[c + k] += wa * static_cast<float>(a[c + k]);
    }
  }
}

ALLOCATION_CLONES
void add_weighted_exact(double* __restrict sum, const std::int32_t* __restrict d, int stride, const int* row,
                        const double* weight, int n_rows) {
  for (int i = 0; i < n_rows; ++i) {
    const std::int32_t* a = d + static_cast<std::int64_t>(row[i]) * stride;
    const double w = weight[i];
    for (int c = 0; c < stride; c += kLane) {
      for (int k = 0; k < kLane; ++k) sum[c + k] += w * static_cast<double>(a[c + k]);
    }
  }
}

ALLOCATION_CLONES
void row_ranges(const std::int32_t* __restrict d, int stride, int n_rows, std::int32_t* __restrict low,
                std::int32_t* __restrict high) {
  for (int r = 0; r < n_rows; ++r) {
    const std::int32_t* v = d + static_cast<std::int64_t>(r) * stride;
    std::int32_t lo[kLane], hi[kLane];
    for (int k = 0; k < kLane; ++k) lo[k] = hi[k] = v[k];
    for (int c = kLane; c < stride; c += kLane) {
      for (int k = 0; k < kLane; ++k) {
        lo[k] = v[c + k] < lo[k] ? v[c + k] : lo[k];
        hi[k] = v[c + k] > hi[k] ? v[c + k] : hi[k];
      }
    }
    for (int k = 1; k < kLane; ++k) {
      lo[0] = lo[k] < lo[0] ? lo[k] : lo[0];
      hi[0] = hi[k] > hi[0] ? hi[k] : hi[0];
    }
    low[r] = lo[0];
    high[r] = hi[0];
  }
}

ALLOCATION_CLONES
void add_excess(float* __restrict sum, const std::int32_t* __restrict d, int stride, int n_rows,
                const std::int32_t* room, const float* weight) {
  for (int r = 0; r < n_rows; ++r) {
    const std::int32_t* v = d + static_cast<std::int64_t>(r) * stride;
    const std::int32_t limit = room[r];
    const float w = weight[r];
    for (int c = 0; c < stride; c += kLane) {
      for (int k = 0; k < kLane; ++k) {
        const std::int32_t over = v[c + k] - limit;
        sum[c + k] += w * static_cast<float>(over > 0 ? over : 0);
      }
    }
  }
}

ALLOCATION_CLONES
void mark_above(std::int32_t* __restrict dead, const std::int32_t* __restrict d, int stride, std::int32_t room) {
  for (int c = 0; c < stride; c += kLane) {
    for (int k = 0; k < kLane; ++k) dead[c + k] |= d[c + k] > room ? 1 : 0;
  }
}

ALLOCATION_CLONES
void mask_above(std::int32_t* __restrict gone, const std::int32_t* __restrict d, int n, std::int32_t room) {
  for (int c = 0; c < n; c += kLane) {
    for (int k = 0; k < kLane; ++k) gone[c + k] |= d[c + k] > room ? INT32_MAX : 0;
  }
}

ALLOCATION_CLONES
void masked_ranges(const std::int32_t* __restrict d, int stride, int n, const int* row, int n_rows,
                   const std::int32_t* __restrict gone, std::int32_t* __restrict low, std::int32_t* __restrict high) {
  // Lanes by name: left to itself the compiler turns the loops round and shuffles.
  using Lanes = std::int32_t __attribute__((vector_size(kLane * sizeof(std::int32_t))));
  for (int i = 0; i < n_rows; ++i) {
    const std::int32_t* v = d + static_cast<std::int64_t>(row[i]) * stride;
    Lanes lo, hi, value, mask;
    std::memcpy(&lo, low + i * kLane, sizeof lo);
    std::memcpy(&hi, high + i * kLane, sizeof hi);
    for (int c = 0; c < n; c += kLane) {
      std::memcpy(&value, v + c, sizeof value);
      std::memcpy(&mask, gone + c, sizeof mask);
      const Lanes least = value | mask, most = value & ~mask;
      lo = least < lo ? least : lo;
      hi = most > hi ? most : hi;
    }
    std::memcpy(low + i * kLane, &lo, sizeof lo);
    std::memcpy(high + i * kLane, &hi, sizeof hi);
  }
}

ALLOCATION_CLONES
void lower(std::int32_t* d, int stride, std::int32_t amount) {
  for (int c = 0; c < stride; c += kLane) {
    for (int k = 0; k < kLane; ++k) d[c + k] -= amount;
  }
}

ALLOCATION_CLONES
int argmin(const float* v, int n) {
  float low[kLane];
  for (int k = 0; k < kLane; ++k) low[k] = v[k];
  for (int c = kLane; c < n; c += kLane) {
    for (int k = 0; k < kLane; ++k) low[k] = v[c + k] < low[k] ? v[c + k] : low[k];
  }
  float best = low[0];
  for (int k = 1; k < kLane; ++k) best = low[k] < best ? low[k] : best;
  int at = 0;
  while (v[at] != best) ++at;
  return at;
}

ALLOCATION_CLONES
std::int32_t most_beside(const std::int32_t* __restrict d, std::int32_t unit, const std::int32_t* __restrict charge,
                         std::int32_t price, int n) {
  std::int32_t most[kLane];
  for (int k = 0; k < kLane; ++k) most[k] = d[k] * unit - price * charge[k];
  for (int c = kLane; c < n; c += kLane) {
    for (int k = 0; k < kLane; ++k) {
      const std::int32_t v = d[c + k] * unit - price * charge[c + k];
      most[k] = v > most[k] ? v : most[k];
    }
  }
  std::int32_t out = most[0];
  for (int k = 1; k < kLane; ++k) out = most[k] > out ? most[k] : out;
  return out;
}

ALLOCATION_CLONES
void move_load(std::int64_t* __restrict load, const std::int32_t* __restrict more, const std::int32_t* __restrict less,
               int n) {
  for (int i = 0; i < n; ++i) load[i] += more[i] - less[i];
}

ALLOCATION_CLONES
void and_words(const std::uint64_t* from, int n, const std::uint64_t* masks, const int* at, int n_masks,
               std::uint64_t* out) {
  using Words = std::uint64_t __attribute__((vector_size(kWords * sizeof(std::uint64_t))));
  int w = 0;
  for (; w + 3 * kWords <= n; w += 3 * kWords) {
    Words x, y, z, mask;
    std::memcpy(&x, from + w, sizeof x);
    std::memcpy(&y, from + w + kWords, sizeof y);
    std::memcpy(&z, from + w + 2 * kWords, sizeof z);
    for (int i = 0; i < n_masks; ++i) {
      const std::uint64_t* m = masks + at[i] + w;
      std::memcpy(&mask, m, sizeof mask);
      x &= mask;
      std::memcpy(&mask, m + kWords, sizeof mask);
      y &= mask;
      std::memcpy(&mask, m + 2 * kWords, sizeof mask);
      z &= mask;
    }
    std::memcpy(out + w, &x, sizeof x);
    std::memcpy(out + w + kWords, &y, sizeof y);
    std::memcpy(out + w + 2 * kWords, &z, sizeof z);
  }
  for (; w < n; w += kWords) {
    Words x, y;
    std::memcpy(&x, from + w, sizeof x);
    for (int i = 0; i < n_masks; ++i) {
      std::memcpy(&y, masks + at[i] + w, sizeof y);
      x &= y;
    }
    std::memcpy(out + w, &x, sizeof x);
  }
}

}  // namespace allocation::kernel
