// Every trial beside its closed form: largest step and trench, steepest slope, the project's obstacles, tipping loads,
// times to raise, lower and slew.
//
// The closed form is the headline, the trial a second opinion by other physics. Before a figure of a trial is shown it
// is tried whether smaller sizes pass too, whether half the time step says the same, and what a fifth more or less
// friction does. A gap of more than a tenth is told with its likely cause. For models only, never for real lifting or
// driving.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "assessment/assessment.h"
#include "base/run_control.h"
#include "trial/drive.h"
#include "trial/tipping.h"

namespace trial {

/// Whether the program was built with its physics engine; "MuJoCo 2.2.2", or how to get it.
[[nodiscard]] bool engine_present();
[[nodiscard]] std::string engine_text();

/// A gap that is told as a finding.
inline constexpr double kTellGap = 0.10;

/// One figure found both ways.
struct Beside {
  std::string id;    ///< "step", "trench", "slope", "side_slope", "tipping", "raise_time", "lower_time", "slew_time"
  std::string what;  ///< "largest step at friction 0.6", "tipping load with feet down, slewed to 90 deg"
  std::string unit;  ///< "mm", "deg", "g", "s"
  double friction = 0;
  std::string why_not;  ///< not tried, or not trusted
  double closed = 0, trial = 0;
  double grid = 0;     ///< how finely the trial was looked for
  bool bound = false;  ///< the closed form is the most it can be: only what is beyond counts as apart
  bool closed_open = false, trial_open = false;  ///< nothing failed up to the largest tried
  std::string closed_stop, trial_stop;           ///< what stops the next larger one
  std::vector<std::string> doubts;               ///< checks that did not come out: the figure is told with them
  std::string cause;                             ///< of a gap above kTellGap, the likeliest
  /// |trial - closed| beyond the grid, as a share of the closed form's; 0 where both are open.
  [[nodiscard]] double gap() const;
  [[nodiscard]] bool told() const { return why_not.empty() && gap() > kTellGap; }
};

/// One of the project's obstacles, at the low, nominal and high friction.
struct ObstacleTrial {
  std::string id, text, why_not;
  struct At {
    double friction = 0;
    bool closed_passed = false;
    std::string closed_stop;
    DriveRun run;
  };
  std::array<At, assessment::kFrictions> at;
};

struct Report {
  std::string why_not;  ///< nothing could be tried
  std::vector<Beside> figures;
  std::vector<ObstacleTrial> obstacles;
  std::vector<std::string> cannot_say;  ///< always: what no trial here predicts
  std::uint64_t steps = 0;
};

struct Options {
  double step_ms = 2;
  double speed_mm_s = 0;  ///< of the drive without load, over obstacles; figures at most at DriveRig's usual, as is 0
  bool doubts = true;     ///< run the checks
};

/// The vehicle of a judged ground; see not_tried_because(). `speed_mm_s` 0 = the usual of DriveRig.
[[nodiscard]] DriveRig rig_of(const assessment::Ground& ground, double speed_mm_s = 0);
/// How fast the slowest of the chosen drives along runs without load, usual parts and fresh cells; 0 = none is known.
[[nodiscard]] double own_speed_mm_s(const brief::Brief& brief, const std::vector<assessment::Chosen>& chosen);

/// One run over a course beside the closed form's walk over the same ground line.
struct CourseTrial {
  Course course;
  double friction = 0;
  balance::GroundLine line;
  DriveRig rig;
  DriveRun run;
  balance::Crossing closed;
  balance::Stop closed_stop = balance::Stop::nothing;
  double tips_rad = 0, slides_rad = 0;  ///< of a slope across: where statics lets it tip and slide
  std::string cause;                    ///< where one passes and the other does not, the likeliest
};
[[nodiscard]] CourseTrial try_course(const assessment::Ground& ground, const Course& course, double friction,
                                     const DriveOptions& options, double speed_mm_s = 0);

/// Everything that can be tried of an assessed machine.
[[nodiscard]] Report try_all(const assessment::Assessment& assessed, const Options& options,
                             const base::RunControl& control = {});

/// How long the chosen drives take to raise, lower and slew what hangs on their joints, beside the design's figures. Of
/// several postures of the other joints the slowest; a mirrored pair of outputs is not tried.
[[nodiscard]] std::vector<Beside> try_motions(const brief::Brief& brief, const std::vector<assessment::Chosen>& chosen,
                                              const Options& options, const base::RunControl& control = {});
/// Both, over obstacles at the design's own speed unless the options tell one.
[[nodiscard]] Report try_design(const brief::Brief& brief, const std::vector<assessment::Chosen>& chosen,
                                const assessment::Assessment& assessed, const Options& options,
                                const base::RunControl& control = {});

}  // namespace trial
