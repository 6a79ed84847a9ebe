#include "delivery/token_answer.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace girdle::delivery {
namespace {

using std::chrono::seconds;
using testing::HasSubstr;
using testing::Not;

base::Result<Token> read(int status, std::string body) {
  Answer answer;
  answer.status = status;
  answer.body = std::move(body);
  Blanks secrets;
  secrets.add("gX1fBat3bV");
  return read_token(answer, secrets);
}

std::string why(int status, std::string body) {
  const auto token = read(status, std::move(body));
  return token ? "a token" : token.error().text;
}

// RFC 6749 section 4.4.3, but for its token_type, which is "example" there.
TEST(TokenAnswer, IsReadAsTheStandardHasIt) {
  const auto token = read(200,
                          R"({"access_token":"2YotnFZFEjr1zCsicMWpAA","token_type":"bearer",
                              "expires_in":3600,"example_parameter":"example_value"})");
  ASSERT_TRUE(token.ok()) << token.error().text;
  EXPECT_EQ(token->text, "2YotnFZFEjr1zCsicMWpAA");
  EXPECT_EQ(token->lives, seconds(3600));
}

TEST(TokenAnswer, MustBeOfTypeBearerInAnyCase) {
  EXPECT_TRUE(read(200, R"({"access_token":"a","token_type":"BEARER"})").ok());
  EXPECT_THAT(why(200, R"({"access_token":"a","token_type":"example"})"),
              AllOf(HasSubstr("\"example\""), HasSubstr("only Bearer")));
  EXPECT_THAT(why(200, R"({"access_token":"a","token_type":"mac"})"), HasSubstr("only Bearer"));
  EXPECT_THAT(why(200, R"({"access_token":"a"})"), HasSubstr("only Bearer"));
}

TEST(TokenAnswer, TellsHowLongTheTokenLives) {
  const auto lives = [](const std::string& member) {
    return read(200, R"({"access_token":"a","token_type":"Bearer")" + member + "}")->lives;
  };
  EXPECT_EQ(lives(""), std::nullopt);
  EXPECT_EQ(lives(R"(,"expires_in":null)"), std::nullopt);
  EXPECT_EQ(lives(R"(,"expires_in":"soon")"), std::nullopt);
  EXPECT_EQ(lives(R"(,"expires_in":"3600")"), seconds(3600));
  EXPECT_EQ(lives(R"(,"expires_in":59.9)"), seconds(59));
  EXPECT_EQ(lives(R"(,"expires_in":0)"), seconds(0));
  EXPECT_EQ(lives(R"(,"expires_in":-5)"), seconds(0));
  EXPECT_EQ(lives(R"(,"expires_in":1e300)"), seconds(365 * 24 * 3600));
  EXPECT_EQ(lives(R"(,"expires_in":18446744073709551615)"), seconds(365 * 24 * 3600));
}

// RFC 6749 section 5.2.
TEST(TokenAnswer, TellsWhyThereIsNoToken) {
  EXPECT_THAT(why(400, R"({"error":"invalid_request"})"), HasSubstr("400, invalid_request"));
  EXPECT_THAT(why(401, R"({"error":"invalid_client","error_description":"no such client"})"),
              AllOf(HasSubstr("401, invalid_client: no such client"), HasSubstr("client_id")));
  EXPECT_THAT(why(400, R"({"error":7,"error_description":[]})"), HasSubstr("answers 400"));
  EXPECT_THAT(why(503, "<html>down</html>"), HasSubstr("answers 503"));
  EXPECT_THAT(why(307, ""), HasSubstr("answers 307"));
}

TEST(TokenAnswer, IsRefusedWhereItIsNone) {
  EXPECT_THAT(why(200, ""), HasSubstr("no JSON object"));
  EXPECT_THAT(why(200, "access_token=a&token_type=bearer"), HasSubstr("no JSON object"));
  EXPECT_THAT(why(200, "[]"), HasSubstr("no JSON object"));
  EXPECT_THAT(why(200, R"({"access_token":"a","token_type":"bearer")"),
              HasSubstr("no JSON object"));
  EXPECT_THAT(why(200, "{}"), HasSubstr("no access_token"));
  EXPECT_THAT(why(200, R"({"access_token":"","token_type":"bearer"})"),
              HasSubstr("no access_token"));
  EXPECT_THAT(why(200, R"({"access_token":7,"token_type":"bearer"})"),
              HasSubstr("no access_token"));
  EXPECT_THAT(why(200, std::string(AnswerParser::kMostOfBody, ' ')), HasSubstr("64 KiB"));
  EXPECT_THAT(
      why(200, R"({"access_token":")" + std::string(9000, 'a') + R"(","token_type":"bearer"})"),
      HasSubstr("8 KiB"));
}

TEST(TokenAnswer, CanWriteNoHeaderOfItsOwn) {
  for (const char* token : {"a\\r\\nx: y", "a b", "a\\u0000", "caf\\u00e9", "a\\tb"}) {
    EXPECT_THAT(why(200, std::string(R"({"token_type":"bearer","access_token":")") + token + "\"}"),
                HasSubstr("cannot stand in a header"))
        << token;
  }
}

TEST(TokenAnswer, NeverSaysASecret) {
  EXPECT_THAT(
      why(400,
          R"({"error":"invalid_gX1fBat3bV","error_description":"your gX1fBat3bV\n is wrong"})"),
      AllOf(Not(HasSubstr("gX1fBat3bV")), Not(HasSubstr("\n")), HasSubstr("your *** is wrong")));
  EXPECT_THAT(why(200, R"({"access_token":"t0ken","token_type":"gX1fBat3bV"})"),
              AllOf(Not(HasSubstr("gX1fBat3bV")), Not(HasSubstr("t0ken"))));
}

}  // namespace
}  // namespace girdle::delivery
