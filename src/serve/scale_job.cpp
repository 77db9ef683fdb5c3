#include "serve/scale_job.h"

#include <fmt/format.h>

#include <algorithm>
#include <exception>
#include <nlohmann/json.hpp>

#include "report/json.h"
#include "report/scale.h"
#include "serve/json.h"

namespace serve {

void ScaleJob::end() {
  stop_ = true;
  if (thread_.joinable()) thread_.join();
  stop_ = false;
}

void ScaleJob::close() {
  const std::lock_guard lock(starting_);
  end();
}

void ScaleJob::forget() {
  const std::lock_guard starting(starting_);
  end();
  const std::lock_guard lock(mutex_);
  state_ = "none";
  study_ = "null";
  revision_ = 0;
}

void ScaleJob::start(design::ScaleOptions options, int revision) {
  const std::lock_guard starting(starting_);
  end();
  {
    const std::lock_guard lock(mutex_);
    state_ = "running";
    text_.clear();
    share_ = 0;
    revision_ = revision;
    study_ = "null";
  }
  thread_ = std::thread([this, options = std::move(options)] {
    base::RunControl control;
    control.stop = &stop_;
    control.jobs = threads_;
    control.give_up = true;
    control.progress = [this](std::string_view what, double share) {
      const std::lock_guard lock(mutex_);
      text_ = what;
      share_ = std::max(share_, share);  // every scale is a design of its own that counts from nothing
    };
    try {
      const design::ScaleStudy study = design::study_scale(options, control);
      const std::lock_guard lock(mutex_);
      state_ = study.stopped ? "none" : "done";
      if (!study.stopped) study_ = compact(report::scale_json(study));
    } catch (const std::exception& e) {
      const std::lock_guard lock(mutex_);
      state_ = "failed";
      text_ = std::string("this is our fault, not yours: ") + e.what();
    }
  });
}

std::string ScaleJob::told() const {
  const std::lock_guard lock(mutex_);
  const nlohmann::ordered_json head{
      {"state", state_}, {"share", report::rounded(share_, 3)}, {"text", text_}, {"revision", revision_}};
  std::string out = compact(head);
  out.pop_back();
  return out + ",\"study\":" + study_ + "}";
}

}  // namespace serve
