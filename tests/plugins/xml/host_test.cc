// The library as the daemon loads it, with a mapping: what a document becomes.
#include <gmock/gmock.h>

#include "plugins/test_host.h"
#include "reading/mappings.h"
#include "reading/reader.h"

namespace girdle::reading {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::SizeIs;

constexpr std::string_view kExport =
    "<?xml version='1.0'?>\n<export>\n<device serial='A-0117'/>\n<stones day='2026-11-02'>\n"
    "<stone at='10:15:30'><item>R1042</item><result>A</result></stone>\n"
    "<stone at='10:16:30'><item>R1043</item><result>Q</result></stone>\n"
    "<stone at='10:17:30'><item>R1044</item></stone>\n"
    "<stone at='10:18:30'><item>R&1045</item><result>A</result></stone>\n"
    "</stones>\n</export>\n";

TEST(XmlInTheDaemon, BecomesReadings) {
  model::Mapping mapping = reading_mapping({from("stock_number", {"item"})});
  mapping.fields[0] = from("instrument", {"../../device/@serial"});
  mapping.fields[1] = time(from("measured_at", {"../@day", "@at"}), "%Y-%m-%d %H:%M:%S");
  const Catalogue shipped = Catalogue::scan({GIRDLE_READER_FOLDER}, nullptr);
  auto reader = Reader::open(
      shipped, {.reader = "xml",
                .options = {{"record", "/export/stones/stone"}, {"context", "../../device"}},
                .mapping = mapping,
                .timezone = "Europe/Brussels"});
  ASSERT_TRUE(reader) << reader.error().text;
  auto document = (*reader)->begin();
  model::Records records;
  for (const std::string_view piece : plugins_test::pieces_of(kExport, 7))
    document->feed(piece, records);
  document->finish(true, records);
  EXPECT_EQ(document->fault(), "");
  ASSERT_THAT(records.readings, SizeIs(1));
  EXPECT_EQ(records.readings[0].instrument, "A-0117");
  EXPECT_EQ(records.readings[0].stock_number, "R1042");
  EXPECT_EQ(records.readings[0].place.line, 5u);
  std::vector<std::string> reasons, items;
  for (const model::Aside& aside : records.asides) {
    reasons.push_back(aside.reason);
    EXPECT_EQ(kExport.substr(aside.place.offset, aside.place.length), aside.bytes);
    items.push_back(aside.bytes.substr(0, 40));
  }
  EXPECT_THAT(reasons,
              ElementsAre(HasSubstr("\"Q\", which the mapping has no word for"),
                          HasSubstr("there is no column \"result\""), HasSubstr("write &amp;")));
  EXPECT_THAT(items, ElementsAre(HasSubstr("R1043"), HasSubstr("R1044"), HasSubstr("R&1045")));
}

}  // namespace
}  // namespace girdle::reading
