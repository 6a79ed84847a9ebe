#include "api/answer_head.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "base/time.h"

namespace girdle::api {
namespace {

using testing::HasSubstr;
using testing::Not;

constexpr base::Instant kNow{};

TEST(AnswerHead, WritesDatesAsHttpDoes) {
  EXPECT_EQ(http_date(*base::parse_rfc3339("1994-11-06T08:49:37Z")),
            "Sun, 06 Nov 1994 08:49:37 GMT");  // RFC 9110 5.6.7
  EXPECT_EQ(http_date(kNow), "Thu, 01 Jan 1970 00:00:00 GMT");
}

TEST(AnswerHead, GuardsEveryAnswer) {
  for (const int status : {200, 204, 304, 401, 404, 500}) {
    Response response;
    response.status = status;
    const std::string head = *write_head(response, {}, kNow);
    for (const char* field :
         {"\r\nContent-Security-Policy: default-src 'none'; script-src 'self';", "frame-ancestors 'none'\r\n",
          "\r\nX-Content-Type-Options: nosniff\r\n", "\r\nReferrer-Policy: no-referrer\r\n",
          "\r\nCross-Origin-Opener-Policy: same-origin\r\n", "\r\nCross-Origin-Resource-Policy: same-origin\r\n",
          "\r\nPermissions-Policy: ", "\r\nCache-Control: no-store\r\n", "\r\nDate: "}) {
      EXPECT_THAT(head, HasSubstr(field)) << status;
    }
    EXPECT_THAT(head, Not(HasSubstr("Strict-Transport-Security")));
    EXPECT_TRUE(head.ends_with("\r\n\r\n"));
  }
  EXPECT_THAT(*write_head({}, {.tls = true}, kNow),
              HasSubstr("\r\nStrict-Transport-Security: max-age="));  // RFC 6797 7.2
}

TEST(AnswerHead, SaysHowLongTheBodyIsWhereThereIsOne) {
  Response response;
  response.body = "12345";
  EXPECT_THAT(*write_head(response, {}, kNow), HasSubstr("\r\nContent-Length: 5\r\n"));
  EXPECT_THAT(*write_head(response, {.endless = true}, kNow), Not(HasSubstr("Content-Length")));
  EXPECT_THAT(*write_head(response, {.endless = true}, kNow), HasSubstr("\r\nConnection: close\r\n"));
  response.status = 204;
  EXPECT_THAT(*write_head(response, {}, kNow), Not(HasSubstr("Content-Length")));  // RFC 9110 8.6
}

TEST(AnswerHead, LetsNoFieldBeginAnother) {
  for (const auto& [name, value] : std::vector<std::pair<std::string, std::string>>{{"X", "a\r\nSet-Cookie: b"},
                                                                                    {"X", "a\nb"},
                                                                                    {"X\r\nY", "a"},
                                                                                    {"", "a"},
                                                                                    {"X Y", "a"},
                                                                                    {"X", std::string("a\0b", 3)},
                                                                                    {"Content-Length", "3"},
                                                                                    {"transfer-encoding", "chunked"},
                                                                                    {"Connection", "close"}}) {
    Response response;
    response.headers.emplace_back(name, value);
    EXPECT_FALSE(write_head(response, {}, kNow)) << name << ' ' << value;
  }
  Response response;
  response.content_type = "a\r\nb";
  EXPECT_FALSE(write_head(response, {}, kNow));
}

TEST(AnswerHead, TagsWithTheDigestOfTheBody) {
  Response response;
  response.body = "abc";
  settle_tag(response, "");
  // FIPS 180-4, the example of one block: ba7816bf 8f01cfea 414140de 5dae2223 …
  EXPECT_THAT(response.headers, testing::ElementsAre(testing::Pair("ETag", "\"ba7816bf8f01cfea414140de5dae2223\"")));
  EXPECT_EQ(response.status, 200);
}

TEST(AnswerHead, SendsNothingAgainThatIsThere) {
  // RFC 9110 13.1.2: a list, compared weakly, or a star.
  for (const char* list : {"\"ba7816bf8f01cfea414140de5dae2223\"", "\"x\", \"ba7816bf8f01cfea414140de5dae2223\"",
                           "W/\"ba7816bf8f01cfea414140de5dae2223\"", "*"}) {
    Response response;
    response.body = "abc";
    settle_tag(response, list);
    EXPECT_EQ(response.status, 304) << list;
    EXPECT_TRUE(response.bytes().empty());
  }
  for (const char* list : {"", "\"x\"", "ba7816bf8f01cfea414140de5dae2223", "\"ba78\"", "\"*\""}) {
    Response response;
    response.body = "abc";
    settle_tag(response, list);
    EXPECT_EQ(response.status, 200) << list;
  }
}

TEST(AnswerHead, TagsOnlyWhatIsThere) {
  Response response;
  response.status = 404;
  settle_tag(response, "*");
  EXPECT_EQ(response.status, 404);
  EXPECT_TRUE(response.headers.empty());
}

}  // namespace
}  // namespace girdle::api
