// What kinds share besides the drive itself: the machine's weight, which parts a function may use, margins of torque,
// what the floor refuses whatever drives, and the step from powertrains to drafts.
#pragma once

#include <memory>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "balance/mass.h"
#include "functions/drive/placing.h"

namespace functions::drive {

/// Mass and centre of all bodies in their zero pose; estimated masses times `mass_factor`.
[[nodiscard]] balance::MassPoint machine_mass(const brief::Brief&, double mass_factor);

/// Classes of a family that the function may use, in catalogue order; `wanted` names the only one, empty = any.
[[nodiscard]] std::vector<stock::ClassId> choices(const brief::Brief&, const brief::Function&, stock::Family,
                                                  const std::string& wanted);
/// Whether the stock has `needed` pieces of a class; otherwise a rejection "<kind>.<code>" with the pieces missing.
[[nodiscard]] bool in_stock(const brief::Brief&, const brief::Function&, stock::ClassId part, int needed,
                            candidate::RejectionLog&, std::string_view code);

/// Full beams of one hole's width with `least` to `most` holes that the function may use.
[[nodiscard]] std::vector<stock::ClassId> full_beams(const brief::Brief&, const brief::Function&, int least, int most);

/// Torque at a pinion at which a tooth of it or of its rack reaches its allowable (Lewis, the weaker of both, narrower
/// face).
[[nodiscard]] double rack_limit_nmm(const brief::Brief&, stock::ClassId pinion, stock::ClassId rack, double radius_mm,
                                    double tooth_stress_mpa);

/// What a search says of an evaluation of `drives` powertrains alike.
[[nodiscard]] Judged judged_of(const candidate::Evaluation&, int drives);

/// Counts a search of powertrains in the proposal, and says when it ended early.
void count_search(const Powertrains&, candidate::Proposal&);

/// A draft for each powertrain behind one mechanism: `mechanism` with the powertrain and its site. See draft_of.
template <class Design, class Make, class Tell>
void add_drafts(const Powertrains& found, const Design& mechanism, Placers& placers, const brief::Function& function,
                const base::RunControl& control, const Make& make, const Tell& tell, std::vector<Draft>& drafts) {
  for (std::size_t k = 0; k < found.kept.size(); ++k) {
    auto design = std::make_shared<Design>(mechanism);
    design->powertrain = found.kept[k];
    design->site = found.sites[k];
    drafts.push_back(
        draft_of(std::shared_ptr<const Design>(std::move(design)), placers, function, control, make, tell));
  }
}

/// Torque to spare: capability = ratio x requirement for a ratio that may be infinite (no mesh, no load).
[[nodiscard]] candidate::Margin ratio_margin(std::string name, double ratio, double need_nmm, std::string note);

/// Whether every margin that the floor sets is within reach; the others are rejections "<kind>.<margin>", because no
/// drive helps.
[[nodiscard]] bool floor_allows(const std::string& kind, const std::vector<candidate::Margin>&,
                                const std::string& roller, candidate::RejectionLog&);

}  // namespace functions::drive
