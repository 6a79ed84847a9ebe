#include <gmock/gmock.h>

#include <thread>

#include "base/time.h"

namespace girdle::base {
namespace {

using testing::HasSubstr;

Zone zone(std::string_view name) {
  auto found = Zone::find(name);
  EXPECT_TRUE(found) << name;
  return found ? std::move(found).value() : Zone::utc();
}

// A wall time, as milliseconds of the local calendar.
int64_t wall(std::string_view text) { return to_millis(*parse_rfc3339(std::string(text) + "Z")); }

int64_t unix_seconds(const Zone& in, std::string_view text, TwiceRule twice = TwiceRule::kRefuse) {
  const auto instant = in.to_instant(wall(text), twice);
  EXPECT_TRUE(instant) << text << ": " << instant.error().text;
  return instant ? to_millis(*instant) / 1000 : 0;
}

std::string refusal(const Zone& in, std::string_view text, TwiceRule twice = TwiceRule::kRefuse) {
  const auto instant = in.to_instant(wall(text), twice);
  EXPECT_FALSE(instant) << text;
  return instant ? "" : instant.error().text;
}

// IANA tz database 2025b, read with Python's zoneinfo and checked with zdump.
TEST(Zone, ChangesItsOffsetWhenTheDatabaseSays) {
  struct {
    const char* zone;
    int64_t at;
    int64_t before, after;
  } constexpr kChanges[] = {{"Europe/Brussels", 1711846800, 3600, 7200},
                            {"Europe/Brussels", 1729990800, 7200, 3600},
                            {"America/New_York", 1710054000, -18000, -14400},
                            {"America/New_York", 1730613600, -14400, -18000}};
  for (const auto& change : kChanges) {
    EXPECT_EQ(zone(change.zone).offset_seconds(from_millis(change.at * 1000 - 1)), change.before);
    EXPECT_EQ(zone(change.zone).offset_seconds(from_millis(change.at * 1000)), change.after);
  }
}

TEST(Zone, WithoutSummerTimeKeepsItsOffset) {  // Asia/Hong_Kong has no change in 2025 (as above)
  const Zone hong_kong = zone("Asia/Hong_Kong");
  for (int64_t at = 1735689600; at < 1767225600; at += 86400) {
    EXPECT_EQ(hong_kong.offset_seconds(from_millis(at * 1000)), 28800);
  }
}

// Same source as above.
TEST(Zone, RefusesTheHourThatDoesNotCome) {
  EXPECT_THAT(refusal(zone("Europe/Brussels"), "2024-03-31T02:30:00"), HasSubstr("does not come"));
  EXPECT_THAT(refusal(zone("Europe/Brussels"), "2025-03-30T02:30:00"),
              HasSubstr("Europe/Brussels"));
  refusal(zone("America/New_York"), "2024-03-10T02:30:00", TwiceRule::kEarlier);
  refusal(zone("America/New_York"), "2025-03-09T02:30:00", TwiceRule::kLater);
  const Zone brussels = zone("Europe/Brussels");
  EXPECT_EQ(unix_seconds(brussels, "2024-03-31T01:59:59"), 1711846799);
  EXPECT_EQ(unix_seconds(brussels, "2024-03-31T03:00:00"), 1711846800);
}

// Same source as above.
TEST(Zone, TakesTheHourThatComesTwiceOnlyByARule) {
  struct {
    const char *zone, *wall;
    int64_t earlier, later;
  } constexpr kTwice[] = {{"Europe/Brussels", "2024-10-27T02:30:00", 1729989000, 1729992600},
                          {"Europe/Brussels", "2025-10-26T02:30:00", 1761438600, 1761442200},
                          {"America/New_York", "2024-11-03T01:30:00", 1730611800, 1730615400},
                          {"America/New_York", "2025-11-02T01:30:00", 1762061400, 1762065000},
                          {"Australia/Lord_Howe", "2024-04-07T01:45:00", 1712414700, 1712416500}};
  for (const auto& twice : kTwice) {
    const Zone in = zone(twice.zone);
    EXPECT_THAT(refusal(in, twice.wall), HasSubstr("comes twice"));
    EXPECT_EQ(unix_seconds(in, twice.wall, TwiceRule::kEarlier), twice.earlier);
    EXPECT_EQ(unix_seconds(in, twice.wall, TwiceRule::kLater), twice.later);
  }
  EXPECT_EQ(unix_seconds(zone("Asia/Kolkata"), "2024-03-31T02:30:00"), 1711832400);
}

TEST(Zone, RuleChangesNothingWhereALocalTimeComesOnce) {
  const Zone brussels = zone("Europe/Brussels");
  EXPECT_EQ(unix_seconds(brussels, "2024-06-01T12:00:00", TwiceRule::kLater),
            unix_seconds(brussels, "2024-06-01T12:00:00"));
}

// What is remembered from one call must not show in the next: every quarter of an hour of two
// years, forwards and in steps that jump about, from one Zone and from a fresh one each time.
TEST(Zone, AnswersTheSameWhateverItWasAskedBefore) {
  for (const char* name :
       {"Europe/Brussels", "Australia/Lord_Howe", "America/St_Johns", "Pacific/Apia"}) {
    const Zone used = zone(name), unused = used;
    const int64_t from = wall("2010-12-30T00:00:00");
    constexpr int64_t kQuarter = 900'000, kSteps = 2 * 366 * 96;
    for (int64_t step = 0; step < kSteps; ++step) {
      for (const int64_t local :
           {from + step * kQuarter, from + (step * 7919 % kSteps) * kQuarter}) {
        // Nothing is remembered by this one.
        const auto expected = Zone(unused).to_instant(local, TwiceRule::kEarlier);
        const auto given = used.to_instant(local, TwiceRule::kEarlier);
        ASSERT_EQ(given.ok(), expected.ok()) << name << ' ' << local;
        if (!given) continue;
        ASSERT_EQ(*given, *expected) << name << ' ' << local;
        ASSERT_EQ(to_millis(*given) + unused.offset_seconds(*given) * 1000, local);
      }
    }
  }
}

TEST(Zone, KnowsLinksAndRefusesNamesThatAreNone) {  // tz database, file backward; there is no
                                                    // Europe/Antwerp
  EXPECT_EQ(unix_seconds(zone("Asia/Calcutta"), "2024-03-31T02:30:00"), 1711832400);
  const auto antwerp = Zone::find("Europe/Antwerp");
  ASSERT_FALSE(antwerp);
  EXPECT_THAT(antwerp.error().text, HasSubstr("Europe/Antwerp"));
  const auto misspelt = Zone::find("Europe/Brusels");
  ASSERT_FALSE(misspelt);
  EXPECT_THAT(misspelt.error().text, HasSubstr("did you mean Europe/Brussels?"));
  EXPECT_FALSE(Zone::find(""));
  EXPECT_FALSE(Zone::find("../../etc/passwd"));
  EXPECT_FALSE(Zone::find("europe/brussels"));
}

TEST(Zone, HasAlwaysAnUtc) {
  EXPECT_EQ(unix_seconds(Zone::utc(), "2024-10-27T02:30:00"), 1729996200);
  EXPECT_EQ(Zone::utc().offset_seconds(from_millis(0)), 0);
}

TEST(Zone, ServesAThreadACopy) {
  const Zone brussels = zone("Europe/Brussels");
  std::vector<std::jthread> threads;
  std::atomic<int> wrong{0};
  for (int n = 0; n < 4; ++n) {
    threads.emplace_back([copy = brussels, &wrong] {
      for (int64_t day = 0; day < 2000; ++day) {
        const int64_t local = wall("2020-01-01T12:00:00") + day * 86'400'000;
        const auto instant = copy.to_instant(local, TwiceRule::kRefuse);
        if (!instant || to_millis(*instant) + copy.offset_seconds(*instant) * 1000 != local)
          ++wrong;
      }
    });
  }
  threads.clear();
  EXPECT_EQ(wrong, 0);
}

}  // namespace
}  // namespace girdle::base
