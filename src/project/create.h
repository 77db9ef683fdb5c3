// A new project folder: the text an archetype grows from a few dimensions, and a stock list.
#pragma once

#include <map>
#include <optional>
#include <string>

#include "document/diagnostic.h"

namespace project {

struct NewProject {
  std::string folder;
  std::string like;                      ///< id of an archetype
  std::string system;                    ///< empty = the first the archetype suits
  std::string name;                      ///< empty = the archetype's title
  std::optional<std::string> stock_csv;  ///< text of the user's list; nothing = an example kit of the kit system
  std::string stock_columns;             ///< what its columns are, "name=2,quantity=1"; empty = found by their names
  std::map<std::string, double> dimensions;
};

/// Writes project.toml and stock.csv into the folder, which is made when it is not there. A project that is there
/// already is kept. Reports new.* and file.*; true when both are written.
bool create_project(const NewProject& wanted, const std::string& catalogue_root, document::Diagnostics& diagnostics);

}  // namespace project
