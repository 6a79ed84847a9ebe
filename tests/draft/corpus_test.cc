// Whether a draft finds, by the bytes alone, what reads each document of the corpora as the corpora
// say that it is read. The expectations are those of the readers' corpora, with their sources.
#include "plugins/corpus.h"

#include <gmock/gmock.h>

#include <fstream>
#include <set>

#include "base/text.h"
#include "draft/choice.h"

namespace girdle::draft {
namespace {

using plugins_test::Case;

// NAME of those of which something else is said in roadblocks.txt, or in other_readings.txt.
std::set<std::string> names_in(const char* file) {
  std::ifstream in(std::string(GIRDLE_SOURCE_DIR "/tests/draft/") + file);
  EXPECT_TRUE(in.good()) << file;
  std::set<std::string> names;
  for (std::string line; std::getline(in, line);) {
    if (!line.empty() && line.front() != '#') names.insert(line.substr(0, line.find(' ')));
  }
  return names;
}

using Texts = std::vector<std::string>;

// What stands around the records, each place may take or leave.
bool is_around(const std::string& name) { return name.starts_with("../"); }

// The values alone: draft makes names up where a document has none.
std::vector<Texts> values_of(const Case& one) {
  std::vector<Texts> all;
  for (const auto& record : one.records) {
    Texts& values = all.emplace_back();
    for (const auto& [name, value] : record) {
      if (!is_around(name)) values.push_back(value);
    }
  }
  return all;
}
std::vector<Texts> values_of(const std::vector<RawRecord>& records) {
  std::vector<Texts> all;
  for (const RawRecord& record : records) {
    Texts& values = all.emplace_back();
    for (const auto& [name, value] : record.fields) {
      if (!is_around(name)) values.push_back(value);
    }
  }
  return all;
}

// What draft makes of it, with the answers that only a person has.
std::string read_otherwise(const reading::Catalogue& catalogue, const std::string& reader,
                           const Case& one) {
  std::vector<std::pair<std::string, std::string>> said;
  for (const char* option : {"encoding", "header"}) {
    const auto at = one.options.find(option);
    if (at != one.options.end()) said.emplace_back(option, at->second);
  }
  // Not said unless it is asked for.
  auto chosen = choose(catalogue, look_at({{one.name, one.bytes}}, false, {}), {});
  std::vector<std::pair<std::string, std::string>> asked;
  if (chosen) {
    for (const auto& answer : said) {
      for (const Setting& option : chosen->proposal.options) {
        if (option.is_open() && option.name == answer.first) asked.push_back(answer);
      }
    }
  }
  if (!asked.empty()) {
    chosen = choose(catalogue, look_at({{one.name, one.bytes}}, false, asked), {});
  }
  if (!chosen) return "nothing reads it";
  if (chosen->proposal.reader != reader) return "taken for " + chosen->proposal.reader;
  if (!chosen->trial.is_clean()) return "something is set aside";
  if (values_of(chosen->trial.records) != values_of(one)) return "other records";
  return {};
}

class ReaderCorpus : public testing::TestWithParam<std::pair<const char*, const char*>> {};

TEST_P(ReaderCorpus, IsReadByWhatADraftFinds) {
  const auto [reader, extension] = GetParam();
  const auto catalogue = reading::Catalogue::scan({GIRDLE_READER_FOLDER}, nullptr);
  if (catalogue.find(reader) == nullptr) GTEST_FAIL() << "the reader is not built";
  const std::set<std::string> known = names_in("other_readings.txt");
  size_t read = 0, otherwise = 0;
  for (const Case& one : plugins_test::corpus(std::string(reader) + "/accept", extension)) {
    if (one.records.empty()) continue;  // nothing to draft from
    const std::string name = std::string(reader) + '/' + one.name;
    const std::string why = read_otherwise(catalogue, reader, one);
    EXPECT_EQ(why.empty(), !known.contains(name))
        << name << ": " << (why.empty() ? "is read" : why);
    ++(why.empty() ? read : otherwise);
  }
  std::cout << reader << ": " << read << " read as the corpus says, " << otherwise << " not\n";
  EXPECT_GT(read, otherwise);
}

INSTANTIATE_TEST_SUITE_P(All, ReaderCorpus,
                         testing::Values(std::pair{"delimited", "csv"}, std::pair{"json", "json"},
                                         std::pair{"xml", "xml"}, std::pair{"columns", "txt"},
                                         std::pair{"labelled", "txt"}, std::pair{"astm", "txt"},
                                         std::pair{"sheet", "xlsx"}),
                         [](const auto& test) { return std::string(test.param.first); });

}  // namespace
}  // namespace girdle::draft
