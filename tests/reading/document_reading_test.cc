// What the host makes of a reader that breaks its contract.
#include <gmock/gmock.h>

#include "reading/mappings.h"
#include "reading/reader.h"

namespace girdle::reading {
namespace {

using testing::HasSubstr;
using testing::SizeIs;

// Lines of text, each the stock number of a declaration.
base::Result<std::shared_ptr<Reader>> open_odd(std::string behaviour) {
  const Catalogue catalogue = Catalogue::scan({GIRDLE_TEST_READERS}, nullptr);
  model::Mapping mapping = declaration_mapping();
  mapping.fields[0].from = {"text"};
  return Reader::open(catalogue, {.reader = "odd",
                                  .options = {{"behaviour", std::move(behaviour)}},
                                  .mapping = std::move(mapping),
                                  .timezone = "Europe/Brussels",
                                  .max_record_bytes = 64});
}

struct Read {
  model::Records records;
  std::string fault;
  uint64_t consumed = 0;
};

Read read(const std::string& behaviour, const std::vector<std::string>& pieces, bool whole = true) {
  Read result;
  auto reader = open_odd(behaviour);
  EXPECT_TRUE(reader) << reader.error().text;
  if (!reader) return result;
  auto document = (*reader)->begin();
  EXPECT_TRUE(document) << document.error().text;
  for (const std::string& piece : pieces) document->feed(piece, result.records);
  document->finish(whole, result.records);
  result.fault = document->fault();
  result.consumed = document->consumed();
  return result;
}

std::string bytes_of(const std::vector<model::Aside>& asides) {
  std::string bytes;
  for (const model::Aside& aside : asides) bytes += aside.bytes;
  return bytes;
}

TEST(DocumentReading, ReadsWithAReaderThatKeepsItsContract) {
  const Read result = read("", {"R1\nR", "2\nR3"});
  EXPECT_EQ(result.fault, "");
  ASSERT_THAT(result.records.declarations, SizeIs(3));
  EXPECT_EQ(result.records.declarations[1].stock_number, "R2");
  EXPECT_EQ(result.records.declarations[1].place, (model::Place{3, 2, 2}));
  EXPECT_EQ(result.consumed, 8u);
}

// Nothing of the call in which it happens counts; all of its bytes are set aside.
class AfterABreach : public testing::TestWithParam<std::pair<const char*, const char*>> {};

TEST_P(AfterABreach, SetsTheDocumentAside) {
  const auto [behaviour, fault] = GetParam();
  const std::string bytes = "R1\nR2\nR3\n";
  const Read result = read(behaviour, {bytes, "R4\n"});
  EXPECT_THAT(result.fault, HasSubstr(fault));
  EXPECT_EQ(result.records.declarations.size(), 0u);
  ASSERT_FALSE(result.records.asides.empty());
  EXPECT_EQ(result.records.asides.front().reason, result.fault);
  EXPECT_EQ(bytes_of(result.records.asides), bytes + "R4\n");
  EXPECT_EQ(result.consumed, 12u);
}

INSTANTIATE_TEST_SUITE_P(
    DocumentReading, AfterABreach,
    testing::Values(
        std::pair{"null_names", "without its fields"},
        std::pair{"null_values", "without its fields"}, std::pair{"lost_name", "without its bytes"},
        std::pair{"lost_value", "without its bytes"}, std::pair{"endless_value", "too long"},
        std::pair{"small_record", "a record of another size"},
        std::pair{"null_record", "a record of another size"}, std::pair{"beyond", "and 9 were fed"},
        std::pair{"wraps", "and 9 were fed"},
        std::pair{"long_record", "a record of 1099511627776 bytes"},
        std::pair{"empty_record", "a record of 0 bytes"},
        std::pair{"backwards", "after 2 were told of"},
        std::pair{"other_layout", "two records of one layout"},
        std::pair{"too_many_fields", "a record of 2000 fields"},
        std::pair{"small_aside", "an aside of another size"},
        std::pair{"lost_reason", "the bytes of its reason"},
        std::pair{"flood", "nothing again and again"},
        std::pair{"goes_on", "a record of another size"},
        std::pair{"gives_up", "gave up (status 2)"}, std::pair{"odd_status", "gave up (status 77)"},
        std::pair{"done_too_early", "10 bytes are done with, of 9"}),
    [](const auto& test) { return std::string(test.param.first); });

TEST(DocumentReading, KeepsWhatEarlierFeedsGaveForTheCallerToDecide) {
  const Read result = read("gives_up_later", {"R1\nR2", "\nR3\n", "R4"});
  EXPECT_THAT(result.fault, HasSubstr("gave up"));
  ASSERT_THAT(result.records.declarations, SizeIs(1));
  EXPECT_EQ(bytes_of(result.records.asides),
            "R2\nR3\nR4");  // from where the last good call was done with
  EXPECT_EQ(result.records.asides.front().place.offset, 3u);
}

TEST(DocumentReading, SetsALongDocumentAsideInPiecesOfTheRecordLimit) {
  const std::string bytes = std::string(150, 'x') + "\n";
  const Read result = read("gives_up", {bytes});
  ASSERT_THAT(result.records.asides, SizeIs(3));
  EXPECT_EQ(result.records.asides[2].place, (model::Place{128, 23, 0}));
  EXPECT_EQ(bytes_of(result.records.asides), bytes);
}

TEST(DocumentReading, NoticesAReaderThatHoldsBackWithoutEnd) {
  std::vector<std::string> pieces(20, std::string(60, 'x') + "\n");
  EXPECT_THAT(read("holds_back", pieces).fault, HasSubstr("holds back"));
}

TEST(DocumentReading, NoticesAReaderThatTakesBackWhatItWasDoneWith) {
  EXPECT_THAT(read("goes_back", {"R1\n", "R2\n"}).fault, HasSubstr("0 bytes are done with, of 6"));
}

TEST(DocumentReading, NoticesBytesThatWereNeverToldOf) {
  const Read result = read("unfinished", {"R1\nR2"});
  EXPECT_THAT(result.fault, HasSubstr("it finishes with bytes that it did not tell of"));
  ASSERT_THAT(result.records.declarations, SizeIs(1));
  EXPECT_EQ(bytes_of(result.records.asides), "R2");
}

TEST(DocumentReading, StopsAReaderThatIgnoresTheStop) {
  const Read result = read("ignores_stop", {"R1\nR2\n"});
  EXPECT_EQ(result.fault, "");  // nobody told it to stop
  EXPECT_THAT(result.records.declarations, SizeIs(2));
}

TEST(DocumentReading, MakesReasonsReadable) {
  const Read odd = read("asides", {"R1\n"}), none = read("aside_without_reason", {"R1\n"});
  ASSERT_THAT(odd.records.asides, SizeIs(1));
  EXPECT_EQ(odd.records.asides[0].reason, "line \\x01 will not do");
  EXPECT_EQ(odd.records.asides[0].bytes, "R1");
  ASSERT_THAT(none.records.asides, SizeIs(1));
  EXPECT_EQ(none.records.asides[0].reason, "the reader gives no reason");
}

TEST(DocumentReading, TellsWhyAReaderWillNotBegin) {
  EXPECT_EQ(open_odd("refuses").error().text, "reader odd: this cannot\\x0abe");
  EXPECT_EQ(open_odd("refuses_in_silence").error().text,
            "reader odd: it refuses to begin, without a reason");
  EXPECT_THAT(open_odd("emits_in_create").error().text, HasSubstr("outside of feed and finish"));
}

TEST(DocumentReading, HasNoStateWhereTheReaderGivesNone) {
  for (const auto& [behaviour, state] :
       {std::pair{"", "2"}, {"cannot_save", ""}, {"lost_state", ""}, {"gives_up", ""}}) {
    auto document = (*open_odd(behaviour))->begin();
    model::Records records;
    document->feed("R1\nR2\nR3", records);
    document->finish(false, records);
    EXPECT_EQ(document->resume(), state) << behaviour;
  }
}

TEST(DocumentReading, GoesOnWhereAnotherLeftOff) {
  const auto reader = *open_odd("");
  model::Records records;
  std::string state;
  uint64_t consumed;
  {
    auto first = reader->begin();
    first->feed("R1\nR2\nR", records);
    first->finish(false, records);
    state = first->resume();
    consumed = first->consumed();
  }
  EXPECT_EQ(consumed, 6u);
  auto second = reader->begin(state);
  second->feed("R3\n", records);
  second->finish(false, records);
  ASSERT_THAT(records.declarations, SizeIs(3));
  EXPECT_EQ(records.declarations[2].place, (model::Place{0, 2, 3}));
}

TEST(DocumentReading, OutlivesItsReader) {
  auto document = (*open_odd(""))->begin();
  model::Records records;
  document->feed("R1\n", records);
  auto moved = std::move(*document);
  moved.finish(true, records);
  EXPECT_THAT(records.declarations, SizeIs(1));
}

}  // namespace
}  // namespace girdle::reading
