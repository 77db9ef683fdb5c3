// Level beams that a pinion between their racks runs out in pairs: both sides from one shaft.
//
// Seen from above the pinion stands upright in the machine's middle, the two beams of a pair lie r + o to either side
// of its axle (r: its pitch radius, o: from the rack's pitch line to the beam's middle), so that turning it one way
// moves both outward. The rack force F acts on a beam where the pinion is, m inside the sleeve's mouth, at the offset
// o, and F tan a aside (a: pressure angle). With a sleeve of length g, friction mu:
//   inner end of the sleeve   b = (m tan a -+ o)/g       - outward, + inward
//   its mouth                 tan a - b
//   share that friction takes h = mu (|b| + |tan a - b|)
//   F = mu V/(1 - h)          V: what the beam's own weight loads the sleeve with, outrigger.h
// h >= 1: it jams, however hard it is moved. Inward is the worse way; there it does not jam for
//   g > 2 mu (m tan a + o)/(1 + mu tan a)
// Source: statics of a drawer, Beer & Johnston, Statics, ch. 8 (from memory). Lengths mm, forces N, torques N mm.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "functions/drive/rack_drive.h"
#include "functions/stabiliser/outrigger_design.h"

namespace functions::stabiliser {

struct RackDesign {
  std::shared_ptr<const SlideProblem> problem;  ///< its beam stands aside by what the pinion asks
  drive::RackPinion mover;                      ///< with the lightest rack that serves
  std::vector<stock::ClassId> racks;  ///< all that serve in its place: as many in line, as wide, in the same room
  int drives = 1;                     ///< pairs, each with a motor and its train
  drive::Powertrain powertrain;
  std::shared_ptr<const drive::Site> site = nullptr;
  std::optional<drive::Placed> placed = std::nullopt;
};

/// The problem with the beams beside this pinion: where their feet stand, what their racks weigh. Nothing, and a
/// rejection, where the beams would miss the lattice ("stabiliser.rack_off_lattice", mm) or those of two pairs would
/// meet ("stabiliser.pairs_meet", mm).
[[nodiscard]] std::shared_ptr<const SlideProblem> beside_pinion(const SlideProblem&, const drive::RackPinion&,
                                                                candidate::RejectionLog&);

/// Share h of the rack's force that the sleeve's friction takes.
[[nodiscard]] double rack_share(const SlideProblem&, double friction, Motion);
/// Shortest sleeve that does not jam.
[[nodiscard]] double rack_sleeve_mm(const SlideProblem&, double friction);

/// One pair over its travel in one parameter sample.
struct RackCycle {
  std::vector<double> out_n, in_n;      ///< at ONE rack, >= 0
  std::vector<double> out_nmm, in_nmm;  ///< at the pinion's shaft, both racks
  double peak_n = 0, peak_nmm = 0, mean_nmm = 0;
  double aside_n = 0;  ///< greatest force with which the pinion pushes a beam aside
  double tipping_foot_n = 0, bending_nmm = 0;
  double slips_n = 0;  ///< ground's friction along the beam on a foot that carries all weight
  double rests_n = 0;  ///< what the sleeve's friction holds against it under that foot
};
[[nodiscard]] RackCycle rack_cycle(const SlideProblem&, const drive::RackPinion&, const Stance&, const brief::Sample&);

/// Names in a fixed order: force, time, tooth (only with a train), axle, rack tooth, sleeve, beam, hold, tipping angle
/// (only if wanted).
///   hold: with a worm that locks what a tooth of the rack bears, else the sleeve's friction; against slips_n
[[nodiscard]] candidate::Evaluation evaluate(const RackDesign&, const brief::Sample&);

/// Of these sleeve, beam and tipping angle, which no drive changes.
[[nodiscard]] std::vector<candidate::Margin> beam_margins(const RackDesign&, const brief::Sample&);

/// Whether a worm in the train keeps the pinion still with the motor off.
[[nodiscard]] bool worm_holds(const RackDesign&, const drive::Machine&);

/// Room, mirror images, what beams and racks sweep, the pinion's shaft as the output of the drive.
[[nodiscard]] std::shared_ptr<const drive::Site> site_by_rack(const SlideProblem&, const drive::RackPinion&,
                                                              const brief::Function&);

/// Figures, curves, drawing, notes, what the handset asks; with a place its figures too.
void present(const RackDesign&, candidate::Candidate&);

/// Whether a rack takes room of its own between its beam and what the pinion sweeps.
[[nodiscard]] bool rack_stands_out(const SlideProblem&, const drive::RackPinion&);

/// Search: every rack x pinion whose beams meet holes, then every motor x train. `problem` with its beam and stance.
void search_by_rack(const SlideProblem& problem, const brief::Function&, candidate::Proposal&, candidate::RejectionLog&,
                    const base::RunControl&);

}  // namespace functions::stabiliser
