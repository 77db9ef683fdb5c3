#include "dossier/parts.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <map>
#include <nlohmann/json.hpp>
#include <set>

#include "document/toml_reader.h"
#include "report/json.h"

namespace dossier {
namespace {

namespace fs = std::filesystem;
using Json = nlohmann::ordered_json;
using document::Diagnostics;

constexpr const char* kFormat = "kitwright.parts";
constexpr int kVersion = 1;
constexpr std::size_t kMostBytes = 50'000'000;  // of a dossier's page; an usual one has one or two million

std::string label_of(const std::vector<stock::ClassId>& accepts, const stock::Catalogue& catalogue) {
  std::vector<std::string> names;
  for (const stock::ClassId id : accepts) names.push_back(catalogue.at(id).name);
  std::string out;
  for (std::size_t i = 0; i < names.size(); ++i) out += (i == 0 ? "" : " / ") + names[i];
  return out;
}

std::vector<std::string> ids_of(const std::vector<stock::ClassId>& accepts, const std::set<stock::ClassId>& taken,
                                const stock::Catalogue& catalogue) {
  std::vector<std::string> first, others;
  for (const stock::ClassId id : accepts) (taken.contains(id) ? first : others).push_back(catalogue.at(id).id);
  first.insert(first.end(), others.begin(), others.end());
  return first;
}

}  // namespace

PartsList parts_list(const design::Result& r, const std::string& hash) {
  const brief::Brief& b = *r.brief;
  PartsList out{b.name, hash, b.system().id, {}};
  std::map<int, std::set<stock::ClassId>> taken;  // by function
  for (const assessment::Taken& t : r.allocated->taken) taken[t.function].insert(b.stock->types[t.type].part);
  for (std::size_t f = 0; f < r.functions.size(); ++f) {
    const candidate::Candidate* c = r.chosen(f);
    if (c == nullptr) continue;
    for (const candidate::Need& n : c->demand.needs)
      out.needs.push_back({ids_of(n.accepts, taken[static_cast<int>(f)], *b.catalogue), n.count, n.label,
                           r.functions[f].id, n.role, false, ""});
  }
  for (const brief::Reserve& n : b.reserves)
    out.needs.push_back({ids_of(n.accepts, taken[-1], *b.catalogue), n.count, label_of(n.accepts, *b.catalogue),
                         n.reason.empty() ? "kept back" : n.reason, "", !n.colour.empty(), n.colour});
  for (const stock::ClassId hub : b.supply.hubs)
    out.needs.push_back({{b.catalogue->at(hub).id}, 1, b.catalogue->at(hub).name, "power supply", "", false, ""});
  if (r.assessed) {
    for (const assessment::PortUse& u : r.assessed->power.ports) {
      if (stock::index(u.cable) < 0) continue;
      out.needs.push_back(
          {{b.catalogue->at(u.cable).id}, 1, b.catalogue->at(u.cable).name, u.function, "longer lead", false, ""});
    }
  }
  return out;
}

std::string parts_json(const PartsList& list) {
  Json needs = Json::array();
  for (const PartNeed& n : list.needs) {
    Json j{{"use", n.use}, {"role", n.role}, {"count", n.count}, {"label", n.label}, {"accepts", n.accepts}};
    if (n.looks) j["colour"] = n.colour;
    needs.push_back(std::move(j));
  }
  return report::dumped({{"format", kFormat},
                         {"version", kVersion},
                         {"project", list.project},
                         {"hash", list.hash},
                         {"kit_system", list.system},
                         {"needs", std::move(needs)}});
}

std::string parts_csv(const PartsList& list) {
  const auto quoted = [](const std::string& text) {
    std::string q = "\"";
    for (const char c : text) q += c == '"' ? std::string("\"\"") : std::string(1, c);
    return q + "\"";
  };
  std::string out = "use,role,count,part,accepts\n";
  for (const PartNeed& n : list.needs) {
    std::string accepts;
    for (const std::string& id : n.accepts) accepts += (accepts.empty() ? "" : " ") + id;
    out += fmt::format("{},{},{},{},{}\n", quoted(n.use), quoted(n.role), n.count, quoted(n.label), quoted(accepts));
  }
  return out;
}

std::optional<PartsList> read_parts(const std::string& path, Diagnostics& d) {
  std::string file = path;
  std::error_code failed;
  if (fs::is_directory(path, failed)) {
    file = (fs::path(path) / "parts.json").string();
    if (!fs::exists(file, failed)) file = (fs::path(path) / "dossier.html").string();
  }
  auto text = document::read_text_file(file, kMostBytes, d);
  if (!text) return std::nullopt;
  if (fs::path(file).extension() == ".html" || text->starts_with("<!doctype")) {
    constexpr std::string_view kOpen = "<script type=\"application/json\" id=\"parts\">";
    const std::size_t at = text->find(kOpen), end = at == std::string::npos ? at : text->find("</script>", at);
    if (end == std::string::npos) {
      d.error("dossier.no_parts", {file, 0, 0}, "", "this page holds no list of parts",
              "name a dossier made with \"kitwright dossier\", or its parts.json");
      return std::nullopt;
    }
    *text = text->substr(at + kOpen.size(), end - at - kOpen.size());
  }
  const Json j = Json::parse(*text, nullptr, false);
  const auto broken = [&](const std::string& what) {
    d.error("dossier.bad_parts", {file, 0, 0}, "", "this is no list of parts of a dossier: " + what,
            "name the folder of a dossier, its parts.json or its dossier.html");
    return std::nullopt;
  };
  if (!j.is_object() || j.value("format", Json()) != kFormat)
    return broken("its format is not " + std::string(kFormat));
  if (j.value("version", Json()) != kVersion) return broken("it is of another version of the program");
  const auto word = [](const Json& o, const char* key) -> std::optional<std::string> {
    const auto it = o.find(key);
    return it != o.end() && it->is_string() ? std::optional(it->get<std::string>()) : std::nullopt;
  };
  PartsList out;
  const auto project = word(j, "project"), hash = word(j, "hash"), system = word(j, "kit_system");
  if (!project || !hash || !system) return broken("\"project\", \"hash\" or \"kit_system\" is missing");
  out.project = *project;
  out.hash = *hash;
  out.system = *system;
  if (!j.contains("needs") || !j["needs"].is_array()) return broken("\"needs\" is missing");
  for (const Json& n : j["needs"]) {
    const std::string where = fmt::format("/needs/{}", out.needs.size());
    if (!n.is_object()) return broken(where + " is not a table");
    const auto use = word(n, "use"), role = word(n, "role"), label = word(n, "label");
    const auto count = n.find("count"), accepts = n.find("accepts");
    if (!use || !role || !label || count == n.end() || !count->is_number_integer() || accepts == n.end() ||
        !accepts->is_array() || accepts->empty())
      return broken(where + " lacks one of \"use\", \"role\", \"label\", \"count\", \"accepts\"");
    const auto pieces = count->get<std::int64_t>();
    if (pieces < 0 || pieces > 1'000'000) return broken(where + "/count is not between 0 and 1000000");
    PartNeed need{{}, static_cast<int>(pieces), *label, *use, *role, false, ""};
    for (const Json& id : *accepts) {
      if (!id.is_string()) return broken(where + "/accepts holds something that is no text");
      need.accepts.push_back(id.get<std::string>());
    }
    if (const auto colour = word(n, "colour")) {
      need.looks = true;
      need.colour = *colour;
    }
    out.needs.push_back(std::move(need));
  }
  return out;
}

StockCheck check_stock(const PartsList& list, const stock::Catalogue& catalogue, const stock::Stock& stock) {
  StockCheck out;
  const std::size_t n = list.needs.size();
  std::vector<std::string> classes;
  std::map<std::string, std::size_t> number;
  std::vector<int> free;  // pieces of each class that nobody has taken
  std::vector<std::vector<std::size_t>> accepts(n);
  for (std::size_t i = 0; i < n; ++i) {
    out.needed += list.needs[i].count;
    for (const std::string& id : list.needs[i].accepts) {
      const auto [it, fresh] = number.emplace(id, classes.size());
      if (fresh) {
        classes.push_back(id);
        const auto known = catalogue.find(id);
        free.push_back(known ? stock.count_of(*known) : 0);
        if (!known) out.unknown.push_back(id);
      }
      accepts[i].push_back(it->second);
    }
  }
  // given[i][k]: pieces of class k that need i has.
  std::vector<std::vector<int>> given(n, std::vector<int>(classes.size(), 0));
  std::vector<int> missing(n, 0);
  for (std::size_t i = 0; i < n; ++i) {
    int wanted = list.needs[i].count;
    while (wanted > 0) {
      // Breadth first from need i over classes to other needs that could take something else, to a class with a piece.
      std::vector<int> by_need(classes.size(), -1);  // need from which the class was reached
      std::vector<int> by_class(n, -1);              // class from which the need was reached
      std::vector<std::size_t> queue{i};
      std::size_t end = classes.size();
      for (std::size_t q = 0; q < queue.size() && end == classes.size(); ++q) {
        for (const std::size_t k : accepts[queue[q]]) {
          if (by_need[k] >= 0) continue;
          by_need[k] = static_cast<int>(queue[q]);
          if (free[k] > 0) {
            end = k;
            break;
          }
          for (std::size_t o = 0; o < n; ++o) {
            if (o == i || by_class[o] >= 0 || given[o][k] == 0) continue;
            by_class[o] = static_cast<int>(k);
            queue.push_back(o);
          }
        }
      }
      if (end == classes.size()) break;
      // As many pieces at once as the narrowest place of the path lets through.
      int pieces = std::min(wanted, free[end]);
      for (auto need = static_cast<std::size_t>(by_need[end]); need != i;) {
        const auto k = static_cast<std::size_t>(by_class[need]);
        pieces = std::min(pieces, given[need][k]);
        need = static_cast<std::size_t>(by_need[k]);
      }
      free[end] -= pieces;
      wanted -= pieces;
      for (std::size_t k = end;;) {
        const auto need = static_cast<std::size_t>(by_need[k]);
        given[need][k] += pieces;
        if (need == i) break;
        k = static_cast<std::size_t>(by_class[need]);
        given[need][k] -= pieces;
      }
    }
    missing[i] = wanted;
  }
  std::map<std::string, int> to_get;
  for (std::size_t i = 0; i < n; ++i) {
    if (missing[i] == 0) continue;
    out.lacks.push_back({i, missing[i]});
    out.missing += missing[i];
    to_get[list.needs[i].accepts.front()] += missing[i];
  }
  out.to_get.assign(to_get.begin(), to_get.end());
  return out;
}

std::string check_text(const StockCheck& check, const PartsList& list, const stock::Catalogue& catalogue,
                       const report::TextOptions& o) {
  using report::Table;
  using report::Tint;
  std::string out = report::tinted(list.project, Tint::strong, o) + "\n";
  if (check.missing == 0) {
    out += report::paragraph("  ", fmt::format("This stock has all {} parts.", check.needed), o);
  } else {
    out += report::paragraph("  ",
                             fmt::format("This stock lacks {} of {} parts, whatever is put where; colours are not "
                                         "looked at.",
                                         check.missing, check.needed),
                             o);
    Table t;
    t.column("missing", Table::Align::right);
    t.column("of", Table::Align::right);
    t.column("part", Table::Align::left, true);
    t.column("for");
    t.column("place");
    for (const Lack& l : check.lacks) {
      const PartNeed& n = list.needs[l.need];
      t.row({std::to_string(l.missing), std::to_string(n.count), n.label, n.use, n.role}, Tint::bad);
    }
    out += report::heading("Missing", o) + t.str(o);
    Table g;
    g.column("pieces", Table::Align::right);
    g.column("part", Table::Align::left, true);
    for (const auto& [id, pieces] : check.to_get) {
      const auto known = catalogue.find(id);
      g.row({std::to_string(pieces), known ? catalogue.at(*known).name : id});
    }
    out += report::heading("With these it is complete", o) + g.str(o);
  }
  for (const std::string& id : check.unknown)
    out += report::paragraph("  ", fmt::format("The catalogue has no part class \"{}\"; it counts as missing.", id), o);
  return out;
}

Json check_json(const StockCheck& check, const PartsList& list, const stock::ImportResult& imported,
                const Diagnostics& diagnostics) {
  Json lacks = Json::array(), to_get = Json::array();
  for (const Lack& l : check.lacks) {
    const PartNeed& n = list.needs[l.need];
    lacks.push_back({{"missing", l.missing},
                     {"count", n.count},
                     {"label", n.label},
                     {"use", n.use},
                     {"role", n.role},
                     {"accepts", n.accepts}});
  }
  for (const auto& [id, pieces] : check.to_get) to_get.push_back({{"part", id}, {"count", pieces}});
  return {{"format", "kitwright.stock_check"},
          {"version", report::kFormatVersion},
          {"status", diagnostics.has_errors() ? "bad_input"
                     : check.missing == 0     ? "complete"
                                              : "lacking"},
          {"diagnostics", report::json_of(diagnostics)},
          {"project", list.project},
          {"hash", list.hash},
          {"stock_file", imported.stock.file},
          {"needed", check.needed},
          {"missing", check.missing},
          {"lacks", std::move(lacks)},
          {"to_get", std::move(to_get)},
          {"unknown", check.unknown}};
}

}  // namespace dossier
