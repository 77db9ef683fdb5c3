#include "cli/session.h"

#include <fmt/format.h>
#include <unistd.h>

#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <thread>

#include "base/save_file.h"
#include "report/text.h"

namespace cli {
namespace {

std::atomic<bool> stop{false};
static_assert(std::atomic<bool>::is_always_lock_free, "the handler may only touch lock-free atomics");

extern "C" void on_interrupt(int) {
  stop.store(true, std::memory_order_relaxed);
}

bool wants_colour(std::FILE* stream) {
  // no-color.org: any non-empty value.
  const char* none = std::getenv("NO_COLOR");
  const char* terminal = std::getenv("TERM");
  return isatty(fileno(stream)) != 0 && (none == nullptr || *none == '\0') &&
         (terminal == nullptr || std::strcmp(terminal, "dumb") != 0);
}

}  // namespace

std::atomic<bool>& stop_flag() {
  return stop;
}

void catch_interrupt() {
  struct sigaction action {};
  action.sa_handler = on_interrupt;
  sigemptyset(&action.sa_mask);
  action.sa_flags = static_cast<int>(SA_RESETHAND);
  sigaction(SIGINT, &action, nullptr);
  sigaction(SIGTERM, &action, nullptr);
}

Session::Session(const Common& common) : common_(common) {
  if (common_.jobs <= 0) common_.jobs = static_cast<int>(std::max(1U, std::thread::hardware_concurrency()));
}

base::RunControl Session::control() {
  base::RunControl control;
  control.stop = &stop;
  control.jobs = common_.jobs;
  if (!common_.quiet && isatty(fileno(stderr)) != 0) {
    control.progress = [this](std::string_view what, double share) {
      const std::string line = share < 0 ? std::string(what) : fmt::format("{} {:.0f} %", what, share * 100);
      if (line == last_progress_) return;
      last_progress_ = line;
      progress_shown_ = true;
      fmt::print(stderr, "\r\x1b[K{}", line);
      std::fflush(stderr);
    };
  }
  return control;
}

report::TextOptions Session::text_options() const {
  report::TextOptions options;
  options.colour = wants_colour(stdout);
  return options;
}

void Session::clear_progress() {
  if (!progress_shown_) return;
  fmt::print(stderr, "\r\x1b[K");
  std::fflush(stderr);
  progress_shown_ = false;
}

void Session::print(std::string_view text) {
  clear_progress();
  std::fwrite(text.data(), 1, text.size(), stdout);
  std::fflush(stdout);
}

void Session::report(const document::Diagnostics& diagnostics) {
  clear_progress();
  if (common_.json || diagnostics.empty()) return;
  if (common_.quiet && !diagnostics.has_errors()) return;
  report::TextOptions options;
  options.colour = wants_colour(stderr);
  const std::string text = report::diagnostics_text(diagnostics, options);
  std::fwrite(text.data(), 1, text.size(), stderr);
}

bool Session::write_file(const std::string& path, std::string_view text, document::Diagnostics& diagnostics) {
  const std::string problem = base::save_file(path, text);
  if (problem.empty()) return true;
  diagnostics.error("file.not_written", {path, 0, 0}, "", "this file cannot be written: " + problem + ".",
                    "check the folder, its rights and the free space");
  return false;
}

}  // namespace cli
