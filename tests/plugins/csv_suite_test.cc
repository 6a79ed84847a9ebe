// Published CSV files, where GIRDLE_SHARED names a folder that has them; the corpus holds those
// that may be copied, and our own of the same kinds, always.
#include <gmock/gmock.h>
#include <simdjson.h>

#include <cstdlib>
#include <filesystem>
#include <set>
#include <tuple>

#include "delimited/delimited_reader.h"
#include "plugins/corpus.h"

namespace girdle::plugins_test {
namespace {

using std::string_literals::operator""s;
namespace fs = std::filesystem;

std::string from_hex(std::string_view hex) {
  std::string bytes;
  for (size_t i = 0; i + 1 < hex.size(); i += 2)
    bytes.push_back(static_cast<char>(std::stoi(std::string(hex.substr(i, 2)), nullptr, 16)));
  return bytes;
}

// "[[\"a\"], …]" as rows with columns 1, 2, …; "[{\"a\": …}, …]" as records.
void expect_published(const std::string& name, const std::string& bytes,
                      const std::string& expected) {
  simdjson::dom::parser parser;
  simdjson::dom::array rows;
  const bool listed = parser.parse(expected).get(rows) == simdjson::SUCCESS;
  if (!listed) {
    EXPECT_FALSE(read(delimited::descriptor(), {bytes}).asides.empty()) << name;
    return;
  }
  const bool by_name = rows.size() == 0 || rows.at(0).is_object();
  const Heard heard = read(delimited::descriptor(), {bytes}, {{"header", by_name ? "yes" : "no"}});
  EXPECT_THAT(heard.asides, testing::IsEmpty()) << name << heard.text();
  std::string got;
  for (const Record& record : heard.records) {
    for (const auto& [field, value] : record.fields)
      got += "[" + (by_name ? field + "=" : "") + value + "]";
    got += "\n";
  }
  std::string want;
  for (const simdjson::dom::element row : rows) {
    if (by_name) {
      for (const auto& [field, value] : row.get_object())
        want += "[" + std::string(field) + "=" + std::string(std::string_view(value)) + "]";
    } else {
      for (const std::string_view value : row.get_array()) want += "[" + std::string(value) + "]";
    }
    want += "\n";
  }
  EXPECT_EQ(got, want) << name;
}

TEST(CsvSuite, AgreesWithThePublishedCasesWhereTheyAreThere) {
  const char* shared = std::getenv("GIRDLE_SHARED");
  if (shared == nullptr)
    GTEST_SKIP() << "GIRDLE_SHARED is not set; the corpus holds those that may be copied";
  // A blank line is a row of one empty field there, and no row here; one case wants another header
  // than the document's.
  const std::set<std::string> other = {"csv.td.all-empty", "csv.td.empty-one-column",
                                       "csv.td.bad-header-wrong-header",
                                       "csv.spectrum.location_coordinates"};
  simdjson::dom::parser parser;
  size_t cases = 0;
  for (const simdjson::dom::element check : parser.load(shared + "/checks/wire.json"s)) {
    const std::string_view published = check["id"];
    const std::string id(published);
    const bool ours = id.starts_with("csv.td.") || id.starts_with("csv.spectrum.") ||
                      id.starts_with("csv.rfc4180.");
    if (!ours || other.contains(id)) continue;
    ++cases;
    expect_published(id, from_hex(check["input"]),
                     std::string(std::string_view(check["expected"])));
  }
  EXPECT_GE(cases, 24u);
}

// The suite's own files, all but the one whose two halves contradict each other (a telephone
// number).
TEST(CsvSuite, AgreesWithCsvSpectrumWhereItIsThere) {
  const char* shared = std::getenv("GIRDLE_SHARED");
  if (shared == nullptr) GTEST_SKIP() << "GIRDLE_SHARED is not set; the corpus holds its cases";
  const std::string folder = shared + "/suites/csv-spectrum/"s;
  size_t cases = 0;
  for (const auto& entry : fs::directory_iterator(folder + "csvs")) {
    const std::string name = entry.path().stem();
    if (name == "location_coordinates") continue;
    ++cases;
    expect_published(name, file_bytes(entry.path()), file_bytes(folder + "json/" + name + ".json"));
  }
  EXPECT_EQ(cases, 11u);
}

// The test files of parsecsv-for-php (MIT): byte order marks, the line sep=, empty lines.
class ParsecsvFiles : public testing::Test {
 protected:
  void SetUp() override {
    const char* shared = std::getenv("GIRDLE_SHARED");
    if (shared == nullptr) GTEST_SKIP() << "GIRDLE_SHARED is not set; the corpus has the like";
    folder_ = shared + "/suites/parsecsv-bom-files/tests/"s;
  }
  Heard read_file(const std::string& name, const Options& options = {}) const {
    Heard heard = read(delimited::descriptor(), {file_bytes(folder_ + name)}, options);
    EXPECT_THAT(heard.asides, testing::IsEmpty()) << name << heard.text();
    return heard;
  }

 private:
  std::string folder_;
};

TEST_F(ParsecsvFiles, HoldTheSameInEveryEncoding) {
  const Heard plain = read_file("example_files/UTF-8_sep_row_but_no_BOM.csv");
  ASSERT_EQ(plain.records.size(), 3u);
  EXPECT_EQ(plain.records[0].fields[0].first, "title");
  EXPECT_EQ(plain.records[2].fields[2].first, "publishedAt");
  for (const char* name : {"UTF-8_with_BOM_and_sep_row", "UTF-16LE_with_BOM_and_sep_row"}) {
    const Heard other = read_file("example_files/"s + name + ".csv");
    ASSERT_EQ(other.records.size(), 3u) << name;
    for (size_t i = 0; i < 3; ++i) EXPECT_EQ(other.records[i].fields, plain.records[i].fields);
  }
}

TEST_F(ParsecsvFiles, AreReadWhole) {
  const std::tuple<const char*, size_t, size_t> files[] = {
      {"example_files/Piwik_API_download.csv", 3, 743},  // UTF-16, with quoted line ends
      {"example_files/multiple_empty_lines.csv", 10, 42},
      {"example_files/single_column.csv", 4, 1},
      {"example_files/waiver_field_separator.csv", 5, 1},  // holds "sep", and no such line
      {"methods/fixtures/auto-double-enclosure.csv", 2, 2},
      {"methods/fixtures/datatype.csv", 3, 6},
  };
  for (const auto& [name, rows, columns] : files) {
    const Heard heard = read_file(name);
    ASSERT_EQ(heard.records.size(), rows) << name;
    EXPECT_EQ(heard.records[0].fields.size(), columns) << name;
  }
  EXPECT_THAT(read_file("example_files/single_row.csv").records, testing::IsEmpty());
  const Heard single = read_file("methods/fixtures/auto-single-enclosure.csv", {{"quote", "'"}});
  ASSERT_EQ(single.records.size(), 2u);
  EXPECT_EQ(single.records[1].fields[1].second, "value4");
}

}  // namespace
}  // namespace girdle::plugins_test
