// The list of parts a stranger needs, for programs, and what a stranger's stock lacks of it.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

#include "design/design.h"
#include "document/diagnostic.h"
#include "report/layout.h"
#include "stock/import.h"
#include "stock/part.h"

namespace dossier {

/// Pieces that any of several classes can be; part classes by their id, so that the list outlives the catalogue's
/// order.
struct PartNeed {
  std::vector<std::string> accepts;  ///< the one that was taken first, then by id
  int count = 0;
  std::string label;   ///< "axle, length 5 or 6"
  std::string use;     ///< function id, or what the parts are kept back for
  std::string role;    ///< "second shaft"; may be empty
  bool looks = false;  ///< kept back with a colour; the colour
  std::string colour;
};

struct PartsList {
  std::string project, hash, system;
  std::vector<PartNeed> needs;  ///< in the order of the functions, then what is kept back, power supply, cables
};

[[nodiscard]] PartsList parts_list(const design::Result& result, const std::string& hash);
[[nodiscard]] std::string parts_json(const PartsList& list);
/// use,role,count,label,accepts
[[nodiscard]] std::string parts_csv(const PartsList& list);

/// From parts.json, dossier.html, or a folder that holds one of them. Reports what is wrong and returns nothing.
[[nodiscard]] std::optional<PartsList> read_parts(const std::string& path, document::Diagnostics& diagnostics);

/// What is missing of one need when all are served as far as the stock goes.
struct Lack {
  std::size_t need = 0;  ///< index into PartsList::needs
  int missing = 0;
};
struct StockCheck {
  int needed = 0, missing = 0;  ///< pieces; `missing` is the least possible
  std::vector<Lack> lacks;      ///< in the order of the needs
  /// Part classes of which more of would help, with the pieces to get when each need gets its first choice.
  std::vector<std::pair<std::string, int>> to_get;
  std::vector<std::string> unknown;  ///< classes of the list that the catalogue does not have
};

/// Serves as many pieces as the stock can, whatever their colour: greatest flow from needs to classes by augmenting
/// paths (Ford & Fulkerson 1956), needs and classes in order, so that the answer is always the same.
[[nodiscard]] StockCheck check_stock(const PartsList& list, const stock::Catalogue& catalogue,
                                     const stock::Stock& stock);

[[nodiscard]] std::string check_text(const StockCheck& check, const PartsList& list, const stock::Catalogue& catalogue,
                                     const report::TextOptions& options);
[[nodiscard]] nlohmann::ordered_json check_json(const StockCheck& check, const PartsList& list,
                                                const stock::ImportResult& imported,
                                                const document::Diagnostics& diagnostics);

}  // namespace dossier
