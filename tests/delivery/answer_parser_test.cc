#include "delivery/answer_parser.h"

#include <gtest/gtest.h>

namespace girdle::delivery {
namespace {

// Feeds the bytes `step` at a time, as a connection does: what was not taken is given again. True
// until the parser refuses.
bool feed(AnswerParser& parser, std::string_view bytes, size_t step) {
  std::string held;
  while (!bytes.empty() && !parser.complete()) {
    held += bytes.substr(0, step);
    bytes.remove_prefix(std::min(step, bytes.size()));
    const auto taken = parser.take(held);
    if (!taken) return false;
    held.erase(0, *taken);
  }
  return true;
}

TEST(AnswerParser, ReadsTheSameAnswerInWhateverPiecesItComes) {
  constexpr std::string_view kAnswer =
      "HTTP/1.1 503 Service Unavailable\r\nRetry-After: 120\r\nContent-Length: 4\r\n\r\nbusy";
  for (size_t step = 1; step <= kAnswer.size(); ++step) {
    AnswerParser parser;
    ASSERT_TRUE(feed(parser, kAnswer, step)) << step;
    EXPECT_TRUE(parser.complete()) << step;
    EXPECT_EQ(parser.answer().status, 503);
    EXPECT_EQ(parser.answer().retry_after, "120");
    EXPECT_TRUE(parser.keep_alive());
  }
}

TEST(AnswerParser, DecidesWithTheHeader) {
  AnswerParser parser;
  ASSERT_TRUE(feed(parser, "HTTP/1.1 200 OK\r\nContent-Length: 1000\r\n\r\nabc", 7));
  EXPECT_TRUE(parser.has_answer());
  EXPECT_FALSE(parser.complete());
  EXPECT_FALSE(parser.take_end());
  EXPECT_EQ(parser.answer().status, 200);
}

TEST(AnswerParser, EndsABodyWithoutLengthAtTheEnd) {
  AnswerParser parser;
  ASSERT_TRUE(feed(parser, "HTTP/1.1 200 OK\r\n\r\nabc", 100));
  EXPECT_FALSE(parser.complete());
  EXPECT_TRUE(parser.take_end());
  EXPECT_TRUE(parser.complete());
  EXPECT_FALSE(parser.keep_alive());
}

TEST(AnswerParser, LeavesWhatComesAfterTheAnswer) {
  AnswerParser parser;
  constexpr std::string_view kTwo = "HTTP/1.1 204 No Content\r\n\r\nHTTP/1.1 500 No\r\n\r\n";
  EXPECT_EQ(parser.take(kTwo), 27u);
  EXPECT_TRUE(parser.complete());
  EXPECT_EQ(parser.answer().status, 204);
}

TEST(AnswerParser, PassesOverInterimAnswers) {
  AnswerParser parser;
  ASSERT_TRUE(feed(parser,
                   "HTTP/1.1 100 Continue\r\n\r\nHTTP/1.1 103 Early Hints\r\nRetry-After: 7\r\n\r\n"
                   "HTTP/1.1 204 No Content\r\n\r\n",
                   5));
  EXPECT_TRUE(parser.complete());
  EXPECT_EQ(parser.answer().status, 204);
  EXPECT_EQ(parser.answer().retry_after, "");
}

TEST(AnswerParser, RefusesInterimAnswersWithoutEnd) {
  AnswerParser parser;
  std::string flood;
  for (int i = 0; i < 100; ++i) flood += "HTTP/1.1 100 Continue\r\n\r\n";
  EXPECT_FALSE(feed(parser, flood, 1000));
  EXPECT_NE(parser.failure().find("without end"), std::string::npos);
}

TEST(AnswerParser, TakesNoHeaderFromATrailer) {
  AnswerParser parser;
  ASSERT_TRUE(feed(parser,
                   "HTTP/1.1 503 No\r\nTransfer-Encoding: "
                   "chunked\r\n\r\n3\r\nabc\r\n0\r\nRetry-After: 9\r\n\r\n",
                   100));
  EXPECT_TRUE(parser.complete());
  EXPECT_EQ(parser.answer().retry_after, "");
}

// Found by the fuzzer: Beast's parser stopped the program on an empty chunked body whose last line
// end came alone.
TEST(AnswerParser, ReadsAChunkedBodyInWhateverPiecesItComes) {
  for (const char* body :
       {"0\r\n\r\n", "0;a=b\r\n\r\n", "3\r\nabc\r\n0\r\n\r\n", "1\r\na\r\n00\r\nx: y\r\n\r\n"}) {
    for (size_t step = 1; step <= 70; ++step) {
      AnswerParser parser;
      ASSERT_TRUE(feed(parser,
                       std::string("HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\n\r\n") + body,
                       step));
      EXPECT_TRUE(parser.complete()) << body << " by " << step;
      EXPECT_TRUE(parser.keep_alive());
    }
  }
}

TEST(AnswerParser, IgnoresARetryAfterThatIsNoTime) {
  AnswerParser parser;
  ASSERT_TRUE(
      feed(parser, "HTTP/1.1 503 No\r\nRetry-After: " + std::string(65, '1') + "\r\n\r\n", 1000));
  EXPECT_EQ(parser.answer().retry_after, "");
}

TEST(AnswerParser, RefusesWhatIsNoAnswer) {
  for (const char* bytes :
       {"SSH-2.0-OpenSSH\r\n\r\n", "HTTP/2 200\r\n\r\n", "HTTP/1.1 20 OK\r\n\r\n",
        "HTTP/1.1 099 Odd\r\n\r\n", "HTTP/1.1 600 Odd\r\n\r\n",
        "HTTP/1.1 101 Switching Protocols\r\n\r\n", "\x16\x03\x01\x02\x01\x01\r\n\r\n",
        "POST / HTTP/1.1\r\n\r\n",
        "HTTP/1.1 200 OK\r\nContent-Length: 5\r\nContent-Length: 6\r\n\r\n",
        "HTTP/1.1 200 OK\r\nContent-Length: +5\r\n\r\n", "HTTP/1.1 200 OK\r\nA : b\r\n\r\n"}) {
    AnswerParser parser;
    EXPECT_FALSE(feed(parser, bytes, 1000)) << bytes;
    EXPECT_FALSE(parser.failure().empty());
    EXPECT_FALSE(parser.has_answer());
  }
}

TEST(AnswerParser, ReadsOneAnswerAfterAnother) {
  AnswerParser parser;
  ASSERT_TRUE(feed(parser, "HTTP/1.1 503 No\r\nRetry-After: 5\r\nContent-Length: 0\r\n\r\n", 100));
  parser.reset();
  EXPECT_FALSE(parser.has_answer());
  ASSERT_TRUE(feed(parser, "HTTP/1.1 204 No Content\r\n\r\n", 100));
  EXPECT_EQ(parser.answer().status, 204);
  EXPECT_EQ(parser.answer().retry_after, "");
}

}  // namespace
}  // namespace girdle::delivery
