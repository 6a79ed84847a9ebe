#include "base/time.h"

#include <gtest/gtest.h>

#include <ctime>

namespace girdle::base {
namespace {

int64_t millis_of(std::string_view text) {
  const auto instant = parse_rfc3339(text);
  EXPECT_TRUE(instant) << text;
  return instant ? to_millis(*instant) : 0;
}

// RFC 3339 section 5.8, all five examples; the Unix times are date(1)'s (GNU coreutils 9.1) and,
// for leap seconds, POSIX.1-2017 4.16's formula, under which :60 is the second that follows.
TEST(Rfc3339, ReadsTheExamplesOfTheStandard) {
  EXPECT_EQ(millis_of("1985-04-12T23:20:50.52Z"), 482'196'050'520);
  EXPECT_EQ(millis_of("1996-12-19T16:39:57-08:00"), 851'042'397'000);
  EXPECT_EQ(millis_of("1990-12-31T23:59:60Z"), 662'688'000'000);
  EXPECT_EQ(millis_of("1990-12-31T15:59:60-08:00"), 662'688'000'000);
  EXPECT_EQ(millis_of("1937-01-01T12:00:27.87+00:20"), -1'041'337'172'130);
}

// JSON-Schema-Test-Suite at 44401e0, tests/draft2020-12/optional/format/date-time.json: all of its
// strings.
TEST(Rfc3339, TakesWhatTheJsonSchemaTestSuiteTakes) {
  for (const char* text :
       {"1963-06-19T08:30:06.283185Z", "1963-06-19T08:30:06Z", "1937-01-01T12:00:27.87+00:20",
        "1990-12-31T15:59:50.123-08:00", "1998-12-31T23:59:60Z", "1998-12-31T15:59:60.123-08:00",
        "1963-06-19t08:30:06.283185z", "1985-04-12T00:59:59.999999999999999Z"}) {
    EXPECT_TRUE(parse_rfc3339(text)) << text;
  }
}

TEST(Rfc3339, RefusesWhatTheJsonSchemaTestSuiteRefuses) {
  for (const char* text :
       {"1998-12-31T23:59:61Z", "1998-12-31T23:58:60Z", "1998-12-31T22:59:60Z",
        "1990-02-31T15:59:59.123-08:00", "1990-12-31T15:59:59-24:00",
        "1963-06-19T08:30:06.28123+01:00Z", "1990-12-31T24:00:00Z", "1990-12-31T15:60:00Z",
        "1990-12-31T10:00:00+10:60", "06/19/1963 08:30:06 PST", "2013-350T01:01:01",
        "1963-6-19T08:30:06.283185Z", "1963-06-1T08:30:06.283185Z", "1963-06-1৪T00:00:00Z",
        "1963-06-11T0৪:00:00Z", "+11963-06-19T08:30:06.283185Z", "1985-04-12T23:20:50+01",
        "2016-12-31T24:59:60+01:00", "1985-04-12T23:20:50Z\n"}) {
    EXPECT_FALSE(parse_rfc3339(text)) << text;
  }
}

// By the grammar of RFC 3339 section 5.6.
TEST(Rfc3339, RefusesAnyTextThatIsCutOrHasSomethingPut) {
  const std::string whole = "2026-11-02T10:15:30.250+01:00";
  for (size_t size = 0; size < whole.size(); ++size)
    EXPECT_FALSE(parse_rfc3339(whole.substr(0, size))) << size;
  for (size_t at = 0; at <= whole.size(); ++at) {
    EXPECT_FALSE(parse_rfc3339(std::string(whole).insert(at, "x"))) << at;
    EXPECT_FALSE(parse_rfc3339(std::string(whole).insert(at, " "))) << at;
  }
  for (const char* text :
       {"2026-11-02T10:15:30.Z", "2026-11-02T10:15:30,5Z", "2026-11-02  10:15:30Z",
        "2026-11-02T10:15:30", "2026-11-02T10:15Z", "2026-11-02T10:15:30+0100", "2026-11-02",
        "2026-00-02T10:15:30Z", "2026-13-02T10:15:30Z", "2026-11-00T10:15:30Z",
        "2100-02-29T10:15:30Z", "2026-11-02T10:15:30UTC", "-026-11-02T10:15:30Z"}) {
    EXPECT_FALSE(parse_rfc3339(text)) << text;
  }
}

TEST(Rfc3339, TakesASpaceForTheT) {  // section 5.6's note: "for the sake of readability"
  EXPECT_EQ(parse_rfc3339("2026-11-02 10:15:30Z"), parse_rfc3339("2026-11-02T10:15:30Z"));
}

TEST(Rfc3339, DropsDigitsPastTheMillisecond) {
  EXPECT_EQ(millis_of("1985-04-12T00:59:59.999999999999999Z") % 1000, 999);
  EXPECT_EQ(millis_of("1985-04-12T00:59:59.5Z") % 1000, 500);
  EXPECT_EQ(millis_of("1985-04-12T00:59:59.0019Z") % 1000, 1);
}

// Against the C library's own calendar, a day a week from year 1000 to year 9999.
TEST(Rfc3339, HasTheCalendarOfTheCLibrary) {
  for (int64_t day = -354'285; day < 2'932'897; day += 7) {
    const time_t seconds = day * 86400 + 3661;
    tm parts{};
    gmtime_r(&seconds, &parts);
    char expected[64];
    ASSERT_GT(std::strftime(expected, sizeof expected, "%Y-%m-%dT%H:%M:%S.000Z", &parts), 0u);
    ASSERT_EQ(format_rfc3339(from_millis(seconds * 1000)), expected);
    ASSERT_EQ(millis_of(expected), seconds * 1000);
  }
}

// Section 1: "between 0000AD and 9999AD".
TEST(Rfc3339, KeepsToTheYearsThatFourDigitsCanSay) {
  EXPECT_EQ(millis_of("0000-01-01T00:00:00Z"), -62'167'219'200'000);
  EXPECT_EQ(millis_of("9999-12-31T23:59:59.999Z"), 253'402'300'799'999);
  EXPECT_FALSE(parse_rfc3339("9999-12-31T23:59:59-00:01"));
  EXPECT_FALSE(parse_rfc3339("0000-01-01T00:00:00+00:01"));
}

TEST(Rfc3339, WritesMillisecondsAlwaysSoThatTextsSortAsTimesDo) {
  EXPECT_EQ(format_rfc3339(from_millis(0)), "1970-01-01T00:00:00.000Z");
  EXPECT_EQ(format_rfc3339(from_millis(-1)), "1969-12-31T23:59:59.999Z");
  EXPECT_EQ(format_rfc3339(from_millis(1'793'614'530'042)), "2026-11-02T10:15:30.042Z");
  EXPECT_LT(format_rfc3339(from_millis(999)), format_rfc3339(from_millis(1000)));
}

TEST(Durations, ReadAWholeNumberAndOneUnit) {
  EXPECT_EQ(parse_duration("200ms"), Millis(200));
  EXPECT_EQ(parse_duration("45s"), Millis(45'000));
  EXPECT_EQ(parse_duration("2min"), Millis(120'000));
  EXPECT_EQ(parse_duration("8h"), Millis(28'800'000));
  EXPECT_EQ(parse_duration("30d"), Millis(2'592'000'000));
  EXPECT_EQ(parse_duration("0s"), Millis(0));
}

TEST(Durations, RefuseEverythingElse) {
  for (const char* text :
       {"", "5", "s", "5 s", " 5s", "-5s", "+5s", "5S", "5m", "5sec", "1.5h", "1h30min", "5w",
        "99999999999999999999s", "36501d", "9223372036854775807d"}) {
    EXPECT_FALSE(parse_duration(text)) << text;
  }
}

TEST(Durations, AreWrittenInTheLargestUnitThatHoldsThemWhole) {
  for (const char* text : {"200ms", "45s", "2min", "8h", "30d", "1500ms", "90s", "36h"}) {
    EXPECT_EQ(format_duration(*parse_duration(text)), text);
  }
  EXPECT_EQ(format_duration(Millis(0)), "0ms");
  EXPECT_EQ(format_duration(*parse_duration("120min")), "2h");
}

}  // namespace
}  // namespace girdle::base
