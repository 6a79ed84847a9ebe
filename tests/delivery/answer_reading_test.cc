#include "delivery/answer_reading.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "base/text.h"

namespace girdle::delivery {
namespace {

using testing::HasSubstr;
using testing::Not;

Answer answer(std::string body, std::string type = "application/json") {
  Answer made;
  made.status = 200;
  made.content_type = std::move(type);
  made.body = std::move(body);
  return made;
}

std::string reference(std::string_view pointer, std::string body) {
  return AnswerReader::create(pointer)->read(answer(std::move(body))).reference;
}

std::string problem(std::string body, std::string type = "application/problem+json") {
  return AnswerReader::create("-")->read(answer(std::move(body), std::move(type))).problem;
}

TEST(Printable, IsOneLineOfTextWhateverComes) {
  EXPECT_EQ(printable("a\r\nb\t c", 100), "a b c");
  EXPECT_EQ(printable("  \n", 100), "");
  EXPECT_EQ(printable(std::string_view("a\0b", 3), 100), "a b");
  EXPECT_EQ(printable("\x1b[31mred", 100), "[31mred");
  EXPECT_EQ(printable("caf\xc3\xa9", 100), "caf\xc3\xa9");
  EXPECT_EQ(printable("caf\xe9!", 100), "caf\xef\xbf\xbd!");
  EXPECT_EQ(printable("a\xc2\x9b"
                      "31m",
                      100),
            "a 31m");  // C1's CSI
  EXPECT_EQ(printable("a\xe2\x80\xae"
                      "b\xe2\x80\xa8",
                      100),
            "a b");  // U+202E, U+2028
}

TEST(Printable, CutsBetweenCharacters) {
  for (size_t limit = 0; limit <= 12; ++limit) {
    const std::string cut = printable("\xe2\x82\xac\xe2\x82\xac\xf0\x9f\x92\x8e z", limit);
    EXPECT_LE(cut.size(), limit);
    EXPECT_TRUE(base::is_utf8(cut)) << limit;
    EXPECT_TRUE(!cut.ends_with(' ')) << limit;
  }
}

TEST(AnswerReader, KeepsTheFirstBytesOfWhateverBody) {
  auto reader = AnswerReader::create("-").value();
  EXPECT_EQ(reader.read(answer("<html>\n<body>gone", "text/html")).first_bytes,
            "<html> <body>gone");
  const std::string kept = reader.read(answer(std::string(70000, 'x'), "text/plain")).first_bytes;
  EXPECT_EQ(kept, std::string(256, 'x'));
  EXPECT_EQ(reader.read(answer("", "")).first_bytes, "");
}

// The examples of RFC 6901 section 5.
TEST(AnswerReader, FollowsPointersAsTheStandardDoes) {
  const std::string body =
      R"({"foo":["bar","baz"],"":0,"a/b":1,"c%d":2,"e^f":3,"g|h":4,"i\\j":5,"k\"l":6," ":7,"m~n":8})";
  EXPECT_EQ(reference("/foo/0", body), "bar");
  EXPECT_EQ(reference("/", body), "0");
  EXPECT_EQ(reference("/a~1b", body), "1");
  EXPECT_EQ(reference("/c%d", body), "2");
  EXPECT_EQ(reference("/e^f", body), "3");
  EXPECT_EQ(reference("/g|h", body), "4");
  EXPECT_EQ(reference("/i\\j", body), "5");
  EXPECT_EQ(reference("/k\"l", body), "6");
  EXPECT_EQ(reference("/ ", body), "7");
  EXPECT_EQ(reference("/m~0n", body), "8");
  EXPECT_EQ(reference("/foo", body), "");  // neither text nor number
  EXPECT_EQ(reference("", body), "");
}

TEST(AnswerReader, TakesATextOrANumberForAReference) {
  EXPECT_EQ(reference("/data/id", R"({"data":{"id":"R-1042"}})"), "R-1042");
  EXPECT_EQ(reference("", "\"R-1042\""), "R-1042");
  EXPECT_EQ(reference("/id", R"({"id":-7})"), "-7");
  EXPECT_EQ(reference("/id", R"({"id":18446744073709551615})"), "18446744073709551615");
  EXPECT_EQ(reference("/id", R"({"id":1.5})"), "1.5");
  EXPECT_EQ(reference("/id", "{\"id\":\"a\\nb\\u0000c\"}"), "a b c");
  EXPECT_EQ(reference("/id", "{\"id\":\"" + std::string(500, 'x') + "\"}"), std::string(200, 'x'));
  for (const char* body : {R"({"id":null})", R"({"id":true})", R"({"id":[]})", R"({"id":{}})",
                           R"({"ID":1})", "[1]", R"({"id":1)", "id=1", "", "{\"id\":\"\xff\"}"}) {
    EXPECT_EQ(reference("/id", body), "") << body;
  }
}

TEST(AnswerReader, CountsInListsWithoutLeadingZeros) {
  EXPECT_EQ(reference("/1", "[1,2]"), "2");
  for (const char* pointer : {"/01", "/-", "/2", "/+1", "/1x", "/", "/18446744073709551616"}) {
    EXPECT_EQ(reference(pointer, "[1,2]"), "") << pointer;
  }
}

TEST(AnswerReader, RefusesWhatIsNoPointer) {
  for (const char* pointer : {"id", "/a~", "/a~2", "~0", "/a/~"}) {
    const auto reader = AnswerReader::create(pointer);
    ASSERT_FALSE(reader.ok()) << pointer;
    EXPECT_THAT(reader.error().text, HasSubstr("JSON Pointer"));
  }
}

