// Which scale suits: the real machine's main dimensions against the parts that cannot shrink, and which function fails
// at which scale.
//
// At every scale the project is read as if it were built that much larger or smaller (document/rescale.h) and every
// function is designed anew from the same stock; nothing is interpolated.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "design/design.h"

namespace design {

/// A part whose size decides a scale: built into the model as it is, it stands for `real_mm` at `scale`.
struct PartScale {
  std::string dimension;  ///< "wheel diameter"
  std::string part;
  double real_mm = 0, part_mm = 0;
  double scale = 0;      ///< real / part
  bool at_most = false;  ///< it only has to fit: every scale up to this one
};

/// One dimension at one scale: the nearest part of the stock.
struct Mismatch {
  std::string dimension, part;
  double wanted_mm = 0, part_mm = 0;
  double share = 0;  ///< part / wanted - 1; parts that only have to fit: how much too large, else 0
};

struct ScaleAt {
  double scale = 0;       ///< 1 to this
  double factor = 0;      ///< of the project's figures
  std::string bad_input;  ///< why the project cannot be read at this scale; empty = it can
  struct Function {
    std::string id;
    bool required = true, served = false;
    double worst = 0;  ///< margin of its best candidate; 0 = none
    std::string why;   ///< weakest margin, or the nearest misses, one of a sort
  };
  std::vector<Function> functions;
  bool feasible = false;  ///< all required functions together, from one stock
  bool proven = false;    ///< the whole was searched
  double worst_margin = 0;
  std::vector<Mismatch> mismatches;
  double worst_mismatch = 0;                          ///< largest |share|
  double length_mm = 0, width_mm = 0, height_mm = 0;  ///< of the whole model, 0 = the real machine's is not said
};

struct ScaleOptions {
  Options design;
  double from = 0, to = 0;  ///< 0 = 0.7 and 1.5 times the project's own scale
  int steps = 7;            ///< spread evenly by ratio; those of parts are looked at besides
};
struct ScaleStudy {
  document::Diagnostics diagnostics;
  bool bad_input = false, stopped = false;
  std::string name;
  double own_scale = 0;
  std::vector<PartScale> parts;  ///< by dimension, then scale
  std::vector<ScaleAt> scales;   ///< rising
  int best = -1;                 ///< feasible with the least mismatch, then the best worst margin; -1: none is feasible
};
/// The project needs [real] with its own scale; otherwise bad input.
[[nodiscard]] ScaleStudy study_scale(const ScaleOptions& options, const base::RunControl& control = {});

}  // namespace design
