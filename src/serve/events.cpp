#include "serve/events.h"

#include <fmt/format.h>

namespace serve {

std::string stream_text(const Event& e) {
  return fmt::format("id: {}\nevent: {}\ndata: {}\n\n", e.id, e.name, e.data);
}

void EventLog::publish(std::string name, std::string data) {
  {
    const std::lock_guard lock(mutex_);
    kept_.push_back({++last_, std::move(name), std::move(data)});
    if (kept_.size() > kMostKept) kept_.pop_front();
  }
  changed_.notify_all();
}

std::uint64_t EventLog::last() const {
  const std::lock_guard lock(mutex_);
  return last_;
}

std::vector<Event> EventLog::after(std::uint64_t seen, std::chrono::milliseconds wait) {
  std::unique_lock lock(mutex_);
  changed_.wait_for(lock, wait, [&] { return closed_ || last_ != seen; });
  if (closed_ || last_ == seen) return {};
  const std::uint64_t first = kept_.empty() ? last_ + 1 : kept_.front().id;
  // A number from the future is one of an earlier launch.
  if (seen > last_ || seen + 1 < first) return {{last_, "lost", "{}"}};
  return {kept_.begin() + static_cast<std::ptrdiff_t>(seen + 1 - first), kept_.end()};
}

bool EventLog::enter() {
  const std::lock_guard lock(mutex_);
  if (closed_ || streams_ >= kMostStreams) return false;
  ++streams_;
  return true;
}

void EventLog::leave() {
  const std::lock_guard lock(mutex_);
  --streams_;
}

int EventLog::streams() const {
  const std::lock_guard lock(mutex_);
  return streams_;
}

void EventLog::close() {
  {
    const std::lock_guard lock(mutex_);
    closed_ = true;
  }
  changed_.notify_all();
}

bool EventLog::closed() const {
  const std::lock_guard lock(mutex_);
  return closed_;
}

}  // namespace serve
