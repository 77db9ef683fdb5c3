#include "gearing/tooth.h"

#include <array>
#include <numbers>

#include "base/check.h"

namespace gearing {
namespace {

struct Row {
  int teeth;
  double y;
};
constexpr std::array kRows = {
    Row{10, .201}, Row{11, .226}, Row{12, .245},  Row{13, .261},  Row{14, .277},  Row{15, .290}, Row{16, .296},
    Row{17, .303}, Row{18, .309}, Row{19, .314},  Row{20, .322},  Row{21, .328},  Row{22, .331}, Row{24, .337},
    Row{26, .346}, Row{28, .353}, Row{30, .359},  Row{34, .371},  Row{38, .384},  Row{43, .397}, Row{50, .409},
    Row{60, .422}, Row{75, .435}, Row{100, .447}, Row{150, .460}, Row{300, .472},
};
constexpr double kRackY = .485;

}  // namespace

double lewis_form_factor(int teeth) {
  KW_CHECK(teeth >= kFewestTeeth, "form factor of fewer than 7 teeth");
  if (teeth < kRows.front().teeth) return std::numbers::pi * (0.154 - 0.912 / teeth);
  for (std::size_t i = 1; i < kRows.size(); ++i) {
    if (teeth > kRows[i].teeth) continue;
    const Row& a = kRows[i - 1];
    const Row& b = kRows[i];
    return a.y + (b.y - a.y) * (teeth - a.teeth) / (b.teeth - a.teeth);
  }
  // Beyond the last row towards the rack, linear in 1 / z (the rack is z = infinity).
  const Row& last = kRows.back();
  return kRackY - (kRackY - last.y) * last.teeth / teeth;
}

double lewis_form_factor_rack() {
  return kRackY;
}

double tooth_load_n(double stress_mpa, double face_mm, double module_mm, double form_factor) {
  return stress_mpa * face_mm * module_mm * form_factor;
}

double barth_factor(double pitch_line_m_s) {
  return (6.1 + pitch_line_m_s) / 6.1;
}

double barth_factor_customary(double pitch_line_ft_min) {
  return (1200 + pitch_line_ft_min) / 1200;
}

double tooth_torque_nmm(double load_n, int teeth, double module_mm) {
  return load_n * module_mm * teeth / 2;
}

ToothLimits nominal_limits(const stock::CraftFigures& craft) {
  return {craft.tooth_stress_mpa.value.nominal, craft.bevel_support.value.nominal, craft.crown_support.value.nominal};
}

}  // namespace gearing
