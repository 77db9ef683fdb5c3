// Reports for people. Shows what the stages computed; computes no engineering number itself.
#pragma once

#include <string>
#include <vector>

#include "design/design.h"
#include "document/diagnostic.h"
#include "report/layout.h"
#include "stock/part.h"
#include "stock/stock.h"

namespace report {

/// All diagnostics in file order, with a closing count.
[[nodiscard]] std::string diagnostics_text(const document::Diagnostics& diagnostics, const TextOptions& options);

/// The design as far as it was computed; `front`: the whole front instead of its best points.
[[nodiscard]] std::string design_text(const design::Result& result, const TextOptions& options, bool whole_front);

/// What was read from a project, and that it is sound.
[[nodiscard]] std::string check_text(const design::Result& result, const TextOptions& options);

/// Why this candidate and not another; `key`: the candidate to show (empty = the chosen one, else the best).
[[nodiscard]] std::string explain_text(const design::Result& result, std::size_t function, const std::string& key,
                                       const TextOptions& options);

/// One line per donor kit.
struct Compared {
  std::string stock_file;
  const design::Result* result = nullptr;
};
[[nodiscard]] std::string compare_text(const std::vector<Compared>& kits, const TextOptions& options);

}  // namespace report
