// Design jobs: one at a time, the newest project text only. A newer one stops the older.
#pragma once

#include <atomic>
#include <condition_variable>
#include <cstdint>
#include <deque>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "design/design.h"
#include "design/proposal_cache.h"
#include "design/read_cache.h"
#include "serve/events.h"

namespace serve {

struct Job {
  enum class State { waiting, running, done, stopped, failed };
  int id = 0;
  int revision = 0;
  State state = State::waiting;
  std::string stage;  ///< what is being done
  double share = 0;   ///< 0 to 1; negative = unknown
  std::string message;
};
[[nodiscard]] std::string job_json(const Job& job);

/// A design of one revision, with the text that `kitwright design --json` prints for it.
struct Computed {
  int revision = 0;
  std::shared_ptr<const design::Result> result;
  std::shared_ptr<const std::string> json;
  std::shared_ptr<const std::string> text;  ///< of the project file it was designed from
};

class Runner {
 public:
  static constexpr std::size_t kMostJobs = 50;  ///< remembered; the oldest are forgotten

  Runner(EventLog& events, std::string catalogue, int threads);
  Runner(const Runner&) = delete;
  Runner& operator=(const Runner&) = delete;
  ~Runner();

  /// Starts a design of this text; what runs or waits is stopped.
  int start(const std::string& project, const std::string& text, int revision);
  /// Stops a job: its best so far becomes the result. False when there is no such job.
  bool stop(int id);
  /// Another project: stops everything and forgets all results.
  void forget();
  [[nodiscard]] std::vector<Job> jobs() const;
  /// The newest design; and the newest one whose project was sound.
  [[nodiscard]] std::optional<Computed> latest() const;
  [[nodiscard]] std::optional<Computed> sound() const;
  [[nodiscard]] design::Options options(const std::string& project, const std::string& text);
  [[nodiscard]] base::RunControl control();  ///< ends with the program
  void close();

 private:
  struct Order {
    int id = 0;
    int revision = 0;
    int epoch = 0;
    std::string project, text;
    std::shared_ptr<std::atomic<bool>> stop = std::make_shared<std::atomic<bool>>(false);
  };
  void work();
  void run(const Order& order);
  void change(int id, Job::State state, const std::string& message);
  void report(int id, std::string_view what, double share);

  EventLog& events_;
  std::string catalogue_;
  int threads_;
  design::ProposalCache cache_;
  design::ReadCache read_cache_;
  std::atomic<bool> closing_{false};

  mutable std::mutex mutex_;
  std::condition_variable changed_;
  std::optional<Order> waiting_;
  std::shared_ptr<std::atomic<bool>> running_stop_;
  int running_ = 0, newest_ = 0, epoch_ = 0;
  bool superseded_ = false;  // the running job was stopped by a newer one, not by the user
  std::deque<Job> jobs_;
  std::optional<Computed> latest_, sound_;
  std::thread thread_;
};

}  // namespace serve
