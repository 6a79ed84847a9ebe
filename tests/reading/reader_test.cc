// The readers that ship, with mappings: what a document becomes.
#include "reading/reader.h"

#include <gmock/gmock.h>

#include "base/time.h"
#include "reading/mappings.h"

namespace girdle::reading {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

const Catalogue& shipped() {
  static const Catalogue catalogue = Catalogue::scan({GIRDLE_READER_FOLDER}, nullptr);
  return catalogue;
}

std::shared_ptr<Reader> open(std::string name, model::Mapping mapping, Options options = {},
                             uint64_t limit = 1 << 20) {
  auto reader = Reader::open(shipped(), {.reader = std::move(name),
                                         .options = std::move(options),
                                         .mapping = std::move(mapping),
                                         .timezone = "Europe/Brussels",
                                         .max_record_bytes = limit});
  EXPECT_TRUE(reader) << reader.error().text;
  return reader ? *reader : nullptr;
}

std::string open_error(std::string name, model::Mapping mapping, Options options = {}) {
  const auto reader = Reader::open(shipped(), {.reader = std::move(name),
                                               .options = std::move(options),
                                               .mapping = std::move(mapping),
                                               .timezone = "Europe/Brussels"});
  return reader ? "opened" : reader.error().text;
}

model::Records read(Reader& reader, const std::vector<std::string_view>& pieces) {
  model::Records records;
  auto document = reader.begin();
  EXPECT_TRUE(document);
  for (const std::string_view piece : pieces) document->feed(piece, records);
  document->finish(true, records);
  EXPECT_EQ(document->fault(), "");
  return records;
}

// Everything of the records, to compare.
std::string text_of(const model::Records& records) {
  std::string text;
  for (const auto& reading : records.readings) write_json(text, reading), text += '\n';
  for (const auto& declaration : records.declarations) write_json(text, declaration), text += '\n';
  for (const auto& aside : records.asides) {
    write_json(text, aside);
    text += aside.bytes + (aside.truncated ? "…\n" : "\n");
  }
  return text;
}

// An export as a German-set instrument may write it: semicolons, commas, windows-1252.
model::Mapping export_mapping() {
  model::Mapping mapping = reading_mapping({from("run", {"no"}), from("stock_number", {"item"}),
                                            number(from("temperature_c", {"temp"}), "C", ','),
                                            from("note", {"remark"})});
  mapping.fields[1] = time(from("measured_at", {"date", "time"}), "%d.%m.%Y %H:%M:%S");
  return mapping;
}

constexpr std::string_view kExport =
    "no;date;time;item;result;temp;remark\r\n"
    "1;02.11.2026;10:15:30;R1042;A;21,5;\r\n"
    "2;02.11.2026;10:16:30;R1042#2;B;21,6;\"caf\xE9; \"\"new\"\"\r\nlamp\"\r\n"
    "3;02.11.2026;10:17:30;R1043;Q;21,6;\r\n"
    "4;31.02.2026;10:17:30;R1043;A;21,6;\r\n"
    "5;02.11.2026;10:18:30;R1044;A;21.6;\r\n"
    "6;02.11.2026;10:19:30;R1045\r\n"
    "7;02.11.2026;10:20:30;;-;;";
const Options kExportOptions = {{"delimiter", ";"}, {"encoding", "windows-1252"}};

TEST(Reader, ReadsADelimitedExportAndSetsAsideWhatTheMappingDoesNotCover) {
  const auto reader = open("delimited", export_mapping(), kExportOptions);
  const model::Records records = read(*reader, {kExport});
  ASSERT_THAT(records.readings, SizeIs(3));
  EXPECT_EQ(records.readings[0].stock_number, "R1042");
  EXPECT_EQ(base::format_rfc3339(records.readings[0].measured_at), "2026-11-02T09:15:30.000Z");
  EXPECT_EQ(records.readings[1].position, "2");
  EXPECT_EQ(records.readings[1].note, "caf\xC3\xA9; \"new\"\r\nlamp");
  EXPECT_EQ(records.readings[2].run, "7");
  EXPECT_EQ(records.readings[2].finding, model::Finding::kVoid);
  std::vector<std::string> reasons, bytes;
  std::vector<uint32_t> lines;
  for (const model::Aside& aside : records.asides) {
    reasons.push_back(aside.reason);
    bytes.push_back(aside.bytes);
    lines.push_back(aside.place.line);
    EXPECT_EQ(kExport.substr(aside.place.offset, aside.place.length), aside.bytes);
  }
  EXPECT_THAT(reasons,
              ElementsAre(HasSubstr("\"Q\", which the mapping has no word for"),
                          HasSubstr("no such day in that month"), HasSubstr("decimal: \".\""),
                          HasSubstr("4")));  // the reader's: a row with other than 7 fields
  EXPECT_THAT(
      bytes,
      ElementsAre("3;02.11.2026;10:17:30;R1043;Q;21,6;", "4;31.02.2026;10:17:30;R1043;A;21,6;",
                  "5;02.11.2026;10:18:30;R1044;A;21.6;", "6;02.11.2026;10:19:30;R1045"));
  EXPECT_THAT(lines, ElementsAre(5u, 6u, 7u, 8u));
}

constexpr std::string_view kLines =
    "{\"at\":\"2026-11-02T10:15:30Z\",\"result\":\"A\",\"item\":\"R1\",\"weight\":1.010,\"remark\":"
    "null}\n"
    "{\"result\":\"B\",\"at\":\"2026-11-02T10:15:31.5+01:00\"}\n"
    "{\"at\":\"2026-11-02T10:15:32Z\",\"item\":\"R1\"}\n"
    "not json\n"
    "{\"at\":\"2026-11-02T10:15:33Z\",\"result\":\"A\",\"item\":\"0042\",\"weight\":-1}\n"
    "{\"at\":\"2026-11-02T10:15:34Z\",\"result\":\"C\",\"item\":\"\\u00e9\"}";

model::Mapping json_mapping() {
  return reading_mapping(
      {from("stock_number", {"item"}), from("carat", {"weight"}), from("note", {"remark"})});
}

TEST(Reader, TakesAMemberThatJsonLeavesOutAsAbsent) {
  const auto reader = open("json", json_mapping(), {{"shape", "lines"}});
  const model::Records records = read(*reader, {kLines});
  ASSERT_THAT(records.readings, SizeIs(3));
  EXPECT_EQ(records.readings[0].carat, base::Decimal::parse("1.01"));
  EXPECT_EQ(records.readings[1].stock_number, "");
  EXPECT_EQ(base::format_rfc3339(records.readings[1].measured_at), "2026-11-02T09:15:31.500Z");
  EXPECT_EQ(records.readings[2].stock_number, "\xC3\xA9");
  ASSERT_THAT(records.asides, SizeIs(3));
  EXPECT_THAT(records.asides[0].reason, HasSubstr("there is no column \"result\""));
  EXPECT_EQ(records.asides[1].bytes, "not json");
  EXPECT_EQ(records.asides[2].reason, "column \"weight\" holds \"-1\", which must be more than 0");
}

// Promise of the reader ABI, held for reader and mapping together.
TEST(Reader, ReadsTheSameHoweverTheBytesAreCut) {
  struct {
    std::shared_ptr<Reader> reader;
    std::string_view document;
  } const cases[] = {{open("delimited", export_mapping(), kExportOptions), kExport},
                     {open("json", json_mapping(), {{"shape", "lines"}}), kLines},
                     {open("delimited", export_mapping(), kExportOptions, 64), kExport}};
  for (const auto& c : cases) {
    const std::string whole = text_of(read(*c.reader, {c.document}));
    for (size_t cut = 0; cut <= c.document.size(); ++cut) {
      ASSERT_EQ(text_of(read(*c.reader, {c.document.substr(0, cut), c.document.substr(cut)})),
                whole)
          << cut;
    }
    for (const size_t size : {1, 2, 3, 7, 64}) {
      std::vector<std::string_view> pieces;
      for (size_t at = 0; at < c.document.size(); at += size)
        pieces.push_back(c.document.substr(at, size));
      ASSERT_EQ(text_of(read(*c.reader, pieces)), whole) << size;
    }
  }
}

TEST(Reader, ReadsTheSameWhenTheFileGrowsInBetween) {
  const auto reader = open("delimited", export_mapping(), kExportOptions);
  const model::Records whole = read(*reader, {kExport});
  for (size_t cut = 0; cut <= kExport.size(); ++cut) {
    model::Records records;
    auto first = reader->begin();
    first->feed(kExport.substr(0, cut), records);
    first->finish(false, records);
    const uint64_t done = first->consumed();
    ASSERT_LE(done, cut);
    auto second = reader->begin(first->resume());
    ASSERT_TRUE(second) << second.error().text;
    const size_t before = records.readings.size();
    second->feed(kExport.substr(done), records);
    second->finish(true, records);
    for (size_t i = before; i < records.readings.size(); ++i)
      records.readings[i].place.offset += done;
    ASSERT_EQ(records.readings, whole.readings) << cut;
    ASSERT_EQ(records.asides.size(), whole.asides.size()) << cut;
  }
}

TEST(Reader, LetsDocumentsTakeTurns) {
  const auto reader = open("delimited", reading_mapping());
  auto one = reader->begin(), two = reader->begin();
  model::Records records;
  one->feed("at,result\n2026-11-02T10:15:30Z,A\n", records);
  two->feed("result,at\nB,2026-11-02T10:15:31Z\n", records);
  one->feed("2026-11-02T10:15:32Z,C\n", records);
  two->feed("-,2026-11-02T10:15:33Z\n", records);
  one->finish(true, records);
  two->finish(true, records);
  EXPECT_THAT(records.asides, IsEmpty());
  ASSERT_THAT(records.readings, SizeIs(4));
  EXPECT_EQ(records.readings[2].finding, model::Finding::kIndeterminate);
  EXPECT_EQ(records.readings[3].finding, model::Finding::kVoid);
}

TEST(Reader, BoundsTheBytesOfAnAside) {
  const auto reader = open("delimited", reading_mapping(), {}, 64);
  const model::Records records =
      read(*reader, {"at,result\n" + std::string(1000, 'x') + ",A\n2026-11-02T10:15:30Z,A\n"});
  EXPECT_THAT(records.readings, SizeIs(1));
  ASSERT_FALSE(records.asides.empty());
  for (const model::Aside& aside : records.asides) EXPECT_LE(aside.bytes.size(), 64u);
}

TEST(Reader, SetsEveryRecordAsideWhereALayoutLacksAColumn) {
  const auto reader = open("delimited", reading_mapping({from("note", {"remark"})}));
  const model::Records records =
      read(*reader, {"at,result\n2026-11-02T10:15:30Z,A\n2026-11-02T10:15:31Z,B\n"});
  EXPECT_THAT(records.readings, IsEmpty());
  ASSERT_THAT(records.asides, SizeIs(2));
  EXPECT_EQ(
      records.asides[1].reason,
      "there is no column \"remark\", from which the mapping takes note; there is at and result");
  EXPECT_EQ(records.asides[1].bytes, "2026-11-02T10:15:31Z,B");
}

TEST(Reader, DoesNotOpenWhatCannotWork) {
  const model::Mapping mapping = reading_mapping();
  EXPECT_THAT(open_error("delimted", mapping),
              HasSubstr("there is no reader \"delimted\"; did you mean delimited?"));
  EXPECT_THAT(open_error("parquet", mapping),
              testing::AllOf(HasSubstr("there is "), HasSubstr("delimited"), HasSubstr("json")));
  EXPECT_THAT(open_error("delimited", mapping, {{"quotes", "'"}}),
              HasSubstr("did you mean quote?"));
  // Delimiter and quote are the same: the reader itself says so.
  EXPECT_THAT(open_error("delimited", mapping, {{"delimiter", "\""}}),
              HasSubstr("reader delimited: "));
  EXPECT_THAT(open_error("delimited", {}), HasSubstr("instrument: it has to be there"));
  const Catalogue nothing = Catalogue::scan({"/nowhere"}, nullptr);
  const auto none = Reader::open(
      nothing, {.reader = "json", .options = {}, .mapping = mapping, .timezone = "Etc/UTC"});
  ASSERT_FALSE(none);
  EXPECT_THAT(none.error().text, HasSubstr("no reader was found at all"));
}

TEST(Reader, RefusesAStateThatIsNotItsOwn) {
  const auto begun = open("delimited", reading_mapping())->begin("not a state");
  ASSERT_FALSE(begun);
  EXPECT_THAT(begun.error().text, HasSubstr("reader delimited: "));
}

}  // namespace
}  // namespace girdle::reading
