#include "serve/workspace.h"

#include <fmt/format.h>

#include <filesystem>

#include "document/toml_reader.h"
#include "project/project.h"

namespace serve {

namespace fs = std::filesystem;

std::unique_ptr<Workspace> Workspace::open(const std::string& folder_or_file, const std::string& note,
                                           document::Diagnostics& d) {
  std::unique_ptr<Workspace> out(new Workspace);
  out->named_ = folder_or_file;
  out->file_ = project::file_of(folder_or_file);
  auto text = document::read_text_file(out->file_, document::kMostTomlBytes, d);
  if (!text) return nullptr;
  const std::string lock = (fs::path(out->folder()) / ".kitwright.lock").string();
  const std::string holder = base::FolderLock::take(lock, note, out->lock_);
  if (!out->lock_.held()) {
    d.error("workspace.locked", {out->file_, 0, 0}, "",
            fmt::format("this project is open elsewhere, or its folder cannot be written to: {}.", holder),
            "close it there first, or use the workbench that has it open");
    return nullptr;
  }
  // Read again under the lock: whoever held it may have saved in between.
  text = document::read_text_file(out->file_, document::kMostTomlBytes, d);
  if (!text) return nullptr;
  out->text_ = std::move(*text);
  return out;
}

bool Workspace::same_file(const std::string& file, const std::string& folder_or_file) {
  std::error_code error;
  return fs::equivalent(file, project::file_of(folder_or_file), error) && !error;
}

std::string Workspace::folder() const {
  std::error_code error;
  const fs::path absolute = fs::absolute(file_, error);
  return (error ? fs::path(file_) : absolute).lexically_normal().parent_path().string();
}

std::vector<std::string> Workspace::undo_labels() const {
  std::vector<std::string> out;
  for (const State& s : undo_) out.push_back(s.label);
  return out;
}

std::vector<std::string> Workspace::redo_labels() const {
  std::vector<std::string> out;
  for (const State& s : redo_) out.push_back(s.label);
  return out;
}

Workspace::Outcome Workspace::save(const std::string& text, document::Diagnostics& d) {
  if (changed_outside()) return Outcome::outside;
  const std::string problem = base::save_file(file_, text, file_ + ".previous");
  if (problem.empty()) return Outcome::done;
  d.error("file.not_written", {file_, 0, 0}, "", "this file cannot be written: " + problem + ".",
          "check the folder, its rights and the free space");
  return Outcome::refused;
}

Workspace::Outcome Workspace::edit(int base, const std::string& label, const std::vector<document::Edit>& edits,
                                   document::Diagnostics& d) {
  if (base != revision_) return Outcome::stale;
  auto text = document::edit_toml(text_, file_, edits, d);
  if (!text) return Outcome::refused;
  return replace(base, label, std::move(*text), d);
}

Workspace::Outcome Workspace::replace(int base, const std::string& label, std::string text, document::Diagnostics& d) {
  if (base != revision_) return Outcome::stale;
  if (text.size() > document::kMostTomlBytes) {
    d.error("file.too_big", {file_, 0, 0}, "",
            fmt::format("the text is larger than {} bytes, the most that is read.", document::kMostTomlBytes));
    return Outcome::refused;
  }
  if (text == text_) return Outcome::done;
  const Outcome saved = save(text, d);
  if (saved != Outcome::done) return saved;
  undo_.push_back({label, std::move(text_)});
  redo_.clear();
  text_ = std::move(text);
  ++revision_;
  forget_oldest();
  return Outcome::done;
}

Workspace::Outcome Workspace::step(std::deque<State>& from, std::deque<State>& to, const char* nothing,
                                   document::Diagnostics& d) {
  if (from.empty()) {
    d.error("workspace.no_step", {}, "", nothing);
    return Outcome::refused;
  }
  const Outcome saved = save(from.back().text, d);
  if (saved != Outcome::done) return saved;
  State state = std::move(from.back());
  from.pop_back();
  to.push_back({state.label, std::move(text_)});
  text_ = std::move(state.text);
  ++revision_;
  return Outcome::done;
}

Workspace::Outcome Workspace::undo(document::Diagnostics& d) {
  return step(undo_, redo_, "there is nothing to undo", d);
}

Workspace::Outcome Workspace::redo(document::Diagnostics& d) {
  return step(redo_, undo_, "there is nothing to redo", d);
}

void Workspace::forget_oldest() {
  std::size_t bytes = 0;
  for (const State& s : undo_) bytes += s.text.size();
  while (undo_.size() > 1 && bytes > kMostUndoBytes) {
    bytes -= undo_.front().text.size();
    undo_.pop_front();
  }
}

bool Workspace::changed_outside() const {
  document::Diagnostics silent;
  const auto now = document::read_text_file(file_, document::kMostTomlBytes, silent);
  return !now || *now != text_;
}

Workspace::Outcome Workspace::reload(Keep keep, document::Diagnostics& d) {
  if (keep == Keep::mine) {
    const std::string problem = base::save_file(file_, text_, file_ + ".previous");
    if (problem.empty()) return Outcome::done;
    d.error("file.not_written", {file_, 0, 0}, "", "this file cannot be written: " + problem + ".",
            "check the folder, its rights and the free space");
    return Outcome::refused;
  }
  auto text = document::read_text_file(file_, document::kMostTomlBytes, d);
  if (!text) return Outcome::refused;
  if (*text == text_) return Outcome::done;
  undo_.push_back({"change outside the workbench", std::move(text_)});
  redo_.clear();
  text_ = std::move(*text);
  ++revision_;
  forget_oldest();
  return Outcome::done;
}

}  // namespace serve
