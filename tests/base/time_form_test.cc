#include <gmock/gmock.h>

#include <clocale>
#include <ctime>

#include "base/time.h"

namespace girdle::base {
namespace {

using testing::HasSubstr;

TimeForm form(std::string_view text) {
  auto compiled = TimeForm::compile(text);
  EXPECT_TRUE(compiled) << text << ": " << compiled.error().text;
  return compiled ? std::move(compiled).value() : *TimeForm::compile("rfc3339");
}

Zone brussels() { return *Zone::find("Europe/Brussels"); }

std::string read(std::string_view pattern, std::string_view text, const Zone& zone = Zone::utc()) {
  const auto instant = form(pattern).parse(text, zone, TwiceRule::kRefuse);
  return instant ? format_rfc3339(*instant) : instant.error().text;
}

// The C library writes a time by a pattern (strftime in the C locale, POSIX.1-2017); we read the
// text by the same pattern and must come to the same second.
TEST(TimeForm, ReadsWhatTheCLibraryWritesByTheSamePattern) {
  ASSERT_STREQ(std::setlocale(LC_TIME, nullptr), "C");
  for (const char* pattern :
       {"%d.%m.%Y %H:%M:%S", "%Y-%m-%d %H:%M:%S", "%m/%d/%Y %I:%M:%S %p", "%d-%b-%Y %T",
        "%B %d, %Y %H:%M:%S", "%e %h %Y %R:%S", "%F %T", "%D %T", "%y%m%d%H%M%S", "%Y-%j %T",
        "%Y%m%dT%H%M%S%z", "%d/%m/%y %T %Z", "%%%F%t%T", "%F%n%T"}) {
    const TimeForm compiled = form(pattern);
    for (time_t at = 915'148'800; at < 1'900'000'000; at += 1'234'567) {
      tm parts{};
      gmtime_r(&at, &parts);
      char text[80];
      ASSERT_GT(std::strftime(text, sizeof text, pattern, &parts), 0u);
      const auto instant = compiled.parse(text, Zone::utc(), TwiceRule::kRefuse);
      ASSERT_TRUE(instant) << pattern << ": " << text << ": " << instant.error().text;
      ASSERT_EQ(to_millis(*instant), at * 1000) << pattern << ": " << text;
    }
  }
}

TEST(TimeForm, TakesFractionsOfASecondAfterAPointOrAComma) {
  EXPECT_EQ(read("%F %T", "2026-11-02 10:15:30.25"), "2026-11-02T10:15:30.250Z");
  EXPECT_EQ(read("%F %T", "2026-11-02 10:15:30,2509"), "2026-11-02T10:15:30.250Z");
  EXPECT_EQ(read("%Y%m%d%H%M%S.%f", "20261102101530.007"), "2026-11-02T10:15:30.007Z");
}

TEST(TimeForm, TakesMonthsInAnyCaseAndEnglishOnly) {
  EXPECT_EQ(read("%d %b %Y", "2 nov 2026"), "2026-11-02T00:00:00.000Z");
  EXPECT_EQ(read("%d %b %Y", "2 NOVEMBER 2026"), "2026-11-02T00:00:00.000Z");
  EXPECT_THAT(read("%d %b %Y", "2 novembre 2026"), HasSubstr("does not have the form"));
  EXPECT_EQ(read("%d %B %Y", "3 May 2026"), "2026-05-03T00:00:00.000Z");
}

TEST(TimeForm, PutsTwoDigitYearsAsPosixDoes) {  // POSIX.1-2017 strptime: 69-99 are 1969-1999, 00-68
                                                // are 2000-2068
  EXPECT_EQ(read("%y-%m-%d", "69-01-01").substr(0, 4), "1969");
  EXPECT_EQ(read("%y-%m-%d", "68-01-01").substr(0, 4), "2068");
}

TEST(TimeForm, KnowsNoonAndMidnightOfTheHalfDay) {
  EXPECT_EQ(read("%F %I:%M %p", "2026-11-02 12:00 AM"), "2026-11-02T00:00:00.000Z");
  EXPECT_EQ(read("%F %I:%M %p", "2026-11-02 12:00 pm"), "2026-11-02T12:00:00.000Z");
  EXPECT_EQ(read("%p %I:%M %F", "PM 01:30 2026-11-02"), "2026-11-02T13:30:00.000Z");
  EXPECT_THAT(read("%F %I:%M %p", "2026-11-02 13:00 PM"),
              HasSubstr("the hour must lie from 1 to 12"));
}

TEST(TimeForm, RefusesTimesThatNoCalendarHas) {
  EXPECT_THAT(read("%d.%m.%Y", "31.02.2026"), HasSubstr("there is no such day in that month"));
  EXPECT_THAT(read("%d.%m.%Y", "29.02.2100"), HasSubstr("no such day"));
  EXPECT_THAT(read("%d.%m.%Y", "00.01.2026"), HasSubstr("no such day"));
  EXPECT_THAT(read("%d.%m.%Y", "01.13.2026"), HasSubstr("no such month"));
  EXPECT_THAT(read("%F %H:%M", "2026-11-02 25:00"), HasSubstr("no such hour"));
  EXPECT_THAT(read("%F %H:%M", "2026-11-02 24:00"), HasSubstr("no such hour"));
  EXPECT_THAT(read("%F %H:%M", "2026-11-02 10:60"), HasSubstr("no such minute"));
  EXPECT_THAT(read("%F %T", "2026-11-02 10:00:60"), HasSubstr("no such second"));
  EXPECT_THAT(read("%Y-%j", "2026-366"), HasSubstr("no such day"));
  EXPECT_THAT(read("%Y-%j", "2026-000"), HasSubstr("no such day"));
  EXPECT_EQ(read("%Y-%j", "2024-366"), "2024-12-31T00:00:00.000Z");
}

TEST(TimeForm, TakesTheWholeTextOrNothing) {
  EXPECT_THAT(read("%d.%m.%Y", "02.11.2026 "),
              HasSubstr("\"02.11.2026 \": does not have the form \"%d.%m.%Y\""));
  EXPECT_THAT(read("%d.%m.%Y", " 02.11.2026"), HasSubstr("form"));
  EXPECT_THAT(read("%d.%m.%Y", "02.11.26"), HasSubstr("form"));
  EXPECT_THAT(read("%d.%m.%Y", "02/11/2026"), HasSubstr("form"));
  EXPECT_THAT(read("%F", "2026-11-02T10:15:30Z"), HasSubstr("form"));
}

TEST(TimeForm, TakesLocalTimesInItsZoneAndOffsetsAsTheyStand) {
  EXPECT_EQ(read("%F %T", "2026-07-01 10:00:00", brussels()), "2026-07-01T08:00:00.000Z");
  EXPECT_EQ(read("%F %T%z", "2026-07-01 10:00:00-0500", brussels()), "2026-07-01T15:00:00.000Z");
  EXPECT_EQ(read("%F %T %Z", "2026-07-01 10:00:00 GMT", brussels()), "2026-07-01T10:00:00.000Z");
  EXPECT_THAT(read("%F %T %Z", "2026-07-01 10:00:00 CEST", brussels()), HasSubstr("form"));
  EXPECT_EQ(read("rfc3339", "2026-07-01T10:00:00+02:00", brussels()), "2026-07-01T08:00:00.000Z");
  EXPECT_THAT(read("%F %T", "2026-03-29 02:30:00", brussels()),
              HasSubstr("does not come in Europe/Brussels"));
  EXPECT_THAT(read("%F %T", "2026-10-25 02:30:00", brussels()), HasSubstr("comes twice"));
}

TEST(TimeForm, ReadsSecondsAndMillisecondsSince1970) {
  EXPECT_EQ(read("unix", "1793614530"), "2026-11-02T10:15:30.000Z");
  EXPECT_EQ(read("unix", "1793614530.25"), "2026-11-02T10:15:30.250Z");
  EXPECT_EQ(read("unix", "-1"), "1969-12-31T23:59:59.000Z");
  EXPECT_EQ(read("unix_ms", "1793614530042"), "2026-11-02T10:15:30.042Z");
  for (const char* text : {"", "-", "1.", "1e9", "+1", " 1", "179361453000", "0x10"}) {
    EXPECT_THAT(read("unix", text), HasSubstr("\": ")) << text;
  }
  EXPECT_THAT(read("unix_ms", "1793614530042.5"), HasSubstr("not milliseconds"));
}

TEST(TimeForm, KeepsToTheYearsThatFourDigitsCanSay) {
  EXPECT_THAT(read("unix", "-62167219201"), HasSubstr("outside of the years 0000 to 9999"));
  EXPECT_EQ(read("unix_ms", "99999999999999"), "5138-11-16T09:46:39.999Z");
  EXPECT_EQ(read("unix", "-62167219200"), "0000-01-01T00:00:00.000Z");
  EXPECT_THAT(read("unix_ms", "-62167219200001"), HasSubstr("outside"));
  EXPECT_THAT(read("%F %R%z", "9999-12-31 23:59-2359"), HasSubstr("outside"));
  EXPECT_THAT(read("%F %R", "9999-12-31 23:59", *Zone::find("America/New_York")),
              HasSubstr("outside"));
}

TEST(TimeForm, SaysWhatAnUnreadableTimeShouldLookLike) {
  EXPECT_EQ(read("rfc3339", "02.11.2026"),
            "\"02.11.2026\": not a time after RFC 3339, such as 2026-11-02T10:15:30+01:00");
}

TEST(TimeForm, RefusesPatternsThatGiveNoWholeTime) {
  const auto refusal = [](std::string_view text) {
    const auto compiled = TimeForm::compile(text);
    return compiled ? std::string("taken") : compiled.error().text;
  };
  EXPECT_THAT(refusal("%H:%M"), HasSubstr("does not give a whole date"));
  EXPECT_THAT(refusal("%Y %H:%M"), HasSubstr("does not give a whole date"));
  EXPECT_THAT(refusal("%Y-%d"), HasSubstr("does not give a whole date"));
  EXPECT_THAT(refusal("%m-%d"), HasSubstr("does not give a whole date"));
  EXPECT_THAT(refusal("%F %I:%M"), HasSubstr("has one of %I and %p"));
  EXPECT_THAT(refusal("%F %H:%M %p"), HasSubstr("has one of %I and %p"));
  EXPECT_THAT(refusal("%F %M"), HasSubstr("minutes without hours"));
  EXPECT_THAT(refusal("%F %H:%S"), HasSubstr("seconds without minutes"));
  EXPECT_THAT(refusal("%F %R.%f"), HasSubstr("a fraction without seconds"));
  EXPECT_THAT(refusal("%F %q"), HasSubstr("%q"));
  EXPECT_THAT(refusal("%F %"), HasSubstr("%%"));
  EXPECT_THAT(refusal("iso8601"), HasSubstr("rfc3339"));
  EXPECT_EQ(refusal(""), "taken");  // rfc3339
}

}  // namespace
}  // namespace girdle::base
