#include "serve/live_trial.h"

#include <algorithm>
#include <nlohmann/json.hpp>
#include <utility>

#include "report/json_values.h"
#include "report/trial.h"
#include "serve/json.h"

namespace serve {
namespace {

/// More than this behind the clock and time is let go: a slow machine shows slow motion, not jumps.
constexpr double kMostBehind_s = 0.1;

}  // namespace

void LiveTrial::end_thread() {
  {
    const std::lock_guard lock(mutex_);
    stop_ = true;
  }
  changed_.notify_all();
  if (thread_.joinable()) thread_.join();
}

void LiveTrial::close() {
  const std::lock_guard starting(starting_);
  end_thread();
}

int LiveTrial::start(const trial::MachineRig& rig, const balance::GroundLine& ground, double slope_across_rad,
                     const trial::DriveOptions& options, std::string& why_not) {
  auto drive = std::make_unique<trial::LiveMachine>(rig, ground, slope_across_rad, options);
  why_not = drive->why_not();
  if (!why_not.empty()) return 0;
  const std::lock_guard starting(starting_);
  end_thread();
  const std::lock_guard lock(mutex_);
  stop_ = false;
  running_ = true;
  streams_ = 0;
  throttle_ = 0;
  sticks_.clear();
  input_ = frames_ = 0;
  frame_.clear();
  seen_last_ = moved_last_ = Clock::now();
  thread_ = std::thread([this, drive = std::move(drive)] { run(*drive); });
  return ++id_;
}

bool LiveTrial::input(int id, std::uint64_t number, double throttle, std::vector<double> sticks) {
  const std::lock_guard lock(mutex_);
  if (id != id_ || !running_) return false;
  if (number <= input_) return true;
  input_ = number;
  throttle_ = throttle;
  sticks_ = std::move(sticks);
  moved_last_ = Clock::now();
  return true;
}

bool LiveTrial::end(int id) {
  const std::lock_guard lock(mutex_);
  if (id != id_ || !running_) return false;
  stop_ = true;
  changed_.notify_all();
  return true;
}

bool LiveTrial::enter(int id) {
  const std::lock_guard lock(mutex_);
  if (id != id_ || !running_ || streams_ >= kMostStreams) return false;
  ++streams_;
  return true;
}

void LiveTrial::leave(int id) {
  const std::lock_guard lock(mutex_);
  if (id != id_) return;
  --streams_;
  seen_last_ = Clock::now();
}

std::string LiveTrial::frame_after(int id, std::uint64_t& seen, std::chrono::milliseconds wait, bool& over) {
  std::unique_lock lock(mutex_);
  changed_.wait_for(lock, wait, [&] { return id != id_ || !running_ || frames_ > seen; });
  over = id != id_ || !running_;
  if (id != id_ || frames_ <= seen) return {};
  seen = frames_;
  return frame_;
}

void LiveTrial::run(trial::LiveMachine& drive) {
  constexpr auto kBetween = std::chrono::microseconds(1000000 / kFrames_per_s);
  const auto behind = [](Clock::time_point from, Clock::time_point to) {
    return std::chrono::duration<double>(to - from).count();
  };
  Clock::time_point clock = Clock::now();  // when the drive's time was 0
  Clock::time_point next = clock;
  std::unique_lock lock(mutex_);
  for (;;) {
    const char* end = "";
    const Clock::time_point now = Clock::now();
    if (stop_)
      end = "ended";
    else if (streams_ == 0 && now - seen_last_ > patience_.unseen)
      end = "nobody looks";
    else if (now - moved_last_ > patience_.idle)
      end = "left alone";
    const double throttle = throttle_;
    const std::vector<double> sticks = sticks_;
    const std::uint64_t input = input_;
    lock.unlock();
    double late_s = behind(clock, now) - drive.time_s();
    if (late_s > kMostBehind_s) {
      const double dropped_s = late_s - kMostBehind_s;
      clock += std::chrono::duration_cast<Clock::duration>(std::chrono::duration<double>(dropped_s));
      late_s = kMostBehind_s;
    }
    if (*end == '\0' && !drive.advance(behind(clock, now), throttle, sticks))
      end = drive.tipped() ? "tipped over" : "unstable";
    nlohmann::ordered_json frame = report::json_of(drive.now());
    frame["input"] = input;
    frame["late_s"] = report::number(std::max(0.0, late_s));
    frame["end"] = end;
    std::string text = compact(frame);
    lock.lock();
    frame_ = std::move(text);
    ++frames_;
    if (*end != '\0') running_ = false;
    changed_.notify_all();
    if (!running_) return;
    next = std::max(next + kBetween, now);
    changed_.wait_until(lock, next, [&] { return stop_ || input_ != input; });
  }
}

}  // namespace serve
