#include "brief/brief.h"

#include "base/check.h"
#include "project/parameter_names.h"

namespace brief {

static_assert(kParameterCount == static_cast<int>(project::kParameterNames),
              "every Parameter has one line in project/parameter_names.cpp, in the same order");

std::string_view name_of(Parameter p) {
  KW_CHECK(p < Parameter::count_, "no parameter " + std::to_string(static_cast<int>(p)));
  return project::parameter_names()[static_cast<std::size_t>(p)].name;
}

Sample Parameters::nominal() const {
  Sample out;
  for (std::size_t i = 0; i < figure.size(); ++i) out.value[i] = figure[i].value.nominal;
  return out;
}

Sample Parameters::draw(std::uint64_t seed, std::uint64_t k) const {
  Sample out;
  for (std::size_t i = 0; i < figure.size(); ++i) {
    const std::uint64_t stream = base::stream_of(project::parameter_names()[i].name);
    out.value[i] = base::triangular_draw(figure[i].value, base::uniform_draw(seed, stream, k));
  }
  return out;
}

double Brief::total_mass_g() const {
  double sum = 0;
  for (const Body& b : bodies) sum += b.mass_g.nominal;
  return sum;
}

}  // namespace brief
