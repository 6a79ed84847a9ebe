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

TEST(JsonReader, RefusesOptionsThatDoNotGoTogether) {
  const std::pair<Options, const char*> bad[] = {
      {{{"shape", "csv"}}, "shape"},
      {{{"records", "data"}}, "records"},
      {{{"records", "/a~2"}}, "records"},
      {{{"records", "/a"}, {"shape", "lines"}}, "records"},
  };
  for (const auto& [options, reason] : bad) {
    EXPECT_THAT(read(descriptor(), {"{}"}, options).refusal, HasSubstr(reason));
  }
}

}  // namespace
}  // namespace girdle::json
