#include "design/read_cache.h"

#include <algorithm>
#include <filesystem>
#include <utility>

#include "base/file_state.h"
#include "stock/catalogue.h"

namespace design {
namespace {

bool same(const stock::ColumnChoice& a, const stock::ColumnChoice& b) {
  return std::equal(std::begin(a.of), std::end(a.of), std::begin(b.of));
}

std::vector<std::string> files_of(const std::string& system, const std::string& told_folder) {
  document::Diagnostics silent;
  const auto root = stock::find_catalogue_folder(told_folder, silent);
  return root ? stock::catalogue_files((std::filesystem::path(*root) / system).string()) : std::vector<std::string>{};
}

}  // namespace

std::string catalogue_state(const std::string& system, const std::string& told_folder) {
  std::string out;
  for (const std::string& file : files_of(system, told_folder)) out += file + " " + base::file_state(file) + "\n";
  return out;
}

std::shared_ptr<const stock::Catalogue> ReadCache::catalogue(const std::string& system, const std::string& told_folder,
                                                             document::Diagnostics& diagnostics) {
  // Before they are read: what changes meanwhile then has another state.
  std::string state = catalogue_state(system, told_folder);
  const std::vector<std::string> files = files_of(system, told_folder);
  const bool settled = std::all_of(files.begin(), files.end(), base::file_settled);
  const std::lock_guard lock(mutex_);
  if (catalogue_ && catalogue_->state == state) return catalogue_->catalogue;
  ++reads_;
  document::Diagnostics own;
  auto read = stock::load_kit_system(system, told_folder, own);
  diagnostics.add_all(own);
  if (!read) return nullptr;
  const auto out = std::make_shared<const stock::Catalogue>(std::move(*read));
  if (settled && own.empty()) catalogue_ = KeptCatalogue{std::move(state), out};
  return out;
}

std::shared_ptr<const stock::ImportResult> ReadCache::list(const std::string& file,
                                                           const std::shared_ptr<const stock::Catalogue>& catalogue,
                                                           const stock::ColumnChoice& columns,
                                                           document::Diagnostics& diagnostics) {
  std::string state = base::file_state(file);
  const bool settled = base::file_settled(file);
  const std::lock_guard lock(mutex_);
  if (list_ && list_->file == file && list_->state == state && list_->catalogue == catalogue &&
      same(list_->columns, columns)) {
    diagnostics.add_all(list_->told);
    return list_->list;
  }
  ++reads_;
  document::Diagnostics own;
  const auto out =
      std::make_shared<const stock::ImportResult>(stock::import_stock_file(file, *catalogue, columns, own));
  diagnostics.add_all(own);
  if (settled && !own.has_errors()) list_ = KeptList{file, std::move(state), columns, catalogue, out, std::move(own)};
  return out;
}

int ReadCache::reads() const {
  const std::lock_guard lock(mutex_);
  return reads_;
}

}  // namespace design
