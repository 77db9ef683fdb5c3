#include "drivetrain/of_gearing.h"

namespace drivetrain {

Train train_of(const gearing::Train& train, const gearing::MeshEfficiencies& efficiencies) {
  return {train.ratio().abs().value(), gearing::forward_efficiency(train, efficiencies),
          gearing::backward_efficiency(train, efficiencies)};
}

}  // namespace drivetrain
