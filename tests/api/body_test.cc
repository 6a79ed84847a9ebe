#include "api/body.h"

#include <gtest/gtest.h>

#include "api/shop.h"

namespace girdle::api {
namespace {

Request json(const std::string& body) { return post("/api/v1/resends", body); }

TEST(Body, ReadsWhatIsGiven) {
  const Request request =
      json(R"({"who":"Kim é","why":"because","n":7,"ids":[3,1],"on":true,"at":"2026-11-02T10:15:30Z","do":"refer"})");
  Body body(request, {"who", "why", "n", "ids", "on", "at", "do", "left_out"});
  const By by = body.by();
  EXPECT_EQ(by.who, "Kim é");
  EXPECT_EQ(by.why, "because");
  EXPECT_EQ(by.token, "kim");
  EXPECT_EQ(body.number("n", 1, 7), 7);
  EXPECT_EQ(body.numbers("ids", 2), (std::vector<int64_t>{3, 1}));
  EXPECT_TRUE(body.flag_if_any("on"));
  EXPECT_EQ(body.time_if_any("at"), at("10:15:30"));
  EXPECT_EQ(body.disposition("do"), model::Disposition::kRefer);
  EXPECT_EQ(body.text_if_any("left_out", 10), "");
  EXPECT_FALSE(body.flag_if_any("left_out"));
  EXPECT_EQ(body.time_if_any("left_out"), std::nullopt);
  EXPECT_TRUE(body.is_right()) << body.problem();
}

std::string problem_of(const std::string& text) {
  Body body(json(text), {"who", "why"});
  body.by();
  return body.problem();
}

TEST(Body, SaysWhatIsWrongAndWhatWouldBeRight) {
  EXPECT_EQ(problem_of(R"({"who":"Kim"})"), "why is missing");
  EXPECT_EQ(problem_of(R"({"who":"Kim","why":3})"), "why is a number; it is to be a text");
  EXPECT_EQ(problem_of(R"({"who":"Kim","whyy":"x"})"),
            "there is no member \"whyy\" here; did you mean why? The body takes who and why");
  EXPECT_EQ(problem_of(R"({"who":"Kim","who":"Kim","why":"x"})"), "who comes twice; once is enough");
  EXPECT_EQ(problem_of(R"({"who":" ","why":"x"})"), "who: it is empty; it is a text of 1 to 100 bytes");
  EXPECT_EQ(problem_of(R"({"who":")" + std::string(101, 'k') + R"(","why":"x"})"),
            "who: it has 101 bytes; at most 100 are taken");
  EXPECT_EQ(problem_of(R"({"who":"a\nb","why":"x"})"),
            "who: it holds control characters: \"a\\x0ab\"; visible text is taken");
  EXPECT_EQ(problem_of("[]"), "the body is a list; it is to be one JSON object");
  EXPECT_EQ(Body(json("{\"a\":1}"), {}).problem(), "there is no member \"a\" here; the body is {}");
}

// Texts of n_structure_* and n_string_* of JSONTestSuite; they are not JSON, whatever they hold.
TEST(Body, TakesNothingThatIsNoJson) {
  for (const std::string text :
       {"", " ", "{", "}", "{}}", "{\"who\"", "{\"who\":}", "{\"who\":\"a\",}", "{'who':'a'}", "{\"who\":\"a\" /*x*/}",
        "{\"who\":\"\t\"}", "{\"who\":\"\\x\"}", "{\"who\":\"\\ud800\"}", "{\"who\":01}", "{\"who\":NaN}",
        "{\"who\":\"\xff\"}", "\xFF\xFE{\0}\0"}) {
    EXPECT_NE(problem_of(text).find("JSON"), std::string::npos) << text << ": " << problem_of(text);
  }
}

TEST(Body, BoundsItsNesting) {
  const std::string deep = "{\"who\":" + std::string(100'000, '[') + std::string(100'000, ']') + "}";
  EXPECT_NE(problem_of(deep).find("JSON"), std::string::npos);
}

TEST(Body, OfAnotherKindIs415) {
  Request request = json("{}");
  EXPECT_EQ(Body(request, {}).problem(), "");
  request.content_type = "text/plain";
  const Body body(request, {});
  EXPECT_EQ(body.refusal().status, 415);
  EXPECT_NE(body.problem().find("Content-Type: application/json"), std::string::npos);
  EXPECT_EQ(Body(json("[]"), {}).refusal().status, 400);
}

}  // namespace
}  // namespace girdle::api