TEST(AnswerReader, SurvivesAnAnswerThatNestsDeeply) {
  EXPECT_EQ(reference("/0/0", std::string(60000, '[')), "");
  EXPECT_EQ(problem(std::string(60000, '{')), "");
}

// RFC 9457 section 3, figure 2.
TEST(Problem, SaysTitleAndDetail) {
  EXPECT_EQ(problem(R"({"type":"https://example.com/probs/out-of-credit",
                        "title":"You do not have enough credit.",
                        "detail":"Your current balance is 30, but that costs 50.",
                        "instance":"/account/12345/msgs/abc","balance":30,
                        "accounts":["/account/12345","/account/67890"]})"),
            "You do not have enough credit.: Your current balance is 30, but that costs 50.");
}

// RFC 9457 section 3.1: "When a member's value type does not match the specified type, the member
// MUST be ignored".
TEST(Problem, PassesOverMembersOfAnotherType) {
  EXPECT_EQ(problem(R"({"title":7,"detail":"closed on Mondays"})"), "closed on Mondays");
  EXPECT_EQ(problem(R"({"title":"Closed","detail":["x"]})"), "Closed");
  EXPECT_EQ(problem(R"({"title":null,"detail":{},"type":[]})"), "");
  EXPECT_EQ(problem(R"(["title"])"), "");
  EXPECT_EQ(problem("not json"), "");
}

// RFC 9457 section 4.2.1: about:blank says no more than the status.
TEST(Problem, NamesATypeOnlyWhereThereIsNothingElse) {
  EXPECT_EQ(problem(R"({"type":"https://till.example/closed"})"), "https://till.example/closed");
  EXPECT_EQ(problem(R"({"type":"about:blank"})"), "");
  EXPECT_EQ(problem(R"({})"), "");
  EXPECT_EQ(problem(R"({"type":"https://x.example/","title":"Closed"})"), "Closed");
}

TEST(Problem, IsOneShortLine) {
  EXPECT_EQ(problem("{\"title\":\"a\\r\\nb\",\"detail\":\"c\\u001b[2J\"}"), "a b: c [2J");
  EXPECT_LE(problem("{\"title\":\"" + std::string(5000, 'x') + "\",\"detail\":\"" +
                    std::string(5000, 'y') + "\"}")
                .size(),
            400u);
}

TEST(Problem, IsKnownByItsMediaType) {
  const std::string body = R"({"title":"Closed"})";
  EXPECT_EQ(problem(body, "Application/Problem+JSON; charset=utf-8"), "Closed");
  EXPECT_EQ(problem(body, "application/problem+json;charset=utf-8"), "Closed");
  EXPECT_EQ(problem(body, "application/json"), "");
  EXPECT_EQ(problem(body, "application/problem+jsonx"), "");
  EXPECT_EQ(problem(body, ""), "");
}

// What a receiver might send back of what it was sent, in the spellings of JSON strings and URLs.
TEST(AnswerReader, KeepsNoSecretThatAReceiverSendsBack) {
  Blanks blanks;
  blanks.add("p/ss+w\"rd=");
  auto reader = AnswerReader::create("/id", std::move(blanks)).value();
  const std::string sent = "Bearer tok/en+42==";
  for (const char* echo :
       {"p/ss+w\\\"rd=", "p\\/ss+w\\\"rd=", "p/ss\\u002bw\\u0022rd\\u003D", "p%2Fss%2bw%22rd%3d",
        "tok/en+42==", "Bearer tok/en+42==", "tok\\/en+42==", "tok/en\\u002B42\\u003d=",
        "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw", "whsk_n4Ni+HpISpVObnQMW0wOhCKROaIKqKtW/2ZY=",
        "whsk_n4Ni\\u002BHpISpVObnQMW0wOhCKROaIKqKtW\\/2ZY="}) {
    const std::string body =
        std::string(R"({"title":"you sent )") + echo + R"( here","id":")" + echo + "\"}";
    const ReadAnswer read = reader.read(answer(body, "application/problem+json"), sent);
    EXPECT_EQ(read.reference, "") << echo;
    EXPECT_THAT(read.first_bytes,
                AllOf(HasSubstr("you sent "), HasSubstr("***"), HasSubstr(" here")));
    EXPECT_THAT(read.problem, AllOf(HasSubstr("you sent "), HasSubstr("***"), HasSubstr(" here")));
    for (const char* part : {"ss+w", "ss%2bw", "en+42", "u002B42", "MfKQ9r8G", "HpISpVOb"}) {
      EXPECT_THAT(read.first_bytes + read.problem, Not(HasSubstr(part))) << echo;
    }
  }
}

TEST(AnswerReader, KeepsNoHalfOfASecretWhereItsBytesAreCut) {
  Blanks blanks;
  blanks.add("0123456789abcdef");
  auto reader = AnswerReader::create("-", std::move(blanks)).value();
  for (size_t before = 235; before < 256; ++before) {
    const auto kept =
        reader.read(answer(std::string(before, '.') + "0123456789abcdef")).first_bytes;
    EXPECT_THAT(kept, Not(HasSubstr("0123"))) << before;
  }
}

// The connection may have closed there.
TEST(AnswerReader, KeepsNoHalfOfASecretWhereTheAnswerWasCut) {
  auto reader = AnswerReader::create("-").value();
  EXPECT_EQ(reader.read(answer("you sent Bearer 0123456"), "Bearer 0123456789abcdef").first_bytes,
            "you sent Bearer ***");
  for (const char* cut : {"012345\\", "012345\\u003", "012345%3"}) {
    EXPECT_EQ(reader.read(answer("you sent " + std::string(cut)), "Bearer 012345=789").first_bytes,
              "you sent ***");
  }
}

}  // namespace
}  // namespace girdle::delivery
