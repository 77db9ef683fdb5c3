// What every command shares: options common to all, where text goes, progress, exit codes, stopping.
#pragma once

#include <atomic>
#include <string>
#include <string_view>

#include "base/run_control.h"
#include "document/diagnostic.h"
#include "report/layout.h"

namespace cli {

/// Done and feasible; done and infeasible; bad input; our fault.
enum Exit : int { kFeasible = 0, kInfeasible = 1, kBadInput = 2, kOurFault = 3 };

struct Common {
  bool json = false;
  bool quiet = false;
  int jobs = 0;  ///< 0 = as many as the machine has
  std::string catalogue;
};

/// Set by Ctrl-C and by a request to end; a second one ends the program at once.
[[nodiscard]] std::atomic<bool>& stop_flag();
void catch_interrupt();

class Session {
 public:
  explicit Session(const Common& common);

  [[nodiscard]] const Common& common() const { return common_; }
  /// Stop flag, threads and, on a terminal, progress.
  [[nodiscard]] base::RunControl control();
  /// Text for people: colour only on a terminal that wants it.
  [[nodiscard]] report::TextOptions text_options() const;

  void print(std::string_view text);                      ///< the answer, to standard output
  void report(const document::Diagnostics& diagnostics);  ///< to standard error, unless --json carries them
  void clear_progress();
  /// Writes a file through a temporary one; a problem is reported. True when it is written.
  bool write_file(const std::string& path, std::string_view text, document::Diagnostics& diagnostics);

 private:
  Common common_;
  bool progress_shown_ = false;
  std::string last_progress_;
};

}  // namespace cli
