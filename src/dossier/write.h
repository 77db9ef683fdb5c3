// The dossier: what a stranger needs to build the model, from a finished design to the bytes of its files.
//
// The design is already computed; here nothing is calculated but places on paper. The same design, texts and options
// give the same bytes.
#pragma once

#include <string>
#include <vector>

#include "design/design.h"
#include "dossier/document.h"
#include "dossier/texts.h"

namespace dossier {

struct Options {
  std::string version;       ///< of the program, told on the last page
  std::string revision;      ///< instead of the project's own; empty = as the project tells
  std::string project_text;  ///< the project file's text, for the hash; empty = read from the project's folder
  Unwanted unwanted;         ///< asked between chapters
};

struct File {
  std::string name;  ///< may lie in a folder, "figures/overview.svg"
  std::string bytes;
};

/// All that is told, for any writer. `result` is feasible and assessed.
[[nodiscard]] Document document_of(const design::Result& result, const Texts& texts, const Options& options = {});

/// dossier.html, dossier_a4.pdf, dossier_letter.pdf, parts.json, parts.csv and every figure as figures/<name>.svg.
[[nodiscard]] std::vector<File> write_dossier(const design::Result& result, const Texts& texts,
                                              const Options& options = {});

/// Names of the files without the figures, in the order of write_dossier.
inline constexpr const char* kFiles[] = {"dossier.html", "dossier_a4.pdf", "dossier_letter.pdf", "parts.json",
                                         "parts.csv"};
/// One of kFiles alone; throws base::InternalFault for another name.
[[nodiscard]] std::string file_of(const Document& document, const design::Result& result, const std::string& name);

/// What is printed on every page with the hash; empty = nobody told one.
[[nodiscard]] std::string revision_of(const design::Result& result, const Options& options);

/// SHA-256 (FIPS 180-4) of all that the design follows from: project file, stock list, bench tests. 64 hexadecimal
/// digits.
[[nodiscard]] std::string project_hash(const brief::Brief& brief, const std::string& project_text);

}  // namespace dossier
