// Covers serve/desk over the wire: the life of a project from opening to kept variants; designs equal to the command's
// byte for byte, also those from kept proposals; two pages; newer edits stop older designs; changes by others.
#include "serve/desk.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <filesystem>
#include <fstream>
#include <thread>

#include "report/json.h"
#include "serve/test_client.h"

using namespace serve::testing;
using nlohmann::json;

namespace {

namespace fs = std::filesystem;
using Clock = std::chrono::steady_clock;

class DeskTest : public ::testing::Test {
 protected:
  /// Serves a copy of an example; the small one designs in about half a second.
  void serve_copy(const std::string& example = "bascule_bridge") {
    project = copy_of(example, folder);
    serve_project();
  }
  void serve_project() {
    serve::Settings settings;
    settings.project = project;
    settings.threads = 2;
    server = std::make_unique<serve::Server>(settings);
    document::Diagnostics d;
    ASSERT_TRUE(server->start(d));
    client = std::make_unique<TestClient>(*server);
  }
  [[nodiscard]] std::string text() const { return read(project + "/project.toml"); }
  int revision() { return client->get("/api/session").json().at("revision"); }

  /// What the command prints for the project as it stands on the disk.
  [[nodiscard]] std::string printed() const {
    design::Options options;
    options.project = project;
    options.front_points = 24;
    return report::dumped(report::design_json(design::run(options)));
  }
  /// The design as it came over the wire, byte for byte.
  std::string design_text(int at_least) {
    client->design_of(at_least);
    const std::string all = client->get("/api/result").body;
    const std::string start = "\"design\":";
    const std::size_t begin = all.find(start) + start.size();
    return all.substr(begin, all.size() - 1 - begin);
  }

