// Dossiers for the page, made while it waits: one at a time, the newest asked for only. The thread that answers does
// the work, so others are answered meanwhile; whoever has gone, or asked for another one since, is not worked for.
#pragma once

#include <condition_variable>
#include <cstdint>
#include <functional>
#include <memory>
#include <mutex>
#include <string>
#include <vector>

#include "dossier/write.h"
#include "serve/runner.h"

namespace serve {

/// A dossier with all its files.
struct Pack {
  struct Chapter {
    std::string text, anchor;
    int level = 1;           ///< 1 or 2
    int a4 = 0, letter = 0;  ///< page it starts on
  };
  int revision = 0;
  std::string language, title, hash, told_revision;
  std::vector<Chapter> chapters;
  int a4_pages = 0, letter_pages = 0, figures = 0, moving = 0;
  std::vector<dossier::File> files;  ///< dossier::kFiles, then the figures

  [[nodiscard]] const dossier::File* file(const std::string& name) const;
};

class Packs {
 public:
  using Gone = std::function<bool()>;
  /// The pack of this design in this language; null when the caller has gone or another pack was asked for meanwhile.
  [[nodiscard]] std::shared_ptr<const Pack> pack(const Computed& design, const dossier::Texts& texts,
                                                 const std::string& version, const Gone& gone);
  /// Ends what is being made; what is kept is forgotten.
  void forget();

 private:
  struct Key {
    std::shared_ptr<const design::Result> result;
    std::string language;
    bool operator==(const Key&) const = default;
  };
  std::mutex mutex_;
  std::condition_variable changed_;
  Key wanted_, kept_key_;
  std::shared_ptr<const Pack> kept_;
  bool making_ = false;
};

}  // namespace serve
