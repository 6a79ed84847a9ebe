#include "delivery/webhook_request.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "delivery/outlet_parts.h"
#include "delivery/sample_outcomes.h"

namespace girdle::delivery {
namespace {

using testing::HasSubstr;
using Kind = config::Body::Kind;
using Type = config::Leaf::Type;

const base::Instant kNow = base::from_millis(1793614530999);
const config::Leaf kStock = from("/data/subject/stock_number");
const config::Leaf kPosition = from("/data/subject/position");

Signer signer(size_t secrets = 1) {
  constexpr const char* kSecrets[] = {"whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw",
                                      "whsec_C2FVsBQIhrscChlQIMV+b5sSYspob7oD"};
  std::vector<Secret> list;
  for (size_t i = 0; i < secrets; ++i) list.push_back(Secret::parse(kSecrets[i % 2]).value());
  return Signer(list);
}

std::string header(std::string_view request, std::string_view name) {
  const std::string mark = "\r\n" + std::string(name) + ": ";
  const size_t at = request.find(mark);
  if (at == std::string_view::npos) return "(none)";
  const std::string_view value = request.substr(at + mark.size());
  return std::string(value.substr(0, value.find("\r\n")));
}

std::string_view line_of(std::string_view request) {
  return request.substr(0, request.find("\r\n"));
}
std::string_view body_of(std::string_view request) {
  return request.substr(request.find("\r\n\r\n") + 4);
}

model::Delivery delivery_of(std::string stock_number, int64_t number = 17) {
  model::Delivery delivery = sample_delivery(number, number, 2);
  delivery.outcome.stock_number = std::move(stock_number);
  return delivery;
}

// An outlet and what it is sent.
struct Post {
  std::string url = "https://till.example:8443/hooks/screening?x=1";
  config::Outlet outlet{};
  std::optional<Signer> signed_by{};
  std::string authorization{};

