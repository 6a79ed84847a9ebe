#include "delivery/http_date.h"

#include <gtest/gtest.h>

namespace girdle::delivery {
namespace {

using std::chrono::hours;
using std::chrono::seconds;

base::Instant at(int64_t unix_seconds) { return base::from_millis(unix_seconds * 1000); }
const base::Instant kNow = at(1793614530);  // 2026-11-02T10:15:30Z

// RFC 9110 5.6.7: the three forms of one moment, and the example of 10.2.3.
TEST(HttpDate, ReadsTheThreeForms) {
  const auto moment = at(784111777);
  EXPECT_EQ(parse_http_date("Sun, 06 Nov 1994 08:49:37 GMT", kNow), moment);
  EXPECT_EQ(parse_http_date("Sunday, 06-Nov-94 08:49:37 GMT", kNow), moment);
  EXPECT_EQ(parse_http_date("Sun Nov  6 08:49:37 1994", kNow), moment);
  EXPECT_EQ(parse_http_date("Fri, 31 Dec 1999 23:59:59 GMT", kNow), at(946684799));
  EXPECT_EQ(parse_http_date("Fri Dec 31 23:59:59 1999", kNow), at(946684799));
}

// RFC 9110 5.6.7: more than 50 years in the future means the past.
TEST(HttpDate, PutsATwoDigitYearWithinFiftyYears) {
  EXPECT_EQ(parse_http_date("Tuesday, 03-Nov-26 00:00:00 GMT", kNow), at(1793664000));
  EXPECT_EQ(parse_http_date("Sunday, 01-Nov-76 00:00:00 GMT", kNow), at(3371414400));
  EXPECT_EQ(parse_http_date("Tuesday, 01-Nov-77 00:00:00 GMT", kNow), at(247190400));
}

TEST(HttpDate, RefusesWhatIsNoDate) {
  for (const char* text :
       {"", "Sun", "Sun, 06 Nov 1994 08:49:37", "Sun, 06 Nov 1994 08:49:37 UTC",
        "Sun, 6 Nov 1994 08:49:37 GMT", "Sun, 31 Feb 2026 08:49:37 GMT",
        "Sun, 06 Nov 1994 24:49:37 GMT", "Sun, 06 Nov 1994 08:60:37 GMT",
        "Sun, 06 Nov 1994 08:49:61 GMT", "Xyz, 06 Nov 1994 08:49:37 GMT",
        "Sun, 06 Xyz 1994 08:49:37 GMT", "Sun, 00 Nov 1994 08:49:37 GMT", "Sun Nov 6 08:49:37 1994",
        "Sun, 06 Nov 1994 08:49:37 GMT ", "1994-11-06T08:49:37Z", "Sun, 06-Nov-94 08:49:37 GMT"}) {
    EXPECT_EQ(parse_http_date(text, kNow), std::nullopt) << text;
  }
}

// RFC 9110 10.2.3 (120) and RFC 6585 section 4 (3600).
TEST(RetryAfter, TakesSeconds) {
  EXPECT_EQ(parse_retry_after("120", kNow), seconds(120));
  EXPECT_EQ(parse_retry_after(" 3600 ", kNow), seconds(3600));
  EXPECT_EQ(parse_retry_after("0", kNow), seconds(0));
}

TEST(RetryAfter, TakesEachFormOfADate) {
  EXPECT_EQ(parse_retry_after("Mon, 02 Nov 2026 10:17:30 GMT", kNow), seconds(120));
  EXPECT_EQ(parse_retry_after("Monday, 02-Nov-26 10:17:30 GMT", kNow), seconds(120));
  EXPECT_EQ(parse_retry_after("Mon Nov  2 10:17:30 2026", kNow), seconds(120));
  EXPECT_EQ(parse_retry_after("Fri, 31 Dec 1999 23:59:59 GMT", kNow), seconds(0));
}

TEST(RetryAfter, NeverOverflows) {
  EXPECT_EQ(parse_retry_after(std::string(60, '9'), kNow), hours(24 * 365));
  EXPECT_EQ(parse_retry_after("Fri, 31 Dec 9999 23:59:59 GMT", kNow), hours(24 * 365));
}

TEST(RetryAfter, IgnoresWhatItCannotRead) {
  for (const char* text : {"", " ", "-1", "+5", "1.5", "5s", "soon", "0x10"}) {
    EXPECT_EQ(parse_retry_after(text, kNow), std::nullopt) << text;
  }
}

}  // namespace
}  // namespace girdle::delivery
