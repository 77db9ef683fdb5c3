// Covers design/proposal_cache: what a proposal depends on is in its key, what it cannot depend on is not; what was
// used last is kept; and a design from kept proposals is the design.
#include "design/proposal_cache.h"

#include <gtest/gtest.h>

#include "design/read.h"
#include "document/toml_edit.h"
#include "document/toml_reader.h"

namespace {

const std::string kProject = std::string(KW_SOURCE_DIR) + "/examples/tow_tractor";

std::string text_of_project(const std::string& project = kProject) {
  document::Diagnostics d;
  return document::read_text_file(project + "/project.toml", document::kMostTomlBytes, d).value_or("");
}

std::string changed(const std::string& text, const std::string& at, document::Node value) {
  document::Diagnostics d;
  const auto out = document::edit_toml(text, "", {{document::Edit::Op::set, at, std::move(value)}}, d);
  EXPECT_TRUE(out) << at;
  return out.value_or(text);
}

document::Node number(int value) {
  document::Node n;
  n.kind = document::Node::Kind::integer;
  n.integer = value;
  return n;
}

document::Node word(std::string text) {
  document::Node n;
  n.kind = document::Node::Kind::text;
  n.text = std::move(text);
  return n;
}

std::vector<std::string> keys_of(const std::string& text, design::ProposalCache& cache,
                                 const std::string& project = kProject) {
  design::Options options;
  options.project = project;
  options.text = text;
  options.cache = &cache;
  document::Diagnostics d;
  const auto brief = design::read_brief(options, d);
  for (const auto& problem : d.sorted()) EXPECT_EQ(problem.severity, document::Severity::warning) << text_of(problem);
  return brief ? design::proposal_keys(options, *brief) : std::vector<std::string>{};
}

TEST(ProposalCache, AKeyHoldsWhatTheProposalDependsOn) {
  design::ProposalCache cache;
  const std::string text = text_of_project();
  const auto before = keys_of(text, cache);
  ASSERT_GE(before.size(), 2U);
  for (std::size_t i = 0; i < before.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) EXPECT_NE(before[i], before[j]);
  }
  for (const auto& [at, value] :
       std::vector<std::pair<std::string, document::Node>>{{"/limits/mass_g", number(4321)},
                                                           {"/functions/1/lock", word("x")},
                                                           {"/functions/0/duty", number(1)},
                                                           {"/project/name", word("Another")},
                                                           {"/functions/1/priority", word("wished")}}) {
    EXPECT_EQ(keys_of(changed(text, at, value), cache), before) << at;
  }
  const auto other_wants = keys_of(changed(text, "/functions/1/wants/time_s", number(4)), cache);
  EXPECT_EQ(other_wants[0], before[0]);
  EXPECT_NE(other_wants[1], before[1]);
  for (const auto& [at, value] : std::vector<std::pair<std::string, document::Node>>{
           {"/project/seed", number(77)}, {"/bodies/0/mass_g", number(1234)}, {"/functions/1/sides", number(2)}}) {
    const auto after = keys_of(changed(text, at, value), cache);
    for (std::size_t i = 0; i < after.size(); ++i) EXPECT_NE(after[i], before[i]) << at;
  }
  design::Options none;
  none.project = kProject;
  document::Diagnostics d;
  EXPECT_TRUE(design::proposal_keys(none, *design::read_brief(none, d)).empty());
}

// A boom carries what the stick at its end raises: another load there is another boom.
TEST(ProposalCache, AStageOfABoomDependsOnTheOthers) {
  design::ProposalCache cache;
  const std::string project = std::string(KW_SOURCE_DIR) + "/examples/quay_rig";
  const std::string text = text_of_project(project);
  const auto before = keys_of(text, cache, project);
  document::Diagnostics d;
  const auto root = document::parse_toml(text, "", d);
  ASSERT_TRUE(root);
  const auto& functions = root->find("functions")->items;
  ASSERT_EQ(before.size(), functions.size());
  std::vector<std::size_t> luffs;
  for (std::size_t i = 0; i < functions.size(); ++i) {
    if (functions[i].find("kind")->text == "luff") luffs.push_back(i);
  }
  ASSERT_EQ(luffs.size(), 2U);
  const auto after =
      keys_of(changed(text, "/functions/" + std::to_string(luffs[1]) + "/wants/load_g", number(40)), cache, project);
  for (std::size_t i = 0; i < before.size(); ++i) {
    EXPECT_EQ(after[i] != before[i], i == luffs[0] || i == luffs[1]) << i;
  }
}

TEST(ProposalCache, WhatWasLearntAndTheSizeAreInEveryKey) {
  design::ProposalCache cache;
  design::Options options;
  options.project = kProject;
  options.text = text_of_project();
  options.cache = &cache;
  document::Diagnostics d;
  const auto brief = design::read_brief(options, d);
  ASSERT_TRUE(brief);
  const auto before = design::proposal_keys(options, *brief);
  brief::Brief learnt = *brief;
  learnt.parameters.figure[0].value.nominal *= 1.01;
  brief::Brief weighed = *brief;
  weighed.bodies[0].mass_g.high += 1;
  design::Options larger = options;
  larger.size_factor = 1.1;
  for (std::size_t i = 0; i < before.size(); ++i) {
    EXPECT_NE(design::proposal_keys(options, learnt)[i], before[i]);
    EXPECT_NE(design::proposal_keys(options, weighed)[i], before[i]);
    EXPECT_NE(design::proposal_keys(larger, *brief)[i], before[i]);
  }
}

TEST(ProposalCache, KeepsWhatWasUsedLast) {
  design::ProposalCache cache(2);
  cache.keep("a", {});
  cache.keep("b", {});
  EXPECT_NE(cache.find("a"), nullptr);
  cache.keep("c", {});
  EXPECT_NE(cache.find("a"), nullptr);
  EXPECT_EQ(cache.find("b"), nullptr);
  EXPECT_NE(cache.find("c"), nullptr);
  cache.make_room(1);  // three
  cache.keep("d", {});
  EXPECT_NE(cache.find("a"), nullptr);
  EXPECT_NE(cache.find("c"), nullptr);
  cache.keep("e", {});
  EXPECT_EQ(cache.find("d"), nullptr);
}

}  // namespace
