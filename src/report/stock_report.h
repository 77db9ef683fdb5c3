// What an imported stock list says: what was matched, what is doubtful, what nobody knows.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>

#include "report/layout.h"
#include "stock/import.h"

namespace report {

/// `all`: every matched row; else only their sum and all others.
[[nodiscard]] std::string stock_text(const stock::ImportResult& imported, const stock::Catalogue& catalogue,
                                     const TextOptions& options, bool all);
[[nodiscard]] nlohmann::ordered_json stock_json(const stock::ImportResult& imported, const stock::Catalogue& catalogue,
                                                const document::Diagnostics& diagnostics);

}  // namespace report
