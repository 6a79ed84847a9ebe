#include "delivery/webhook_request.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "delivery/sample_outcomes.h"

namespace girdle::delivery {
namespace {

const base::Instant kNow = base::from_millis(1793614530999);

Signer signer(int secrets = 1) {
  std::vector<Secret> list;
  list.push_back(Secret::parse("whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw").value());
  if (secrets == 2) list.push_back(Secret::parse("whsec_C2FVsBQIhrscChlQIMV+b5sSYspob7oD").value());
  return Signer(list);
}

std::string header(std::string_view request, std::string_view name) {
  const std::string mark = "\r\n" + std::string(name) + ": ";
  const size_t at = request.find(mark);
  if (at == std::string_view::npos) return "(none)";
  const std::string_view value = request.substr(at + mark.size());
  return std::string(value.substr(0, value.find("\r\n")));
}

std::string_view body(std::string_view request) {
  return request.substr(request.find("\r\n\r\n") + 4);
}

TEST(WebhookRequest, IsAPostOfTheEventWithTheHeadersOfTheStandard) {
  WebhookRequest request(parse_url("https://till.example:8443/hooks/screening?x=1").value(),
                         signer());
  std::string buffer;
  const auto bytes = request.write(buffer, sample_outcome(17, 2), kNow).value();
  EXPECT_TRUE(
      bytes.starts_with("POST /hooks/screening?x=1 HTTP/1.1\r\nhost: till.example:8443\r\n"));
  EXPECT_EQ(header(bytes, "content-type"), "application/cloudevents+json; charset=utf-8");
  EXPECT_EQ(header(bytes, "webhook-id"), "q1-17-2");
  EXPECT_EQ(header(bytes, "webhook-timestamp"), "1793614530");  // whole seconds, never milliseconds
  EXPECT_EQ(header(bytes, "content-length"), std::to_string(body(bytes).size()));
  std::string event;
  model::write_event(event, sample_outcome(17, 2));
  EXPECT_EQ(body(bytes), event);
  EXPECT_TRUE(signer().accepts(header(bytes, "webhook-signature"), "q1-17-2", "1793614530", event));
}

TEST(WebhookRequest, SignsAnewForEachAttemptUnderTheSameId) {
  WebhookRequest request(parse_url("http://127.0.0.1/").value(), signer());
  std::string first, second;
  request.write(first, sample_outcome(1, 1), kNow).value();
  const std::string one(request.write(first, sample_outcome(1, 1), kNow).value());
  const std::string two(
      request.write(second, sample_outcome(1, 1), kNow + std::chrono::seconds(5)).value());
  EXPECT_EQ(header(one, "webhook-id"), header(two, "webhook-id"));
  EXPECT_EQ(header(two, "webhook-timestamp"), "1793614535");
  EXPECT_NE(header(one, "webhook-signature"), header(two, "webhook-signature"));
  EXPECT_EQ(body(one), body(two));
}

TEST(WebhookRequest, FitsTheLongestAddressIdAndTwoSignatures) {
  WebhookRequest request(parse_url("http://127.0.0.1/" + std::string(2000, 'a')).value(),
                         signer(2));
  model::Outcome outcome = sample_outcome(1, 1);
  outcome.case_id = std::string(254, 'c');
  std::string buffer;
  const auto bytes = request.write(buffer, outcome, kNow).value();
  EXPECT_TRUE(bytes.starts_with("POST /aaa"));
  EXPECT_EQ(header(bytes, "webhook-id"), outcome.case_id + "-1");
  EXPECT_EQ(body(bytes).front(), '{');
  EXPECT_EQ(body(bytes).back(), '}');
}

TEST(WebhookRequest, RefusesAnIdThatWouldSplitTheHeader) {
  WebhookRequest request(parse_url("http://127.0.0.1/").value(), signer());
  std::string buffer;
  for (const std::string& id : {std::string("q1\r\nx: y"), std::string("q 1"),
                                std::string(300, 'c'), std::string("\xc3\xa9")}) {
    model::Outcome outcome = sample_outcome(1, 1);
    outcome.case_id = id;
    EXPECT_FALSE(request.write(buffer, outcome, kNow).ok()) << id;
  }
}

}  // namespace
}  // namespace girdle::delivery
