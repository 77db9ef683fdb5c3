#include "design/building.h"

#include <map>

namespace design {

std::vector<BodyOrder> building_order(const Result& r) {
  std::map<int, BodyOrder> by_body;
  const auto add = [&](int body, std::string name, std::vector<lattice::Point3> cells, bool placed) {
    if (cells.empty()) return;
    BodyOrder& b = by_body[body];
    b.body = body;
    b.units.push_back({std::move(name), std::move(cells)});
    b.placed.push_back(placed);
  };
  if (!r.brief || !r.allocated || !r.allocated->feasible) return {};
  for (std::size_t f = 0; f < r.functions.size(); ++f) {
    const candidate::Candidate* c = r.chosen(f);
    if (c == nullptr) continue;
    for (const candidate::BodyCells& cells : c->cells) add(cells.body, r.functions[f].id, cells.cells.list(), false);
  }
  for (const brief::Placed& p : r.brief->placed) {
    std::vector<lattice::Point3> cells;
    for (int x = p.box.low.x_hp; x < p.box.high.x_hp; ++x) {
      for (int y = p.box.low.y_hp; y < p.box.high.y_hp; ++y) {
        for (int z = p.box.low.z_hp; z < p.box.high.z_hp; ++z) cells.push_back({x, y, z});
      }
    }
    add(p.body, p.id, std::move(cells), true);
  }
  std::vector<BodyOrder> out;
  for (auto& [body, b] : by_body) {
    b.order = assembly::order_of(b.units);
    out.push_back(std::move(b));
  }
  return out;
}

}  // namespace design
