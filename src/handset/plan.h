// What the driver holds: which stick moves what, which motors to invert, ramps, ends, interlocks, the engine's rule.
//
// Conventions: push, left and up are a drive's plus. An output at plus is taken to turn a motor counter-clockwise, seen
// on its shaft; where a hub does it the other way round all motors are inverted alike, which the first start-up check
// shows.
#pragma once

#include <string>
#include <vector>

#include "assessment/assessment.h"
#include "base/triple.h"
#include "brief/brief.h"
#include "handset/engine.h"

namespace handset {

struct Control {
  enum class Type { none, stick_along, stick_across, slider, buttons, rule };
  Type type = Type::none;
  int number = 0;  ///< of the stick (1 = left), slider, or first button of a pair; from 1
};
/// "left stick, push and pull"
[[nodiscard]] std::string text_of(const Control& control);

enum class Invert { no, yes, find_out };
[[nodiscard]] const char* name_of(Invert invert);

/// One drive on the handset.
struct Assignment {
  std::size_t function = 0;  ///< index into Brief::functions
  std::size_t drive = 0;     ///< index into the candidate's drives
  std::string name;          ///< "winch", "travel left"
  Control control;
  std::string ways;         ///< "push = up, pull = down"
  std::string plus, minus;  ///< what happens at either side: "up", "down"
  std::string mixing;       ///< "drive - turn"; empty when the control goes straight to the motor
  Invert invert = Invert::no;
  std::string invert_note;
  double ramp_s = 0;       ///< from rest to full
  double speed_limit = 1;  ///< share of the full input
  std::string limit_note;
  bool has_ends = false;
  base::Triple plus_s, minus_s;  ///< from end to end at the limit, 5 %, nominal, 95 % of the draws; endless: per metre
                                 ///< or turn
  double soft_end_s = 0;         ///< slow down this long before an end; 0 = no ends
  double soft_end_share = 0;     ///< the same as a share of the travel
  std::string soft_end_note;     ///< why it is shorter than wanted
};

/// Input that is left at an end of the travel.
inline constexpr double kSoftEndInput = 0.4;

struct Interlock {
  enum class Rule { not_together, not_while_down, not_while_up };
  Rule rule = Rule::not_together;
  std::size_t other = 0;     ///< index into Brief::functions: what runs, or the legs
  std::size_t function = 0;  ///< what is held back
  std::string text;          ///< "no \"boom\" before \"legs\" are down"
  std::string why;
  std::string code;  ///< of the finding it rests on
};

struct Check {
  std::string text;  ///< "lift 100 g with \"boom\": up in 9 to 12 s?"
  std::string otherwise;
};

struct Plan {
  std::vector<Assignment> assignments;
  std::vector<std::string> left_over;  ///< drives for which the handset has no control
  std::string shortage;                ///< what is missing, in numbers; empty when all are served
  bool assumed_handset = false;        ///< nobody told what handset there is
  bool left_handed = false;
  std::vector<Interlock> interlocks;
  bool has_engine = false;
  Engine engine;
  std::vector<std::string> engine_program;  ///< pseudo-code, line by line
  std::string engine_simple;                ///< for a handset without programs
  std::vector<Check> checks;
};

/// Everything from the chosen candidates and what the assessment found.
[[nodiscard]] Plan plan(const brief::Brief& brief, const std::vector<assessment::Chosen>& chosen,
                        const assessment::Assessment& assessed);

}  // namespace handset
