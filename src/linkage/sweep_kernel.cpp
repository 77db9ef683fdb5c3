#include "linkage/sweep_kernel.h"

#include <array>
#include <cmath>

#include "base/check.h"

namespace linkage {
namespace {

// Closed before the last Newton step, as a share of the size: the step squares it, far below rounding.
constexpr double kClosed = 1e-12;
// Turned sines and cosines gather one rounding per step; renewed after this many.
constexpr int kRenew = 64;
// The series below is exact to rounding up to this step; larger ones are computed anew.
constexpr double kSmallTurn_rad = 0.05;
// As in a sweep of assembly.cpp: a correction this large may lead to another branch.
constexpr double kMostCorrection = 0.2;
constexpr std::size_t kMostCoordinates = 24;

std::size_t no(int index) {
  return static_cast<std::size_t>(index);
}

/// Turns (cosine, sine) by a small angle.
void turn(double& cosine, double& sine, double by) {
  const double q = by * by;
  const double s = by * (1 - q / 6 * (1 - q / 20 * (1 - q / 42)));
  const double c = 1 - q / 2 * (1 - q / 12 * (1 - q / 30 * (1 - q / 56)));
  const double x = cosine;
  cosine = x * c - sine * s;
  sine = sine * c + x * s;
}

/// Gauss with partial pivoting on [matrix | first | second]; sign of the determinant, 0 when singular.
template <int N>
int eliminate(double (&m)[N][N + 2], double least) {
  int sign = 1;
  for (int k = 0; k < N; ++k) {
    int best = k;
    for (int i = k + 1; i < N; ++i) {
      if (std::fabs(m[i][k]) > std::fabs(m[best][k])) best = i;
    }
    if (!(std::fabs(m[best][k]) > least)) return 0;
    if (best != k) {
      for (int j = k; j < N + 2; ++j) std::swap(m[k][j], m[best][j]);
      sign = -sign;
    }
    if (m[k][k] < 0) sign = -sign;
    const double inverse = 1 / m[k][k];
    for (int i = k + 1; i < N; ++i) {
      const double factor = m[i][k] * inverse;
      for (int j = k + 1; j < N + 2; ++j) m[i][j] -= factor * m[k][j];
    }
    for (int j = k + 1; j < N + 2; ++j) m[k][j] *= inverse;
  }
  for (int k = N - 1; k > 0; --k) {
    for (int i = 0; i < k; ++i) {
      m[i][N] -= m[i][k] * m[k][N];
      m[i][N + 1] -= m[i][k] * m[k][N + 1];
    }
  }
  return sign;
}

}  // namespace

bool SweepKernel::serves(const Loops& loops) {
  const int n = loops.unknowns();
  return (n == 2 || n == 4 || n == 6) && no(loops.coordinates()) <= kMostCoordinates;
}

SweepKernel::SweepKernel(const Loops& loops, int input, std::span<const Load> loads)
    : loops_(loops), input_(no(input)), moment_(no(loops.coordinates())) {
  KW_CHECK(serves(loops), "the sweep kernel takes mechanisms of one to three loops");
  KW_CHECK(input >= 0 && input < loops.inputs(), "no such input");
  for (std::size_t l = 0; l < loops.closures().size(); ++l) {
    for (const Term& t : loops.closures()[l]) terms_.push_back({static_cast<int>(2 * l), t.angle, t.travel, t.x, t.z});
  }
  for (const Load& load : loads) {
    if (load.body == 0) continue;
    for (const Term& t : loops.chain(load.body, load.at)) {
      if (t.angle < 0 && t.travel < 0) continue;
      auto same = load_terms_.begin();
      while (same != load_terms_.end() && (same->angle != t.angle || same->travel != t.travel)) ++same;
      if (same == load_terms_.end()) same = load_terms_.insert(same, {t.angle, t.travel, 0, 0});
      same->across += load.force.z_n * t.x - load.force.x_n * t.z;
      same->along += load.force.x_n * t.x + load.force.z_n * t.z;
    }
    const int angle = loops.angle_of(load.body);
    if (angle >= 0) moment_[no(angle)] += load.moment_nmm;
  }
}

SweepKernel::Result SweepKernel::run(const Position& start, double to, int steps, std::span<double> effort,
                                     std::span<double> free) {
  KW_CHECK(steps >= 1 && effort.size() == no(steps) + 1, "one effort per position");
  KW_CHECK(free.empty() || free.size() == (no(steps) + 1) * no(loops_.unknowns()), "one row per position");
  switch (loops_.unknowns()) {
    case 2:
      return run_sized<2>(start, to, steps, effort, free);
    case 4:
      return run_sized<4>(start, to, steps, effort, free);
    default:
      return run_sized<6>(start, to, steps, effort, free);
  }
}

template <int N>
SweepKernel::Result SweepKernel::run_sized(const Position& start, double to, int steps, std::span<double> effort,
                                           std::span<double> free) {
  const std::size_t coordinates = moment_.size();
  const double from = start.input[input_], step = (to - from) / steps;
  const double size_mm = loops_.size_mm(), least = 1e-13 * size_mm;

  // Coordinates as functions of the free ones: most are one of them, or known.
  std::array<int, kMostCoordinates> column{};
  std::array<double, kMostCoordinates> by_input{}, value{}, cosine{}, sine{}, rate{};
  std::array<char, kMostCoordinates> is_angle{};
  constexpr int kKnown = -1, kMixed = -2;
  for (std::size_t c = 0; c < coordinates; ++c) {
    const Affine& a = loops_.affine()[c];
    const bool plain = a.free.size() == 1 && a.free[0].weight == 1;
    column[c] = a.free.empty() ? kKnown : plain ? a.free[0].index : kMixed;
    for (const auto& p : a.input) by_input[c] += no(p.index) == input_ ? p.weight : 0;
    is_angle[c] = loops_.coordinate_is_travel(static_cast<int>(c)) ? 0 : 1;
  }
  const auto dot = [&](std::size_t c, const double* y) {
    if (column[c] >= 0) return y[column[c]];
    double sum = 0;
    if (column[c] == kMixed) {
      for (const auto& p : loops_.affine()[c].free) sum += p.weight * y[p.index];
    }
    return sum;
  };

  double y[N], r[N], m[N][N + 2];
  double y1[N] = {}, y2[N] = {}, r1[N] = {}, r2[N] = {};  // one and two positions before
  double limit[N];
  Position here = start;
  for (int i = 0; i < N; ++i) {
    y[i] = start.free[no(i)];
    limit[i] = kMostCorrection * (loops_.is_travel(i) ? size_mm : 1);
  }
  const auto renew = [&](double input) {
    for (std::size_t c = 0; c < coordinates; ++c) {
      const Affine& a = loops_.affine()[c];
      double v = a.constant;
      for (const auto& p : a.free) v += p.weight * y[p.index];
      for (const auto& p : a.input) v += p.weight * (no(p.index) == input_ ? input : start.input[no(p.index)]);
      value[c] = v;
      if (is_angle[c]) {
        cosine[c] = std::cos(v);
        sine[c] = std::sin(v);
      }
    }
  };
  // Moves every coordinate by a change of the free ones and of the input.
  const auto shift = [&](const double* dy, double d_input) {
    for (std::size_t c = 0; c < coordinates; ++c) {
      const double by = dot(c, dy) + by_input[c] * d_input;
      value[c] += by;
      if (!is_angle[c]) continue;
      if (std::fabs(by) <= kSmallTurn_rad) {
        turn(cosine[c], sine[c], by);
      } else {
        cosine[c] = std::cos(value[c]);
        sine[c] = std::sin(value[c]);
      }
    }
  };
  const auto evaluate = [&] {
    for (auto& row : m) {
      for (double& v : row) v = 0;
    }
    const auto add = [&](int row, int coordinate, double x, double z) {
      const std::size_t c = no(coordinate);
      if (column[c] >= 0) {
        m[row][column[c]] += x;
        m[row + 1][column[c]] += z;
      } else if (column[c] == kMixed) {
        for (const auto& p : loops_.affine()[c].free) {
          m[row][p.index] += p.weight * x;
          m[row + 1][p.index] += p.weight * z;
        }
      }
      m[row][N + 1] += by_input[c] * x;
      m[row + 1][N + 1] += by_input[c] * z;
    };
    for (const FlatTerm& t : terms_) {
      double x = t.x, z = t.z;
      if (t.angle >= 0) {
        const double c = cosine[no(t.angle)], s = sine[no(t.angle)];
        x = c * t.x - s * t.z;
        z = s * t.x + c * t.z;
      }
      if (t.travel >= 0) {
        add(t.row, t.travel, x, z);
        x *= value[no(t.travel)];
        z *= value[no(t.travel)];
      }
      m[t.row][N] += x;
      m[t.row + 1][N] += z;
      if (t.angle >= 0) add(t.row, t.angle, -z, x);
    }
  };

  Result out;
  int orientation = 0, since_renewal = 0, known = 0;  // known: positions on which a prediction can rest
  renew(from);
  for (int k = 0; k <= steps; ++k) {
    const double input = k == steps ? to : from + k * step;
    bool closed = false;
    double moved[N] = {};
    for (int i = 0; i < kNewtonCap && !closed; ++i) {
      evaluate();
      ++out.evaluations;
      double gap = 0;
      for (int row = 0; row < N; ++row) gap = std::max(gap, std::fabs(m[row][N]));
      closed = gap <= kClosed * size_mm;
      const int sign = eliminate<N>(m, least);
      if (orientation == 0) orientation = sign;
      if (sign == 0 || sign != orientation) {
        closed = false;
        break;
      }
      double dy[N];
      bool near = true;
      for (int j = 0; j < N; ++j) {
        dy[j] = -m[j][N];
        moved[j] += dy[j];
        near = near && std::fabs(moved[j]) <= limit[j];
        r[j] = -m[j][N + 1];
      }
      if (!near) {
        closed = false;
        break;
      }
      for (int j = 0; j < N; ++j) y[j] += dy[j];
      shift(dy, 0);
    }
    if (!closed) {
      // The careful sweep either follows the bend, or tells where it ends.
      KW_CHECK(k > 0, "the sweep starts where the mechanism does not close");
      const Sweep careful = sweep(loops_, here, static_cast<int>(input_), input, 1);
      if (!careful.arrives) {
        out.arrives = false;
        out.stop_value = careful.stop_value;
        return out;
      }
      for (int j = 0; j < N; ++j) y[j] = careful.positions.back().free[no(j)];
      renew(input);
      known = 0;
      evaluate();
      ++out.evaluations;
      if (eliminate<N>(m, least) == 0) {
        out.arrives = false;
        out.stop_value = input;
        return out;
      }
      for (int j = 0; j < N; ++j) r[j] = -m[j][N + 1];
    }
    // Virtual work: loads times the rates of what they stand on.
    double power = 0;
    for (std::size_t c = 0; c < coordinates; ++c) {
      rate[c] = dot(c, r) + by_input[c];
      power += moment_[c] * rate[c];
    }
    for (const LoadTerm& t : load_terms_) {
      const double c = t.angle >= 0 ? cosine[no(t.angle)] : 1, s = t.angle >= 0 ? sine[no(t.angle)] : 0;
      const double turning = c * t.across - s * t.along;
      if (t.travel < 0) {
        power += turning * rate[no(t.angle)];
        continue;
      }
      if (t.angle >= 0) power += value[no(t.travel)] * turning * rate[no(t.angle)];
      power += (c * t.along + s * t.across) * rate[no(t.travel)];
    }
    effort[no(k)] = -power;
    if (!free.empty()) {
      for (int j = 0; j < N; ++j) free[no(k) * N + no(j)] = y[j];
    }
    ++out.closed;
    if (k == steps) break;
    // Predict.
    for (int j = 0; j < N; ++j) here.free[no(j)] = y[j];
    here.input[input_] = input;
    const double next = k + 1 == steps ? to : from + (k + 1) * step;
    double ahead[N];
    for (int j = 0; j < N; ++j) {
      const double y0 = y[j];
      ahead[j] = known >= 2   ? -18 * y0 + 9 * y1[j] + 10 * y2[j] + step * (9 * r[j] + 18 * r1[j] + 3 * r2[j])
                 : known == 1 ? -4 * y0 + 5 * y1[j] + step * (4 * r[j] + 2 * r1[j])
                              : y0 + step * r[j];
      y2[j] = y1[j];
      r2[j] = r1[j];
      y1[j] = y0;
      r1[j] = r[j];
    }
    ++known;
    double dy[N];
    for (int j = 0; j < N; ++j) {
      dy[j] = ahead[j] - y[j];
      y[j] = ahead[j];
    }
    if (++since_renewal >= kRenew) {
      since_renewal = 0;
      renew(next);
    } else {
      shift(dy, next - input);
    }
  }
  return out;
}

}  // namespace linkage
