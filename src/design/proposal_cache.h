// What functions were offered in earlier runs, so that an edit of one function's wants does not search all others
// again.
#pragma once

#include <list>
#include <memory>
#include <mutex>
#include <string>
#include <vector>

#include "candidate/candidate.h"
#include "design/design.h"

namespace design {

/// Thread-safe. Keeps the proposals used last.
class ProposalCache {
 public:
  /// Some megabytes each.
  explicit ProposalCache(std::size_t most = 12) : most_(most) {}

  /// Room for the latest three states of every function, when that is more than there is.
  void make_room(std::size_t functions);

  [[nodiscard]] std::shared_ptr<const candidate::Proposal> find(const std::string& key);
  void keep(const std::string& key, candidate::Proposal proposal);

 private:
  struct Kept {
    std::string key;
    std::shared_ptr<const candidate::Proposal> proposal;
  };
  std::mutex mutex_;
  std::size_t most_;
  std::list<Kept> kept_;  // used last comes first
};

/// Per function of the brief everything its proposal can depend on, spelled out: the project without what the kinds do
/// not get to see (limits, reserves, locks, priorities, duties, the wants of other kinds), the wants of its own kind,
/// what bench tests taught, the stock and the catalogue. Empty when there is no cache or no text.
[[nodiscard]] std::vector<std::string> proposal_keys(const Options& options, const brief::Brief& brief);

}  // namespace design
