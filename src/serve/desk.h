// The workbench without its wires: the open project, its designs, what is kept beside it. Thread-safe; every question
// of the page is one member.
#pragma once

#include <atomic>
#include <functional>
#include <memory>
#include <mutex>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <thread>

#include "serve/events.h"
#include "serve/live_trial.h"
#include "serve/packs.h"
#include "serve/requests.h"
#include "serve/runner.h"
#include "serve/scale_job.h"
#include "serve/workspace.h"

namespace serve {

/// What goes back to the page.
struct Reply {
  int status = 200;
  std::string type = "application/json";
  std::string body;
  bool lasting = false;  ///< the same for ever: the page may keep it

  static Reply json(const nlohmann::ordered_json& json);
  static Reply text(std::string body, std::string type);
  /// {problem: {status, title, detail, at}, problems: [...]}
  static Reply problem(int status, const std::string& title, const std::string& detail, const std::string& at = {});
  static Reply problems(int status, const std::string& title, const document::Diagnostics& diagnostics);
};

struct Settings {
  std::string project;    ///< folder or file to open; empty = the start page
  std::string catalogue;  ///< empty = the one that comes with the program
  std::string examples;   ///< likewise
  std::string version;
  int port = 0;  ///< 0 = any free one
  int threads = 1;
};

class Desk {
 public:
  explicit Desk(const Settings& settings);
  Desk(const Desk&) = delete;
  Desk& operator=(const Desk&) = delete;
  ~Desk();

  /// Told to others who want the same project.
  void set_note(std::string note) { note_ = std::move(note); }
  /// Opens a project instead of the present one, which stays open when this fails.
  bool open(const std::string& folder, document::Diagnostics& diagnostics);
  void close();

  [[nodiscard]] EventLog& events() { return events_; }

  [[nodiscard]] Reply session();
  [[nodiscard]] Reply open(const OpenRequest& request);
  [[nodiscard]] Reply schema();
  [[nodiscard]] Reply project();
  [[nodiscard]] Reply edit(const EditsRequest& request);
  [[nodiscard]] Reply replace(const TextRequest& request);
  [[nodiscard]] Reply undo();
  [[nodiscard]] Reply redo();
  [[nodiscard]] Reply reload(Workspace::Keep keep);

  [[nodiscard]] Reply jobs();
  [[nodiscard]] Reply stop_job(int id);
  /// `sound`: the newest whose project was sound, instead of the newest.
  [[nodiscard]] Reply result(bool sound);
  [[nodiscard]] Reply explain(const std::string& function, const std::string& candidate);
  [[nodiscard]] Reply candidate_drawing(const std::string& function, const std::string& candidate);
  [[nodiscard]] Reply chart(int radii, int slews);
  [[nodiscard]] Reply chart_drawing();
  /// A result file as "design --out" writes it (report.txt, design.json, sheet.svg, results.html), or chart.csv.
  [[nodiscard]] Reply result_file(const std::string& name);

  /// Sticks, senses and guide of the newest sound design, as "handset --json" prints it.
  [[nodiscard]] Reply handset();
  [[nodiscard]] Reply duty_drawing();
  /// Steps, trenches and slopes; the site with its loads.
  [[nodiscard]] Reply ground_drawing();
  [[nodiscard]] Reply site_drawing();
  /// How the newest sound design would stand if the centre of one body were elsewhere (machine frame, zero pose).
  [[nodiscard]] Reply stance_with(const std::string& body, const brief::Vec3& centre);
  /// {trains: [{function, body, shafts, wheels}]}: where the chosen trains stand, machine frame, zero pose.
  [[nodiscard]] Reply space();
  /// Starts a scale study of the project as it stands; one that runs is given up.
  [[nodiscard]] Reply start_scale(const ScaleRequest& request);
  /// {state, share, revision, message, study}: how far the newest study is.
  [[nodiscard]] Reply scale();

