// Reads the instance format of generate_instances.py ("allocation-1"). Test and benchmark code only.
#pragma once

#include <fstream>
#include <nlohmann/json.hpp>
#include <stdexcept>
#include <string>

#include "allocation/problem.h"

namespace allocation::test {

inline Problem parse_instance(const nlohmann::json& j) {
  Problem p;
  for (const auto& part : j.at("parts")) p.parts.push_back({part.at("name"), part.at("stock")});
  for (const auto& cls : j.at("classes")) p.classes.push_back({cls.at("name"), cls.at("parts")});
  const char* budgets[] = {"ports", "mass", "current"};
  for (const char* name : budgets) p.budgets.push_back({name, j.at("budgets").at(name).get<std::int64_t>()});
  for (const auto& function : j.at("functions")) {
    Function f;
    f.name = function.at("name");
    for (const auto& candidate : function.at("candidates")) {
      Candidate c;
      c.margin = candidate.at("margin");
      for (const char* name : budgets) c.use.push_back(candidate.at(name).get<std::int64_t>());
      for (const auto& need : candidate.at("needs")) c.needs.push_back({need.at(0), need.at(1)});
      f.candidates.push_back(std::move(c));
    }
    if (const auto& skip = function.at("skip"); !skip.is_null()) {
      f.skip = Skip{skip.at("margin"), skip.at("penalty").get<std::int64_t>(), 0};
    }
    p.functions.push_back(std::move(f));
  }
  return p;
}

inline Problem read_instance(const std::string& path) {
  std::ifstream in(path);
  if (!in) throw std::runtime_error("cannot read " + path);
  return parse_instance(nlohmann::json::parse(in));
}

}  // namespace allocation::test