  TemporaryFolder folder;
  std::string project;
  std::unique_ptr<serve::Server> server;
  std::unique_ptr<TestClient> client;
};

TEST_F(DeskTest, DesignsWhatTheCommandDesigns) {
  serve_copy();
  EXPECT_EQ(design_text(1), printed());
  const json now = client->get("/api/project").json();
  EXPECT_EQ(schema_problems("Project", now), "");
  EXPECT_EQ(now.at("text"), text());
  EXPECT_EQ(now.at("document").at("functions").at(0).at("id"), "leaf_lift");
  EXPECT_EQ(schema_problems("Session", client->get("/api/session").json()), "");
  for (const json& job : client->get("/api/jobs").json()) EXPECT_EQ(schema_problems("Job", job), "");
  EXPECT_EQ(schema_problems("Result", client->get("/api/result").json()), "");

  // From proposals kept of the run before, and after edits the command never saw: the same bytes.
  int at = 1;
  for (const auto& [where, value] : std::vector<std::pair<std::string, json>>{
           {"/functions/0/wants/time_s", 44}, {"/limits/mass_g", 5000}, {"/functions/2/priority", "required"}}) {
    const Answer a = client->set(at, where, value);
    ASSERT_EQ(a.status, 200) << a.body;
    EXPECT_EQ(schema_problems("Edited", a.json()), "");
    EXPECT_TRUE(a.json().at("problems").empty()) << a.body;
    at = a.json().at("revision");
    EXPECT_TRUE(design_text(at) == printed()) << where;
  }
}

TEST_F(DeskTest, TellsMarginsBeforeTheDesignIsDone) {
  serve_copy();
  const json first = client->design_of(1).at("design");
  std::uint64_t seen = server->desk().events().last();
  // Events of one revision until its result.
  const auto events_of = [&](int of_revision) {
    std::vector<std::pair<std::string, json>> out;
    const auto begin = Clock::now();
    while (Clock::now() - begin < std::chrono::seconds(60)) {
      for (const serve::Event& e : server->desk().events().after(seen, std::chrono::milliseconds(50))) {
        seen = e.id;
        const json data = json::parse(e.data);
        if (e.name == "margins" && data.at("revision") == of_revision) out.emplace_back(e.name, data);
        if (e.name == "result" && data.at("revision") == of_revision) {
          out.emplace_back(e.name, data);
          return out;
        }
      }
    }
    return out;
  };
  const auto without_intervals = [](json margins) {
    for (json& m : margins) m.erase("interval");
    return margins;
  };

  ASSERT_EQ(client->set(1, "/functions/0/wants/time_s", 41).status, 200);
  auto told = events_of(2);
  ASSERT_GE(told.size(), 3u);
  EXPECT_EQ(told.back().first, "result");
  for (std::size_t i = 0; i + 1 < told.size(); ++i) EXPECT_EQ(schema_problems("MarginsEvent", told[i].second), "");
  // At first what was searched anew, which are functions of the same kind and no others, and that nothing is decided.
  json offered;
  for (std::size_t i = 0; i + 2 < told.size(); ++i) {
    EXPECT_FALSE(told[i].second.at("settled"));
    ASSERT_EQ(told[i].second.at("functions").size(), 1u);
    const json one = told[i].second.at("functions").at(0);
    for (const json& f : first.at("functions")) {
      if (f.at("id") != one.at("id")) continue;
      EXPECT_EQ(f.at("kind"), "luff");
    }
    if (one.at("id") == "leaf_lift") offered = one;
  }
  ASSERT_FALSE(offered.is_null());
  EXPECT_EQ(offered.at("id"), "leaf_lift");
  EXPECT_EQ(offered.at("which"), "same");
  EXPECT_EQ(offered.at("title"), first.at("functions").at(0).at("chosen").at("title"));
  const json explained = client->get("/api/explain?function=leaf_lift").json();
  const json same = [&] {
    for (const json& c : explained.at("candidates")) {
      if (c.at("key") == first.at("functions").at(0).at("chosen").at("key")) return c;
    }
    return json();
  }();
  ASSERT_FALSE(same.is_null());
  EXPECT_EQ(offered.at("worst_margin"), same.at("worst_margin"));
  EXPECT_NE(offered.at("margins"), without_intervals(first.at("functions").at(0).at("chosen").at("margins")));
  // Then all, and these are those of the design.
  const json design = client->get("/api/result").json().at("design");
  const json settled = told[told.size() - 2].second;
  EXPECT_TRUE(settled.at("settled"));
  ASSERT_EQ(settled.at("functions").size(), design.at("functions").size());
  for (std::size_t f = 0; f < design.at("functions").size(); ++f) {
    const json& now = settled.at("functions").at(f);
    const json& done = design.at("functions").at(f);
    EXPECT_EQ(now.at("id"), done.at("id"));
    EXPECT_EQ(now.at("meet_all"), done.at("meet_all"));
    if (done.at("chosen").is_null()) {
      EXPECT_EQ(now.at("which"), "none");
      continue;
    }
    EXPECT_EQ(now.at("which"), "chosen");
    EXPECT_EQ(now.at("worst_margin"), done.at("chosen").at("worst_margin"));
    EXPECT_EQ(now.at("margins"), without_intervals(done.at("chosen").at("margins")));
  }

  // Nothing is searched anew: nothing is unsettled.
  ASSERT_EQ(client->set(2, "/limits/mass_g", 5000).status, 200);
  told = events_of(3);
  ASSERT_EQ(told.size(), 2u);
  EXPECT_TRUE(told[0].second.at("settled"));

  // No way comes near: that is told early, and no margins are called settled, since nothing is chosen.
  ASSERT_EQ(client->set(3, "/functions/0/wants/load_g", 50000).status, 200);
  told = events_of(4);
  ASSERT_GE(told.size(), 2u);
  bool none = false;
  for (std::size_t i = 0; i + 1 < told.size(); ++i) {
    EXPECT_FALSE(told[i].second.at("settled"));
    const json& f = told[i].second.at("functions").at(0);
    if (f.at("id") == "leaf_lift") none = f.at("which") == "none" && f.at("worst_margin").is_null();
  }
  EXPECT_TRUE(none);
}

TEST_F(DeskTest, KeepsWhatIsWrongAndSaysSo) {
  serve_copy();
  client->design_of(1);
  const Answer a = client->set(1, "/functions/0/wants/time_s", "soon");
  ASSERT_EQ(a.status, 200);
  ASSERT_FALSE(a.json().at("problems").empty());
  const json p = a.json().at("problems").at(0);
  EXPECT_EQ(p.at("at"), "/functions/0/wants/time_s");
  EXPECT_EQ(p.at("severity"), "error");
  EXPECT_GT(p.at("line"), 1);
  EXPECT_NE(text().find("time_s = \"soon\""), std::string::npos);
  // The newest design says what is wrong; the newest sound one is still there to look at.
  EXPECT_EQ(client->design_of(2).at("design").at("status"), "bad_input");
  EXPECT_EQ(client->get("/api/result?sound=1").json().at("revision"), 1);
  EXPECT_EQ(client->get("/api/explain?function=leaf_lift").status, 200);

  // Text that is no TOML at all is kept, too, and only text can mend it.
  EXPECT_EQ(client->put("/api/text", json({{"revision", 2}, {"text", "[broken\n"}}).dump()).status, 200);
  EXPECT_EQ(text(), "[broken\n");
  const Answer refused = client->set(3, "/project/name", "x");
  EXPECT_EQ(refused.status, 422);
  EXPECT_EQ(refused.json().at("problems").at(0).at("code"), "toml.syntax");
  EXPECT_EQ(client->get("/api/project").json().at("document"), json::object());
  EXPECT_EQ(client->post("/api/undo", json::object()).json().at("revision"), 4);
  EXPECT_NE(text().find("time_s = \"soon\""), std::string::npos);
}

TEST_F(DeskTest, RefusesEditsThatCannotBeWritten) {
  serve_copy();
  const std::string before = text();
  for (const json& edit : std::vector<json>{{{"op", "set"}, {"at", "/functions/9/id"}, {"value", "x"}},
                                            {{"op", "remove"}, {"at", "/nothing"}},
                                            {{"op", "set"}, {"at", "no pointer"}, {"value", 1}},
                                            {{"op", "set"}, {"at", "/limits/mass_g"}, {"value", nullptr}}}) {
    const Answer a = client->post("/api/edits", {{"revision", 1}, {"edits", {edit}}});
    EXPECT_EQ(a.status, 422) << edit;
    EXPECT_EQ(schema_problems("Refusal", a.json()), "");
  }
  EXPECT_EQ(text(), before);
  EXPECT_EQ(revision(), 1);
}

TEST_F(DeskTest, TwoPagesDoNotOverwriteEachOther) {
  serve_copy();
  TestClient other(*server);
  EXPECT_EQ(client->set(1, "/limits/mass_g", 5000).status, 200);
  const Answer late = other.set(1, "/limits/mass_g", 6000);
  EXPECT_EQ(late.status, 409);
  EXPECT_EQ(late.json().at("revision"), 2);
  EXPECT_EQ(schema_problems("Refusal", late.json()), "");
  EXPECT_EQ(other.set(2, "/limits/mass_g", 6000).status, 200);
  EXPECT_EQ(client->get("/api/session").json().at("revision"), 3);
  // Many edits at once from both: each revision is given once.
  std::atomic<int> good{0};
  const auto hammer = [&](TestClient& c) {
    for (int i = 0; i < 20; ++i) {
      const int base = c.get("/api/session").json().at("revision");
      if (c.set(base, "/limits/run_time_min", 30 + base).status == 200) ++good;
    }
  };
  std::thread second([&] { hammer(other); });
  hammer(*client);
  second.join();
  EXPECT_EQ(revision(), 3 + good);
}

TEST_F(DeskTest, UndoAndRedoGoThroughAllStates) {
  serve_copy();
  const std::string original = text();
  std::vector<std::string> states{original};
  for (int i = 0; i < 5; ++i) {
    ASSERT_EQ(client->set(1 + i, "/limits/mass_g", 4000 + i).status, 200);
    states.push_back(text());
  }
  const json session = client->get("/api/session").json();
  EXPECT_EQ(session.at("undo").at("count"), 5);
  EXPECT_EQ(session.at("undo").at("label"), "test");
  for (int i = 4; i >= 0; --i) {
    ASSERT_EQ(client->post("/api/undo", json::object()).status, 200);
    EXPECT_EQ(text(), states[static_cast<std::size_t>(i)]);
  }
  EXPECT_EQ(client->post("/api/undo", json::object()).status, 422);
  for (std::size_t i = 1; i <= 5; ++i) {
    ASSERT_EQ(client->post("/api/redo", json::object()).status, 200);
    EXPECT_EQ(text(), states[i]);
  }
}

TEST_F(DeskTest, ANewerEditStopsTheOlderDesign) {
  serve_copy("quay_rig");  // its first design takes several seconds
  const auto begin = Clock::now();
  while (client->get("/api/jobs").json().at(0).at("state") != "running" &&
         Clock::now() - begin < std::chrono::seconds(20))
    std::this_thread::sleep_for(std::chrono::milliseconds(5));
  ASSERT_EQ(client->set(1, "/limits/mass_g", 5000).status, 200);
  const auto edited = Clock::now();
  json jobs;
  do {
    std::this_thread::sleep_for(std::chrono::milliseconds(5));
    jobs = client->get("/api/jobs").json();
  } while (jobs.at(1).at("state") == "waiting" && Clock::now() - edited < std::chrono::seconds(20));
  EXPECT_EQ(jobs.at(0).at("state"), "stopped");
  EXPECT_EQ(jobs.at(1).at("state"), "running");
  EXPECT_EQ(client->get("/api/result").status, 404);  // the stopped one is no result
  EXPECT_EQ(client->post("/api/jobs/99/stop", json::object()).status, 404);
  // Stopped by hand it ends, and says so.
  ASSERT_EQ(client->post("/api/jobs/2/stop", json::object()).status, 200);
  const json result = client->design_of(2);
  EXPECT_TRUE(result.at("design").at("stopped"));
  EXPECT_EQ(client->get("/api/jobs").json().at(1).at("state"), "stopped");
  const auto stopping = Clock::now();
  ASSERT_EQ(client->set(2, "/limits/mass_g", 5001).status, 200);
  server->stop();  // ends a running design, too
  EXPECT_LT(Clock::now() - stopping, std::chrono::seconds(5));
}

TEST_F(DeskTest, EventsTellWhatHappened) {
  serve_copy();
  client->design_of(1);
  const int seen = client->get("/api/session").json().at("event");
  std::string stream;
  std::atomic<bool> listening{false};
  std::thread reader([&] {
    TestClient c(*server);
    c.http().Get("/api/events", {{"Last-Event-ID", std::to_string(seen)}}, [&](const char* data, std::size_t size) {
      listening = true;
      stream.append(data, size);
      return stream.find("event: result") == std::string::npos;
    });
  });
  while (!listening) std::this_thread::sleep_for(std::chrono::milliseconds(1));
  ASSERT_EQ(client->set(1, "/functions/2/wants/outputs/0/rpm", {40, 150}).status, 200);
  reader.join();
  EXPECT_NE(stream.find("event: project\ndata: {\"revision\":2}\n\n"), std::string::npos) << stream;
  EXPECT_NE(stream.find("event: progress\ndata: {\"id\":2,"), std::string::npos);
  const std::size_t result = stream.find("event: result\ndata: ");
  ASSERT_NE(result, std::string::npos);
  const std::string line = stream.substr(result + 20, stream.find('\n', result + 20) - result - 20);
  EXPECT_EQ(schema_problems("ResultEvent", json::parse(line)), "") << line;
  EXPECT_EQ(stream.find("id: " + std::to_string(seen) + "\n"), std::string::npos);
  EXPECT_NE(stream.find("id: " + std::to_string(seen + 1) + "\n"), std::string::npos);
}

TEST_F(DeskTest, ExplainsDrawsAndCharts) {
  serve_copy();
  client->design_of(1);
  design::Options options;
  options.project = project;
  options.front = false;
  options.ways_out = false;
  const design::Result r = design::run(options);
  EXPECT_EQ(client->get("/api/explain?function=leaf_lift").body, report::dumped(report::explain_json(r, 0, "")));
  const std::string key = r.functions[0].proposal.candidates.at(1).key;
  EXPECT_EQ(client->get("/api/explain?function=leaf_lift&candidate=" + httplib::detail::encode_query_param(key)).body,
            report::dumped(report::explain_json(r, 0, key)));
  const Answer svg = client->get("/api/drawing/candidate.svg?function=bell");
  EXPECT_EQ(svg.status, 200);
  EXPECT_EQ(svg.headers.find("Content-Type")->second, "image/svg+xml");
  EXPECT_NE(svg.body.find("</svg>"), std::string::npos);
  const Answer none = client->get("/api/explain?function=leaf_lfit");
  EXPECT_EQ(none.status, 404);
  EXPECT_NE(none.json().at("problem").at("detail").get<std::string>().find("leaf_lift"), std::string::npos);
  EXPECT_EQ(client->get("/api/explain?function=leaf_lift&candidate=none").status, 404);

  EXPECT_EQ(client->get("/api/chart").body, report::dumped(report::chart_json(r)));
  options.ways_out = true;
  options.chart_radii = 5;
  options.chart_slews = 3;
  EXPECT_EQ(client->get("/api/chart?radii=5&slews=3").body, report::dumped(report::chart_json(design::run(options))));
  EXPECT_EQ(client->get("/api/chart?radii=1").status, 422);
  EXPECT_EQ(client->get("/api/chart?slews=-4").status, 422);
  for (const char* name : {"report.txt", "design.json", "sheet.svg", "results.html"})
    EXPECT_EQ(client->get(std::string("/api/files/") + name).status, 200) << name;
  EXPECT_EQ(client->get("/api/files/secret.txt").status, 404);
}

TEST_F(DeskTest, WhatARemedyChangesDoesWhatItSays) {
  project = copy_of("tow_tractor", folder);
  std::string steeper = text();
  const std::size_t limits = steeper.find("[limits]\n");
  ASSERT_NE(limits, std::string::npos);
  const std::size_t told = steeper.find("tipping_angle_deg");
  if (told != std::string::npos) steeper.erase(told, steeper.find('\n', told) + 1 - told);
  steeper.insert(limits + 9, "tipping_angle_deg = 70\n");
  write(project + "/project.toml", steeper);
  serve_project();
  const auto stance_finding = [](const json& design) {
    for (const json& f : design.at("assessment").at("findings")) {
      if (f.at("code") == "stance.below_wanted") return f;
    }
    return json();
  };
  const json before = client->design_of(1).at("design");
  const json finding = stance_finding(before);
  ASSERT_FALSE(finding.is_null());
  int done = 0;
  for (const json& remedy : finding.at("remedies")) {
    json edits = json::array();
    const json document = client->get("/api/project").json().at("document");
    for (const json& c : remedy.at("changes")) {
      std::string at = "/" + c.at("table").get<std::string>();
      if (c.at("op") == "add") {
        edits.push_back({{"op", "insert"}, {"at", at + "/-"}, {"value", c.at("value")}});
        continue;
      }
      const json& list = document.at(c.at("table").get<std::string>());
      for (std::size_t n = 0; list.is_array() && n < list.size(); ++n) {
        if (list[n].at("id") == c.at("id")) at += "/" + std::to_string(n);
      }
      edits.push_back({{"op", "set"}, {"at", at + "/" + c.at("key").get<std::string>()}, {"value", c.at("value")}});
    }
    if (edits.empty()) continue;
    const auto answer = client->post("/api/edits", {{"revision", revision()}, {"label", "remedy"}, {"edits", edits}});
    ASSERT_EQ(answer.status, 200) << answer.body;
    EXPECT_EQ(answer.json().at("problems"), json::array()) << remedy;
    const json after = client->design_of(answer.json().at("revision")).at("design");
    // What was tried kept the chosen parts; the new design may choose others, which moves the angle a little.
    EXPECT_NEAR(after.at("assessment").at("stance").at("least_deg").get<double>(), remedy.at("after").get<double>(),
                1.5)
        << remedy;
    EXPECT_GT(after.at("assessment").at("stance").at("least_deg").get<double>(), remedy.at("before").get<double>());
    ++done;
    ASSERT_EQ(client->post("/api/undo", json::object()).status, 200);
  }
  EXPECT_GE(done, 2);
  EXPECT_EQ(text(), steeper);
}

TEST_F(DeskTest, TellsHandsetStanceAndSpace) {
  serve_copy();
  const json design = client->design_of(1).at("design");
  const json handset = client->get("/api/handset").json();
  EXPECT_EQ(handset.at("format"), "kitwright.handset");
  EXPECT_FALSE(handset.at("handset").at("assignments").empty());
  EXPECT_NE(client->get("/api/files/guide.html").body.find("set-up guide</h1>"), std::string::npos);
  EXPECT_EQ(client->get("/api/drawing/duty.svg").body.rfind("<svg", 0), 0U);
  EXPECT_EQ(client->get("/api/scale").json().at("state"), "none");

  // Where a body is now, the balance is that of the design; elsewhere it is another one.
  const json bodies = client->get("/api/project").json().at("document").at("bodies");
  const json& body = bodies.at(bodies.size() - 1);
  const auto stance_at = [&](double dx_mm) {
    const json& at = body.at("centre_mm");
    return client
        ->get("/api/stance?body=" + body.at("id").get<std::string>() +
              "&x=" + std::to_string(at.at(0).get<double>() + dx_mm) + "&y=" + std::to_string(at.at(1).get<double>()) +
              "&z=" + std::to_string(at.at(2).get<double>()))
        .json();
  };
  const json now = design.at("assessment").at("stance");
  if (now.at("judged").get<bool>()) {
    EXPECT_EQ(stance_at(0).at("least_deg"), now.at("least_deg"));
    EXPECT_NE(stance_at(40).at("centre_mm"), now.at("centre_mm"));
  }
  EXPECT_EQ(client->get("/api/stance?body=" + body.at("id").get<std::string>() + "&x=1&y=2&z=far").status, 422);
  EXPECT_EQ(client->get("/api/stance?body=nobody&x=1&y=2&z=3").status, 404);

  const json space = client->get("/api/space").json();
  for (const json& train : space.at("trains")) {
    EXPECT_FALSE(train.at("shafts").empty());
    for (const json& wheel : train.at("wheels")) EXPECT_GT(wheel.at("radius_mm").get<double>(), 0);
  }
}

TEST_F(DeskTest, ShowsWhoTakesWhatAndTakesAnotherList) {
  serve_copy();
  client->design_of(1);
  const std::string old_list = read(project + "/stock.csv");
  const json before = client->get("/api/stock").json();
  EXPECT_EQ(schema_problems("Stock", before), "");
  EXPECT_EQ(before.at("revision"), 1);
  int used = 0;
  for (const json& row : before.at("rows")) {
    int taken = 0;
    for (const json& t : row.at("takers")) taken += t.at("count").get<int>();
    EXPECT_LE(taken, row.at("used").get<int>());
    EXPECT_EQ(row.at("left").get<int>(),
              row.at("count").get<int>() - row.at("used").get<int>() - row.at("reserved").get<int>());
    used += row.at("used").get<int>();
  }
  EXPECT_GT(used, 0);

  // A list whose heads say nothing: the columns are told, kept in the project, and the old list stays beside it.
  const std::string csv = "A;B\n\"pinion, 16 teeth\";3\nno such thing at all;2\n";
  const Answer preview =
      client->post_text("/api/stock/preview?columns=name%3DA,quantity%3DB&system=half_inch", csv, "text/csv");
  ASSERT_EQ(preview.status, 200) << preview.body;
  EXPECT_EQ(preview.json().at("rows").size(), 2U);
  const Answer put = client->put("/api/stock", json({{"csv", csv}, {"columns", "name=A,quantity=B"}}).dump());
  ASSERT_EQ(put.status, 200) << put.body;
  EXPECT_EQ(schema_problems("Stock", put.json()), "");
  EXPECT_EQ(read(project + "/stock.csv"), csv);
  EXPECT_EQ(read(project + "/stock.csv.previous"), old_list);
  // The old list is Latin-1; over the wire it is UTF-8, so that a changed cell can be sent back.
  EXPECT_EQ(before.at("csv").get<std::string>().substr(0, 13), "D\xc3\xa9signation\t");
  EXPECT_NE(text().find("stock_columns = \"name=A,quantity=B\""), std::string::npos);
  EXPECT_EQ(put.json().at("columns"), "name=A,quantity=B");
  EXPECT_EQ(put.json().at("rows").size(), 1U);
  EXPECT_EQ(client->put("/api/stock", json({{"csv", csv}, {"columns", "colour"}}).dump()).status, 422);
  EXPECT_EQ(design_text(2), printed());
}

TEST_F(DeskTest, KeepsVariantsPicturesAndTheTrace) {
  serve_copy();
  client->design_of(1);
  const Answer kept = client->post("/api/variants", {{"note", "the \"first\" one"}});
  ASSERT_EQ(kept.status, 200) << kept.body;
  EXPECT_EQ(schema_problems("Variant", kept.json()), "");
  EXPECT_EQ(kept.json().at("text"), text());
  EXPECT_EQ(kept.json().at("note"), "the \"first\" one");
  EXPECT_TRUE(kept.json().at("picks").contains("leaf_lift"));
  const std::string id = kept.json().at("id");
  ASSERT_EQ(client->set(1, "/limits/run_time_min", 41).status, 200);
  client->design_of(2);
  ASSERT_EQ(client->post("/api/variants", json::object()).status, 200);
  const json all = client->get("/api/variants").json();
  ASSERT_EQ(all.size(), 2U);
  EXPECT_NE(all.at(0).at("revision_hash"), all.at(1).at("revision_hash"));
  // A damaged description is told, and the text is still there.
  const fs::path told = fs::path(project) / "variants" / (all.at(1).at("id").get<std::string>() + ".toml");
  std::ofstream(told, std::ios::binary) << "note = \xff\n[[[";
  const json after = client->get("/api/variants").json();
  ASSERT_EQ(after.size(), 2U);
  EXPECT_TRUE(after.at(1).at("summary").get<std::string>().starts_with("damaged: ")) << after.at(1);
  EXPECT_EQ(after.at(1).at("text"), all.at(1).at("text"));
  // Back to the first one.
  EXPECT_EQ(client->put("/api/text", json({{"revision", 2}, {"text", all.at(0).at("text")}}).dump()).status, 200);
  EXPECT_EQ(text(), kept.json().at("text"));
  EXPECT_EQ(client->drop("/api/variants/" + id).status, 200);
  EXPECT_EQ(client->get("/api/variants/" + id).status, 404);
  EXPECT_EQ(client->get("/api/variants").json().size(), 1U);
  EXPECT_EQ(client->drop("/api/variants/" + id).status, 404);

  const std::string png = "\x89PNG\r\n\x1a\n and so on";
  ASSERT_EQ(client->put("/api/pictures/side.png", png, "image/png").status, 200);
  const Answer back = client->get("/api/pictures/side.png");
  EXPECT_EQ(back.body, png);
  EXPECT_EQ(back.headers.find("Content-Type")->second, "image/png");
  EXPECT_EQ(client->put("/api/pictures/side.png", "<svg onload=...>", "image/png").status, 422);
  for (const char* name : {"project.toml", "side.svg", ".png", "a.b.png"})
    EXPECT_EQ(client->put(std::string("/api/pictures/") + name, png, "image/png").status, 422) << name;
  EXPECT_EQ(client->get("/api/pictures/side.png").body, png);

  EXPECT_EQ(client->get("/api/trace").json(), json::object());
  EXPECT_EQ(client->put("/api/trace", R"({"scale":null,"points":[[1,2]]})").status, 200);
  EXPECT_EQ(client->get("/api/trace").json().at("points").at(0).at(1), 2);
  EXPECT_EQ(client->put("/api/trace", "[1]").status, 422);
}

TEST_F(DeskTest, NoticesChangesByOthers) {
  serve_copy();
  client->design_of(1);
  const std::string theirs = text() + "# theirs\n";
  write(project + "/project.toml", theirs);
  EXPECT_FALSE(client->get("/api/session").json().at("saved"));
  const Answer edit = client->set(1, "/limits/mass_g", 5000);
  EXPECT_EQ(edit.status, 409);
  EXPECT_TRUE(edit.json().at("outside"));
  EXPECT_EQ(text(), theirs);
  const auto begin = Clock::now();
  bool told = false;
  while (!told && Clock::now() - begin < std::chrono::seconds(10)) {
    for (const serve::Event& e : server->desk().events().after(0, std::chrono::milliseconds(50)))
      told = told || e.name == "outside";
    std::this_thread::sleep_for(std::chrono::milliseconds(20));
  }
  EXPECT_TRUE(told);
  ASSERT_EQ(client->post("/api/reload", {{"keep", "file"}}).status, 200);
  EXPECT_EQ(client->get("/api/project").json().at("text"), theirs);
  EXPECT_EQ(client->set(2, "/limits/mass_g", 5000).status, 200);
}

TEST_F(DeskTest, OpensExamplesAsCopiesAndNewProjects) {
  serve_project();  // nothing yet
  const std::string into = folder.at("mine");
  Answer a = client->post("/api/open", {{"example", "double_leaf_bridge"}, {"into", into}});
  ASSERT_EQ(a.status, 200) << a.body;
  EXPECT_EQ(a.json().at("folder"), into);
  // Its list lies in another example's folder; the copy has its own.
  EXPECT_EQ(read(into + "/stock.csv"), read(std::string(KW_SOURCE_DIR) + "/examples/bascule_bridge/stock.csv"));
  EXPECT_NE(read(into + "/project.toml").find("stock = \"stock.csv\""), std::string::npos);
  EXPECT_EQ(client->post("/api/open", {{"example", "double_leaf_bridge"}, {"into", into}}).status, 422);
  EXPECT_EQ(client->post("/api/open", {{"example", "double_leef_bridge"}}).status, 422);

  const int before = revision();
  a = client->post("/api/open",
                   {{"like", "wheeled_rig"}, {"into", folder.at("new")}, {"dimensions", {{"length", 340}}}});
  ASSERT_EQ(a.status, 200) << a.body;
  EXPECT_GT(a.json().at("revision"), before);  // no page may take it for the project before
  // A list whose heads say nothing is opened with the columns that were told for it.
  const std::string csv = "A;B\naxle 5;3\nbeam 7;12\n";
  a = client->post("/api/open", {{"like", "wheeled_rig"},
                                 {"into", folder.at("told")},
                                 {"stock_csv", csv},
                                 {"stock_columns", "name=A,quantity=B"}});
  ASSERT_EQ(a.status, 200) << a.body;
  EXPECT_EQ(client->get("/api/stock").json().at("rows").size(), 2U);
  EXPECT_NE(read(folder.at("told") + "/project.toml").find("stock_columns = \"name=A,quantity=B\""), std::string::npos);
  EXPECT_EQ(
      client
          ->post("/api/open",
                 {{"like", "wheeled_rig"}, {"into", folder.at("bad")}, {"stock_csv", csv}, {"stock_columns", "nam=A"}})
          .status,
      422);
  ASSERT_EQ(client->post("/api/open", {{"folder", folder.at("new")}}).status, 200);
  EXPECT_EQ(
      client
          ->post("/api/open", {{"like", "wheeled_rig"}, {"into", folder.at("x")}, {"dimensions", {{"length", "long"}}}})
          .status,
      422);
  EXPECT_EQ(client->post("/api/open", {{"folder", into}, {"example", "quay_rig"}}).status, 422);
  EXPECT_EQ(client->post("/api/open", json::object()).status, 422);
  EXPECT_EQ(client->post("/api/open", {{"folder", folder.at("nowhere")}}).status, 422);
  // What failed to open took nothing away; back to the first.
  EXPECT_EQ(client->get("/api/session").json().at("folder"), folder.at("new"));
  EXPECT_EQ(client->post("/api/open", {{"folder", into}}).json().at("folder"), into);

  serve::Settings settings;
  settings.project = into;
  serve::Server second(settings);
  document::Diagnostics d;
  EXPECT_FALSE(second.start(d));
  EXPECT_EQ(d.sorted().front().code, "workspace.locked");
}

}  // namespace
