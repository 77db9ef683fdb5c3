// Covers serve/events: numbers, replay, what is told to those who missed too much, places, closing.
#include "serve/events.h"

#include <gtest/gtest.h>

#include <thread>

using namespace serve;
using std::chrono::milliseconds;

namespace {

TEST(EventLog, TellsEverythingAfterANumber) {
  EventLog log;
  log.publish("project", "{}");
  log.publish("result", "{\"revision\":1}");
  const auto all = log.after(0, milliseconds(0));
  ASSERT_EQ(all.size(), 2U);
  EXPECT_EQ(stream_text(all[1]), "id: 2\nevent: result\ndata: {\"revision\":1}\n\n");
  EXPECT_EQ(log.after(1, milliseconds(0)).size(), 1U);
  EXPECT_TRUE(log.after(2, milliseconds(1)).empty());
}

TEST(EventLog, SaysThatEventsWereMissed) {
  EventLog log;
  for (std::size_t i = 0; i < EventLog::kMostKept + 5; ++i) log.publish("progress", "{}");
  EXPECT_EQ(log.after(5, milliseconds(0)).size(), EventLog::kMostKept);
  const auto missed = log.after(4, milliseconds(0));
  ASSERT_EQ(missed.size(), 1U);
  EXPECT_EQ(missed[0].name, "lost");
  EXPECT_EQ(missed[0].id, log.last());
  // A number of an earlier launch.
  EXPECT_EQ(log.after(1'000'000, milliseconds(0)).at(0).name, "lost");
}

TEST(EventLog, WakesWhoWaits) {
  EventLog log;
  std::vector<Event> got;
  std::thread waiting([&] { got = log.after(0, milliseconds(5000)); });
  log.publish("project", "{}");
  waiting.join();
  ASSERT_EQ(got.size(), 1U);
  std::thread closed([&] { got = log.after(1, milliseconds(60'000)); });
  log.close();
  closed.join();
  EXPECT_TRUE(got.empty());
  EXPECT_FALSE(log.enter());
}

TEST(EventLog, HasSoManyPlaces) {
  EventLog log;
  for (int i = 0; i < EventLog::kMostStreams; ++i) EXPECT_TRUE(log.enter());
  EXPECT_FALSE(log.enter());
  log.leave();
  EXPECT_TRUE(log.enter());
}

}  // namespace
