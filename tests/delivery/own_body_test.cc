// Bodies of one's own. Python's readers check the same from outside: own_bodies_test.py.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <simdjson.h>

#include "delivery/body.h"
#include "delivery/form_text.h"
#include "delivery/outlet_parts.h"
#include "delivery/sample_outcomes.h"
#include "delivery/xml_text.h"

namespace girdle::delivery {
namespace {

using testing::HasSubstr;
using Kind = config::Body::Kind;
using Type = config::Leaf::Type;

base::Zone utc() { return base::Zone::utc(); }

model::Outcome outcome_of(std::string stock_number) {
  model::Outcome outcome = sample_outcome(17, 2);
  outcome.stock_number = std::move(stock_number);
  return outcome;
}

std::unique_ptr<Body> body_of(const config::Outlet& outlet) {
  Reported reported;
  auto body = make_body(outlet, utc(), reported.report());
  EXPECT_TRUE(body) << reported.text();
  EXPECT_EQ(reported.text(), "");
  return body;
}

std::string wrong(const config::Outlet& outlet) {
  Reported reported;
  EXPECT_FALSE(make_body(outlet, utc(), reported.report()));
  return reported.text();
}

// The whole message; the reason of an outcome that cannot be said stands in its place.
std::string message(Body& body, const std::vector<model::Outcome>& outcomes) {
  std::string out;
  body.begin(out);
  for (const model::Outcome& outcome : outcomes) {
    if (const auto added = body.add(out, outcome); !added) out += "<<" + added.error().text + ">>";
  }
  body.end(out);
  return out;
}
std::string message(const config::Outlet& outlet,
                    const model::Outcome& outcome = sample_outcome(17, 2)) {
  const auto body = body_of(outlet);
  return body ? message(*body, {outcome}) : "";
}

config::Outlet in_a_folder(config::Outlet outlet, int count = 1) {
  outlet.folder.emplace();
  outlet.batch.count = count;
  return outlet;
}

config::Outlet json_of(config::Tree root) { return outlet_of_tree(Kind::kJson, std::move(root)); }
config::Outlet xml_of(config::Tree root) { return outlet_of_tree(Kind::kXml, std::move(root)); }
config::Outlet form_of(std::vector<std::pair<std::string, config::Leaf>> named) {
  return outlet_of_fields(Kind::kForm, fields(std::move(named)));
}
config::Outlet csv_of(std::vector<std::pair<std::string, config::Leaf>> named) {
  return outlet_of_fields(Kind::kCsv, fields(std::move(named)));
}

const config::Leaf kStock = from("/data/subject/stock_number");
const config::Leaf kPosition = from("/data/subject/position");

// --- JSON

TEST(JsonBody, WritesItsTreeInTheOrderOfTheConfiguration) {
  const auto outlet = json_of(object({
      {"z", tree(constant("a \"b\" \\ \n"))},
      {"item", object({{"sku", tree(kStock)}, {"runs", tree(from("/data/readings/valid"))}})},
      {"place", tree(kPosition)},
      {"list", list({tree(constant("1.50", Type::kNumber)), tree(constant("true", Type::kFlag)),
                     tree(constant("", Type::kNull)), tree(kStock)})},
      {"empty", object({})},
  }));
  EXPECT_EQ(message(outlet), R"({"z":"a \"b\" \\ \n","item":{"sku":"R1017","runs":2},"place":null,)"
                             R"("list":[1.50,true,null,"R1017"],"empty":{}})");
  EXPECT_EQ(body_of(outlet)->content_type(), "application/json");
  EXPECT_EQ(body_of(outlet)->extension(), "json");
}

TEST(JsonBody, CopiesObjectsAndListsOfTheEvent) {
  EXPECT_EQ(
      message(json_of(object(
          {{"why", tree(from("/data/reasons"))}, {"counts", tree(from("/data/readings"))}}))),
      R"({"why":[{"code":"findings_differ","text":"The readings differ."}],)"
      R"("counts":{"valid":2,"void":0,"discounted":0,"duplicates":0,"required":2,"missing":0}})");
  std::string event;
  model::write_event(event, sample_outcome(17, 2));
  EXPECT_EQ(message(json_of(object({{"event", tree(from(""))}}))), "{\"event\":" + event + "}");
  EXPECT_EQ(message(json_of(tree(from("/data/policy/rule")))), "4");
}

TEST(JsonBody, InAFolderEachOutcomeIsALine) {
  const auto body = body_of(in_a_folder(json_of(object({{"sku", tree(kStock)}})), 10));
  EXPECT_EQ(message(*body, {outcome_of("a\nb"), outcome_of("c")}),
            "{\"sku\":\"a\\nb\"}\n{\"sku\":\"c\"}\n");
  EXPECT_EQ(body->extension(), "jsonl");
}

TEST(JsonBody, RefusesNamesThatStandTwice) {
  EXPECT_THAT(wrong(json_of(object({{"a", tree(kStock)}, {"a", tree(kStock)}}))),
              HasSubstr("6:1: \"a\" stands twice in one object"));
}

// --- any body

TEST(OwnBody, GoesOnWithoutAnOutcomeThatItCannotSay) {
  const auto market =
      with_words(from("/data/disclosure/market"), {{"iso", "1"}, {"cibjo", "2"}, {"us", "3"}});
  const auto body = body_of(in_a_folder(csv_of({{"sku", kStock}, {"market", market}}), 10));
  model::Outcome odd = outcome_of("b");
  odd.disclosure = model::Disclosure{
      .market = "moon", .title = {}, .source = {}, .allowed = {}, .barred = {}, .caution = {}};
  EXPECT_EQ(
      message(*body, {outcome_of("a"), odd, outcome_of("c")}),
      "sku,market\r\na,\r\n<</data/disclosure/market: \"moon\" is not among the words>>c,\r\n");
}

TEST(OwnBody, ReportsAllThatIsWrongInItsLeaves) {
  const std::string text =
      wrong(json_of(object({{"a", tree(from("/data/sight"))}, {"b", tree(from("/data/cases"))}})));
  EXPECT_THAT(text, HasSubstr("/data/site?"));
  EXPECT_THAT(text, HasSubstr("/data/case?"));
}

// --- form

// RFC 6749 appendix B; the table of the URL standard's byte serializer says the same.
TEST(FormBody, EncodesAsTheStandardsSay) {
  std::string out;
  append_form(out, " %&+\xC2\xA3\xE2\x82\xAC");
  EXPECT_EQ(out, "+%25%26%2B%C2%A3%E2%82%AC");
  out.clear();
  append_form(out, "aZ09*-._~!'()");  // URL standard 5.2: "*", "-", "." and "_" stay
  EXPECT_EQ(out, "aZ09*-._%7E%21%27%28%29");
}

TEST(FormBody, LeavesOutWhatHasNoValue) {
  const auto outlet = form_of({{"a b", kStock},
                               {"place", kPosition},
                               {"empty", constant("")},
                               {"n", from("/data/sequence")}});
  EXPECT_EQ(message(outlet, outcome_of("x&y=z")), "a+b=x%26y%3Dz&empty=&n=2");
  EXPECT_EQ(message(form_of({{"place", kPosition}, {"a", kStock}}), outcome_of("1")), "a=1");
  EXPECT_EQ(body_of(outlet)->content_type(), "application/x-www-form-urlencoded");
}

TEST(FormBody, HoldsOneOutcome) {
  auto outlet = form_of({{"a", kStock}});
  EXPECT_THAT(wrong(in_a_folder(outlet)), HasSubstr("4:1: a form holds one outcome"));
  outlet.batch.count = 2;
  EXPECT_THAT(wrong(outlet), HasSubstr("a form holds one outcome"));
  EXPECT_THAT(wrong(form_of({})), HasSubstr("at least one field"));
  EXPECT_THAT(wrong(form_of({{"", kStock}})), HasSubstr("a field's name"));
  EXPECT_THAT(wrong(form_of({{"a", from("/data/reasons")}})),
              HasSubstr("only a body of JSON can hold"));
}

// --- CSV

// RFC 4180 section 2, rules 1 to 7.
TEST(CsvBody, QuotesAsTheStandardSays) {
  const auto body = body_of(in_a_folder(csv_of({{"sku", kStock}, {"a \"b\", c", kPosition}}), 10));
  EXPECT_EQ(message(*body, {outcome_of("aaa"), outcome_of("b\r\nbb"), outcome_of("b\"bb"),
                            outcome_of("c,cc"), outcome_of(" d "), outcome_of("\te")}),
            "sku,\"a \"\"b\"\", c\"\r\naaa,\r\n\"b\r\nbb\",\r\n\"b\"\"bb\",\r\n\"c,cc\",\r\n\" d "
            "\",\r\n\"\te\",\r\n");
  EXPECT_EQ(body->content_type(), "text/csv; charset=utf-8; header=present");
}

TEST(CsvBody, TakesOtherDelimitersAndNoHeader) {
  auto outlet = csv_of({{"sku", kStock}, {"rule", from("/data/policy/rule")}});
  outlet.body.delimiter = ';';
  outlet.body.header = false;
  EXPECT_EQ(message(outlet, outcome_of("a,b")), "a,b;4\r\n");
  EXPECT_EQ(message(outlet, outcome_of("a;b")), "\"a;b\";4\r\n");
  outlet.body.delimiter = '\t';
  EXPECT_EQ(message(outlet, outcome_of("a;b")), "a;b\t4\r\n");
  for (const char bad : {'"', '\r', '\n', ' ', '\0', '\x7f', '\xE2'}) {
    outlet.body.delimiter = bad;
    EXPECT_THAT(wrong(outlet), HasSubstr("4:1: the delimiter is one visible character"));
  }
}

// An importer must get what the ledger has; common practice, no source.
TEST(CsvBody, ChangesNoValueThatASpreadsheetWouldRun) {
  const auto body = body_of(csv_of({{"sku", kStock}, {"n", from("/data/sequence")}}));
  for (const char* text : {"=1+1", "+49", "-7", "@SUM(A1)", "=HYPERLINK(1)"}) {
    EXPECT_EQ(message(*body, {outcome_of(text)}), "sku,n\r\n" + std::string(text) + ",2\r\n");
  }
}

TEST(CsvBody, LeavesNoEmptyLineAndRefusesNul) {
  EXPECT_EQ(message(csv_of({{"place", kPosition}})), "place\r\n\"\"\r\n");
  EXPECT_THAT(message(csv_of({{"sku", kStock}}), outcome_of(std::string("a\0b", 3))),
              HasSubstr("<</data/subject/stock_number: \"a\\x00b\" has a NUL"));
}

// --- XML

TEST(XmlBody, WritesElementsAttributesAndRepeatedElements) {
  const auto outlet = xml_of(object(
      {{"screening",
        object({
            {"@version", tree(constant("1", Type::kNumber))},
            {"item", tree(kStock)},
            {"@case", tree(from("/data/case"))},
            {"weight", object({{"@unit", tree(constant("ct"))},
                               {"#text", tree(with_default(from("/data/declared/carat"), "?"))}})},
            {"place", tree(kPosition)},
            {"@place", tree(kPosition)},
            {"code", list({tree(from("/data/reasons/0/code")), tree(from("/data/reasons/1/code")),
                           tree(constant("end"))})},
            {"empty", object({})},
        })}}));
  EXPECT_EQ(message(outlet, outcome_of("<a> & \"b\"")),
            "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
            "<screening version=\"1\" case=\"q1-17\"><item>&lt;a&gt; &amp; \"b\"</item>"
            "<weight "
            "unit=\"ct\">?</weight><code>findings_differ</code><code>end</code><empty></empty></"
            "screening>\n");
  EXPECT_EQ(body_of(outlet)->content_type(), "application/xml; charset=utf-8");
}

TEST(XmlBody, SeveralStandInAList) {
  auto outlet = xml_of(object({{"item", tree(kStock)}}));
  outlet.body.list = {"screenings", {3, 1}};
  const auto body = body_of(in_a_folder(outlet, 10));
  EXPECT_EQ(message(*body, {outcome_of("a"), outcome_of("b")}),
            "<?xml version=\"1.0\" "
            "encoding=\"UTF-8\"?>\n<screenings>\n<item>a</item>\n<item>b</item>\n</screenings>\n");
  outlet.body.list = {};
  EXPECT_THAT(message(*body_of(in_a_folder(outlet, 10)), {outcome_of("a")}),
              HasSubstr("<list>\n<item>a</item>\n</list>"));
  EXPECT_THAT(message(*body_of(in_a_folder(outlet)), {outcome_of("a")}),
              HasSubstr("?>\n<item>a</item>\n"));
  outlet.body.list = {"no name", {3, 1}};
  EXPECT_THAT(wrong(outlet), HasSubstr("3:1: list: \"no name\" is no name of an XML element"));
}

// XML 1.0, production 2 and 2.11, 3.3.3: what cannot be held, and what a parser would turn into
// something else.
TEST(XmlBody, RefusesCharactersThatXmlCannotHoldAndKeepsLineEnds) {
  const auto outlet = xml_of(object({{"a", object({{"@b", tree(kStock)}, {"c", tree(kStock)}})}}));
  EXPECT_THAT(message(outlet, outcome_of("x\r\n\ty")),
              HasSubstr("<a b=\"x&#13;&#10;&#9;y\"><c>x&#13;\n\ty</c></a>"));
  for (const std::string& text :
       {std::string("a\0b", 3), std::string("a\x01"),
        std::string("\x1d"
                    "01"),
        std::string("\x1f"), std::string("\xEF\xBF\xBE"), std::string("\xEF\xBF\xBF")}) {
    EXPECT_THAT(message(outlet, outcome_of(text)), HasSubstr("<</data/subject/stock_number: \""))
        << text;
    EXPECT_THAT(message(outlet, outcome_of(text)),
                HasSubstr("has a character that XML cannot hold, byte "));
  }
  for (const char* text :
       {"\x7f", "\xC2\x85", "\xE2\x80\xA8", "\xF0\x9F\x92\x8E", "\xEF\xBF\xBD", "]]>"}) {
    EXPECT_THAT(message(outlet, outcome_of(text)), testing::Not(HasSubstr("<<"))) << text;
  }
}

// XML 1.0 (fifth edition), productions 4 and 4a; Namespaces in XML 1.0, production 7.
TEST(XmlBody, ChecksNamesWhenItIsMade) {
  for (const char* name :
       {"a", "_", "a-b.c", "A1", "\xC3\xA9t\xC3\xA9", "\xE5\x90\x8D", "a\xC2\xB7"})
    EXPECT_TRUE(is_xml_name(name)) << name;
  for (const char* name : {"",
                           "1a",
                           "-a",
                           ".a",
                           "a b",
                           "a<",
                           "a>",
                           "a/",
                           "a&",
                           "a\"",
                           "a'",
                           "a=",
                           ":a",
                           "a:",
                           "a:b:c",
                           "\xC3\x97",
                           "\xC2\xB7"
                           "a",
                           "a\n",
                           "\xff",
                           "a\xED\xA0\x80"}) {
    EXPECT_FALSE(is_xml_name(name)) << name;
    EXPECT_THAT(wrong(xml_of(object({{name, tree(kStock)}}))), HasSubstr("6:1: ")) << name;
    EXPECT_THAT(wrong(xml_of(object({{"r", object({{"@" + std::string(name), tree(kStock)}})}}))),
                HasSubstr("6:1: "))
        << name;
  }
  EXPECT_THAT(wrong(xml_of(object({{"XmLa", tree(kStock)}}))), HasSubstr("the standard's own"));
}

TEST(XmlBody, PrefixesAreDeclared) {
  const auto ns = tree(constant("urn:shop"));
  EXPECT_THAT(
      message(xml_of(object(
          {{"s:r",
            object({{"s:item", tree(kStock)}, {"@xmlns:s", ns}, {"@s:a", tree(kStock)}})}}))),
      HasSubstr("<s:r xmlns:s=\"urn:shop\" s:a=\"R1017\"><s:item>R1017</s:item></s:r>"));
  EXPECT_THAT(message(xml_of(
                  object({{"r", object({{"@xmlns", ns}, {"@xml:lang", tree(constant("en"))}})}}))),
              HasSubstr("<r xmlns=\"urn:shop\" xml:lang=\"en\"></r>"));
  EXPECT_THAT(wrong(xml_of(object({{"s:r", tree(kStock)}}))),
              HasSubstr("\"s:r\": the prefix is not declared"));
  EXPECT_THAT(wrong(xml_of(object(
                  {{"r", object({{"a", object({{"@xmlns:s", ns}})}, {"s:b", tree(kStock)}})}}))),
              HasSubstr("\"s:b\": the prefix is not declared"));
  EXPECT_THAT(wrong(xml_of(object({{"r", object({{"@xmlns:s", tree(kStock)}})}}))),
              HasSubstr("is a constant"));
}

TEST(XmlBody, HasOneRootAndNoListInAList) {
  EXPECT_THAT(wrong(xml_of(object({}))), HasSubstr("one root element"));
  EXPECT_THAT(wrong(xml_of(object({{"a", tree(kStock)}, {"b", tree(kStock)}}))),
              HasSubstr("one root element"));
  EXPECT_THAT(wrong(xml_of(tree(kStock))), HasSubstr("one root element"));
  EXPECT_THAT(wrong(xml_of(object({{"a", list({tree(kStock)})}}))), HasSubstr("one root element"));
  EXPECT_THAT(wrong(xml_of(object({{"r", object({{"a", list({list({tree(kStock)})})}})}}))),
              HasSubstr("no list in a list"));
  EXPECT_THAT(wrong(xml_of(object({{"r", object({{"@a", list({tree(kStock)})}})}}))),
              HasSubstr("one value"));
  EXPECT_THAT(wrong(xml_of(object({{"r", object({{"a", tree(kStock)}, {"a", tree(kStock)}})}}))),
              HasSubstr("stands twice"));
  EXPECT_THAT(wrong(xml_of(object({{"r", tree(constant("\x01"))}}))), HasSubstr("cannot hold"));
}

// --- whatever the value is, it stays one value

TEST(OwnBody, NoValueBecomesAnythingElse) {
  simdjson::dom::parser parser;
  const auto json = body_of(json_of(object({{"a", tree(kStock)}, {"b", tree(constant("end"))}})));
  const auto form = body_of(form_of({{"a", kStock}, {"b", constant("end")}}));
  for (const std::string& text :
       {std::string("a\r\nb: c"), std::string("a\0b", 3), std::string("\""), std::string("'"),
        std::string("<x>&y;"), std::string(";"), std::string("%0d%0a"), std::string("../.."),
        std::string("\xE2\x80\xA8\xF0\x9F\x92\x8E"), std::string("\",\"b\":\"x"),
        std::string("&b=x"), std::string("]]>"), std::string("\\u0000"), std::string("$(x)`y`")}) {
    const std::string written = message(*json, {outcome_of(text)});
    const auto read = parser.parse(written);
    EXPECT_EQ(std::string_view(read["a"]), text);
    EXPECT_EQ(std::string_view(read["b"]), "end");
    EXPECT_EQ(simdjson::dom::object(read).size(), 2u);
    const std::string fields = message(*form, {outcome_of(text)});
    EXPECT_EQ(std::count(fields.begin(), fields.end(), '&'), 1) << fields;
    EXPECT_EQ(fields.find_first_of("\r\n\"<> '"), std::string::npos) << fields;
    EXPECT_TRUE(fields.ends_with("&b=end")) << fields;
  }
}

// The ledger's texts are UTF-8; one that is not is sent as the event has it.
TEST(OwnBody, BytesThatAreNoUtf8AreReplacedAsInTheEvent) {
  EXPECT_EQ(message(csv_of({{"sku", kStock}, {"n", from("/data/sequence")}}), outcome_of("a\xff")),
            "sku,n\r\na\xEF\xBF\xBD,2\r\n");
}

}  // namespace
}  // namespace girdle::delivery
