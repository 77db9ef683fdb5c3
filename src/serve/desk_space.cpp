// The chosen trains as they stand in the machine, for the view in space.
#include <nlohmann/json.hpp>

#include "brief/body_tree.h"
#include "report/json_values.h"
#include "serve/desk.h"

namespace serve {
namespace {

using Json = nlohmann::ordered_json;
using lattice::Axis;

/// A lattice in the machine's frame, zero pose; `side` -1 mirrors about the machine's middle plane.
struct Frame {
  brief::Vec3 origin_mm;
  double half_mm = 0;
  int side = 1;

  [[nodiscard]] Json point(Axis axis, lattice::Cross at, double along_hp) const {
    const auto coordinate = [&](Axis a) {
      const double hp = a == axis ? along_hp : a == lattice::u_axis(axis) ? at.u_hp : at.v_hp;
      return origin_mm.along(a) + hp * half_mm;
    };
    return {report::number(coordinate(Axis::x)), report::number(side * coordinate(Axis::y)),
            report::number(coordinate(Axis::z))};
  }
};

Json train_json(const routing::Problem& problem, const routing::Layout& layout, const Frame& frame) {
  Json shafts = Json::array(), wheels = Json::array();
  for (const routing::PlacedShaft& s : layout.shafts)
    shafts.push_back(
        {{"from_mm", frame.point(s.axis, s.at, s.from_hp)}, {"to_mm", frame.point(s.axis, s.at, s.to_hp)}});
  for (const routing::PlacedWheel& w : layout.wheels) {
    const routing::Wheel& kind = problem.kit.wheels.at(static_cast<std::size_t>(w.wheel));
    wheels.push_back({{"axis", std::string(1, lattice::letter(w.axis))},
                      {"centre_mm", frame.point(w.axis, w.at, (w.from_hp + w.to_hp) / 2)},
                      {"radius_mm", report::number(kind.outer_radius_mm)},
                      {"open_mm", report::number(kind.open_radius_mm)},
                      {"width_mm", report::number((w.to_hp - w.from_hp) * frame.half_mm)},
                      {"name", kind.name}});
  }
  return {{"shafts", std::move(shafts)}, {"wheels", std::move(wheels)}};
}

}  // namespace

Reply Desk::space() {
  const auto computed = runner_.sound();
  Json trains = Json::array();
  if (!computed) return Reply::json({{"trains", std::move(trains)}});
  const design::Result& r = *computed->result;
  for (std::size_t f = 0; f < r.functions.size(); ++f) {
    const candidate::Candidate* c = r.chosen(f);
    if (c == nullptr || !c->route) continue;
    const int body = brief::lattice_body(r.brief->bodies, c->route->body < 0 ? 0 : c->route->body);
    Frame frame{brief::lattice_origin_mm(r.brief->bodies, body), r.brief->system().pitch_mm / 2};
    for (int copy = 0; copy < c->route->problem->kit.copies; ++copy) {
      frame.side = copy == 0 ? 1 : -1;
      Json train = train_json(*c->route->problem, c->route->layout, frame);
      train["function"] = r.functions[f].id;
      train["body"] = r.brief->bodies[static_cast<std::size_t>(body)].id;
      trains.push_back(std::move(train));
    }
  }
  return Reply::json({{"trains", std::move(trains)}});
}

}  // namespace serve
