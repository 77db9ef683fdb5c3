// What the page asks about trials: what can be tried, one run, every figure, and a vehicle to drive.
#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <future>
#include <nlohmann/json.hpp>
#include <numbers>

#include "report/json_values.h"
#include "report/trial.h"
#include "report/trial_lift.h"
#include "serve/connections.h"
#include "serve/desk.h"
#include "trial/trial.h"

namespace serve {
namespace {

using Json = nlohmann::ordered_json;

constexpr std::chrono::milliseconds kBetweenLooks{20};

/// Does the work in a thread of its own and looks meanwhile whether it is still wanted; false: it was given up.
bool worked(const std::function<bool()>& unwanted, const std::function<void(const std::atomic<bool>&)>& work) {
  std::atomic<bool> stop{false};
  std::future<void> done = std::async(std::launch::async, [&] { work(stop); });
  while (done.wait_for(kBetweenLooks) != std::future_status::ready)
    if (!stop && unwanted()) stop = true;
  done.get();
  return !stop;
}

/// Of a stick in a request; a second boom is the next stage.
const char* key_of(trial::Stick::Does does) {
  switch (does) {
    case trial::Stick::Does::steer:
      return "steer";
    case trial::Stick::Does::slew:
      return "slew";
    case trial::Stick::Does::luff:
      return "luff";
    case trial::Stick::Does::hoist:
      return "hoist";
  }
  return "";
}

Reply nothing_to_try(const std::string& why) {
  return Reply::problem(409, "nothing to try", why);
}

Reply given_up() {
  return Reply::problem(409, "another trial was asked for", "ask again for this one.");
}

/// The course asked for, or what is wrong with it.
std::optional<trial::Course> course_of(const TrialRequest& request, std::optional<Reply>& refused) {
  const trial::Course course = trial::Course::sized(request.course, request.size);
  const std::string fault = course.fault();
  if (fault.empty()) return course;
  refused = Reply::problem(422, "no course of this size", fault + ".", "/size");
  return std::nullopt;
}

double own_speed_mm_s(const design::Result& r) {
  return trial::own_speed_mm_s(*r.brief, design::chosen_of(r));
}

/// Why this design drives over nothing; empty: it does.
std::string no_drive(const design::Result& r) {
  if (!trial::engine_present()) return trial::engine_text();
  if (!r.assessed) return "the model does not work yet; Findings tells what would help";
  const assessment::Ground& ground = r.assessed->ground;
  return ground.judged ? trial::not_tried_because(trial::rig_of(ground)) : ground.why_not;
}

}  // namespace

Reply Desk::trial() {
  const auto computed = runner_.sound();
  if (!computed) return Reply::problem(404, "no design yet", "the first design of this project is being computed.");
  const design::Result& r = *computed->result;
  const std::string why_not = no_drive(r);
  Json courses = Json::array();
  for (const trial::CourseType type : trial::kCourseTypes) {
    const trial::SizeName size = trial::size_of(type);
    courses.push_back(
        {{"course", trial::name_of(type)}, {"size", size.name}, {"unit", size.unit}, {"most", size.most}});
  }
  Json friction = nullptr, vehicle = nullptr;
  if (r.assessed && r.assessed->ground.judged) {
    friction = report::triple(r.assessed->ground.friction);
    vehicle = report::json_of(trial::rig_of(r.assessed->ground, own_speed_mm_s(r)));
  }
  return Reply::json({{"revision", computed->revision},
                      {"engine", trial::engine_text()},
                      {"present", trial::engine_present()},
                      {"drives", why_not.empty()},
                      {"why_not", why_not},
                      {"lifts", r.assessed && r.assessed->lifting.judged},
                      {"courses", std::move(courses)},
                      {"friction", std::move(friction)},
                      {"vehicle", std::move(vehicle)}});
}

Reply Desk::trial_course(const TrialRequest& request) {
  std::optional<Reply> refused;
  const auto course = course_of(request, refused);
  if (!course) return *refused;
  const auto computed = runner_.sound();
  if (!computed) return nothing_to_try("the first design of this project is still being computed");
  if (const std::string why = no_drive(*computed->result); !why.empty()) return nothing_to_try(why);
  const assessment::Ground& ground = computed->result->assessed->ground;
  const int ticket = ++newest_course_;
  trial::CourseTrial made;
  const bool whole = worked([&] { return closing_ || newest_course_ != ticket || caller_gone(); },
                            [&](const std::atomic<bool>& stop) {
                              trial::DriveOptions how;
                              how.stop = &stop;
                              made = trial::try_course(
                                  ground, *course, request.friction > 0 ? request.friction : ground.friction.nominal,
                                  how, own_speed_mm_s(*computed->result));
                            });
  if (!whole) return given_up();
  return Reply::json(
      {{"revision", computed->revision}, {"vehicle", report::json_of(made.rig)}, {"trial", report::json_of(made)}});
}

Reply Desk::trial_figures() {
  const auto computed = runner_.sound();
  if (!computed) return nothing_to_try("the first design of this project is still being computed");
  if (!trial::engine_present()) return nothing_to_try(trial::engine_text());
  if (!computed->result->assessed) return nothing_to_try("the model does not work yet");
  const int ticket = ++newest_figures_;
  trial::Report made;
  const bool whole = worked([&] { return closing_ || newest_figures_ != ticket || caller_gone(); },
                            [&](const std::atomic<bool>& stop) {
                              base::RunControl control;
                              control.stop = &stop;
                              control.jobs = settings_.threads;
                              const design::Result& r = *computed->result;
                              made = trial::try_design(*r.brief, design::chosen_of(r), *r.assessed, {}, control);
                            });
  if (!whole) return given_up();
  return Reply::json({{"revision", computed->revision}, {"trial", report::json_of(made)}});
}

Reply Desk::trial_lift(const LiftRequest& request) {
  const auto computed = runner_.sound();
  if (!computed) return nothing_to_try("the first design of this project is still being computed");
  if (!trial::engine_present()) return nothing_to_try(trial::engine_text());
  if (!computed->result->assessed) return nothing_to_try("the model does not work yet");
  const int ticket = ++newest_lift_;
  trial::LiftTrial made;
  const bool whole = worked([&] { return closing_ || newest_lift_ != ticket || caller_gone(); },
                            [&](const std::atomic<bool>& stop) {
                              base::RunControl control;
                              control.stop = &stop;
                              trial::LiftWish wish;
                              wish.load_g = request.load_g;
                              wish.slew_deg = request.slew_deg;
                              wish.input = request.input;
                              const design::Result& r = *computed->result;
                              made = trial::try_lift(*r.brief, design::chosen_of(r), *r.assessed, wish, control);
                            });
  if (!whole) return given_up();
  return Reply::json({{"revision", computed->revision},
                      {"trial", report::json_of(made)},
                      {"drawing", made.why_not.empty() ? report::lift_drawing(made, 900).str() : ""}});
}

Reply Desk::start_live(const TrialRequest& request) {
  std::optional<Reply> refused;
  const auto course = course_of(request, refused);
  if (!course) return *refused;
  const auto computed = runner_.sound();
  if (!computed) return nothing_to_try("the first design of this project is still being computed");
  if (const std::string why = no_drive(*computed->result); !why.empty()) return nothing_to_try(why);
  const design::Result& r = *computed->result;
  const assessment::Ground& ground = r.assessed->ground;
  trial::MachineWish wish;
  wish.speed_mm_s = own_speed_mm_s(r);
  const trial::MachineRig rig = trial::machine_rig(*r.brief, design::chosen_of(r), *r.assessed, wish);
  if (!rig.why_not.empty()) return nothing_to_try(rig.why_not);
  const trial::Extent extent = trial::extent_of(rig.drive.vehicle);
  const balance::GroundLine line = course->ground(extent.length_mm(), extent.top_mm);
  const double across_rad = course->type == trial::CourseType::side_slope ? course->size : 0;
  trial::DriveOptions how;
  how.friction = request.friction > 0 ? request.friction : ground.friction.nominal;
  std::vector<std::string> keys;
  Json sticks = Json::array();
  for (const trial::Stick& s : rig.sticks) {
    std::string key = key_of(s.does);
    if (std::find(keys.begin(), keys.end(), key) != keys.end()) key = key == "luff" ? "stage" : "";
    if (!key.empty()) sticks.push_back({{"does", key}, {"name", s.name}, {"plus", s.plus}, {"minus", s.minus}});
    keys.push_back(std::move(key));
  }
  std::string why_not;
  const int id = live_.start(rig, line, across_rad, how, why_not);
  if (id == 0) return nothing_to_try(why_not);
  {
    const std::lock_guard lock(live_keys_mutex_);
    live_keys_ = std::move(keys);
  }
  return Reply::json({{"id", id},
                      {"course", course->text()},
                      {"friction", report::number(how.friction)},
                      {"ground_mm", report::json_of(line)},
                      {"across_deg", report::number(across_rad * 180 / std::numbers::pi)},
                      {"sticks", std::move(sticks)},
                      {"vehicle", report::json_of(rig.drive)}});
}

Reply Desk::stick(int id, const StickRequest& request) {
  std::vector<double> sticks;
  {
    const std::lock_guard lock(live_keys_mutex_);
    for (const std::string& key : live_keys_)
      sticks.push_back(key == "steer"   ? request.steer
                       : key == "slew"  ? request.slew
                       : key == "luff"  ? request.luff
                       : key == "stage" ? request.stage
                       : key == "hoist" ? request.hoist
                                        : 0);
  }
  if (!live_.input(id, static_cast<std::uint64_t>(request.number), request.throttle, std::move(sticks)))
    return Reply::problem(410, "nobody drives any more", "that drive has ended; start another one.");
  return Reply::json({{"number", request.number}});
}

Reply Desk::end_live(int id) {
  if (!live_.end(id)) return Reply::problem(410, "nobody drives any more", "that drive has ended already.");
  Reply out;
  out.status = 204;
  return out;
}

}  // namespace serve
