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

std::string written(std::string_view pattern, int64_t millis, std::string_view zone = "UTC") {
  std::string out;
  return form(pattern).append(out, from_millis(millis), *Zone::find(zone)) ? out : "(none)";
}

TEST(TimeForm, WritesWhatPythonWritesInTheSameZone) {
  struct Case {
    int64_t millis;
    const char *zone, *pattern, *text;
  };
  // Computed with Python 3.11: datetime.fromtimestamp(…, ZoneInfo(zone)).strftime(pattern), and for
  // rfc3339 isoformat(timespec="milliseconds").
  for (const Case& one : std::vector<Case>{
           {1793614530250, "UTC", "%d.%m.%Y %H:%M:%S", "02.11.2026 10:15:30"},
           {1793614530250, "Europe/Brussels", "%m/%d/%Y %I:%M:%S %p", "11/02/2026 11:15:30 AM"},
           {1793614530250, "America/New_York", "%e %b %Y %T", " 2 Nov 2026 05:15:30"},
           {1793614530250, "Asia/Kolkata", "%B %d, %Y %R", "November 02, 2026 15:45"},
           {1774744199000, "UTC", "%m/%d/%Y %I:%M:%S %p", "03/29/2026 12:29:59 AM"},
           {1774744199000, "Europe/Brussels", "%e %b %Y %T", "29 Mar 2026 01:29:59"},
           {1774744199000, "America/New_York", "%B %d, %Y %R", "March 28, 2026 20:29"},
           {1774744199000, "Asia/Kolkata", "%Y-%jT%H%M%S%z", "2026-088T055959+0530"},
           {1774746000000, "UTC", "%e %b %Y %T", "29 Mar 2026 01:00:00"},
           {1774746000000, "Europe/Brussels", "%B %d, %Y %R", "March 29, 2026 03:00"},
           {1774746000000, "America/New_York", "%Y-%jT%H%M%S%z", "2026-087T210000-0400"},
           {1774746000000, "Asia/Kolkata", "%y%m%d%H%M", "2603290630"},
           {1792890000000, "UTC", "%B %d, %Y %R", "October 25, 2026 01:00"},
           {1792890000000, "Europe/Brussels", "%Y-%jT%H%M%S%z", "2026-298T020000+0100"},
           {1792890000000, "America/New_York", "%y%m%d%H%M", "2610242100"},
           {1792890000000, "Asia/Kolkata", "%D %h %F%%", "10/25/26 Oct 2026-10-25%"},
           {1792893600000, "UTC", "%Y-%jT%H%M%S%z", "2026-298T020000+0000"},
           {1792893600000, "Europe/Brussels", "%y%m%d%H%M", "2610250300"},
           {1792893600000, "America/New_York", "%D %h %F%%", "10/24/26 Oct 2026-10-24%"},
           {1792893600000, "Asia/Kolkata", "%d.%m.%Y %H:%M:%S", "25.10.2026 07:30:00"},
           {951782399999, "UTC", "%y%m%d%H%M", "0002282359"},
           {951782399999, "Europe/Brussels", "%D %h %F%%", "02/29/00 Feb 2000-02-29%"},
           {951782399999, "America/New_York", "%d.%m.%Y %H:%M:%S", "28.02.2000 18:59:59"},
           {951782399999, "Asia/Kolkata", "%m/%d/%Y %I:%M:%S %p", "02/29/2000 05:29:59 AM"},
           {0, "UTC", "%D %h %F%%", "01/01/70 Jan 1970-01-01%"},
           {0, "Europe/Brussels", "%d.%m.%Y %H:%M:%S", "01.01.1970 01:00:00"},
           {0, "America/New_York", "%m/%d/%Y %I:%M:%S %p", "12/31/1969 07:00:00 PM"},
           {0, "Asia/Kolkata", "%e %b %Y %T", " 1 Jan 1970 05:30:00"},
           {-1000, "UTC", "%d.%m.%Y %H:%M:%S", "31.12.1969 23:59:59"},
           {-1000, "Europe/Brussels", "%m/%d/%Y %I:%M:%S %p", "01/01/1970 12:59:59 AM"},
           {-1000, "America/New_York", "%e %b %Y %T", "31 Dec 1969 18:59:59"},
           {-1000, "Asia/Kolkata", "%B %d, %Y %R", "January 01, 1970 05:29"},
           {4102444799000, "UTC", "%m/%d/%Y %I:%M:%S %p", "12/31/2099 11:59:59 PM"},
           {4102444799000, "Europe/Brussels", "%e %b %Y %T", " 1 Jan 2100 00:59:59"},
           {4102444799000, "America/New_York", "%B %d, %Y %R", "December 31, 2099 18:59"},
           {4102444799000, "Asia/Kolkata", "%Y-%jT%H%M%S%z", "2100-001T052959+0530"},
           {1793577600000, "UTC", "%e %b %Y %T", " 2 Nov 2026 00:00:00"},
           {1793577600000, "Europe/Brussels", "%B %d, %Y %R", "November 02, 2026 01:00"},
           {1793577600000, "America/New_York", "%Y-%jT%H%M%S%z", "2026-305T190000-0500"},
           {1793577600000, "Asia/Kolkata", "%y%m%d%H%M", "2611020530"},
           {1782950400000, "UTC", "%B %d, %Y %R", "July 02, 2026 00:00"},
           {1782950400000, "Europe/Brussels", "%Y-%jT%H%M%S%z", "2026-183T020000+0200"},
           {1782950400000, "America/New_York", "%y%m%d%H%M", "2607012000"},
           {1782950400000, "Asia/Kolkata", "%D %h %F%%", "07/02/26 Jul 2026-07-02%"},
           {1793614530250, "Europe/Brussels", "rfc3339", "2026-11-02T11:15:30.250+01:00"},
           {1782950400000, "America/New_York", "rfc3339", "2026-07-01T20:00:00.000-04:00"},
           {1793614530000, "Asia/Kolkata", "rfc3339", "2026-11-02T15:45:30.000+05:30"},
           {1793614530042, "UTC", "rfc3339", "2026-11-02T10:15:30.042Z"}}) {
    EXPECT_EQ(written(one.pattern, one.millis, one.zone), one.text)
        << one.millis << " " << one.zone << " " << one.pattern;
  }
}

