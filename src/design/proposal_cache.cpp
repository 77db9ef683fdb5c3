#include "design/proposal_cache.h"

#include <fmt/format.h>

#include <algorithm>
#include <initializer_list>

#include "design/read_cache.h"
#include "document/toml_edit.h"
#include "document/toml_reader.h"

namespace design {
namespace {

bool is_one_of(const std::string& key, std::initializer_list<const char*> names) {
  return std::any_of(names.begin(), names.end(), [&](const char* name) { return key == name; });
}

/// Takes away what seen_by_kinds() in run.cpp hides from the kinds.
void hide_the_unseen(document::Node& root) {
  const auto hide = [](document::Node& table, std::initializer_list<const char*> names) {
    std::erase_if(table.entries, [&](const document::Entry& e) { return is_one_of(e.key, names); });
  };
  hide(root, {"limits", "reserves", "zones"});
  for (document::Entry& e : root.entries) {
    if (e.key == "project") hide(e.value, {"name", "description"});
    if (e.key != "functions") continue;
    for (document::Node& f : e.value.items) hide(f, {"wants", "lock", "priority", "weight", "duty"});
  }
}

}  // namespace

std::shared_ptr<const candidate::Proposal> ProposalCache::find(const std::string& key) {
  const std::lock_guard lock(mutex_);
  const auto at = std::find_if(kept_.begin(), kept_.end(), [&](const Kept& k) { return k.key == key; });
  if (at == kept_.end()) return nullptr;
  kept_.splice(kept_.begin(), kept_, at);
  return at->proposal;
}

void ProposalCache::make_room(std::size_t functions) {
  const std::lock_guard lock(mutex_);
  most_ = std::max(most_, 3 * functions);
}

void ProposalCache::keep(const std::string& key, candidate::Proposal proposal) {
  auto shared = std::make_shared<const candidate::Proposal>(std::move(proposal));
  const std::lock_guard lock(mutex_);
  std::erase_if(kept_, [&](const Kept& k) { return k.key == key; });
  kept_.push_front({key, std::move(shared)});
  while (kept_.size() > most_) kept_.pop_back();
}

std::vector<std::string> proposal_keys(const Options& options, const brief::Brief& brief) {
  if (options.cache == nullptr || !options.text) return {};
  document::Diagnostics silent;
  auto root = document::parse_toml(*options.text, "", silent);
  if (!root) return {};
  const document::Node* list = root->find("functions");
  const std::vector<document::Node> functions = list != nullptr ? list->items : std::vector<document::Node>{};
  if (functions.size() != brief.functions.size()) return {};
  hide_the_unseen(*root);
  std::string common = document::toml_text(*root) + "\n" + options.project + "\n" +
                       catalogue_state(brief.system().id, options.catalogue) + "\n";
  // What bench tests taught and the size of a scale study do not stand in the text.
  const auto add = [&](const base::Triple& t) { common += fmt::format("{} {} {}\n", t.low, t.nominal, t.high); };
  common += fmt::format("{}\n", options.size_factor);
  for (const stock::Figure& f : brief.parameters.figure) add(f.value);
  for (const brief::Body& b : brief.bodies) add(b.mass_g);
  for (const stock::StockType& t : brief.stock->types) {
    common += brief.catalogue->at(t.part).id + "\t" + t.colour + "\t" + std::to_string(t.count) + "\n";
  }
  std::vector<std::string> out;
  for (std::size_t i = 0; i < functions.size(); ++i) {
    std::string key = common + brief.functions[i].id + "\n";
    for (std::size_t j = 0; j < functions.size(); ++j) {
      if (brief.functions[j].kind != brief.functions[i].kind) continue;
      const document::Node* wants = functions[j].find("wants");
      key += wants != nullptr ? document::toml_text(*wants) + "\n" : "\n";
    }
    out.push_back(std::move(key));
  }
  return out;
}

}  // namespace design
