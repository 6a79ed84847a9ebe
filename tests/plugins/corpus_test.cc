// Every document of the corpora; sources of the cases: tests/corpus/delimited/README.md,
// tests/corpus/json/README.md.
#include "plugins/corpus.h"

#include <gmock/gmock.h>

#include "delimited/delimited_reader.h"
#include "json/json_reader.h"

namespace girdle::plugins_test {
namespace {

void expect_as_written(const girdle_reader_descriptor& reader, const Case& one) {
  SCOPED_TRACE(one.name);
  const Heard heard = read(reader, {one.bytes}, one.options);
  EXPECT_THAT(heard.breaches, testing::IsEmpty());
  EXPECT_EQ(heard.refusal, "");
  EXPECT_EQ(heard.status, GIRDLE_OK);
  std::vector<std::vector<std::pair<std::string, std::string>>> records;
  for (const Record& record : heard.records) records.push_back(record.fields);
  EXPECT_EQ(records, one.records) << heard.text();
  ASSERT_EQ(heard.asides.size(), one.asides.size()) << heard.text();
  for (size_t i = 0; i < one.asides.size(); ++i) {
    EXPECT_EQ(heard.asides[i].offset, one.asides[i].offset) << heard.text();
    EXPECT_EQ(heard.asides[i].length, one.asides[i].length) << heard.text();
    EXPECT_EQ(heard.asides[i].line, one.asides[i].line) << heard.text();
    EXPECT_THAT(heard.asides[i].reason, testing::HasSubstr(one.asides[i].reason));
  }
}

void expect_all(const girdle_reader_descriptor& reader, const std::string& name,
                const std::string& extension, size_t at_least) {
  size_t count = 0;
  for (const std::string folder : {"accept", "aside"}) {
    for (const Case& one : corpus(name + "/" + folder, extension)) {
      ++count;
      EXPECT_EQ(one.asides.empty(), folder == "accept") << one.name;
      expect_as_written(reader, one);
    }
  }
  EXPECT_GE(count, at_least);
}

TEST(Corpus, DelimitedDocumentsComeOutAsWritten) {
  expect_all(delimited::descriptor(), "delimited", "csv", 80);
}

TEST(Corpus, JsonDocumentsComeOutAsWritten) { expect_all(json::descriptor(), "json", "json", 52); }

}  // namespace
}  // namespace girdle::plugins_test
