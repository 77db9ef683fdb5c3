// Schemes of two and three colours: every set of colours, the best colours of the zones within it by branch and bound.
#include <algorithm>
#include <optional>
#include <set>
#include <tuple>

#include "looks/flow.h"

namespace looks {
namespace {

/// Better schemes first. A set of colours enters once, so no two are equal.
auto rank(const Scheme& s) {
  return std::tie(s.cost, s.changed_zones, s.of_zone);
}

class Search {
 public:
  Search(const std::vector<Zone>& zones, const std::vector<Left>& left, const SchemeOptions& options)
      : zones_(zones), options_(options), flow_(zones, left) {}

  Schemes run() {
    std::set<std::string> colours;
    for (const Type& t : flow_.types()) {
      if (!t.colour.empty()) colours.insert(t.colour);
    }
    const std::vector<std::string> known(colours.begin(), colours.end());
    for (std::size_t a = 0; a < known.size(); ++a) {
      for (std::size_t b = a + 1; b < known.size(); ++b) {
        look_at({known[a], known[b]}, out_.two);
        for (std::size_t c = b + 1; c < known.size(); ++c) look_at({known[a], known[b], known[c]}, out_.three);
      }
    }
    return std::move(out_);
  }

 private:
  void look_at(std::vector<std::string> set, std::vector<Scheme>& best) {
    if (zones_.size() < set.size() || !out_.proven) return;
    set_ = std::move(set);
    found_.reset();
    // What cannot be among the best told is not looked for.
    limit_ = static_cast<int>(best.size()) < options_.best ? nullptr : &best.back();
    welcome_.assign(zones_.size(), set_);
    chosen_.assign(zones_.size(), {});
    branch(0, 0);
    if (!out_.proven) return;
    ++out_.sets;
    if (!found_ || options_.best <= 0) return;
    best.insert(std::upper_bound(best.begin(), best.end(), *found_,
                                 [](const Scheme& x, const Scheme& y) { return rank(x) < rank(y); }),
                *found_);
    if (static_cast<int>(best.size()) > options_.best) best.pop_back();
  }

  /// Zones before `zone` have their colour, the others may take any of the set for each piece: a bound from below.
  void branch(std::size_t zone, int changed) {
    if (!out_.proven) return;
    if (options_.node_limit > 0 && out_.examined >= options_.node_limit) {
      out_.proven = false;
      return;
    }
    ++out_.examined;
    const Flow::Answer answer = flow_.solve(welcome_);
    // All that follows costs at least this and changes at least so many zones; of equals the first in the order of the
    // search stays, which is the first by the zones' colours.
    const auto least = std::tuple(answer.cost, changed);
    if (found_ && least >= std::tuple(found_->cost, found_->changed_zones)) return;
    if (limit_ != nullptr && least > std::tuple(limit_->cost, limit_->changed_zones)) return;
    if (zone == zones_.size()) {
      Scheme s;
      s.colours = set_;
      s.of_zone = chosen_;
      s.cost = answer.cost;
      s.missing = answer.missing;
      s.mismatched = mismatched(answer);
      s.changed_zones = changed;
      found_ = std::move(s);
      return;
    }
    for (const std::string& colour : set_) {
      chosen_[zone] = colour;
      const auto begin = chosen_.begin(), end = begin + static_cast<std::ptrdiff_t>(zone) + 1;
      const auto unused = std::count_if(set_.begin(), set_.end(),
                                        [&](const std::string& c) { return std::find(begin, end, c) == end; });
      if (static_cast<std::size_t>(unused) > zones_.size() - zone - 1) continue;
      welcome_[zone] = {colour};
      branch(zone + 1, changed + (colour != zones_[zone].colour ? 1 : 0));
    }
    welcome_[zone] = set_;
  }

  [[nodiscard]] int mismatched(const Flow::Answer& answer) const {
    int out = 0;
    for (const Flow::Taken& t : answer.taken) {
      if (flow_.types()[static_cast<std::size_t>(t.type)].colour != chosen_[static_cast<std::size_t>(t.zone)])
        out += t.count;
    }
    return out;
  }

  const std::vector<Zone>& zones_;
  SchemeOptions options_;
  Flow flow_;
  Schemes out_;
  std::vector<std::string> set_, chosen_;
  Flow::Welcome welcome_;
  std::optional<Scheme> found_;
  const Scheme* limit_ = nullptr;
};

}  // namespace

Schemes best_schemes(const std::vector<Zone>& zones, const std::vector<Left>& left, const SchemeOptions& options) {
  return Search(zones, left, options).run();
}

}  // namespace looks
