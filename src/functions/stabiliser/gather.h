// What both sorts of legs do with the designs found: candidates on paper, placed, with what was refused.
#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "candidate/candidate.h"
#include "functions/drive/placing.h"

namespace functions::stabiliser {

/// What the search of one variant found; `D` is a design.
template <class D>
struct Found {
  std::vector<D> designs;
  std::vector<candidate::Rejection> rejections;
  std::int64_t examined = 0;
  bool complete = true;
  std::string limit_text;
};

/// Puts what all variants found into the proposal, in their order. `placers` per number of legs on a shaft;
/// `make_candidate(design, function)` and `present(design, candidate)` are those of the sort of leg.
template <class D, class Log, class Placers, class Make, class Present>
void gather(std::vector<Found<D>> found, const Placers& placers, const brief::Function& function,
            const brief::Brief& brief, Log& log, const base::RunControl& control, const Make& make_candidate,
            const Present& present, candidate::Proposal& proposal) {
  std::vector<drive::Draft> drafts;
  for (Found<D>& one : found) {
    proposal.examined += one.examined;
    drive::add_all(log, std::move(one.rejections));
    if (!one.complete && proposal.complete) {
      proposal.complete = false;
      proposal.limit_text = one.limit_text;
    }
    for (D& d : one.designs) {
      const auto design = std::make_shared<const D>(std::move(d));
      const auto make = [&](const std::shared_ptr<const D>& own) { return make_candidate(own, function); };
      drive::Draft draft = drive::draft_of(design, *placers.at(design->on_shaft), function, control, make, present);
      if (draft.paper.nominal.worst() >= candidate::kNearMiss) drafts.push_back(std::move(draft));
    }
  }
  proposal.candidates = drive::place_drafts(std::move(drafts), brief, function, log, control);
  for (const auto& [on_shaft, own] : placers) {
    if (proposal.candidates.empty()) own->tell_wider_room(log, control);
  }
}

}  // namespace functions::stabiliser
