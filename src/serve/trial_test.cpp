// Covers trials over the wire: what can be tried, a run as the command makes it, work that ends when nobody wants it, a
// vehicle that a page drives.
#include <gtest/gtest.h>

#include <atomic>
#include <chrono>
#include <thread>

#include "report/json.h"
#include "report/trial.h"
#include "serve/live_trial.h"
#include "serve/test_client.h"
#include "trial/trial.h"

using namespace serve::testing;
using nlohmann::json;

namespace {

using Clock = std::chrono::steady_clock;
using std::chrono::milliseconds;

double seconds_since(Clock::time_point from) {
  return std::chrono::duration<double>(Clock::now() - from).count();
}

/// An example's machine.
trial::MachineRig tractor() {
  design::Options options;
  options.project = KW_SOURCE_DIR "/examples/tow_tractor";
  const design::Result r = design::run(options);
  return trial::machine_rig(*r.brief, design::chosen_of(r), *r.assessed, {});
}
const balance::GroundLine kFlat{{0, 0}, {500, 0}};

class TrialTest : public ::testing::Test {
 protected:
  void SetUp() override {
    if (!trial::engine_present()) GTEST_SKIP() << trial::engine_text();
  }
  void serve_copy(const std::string& example) {
    serve::Settings settings;
    settings.project = copy_of(example, folder);
    server = std::make_unique<serve::Server>(settings);
    document::Diagnostics d;
    ASSERT_TRUE(server->start(d));
    client = std::make_unique<TestClient>(*server);
    client->design_of(1);
  }

