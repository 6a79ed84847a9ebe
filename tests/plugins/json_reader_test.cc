#include "json/json_reader.h"

#include <gmock/gmock.h>

#include "plugins/test_host.h"

namespace girdle::json {
namespace {

using plugins_test::Heard;
using plugins_test::Options;
using plugins_test::read;
using testing::HasSubstr;
using testing::IsEmpty;

std::string bytes_of(const std::string& text, const plugins_test::Record& record) {
  return text.substr(record.offset, record.length);
}

TEST(JsonReader, SaysWhichBytesAndLineARecordCameFrom) {
  const std::string array = "\xEF\xBB\xBF[\n {\"a\":1},\n\n {\"a\":\n2} ]";
  const Heard heard = read(descriptor(), {array});
  ASSERT_EQ(heard.records.size(), 2u);
  EXPECT_EQ(bytes_of(array, heard.records[0]), "{\"a\":1}");
  EXPECT_EQ(heard.records[0].line, 2u);
  EXPECT_EQ(bytes_of(array, heard.records[1]), "{\"a\":\n2}");
  EXPECT_EQ(heard.records[1].line, 4u);
  const std::string lines = "\n{\"a\":1}\n\n  {\"a\":2} \r\n";
  const Heard read_lines = read(descriptor(), {lines});
  ASSERT_EQ(read_lines.records.size(), 2u);
  EXPECT_EQ(bytes_of(lines, read_lines.records[1]), "{\"a\":2}");
  EXPECT_EQ(read_lines.records[1].line, 4u);
}

TEST(JsonReader, KeepsTheSectionsOfRfc8259) {
  struct {
    const char* section;
    const char* document;
    bool is_json;
  } const cases[] = {
      {"2: white space", " \t\n\r{ \t\n\r\"a\" \t\n\r: \t\n\r1 \t\n\r} \t\n\r", true},
      {"2: no other white space", "{\f\"a\":1}", false},
      {"3: literal names are small", "{\"a\":[true,false,null]}", true},
      {"3: literal names are small", "{\"a\":True}", false},
      {"4: a name is a string", "{a:1}", false},
      {"4: commas stand between members", "{\"a\":1,}", false},
      {"5: values of several kinds", "{\"a\":[1,\"x\",{}]}", true},
      {"6: minus, fraction, exponent", "{\"a\":-0.5e+10}", true},
      {"6: no leading zeros", "{\"a\":01}", false},
      {"6: no plus", "{\"a\":+1}", false},
      {"6: no infinity", "{\"a\":Infinity}", false},
      {"7: escapes", "{\"a\":\"\\\"\\\\\\/\\b\\f\\n\\r\\t\\u00e9\"}", true},
      {"7: no control characters", "{\"a\":\"\x1F\"}", false},
      {"7: no other escapes", "{\"a\":\"\\'\"}", false},
      {"8.1: UTF-8", "{\"a\":\"\xC3\xA9\"}", true},
      {"8.1: UTF-8", "{\"a\":\"\xE9\"}", false},
  };
  for (const auto& [section, document, is_json] : cases) {
    const Heard heard = read(descriptor(), {document}, {{"shape", "object"}});
    EXPECT_EQ(heard.records.size(), is_json ? 1u : 0u) << section << heard.text();
    EXPECT_EQ(heard.asides.empty(), is_json) << section << heard.text();
  }
}

TEST(JsonReader, FindsWhatThePointersOfRfc6901LeadTo) {
  // RFC 6901, section 5: its document, and what each pointer is the value of. They are no objects,
  // and set aside as such.
  const std::string document =
      R"({"foo":["bar","baz"],"":0,"a/b":1,"c%d":2,"e^f":3,"g|h":4,"i\\j":5,"k\"l":6," ":7,"m~n":8})";
  const std::pair<const char*, const char*> values[] = {
      {"/foo/0", "\"bar\""}, {"/", "0"},     {"/a~1b", "1"}, {"/c%d", "2"}, {"/e^f", "3"},
      {"/g|h", "4"},         {"/i\\j", "5"}, {"/k\"l", "6"}, {"/ ", "7"},   {"/m~0n", "8"},
  };
  for (const auto& [pointer, value] : values) {
    const Heard heard = read(descriptor(), {document}, {{"records", pointer}});
    ASSERT_EQ(heard.asides.size(), 1u) << pointer << heard.text();
    EXPECT_THAT(heard.asides[0].reason, HasSubstr("not an object"));
    EXPECT_EQ(document.substr(heard.asides[0].offset, heard.asides[0].length), value) << pointer;
  }
  EXPECT_EQ(read(descriptor(), {document}, {{"records", "/foo"}}).asides.size(), 2u);
  EXPECT_EQ(read(descriptor(), {document}, {{"shape", "object"}}).records.size(), 1u);
}

