// Rows of the DMN TCK (github.com/dmn-tck/tck at 0dbcaf9) 0068, 1115, 1116 and 1117, by id or by
// what they read; XML Schema 1.1 part 2.
#include "policy/date_time.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "policy/truth.h"
#include "policy/values.h"

namespace girdle::policy {
namespace {

using testing::HasSubstr;

template <class T>
std::string error(std::string_view text) {
  const auto value = T::parse(text);
  EXPECT_FALSE(value.ok()) << text;
  return value ? "" : value.error().text;
}

template <class T>
std::string again(std::string_view text) {
  const auto value = T::parse(text);
  EXPECT_TRUE(value.ok()) << text;
  return value ? value->text() : "";
}

TEST(Date, IsReadAndWrittenOverAllItsYears) {
  for (const auto* text :
       {"2017-12-31", "-2017-01-01", "999999999-12-31", "-999999999-12-31", "0000-02-29"}) {
    EXPECT_EQ(again<Date>(text), text);
  }
}

TEST(Date, OfNoCalendarIsRefusedWithWhatIsWrong) {
  EXPECT_THAT(error<Date>("2017-13-10"), HasSubstr("no month 13"));
  EXPECT_THAT(error<Date>("2017-12-32"), HasSubstr("no day 32"));
  EXPECT_THAT(error<Date>("2023-02-29"), HasSubstr("no day 29 in that month"));
  EXPECT_THAT(error<Date>("01211-12-31"), HasSubstr("zero in front"));
  for (const auto* text :
       {"998-12-31", "9999999999-12-25", "+2012-12-02", "2012/12/25", "2012-12-25T", ""}) {
    EXPECT_THAT(error<Date>(text), HasSubstr("written like 2026-11-02")) << text;
  }
}

// Known days: 1970-01-01 is 0; 2000-03-01 is 11017 (POSIX, seconds since the epoch / 86400).
TEST(Date, CountsDaysBothWays) {
  EXPECT_EQ(Date::parse("1970-01-01")->days(), 0);
  EXPECT_EQ(Date::parse("2000-03-01")->days(), 11017);
  for (const int64_t number : {-365'000'000'000L, -719'529L, -1L, 0L, 365'000'000'000L}) {
    ASSERT_TRUE(Date::from_days(number)) << number;
    EXPECT_EQ(Date::from_days(number)->days(), number);
  }
  EXPECT_EQ(Date::from_days(400'000'000'001), std::nullopt);
}

TEST(Time, IsReadAndWrittenWithItsOffset) {
  EXPECT_EQ(again<Time>("11:22:33.4440"), "11:22:33.444");
  EXPECT_EQ(again<Time>("11:22:33-00:00"), "11:22:33Z");
  EXPECT_EQ(again<Time>("13:20:00+02:00"), "13:20:00+02:00");
  EXPECT_EQ(again<Time>("11:22:33.123456789"), "11:22:33.123456789");
  EXPECT_EQ(again<Time>("00:01:00@Etc/UTC"), "00:01:00@Etc/UTC");
  EXPECT_EQ(again<Time>("24:00:00"), "00:00:00");  // XML Schema 1.1, 3.3.8
}

TEST(Time, OfNoClockIsRefusedWithWhatIsWrong) {
  EXPECT_THAT(error<Time>("25:00:00"), HasSubstr("no hour 25"));
  EXPECT_THAT(error<Time>("24:01:00"), HasSubstr("no hour 24"));
  EXPECT_THAT(error<Time>("24:00:01"), HasSubstr("no hour 24"));
  EXPECT_THAT(error<Time>("00:60:00"), HasSubstr("no minute 60"));
  EXPECT_THAT(error<Time>("23:59:60"), HasSubstr("no second 60"));
  EXPECT_THAT(error<Time>("13:20:00+19:00"), HasSubstr("beyond 14:00"));
  EXPECT_THAT(error<Time>("13:20:00+5:00"), HasSubstr("written like +01:00"));
  EXPECT_THAT(error<Time>("13:20:00+02:00@Europe/Paris"), HasSubstr("one of them"));
  EXPECT_THAT(error<Time>("13:20:00@Europe/Pariss"), HasSubstr("did you mean Europe/Paris"));
  EXPECT_THAT(error<Time>("11:30:00T"), HasSubstr("goes on"));
  EXPECT_THAT(error<Time>("11:30:00.1234567891"), HasSubstr("one to nine digits"));
  for (const auto* text : {"7:00:00", "07:1:00", "07:01:2", "07:2", ""}) {
    EXPECT_THAT(error<Time>(text), HasSubstr("written like 10:15:30")) << text;
  }
}

TEST(DateTime, IsReadAndWrittenWithItsOffset) {
  for (const auto* text : {"-2017-12-31T11:22:33.456+01:35", "2011-12-31T10:15:30@Europe/Paris",
                           "999999999-12-31T23:59:59.999999999@Europe/Paris",
                           "-999999999-12-31T23:59:59.999999999+02:00"}) {
    EXPECT_EQ(again<DateTime>(text), text);
  }
  EXPECT_EQ(again<DateTime>("2012-12-24"), "2012-12-24T00:00:00");
  EXPECT_EQ(again<DateTime>("2021-01-01T24:00:00"),
            "2021-01-02T00:00:00");  // 0100-arithmetic uses it so
  EXPECT_THAT(error<DateTime>("2017-12-31T7:20"), HasSubstr("written like"));
  EXPECT_THAT(error<DateTime>("11:00:00"), HasSubstr("2026-11-02T10:15:30"));
  EXPECT_THAT(error<DateTime>("999999999-12-31T24:00:00"), HasSubstr("outside the years"));
}

// 0068 datetime_006, _008, _008_b, _009, _012, _013.
TEST(DateTime, IsEqualToTheSameInstantElsewhere) {
  EXPECT_EQ(date_time("2018-10-08T00:00:00+02:00"), date_time("2018-10-08T00:00:00@Europe/Paris"));
  EXPECT_EQ(date_time("2018-02-08T00:00:00+01:00"), date_time("2018-02-08T00:00:00@Europe/Paris"));
  EXPECT_EQ(date_time("2018-12-08T00:00:00Z"), date_time("2018-12-08T00:00:00@Etc/UTC"));
  EXPECT_EQ(date_time("2002-04-02T12:00:00-01:00"), date_time("2002-04-02T17:00:00+04:00"));
  EXPECT_EQ(date_time("2002-04-02T23:00:00-04:00"), date_time("2002-04-03T02:00:00-01:00"));
  EXPECT_EQ(date_time("2002-04-02T12:00:00@Australia/Melbourne"),
            date_time("2002-04-02T12:00:00@Australia/Sydney"));
  EXPECT_NE(date_time("2018-12-08T00:00:00@Europe/Paris"),
            date_time("2018-12-08T00:00:00@Asia/Dhaka"));
}

// Brussels left summer time at 03:00 on 2026-10-25 and entered it at 02:00 on 2026-03-29 (IANA tz
// database; RFC 5545, 3.3.5 for what a local time means there).
TEST(DateTime, TakesTheFirstOfAnHourThatComesTwiceAndGoesOnOverOneThatDoesNotCome) {
  EXPECT_EQ(date_time("2026-10-25T02:30:00@Europe/Brussels"),
            date_time("2026-10-25T02:30:00+02:00"));
  EXPECT_EQ(date_time("2026-03-29T02:30:00@Europe/Brussels"),
            date_time("2026-03-29T02:30:00+01:00"));
}

// Table 54 lends the other side's offset; that it does so for = as well is our choice.
TEST(DateTime, WithoutAnOffsetTakesTheOthers) {
  EXPECT_EQ(order_of(date_time("2026-01-01T10:00:00"), date_time("2026-01-01T10:00:00+05:00")),
            Order::kEqual);
  EXPECT_EQ(order_of(date_time("2026-01-01T09:59:59"), date_time("2026-01-01T10:00:00+05:00")),
            Order::kLess);
  EXPECT_EQ(order_of(time("10:00:00"), time("10:00:00@Europe/Brussels")), Order::kEqual);
}

// XPath functions, op:time-equal and op:time-less-than: times stand on one day.
TEST(Time, IsComparedInUtcWhereBothHaveAnOffset) {
  EXPECT_EQ(equals(time("21:30:00+10:30"), time("06:00:00-05:00")), Truth::kTrue);
  EXPECT_EQ(equals(time("08:00:00+09:00"), time("17:00:00-06:00")), Truth::kFalse);
  EXPECT_EQ(order_of(time("12:00:00-05:00"), time("23:30:00+06:00")),
            Order::kLess);  // 17:00Z, 17:30Z
}

// A zone's offset hangs on the date, which a time of day has not.
TEST(Time, OfAZoneComparesOnlyWithItsOwn) {
  EXPECT_EQ(order_of(time("10:30:00@Europe/Paris"), time("10:30:00@Europe/Paris")),
            Order::kEqual);  // 0068 time_006
  EXPECT_EQ(order_of(time("10:30:00@Europe/Paris"), time("10:30:00+01:00")), Order::kMismatch);
  EXPECT_EQ(equals(time("10:30:00@Europe/Paris"), time("10:30:00@Asia/Dhaka")), Truth::kMismatch);
}

// The kit passes them over (0068 time_005, datetime_003_a).
TEST(Time, ComparesFractionsOfASecondToo) {
  EXPECT_EQ(order_of(time("10:30:00.0001"), time("10:30:00.0002")), Order::kLess);
  EXPECT_EQ(equals(date_time("2018-12-08T00:00:00.0001"), date_time("2018-12-08T00:00:00.0000")),
            Truth::kFalse);
}

TEST(Date, DoesNotCompareWithADateTime) {
  EXPECT_EQ(order_of(date("2026-01-01"), date_time("2026-01-01T00:00:00")), Order::kMismatch);
  EXPECT_EQ(equals(days("P0D"), months("P0M")), Truth::kMismatch);
}

}  // namespace
}  // namespace girdle::policy
