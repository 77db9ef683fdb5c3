// What the page's script needs to move a drawn mechanism: its bars, which points stay, what drives it, its curves. Told
// by the shapes of a candidate alone, whatever its kind; the script keeps the bars' lengths, computes nothing else.
#pragma once

#include <optional>
#include <string>

#include "candidate/candidate.h"
#include "dossier/texts.h"

namespace dossier {

/// JSON, or nothing where the shapes tell no travel. Two forms:
/// "turn": a body on one pivot with an actuator between two mounts (luffing, legs);
/// "bars": any chain of bars with one degree of freedom of which other positions are drawn as ghosts, in the same order
///   of shapes. Points that keep their distance in every drawn position are rigid to each other.
[[nodiscard]] std::optional<std::string> linkage_json(const candidate::Candidate&, const Texts&);

}  // namespace dossier
