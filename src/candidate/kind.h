// What a kind of function must offer. The list of kinds is in functions/CMakeLists.txt; nothing else names one.
#pragma once

#include <memory>
#include <string_view>
#include <vector>

#include "candidate/candidate.h"
#include "document/fields.h"

namespace candidate {

/// A kind's validated wants, converted to core units. Each kind derives its own.
struct Wants {
  virtual ~Wants() = default;
};

struct Kind {
  std::string_view name;     ///< "luff"
  std::string_view summary;  ///< one line for people
  /// Keys of the wants table: documentation and schema.
  std::vector<document::FieldDoc> (*fields)();
  /// Reads and checks the wants; reports every problem; null when there was an error.
  std::shared_ptr<const Wants> (*read)(const brief::Function&, const brief::Brief&, document::Diagnostics&);
  /// Every non-dominated candidate; never throws for lack of parts: an empty proposal with reasons is the answer.
  Proposal (*propose)(const brief::Function&, const Wants&, const brief::Brief&, const base::RunControl&);
  /// propose() divides its work among the threads by itself. The searches of other kinds are started before these, so
  /// that none of them is left to one thread at the end. Never changes a result.
  bool divides = false;
};

}  // namespace candidate
