// Catalogue and stock list as they were read last, so that an edit of the project does not read them again.
#pragma once

#include <memory>
#include <mutex>
#include <optional>
#include <string>

#include "document/diagnostic.h"
#include "stock/columns.h"
#include "stock/import.h"

namespace design {

/// What tells one state of a kit system on the disk from another: its folder and the states of all its files. Empty
/// when there is no catalogue folder.
[[nodiscard]] std::string catalogue_state(const std::string& system, const std::string& told_folder);

/// Thread-safe. Keeps the catalogue and the list used last, each as long as its files have not changed on the disk; one
/// that was changed less than two seconds ago is read again, and so is one with problems. The same answers as
/// stock::load_kit_system and stock::import_stock_file.
class ReadCache {
 public:
  /// Null where load_kit_system has nothing.
  [[nodiscard]] std::shared_ptr<const stock::Catalogue> catalogue(const std::string& system,
                                                                  const std::string& told_folder,
                                                                  document::Diagnostics& diagnostics);
  [[nodiscard]] std::shared_ptr<const stock::ImportResult> list(const std::string& file,
                                                                const std::shared_ptr<const stock::Catalogue>&,
                                                                const stock::ColumnChoice&,
                                                                document::Diagnostics& diagnostics);
  /// How often files were read, for the tests.
  [[nodiscard]] int reads() const;

 private:
  struct KeptCatalogue {
    std::string state;
    std::shared_ptr<const stock::Catalogue> catalogue;
  };
  struct KeptList {
    std::string file, state;
    stock::ColumnChoice columns;
    std::shared_ptr<const stock::Catalogue> catalogue;
    std::shared_ptr<const stock::ImportResult> list;
    document::Diagnostics told;
  };
  mutable std::mutex mutex_;
  std::optional<KeptCatalogue> catalogue_;
  std::optional<KeptList> list_;
  int reads_ = 0;
};

}  // namespace design