  /// What of the newest sound design can be tried: courses, friction, the vehicle; or why nothing can.
  [[nodiscard]] Reply trial();
  /// One run over a course beside its closed form. Made while the caller waits; given up when the caller has gone or
  /// another one is asked for (409).
  [[nodiscard]] Reply trial_course(const TrialRequest& request);
  /// Every figure both ways, likewise.
  [[nodiscard]] Reply trial_figures();
  /// A load lifted, swung round and set down, likewise.
  [[nodiscard]] Reply trial_lift(const LiftRequest& request);
  /// Puts the vehicle before a course for somebody to drive; whoever drove before is ended.
  [[nodiscard]] Reply start_live(const TrialRequest& request);
  /// Every key that its machine has no drive for is left.
  [[nodiscard]] Reply stick(int id, const StickRequest& request);
  [[nodiscard]] Reply end_live(int id);
  [[nodiscard]] LiveTrial& live() { return live_; }

  /// {languages: [{code, name}]}
  [[nodiscard]] Reply dossier_languages();
  /// What the dossier of the newest sound design holds, in one language. Made while the caller waits; given up when the
  /// caller has gone or another language or design is asked for (409).
  [[nodiscard]] Reply dossier(const std::string& language);
  [[nodiscard]] Reply dossier_file(const std::string& language, const std::string& name);

  [[nodiscard]] Reply stock();
  [[nodiscard]] Reply preview_stock(const std::string& csv, const std::string& columns, const std::string& system);
  [[nodiscard]] Reply replace_stock(const StockRequest& request);

  [[nodiscard]] Reply variants();
  [[nodiscard]] Reply variant(const std::string& id);
  [[nodiscard]] Reply keep_variant(const VariantRequest& request);
  [[nodiscard]] Reply drop_variant(const std::string& id);

  [[nodiscard]] Reply picture(const std::string& name);
  [[nodiscard]] Reply keep_picture(const std::string& name, const std::string& bytes);
  [[nodiscard]] Reply trace();
  [[nodiscard]] Reply keep_trace(const std::string& json);

 private:
  struct Snapshot {
    std::string named, file, folder, text;
    int revision = 0;
  };
  [[nodiscard]] std::optional<Snapshot> snapshot();
  [[nodiscard]] document::Diagnostics problems_of(const Snapshot& project);
  [[nodiscard]] std::string stock_file(const Snapshot& project) const;
  /// Snapshot of the open project; mutex_ is held.
  [[nodiscard]] Snapshot seen() const;
  /// Tells the pages and starts a design of the present text. Under mutex_, so that designs start in the order of the
  /// revisions.
  void design_anew();
  /// One change, its answer, and the design that it starts.
  Reply change(const std::function<Workspace::Outcome(Workspace&, document::Diagnostics&)>& how);
  void watch();
  /// Null with the reason in `refused`.
  [[nodiscard]] std::shared_ptr<const Pack> pack(const std::string& language, std::optional<Reply>& refused);

  Settings settings_;
  std::string note_;
  EventLog events_;
  Runner runner_;
  ScaleJob scale_;
  Packs packs_;
  LiveTrial live_;
  std::atomic<int> newest_course_{0}, newest_figures_{0}, newest_lift_{0};
  std::mutex live_keys_mutex_;
  std::vector<std::string> live_keys_;  ///< of the newest live drive, in the order of its rig's sticks
  std::mutex mutex_;                    // of workspace_
  std::mutex chart_mutex_;              // one computed chart at a time
  std::mutex variant_mutex_;            // ids are given once
  std::unique_ptr<Workspace> workspace_;
  bool told_outside_ = false;
  /// The problems told last: a page asks for those of one text several times.
  struct Told {
    std::string named, text, list_state;  ///< project, its text, state of its stock list
    document::Diagnostics problems;
  };
  std::mutex problems_mutex_;
  std::optional<Told> told_problems_;
  // What the watcher saw last.
  std::string watched_list_;  // file of the stock list
  int watched_revision_ = 0;  // whose list that is
  std::string list_state_, project_state_;
  std::atomic<bool> closing_{false};
  std::thread watcher_;
};

}  // namespace serve
