#include "delivery/standard_bodies.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "delivery/sample_outcomes.h"

namespace girdle::delivery {
namespace {

using ::testing::HasSubstr;
using Kind = config::Body::Kind;

config::Outlet outlet_of(Kind kind, bool to_folder = false, int count = 1) {
  config::Outlet outlet;
  outlet.body.kind = kind;
  outlet.body.mark = {12, 5};
  if (to_folder) outlet.folder.emplace();
  outlet.batch.count = count;
  return outlet;
}

struct Made {
  std::unique_ptr<Body> body;
  config::Problems problems;
};

Made make(const config::Outlet& outlet) {
  const std::string file = "girdled.yaml";
  Made made;
  made.body = make_standard_body(outlet, config::Report(file, made.problems));
  return made;
}

std::string message(Body& body, const std::vector<model::Outcome>& outcomes) {
  std::string out;
  body.begin(out);
  for (const model::Outcome& outcome : outcomes) EXPECT_TRUE(body.add(out, outcome));
  body.end(out);
  return out;
}

std::string event(const model::Outcome& outcome) {
  std::string out;
  model::write_event(out, outcome);
  return out;
}

std::string data(const model::Outcome& outcome) {
  std::string out;
  model::write_json(out, outcome);
  return out;
}

TEST(StandardBodies, HaveTheMediaTypesByWhichReceiversTellThemApart) {
  // CloudEvents 1.0.2, HTTP binding, section 3 (CE-5): structured, batched, and binary by any other
  // type.
  EXPECT_EQ(make(outlet_of(Kind::kStructured)).body->content_type(),
            "application/cloudevents+json; charset=utf-8");
  EXPECT_EQ(make(outlet_of(Kind::kBatch)).body->content_type(),
            "application/cloudevents-batch+json; charset=utf-8");
  EXPECT_EQ(make(outlet_of(Kind::kBinary)).body->content_type(), "application/json");
  EXPECT_EQ(make(outlet_of(Kind::kWebhook)).body->content_type(), "application/json");
}

TEST(StandardBodies, NameFilesByWhatIsInThem) {
  // Common practice, no source: .jsonl for JSON Lines.
  EXPECT_EQ(make(outlet_of(Kind::kStructured, true)).body->extension(), "jsonl");
  EXPECT_EQ(make(outlet_of(Kind::kWebhook, true)).body->extension(), "jsonl");
  EXPECT_EQ(make(outlet_of(Kind::kBatch, true)).body->extension(), "json");
}

TEST(StructuredBody, IsTheEventAndNothingElse) {
  const Made made = make(outlet_of(Kind::kStructured));
  EXPECT_EQ(message(*made.body, {sample_outcome(17, 2)}), event(sample_outcome(17, 2)));
  std::string head;
  ASSERT_TRUE(made.body->add_fields(head, sample_outcome(17, 2)));
  EXPECT_EQ(head, "");
}

TEST(StructuredBody, HasTheAttributesThatEachEventHasToHave) {
  // CloudEvents 1.0.2, REQUIRED Attributes (CE-1); the sequence is padded, so that texts sort as
  // the numbers do (CE-8).
  EXPECT_THAT(
      message(*make(outlet_of(Kind::kStructured)).body, {sample_outcome(17, 2)}),
      testing::StartsWith(
          R"({"specversion":"1.0","id":"q1-17-2","source":"/sites/quay-street",)"
          R"("type":"girdle.outcome.v1","subject":"R1017","time":"2026-11-02T10:15:30.000Z",)"
          R"("sequence":"0000000002","datacontenttype":"application/json","data":{)"));
}

TEST(StructuredBody, IsALineAnOutcomeInAFolder) {
  const Made made = make(outlet_of(Kind::kStructured, true, 50));
  EXPECT_EQ(message(*made.body, {sample_outcome(1, 1), sample_outcome(2, 1)}),
            event(sample_outcome(1, 1)) + "\n" + event(sample_outcome(2, 1)) + "\n");
}

TEST(StructuredBody, AppendsToWhatIsThere) {
  const Made made = make(outlet_of(Kind::kStructured));
  std::string out = "before";
  made.body->begin(out);
  ASSERT_TRUE(made.body->add(out, sample_outcome(1, 1)));
  made.body->end(out);
  EXPECT_EQ(out, "before" + event(sample_outcome(1, 1)));
}

TEST(HeaderValue, IsEncodedAsInTheExampleOfTheStandard) {
  // CloudEvents 1.0.2, HTTP binding, 3.1.3.2 (CE-3).
  std::string out;
  append_header_value(out, "Euro \xe2\x82\xac \xf0\x9f\x98\x80");
  EXPECT_EQ(out, "Euro%20%E2%82%AC%20%F0%9F%98%80");
}

TEST(HeaderValue, EncodesSpaceQuoteAndPercentAndLeavesOtherPrintableAscii) {
  // The same section: U+0020, U+0022, U+0025, and what is outside U+0021 to U+007E.
  std::string out;
  append_header_value(out, " \"%!#$&'()*+,-./09:;<=>?@AZ[\\]^_`az{|}~\x7f\r\n");
  EXPECT_EQ(out, "%20%22%25!#$&'()*+,-./09:;<=>?@AZ[\\]^_`az{|}~%7F%0D%0A");
}

TEST(BinaryBody, HasTheAttributesInTheHeaderAndTheDataAsBody) {
  // CE-6 (CloudEvents 1.0.2, JSON format, 3.2, the same event in binary mode): ce- before each
  // name, the content type in place of datacontenttype, which is not sent.
  const Made made = make(outlet_of(Kind::kBinary));
  const model::Outcome outcome = sample_outcome(17, 2);
  EXPECT_EQ(message(*made.body, {outcome}), data(outcome));
  std::string head = "host: till.example\r\n";
  ASSERT_TRUE(made.body->add_fields(head, outcome));
  EXPECT_EQ(head,
            "host: till.example\r\n"
            "ce-specversion: 1.0\r\n"
            "ce-id: q1-17-2\r\n"
            "ce-source: /sites/quay-street\r\n"
            "ce-type: girdle.outcome.v1\r\n"
            "ce-subject: R1017\r\n"
            "ce-time: 2026-11-02T10:15:30.000Z\r\n"
            "ce-sequence: 0000000002\r\n");
}

TEST(BinaryBody, EncodesWhatCannotStandInAHeader) {
  const Made made = make(outlet_of(Kind::kBinary));
  model::Outcome outcome = sample_outcome(1, 1);
  outcome.site = "north-pier/2 \xc3\xa9t\xc3\xa9";
  outcome.stock_number = "\xe2\x82\xac 12E4 \"x\"";
  outcome.position = "2";
  std::string head;
  ASSERT_TRUE(made.body->add_fields(head, outcome));
  // The source is a URI reference, percent-encoded by RFC 3986; as a header value its percent signs
  // are encoded again.
  EXPECT_THAT(head, HasSubstr("ce-source: /sites/north-pier%252F2%2520%25C3%25A9t%25C3%25A9\r\n"));
  EXPECT_THAT(head, HasSubstr("ce-subject: %E2%82%AC%2012E4%20%22x%22#2\r\n"));
}

TEST(BatchBody, IsAnArrayOfEvents) {
  // CloudEvents 1.0.2, JSON format, section 4.
  const Made made = make(outlet_of(Kind::kBatch, false, 50));
  EXPECT_EQ(message(*made.body, {sample_outcome(1, 1), sample_outcome(2, 1)}),
            "[" + event(sample_outcome(1, 1)) + "," + event(sample_outcome(2, 1)) + "]");
  EXPECT_EQ(message(*made.body, {sample_outcome(3, 1)}), "[" + event(sample_outcome(3, 1)) + "]");
  EXPECT_EQ(message(*made.body, {}), "[]");
}

TEST(WebhookBody, HasTheThreeMembersThatTheStandardRecommends) {
  // Standard Webhooks 1.0.0, the example of SW-3: {"type":…,"timestamp":…,"data":{…}}.
  const model::Outcome outcome = sample_outcome(17, 2);
  EXPECT_EQ(message(*make(outlet_of(Kind::kWebhook)).body, {outcome}),
            R"({"type":"girdle.outcome.v1","timestamp":"2026-11-02T10:15:30.000Z","data":)" +
                data(outcome) + "}");
}

TEST(WebhookBody, IsALineAnOutcomeInAFolder) {
  const Made made = make(outlet_of(Kind::kWebhook, true));
  const auto line = [](const model::Outcome& outcome) {
    return R"({"type":"girdle.outcome.v1","timestamp":"2026-11-02T10:15:30.000Z","data":)" +
           data(outcome) + "}\n";
  };
  EXPECT_EQ(message(*made.body, {sample_outcome(1, 1), sample_outcome(2, 1)}),
            line(sample_outcome(1, 1)) + line(sample_outcome(2, 1)));
}

TEST(StandardBodies, RefuseAStockNumberThatNoAttributeCanHold) {
  // CloudEvents 1.0.2, type system, String (CE-7): no U+0000 to U+001F, no U+007F to U+009F; no
  // code points that Unicode says are none (U+FDD0 to U+FDEF, and the last two of each plane).
  const std::string_view bad[] = {"a\nb",
                                  std::string_view("a\0b", 3),
                                  "\x1d",
                                  "\x1f",
                                  "\x7f",
                                  "\xc2\x80",
                                  "\xc2\x9f",
                                  "\xef\xb7\x90",
                                  "\xef\xb7\xaf",
                                  "\xef\xbf\xbe",
                                  "\xef\xbf\xbf",
                                  "\xf0\x9f\xbf\xbe",
                                  "\xf4\x8f\xbf\xbf"};
  for (const Kind kind : {Kind::kStructured, Kind::kBinary, Kind::kBatch}) {
    const Made made = make(outlet_of(kind));
    for (const std::string_view text : bad) {
      model::Outcome outcome = sample_outcome(1, 1);
      outcome.stock_number = text;
      std::string out = "before", head = "before";
      const auto added = made.body->add(out, outcome);
      ASSERT_FALSE(added) << text;
      EXPECT_THAT(added.error().text, HasSubstr("has a character that the subject"));
      EXPECT_EQ(out, "before");
      if (kind == Kind::kBinary) {
        EXPECT_FALSE(made.body->add_fields(head, outcome)) << text;
      }
      EXPECT_EQ(head, "before");
    }
  }
}

TEST(StandardBodies, TakeStockNumbersAtTheEdgesOfThat) {
  const std::string_view good[] = {" ",
                                   "~",
                                   "\xc2\xa0",
                                   "\xef\xb7\x8f",
                                   "\xef\xb7\xb0",
                                   "\xef\xbf\xbd",
                                   "\xf0\x9f\xbf\xbd",
                                   "\xf0\x9a\xbf\xbe",
                                   "\xf0\x9f\x92\x8e"};
  const Made made = make(outlet_of(Kind::kStructured));
  for (const std::string_view text : good) {
    model::Outcome outcome = sample_outcome(1, 1);
    outcome.stock_number = text;
    std::string out;
    EXPECT_TRUE(made.body->add(out, outcome)) << text;
  }
}

TEST(BatchBody, GoesOnWithoutAnOutcomeThatItCannotSay) {
  const Made made = make(outlet_of(Kind::kBatch, false, 3));
  model::Outcome odd = sample_outcome(1, 1);
  odd.stock_number = "a\tb";
  std::string out;
  made.body->begin(out);
  EXPECT_FALSE(made.body->add(out, odd));
  EXPECT_TRUE(made.body->add(out, sample_outcome(2, 1)));
  made.body->end(out);
  EXPECT_EQ(out, "[" + event(sample_outcome(2, 1)) + "]");
}

TEST(StandardBodies, AreNoneOfTheHousesOwn) {
  for (const Kind kind : {Kind::kJson, Kind::kXml, Kind::kForm, Kind::kCsv}) {
    const Made made = make(outlet_of(kind, false, 50));
    EXPECT_EQ(made.body, nullptr);
    EXPECT_TRUE(made.problems.empty());
  }
}

}  // namespace
}  // namespace girdle::delivery
