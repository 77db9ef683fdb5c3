#include <nlohmann/json.hpp>

#include "report/json.h"
#include "serve/json.h"

namespace serve {

using Json = nlohmann::ordered_json;

Json problems_json(const document::Diagnostics& diagnostics) {
  Json out = report::json_of(diagnostics);
  for (Json& p : out) {
    p["at"] = std::move(p["path"]);
    p.erase("path");
  }
  return out;
}

}  // namespace serve