TEST(JsonReader, GivesOneLayoutToRecordsWithTheSameNames) {
  const Heard heard =
      read(descriptor(), {"{\"a\":1,\"b\":2}\n{\"b\":2,\"a\":1}\n{\"a\":\"x\",\"b\":\"y\"}\n"});
  ASSERT_EQ(heard.records.size(), 3u);
  EXPECT_EQ(heard.records[0].layout, heard.records[2].layout);
  EXPECT_NE(heard.records[0].layout, heard.records[1].layout);
}

TEST(JsonReader, KeepsBackALineThatMayStillGrow) {
  const Heard heard = read(descriptor(), {"{\"a\":1}\n{\"a\":2}"}, {}, false);
  EXPECT_EQ(heard.records.size(), 1u);
  EXPECT_EQ(heard.consumed, 8u);
  const Heard next = read(descriptor(), {"{\"a\":2}\n"}, {}, false, {}, heard.state);
  ASSERT_EQ(next.records.size(), 1u);
  EXPECT_EQ(next.records[0].line, 2u);
}

TEST(JsonReader, ReadsTheElementsOfAnArrayThatIsNotClosedYet) {
  const Heard heard =
      read(descriptor(), {"{\"r\":[{\"a\":1}, {\"a\":2"}, {{"records", "/r"}}, false);
  EXPECT_EQ(heard.records.size(), 1u);
  EXPECT_EQ(heard.consumed, 15u);
  const Heard next =
      read(descriptor(), {"{\"a\":2}]}"}, {{"records", "/r"}}, true, {}, heard.state);
  EXPECT_EQ(next.records.size(), 1u);
  EXPECT_THAT(next.asides, IsEmpty());
}

TEST(JsonReader, SetsAValueOverTheLimitAsideInPiecesAndGoesOn) {
  const std::string big = "{\"n\":\"" + std::string(150, '[') + "\"}";
  for (const std::string& text :
       {"[{\"a\":1}," + big + ",{\"a\":2}]", "{\"a\":1}\n" + big + "\n{\"a\":2}\n"}) {
    const Heard heard = read(descriptor(), {text}, {}, true, {64, 10});
    EXPECT_EQ(heard.records.size(), 2u) << text;
    ASSERT_EQ(heard.asides.size(), 3u) << heard.text();
    EXPECT_EQ(heard.asides[0].length, 64u);
    EXPECT_EQ(heard.asides[2].length, big.size() - 128);
    EXPECT_THAT(heard.asides[0].reason, HasSubstr("longer than 64 bytes"));
  }
}

TEST(JsonReader, PassesOverLongValuesThatAreNoRecords) {
  const std::string text = "{\"image\":\"" + std::string(500, 'x') + "\",\"r\":[{\"a\":1}]}";
  const Heard heard = read(descriptor(), {text}, {{"records", "/r"}}, true, {64, 10});
  EXPECT_EQ(heard.records.size(), 1u);
  EXPECT_THAT(heard.asides, IsEmpty());
}

TEST(JsonReader, TellsLinesFromOneObjectByTheFirstLine) {
  EXPECT_EQ(read(descriptor(), {"{\"a\":1}\n{\"a\":2}"}).records.size(), 2u);
  EXPECT_EQ(read(descriptor(), {"{\n\"a\":1}"}).records.size(), 1u);
  const Heard broken = read(descriptor(), {"{\"a\":1\n{\"a\":2}\n"});
  EXPECT_THAT(broken.records, IsEmpty());
  EXPECT_EQ(broken.asides.size(), 1u);
  EXPECT_EQ(read(descriptor(), {"{\"a\":1\n{\"a\":2}\n"}, {{"shape", "lines"}}).records.size(), 1u);
}

