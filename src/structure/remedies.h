// Remedies for a boom that sags, sways or rolls too much, each tried and computed again: double the beam, close the
// box, move the actuator, add a pin.
#pragma once

#include <string>
#include <vector>

#include "structure/boom.h"

namespace structure {

enum class RemedyKind { double_the_beam, close_the_box, move_the_actuator, add_a_pin };
[[nodiscard]] std::string_view name_of(RemedyKind kind);

struct RemedyOptions {
  Gauge judged_by = Gauge::sway;
  int pin_every_p = 3;      ///< pins of a doubled beam, besides one at each end
  int tie_every_p = 4;      ///< ties of a closed box, alternately above and below
  int actuator_from_p = 1;  ///< stations the actuator may move to
  int actuator_to_p = 0;    ///< 0 = the tip
};

/// What a remedy takes from the stock, both sides together.
struct PartsAdded {
  std::vector<int> beams_holes;  ///< number of holes of each
  int pins = 0, axles = 0, brackets = 0;
};

struct Remedy {
  RemedyKind kind = RemedyKind::double_the_beam;
  bool possible = false;
  std::string what;  ///< what was done, or why nothing could be
  int tried = 0;     ///< variants computed; the best one by the judged gauge is kept, the first of equals
  Boom boom;
  BoomReport after;
  PartsAdded added;
  /// 1 - after/before of a gauge's total, elastic and play together; negative when it got worse. 0 when before is 0.
  double sag_cut = 0, sway_cut = 0, roll_cut = 0;
  [[nodiscard]] double cut(Gauge gauge) const;
};

struct Remedies {
  BoomReport before;
  std::vector<Remedy> remedies;  ///< one of each kind, in the order of the enumeration
};

/// Every remedy on its own, recomputed. When the boom itself is a mechanism, cuts stay 0 and `after` says whether the
/// remedy holds it. KW_CHECK: no fault.
[[nodiscard]] Remedies try_remedies(const Boom& boom, const BoomLoad& load, const RemedyOptions& options = {});

}  // namespace structure
