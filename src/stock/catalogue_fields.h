// Field tables of the catalogue files. Internal to stock: other folders use stock/catalogue.h.
#pragma once

#include <string>
#include <vector>

#include "document/fields.h"
#include "stock/part.h"

namespace stock {

inline constexpr const char* kCataloguePrefix = "catalogue";

/// Top of a parts file: what holds for all its parts unless a part says otherwise.
struct PartsFile {
  Family family = Family::trim;
  Source source = Source::invented;  ///< of the dimensions
  std::string note;
  Source mass_source = Source::invented;
  double mass_spread = 0.1;  ///< relative half-width of the masses
  document::Node parts;      ///< the [[part]] tables, read by family
};

[[nodiscard]] const document::FieldTable<KitSystem>& system_table();
[[nodiscard]] const document::FieldTable<PartsFile>& parts_file_table();

/// Reads one [[part]] of `family`; `out` comes with the file's defaults filled in. True when it added no error.
bool read_part(const document::Node& node, const PartsFile& file, PartClass& out, document::Diagnostics& diagnostics);
/// Every key with its meaning, figures with their own keys.
[[nodiscard]] std::vector<document::FieldDoc> part_docs(Family family);
[[nodiscard]] std::vector<document::FieldDoc> system_docs();

}  // namespace stock
