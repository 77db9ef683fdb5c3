// Covers the dossier over the wire: what it holds and its files are those of the command; languages; why there is none;
// the work ends when the caller goes or another one is asked for, and holds up nobody meanwhile.
#include <gtest/gtest.h>
#include <sys/socket.h>

#include <atomic>
#include <chrono>
#include <thread>

#include "serve/packs.h"
#include "serve/test_client.h"

using namespace serve::testing;
using nlohmann::json;

namespace {

using Clock = std::chrono::steady_clock;

class DossierTest : public ::testing::Test {
 protected:
  void serve_copy(const std::string& example) {
    project = copy_of(example, folder);
    serve::Settings settings;
    settings.project = project;
    settings.version = "test";
    server = std::make_unique<serve::Server>(settings);
    document::Diagnostics d;
    ASSERT_TRUE(server->start(d));
    client = std::make_unique<TestClient>(*server);
  }

  TemporaryFolder folder;
  std::string project;
  std::unique_ptr<serve::Server> server;
  std::unique_ptr<TestClient> client;
};

dossier::Texts texts(const std::string& language) {
  document::Diagnostics d;
  auto out = dossier::load_texts(language, "", d);
  EXPECT_TRUE(out.has_value());
  return out.value_or(dossier::Texts());
}

TEST_F(DossierTest, IsTheOneTheCommandWrites) {
  serve_copy("bascule_bridge");
  const json languages = client->get("/api/dossier/languages").json();
  EXPECT_EQ(schema_problems("Languages", languages), "");
  EXPECT_EQ(languages.at("languages").size(), 3u);
  EXPECT_EQ(languages.at("languages").at(0).at("name"), "Deutsch");
  client->design_of(1);

  const Answer told = client->get("/api/dossier?language=de");
  ASSERT_EQ(told.status, 200) << told.body;
  EXPECT_EQ(schema_problems("Dossier", told.json()), "");
  design::Options options;
  options.project = project;
  const design::Result r = design::run(options);
  dossier::Options how;
  how.version = "test";
  const std::vector<dossier::File> files = dossier::write_dossier(r, texts("de"), how);
  ASSERT_EQ(told.json().at("files").size(), files.size());
  for (std::size_t i = 0; i < files.size(); ++i) {
    EXPECT_EQ(told.json().at("files").at(i).at("name"), files[i].name);
    EXPECT_EQ(told.json().at("files").at(i).at("bytes"), files[i].bytes.size());
  }
  for (const char* name :
       {"dossier.html", "dossier_a4.pdf", "dossier_letter.pdf", "parts.csv", "figures/overview.svg"}) {
    const Answer a = client->get(std::string("/api/dossier/files/") + name + "?language=de");
    ASSERT_EQ(a.status, 200) << name;
    const auto same = std::find_if(files.begin(), files.end(), [&](const auto& f) { return f.name == name; });
    EXPECT_TRUE(same != files.end() && a.body == same->bytes) << name;
  }
  EXPECT_GT(told.json().at("pages").at("a4"), 5);
  EXPECT_GT(told.json().at("chapters").size(), 8u);

  EXPECT_EQ(client->get("/api/dossier?language=xx").status, 422);
  EXPECT_EQ(client->get("/api/dossier?language=../de").status, 422);
  EXPECT_EQ(client->get("/api/dossier/files/nothing.pdf").status, 404);
  EXPECT_EQ(client->get("/api/dossier/files/..%2Fproject.toml").status, 404);

  // One who works on nothing: no dossier, but the reason.
  const Answer edited = client->set(1, "/limits/mass_g", 1);
  ASSERT_EQ(edited.status, 200) << edited.body;
  const json design = client->design_of(edited.json().at("revision")).at("design");
  if (design.at("status") == "infeasible") {
    const Answer none = client->get("/api/dossier");
    EXPECT_EQ(none.status, 409);
    EXPECT_EQ(schema_problems("Refusal", none.json()), "");
    EXPECT_FALSE(none.json().at("problem").at("detail").get<std::string>().empty());
  }
}

/// A design that any number of packs can be made of.
serve::Computed computed() {
  static const serve::Computed once = [] {
    design::Options options;
    options.project = KW_SOURCE_DIR "/examples/bascule_bridge";
    serve::Computed out;
    out.revision = 1;
    out.result = std::make_shared<const design::Result>(design::run(options));
    out.text = std::make_shared<const std::string>("text");
    return out;
  }();
  return once;
}

TEST(Packs, EndWhenTheCallerHasGone) {
  serve::Packs packs;
  int asked = 0;
  EXPECT_EQ(packs.pack(computed(), texts("en"), "test", [&] { return ++asked > 3; }), nullptr);
  EXPECT_EQ(asked, 4) << "worked on after the caller had gone";
  const auto made = packs.pack(computed(), texts("en"), "test", [] { return false; });
  ASSERT_NE(made, nullptr);
  EXPECT_EQ(packs.pack(computed(), texts("en"), "test", [] { return true; }), made) << "not made twice";
}

TEST(Packs, TheNewestAskedForWins) {
  serve::Packs packs;
  std::atomic<int> looks = 0;
  std::shared_ptr<const serve::Pack> older;
  std::atomic<bool> ended = false;
  std::thread first([&] {
    older = packs.pack(computed(), texts("de"), "test", [&] {
      ++looks;
      // It would go on for ever if nobody took its place.
      while (looks == 2 && !ended) std::this_thread::sleep_for(std::chrono::milliseconds(1));
      return false;
    });
  });
  while (looks < 2) std::this_thread::yield();
  std::shared_ptr<const serve::Pack> newer;
  std::thread second([&] { newer = packs.pack(computed(), texts("fr"), "test", [] { return false; }); });
  std::this_thread::sleep_for(std::chrono::milliseconds(20));  // until it stands in line
  ended = true;
  first.join();
  second.join();
  EXPECT_EQ(older, nullptr);
  ASSERT_NE(newer, nullptr);
  EXPECT_EQ(newer->language, "fr");
}

}  // namespace
