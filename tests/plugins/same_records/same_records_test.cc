// The same records in every shape, each by a producer of its own (README.md), read by every reader
// that ships, with the mapping that somebody would write for it: the same readings.
#include <gmock/gmock.h>

#include <array>
#include <cstdlib>
#include <filesystem>
#include <map>
#include <stdexcept>

#include "config/load.h"
#include "plugins/columns/python.h"
#include "plugins/corpus.h"
#include "reading/reader.h"

namespace girdle::reading {
namespace {

using testing::ElementsAreArray;
using testing::SizeIs;

const std::string kFolder = GIRDLE_SOURCE_DIR "/tests/plugins/same_records/";

std::string output_of(const std::string& command) {
  FILE* pipe = popen(("cd '" + kFolder + "' && " + command).c_str(), "r");
  std::string output;
  std::array<char, 4096> block;
  for (size_t n; pipe != nullptr && (n = fread(block.data(), 1, block.size(), pipe)) > 0;)
    output.append(block.data(), n);
  EXPECT_EQ(pipe == nullptr ? -1 : pclose(pipe), 0) << command;
  return output;
}

std::string by_python(const std::string& shape) {
  return output_of(GIRDLE_PYTHON " documents.py " + shape);
}

std::string by_awk(const std::string& script) {
  return output_of(GIRDLE_PYTHON " documents.py tabs | LC_ALL=C awk -f " + script);
}

// An intake of girdled.yaml, as girdled itself would read it.
Choice choice_of(const std::string& intake) {
  const config::Loaded loaded = config::load(kFolder + "girdled.yaml");
  for (const config::Problem& problem : loaded.problems) ADD_FAILURE() << config::format(problem);
  Choice choice;
  for (const config::Intake& one : loaded.settings.intakes) {
    if (one.name != intake) continue;
    choice.reader = one.reader;
    choice.mapping = one.mapping;
    choice.timezone = loaded.settings.timezone;
    for (const auto& [name, value] : one.options) choice.options.emplace_back(name, value.text);
  }
  return choice;
}

Catalogue shipped() { return Catalogue::scan({GIRDLE_READER_FOLDER}, nullptr); }

model::Records records_of(const std::string& intake, const std::string& bytes) {
  auto reader = Reader::open(shipped(), choice_of(intake));
  if (!reader) throw std::runtime_error(reader.error().text);
  auto document = (*reader)->begin();
  model::Records records;
  for (const std::string_view piece : plugins_test::pieces_of(bytes, 1000))
    document->feed(piece, records);
  document->finish(true, records);
  EXPECT_EQ(document->fault(), "");
  EXPECT_EQ(document->consumed(), bytes.size());
  return records;
}

// Without their places, which are those of the document.
std::vector<model::Reading> readings_of(const std::string& intake, const std::string& bytes) {
  model::Records records = records_of(intake, bytes);
  for (const model::Aside& aside : records.asides)
    ADD_FAILURE() << intake << ", line " << aside.place.line << ": " << aside.reason;
  for (model::Reading& one : records.readings) one.place = {};
  return std::move(records.readings);
}

std::string json_of(const model::Reading& reading) {
  std::string json;
  model::write_json(json, reading);
  return json.substr(0, json.find(",\"place\":")) + '}';
}

// What Girdle is to write of each: by Python's csv, decimal and zoneinfo, from stones.csv.
std::vector<std::string> expected() {
  return plugins_test::lines_of_python("same_records/documents.py readings");
}

std::vector<std::string> told(const std::vector<model::Reading>& readings) {
  std::vector<std::string> lines;
  for (const model::Reading& one : readings) lines.push_back(json_of(one));
  return lines;
}

std::string committed_workbook() { return plugins_test::file_bytes(kFolder + "sheet/stones.xlsx"); }

TEST(SameRecords, AreTheSameReadingsFromEveryShape) {
  const std::map<std::string, std::string> documents = {{"delimited", by_python("delimited")},
                                                        {"json", by_python("json")},
                                                        {"xml", by_python("xml")},
                                                        {"astm", by_python("astm")},
                                                        {"columns", by_awk("lines.awk")},
                                                        {"labelled", by_awk("slips.awk")},
                                                        {"sheet", committed_workbook()}};
  const Catalogue readers = shipped();
  for (const std::string_view reader : readers.names())
    EXPECT_TRUE(documents.contains(std::string(reader))) << "no document for " << reader;
  const std::vector<model::Reading> readings = readings_of("sheet", documents.at("sheet"));
  ASSERT_THAT(readings, SizeIs(12));
  EXPECT_THAT(told(readings), ElementsAreArray(expected()));
  for (const auto& [intake, bytes] : documents) {
    const std::vector<model::Reading> others = readings_of(intake, bytes);
    EXPECT_THAT(told(others), ElementsAreArray(told(readings))) << intake;
    EXPECT_TRUE(others == readings) << intake;
  }
}

// Where LibreOffice is installed: its workbook of today says what the one in this tree says.
TEST(SameRecords, AreInAWorkbookThatIsMadeAnew) {
  if (std::system("command -v soffice >/dev/null") != 0) GTEST_SKIP() << "soffice is not installed";
  std::string folder = (std::filesystem::temp_directory_path() / "same-records-XXXXXX").string();
  ASSERT_NE(mkdtemp(folder.data()), nullptr);
  output_of("sh workbook.sh '" + folder + "'");
  EXPECT_EQ(readings_of("sheet", plugins_test::file_bytes(folder + "/stones.xlsx")),
            readings_of("sheet", committed_workbook()));
  std::filesystem::remove_all(folder);
}

}  // namespace
}  // namespace girdle::reading