TEST(TimeForm, WritesWhatTheCLibraryWritesByTheSamePattern) {
  ASSERT_STREQ(std::setlocale(LC_TIME, nullptr), "C");
  for (const char* pattern :
       {"%d.%m.%Y %H:%M:%S", "%m/%d/%Y %I:%M:%S %p", "%d-%b-%Y %T", "%B %d, %Y %H",
        "%e %h %Y %R:%S", "%F%n%T", "%D%t%T", "%y%m%d%H%M%S", "%Y-%j", "%%%F"}) {
    for (time_t at = -1'000'000'000; at < 1'900'000'000; at += 7'654'321) {
      tm parts{};
      gmtime_r(&at, &parts);
      char text[80];
      ASSERT_GT(std::strftime(text, sizeof text, pattern, &parts), 0u);
      ASSERT_EQ(written(pattern, at * 1'000), text) << pattern;
    }
  }
}

// RFC 3339 5.8 has 1996-12-19T16:39:57-08:00 and 1996-12-20T00:39:57Z for one moment.
TEST(TimeForm, WritesTheExampleOfRfc3339) {
  constexpr int64_t kMoment = 851'042'397'000;
  EXPECT_EQ(written("rfc3339", kMoment), "1996-12-20T00:39:57.000Z");
  EXPECT_EQ(written("rfc3339", kMoment, "America/Los_Angeles"), "1996-12-19T16:39:57.000-08:00");
}

TEST(TimeForm, WritesUnixTimesInWholeSecondsAndInMilliseconds) {  // POSIX.1-2017 4.16: floor
  EXPECT_EQ(written("unix", 1793614530999), "1793614530");
  EXPECT_EQ(written("unix", -1), "-1");
  EXPECT_EQ(written("unix_ms", 1793614530999, "Asia/Kolkata"), "1793614530999");
  EXPECT_EQ(written("unix_ms", -1), "-1");
}

TEST(TimeForm, ReadsBackTheInstantThatItWrote) {
  for (const char* zone : {"UTC", "Europe/Brussels", "America/New_York", "Asia/Kolkata"}) {
    for (const char* pattern :
         {"rfc3339", "unix_ms", "%F %T.%f%z", "%d.%m.%Y %H:%M:%S,%f %z", "%Y-%jT%T.%f %Z",
          "%e %B %Y %I:%M:%S.%f %p %z", "%y%m%d%H%M%S.%f%z"}) {
      const TimeForm compiled = form(pattern);
      for (int64_t millis = 10; millis < 3'000'000'000'000; millis += 12'345'678'901) {
        const std::string text = written(pattern, millis, zone);
        const auto instant = compiled.parse(text, *Zone::find(zone), TwiceRule::kRefuse);
        ASSERT_TRUE(instant) << pattern << ": " << instant.error().text;
        ASSERT_EQ(to_millis(*instant), millis) << pattern << ": " << text;
      }
    }
  }
}

TEST(TimeForm, WritesAFormWithANameOfAZoneInUtc) {
  EXPECT_EQ(written("%F %R %Z", 1793614530000, "Europe/Brussels"), "2026-11-02 10:15 UTC");
  EXPECT_FALSE(form("%F %R %Z").asks_for_zone());
  EXPECT_FALSE(form("unix").asks_for_zone());
  EXPECT_TRUE(form("%F %R %z").asks_for_zone());
  EXPECT_TRUE(form("rfc3339").asks_for_zone());
}

TEST(TimeForm, WritesNoYearThatFourDigitsCannotSay) {
  EXPECT_EQ(written("%F", 253'402'300'799'999), "9999-12-31");
  EXPECT_EQ(written("%F", 253'402'300'799'999, "Asia/Kolkata"), "(none)");
  EXPECT_EQ(written("rfc3339", 253'402'300'799'999, "Asia/Kolkata"), "(none)");
  EXPECT_EQ(written("%F", -62'167'219'200'000, "America/New_York"), "(none)");
}

// Brussels was 17 min 30 s east of Greenwich until 1892 (IANA time zone database, europe: "Zone
// Europe/Brussels 0:17:30
// - LMT 1880"). An offset has no seconds, so the local time beside it is that of 17 minutes.
TEST(TimeForm, AnOffsetAndItsLocalTimeAreOneInstant) {
  EXPECT_EQ(written("%F %T%z", -3'000'000'000'000, "Europe/Brussels"), "1874-12-07 18:57:00+0017");
  EXPECT_EQ(written("rfc3339", -3'000'000'000'000, "Europe/Brussels"),
            "1874-12-07T18:57:00.000+00:17");
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
