#include "candidate/candidate.h"

#include <algorithm>
#include <cmath>

#include "base/check.h"

namespace candidate {
namespace {

double capped(double ratio) {
  if (!(ratio > 0)) return 0;  // also not-a-number: a margin that cannot be computed is no margin
  return std::min(ratio, kMarginCap);
}

/// Needs summed by acceptable set, ascending, so that two candidates compare need by need.
struct SetNeed {
  const std::vector<stock::ClassId>* accepts = nullptr;
  int count = 0;
};
using NeedList = std::vector<SetNeed>;

NeedList need_list(const Demand& demand) {
  NeedList out;
  out.reserve(demand.needs.size());
  for (const Need& need : demand.needs) out.push_back({&need.accepts, need.count});
  std::sort(out.begin(), out.end(), [](const SetNeed& a, const SetNeed& b) { return *a.accepts < *b.accepts; });
  std::size_t n = 0;
  for (const SetNeed& need : out) {
    if (n > 0 && *out[n - 1].accepts == *need.accepts) {
      out[n - 1].count += need.count;
    } else {
      out[n++] = need;
    }
  }
  out.resize(n);
  return out;
}

bool needs_at_most(const NeedList& a, const NeedList& b) {
  auto other = b.begin();
  return std::all_of(a.begin(), a.end(), [&](const SetNeed& need) {
    while (other != b.end() && *other->accepts < *need.accepts) ++other;
    return other != b.end() && *other->accepts == *need.accepts && need.count <= other->count;
  });
}

/// What two candidates are compared by, worked out once each.
struct Ranked {
  std::size_t at = 0;
  double worst = 0;
  double mass_g = 0;
  double current_ma = 0;
  int ports = 0, channels = 0, parts = 0;
  const std::vector<BodyCells>* cells = nullptr;
  std::size_t cell_count = 0;
  std::uint64_t signature = 0;  ///< one bit per acceptable set (hashed): a dominator's bits are among the other's
  NeedList needs;
};

/// Whether whatever leaves room for b's cells leaves room for a's.
bool cells_among(const std::vector<BodyCells>& a, const std::vector<BodyCells>& b) {
  return std::all_of(a.begin(), a.end(), [&](const BodyCells& own) {
    const auto other = std::find_if(b.begin(), b.end(), [&](const BodyCells& c) { return c.body == own.body; });
    return own.cells.empty() || (other != b.end() && own.cells.among(other->cells));
  });
}

bool dominates(const Ranked& a, const Ranked& b) {
  // A relative hair keeps rounding in the last digits from letting two equal candidates both survive.
  constexpr double kHair = 1e-9;
  if (a.parts > b.parts || a.ports > b.ports || a.channels > b.channels) return false;
  if (a.mass_g > b.mass_g * (1 + kHair) || a.current_ma > b.current_ma * (1 + kHair)) return false;
  if (a.worst < b.worst * (1 - kHair)) return false;
  if ((a.signature & ~b.signature) != 0 || a.cell_count > b.cell_count) return false;
  return needs_at_most(a.needs, b.needs) && cells_among(*a.cells, *b.cells);
}

}  // namespace

double Evaluation::worst() const {
  double least = kMarginCap;
  for (const Margin& m : margins) least = std::min(least, m.ratio);
  return least;
}

void keep_non_dominated(std::vector<Candidate>& candidates, const stock::Catalogue& catalogue) {
  std::vector<Ranked> ranked;
  ranked.reserve(candidates.size());
  for (std::size_t i = 0; i < candidates.size(); ++i) {
    const Candidate& c = candidates[i];
    Ranked r{i,
             c.nominal.worst(),
             parts_mass_g(c.demand, catalogue),
             c.demand.running_current_ma,
             c.demand.ports,
             c.demand.channels,
             parts_count(c.demand),
             &c.cells,
             0,
             0,
             need_list(c.demand)};
    for (const BodyCells& own : c.cells) r.cell_count += own.cells.size();
    for (const SetNeed& need : r.needs) {
      std::uint64_t h = 0;
      for (const stock::ClassId id : *need.accepts)
        h = h * 0x9e3779b97f4a7c15ULL + static_cast<std::uint64_t>(index(id)) + 1;
      r.signature |= std::uint64_t{1} << ((h ^ (h >> 29)) & 63U);
    }
    ranked.push_back(std::move(r));
  }
  std::sort(ranked.begin(), ranked.end(), [&](const Ranked& a, const Ranked& b) {
    if (a.worst != b.worst) return a.worst > b.worst;
    if (a.mass_g != b.mass_g) return a.mass_g < b.mass_g;
    return candidates[a.at].key < candidates[b.at].key;
  });
  std::vector<const Ranked*> kept;
  for (const Ranked& r : ranked) {
    // A dominator has at least the same worst margin, so it was met earlier (hair apart: equal margins are checked both
    // ways by the order of mass and key).
    const bool beaten = std::any_of(kept.begin(), kept.end(), [&](const Ranked* k) { return dominates(*k, r); });
    if (!beaten) kept.push_back(&r);
  }
  std::vector<Candidate> out;
  out.reserve(kept.size());
  for (const Ranked* k : kept) out.push_back(std::move(candidates[k->at]));
  candidates = std::move(out);
}

void RejectionLog::add(std::string code, double shortfall, std::string unit, const std::function<std::string()>& text,
                       std::int64_t count) {
  const auto same = std::find_if(items_.begin(), items_.end(), [&](const Rejection& r) { return r.code == code; });
  if (same == items_.end()) {
    items_.push_back({std::move(code), text(), shortfall, std::move(unit), count});
    return;
  }
  same->count += count;
  if (shortfall < same->shortfall) {
    same->shortfall = shortfall;
    same->text = text();
    same->unit = std::move(unit);
  }
}

std::vector<Rejection> RejectionLog::take() {
  std::sort(items_.begin(), items_.end(), [](const Rejection& a, const Rejection& b) {
    return a.count != b.count ? a.count > b.count : a.code < b.code;
  });
  return std::move(items_);
}

Margin at_least(std::string name, double capability, double requirement, std::string unit, std::string note) {
  const double ratio = requirement > 0 ? capped(capability / requirement) : kMarginCap;
  return {std::move(name), capability, requirement, std::move(unit), std::move(note), ratio};
}

Margin at_most(std::string name, double reached, double allowed, std::string unit, std::string note) {
  const double ratio = reached > 0 ? capped(allowed / reached) : (reached == 0 ? kMarginCap : 0);
  return {std::move(name), reached, allowed, std::move(unit), std::move(note), ratio};
}

double parts_mass_g(const Demand& demand, const stock::Catalogue& catalogue) {
  double sum_g = 0;
  for (const Need& need : demand.needs) {
    KW_CHECK(!need.accepts.empty(), "a need accepts at least one class");
    double lightest_g = catalogue.at(need.accepts.front()).mass_g.value.nominal;
    for (const stock::ClassId id : need.accepts)
      lightest_g = std::min(lightest_g, catalogue.at(id).mass_g.value.nominal);
    sum_g += lightest_g * need.count;
  }
  return sum_g;
}

int parts_count(const Demand& demand) {
  int sum = 0;
  for (const Need& need : demand.needs) sum += need.count;
  return sum;
}

}  // namespace candidate
