// The nominal state that everything shown of a stabiliser's design is taken from: what legs and outriggers share.
#pragma once

#include <type_traits>
#include <utility>

#include "functions/stabiliser/evaluate.h"

namespace functions::stabiliser {

/// `D`: a design with a `problem`, an `actuator` and a `powertrain`.
template <class D>
struct NominalState {
  using Problem = std::remove_cvref_t<decltype(*std::declval<const D&>().problem)>;
  const D& design;
  const Problem& problem;
  const Wants& wants;
  const Stance& stance;
  const brief::Brief& brief;
  const stock::Actuator& part;
  brief::Sample sample;
  drive::Machine machine;

  explicit NominalState(const D& d)
      : design(d),
        problem(*d.problem),
        wants(problem.wants),
        stance(problem.nominal),
        brief(*problem.brief),
        part(std::get<stock::Actuator>(brief.catalogue->at(d.actuator).data)),
        sample(brief.parameters.nominal()),
        machine(drive::machine(d.powertrain, brief, sample)) {}
};

}  // namespace functions::stabiliser
