#include "functions/drive/drive.h"
#include "functions/hand/hand.h"
#include "functions/hand/knob.h"
#include "functions/hand/pins.h"

namespace functions::hand {
namespace {

candidate::Proposal propose(const brief::Function& function, const candidate::Wants& wants, const brief::Brief& brief,
                            const base::RunControl& control) {
  const auto& own = dynamic_cast<const Wants&>(wants);
  if (own.device != Device::knob) return propose_pins(function, own, brief, control);
  return drive::propose_by_length<Wants>(function, wants, brief, control,
                                         [](const brief::Function& f, const Wants& w, const brief::Brief& b,
                                            const base::RunControl& c) { return propose_knob(f, w, b, c); });
}

}  // namespace

candidate::Kind kind() {
  return {"hand", "what fingers work: knobs with a train, pushers to a switch, latches", &fields, &read, &propose};
}

}  // namespace functions::hand
