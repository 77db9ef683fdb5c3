// Steps of the assessment; not for other folders.
#pragma once

#include "assessment/assessment.h"
#include "balance/mass.h"

namespace assessment {

/// The hubs of the supply, named, and one more.
[[nodiscard]] Amendment one_more_hub(const brief::Brief& brief, stock::ClassId more);

/// Least tipping angle that is not worth a warning when nobody asked for one: a carpet edge or a knock. Common
/// practice, no source.
inline constexpr double kUneasyTipping_deg = 8;

/// Mass and centre of every body with the chosen parts in place; fills masses, mass_g, the interval, centre_mm.
void weigh(const brief::Brief& brief, const std::vector<Chosen>& chosen, const Options& options, Assessment& out);

/// One draw of the mass of a weighed body: its own draw where somebody entered it, the shared factor where not.
[[nodiscard]] double draw_mass_g(const MassLine& line, const brief::Brief& brief, std::uint64_t seed, std::uint64_t k);

/// Tipping angles over all postures. Bodies stand where `masses` says, so that a move can be tried.
/// Without draws only the least angle is found, not the angles by direction: quick enough for trying remedies.
[[nodiscard]] Stance judge_stance(const brief::Brief& brief, const std::vector<Chosen>& chosen,
                                  const std::vector<MassLine>& masses, const Options& options);

[[nodiscard]] inline balance::Vec3 to_balance(const brief::Vec3& v) {
  return {v.x_mm, v.y_mm, v.z_mm};
}

/// The loads of the chosen functions. Functions along one chain of bodies mean the same load: of those the heaviest
/// counts, of equal ones the outermost.
[[nodiscard]] std::vector<candidate::Payload> loads_of(const brief::Brief& brief, const std::vector<Chosen>& chosen);

/// A body as the theory of balance has it: pivot, axis (a pitch joint raises the front by the right hand about -y),
/// mass and centre.
[[nodiscard]] balance::Body balance_body(const brief::Brief& brief, std::size_t body, const MassLine& mass);

/// Evaluation of every chosen candidate in every draw: worlds[draw][function]. Fewer draws than asked for when stopped.
using Worlds = std::vector<std::vector<candidate::Evaluation>>;
[[nodiscard]] Worlds draw_worlds(const brief::Brief& brief, const std::vector<Chosen>& chosen, const Options& options,
                                 const base::RunControl& control);

/// The load chart, and what is rated at the radius the functions want.
[[nodiscard]] Lifting judge_lifting(const brief::Brief& brief, const std::vector<Chosen>& chosen,
                                    const std::vector<MassLine>& masses, const Worlds& worlds, const Options& options,
                                    int jobs);
/// Codes: lifting.below_wanted (with moves that were tried), lifting.feet_needed.
[[nodiscard]] std::vector<Finding> lifting_findings(const brief::Brief& brief, const std::vector<Chosen>& chosen,
                                                    const Assessment& assessment, const Worlds& worlds,
                                                    const Options& options, double left_parts_g);

/// Slopes, turning, steps, trenches and the project's obstacles.
[[nodiscard]] Ground judge_ground(const brief::Brief& brief, const std::vector<Chosen>& chosen,
                                  const std::vector<MassLine>& masses, const Options& options);
/// Codes: ground.obstacle_stops (with changes that were tried), ground.obstacle_unsure, ground.not_judged.
[[nodiscard]] std::vector<Finding> ground_findings(const brief::Brief& brief, const std::vector<Chosen>& chosen,
                                                   const Assessment& assessment, const Options& options);

/// Plan of the project's loads; lifting and ground are judged already.
[[nodiscard]] SitePlan judge_site(const brief::Brief& brief, const std::vector<Chosen>& chosen,
                                  const Assessment& assessment);
/// Codes: site.load_stays (with changes that were tried), site.load_split, site.not_all_stowed, site.not_judged.
[[nodiscard]] std::vector<Finding> site_findings(const brief::Brief& brief, const std::vector<Chosen>& chosen,
                                                 const Assessment& assessment);

/// Margins over the draws and the share of draws in which all hold.
[[nodiscard]] Certainty judge_certainty(const std::vector<Chosen>& chosen, const Worlds& worlds);

/// Motors to sockets, currents, run time.
[[nodiscard]] Power judge_power(const brief::Brief& brief, const std::vector<Chosen>& chosen, const Worlds& worlds,
                                const Options& options);

void count_parts(const brief::Brief& brief, const std::vector<Taken>& taken, Assessment& out);

/// What stands out, each with remedies tried on the spot.
[[nodiscard]] std::vector<Finding> find(const brief::Brief& brief, const std::vector<Chosen>& chosen,
                                        const Assessment& assessment, const Worlds& worlds, const Options& options);

/// The 5 % and 95 % quantile of `values` (any order; not empty) around `nominal`. Nearest rank.
[[nodiscard]] base::Triple interval_of(std::vector<double> values, double nominal);

}  // namespace assessment
