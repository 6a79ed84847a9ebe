// The library as the daemon loads it, with a mapping: what a workbook becomes, and that the host
// takes the places that rows are given.
#include <gmock/gmock.h>
#include <yaml-cpp/yaml.h>

#include "base/time.h"
#include "plugins/corpus.h"
#include "reading/mappings.h"
#include "reading/reader.h"

namespace girdle::reading {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

std::string bytes_of(const std::string& name) {
  return plugins_test::file_bytes(GIRDLE_SOURCE_DIR "/tests/corpus/sheet/" + name);
}

model::Records read(const std::string& bytes, uint64_t limit, bool whole = true) {
  model::Mapping mapping =
      reading_mapping({from("stock_number", {"item"}), from("carat", {"carat"})});
  mapping.fields[1] = time(from("measured_at", {"measured"}), "%Y-%m-%dT%H:%M:%S");
  mapping.fields[2] = words(from("finding", {"ok"}), {{"true", "natural"}, {"false", "simulant"}});
  model::Records records;
  const Catalogue shipped = Catalogue::scan({GIRDLE_READER_FOLDER}, nullptr);
  auto reader = Reader::open(shipped, {.reader = "sheet",
                                       .options = {},
                                       .mapping = mapping,
                                       .timezone = "Europe/Brussels",
                                       .max_record_bytes = limit});
  EXPECT_TRUE(reader) << reader.error().text;
  auto document = (*reader)->begin();
  for (const std::string_view piece : plugins_test::pieces_of(bytes, 1000))
    document->feed(piece, records);
  document->finish(whole, records);
  EXPECT_EQ(document->fault(), "");
  EXPECT_EQ(document->consumed(), whole ? bytes.size() : 0);
  return records;
}

// As tests/plugins/abi_test.cc asks of readers that read while a document comes.
TEST(SheetLibrary, AgreesWithItsManifest) {
  const std::string folder = GIRDLE_READER_FOLDER "/";
  const YAML::Node said = YAML::LoadFile(folder + "sheet.reader.yaml");
  const auto library = plugins_test::open_library(folder + said["library"].as<std::string>());
  ASSERT_EQ(library.error, "");
  const girdle_reader_descriptor* reader = library.descriptor_at(0);
  ASSERT_NE(reader, nullptr);
  EXPECT_EQ(library.descriptor_at(1), nullptr);
  EXPECT_EQ(said["name"].as<std::string>(), reader->name);
  EXPECT_EQ(said["version"].as<std::string>(), reader->version);
  plugins_test::Options defaults;
  for (const YAML::Node& option : said["options"]) {
    const std::string name = option["name"].as<std::string>();
    defaults[name] = option["default"].as<std::string>();
    for (const YAML::Node& choice : option["choices"])
      EXPECT_EQ(plugins_test::read(*reader, {}, {{name, choice.as<std::string>()}}).refusal, "");
  }
  const std::string bytes = bytes_of("accept/001-libreoffice.xlsx");
  EXPECT_EQ(plugins_test::read(*reader, {bytes}, defaults).text(),
            plugins_test::read(*reader, {bytes}).text());
}

TEST(SheetInTheDaemon, BecomesReadings) {
  const model::Records records = read(bytes_of("accept/001-libreoffice.xlsx"), 1 << 20);
  ASSERT_THAT(records.readings, SizeIs(3));
  EXPECT_EQ(records.readings[0].stock_number, "R1042");
  EXPECT_EQ(base::format_rfc3339(records.readings[0].measured_at), "2026-11-02T09:15:30.000Z");
  EXPECT_EQ(records.readings[1].place.line, 3u);
  EXPECT_THAT(records.asides, IsEmpty());
}

TEST(SheetInTheDaemon, IsTakenWithAsidesAndNarrowLimits) {
  const std::string bytes = bytes_of("aside/001-openpyxl-faults.xlsx");
  EXPECT_THAT(read(bytes, 1 << 20).asides, SizeIs(6));  // the mapping has no column ok
  EXPECT_THAT(read(bytes, bytes.size() / 8 + 1).asides, SizeIs(6));
  const model::Records long_one = read(bytes, 100);
  ASSERT_THAT(long_one.asides, SizeIs(bytes.size() / 100 + 1));
  EXPECT_THAT(long_one.asides[0].reason, HasSubstr("eight times the intake's max_record"));
}

TEST(SheetInTheDaemon, WaitsWhileADocumentGrows) {
  const model::Records records = read(bytes_of("accept/003-openpyxl.xlsx"), 1 << 20, false);
  EXPECT_THAT(records.readings, IsEmpty());
  EXPECT_THAT(records.asides, IsEmpty());
}

}  // namespace
}  // namespace girdle::reading
