#include "api/request_parser.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace girdle::api {
namespace {

using testing::HasSubstr;

// What becomes of bytes that come in steps of this size.
struct End {
  bool has_head = false, complete = false;
  int refused = 0;
  RequestHead head;
  std::string body, left, detail;
};

End end_of(std::string_view bytes, size_t step = std::string::npos, size_t most_body = 1'000) {
  RequestParser parser;
  End end;
  std::string held;
  bool expects = false;
  while (!bytes.empty() && end.refused == 0 && !(expects && parser.complete())) {
    held += bytes.substr(0, step);
    bytes.remove_prefix(std::min(step, bytes.size()));
    for (size_t before = std::string::npos; end.refused == 0 && held.size() != before;) {
      before = held.size();
      const auto taken = parser.take(held);
      if (!taken) end.refused = parser.refusal().status;
      held.erase(0, taken.value_or(0));
      if (parser.has_head() && !std::exchange(expects, parser.has_head())) {
        parser.expect_body(most_body);
        before = std::string::npos;
      }
    }
  }
  end.has_head = parser.has_head();
  end.complete = parser.complete();
  end.head = parser.head();
  end.body = parser.take_body();
  end.detail = parser.refusal().detail;
  end.left = held + std::string(bytes);
  return end;
}

std::string with_fields(size_t count) {
  std::string text = "GET / HTTP/1.1\r\n";
  for (size_t i = 0; i < count; ++i) text += "x: 1\r\n";
  return text + "\r\n";
}

TEST(RequestParser, TakesAHeaderApart) {
  const End end = end_of("GET /a?b HTTP/1.1\r\nHost: x\r\nX-Two:  a b\t \r\n\r\n");
  EXPECT_TRUE(end.complete);
  EXPECT_EQ(end.head.method, "GET");
  EXPECT_EQ(end.head.target, "/a?b");
  EXPECT_EQ(end.head.version, 11);
  ASSERT_EQ(end.head.fields.size(), 2u);
  EXPECT_EQ(end.head.fields[1].name, "x-two");  // RFC 9110 5.1: names have no case
  EXPECT_EQ(end.head.fields[1].value, "a b");   // 5.5: white space around is none of the value
  EXPECT_TRUE(end.head.keep_alive);
}

TEST(RequestParser, ComesToTheSameEndHoweverTheBytesAreCut) {
  const std::string_view request =
      "POST /a HTTP/1.1\r\nHost: x\r\nTransfer-Encoding: chunked\r\n\r\n3;x=y\r\nabc\r\n2\r\nde\r\n0\r\nT: "
      "v\r\n\r\nGET ";
  for (size_t step = 1; step <= request.size(); ++step) {
    const End end = end_of(request, step);
    EXPECT_TRUE(end.complete) << step;
    EXPECT_EQ(end.body, "abcde") << step;
    EXPECT_EQ(end.left, "GET ") << step;
    EXPECT_EQ(end.head.fields.size(), 2u) << step;  // a trailer is no header field (RFC 9110 6.5.1)
  }
}

TEST(RequestParser, LeavesTheNextRequestAlone) {
  const End end = end_of("POST / HTTP/1.1\r\nContent-Length: 3\r\n\r\nabcGET /next HTTP/1.1\r\n\r\n");
  EXPECT_EQ(end.body, "abc");
  EXPECT_EQ(end.left, "GET /next HTTP/1.1\r\n\r\n");
}

TEST(RequestParser, IgnoresOneEmptyLineBeforeARequest) {
  EXPECT_TRUE(end_of("\r\nGET / HTTP/1.1\r\n\r\n").complete);  // RFC 9112 2.2
  EXPECT_TRUE(end_of("\r\nGET / HTTP/1.1\r\n\r\n", 1).complete);
  EXPECT_EQ(end_of("\r\n\r\nGET / HTTP/1.1\r\n\r\n").refused, 400);
}

TEST(RequestParser, RefusesLineEndsThatAreNotCrLf) {
  EXPECT_EQ(end_of("GET / HTTP/1.1\nHost: x\n\n").refused, 400);              // RFC 9112 2.2
  EXPECT_EQ(end_of("GET / HTTP/1.1\r\nHost: x\rY: z\r\n\r\n").refused, 400);  // a CR alone
  EXPECT_EQ(end_of("GET / HTTP/1.1\r\nHost: x\nY: z\r\n\r\n").refused, 400);
}

TEST(RequestParser, RefusesALineThatGoesOnInTheNext) {
  EXPECT_EQ(end_of("GET / HTTP/1.1\r\nHost: x\r\n y\r\n\r\n").refused, 400);  // RFC 9112 5.2
  EXPECT_EQ(end_of("GET / HTTP/1.1\r\nHost: x\r\n\ty\r\n\r\n").refused, 400);
  EXPECT_EQ(end_of("GET / HTTP/1.1\r\n Host: x\r\n\r\n").refused, 400);  // RFC 9112 2.2
}

TEST(RequestParser, RefusesControlCharactersAsSoonAsTheyCome) {
  EXPECT_EQ(end_of(std::string_view("GET /\0 HTTP/1.1\r\n", 17)).refused, 400);  // RFC 9110 5.5
  EXPECT_EQ(end_of("GET / HTTP/1.1\r\nX: a\x01"
                   "b\r\n")
                .refused,
            400);
  EXPECT_EQ(end_of("\x16\x03\x01\x02").refused, 400);  // a TLS greeting
}

TEST(RequestParser, RefusesFieldsThatAreNone) {
  EXPECT_EQ(end_of("GET / HTTP/1.1\r\nHost : x\r\n\r\n").refused, 400);  // RFC 9112 5.1: no space before the colon
  EXPECT_EQ(end_of("GET / HTTP/1.1\r\nHost\r\n\r\n").refused, 400);
  EXPECT_EQ(end_of("GET / HTTP/1.1\r\n: x\r\n\r\n").refused, 400);
  EXPECT_EQ(end_of("GET  / HTTP/1.1\r\n\r\n").refused, 400);
  EXPECT_EQ(end_of("GET /\r\n\r\n").refused, 400);  // HTTP/0.9
}

TEST(RequestParser, RefusesOtherVersions) {
  EXPECT_EQ(end_of("GET / HTTP/2.0\r\n\r\n").refused, 505);  // RFC 9110 15.6.6
  EXPECT_EQ(end_of("GET / HTTP/0.9\r\n\r\n").refused, 505);
}

TEST(RequestParser, BoundsTheHeader) {
  EXPECT_EQ(end_of(with_fields(RequestParser::kMostFields)).refused, 0);
  EXPECT_EQ(end_of(with_fields(RequestParser::kMostFields + 1)).refused, 431);  // RFC 6585 section 5
  const std::string long_value = "GET / HTTP/1.1\r\nx: " + std::string(RequestParser::kMostHeader, 'a');
  EXPECT_EQ(end_of(long_value).refused, 431);
  EXPECT_EQ(end_of(long_value, 100).refused, 431);
  EXPECT_EQ(end_of("GET /" + std::string(RequestParser::kMostTarget, 'a') + " HTTP/1.1\r\n\r\n").refused, 414);
  EXPECT_EQ(end_of("GET /" + std::string(RequestParser::kMostHeader, 'a')).refused, 414);
  EXPECT_EQ(end_of("GET /" + std::string(RequestParser::kMostTarget - 1, 'a') + " HTTP/1.1\r\n\r\n").refused, 0);
}

TEST(RequestParser, BoundsTheBody) {
  const std::string chunked = "POST / HTTP/1.1\r\nTransfer-Encoding: chunked\r\n\r\n";
  EXPECT_EQ(end_of(chunked + "5\r\nabcde\r\n0\r\n\r\n", 7, 5).body, "abcde");
  EXPECT_EQ(end_of(chunked + "6\r\nabcdef\r\n0\r\n\r\n", 7, 5).refused, 413);
  EXPECT_EQ(end_of("POST / HTTP/1.1\r\nContent-Length: 6\r\n\r\nabcdef", 7, 5).refused, 413);
  std::string marks = chunked;
  for (int i = 0; i < 1'000; ++i) marks += "1;" + std::string(100, 'x') + "\r\na\r\n";
  EXPECT_EQ(end_of(marks, 4'096, 2'000).refused, 413);
}

TEST(RequestParser, BoundsTheTrailer) {
  std::string request = "POST / HTTP/1.1\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n";
  for (size_t i = 0; i <= RequestParser::kMostFields; ++i) request += "x: 1\r\n";
  EXPECT_EQ(end_of(request + "\r\n").refused, 431);
}

TEST(RequestParser, RefusesChunksThatAreNone) {
  const std::string head = "POST / HTTP/1.1\r\nTransfer-Encoding: chunked\r\n\r\n";
  EXPECT_EQ(end_of(head + "x\r\nabcde").refused, 400);
  EXPECT_EQ(end_of(head + "ffffffffffffffffff\r\nabcde").refused, 400);  // RFC 9112 7.1: overflow
  EXPECT_EQ(end_of(head + "3\r\nabcdefg").refused, 400);
}

TEST(RequestParser, IsReadyForTheNext) {
  RequestParser parser;
  EXPECT_EQ(parser.take("GET /one HTTP/1.1\r\nHost: x\r\n\r\n"), 30u);
  parser.reset();
  EXPECT_FALSE(parser.has_head());
  EXPECT_EQ(parser.take("GET /two HTTP/1.1\r\n\r\n"), 21u);
  EXPECT_EQ(parser.head().target, "/two");
  EXPECT_TRUE(parser.head().fields.empty());
}

}  // namespace
}  // namespace girdle::api