TEST(JsonReader, GivesWhatIsAroundTheRecordsToThoseOfAGrowingDocument) {
  const std::string text =
      "{\"site\":\"a\",\"s\":[{\"by\":1.50,\"r\":[{\"no\":1},{\"no\":2}]},{\"by\":2,\"r\":[{\"no\":"
      "3}]}]}";
  const Options options = {{"records", "/s/-/r"}, {"context", "../by, ../../site"}};
  const Heard whole = read(descriptor(), {text}, options);
  ASSERT_EQ(whole.records.size(), 3u) << whole.text();
  EXPECT_THAT(whole.records[1].fields,
              testing::ElementsAre(std::pair("no", "2"), std::pair("../by", "1.50"),
                                   std::pair("../../site", "a")));
  EXPECT_EQ(whole.records[0].layout, whole.records[2].layout);
  for (size_t cut = 0; cut <= text.size(); ++cut) {
    EXPECT_EQ(plugins_test::read_growing(descriptor(), text, {cut}, options).text(), whole.text());
  }
}

// A state comes back from a disk: whatever it holds, it is refused or read on with.
TEST(JsonReader, SurvivesAnAlteredStateThatHoldsFieldsForTheRecords) {
  const Options options = {{"records", "/s/-/r"}, {"context", "../a, ../../b?"}};
  for (const char* begun : {"{\"b\":{\"c\":1},\"s\":[{\"a\":2,\"r\":[{\"n\":1},", "{\"b\":"}) {
    const std::string good = read(descriptor(), {begun}, options, false).state;
    size_t refused = 0;
    for (size_t i = 0; i < good.size(); ++i) {
      for (const char c : {'\0', '\1', '\2', '\5', '\x80', '\xFF'}) {
        std::string bad = good;
        bad[i] = c;
        const Heard heard = read(descriptor(), {"1,{\"n\":2}]}],\"b\":3}"}, options, true, {}, bad);
        refused += !heard.refusal.empty();
        EXPECT_EQ(heard.status, GIRDLE_OK);
        EXPECT_THAT(heard.breaches, IsEmpty());
      }
    }
    EXPECT_GT(refused, good.size());
  }
}

TEST(JsonReader, BoundsWhatItKeepsForTheRecords) {
  const std::string most(40, 'x');
  const std::string text = "{\"a\":\"" + most + "\",\"b\":\"" + most + "\",\"r\":[{\"no\":1}]}";
  const Heard heard =
      read(descriptor(), {text}, {{"records", "/r"}, {"context", "../a, ../b?"}}, true, {64, 10});
  ASSERT_EQ(heard.records.size(), 1u) << heard.text();
  EXPECT_EQ(heard.records[0].fields.size(), 2u);
  ASSERT_EQ(heard.asides.size(), 1u);
  EXPECT_THAT(heard.asides[0].reason, HasSubstr("together a value longer than 64 bytes"));
  // A member that is too long by itself is passed over, and then it is not there.
  const Heard lacks = read(descriptor(), {"{\"a\":\"" + most + most + "\",\"r\":[{\"no\":1}]}"},
                           {{"records", "/r"}, {"context", "../a"}}, true, {64, 10});
  ASSERT_EQ(lacks.asides.size(), 1u) << lacks.text();
  EXPECT_THAT(lacks.asides[0].reason, HasSubstr("there is no \"../a\" before the record"));
}

TEST(JsonReader, CountsWhatIsGivenToARecordAmongItsFields) {
  const std::string text = "{\"a\":1,\"r\":[{\"b\":2},{\"b\":2,\"c\":3}]}";
  const Heard heard =
      read(descriptor(), {text}, {{"records", "/r"}, {"context", "../a"}}, true, {64, 2});
  EXPECT_EQ(heard.records.size(), 1u) << heard.text();
  ASSERT_EQ(heard.asides.size(), 1u);
  EXPECT_EQ(heard.asides[0].reason, "more than 2 fields");
}

TEST(JsonReader, RefusesOptionsThatDoNotGoTogether) {
  const std::pair<Options, const char*> bad[] = {
      {{{"shape", "csv"}}, "shape"},
      {{{"records", "data"}}, "records"},
      {{{"records", "/a~2"}}, "records"},
      {{{"records", "/a"}, {"shape", "lines"}}, "records"},
      {{{"context", "../a"}}, "context"},
      {{{"context", "a"}, {"records", "/r"}}, "context"},
      {{{"context", "../a, ../a/b"}, {"records", "/r"}}, "../a and ../a/b name the same fields"},
  };
  for (const auto& [options, reason] : bad) {
    EXPECT_THAT(read(descriptor(), {"{}"}, options).refusal, HasSubstr(reason));
  }
}

}  // namespace
}  // namespace girdle::json
