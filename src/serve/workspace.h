// The open project: its text, every state it had (undo), and its file on the disk.
//
// Every change is on the disk before it is answered; the version before stays beside it as "<file>.previous". What
// somebody else wrote into the file meanwhile is never written over unasked.
#pragma once

#include <cstdint>
#include <deque>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "base/save_file.h"
#include "document/diagnostic.h"
#include "document/toml_edit.h"

namespace serve {

class Workspace {
 public:
  enum class Outcome {
    done,
    stale,    ///< the change is based on an older revision
    outside,  ///< the file was changed by somebody else; reload() decides
    refused   ///< the diagnostics say why; nothing is changed
  };
  enum class Keep { mine, file };

  /// Bytes of text kept for undo; the oldest states go first when there are more.
  static constexpr std::size_t kMostUndoBytes = 64'000'000;

  /// Opens a project folder or file and locks it; `note` tells others who holds it. Null, with the reason reported
  /// (file.*, workspace.locked), when it cannot be opened. A file that is not TOML opens all the same.
  static std::unique_ptr<Workspace> open(const std::string& folder_or_file, const std::string& note,
                                         document::Diagnostics& diagnostics);

  /// Both name the same file.
  [[nodiscard]] static bool same_file(const std::string& file, const std::string& folder_or_file);
  void start_at(int revision) { revision_ = revision; }

  [[nodiscard]] const std::string& named() const { return named_; }  ///< as the user named it
  [[nodiscard]] const std::string& file() const { return file_; }
  [[nodiscard]] std::string folder() const;  ///< absolute
  [[nodiscard]] const std::string& text() const { return text_; }
  [[nodiscard]] int revision() const { return revision_; }
  [[nodiscard]] std::vector<std::string> undo_labels() const;  ///< next one last
  [[nodiscard]] std::vector<std::string> redo_labels() const;

  [[nodiscard]] Outcome edit(int base, const std::string& label, const std::vector<document::Edit>& edits,
                             document::Diagnostics& diagnostics);
  [[nodiscard]] Outcome replace(int base, const std::string& label, std::string text, document::Diagnostics& d);
  [[nodiscard]] Outcome undo(document::Diagnostics& diagnostics);  ///< refused when there is nothing to undo
  [[nodiscard]] Outcome redo(document::Diagnostics& diagnostics);

  /// The file no longer holds what was saved last: changed, or gone.
  [[nodiscard]] bool changed_outside() const;
  [[nodiscard]] Outcome reload(Keep keep, document::Diagnostics& diagnostics);

 private:
  struct State {
    std::string label;  ///< of the step between this state and the present one
    std::string text;
  };
  Workspace() = default;
  [[nodiscard]] Outcome save(const std::string& text, document::Diagnostics& diagnostics);
  [[nodiscard]] Outcome step(std::deque<State>& from, std::deque<State>& to, const char* nothing,
                             document::Diagnostics& diagnostics);
  void forget_oldest();

  std::string named_, file_, text_;
  int revision_ = 1;
  std::deque<State> undo_, redo_;
  base::FolderLock lock_;
};

}  // namespace serve
