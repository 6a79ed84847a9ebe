#include "api/guard.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace girdle::api {
namespace {

using testing::ElementsAre;
using testing::Pair;

using Fields = std::vector<RequestHead::Field>;

RequestHead head(std::string method, std::string target, Fields fields = {{"host", "shop:80"}}) {
  return {std::move(method), std::move(target), 11, std::move(fields), true};
}

Fields with(Fields more) {
  more.insert(more.begin(), {"host", "shop:80"});
  return more;
}

int refused(const RequestHead& request) {
  const auto checked = guard(request);
  const auto* const refusal = std::get_if<Refusal>(&checked);
  return refusal == nullptr ? 0 : refusal->status;
}

int refused_target(std::string_view target) { return refused(head("GET", std::string(target))); }

Guarded passed(const RequestHead& request) {
  auto checked = guard(request);
  if (auto* const refusal = std::get_if<Refusal>(&checked)) {
    ADD_FAILURE() << refusal->status << ' ' << refusal->detail;
    return {};
  }
  return std::get<Guarded>(std::move(checked));
}

TEST(Guard, TakesOneTransferCodingAndThatIsChunked) {
  EXPECT_TRUE(passed(head("POST", "/", with({{"transfer-encoding", "Chunked"}}))).chunked);  // RFC 9112 7: no case
  EXPECT_EQ(refused(head("POST", "/", with({{"transfer-encoding", "gzip"}}))), 400);         // RFC 9112 6.1
  EXPECT_EQ(refused(head("POST", "/", with({{"transfer-encoding", "gzip, chunked"}}))), 400);
  EXPECT_EQ(refused(head("POST", "/", with({{"transfer-encoding", "chunked, chunked"}}))), 400);  // must not be twice
  EXPECT_EQ(refused(head("POST", "/", with({{"transfer-encoding", "chunked"}, {"transfer-encoding", "chunked"}}))),
            400);
  EXPECT_EQ(refused(head("POST", "/", with({{"transfer-encoding", "identity"}}))), 400);
  EXPECT_EQ(refused(head("POST", "/", with({{"transfer-encoding", "xchunked"}}))), 400);
  EXPECT_EQ(refused(head("POST", "/", with({{"transfer-encoding", ""}}))), 400);
}

TEST(Guard, RefusesACodingBesideALength) {
  // RFC 9112 6.1, 6.3 (3): "ought to be handled as an error".
  EXPECT_EQ(refused(head("POST", "/", with({{"transfer-encoding", "chunked"}, {"content-length", "3"}}))), 400);
  EXPECT_EQ(refused(head("POST", "/", with({{"content-length", "3"}, {"transfer-encoding", "chunked"}}))), 400);
  EXPECT_EQ(refused(head("POST", "/", with({{"content-length", "0"}, {"transfer-encoding", "chunked"}}))), 400);
}

TEST(Guard, NoticesAProxy) {
  EXPECT_FALSE(passed(head("GET", "/")).is_forwarded);
  for (const char* field : {"forwarded", "via", "x-forwarded-for"}) {
    EXPECT_TRUE(passed(head("GET", "/", with({{field, "for=192.0.2.43"}}))).is_forwarded) << field;
  }
}

TEST(Guard, TakesOneLengthOfDigits) {
  EXPECT_EQ(passed(head("POST", "/", with({{"content-length", "12"}}))).length, 12u);
  EXPECT_EQ(passed(head("POST", "/", with({{"content-length", "999999999999999999"}}))).length, 999999999999999999u);
  EXPECT_EQ(passed(head("POST", "/")).length, 0u);  // RFC 9112 6.3 (7)
  for (const char* wrong : {"", "+1", "-1", "1.0", "0x1", "1 2", "1,1", "5, 5", "1e3", "9999999999999999999"}) {
    EXPECT_EQ(refused(head("POST", "/", with({{"content-length", wrong}}))), 400) << wrong;  // RFC 9110 8.6
  }
  EXPECT_EQ(refused(head("POST", "/", with({{"content-length", "3"}, {"content-length", "3"}}))), 400);
}

TEST(Guard, WantsOneHost) {
  // RFC 9112 3.2.
  EXPECT_EQ(refused(head("GET", "/", {})), 400);
  EXPECT_EQ(refused(head("GET", "/", {{"host", "a"}, {"host", "b"}})), 400);
  EXPECT_EQ(refused(head("GET", "/", {{"host", "a"}, {"host", "a"}})), 400);
  EXPECT_EQ(refused(head("GET", "/", {{"host", ""}})), 400);
  EXPECT_EQ(refused(head("GET", "/", {{"host", "a b"}})), 400);
  EXPECT_EQ(passed(head("GET", "/", {{"host", "Shop:80"}})).host, "shop:80");
}

TEST(Guard, SpeaksHttp11Only) {
  RequestHead old = head("GET", "/");
  old.version = 10;
  EXPECT_EQ(refused(old), 505);
  old.fields.push_back({"transfer-encoding", "chunked"});  // RFC 9112 6.1: no coding in 1.0
  EXPECT_EQ(refused(old), 505);
}

TEST(Guard, KnowsFourMethods) {
  EXPECT_EQ(passed(head("GET", "/")).request.method, Method::kGet);
  EXPECT_EQ(passed(head("POST", "/")).request.method, Method::kPost);
  EXPECT_EQ(passed(head("DELETE", "/")).request.method, Method::kDelete);
  const Guarded of_head = passed(head("HEAD", "/"));
  EXPECT_TRUE(of_head.is_head);
  EXPECT_EQ(of_head.request.method, Method::kGet);
  for (const char* other : {"get", "PUT", "PATCH", "OPTIONS", "TRACE", "CONNECT", "PRI", "X"}) {
    EXPECT_EQ(refused(head(other, "/")), 501) << other;  // RFC 9110 9.1, 15.6.2
  }
}

TEST(Guard, TakesBodiesOfPostsOnly) {
  for (const char* method : {"GET", "HEAD", "DELETE"}) {
    EXPECT_EQ(refused(head(method, "/", with({{"content-length", "1"}}))), 400) << method;  // RFC 9110 9.3.1
    EXPECT_EQ(refused(head(method, "/", with({{"transfer-encoding", "chunked"}}))), 400) << method;
    EXPECT_EQ(refused(head(method, "/", with({{"content-length", "0"}}))), 0) << method;
  }
  EXPECT_EQ(refused(head("POST", "/", with({{"content-encoding", "gzip"}}))), 415);  // RFC 9110 8.4
}

TEST(Guard, MeetsOneExpectation) {
  EXPECT_TRUE(passed(head("POST", "/", with({{"content-length", "1"}, {"expect", "100-Continue"}}))).wants_continue);
  // RFC 9110 10.1.1: a request without a body gets none.
  EXPECT_FALSE(passed(head("POST", "/", with({{"expect", "100-continue"}}))).wants_continue);
  EXPECT_EQ(refused(head("POST", "/", with({{"expect", "tea"}}))), 417);
}

TEST(Guard, RefusesASecondFieldThatWouldAnswerTheSameQuestion) {
  for (const char* name : {"authorization", "cookie", "origin", "content-type", "sec-fetch-site", "girdle-console"}) {
    EXPECT_EQ(refused(head("GET", "/", with({{name, "a"}, {name, "a"}}))), 400) << name;
  }
}

TEST(Guard, JoinsAList) {
  const Guarded asked = passed(head("GET", "/", with({{"if-none-match", "\"a\""}, {"if-none-match", "\"b\""}})));
  EXPECT_EQ(asked.request.if_none_match, "\"a\", \"b\"");  // RFC 9110 5.3
}

TEST(Guard, TakesTheMediaTypeWithoutItsParameters) {
  EXPECT_EQ(
      passed(head("POST", "/", with({{"content-type", "Application/JSON ; charset=utf-8"}}))).request.content_type,
      "application/json");
  EXPECT_EQ(passed(head("POST", "/", with({{"content-type", "a\xff/b"}}))).request.content_type, "");
}

TEST(Guard, TakesTheTargetApart) {
  const Request request = passed(head("GET", "/api/v1/cases/R%20%C3%A9?q=a%26b&empty=&flag&&p=1+2%2B3")).request;
  EXPECT_THAT(request.path, ElementsAre("api", "v1", "cases", "R é"));
  EXPECT_THAT(request.query, ElementsAre(Pair("q", "a&b"), Pair("empty", ""), Pair("flag", ""), Pair("p", "1 2+3")));
  EXPECT_TRUE(passed(head("GET", "/")).request.path.empty());
  EXPECT_TRUE(passed(head("GET", "/?")).request.query.empty());
}

TEST(Guard, WantsATargetInOriginForm) {
  for (const char* target : {"http://shop/", "shop:443", "*", "", "api", "//shop/api", "?q"}) {
    EXPECT_EQ(refused_target(target), 400) << target;  // RFC 9112 3.2
  }
}

TEST(Guard, RefusesWaysOutOfAPath) {
  for (const char* target :
       {"/..", "/../etc/passwd", "/api/../health", "/api/./v1", "/console/%2e%2e/x", "/console/%2E./x",
        "/console/..%2f..%2fetc", "/a%2F..", "/a%2F%2Fb", "/%2Fa", "/a%5cb", "/a//b", "/a/", "//", "/console/%2e"}) {
    EXPECT_EQ(refused_target(target), 400) << target;
  }
  EXPECT_EQ(refused_target("/a..b/..."), 0);
  EXPECT_EQ(passed(head("GET", "/%252e%252e")).request.path.front(), "%2e%2e");  // decoded once
  // RFC 3986 2.2: the slash of a name is no delimiter.
  EXPECT_THAT(passed(head("GET", "/subjects/R1042%2F2")).request.path, ElementsAre("subjects", "R1042/2"));
}

TEST(Guard, RefusesPercentEncodingsThatAreNone) {
  for (const char* target : {"/%", "/%4", "/%zz", "/a?q=%", "/a?q=%1", "/a?%gg=1", "/%00", "/a?q=%00", "/%0d%0aX:%20y",
                             "/a?q=%0a", "/%7f", "/%ff", "/%c0%af", "/%ed%a0%80", "/a?=x"}) {
    EXPECT_EQ(refused_target(target), 400) << target;  // RFC 3986 2.1; RFC 3629 section 3
  }
}

TEST(Guard, RefusesCharactersThatNoTargetHolds) {
  for (const char* target :
       {"/a b", "/a#b", "/a\"b", "/a<b>", "/a\\b", "/a^b", "/a`b", "/{a}", "/a|b", "/\xc3\xa9", "/a?[x]"}) {
    EXPECT_EQ(refused_target(target), 400) << target;  // RFC 3986 3.3, 3.4
  }
}

TEST(Guard, BoundsPathAndQuery) {
  std::string path, query = "/?";
  for (int i = 0; i < 16; ++i) path += "/a";
  EXPECT_EQ(refused_target(path), 0);
  EXPECT_EQ(refused_target(path + "/a"), 400);
  for (int i = 0; i < 32; ++i) query += "a=1&";
  EXPECT_EQ(refused_target(query), 0);
  EXPECT_EQ(refused_target(query + "a=1"), 400);
}

}  // namespace
}  // namespace girdle::api
