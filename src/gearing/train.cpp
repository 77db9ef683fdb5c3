#include "gearing/train.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/check.h"

namespace gearing {

using base::Rational;

Rational Train::ratio() const {
  Rational r(1);
  for (const Stage& s : stages) r = r * s.ratio;
  return r;
}

double Train::reduction() const {
  return ratio().abs().inverse().value();
}

bool Train::over_idler(std::size_t stage) const {
  return std::binary_search(idlers.begin(), idlers.end(), stage);
}

std::vector<GearUse> Train::needs(int copies) const {
  std::vector<GearUse> uses;
  uses.reserve(2 * stages.size());
  for (std::size_t i = 0; i < stages.size(); ++i) {
    if (!over_idler(i)) uses.push_back({stages[i].driver, copies});
    uses.push_back({stages[i].driven, copies});
  }
  std::sort(uses.begin(), uses.end(), [](const GearUse& a, const GearUse& b) { return a.part < b.part; });
  std::size_t kept = 0;
  for (std::size_t i = 0; i < uses.size(); ++i) {
    if (kept > 0 && uses[kept - 1].part == uses[i].part) {
      uses[kept - 1].count += uses[i].count;
    } else {
      uses[kept++] = uses[i];
    }
  }
  uses.resize(kept);
  return uses;
}

double Train::worst_misfit_mm() const {
  double worst = 0;
  for (const Stage& s : stages) worst = std::max(worst, s.misfit_mm);
  return worst;
}

int Train::right_angles() const {
  return static_cast<int>(
      std::count_if(stages.begin(), stages.end(), [](const Stage& s) { return right_angle(s.type); }));
}

bool Train::has(MeshType type) const {
  return std::any_of(stages.begin(), stages.end(), [type](const Stage& s) { return s.type == type; });
}

std::string Train::text() const {
  if (stages.empty()) return "direct";
  std::string out;
  for (std::size_t i = 0; i < stages.size(); ++i) {
    const Stage& s = stages[i];
    if (over_idler(i)) {
      out += fmt::format(":{}", s.driven_teeth);
    } else {
      if (!out.empty()) out += ", ";
      if (right_angle(s.type)) {
        out += name_of(s.type);
        out += ' ';
      }
      out += fmt::format("{}:{}", s.driver_teeth, s.driven_teeth);
    }
    if (s.type == MeshType::ring_outer) out += " ring outside";
    if (s.type == MeshType::ring_inner) out += " ring inside";
  }
  return out;
}

std::string Train::key(const stock::Catalogue& catalogue) const {
  if (stages.empty()) return "direct";
  std::string out;
  for (std::size_t i = 0; i < stages.size(); ++i) {
    const Stage& s = stages[i];
    if (over_idler(i)) {
      out += fmt::format(">{}", catalogue.at(s.driven).id);
    } else {
      if (!out.empty()) out += ',';
      out += fmt::format("{}>{}", catalogue.at(s.driver).id, catalogue.at(s.driven).id);
    }
    if (s.type != MeshType::spur) out += fmt::format(":{}", name_of(s.type));
  }
  return out;
}

Train Train::of(const MeshTable& table, std::span<const int> mesh_indices) {
  Train train;
  train.stages.reserve(mesh_indices.size());
  for (const int i : mesh_indices) train.stages.push_back(table.meshes.at(static_cast<std::size_t>(i)));
  return train;
}

std::optional<Train> Train::without_idlers(const MeshTable& table) const {
  Train out;
  for (std::size_t i = 0; i < stages.size();) {
    std::size_t last = i;
    while (last + 1 < stages.size() && over_idler(last + 1)) ++last;
    const int mesh = table.find(stages[i].driver, stages[last].driven, stages[last].type);
    if (mesh < 0) return std::nullopt;
    out.stages.push_back(table.meshes[static_cast<std::size_t>(mesh)]);
    i = last + 1;
  }
  return out;
}

Rational train_ratio(std::span<const TeethPair> stages) {
  Rational r(1);
  for (const TeethPair& s : stages) r = r * mesh_ratio(s.type, s.driver, s.driven);
  return r;
}

Rational row_ratio(std::span<const int> teeth) {
  KW_CHECK(!teeth.empty(), "row of gears");
  Rational r(1);
  for (std::size_t i = 1; i < teeth.size(); ++i) r = r * mesh_ratio(MeshType::spur, teeth[i - 1], teeth[i]);
  return r;
}

std::optional<RevertedTrain> smallest_reverted_train(Rational reduction1, Rational reduction2, int fewest1, int fewest2,
                                                     int most_driver_teeth) {
  KW_CHECK(reduction1 >= Rational(1) && reduction2 >= Rational(1), "reductions of a reverted train");
  // One driver fixes the train: z3 = z1 (1 + i1) / (1 + i2), so the first z1 that makes all four whole is smallest.
  const Rational one(1);
  for (int z1 = std::max(1, fewest1); z1 <= most_driver_teeth; ++z1) {
    const Rational z2 = reduction1 * Rational(z1);
    const Rational z3 = Rational(z1) * (one + reduction1) / (one + reduction2);
    const Rational z4 = z3 * reduction2;
    if (z2.den() != 1 || z3.den() != 1 || z4.den() != 1 || z3 < Rational(fewest2)) continue;
    if (z3 > Rational(most_driver_teeth)) break;
    return RevertedTrain{z1, static_cast<int>(z2.num()), static_cast<int>(z3.num()), static_cast<int>(z4.num())};
  }
  return std::nullopt;
}

WholeTeethPair nearest_whole_teeth(Rational reduction, double circular_pitch_mm, double about_mm) {
  KW_CHECK(reduction > Rational(0) && circular_pitch_mm > 0 && about_mm > 0, "pair of whole teeth");
  // Teeth come in multiples of the reduction's lowest terms; one multiple moves the shafts by `step`.
  const double step_mm =
      circular_pitch_mm * static_cast<double>(reduction.num() + reduction.den()) / (2 * std::numbers::pi);
  const double below = std::max(1.0, std::floor(about_mm / step_mm));
  const auto off = [&](double k) { return std::fabs(k * step_mm - about_mm); };
  const int k = static_cast<int>(off(below) <= off(below + 1) ? below : below + 1);
  WholeTeethPair p;
  p.driver = k * static_cast<int>(reduction.den());
  p.driven = k * static_cast<int>(reduction.num());
  p.driver_diameter_mm = p.driver * circular_pitch_mm / std::numbers::pi;
  p.driven_diameter_mm = p.driven * circular_pitch_mm / std::numbers::pi;
  p.distance_mm = (p.driver_diameter_mm + p.driven_diameter_mm) / 2;
  return p;
}

}  // namespace gearing
