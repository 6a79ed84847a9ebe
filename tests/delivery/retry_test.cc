#include "delivery/retry.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <chrono>

namespace girdle::delivery {
namespace {

using base::Millis;
using std::chrono::hours;
using std::chrono::minutes;
using std::chrono::seconds;
using testing::HasSubstr;
using Kind = Verdict::Kind;

constexpr double kMiddle = 0.5;                               // no jitter
const base::Instant kNow = base::from_millis(1793614530000);  // 2026-11-02T10:15:30Z

// The configuration's default (design 4.1).
const std::vector<Millis> kSchedule = {seconds(5), minutes(5), minutes(30), hours(2), hours(5),
                                       hours(10),  hours(14),  hours(20),   hours(24)};

Attempt answered(int status, std::string retry_after = {}) {
  Attempt attempt;
  attempt.end = Attempt::End::kAnswered;
  attempt.status = status;
  attempt.retry_after = std::move(retry_after);
  return attempt;
}

Attempt failed(std::string why) {
  Attempt attempt;
  attempt.failure = std::move(why);
  return attempt;
}

Verdict judged(const Attempt& attempt, int64_t attempts = 1, double random = kMiddle) {
  return judge(attempt, attempts, kSchedule, kNow, random);
}

// Standard Webhooks 1.0.0, section Deliverability and reliability: the example schedule, and its
// cumulative times.
TEST(Judge, TakesTheStandardsSchedule) {
  const int64_t cumulative[] = {0, 5, 305, 2105, 9305, 27305, 63305, 113705, 185705, 272105};
  Millis passed{0};
  int64_t attempts = 0;
  for (const int64_t expected : cumulative) {
    EXPECT_EQ(passed, seconds(expected));
    const Verdict verdict = judged(answered(503), ++attempts);
    EXPECT_EQ(verdict.kind, attempts < 10 ? Kind::kRetry : Kind::kPark) << attempts;
    passed += verdict.wait;
  }
  EXPECT_EQ(attempts, 10);
}

TEST(Judge, SpreadsAWaitByATenth) {
  EXPECT_EQ(judged(answered(503), 1, 0.0).wait, Millis(4500));
  EXPECT_EQ(judged(answered(503), 1, 0.999999).wait, Millis(5499));
  EXPECT_EQ(judged(answered(503), 9, 0.0).wait, Millis(hours(24)) * 9 / 10);
}

TEST(Judge, CallsEverySuccessSent) {
  for (int status = 200; status <= 299; ++status) {
    const Verdict verdict = judged(answered(status));
    EXPECT_EQ(verdict.kind, Kind::kSent);
    EXPECT_EQ(verdict.note, "");
    EXPECT_FALSE(verdict.outlet_failing);
  }
}

// CloudEvents HTTP web hooks 1.0.2 section 2.2: 410 retires the endpoint.
TEST(Judge, ClosesTheOutletWhenTheReceiverIsGone) {
  EXPECT_EQ(judged(answered(410)).kind, Kind::kCloseOutlet);
}

TEST(Judge, TriesAgainWhenTheReceiverIsBusyBrokenOrAway) {
  for (const int status : {0, 408, 425, 429, 500, 502, 503, 504, 507, 599}) {
    const Verdict verdict = judged(status == 0 ? failed("no answer") : answered(status), 9);
    EXPECT_EQ(verdict.kind, Kind::kRetry) << status;
    EXPECT_EQ(verdict.wait, hours(24)) << status;
    EXPECT_TRUE(verdict.outlet_failing) << status;
  }
}

TEST(Judge, ParksARefusedMessageAfterThreeTries) {
  for (const int status : {400, 401, 403, 404, 405, 409, 413, 415, 418, 422, 451}) {
    EXPECT_EQ(judged(answered(status), 1).kind, Kind::kRetry) << status;
    EXPECT_EQ(judged(answered(status), 2).kind, Kind::kRetry) << status;
    const Verdict third = judged(answered(status), 3);
    EXPECT_EQ(third.kind, Kind::kPark) << status;
    EXPECT_FALSE(third.outlet_failing) << status;
    EXPECT_THAT(third.note, HasSubstr("answered " + std::to_string(status)));
    EXPECT_THAT(third.note, HasSubstr("given up after 3 tries"));
  }
}

TEST(Judge, NeverFollowsARedirectAndSaysWhatWouldBeRight) {
  for (const int status : {300, 301, 302, 303, 304, 307, 308}) {
    const Verdict verdict = judged(answered(status), 3);
    EXPECT_EQ(verdict.kind, Kind::kPark) << status;
    EXPECT_THAT(verdict.note, HasSubstr("put the receiver's new address into the outlet's url"));
  }
}

TEST(Judge, SaysWhyNoAnswerCame) {
  EXPECT_EQ(judged(failed("till.example: cannot connect: Connection refused")).note,
            "till.example: cannot connect: Connection refused");
}

TEST(Judge, ObeysRetryAfterInEveryForm) {
  for (const char* text : {"120", "Mon, 02 Nov 2026 10:17:30 GMT", "Monday, 02-Nov-26 10:17:30 GMT",
                           "Mon Nov  2 10:17:30 2026"}) {
    const Verdict verdict = judged(answered(429, text));
    EXPECT_EQ(verdict.wait, seconds(120)) << text;
    EXPECT_EQ(verdict.asked, seconds(120)) << text;
  }
}

TEST(Judge, ClampsRetryAfterToADayAndNeverBelowTheSchedule) {
  EXPECT_EQ(judged(answered(503, "999999999")).wait, hours(24));
  EXPECT_EQ(judged(answered(503, "1")).wait, seconds(5));
  EXPECT_EQ(judged(answered(503, "Fri, 31 Dec 1999 23:59:59 GMT"), 2).wait,
            minutes(5));
  EXPECT_EQ(judged(answered(503, "tomorrow")).wait, seconds(5));
}

TEST(Judge, ParksAtOnceWithAnEmptySchedule) {
  EXPECT_EQ(judge(answered(503), 1, {}, kNow, kMiddle).kind, Kind::kPark);
  EXPECT_EQ(judge(answered(404), 1, {}, kNow, kMiddle).kind, Kind::kPark);
}

}  // namespace
}  // namespace girdle::delivery