  TemporaryFolder folder;
  std::unique_ptr<serve::Server> server;
  std::unique_ptr<TestClient> client;
};

TEST_F(TrialTest, RunsACourseAsTheCommandDoes) {
  serve_copy("tow_tractor");
  const json ground = client->get("/api/trial").json();
  EXPECT_EQ(schema_problems("TrialGround", ground), "");
  ASSERT_EQ(ground.at("drives"), true) << ground.at("why_not");
  EXPECT_EQ(ground.at("courses").size(), std::size(trial::kCourseTypes));

  const Answer ran = client->post("/api/trial/course", {{"course", "step"}, {"size", 10}, {"friction", 0.7}});
  ASSERT_EQ(ran.status, 200) << ran.body;
  EXPECT_EQ(schema_problems("CourseTrial", ran.json()), "");
  design::Options options;
  options.project = folder.at("tow_tractor");
  const design::Result r = design::run(options);
  ASSERT_TRUE(r.assessed && r.assessed->ground.judged);
  const auto same = trial::try_course(r.assessed->ground, {trial::CourseType::step, 10}, 0.7, {},
                                      trial::own_speed_mm_s(*r.brief, design::chosen_of(r)));
  EXPECT_EQ(ran.json().at("trial").dump(), json(report::json_of(same)).dump());

  // What cannot be read, and sizes that are none.
  EXPECT_EQ(client->post("/api/trial/course", {{"course", "moon"}}).status, 422);
  EXPECT_EQ(client->post("/api/trial/course", {{"course", "step"}, {"size", "tall"}}).status, 422);
  EXPECT_EQ(client->post("/api/trial/course", {{"course", "step"}, {"height", 3}}).status, 422);
  EXPECT_EQ(client->post_text("/api/trial/course", "{").status, 400);
  const Answer none = client->post("/api/trial/course", {{"course", "step"}});
  EXPECT_EQ(none.status, 422);
  EXPECT_EQ(none.json().at("problem").at("at"), "/size");
  EXPECT_EQ(client->post("/api/trial/course", {{"course", "slope"}, {"size", 80}}).status, 422);

  // A stranger gets nothing, and drives nothing.
  httplib::Client stranger("127.0.0.1", server->port());
  for (const char* path : {"/api/trial/course", "/api/trial/figures", "/api/trial/live", "/api/trial/live/1/stick"})
    EXPECT_EQ(stranger.Post(path, "{}", "application/json")->status, 401) << path;
  EXPECT_EQ(stranger.Get("/api/trial/live/1/frames")->status, 401);
  EXPECT_EQ(stranger.Delete("/api/trial/live/1")->status, 401);
}

TEST_F(TrialTest, DrivesAVehicleWhileThePageLooks) {
  serve_copy("tow_tractor");
  EXPECT_EQ(client->get("/api/trial/live/1/frames").status, 410);
  EXPECT_EQ(client->post("/api/trial/live/1/stick", {{"number", 1}, {"throttle", 1}}).status, 410);
  EXPECT_EQ(client->post("/api/trial/live", {{"course", "trench"}}).status, 422);
  const Answer begun = client->post("/api/trial/live", {{"course", "flat"}});
  ASSERT_EQ(begun.status, 200) << begun.body;
  EXPECT_EQ(schema_problems("LiveTrial", begun.json()), "");
  const std::string at = "/api/trial/live/" + std::to_string(begun.json().at("id").get<int>());
  EXPECT_EQ(client->post(at + "/stick", {{"number", 1}, {"throttle", 1.5}}).status, 422);
  EXPECT_EQ(client->post(at + "/stick", {{"throttle", 1}}).status, 422);

  std::vector<json> frames;
  std::string text;
  Clock::time_point begin, pressed, obeyed;
  httplib::Client page("127.0.0.1", server->port());
  page.set_default_headers({{"Authorization", "Bearer " + server->token()}});
  page.Get(at + "/frames", [&](const char* bytes, std::size_t count) {
    text.append(bytes, count);
    for (std::size_t end; (end = text.find("\n\n")) != std::string::npos; text.erase(0, end + 2)) {
      const std::size_t data = text.find("data: ");
      if (data == std::string::npos || data > end) continue;
      frames.push_back(json::parse(text.substr(data + 6, end - data - 6)));
      if (frames.size() == 1) begin = Clock::now();
      if (frames.size() == 30) {
        pressed = Clock::now();
        EXPECT_EQ(client->post(at + "/stick", {{"number", 1}, {"throttle", 1}, {"steer", 1}}).status, 200);
      }
      if (frames.back().at("input") == 1 && obeyed == Clock::time_point()) obeyed = Clock::now();
    }
    return frames.size() < 120;
  });
  ASSERT_GE(frames.size(), 120U);
  const double rate = static_cast<double>(frames.size() - 1) / seconds_since(begin);
  const double answered_ms = 1e3 * std::chrono::duration<double>(obeyed - pressed).count();
  RecordProperty("frames_per_s", std::to_string(rate));
  RecordProperty("stick_to_frame_ms", std::to_string(answered_ms));
  EXPECT_GE(rate, 20);          // 60 on a quiet machine
  EXPECT_LE(answered_ms, 250);  // 1 to 5
  EXPECT_EQ(schema_problems("LiveFrame", frames.back()), "");
  EXPECT_NEAR(frames[28].at("x_mm").get<double>(), frames[5].at("x_mm").get<double>(), 1) << "it stood";
  EXPECT_GT(frames.back().at("x_mm").get<double>(), frames[28].at("x_mm").get<double>() + 20) << "it drove";
  EXPECT_EQ(begun.json().at("sticks").at(0).at("does"), "steer");
  EXPECT_GT(frames.back().at("steer_deg").get<double>(), 5) << "its wheels turned left";
  EXPECT_GT(frames.back().at("yaw_deg").get<double>(), 2) << "and so did it";
  // Its own time is the clock's.
  EXPECT_NEAR(frames.back().at("time_s").get<double>() - frames.front().at("time_s").get<double>(),
              seconds_since(begin), 0.4);

  // An older input is left; the next drive ends this one; so does the page.
  EXPECT_EQ(client->post(at + "/stick", {{"number", 1}, {"throttle", -1}}).status, 200);
  const Answer next = client->post("/api/trial/live", {{"course", "step"}, {"size", 5}});
  ASSERT_EQ(next.status, 200);
  EXPECT_EQ(client->post(at + "/stick", {{"number", 5}, {"throttle", 1}}).status, 410);
  const std::string then = "/api/trial/live/" + std::to_string(next.json().at("id").get<int>());
  EXPECT_EQ(client->drop(then).status, 204);
  const auto ending = Clock::now();
  while (client->post(then + "/stick", {{"number", 1}, {"throttle", 1}}).status == 200 && seconds_since(ending) < 5)
    std::this_thread::sleep_for(milliseconds(5));
  EXPECT_EQ(client->drop(then).status, 410);
}

TEST_F(TrialTest, FiguresAreGivenUpWhenNobodyWantsThem) {
  serve_copy("tow_tractor");
  const auto begin = Clock::now();
  {
    httplib::Client page("127.0.0.1", server->port());
    page.set_default_headers({{"Authorization", "Bearer " + server->token()}});
    page.set_read_timeout(0, 100'000);
    page.Post("/api/trial/figures", "{}", "application/json");  // and goes
  }
  // Another one takes the place of the first, and a course runs beside it.
  std::atomic<int> status{0};
  std::thread older([&] {
    TestClient other(*server);
    status = other.post("/api/trial/figures", json::object()).status;
  });
  std::this_thread::sleep_for(milliseconds(200));
  std::thread newer([&] {
    httplib::Client page("127.0.0.1", server->port());
    page.set_default_headers({{"Authorization", "Bearer " + server->token()}});
    page.set_read_timeout(0, 300'000);
    page.Post("/api/trial/figures", "{}", "application/json");
  });
  EXPECT_EQ(client->post("/api/trial/course", {{"course", "flat"}}).status, 200);
  older.join();
  newer.join();
  EXPECT_EQ(status, 409);
  const auto stopping = Clock::now();
  server->stop();
  EXPECT_LT(seconds_since(stopping), 2.0);
  EXPECT_LT(seconds_since(begin), 30.0);
}

TEST_F(TrialTest, LiftsALoadOrSaysWhyNot) {
  serve_copy("tow_tractor");
  EXPECT_EQ(client->post("/api/trial/lift", {{"load_g", -3}}).status, 422);
  EXPECT_EQ(client->post("/api/trial/lift", {{"height", 3}}).status, 422);
  const Answer none = client->post("/api/trial/lift", {{"load_g", 50}, {"slew_deg", 90}, {"input", 0.5}});
  ASSERT_EQ(none.status, 200) << none.body;
  EXPECT_EQ(schema_problems("LiftTrial", none.json()), "");
  EXPECT_NE(none.json().at("trial").at("why_not").get<std::string>().find("lifts nothing"), std::string::npos);
  EXPECT_EQ(none.json().at("drawing"), "");
}

TEST_F(TrialTest, SaysWhyNothingIsDriven) {
  serve_copy("bascule_bridge");
  const json ground = client->get("/api/trial").json();
  EXPECT_EQ(schema_problems("TrialGround", ground), "");
  EXPECT_EQ(ground.at("drives"), false);
  EXPECT_NE(ground.at("why_not"), "");
  const Answer none = client->post("/api/trial/live", {{"course", "flat"}});
  EXPECT_EQ(none.status, 409);
  EXPECT_EQ(none.json().at("problem").at("detail"), ground.at("why_not"));
}

TEST(LiveTrial, EndsWhenNobodyLooksOrTheSticksAreLeft) {
  if (!trial::engine_present()) GTEST_SKIP() << trial::engine_text();
  const trial::MachineRig rig = tractor();
  ASSERT_EQ(rig.why_not, "");
  std::string why_not;
  serve::LiveTrial unseen({milliseconds(60), milliseconds(60000)});
  int id = unseen.start(rig, kFlat, 0, {}, why_not);
  ASSERT_GT(id, 0) << why_not;
  const auto begin = Clock::now();
  while (unseen.input(id, 1, 0, {}) && seconds_since(begin) < 5) std::this_thread::sleep_for(milliseconds(5));
  EXPECT_LT(seconds_since(begin), 4);

  serve::LiveTrial idle({milliseconds(60000), milliseconds(60)});
  id = idle.start(rig, kFlat, 0, {}, why_not);
  ASSERT_TRUE(idle.enter(id));
  std::uint64_t seen = 0;
  bool over = false;
  std::string last;
  const auto looked = Clock::now();
  while (!over && seconds_since(looked) < 5)
    if (std::string frame = idle.frame_after(id, seen, milliseconds(1000), over); !frame.empty()) last = frame;
  EXPECT_TRUE(over);
  EXPECT_EQ(json::parse(last).at("end"), "left alone");
  idle.leave(id);
}

TEST(LiveTrial, SaysWhyAVehicleIsNotDriven) {
  trial::MachineRig rig;
  rig.why_not = "it has no wheels";
  std::string why_not;
  serve::LiveTrial live;
  EXPECT_EQ(live.start(rig, kFlat, 0, {}, why_not), 0);
  EXPECT_NE(why_not, "");
}

}  // namespace
