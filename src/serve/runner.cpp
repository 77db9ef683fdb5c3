#include "serve/runner.h"

#ifdef __linux__
#include <malloc.h>
#endif

#include <algorithm>
#include <chrono>
#include <exception>
#include <map>
#include <nlohmann/json.hpp>
#include <optional>
#include <utility>

#include "report/json.h"
#include "serve/json.h"

namespace serve {
namespace {

constexpr std::chrono::milliseconds kBetweenReports{100};
constexpr const char* kReplaced = "a newer change took its place";
constexpr int kFrontPoints = 24;  // as the command "design" lists them

const char* name_of(Job::State s) {
  switch (s) {
    case Job::State::waiting:
      return "waiting";
    case Job::State::running:
      return "running";
    case Job::State::done:
      return "done";
    case Job::State::stopped:
      return "stopped";
    case Job::State::failed:
      return "failed";
  }
  return "";
}

/// What a function was offered or got: its candidates, and the margins of the one that is shown. Once it is settled
/// that is the chosen one. Before, it is the one of the design before this change, when it is still among them
/// ("same"), otherwise the first, which is the best on its own ("best"): it may change until parts are allotted.
nlohmann::ordered_json offer_json(const design::FunctionResult& f, const candidate::Candidate* shown,
                                  const char* which) {
  std::size_t good = 0;
  for (const candidate::Candidate& c : f.proposal.candidates) good += c.nominal.worst() >= 1 ? 1 : 0;
  nlohmann::ordered_json out = {
      {"id", f.id}, {"kept", f.proposal.candidates.size()}, {"meet_all", good}, {"which", which}};
  out["title"] = shown != nullptr ? shown->title : "";
  out.update(shown != nullptr
                 ? report::json_of(shown->nominal)
                 : nlohmann::ordered_json{{"worst_margin", nullptr}, {"margins", nlohmann::json::array()}});
  return out;
}

nlohmann::ordered_json proposed_json(const design::FunctionResult& f, const std::string& key_before) {
  const auto& list = f.proposal.candidates;
  if (list.empty()) return offer_json(f, nullptr, "none");
  const auto same = std::find_if(list.begin(), list.end(), [&](const auto& c) { return c.key == key_before; });
  return same != list.end() ? offer_json(f, &*same, "same") : offer_json(f, &list.front(), "best");
}

/// A search takes and frees millions of small pieces among the few that stay, on several threads: without this the
/// allocator keeps hundreds of megabytes of pages with next to nothing in them over a long evening of edits.
void give_back_freed_pages() {
#ifdef __GLIBC__
  malloc_trim(0);
#endif
}
constexpr std::chrono::seconds kBetweenGivingBack{1};  // it takes some milliseconds

}  // namespace

std::string job_json(const Job& j) {
  return compact({{"id", j.id},
                  {"what", "design"},
                  {"revision", j.revision},
                  {"state", name_of(j.state)},
                  {"progress",
                   {{"stage", j.stage},
                    {"done", j.share < 0 ? 0 : static_cast<int>(j.share * 100)},
                    {"total", j.share < 0 ? 0 : 100},
                    {"text", j.stage}}},
                  {"message", j.message}});
}

Runner::Runner(EventLog& events, std::string catalogue, int threads)
    : events_(events), catalogue_(std::move(catalogue)), threads_(threads), thread_([this] { work(); }) {}

Runner::~Runner() {
  close();
}

void Runner::close() {
  closing_ = true;
  {
    const std::lock_guard lock(mutex_);
    if (running_stop_) running_stop_->store(true);
    waiting_.reset();
  }
  changed_.notify_all();
  if (thread_.joinable()) thread_.join();
}

design::Options Runner::options(const std::string& project, const std::string& text) {
  design::Options out;
  out.project = project;
  out.text = text;
  out.catalogue = catalogue_;
  out.front_points = kFrontPoints;
  out.cache = &cache_;
  out.read_cache = &read_cache_;
  return out;
}

base::RunControl Runner::control() {
  base::RunControl out;
  out.stop = &closing_;
  out.jobs = threads_;
  return out;
}

int Runner::start(const std::string& project, const std::string& text, int revision) {
  int id = 0;
  std::vector<std::string> told;
  {
    const std::lock_guard lock(mutex_);
    if (closing_) return 0;
    if (running_stop_) {
      superseded_ = true;
      running_stop_->store(true);
    }
    for (Job& j : jobs_) {
      if (!waiting_ || j.id != waiting_->id) continue;
      j.state = Job::State::stopped;
      j.message = kReplaced;
      told.push_back(job_json(j));
    }
    Order order;
    order.id = id = ++newest_;
    order.revision = revision;
    order.epoch = epoch_;
    order.project = project;
    order.text = text;
    waiting_ = std::move(order);
    Job job;
    job.id = id;
    job.revision = revision;
    told.push_back(job_json(job));
    jobs_.push_back(std::move(job));
    if (jobs_.size() > kMostJobs) jobs_.pop_front();
  }
  for (std::string& t : told) events_.publish("progress", std::move(t));
  changed_.notify_all();
  return id;
}

bool Runner::stop(int id) {
  const std::lock_guard lock(mutex_);
  const auto job = std::find_if(jobs_.begin(), jobs_.end(), [&](const Job& j) { return j.id == id; });
  if (job == jobs_.end()) return false;
  if (waiting_ && waiting_->id == id) waiting_->stop->store(true);
  if (running_ == id && running_stop_) running_stop_->store(true);
  return true;
}

void Runner::forget() {
  const std::lock_guard lock(mutex_);
  ++epoch_;
  if (running_stop_) {
    superseded_ = true;
    running_stop_->store(true);
  }
  waiting_.reset();
  latest_.reset();
  sound_.reset();
  jobs_.clear();
}

std::vector<Job> Runner::jobs() const {
  const std::lock_guard lock(mutex_);
  return {jobs_.begin(), jobs_.end()};
}

std::optional<Computed> Runner::latest() const {
  const std::lock_guard lock(mutex_);
  return latest_;
}

std::optional<Computed> Runner::sound() const {
  const std::lock_guard lock(mutex_);
  return sound_;
}

void Runner::change(int id, Job::State state, const std::string& message) {
  std::string told;
  {
    const std::lock_guard lock(mutex_);
    for (Job& j : jobs_) {
      if (j.id != id) continue;
      j.state = state;
      j.message = message;
      if (state == Job::State::done) j.share = 1;
      told = job_json(j);
    }
  }
  if (!told.empty()) events_.publish("progress", std::move(told));
}

void Runner::report(int id, std::string_view what, double share) {
  std::string told;
  {
    const std::lock_guard lock(mutex_);
    for (Job& j : jobs_) {
      if (j.id != id) continue;
      j.stage = what;
      j.share = share;
      told = job_json(j);
    }
  }
  if (!told.empty()) events_.publish("progress", std::move(told));
}

void Runner::work() {
  auto gave_back_at = std::chrono::steady_clock::now();
  for (;;) {
    Order order;
    {
      std::unique_lock lock(mutex_);
      changed_.wait(lock, [&] { return waiting_ || closing_; });
      if (closing_) return;
      order = std::move(*waiting_);
      waiting_.reset();
      running_ = order.id;
      running_stop_ = order.stop;
      superseded_ = false;
    }
    change(order.id, Job::State::running, "");
    try {
      run(order);
    } catch (const std::exception& e) {
      change(order.id, Job::State::failed, std::string("this is our fault, not yours: ") + e.what());
    }
    if (const auto now = std::chrono::steady_clock::now(); now - gave_back_at >= kBetweenGivingBack) {
      gave_back_at = now;
      give_back_freed_pages();
    }
    const std::lock_guard lock(mutex_);
    running_ = 0;
    running_stop_.reset();
  }
}

void Runner::run(const Order& order) {
  base::RunControl control;
  control.stop = order.stop.get();
  control.jobs = threads_;
  control.give_up = true;
  std::string stage;
  auto told_at = std::chrono::steady_clock::now() - kBetweenReports;
  control.progress = [&](std::string_view what, double share) {
    const auto now = std::chrono::steady_clock::now();
    if (stage == what && now - told_at < kBetweenReports) return;
    stage = what;
    told_at = now;
    report(order.id, what, share);
  };
  std::map<std::string, std::string> keys_before;  // by function
  if (const auto before = sound()) {
    for (std::size_t f = 0; f < before->result->functions.size(); ++f) {
      if (const candidate::Candidate* c = before->result->chosen(f))
        keys_before[before->result->functions[f].id] = c->key;
    }
  }
  const auto tell = [&](bool settled, nlohmann::ordered_json functions) {
    events_.publish("margins", compact({{"job", order.id},
                                        {"revision", order.revision},
                                        {"settled", settled},
                                        {"functions", std::move(functions)}}));
  };
  design::Options how = options(order.project, order.text);
  how.tell_proposed = [&](const design::FunctionResult& f) {
    const auto key = keys_before.find(f.id);
    tell(false, nlohmann::ordered_json::array({proposed_json(f, key != keys_before.end() ? key->second : "")}));
  };
  how.tell_chosen = [&](const design::Result& r) {
    nlohmann::ordered_json all = nlohmann::ordered_json::array();
    for (std::size_t f = 0; f < r.functions.size(); ++f)
      all.push_back(offer_json(r.functions[f], r.chosen(f), r.chosen(f) != nullptr ? "chosen" : "none"));
    tell(true, std::move(all));
  };
  auto result = std::make_shared<const design::Result>(design::run(how, control));
  auto json = std::make_shared<const std::string>(report::dumped(report::design_json(*result)));
  const std::string status = report::status_of(*result);
  bool replaced = false;
  // A design takes long to give back: what is superseded goes when the new one has been told.
  std::optional<Computed> latest_before, sound_before;
  {
    const std::lock_guard lock(mutex_);
    if (order.epoch != epoch_ || closing_) return;
    replaced = superseded_ && result->stopped;
    if (!replaced) {
      latest_before = std::exchange(
          latest_, Computed{order.revision, result, json, std::make_shared<const std::string>(order.text)});
      if (!result->bad_input && (!result->stopped || result->feasible())) sound_before = std::exchange(sound_, latest_);
    }
  }
  if (replaced) {
    change(order.id, Job::State::stopped, kReplaced);
    return;
  }
  change(order.id, result->stopped ? Job::State::stopped : Job::State::done,
         result->stopped ? "stopped; the best so far is kept" : "");
  events_.publish(
      "result",
      compact({{"job", order.id}, {"revision", order.revision}, {"status", status}, {"feasible", result->feasible()}}));
}

}  // namespace serve
