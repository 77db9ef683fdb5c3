// Reads a kit system from its folder: system.toml and parts/*.toml (in order of their names), and the words of stock
// lists from words.toml beside that folder.
//
// Every problem of every file is reported at its place under "catalogue.<what>": unknown keys, wrong types, figures out
// of range or without a source, ids or names used twice. Nothing is guessed.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "document/diagnostic.h"
#include "document/fields.h"
#include "stock/part.h"

namespace stock {

/// The kit system in `folder` (".../catalogue/metric8"); nothing when a file had an error.
[[nodiscard]] std::optional<Catalogue> read_catalogue(const std::string& folder, document::Diagnostics& diagnostics);

/// The files that read_catalogue(folder) reads, whether they are there or not; sorted.
[[nodiscard]] std::vector<std::string> catalogue_files(const std::string& folder);

/// Where the kit systems are: `told` (the caller's option) if not empty, else the environment variable
/// KITWRIGHT_CATALOGUE, else the source folder this program was built from, else its installed data folder; the first
/// that exists. A `told` or environment folder that does not exist is an error, never silently passed over.
[[nodiscard]] std::optional<std::string> find_catalogue_folder(const std::string& told,
                                                               document::Diagnostics& diagnostics);

/// The ids of the kit systems in the catalogue folder, sorted: the names of its subfolders that hold a system.toml.
[[nodiscard]] std::vector<std::string> kit_systems_in(const std::string& catalogue_folder);

/// find_catalogue_folder and read_catalogue in one; an unknown `system_id` is reported with the nearest known one.
[[nodiscard]] std::optional<Catalogue> load_kit_system(const std::string& system_id, const std::string& told_folder,
                                                       document::Diagnostics& diagnostics);

/// Keys of system.toml, for the schema.
[[nodiscard]] std::vector<document::FieldDoc> system_fields();
/// Keys of a parts file of a family, for the schema.
[[nodiscard]] std::vector<document::FieldDoc> parts_file_fields(Family family);

}  // namespace stock
