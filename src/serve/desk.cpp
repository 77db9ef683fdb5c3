#include "serve/desk.h"

#include <fmt/format.h>

#include <chrono>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "base/file_state.h"
#include "design/design.h"
#include "document/toml_reader.h"
#include "functions/kinds.h"
#include "project/create.h"
#include "project/project.h"
#include "report/json.h"
#include "serve/json.h"
#include "serve/library.h"
#include "stock/catalogue.h"

namespace serve {
namespace {

namespace fs = std::filesystem;
using Json = nlohmann::ordered_json;

constexpr std::chrono::milliseconds kBetweenLooks{500};  // at the file, for changes by others
constexpr std::chrono::milliseconds kSlice{20};          // an end is noticed within

Json steps_json(const std::vector<std::string>& labels) {
  return {{"count", labels.size()}, {"label", labels.empty() ? "" : labels.back()}};
}

/// Only the message; what people act on.
std::string detail_of(const document::Diagnostics& d) {
  const auto all = d.sorted();
  if (all.empty()) return "";
  return all.front().message + (all.front().hint.empty() ? "" : " Try: " + all.front().hint);
}

/// What a form sent, not a command line: places of options become places in the request.
document::Diagnostics of_the_form(const document::Diagnostics& from) {
  document::Diagnostics out;
  for (document::Diagnostic p : from.sorted()) {
    if (p.where.file.starts_with("--")) {
      const std::string option = p.where.file.substr(2);
      const bool own = option == "like" || option == "system";
      p.path = own ? "/" + option : document::child_path("/dimensions", option);
      p.where = {};
      if (p.hint.starts_with("--")) p.hint = p.hint.substr(2);
    }
    out.add(std::move(p));
  }
  return out;
}

}  // namespace

Reply Reply::json(const Json& json) {
  Reply out;
  out.body = compact(json);
  return out;
}

Reply Reply::text(std::string body, std::string type) {
  Reply out;
  out.type = std::move(type);
  out.body = std::move(body);
  return out;
}

Reply Reply::problem(int status, const std::string& title, const std::string& detail, const std::string& at) {
  Json p = {{"status", status}, {"title", title}, {"detail", detail}};
  if (!at.empty()) p["at"] = at;
  Reply out = json({{"problem", std::move(p)}});
  out.status = status;
  return out;
}

Reply Reply::problems(int status, const std::string& title, const document::Diagnostics& d) {
  const auto all = d.sorted();
  Json p = {{"status", status}, {"title", title}, {"detail", detail_of(d)}};
  if (!all.empty() && !all.front().path.empty()) p["at"] = all.front().path;
  Reply out = json({{"problem", std::move(p)}, {"problems", problems_json(d)}});
  out.status = status;
  return out;
}

Desk::Desk(const Settings& settings)
    : settings_(settings),
      runner_(events_, settings.catalogue, settings.threads),
      scale_(settings.threads),
      watcher_([this] { watch(); }) {}

Desk::~Desk() {
  close();
}

void Desk::close() {
  closing_ = true;
  events_.close();
  runner_.close();
  scale_.close();
  live_.close();
  packs_.forget();
  if (watcher_.joinable()) watcher_.join();
}

bool Desk::open(const std::string& folder, document::Diagnostics& d) {
  const std::lock_guard lock(mutex_);
  if (workspace_ && Workspace::same_file(workspace_->file(), folder)) return true;
  auto opened = Workspace::open(folder, note_, d);
  if (!opened) return false;
  // Revisions go on, so that no page takes the new project for the old one.
  if (workspace_) opened->start_at(workspace_->revision() + 1);
  workspace_ = std::move(opened);
  told_outside_ = false;
  project_state_.clear();
  runner_.forget();
  scale_.forget();
  live_.close();
  packs_.forget();
  design_anew();
  return true;
}

Desk::Snapshot Desk::seen() const {
  return {workspace_->named(), workspace_->file(), workspace_->folder(), workspace_->text(), workspace_->revision()};
}

std::optional<Desk::Snapshot> Desk::snapshot() {
  const std::lock_guard lock(mutex_);
  if (!workspace_) return std::nullopt;
  return seen();
}

void Desk::design_anew() {
  events_.publish("project", compact({{"revision", workspace_->revision()}}));
  runner_.start(workspace_->named(), workspace_->text(), workspace_->revision());
}

document::Diagnostics Desk::problems_of(const Snapshot& project) {
  const std::lock_guard lock(problems_mutex_);
  std::string list_state = base::file_state(stock_file(project));
  if (told_problems_ && told_problems_->named == project.named && told_problems_->text == project.text &&
      told_problems_->list_state == list_state)
    return told_problems_->problems;
  design::Options options = runner_.options(project.named, project.text);
  options.stop_after = design::Stage::brief;
  document::Diagnostics problems = design::run(options, runner_.control()).diagnostics;
  told_problems_ = Told{project.named, project.text, std::move(list_state), problems};
  return problems;
}

Reply Desk::session() {
  Json out = {{"version", settings_.version}};
  std::vector<std::string> log;
  {
    const std::lock_guard lock(mutex_);
    out["open"] = workspace_ != nullptr;
    std::string name;
    if (workspace_) {
      document::Diagnostics silent;
      const auto root = document::parse_toml(workspace_->text(), workspace_->file(), silent);
      const document::Node* header = root ? root->find("project") : nullptr;
      const document::Node* told = header != nullptr ? header->find("name") : nullptr;
      if (told != nullptr) name = told->text;
    }
    out["folder"] = workspace_ ? workspace_->folder() : "";
    out["name"] = name;
    out["revision"] = workspace_ ? workspace_->revision() : 0;
    out["saved"] = workspace_ && !workspace_->changed_outside();
    out["undo"] = steps_json(workspace_ ? workspace_->undo_labels() : std::vector<std::string>{});
    if (workspace_) log = workspace_->undo_labels();
    out["redo"] = steps_json(workspace_ ? workspace_->redo_labels() : std::vector<std::string>{});
  }
  out["log"] = std::move(log);
  const auto computed = runner_.sound();
  out["pitch_mm"] = computed && computed->result->brief ? computed->result->brief->system().pitch_mm : 0.0;
  out["event"] = events_.last();
  out["examples"] = examples_json(examples_folder(settings_.examples));
  out["archetypes"] = archetypes_json(settings_.catalogue);
  return Reply::json(out);
}

Reply Desk::open(const OpenRequest& request) {
  document::Diagnostics d;
  const int ways =
      (request.folder.empty() ? 0 : 1) + (request.example.empty() ? 0 : 1) + (request.like.empty() ? 0 : 1);
  if (ways != 1) {
    return Reply::problem(422, "say what to open", "name one of folder, example and like.");
  }
  std::string folder = request.folder;
  if (!request.example.empty()) {
    folder = copy_example(examples_folder(settings_.examples), request.example, request.into, d);
  } else if (!request.like.empty()) {
    project::NewProject wanted;
    wanted.like = request.like;
    wanted.system = request.system;
    wanted.name = request.name;
    wanted.dimensions = request.dimensions;
    if (!request.stock_csv.empty()) wanted.stock_csv = request.stock_csv;
    wanted.stock_columns = request.stock_columns;
    wanted.folder = folder =
        request.into.empty() ? free_folder(is_plain_name(request.like) ? request.like : "model") : request.into;
    const auto root = stock::find_catalogue_folder(settings_.catalogue, d);
    if (!root || !project::create_project(wanted, *root, d)) folder.clear();
  }
  if (folder.empty() || !open(folder, d)) return Reply::problems(422, "this cannot be opened", of_the_form(d));
  return session();
}

Reply Desk::schema() {
  std::vector<project::KindFields> kinds;
  for (const candidate::Kind& kind : functions::kinds()) {
    kinds.push_back({std::string(kind.name), std::string(kind.summary), kind.fields()});
  }
  return Reply::text(project::project_schema(kinds), "application/json");
}

Reply Desk::project() {
  const auto now = snapshot();
  if (!now) return Reply::problem(404, "no project is open", "open one first.");
  document::Diagnostics silent;
  const auto root = document::parse_toml(now->text, now->file, silent);
  return Reply::json({{"revision", now->revision},
                      {"text", now->text},
                      {"document", root ? report::json_of(*root) : Json::object()},
                      {"problems", problems_json(problems_of(*now))}});
}

Reply Desk::change(const std::function<Workspace::Outcome(Workspace&, document::Diagnostics&)>& how) {
  document::Diagnostics d;
  Workspace::Outcome outcome{};
  Snapshot now;
  Json undo, redo;
  {
    const std::lock_guard lock(mutex_);
    if (!workspace_) return Reply::problem(404, "no project is open", "open one first.");
    const int before = workspace_->revision();
    outcome = how(*workspace_, d);
    if (workspace_->revision() != before) design_anew();
    now = seen();
    undo = steps_json(workspace_->undo_labels());
    redo = steps_json(workspace_->redo_labels());
  }
  const auto conflict = [&](const char* title, const char* detail) {
    return Json{{"problem", {{"status", 409}, {"title", title}, {"detail", detail}}}, {"revision", now.revision}};
  };
  switch (outcome) {
    case Workspace::Outcome::stale: {
      Reply out =
          Reply::json(conflict("an older revision", "the project has changed meanwhile; read it and try again."));
      out.status = 409;
      return out;
    }
    case Workspace::Outcome::outside: {
      Json told =
          conflict("changed outside", "the project file was changed by another program; keep which of the two?");
      told["outside"] = true;
      Reply out = Reply::json(told);
      out.status = 409;
      return out;
    }
    case Workspace::Outcome::refused:
      return Reply::problems(422, "this change cannot be made", d);
    case Workspace::Outcome::done:
      break;
  }
  return Reply::json({{"revision", now.revision},
                      {"problems", problems_json(problems_of(now))},
                      {"undo", std::move(undo)},
                      {"redo", std::move(redo)}});
}

Reply Desk::edit(const EditsRequest& request) {
  return change([&](Workspace& w, document::Diagnostics& d) {
    return w.edit(request.revision, request.label, request.edits, d);
  });
}

Reply Desk::replace(const TextRequest& request) {
  return change([&](Workspace& w, document::Diagnostics& d) {
    return w.replace(request.revision, request.label.empty() ? "text" : request.label, request.text, d);
  });
}

Reply Desk::undo() {
  return change([](Workspace& w, document::Diagnostics& d) { return w.undo(d); });
}

Reply Desk::redo() {
  return change([](Workspace& w, document::Diagnostics& d) { return w.redo(d); });
}

Reply Desk::reload(Workspace::Keep keep) {
  return change([&](Workspace& w, document::Diagnostics& d) {
    const Workspace::Outcome outcome = w.reload(keep, d);
    if (outcome == Workspace::Outcome::done) told_outside_ = false;
    return outcome;
  });
}

void Desk::watch() {
  while (!closing_) {
    for (auto waited = kBetweenLooks; waited > kSlice && !closing_; waited -= kSlice)
      std::this_thread::sleep_for(kSlice);
    bool outside = false;
    std::optional<Snapshot> now;
    {
      const std::lock_guard lock(mutex_);
      if (!workspace_) continue;
      // Files are read only when they are not the ones that were seen last.
      const std::string state = base::file_state(workspace_->file());
      if (state != project_state_ || told_outside_) {
        const bool changed = workspace_->changed_outside();
        outside = changed && !told_outside_;
        told_outside_ = changed;
        project_state_ = state;
      }
      if (watched_revision_ != workspace_->revision()) now = seen();
    }
    if (outside) events_.publish("outside", "{}");
    const std::string list = now ? stock_file(*now) : "";
    const std::lock_guard lock(mutex_);
    bool same_list = true;
    if (now) {
      same_list = list == watched_list_;
      watched_list_ = list;
      watched_revision_ = now->revision;
    }
    // A stock list that was edited elsewhere is simply taken: nothing of it is kept here.
    const std::string state = base::file_state(watched_list_);
    const bool changed = same_list && state != list_state_ && !list_state_.empty();
    list_state_ = state;
    if (changed && workspace_) design_anew();
  }
}

}  // namespace serve