  std::unique_ptr<WebhookRequest> create(std::string* problems = nullptr) {
    Reported reported;
    auto request = WebhookRequest::create(parse_url(url).value(), outlet, base::Zone::utc(),
                                          std::move(signed_by), reported.report());
    EXPECT_EQ(request == nullptr, !reported.text().empty());
    if (problems != nullptr) {
      *problems = reported.text();
    } else {
      EXPECT_EQ(reported.text(), "");
    }
    return request;
  }
  std::string wrong() {
    std::string problems;
    EXPECT_FALSE(create(&problems));
    return problems;
  }
  // The request, or why there is none.
  std::string write(const std::vector<model::Delivery>& deliveries) {
    const auto request = create();
    if (!request) return "";
    std::string buffer;
    WebhookRequest::Unwritable unwritable;
    const auto bytes = request->write(buffer, deliveries, authorization, kNow, unwritable);
    std::string out(bytes.value_or(""));
    for (const auto& [place, why] : unwritable)
      out += "<<" + std::to_string(place) + " " + why + ">>";
    return out;
  }
  std::string write(const model::Delivery& delivery = sample_delivery(1, 17, 2)) {
    return write(std::vector{delivery});
  }
};

TEST(WebhookRequest, IsAPostOfTheEventWithTheHeadersOfTheStandard) {
  Post post{.signed_by = signer()};
  const std::string bytes = post.write();
  std::string event;
  model::write_event(event, sample_outcome(17, 2));
  EXPECT_TRUE(bytes.starts_with(
      "POST /hooks/screening?x=1 HTTP/1.1\r\nhost: till.example:8443\r\nuser-agent: girdled\r\n"));
  EXPECT_EQ(header(bytes, "content-type"), "application/cloudevents+json; charset=utf-8");
  EXPECT_EQ(header(bytes, "webhook-id"), "q1-17-2");
  EXPECT_EQ(header(bytes, "webhook-timestamp"), "1793614530");  // whole seconds, never milliseconds
  EXPECT_EQ(header(bytes, "content-length"), std::to_string(event.size()));
  EXPECT_EQ(body_of(bytes), event);
  EXPECT_TRUE(signer().accepts(header(bytes, "webhook-signature"), "q1-17-2", "1793614530", event));
}

TEST(WebhookRequest, IsUnsignedWithoutASigner) {
  Post post;
  const std::string bytes = post.write();
  EXPECT_EQ(header(bytes, "webhook-signature"), "(none)");
  EXPECT_EQ(header(bytes, "webhook-id"), "q1-17-2");
  EXPECT_EQ(header(bytes, "webhook-timestamp"), "1793614530");
  EXPECT_EQ(header(bytes, "authorization"), "(none)");
  Post empty{.signed_by = signer(0)};
  EXPECT_EQ(header(empty.write(), "webhook-signature"), "(none)");
}

TEST(WebhookRequest, CarriesTheAuthorizationThatItIsGiven) {
  Post post{.authorization = "Bearer mF_9.B5f-4.1JqM"};
  EXPECT_EQ(header(post.write(), "authorization"), "Bearer mF_9.B5f-4.1JqM");
}

TEST(WebhookRequest, SignsAnewForEachAttemptUnderTheSameId) {
  Post post{.signed_by = signer()};
  const auto request = post.create();
  const std::vector deliveries{sample_delivery(1, 1, 1)};
  WebhookRequest::Unwritable unwritable;
  std::string first, second;
  ASSERT_TRUE(request->write(first, deliveries, "", kNow, unwritable));
  const std::string one(request->write(first, deliveries, "", kNow, unwritable).value());
  const std::string two(
      request->write(second, deliveries, "", kNow + std::chrono::seconds(5), unwritable).value());
  EXPECT_EQ(header(one, "webhook-id"), header(two, "webhook-id"));
  EXPECT_EQ(header(two, "webhook-timestamp"), "1793614535");
  EXPECT_NE(header(one, "webhook-signature"), header(two, "webhook-signature"));
  EXPECT_EQ(body_of(one), body_of(two));
  EXPECT_TRUE(unwritable.empty());
}

TEST(WebhookRequest, FitsTheLongestAddressIdAndAnyNumberOfSignatures) {
  model::Delivery delivery = sample_delivery(1, 1, 1);
  delivery.outcome.case_id = std::string(254, 'c');
  for (const size_t secrets : {1, 2, 40}) {
    Post post{.url = "http://127.0.0.1/" + std::string(2000, 'a'), .signed_by = signer(secrets)};
    const std::string bytes = post.write(delivery);
    EXPECT_TRUE(bytes.starts_with("POST /aaa"));
    EXPECT_EQ(header(bytes, "webhook-id"), delivery.outcome.case_id + "-1");
    EXPECT_EQ(header(bytes, "content-length"), std::to_string(body_of(bytes).size()));
    EXPECT_EQ(body_of(bytes).front(), '{');
    EXPECT_EQ(body_of(bytes).back(), '}');
    EXPECT_TRUE(signer().accepts(header(bytes, "webhook-signature"), header(bytes, "webhook-id"),
                                 "1793614530", body_of(bytes)));
  }
}

TEST(WebhookRequest, RefusesAnIdThatWouldSplitTheHeader) {
  Post post;
  for (const std::string& id : {std::string("q1\r\nx: y"), std::string("q 1"),
                                std::string(300, 'c'), std::string("\xc3\xa9")}) {
    model::Delivery delivery = sample_delivery(1, 1, 1);
    delivery.outcome.case_id = id;
    EXPECT_EQ(post.write(delivery), "<<0 the outcome's id cannot stand in a header>>") << id;
  }
}

// --- batches

TEST(WebhookRequest, ABatchHasAnIdOfItsOwn) {
  Post post{.signed_by = signer()};
  post.outlet.body.kind = Kind::kBatch;
  post.outlet.batch.count = 10;
  const std::vector deliveries{sample_delivery(1, 1, 1), sample_delivery(2, 2, 5)};
  const std::string bytes = post.write(deliveries);
  // Python 3.11: hashlib.sha256(b"q1-1-1\nq1-2-5\n").hexdigest()[:32]
  EXPECT_EQ(header(bytes, "webhook-id"), "batch-e54c89e3efce76b16e7ca83a19322807");
  EXPECT_EQ(header(bytes, "content-length"), std::to_string(body_of(bytes).size()));
  EXPECT_EQ(body_of(bytes).front(), '[');
  Post again{.signed_by = signer(), .authorization = "Bearer x"};
  again.outlet = post.outlet;
  EXPECT_EQ(header(again.write(deliveries), "webhook-id"), header(bytes, "webhook-id"));
  Post one{.signed_by = signer()};
  one.outlet = post.outlet;
  EXPECT_NE(header(one.write(sample_delivery(1, 1, 1)), "webhook-id"), header(bytes, "webhook-id"));
}

TEST(WebhookRequest, ABatchGoesWithoutWhatItCannotSay) {
  Post post;
  post.outlet = outlet_of_fields(Kind::kCsv, fields({{"sku", kStock}}));
  post.outlet.batch.count = 3;
  const std::string nul("b\0", 2);
  const std::string bytes =
      post.write({delivery_of("a", 1), delivery_of(nul, 2), delivery_of("c", 3)});
  EXPECT_EQ(body_of(bytes).substr(0, 13), "sku\r\na\r\nc\r\n<<");
  EXPECT_THAT(bytes, HasSubstr("<<1 /data/subject/stock_number: \"b\\x00\" has a NUL"));
  EXPECT_EQ(header(bytes, "webhook-id"),
            header(post.write({delivery_of("a", 1), delivery_of("c", 3)}), "webhook-id"));
  EXPECT_TRUE(post.write({delivery_of(nul, 1), delivery_of(nul, 2)}).starts_with("<<0 "));
}

TEST(WebhookRequest, ABatchHasNoPartsOfOneOutcome) {
  Post post;
  post.outlet = outlet_of_fields(Kind::kCsv, fields({{"sku", kStock}}));
  post.outlet.batch.count = 3;
  post.outlet.webhook.request.path = {kStock};
  post.outlet.webhook.request.query = fields({{"a", kStock}, {"b", constant("x")}});
  post.outlet.webhook.request.headers = fields({{"x-stock", kStock}});
  const std::string problems = post.wrong();
  EXPECT_THAT(problems, HasSubstr("7:3: path: a batch has several outcomes"));
  EXPECT_THAT(problems, HasSubstr("7:3: query: a batch has several outcomes"));
  EXPECT_THAT(problems, HasSubstr("7:3: headers: a batch has several outcomes"));
  EXPECT_EQ(std::count(problems.begin(), problems.end(), '\n'), 3);
}

// --- the parts of one's own

TEST(WebhookRequest, TakesMethodPathQueryHeadersAndBodyOfOnesOwn) {
  Post post{.url = "http://127.0.0.1:8080/stock/?shop=quay",
            .signed_by = signer(),
            .authorization = "Basic eDp5"};
  post.outlet = outlet_of_tree(
      Kind::kJson, object({{"sku", tree(kStock)}, {"do", tree(from("/data/disposition"))}}));
  config::Request& request = post.outlet.webhook.request;
  request.method = "PUT";
  request.path = {constant("items"), kStock};
  request.query =
      fields({{"place", kPosition}, {"n", from("/data/sequence")}, {"a b", constant("c&d")}});
  request.headers =
      fields({{"X-Shop", constant("north pier")}, {"x-stock", kStock}, {"x-place", kPosition}});
  const std::string bytes = post.write(delivery_of("R/10 42"));
  EXPECT_EQ(line_of(bytes), "PUT /stock/items/R%2F10%2042?shop=quay&n=2&a%20b=c%26d HTTP/1.1");
  EXPECT_EQ(header(bytes, "content-type"), "application/json");
  EXPECT_EQ(header(bytes, "x-shop"), "north pier");
  EXPECT_EQ(header(bytes, "x-stock"), "R/10 42");
  EXPECT_EQ(header(bytes, "x-place"), "(none)");
  EXPECT_EQ(header(bytes, "authorization"), "Basic eDp5");
  EXPECT_EQ(body_of(bytes), R"({"sku":"R/10 42","do":"refer"})");
  EXPECT_TRUE(signer().accepts(header(bytes, "webhook-signature"), "q1-17-2", "1793614530",
                               body_of(bytes)));
}

TEST(WebhookRequest, PartsOfConstantsAloneAreTheSameInEachRequest) {
  Post post{.url = "http://127.0.0.1:8080"};
  post.outlet.webhook.request.path = {constant("a b"), constant("c")};
  post.outlet.webhook.request.query =
      fields({{"q", constant("1")}, {"none", constant("", Type::kNull)}});
  post.outlet.webhook.request.headers = fields({{"x-till", constant("3")}});
  const std::string bytes = post.write();
  EXPECT_EQ(line_of(bytes), "POST /a%20b/c?q=1 HTTP/1.1");
  EXPECT_EQ(header(bytes, "x-till"), "3");
  EXPECT_EQ(header(bytes, "webhook-id"), "q1-17-2");
}

TEST(WebhookRequest, BinaryEventsHaveTheirAttributesInTheHead) {
  Post post;
  post.outlet.body.kind = Kind::kBinary;
  const std::string bytes = post.write();
  EXPECT_EQ(header(bytes, "ce-id"), "q1-17-2");
  EXPECT_EQ(header(bytes, "content-type"), "application/json");
  EXPECT_EQ(body_of(bytes).substr(0, 8), "{\"case\":");
}

TEST(WebhookRequest, RefusesMethodsThatCarryNothing) {
  Post post;
  for (const char* method : {"GET", "DELETE", "HEAD", "post", "POST /x HTTP/1.1\r\nX: y", ""}) {
    post.outlet.webhook.request.method = method;
    EXPECT_THAT(post.wrong(), HasSubstr("carries no outcome; it is POST, PUT or PATCH")) << method;
  }
}

// RFC 9110 5.6.2 for names; the rest are girdled's own and those of the message's framing.
TEST(WebhookRequest, RefusesNamesOfHeadersThatItWritesItself) {
  Post post;
  for (const char* name : {"Host",
                           "content-length",
                           "Transfer-Encoding",
                           "connection",
                           "Content-Type",
                           "webhook-id",
                           "Webhook-Signature",
                           "webhook-anything",
                           "Authorization",
                           "Expect",
                           "TE",
                           "Trailer",
                           "Upgrade",
                           "Proxy-Authorization",
                           "proxy-connection",
                           "Keep-Alive",
                           "Content-Encoding",
                           "user-agent",
                           "",
                           "a b",
                           "a:",
                           "a\r\nb",
                           "\xC3\xA9",
                           "a(b)",
                           "a\tb"}) {
    post.outlet.webhook.request.headers = fields({{name, constant("x")}});
    EXPECT_THAT(post.wrong(), HasSubstr("6:1: headers: ")) << name;
  }
  post.outlet.webhook.request.headers = fields({{"X-A", constant("x")}, {"x-a", constant("y")}});
  EXPECT_THAT(post.wrong(), HasSubstr("\"x-a\" stands there twice"));
  post.outlet.body.kind = Kind::kBinary;
  post.outlet.webhook.request.headers = fields({{"ce-id", constant("x")}});
  EXPECT_THAT(post.wrong(), HasSubstr("6:1: headers: \"ce-id\""));
}

TEST(WebhookRequest, ChecksConstantsWhenItIsMade) {
  Post post;
  config::Request& request = post.outlet.webhook.request;
  request.path = {constant("..")};
  EXPECT_THAT(post.wrong(), HasSubstr("7:3: path: a segment of dots"));
  request.path = {constant("")};
  EXPECT_THAT(post.wrong(), HasSubstr("7:3: path: an empty text"));
  request.path = {constant("", Type::kNull)};
  EXPECT_THAT(post.wrong(), HasSubstr("7:3: path: a constant is not in every event"));
  request.path = {kPosition};
  EXPECT_THAT(post.wrong(), HasSubstr("/data/subject/position is not in every event, and a segment "
                                      "has to be there; give a  default"));
  request.path = {with_default(kPosition, "-")};
  EXPECT_EQ(line_of(post.write()), "POST /hooks/screening/-?x=1 HTTP/1.1");
  request.path.clear();
  request.headers = fields({{"x-a", constant("a\r\nb: c")}});
  EXPECT_THAT(post.wrong(),
              HasSubstr("7:3: headers: \"a\\x0d\\x0ab: c\" cannot stand in a header"));
  request.headers.clear();
  request.query = fields({{"q", constant(std::string(9000, 'x'))}});
  EXPECT_THAT(post.wrong(), HasSubstr("longer than 8,000 characters"));
}

// What a value may hold, and what becomes of it: it stays one value, or the outcome is not sent.
const std::string kHostile[] = {"a\r\nx-evil: 1",
                                "a\nb",
                                "a\rb",
                                std::string("a\0b", 2 + 1),
                                "\"",
                                "'",
                                "<x>&amp;",
                                ";",
                                "%0d%0aX: y",
                                "%00",
                                "../../admin",
                                "..\\x",
                                "a/../b",
                                "\xC3\xA9",
                                "\xE2\x80\xAE",
                                "\x7f",
                                " a",
                                "a ",
                                "a\t",
                                "?x=1#y",
                                "a b",
                                "http://other.example/",
                                "a HTTP/1.1",
                                ".",
                                "...",
                                ""};

bool is_header_safe(const std::string& text) {  // RFC 9110 5.5
  if (text.empty()) return true;
  if (text.front() == ' ' || text.back() == ' ' || text.front() == '\t' || text.back() == '\t')
    return false;
  return std::all_of(text.begin(), text.end(),
                     [](char c) { return (c >= ' ' && c < '\x7f') || c == '\t'; });
}

std::string decoded(std::string_view text) {
  std::string out;
  for (size_t i = 0; i < text.size(); ++i) {
    if (text[i] == '%') {
      out += static_cast<char>(std::stoi(std::string(text.substr(i + 1, 2)), nullptr, 16));
      i += 2;
    } else {
      out += text[i];
    }
  }
  return out;
}

TEST(WebhookRequest, NoValueBecomesAHeader) {
  Post plain;
  plain.outlet = outlet_of_tree(Kind::kJson, tree(kStock));
  plain.outlet.webhook.request.headers = fields({{"x-stock", kStock}, {"x-end", constant("end")}});
  const std::string usual = plain.write(delivery_of("a"));
  const auto lines = [](const std::string& bytes) {
    const std::string head = bytes.substr(0, bytes.find("\r\n\r\n"));
    return std::count(head.begin(), head.end(), '\n');
  };
  for (const std::string& text : kHostile) {
    const std::string bytes = plain.write(delivery_of(text));
    if (is_header_safe(text)) {
      EXPECT_EQ(header(bytes, "x-stock"), text);
      EXPECT_EQ(lines(bytes), lines(usual)) << text;
    } else {
      EXPECT_TRUE(bytes.starts_with("<<0 /data/subject/stock_number: ")) << bytes;
      EXPECT_THAT(bytes, HasSubstr("cannot stand in the header x-stock"));
    }
  }
}

TEST(WebhookRequest, NoValueLeavesItsSegmentOfThePath) {
  Post post{.url = "http://127.0.0.1/stock"};
  post.outlet = outlet_of_tree(Kind::kJson, tree(kStock));
  post.outlet.webhook.request.path = {kStock, constant("end")};
  for (const std::string& text : kHostile) {
    const std::string bytes = post.write(delivery_of(text));
    const bool dots = text == "." || text == "..." || text.find("..") != std::string::npos;
    const bool control = std::any_of(text.begin(), text.end(),
                                     [](char c) { return (c >= 0 && c < ' ') || c == '\x7f'; });
    if (text.empty() || dots || control) {
      EXPECT_TRUE(bytes.starts_with("<<0 /data/subject/stock_number: ")) << bytes;
      continue;
    }
    const std::string_view line = line_of(bytes);
    ASSERT_TRUE(line.starts_with("POST /stock/") && line.ends_with("/end HTTP/1.1")) << line;
    const std::string_view segment = line.substr(12, line.size() - 12 - 13);
    EXPECT_EQ(segment.find_first_of("/?# ;\\"), std::string_view::npos) << line;
    EXPECT_EQ(decoded(segment), text);
  }
}

TEST(WebhookRequest, NoValueLeavesItsPlaceInTheQuery) {
  Post post{.url = "http://127.0.0.1/stock"};
  post.outlet = outlet_of_tree(Kind::kJson, tree(kStock));
  post.outlet.webhook.request.query = fields({{"sku", kStock}, {"end", constant("1")}});
  for (const std::string& text : kHostile) {
    const std::string bytes = post.write(delivery_of(text));
    const std::string_view line = line_of(bytes);
    ASSERT_TRUE(line.starts_with("POST /stock?sku=") && line.ends_with("&end=1 HTTP/1.1")) << line;
    const std::string_view value = line.substr(16, line.size() - 16 - 15);
    EXPECT_EQ(value.find_first_of("/?#& ;+=\\\r\n"), std::string_view::npos) << line;
    EXPECT_EQ(decoded(value), text);
  }
}

TEST(WebhookRequest, ReportsWhatIsWrongInBodyAndPartsTogether) {
  Post post;
  post.outlet = outlet_of_tree(Kind::kJson, tree(from("/data/sight")));
  post.outlet.webhook.request.path = {from("/data/cases")};
  const std::string problems = post.wrong();
  EXPECT_THAT(problems, HasSubstr("did you mean /data/site?"));
  EXPECT_THAT(problems, HasSubstr("did you mean /data/case?"));
}

}  // namespace
}  // namespace girdle::delivery
