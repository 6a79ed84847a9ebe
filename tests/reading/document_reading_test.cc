// What the host makes of a reader that breaks its contract: the same, in whichever process it is.
#include <gmock/gmock.h>

#include "reading/odd.h"

namespace girdle::reading {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

class DocumentReadingTest : public testing::TestWithParam<Carried> {
 protected:
  static base::Result<std::shared_ptr<Reader>> open_odd(std::string behaviour) {
    return reading::open_odd(std::move(behaviour), isolation_of(GetParam()));
  }
  static Read read(const std::string& behaviour, const std::vector<std::string>& pieces,
                   bool whole = true) {
    auto reader = open_odd(behaviour);
    EXPECT_TRUE(reader) << reader.error().text;
    return reader ? reading::read(**reader, pieces, whole) : Read{};
  }
};
INSTANTIATE_TEST_SUITE_P(Carriers, DocumentReadingTest,
                         testing::Values(Carried::kInProcess, Carried::kToProcess),
                         [](const auto& test) { return name_of(test.param); });

TEST_P(DocumentReadingTest, ReadsWithAReaderThatKeepsItsContract) {
  const Read result = read("", {"R1\nR", "2\nR3"});
  EXPECT_EQ(result.fault, "");
  ASSERT_THAT(result.records.declarations, SizeIs(3));
  EXPECT_EQ(result.records.declarations[1].stock_number, "R2");
  EXPECT_EQ(result.records.declarations[1].place, (model::Place{3, 2, 2}));
  EXPECT_EQ(result.consumed, 8u);
}

// Nothing of the call in which it happens counts; all of its bytes are set aside.
class AfterABreach
    : public testing::TestWithParam<std::tuple<Carried, std::pair<const char*, const char*>>> {};

TEST_P(AfterABreach, SetsTheDocumentAside) {
  const auto& [carried, breach] = GetParam();
  const auto [behaviour, fault] = breach;
  const auto reader = open_odd(behaviour, isolation_of(carried));
  ASSERT_TRUE(reader) << reader.error().text;
  const std::string bytes = "R1\nR2\nR3\n";
  const Read result = read(**reader, {bytes, "R4\n"});
  EXPECT_THAT(result.fault, HasSubstr(fault));
  EXPECT_EQ(result.records.declarations.size(), 0u);
  ASSERT_FALSE(result.records.asides.empty());
  EXPECT_EQ(result.records.asides.front().reason, result.fault);
  EXPECT_EQ(bytes_of(result.records.asides), bytes + "R4\n");
  EXPECT_EQ(result.consumed, 12u);
}

INSTANTIATE_TEST_SUITE_P(
    DocumentReading, AfterABreach,
    testing::Combine(testing::Values(Carried::kInProcess, Carried::kToProcess),
                     testing::Values(std::pair{"null_names", "without its fields"},
                                     std::pair{"null_values", "without its fields"},
                                     std::pair{"lost_name", "without its bytes"},
                                     std::pair{"lost_value", "without its bytes"},
                                     std::pair{"endless_value", "too long"},
                                     std::pair{"small_record", "a record of another size"},
                                     std::pair{"null_record", "a record of another size"},
                                     std::pair{"beyond", "and 9 were fed"},
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
                                     std::pair{"gives_up", "gave up (status 2)"},
                                     std::pair{"odd_status", "gave up (status 77)"},
                                     std::pair{"done_too_early", "10 bytes are done with, of 9"})),
    [](const auto& test) {
      return name_of(std::get<0>(test.param)) + '_' + std::get<1>(test.param).first;
    });

TEST_P(DocumentReadingTest, KeepsWhatEarlierFeedsGaveForTheCallerToDecide) {
  const Read result = read("gives_up_later", {"R1\nR2", "\nR3\n", "R4"});
  EXPECT_THAT(result.fault, HasSubstr("gave up"));
  ASSERT_THAT(result.records.declarations, SizeIs(1));
  EXPECT_EQ(bytes_of(result.records.asides),
            "R2\nR3\nR4");  // from where the last good call was done with
  EXPECT_EQ(result.records.asides.front().place.offset, 3u);
}

TEST_P(DocumentReadingTest, SetsALongDocumentAsideInPiecesOfTheRecordLimit) {
  const std::string bytes = std::string(150, 'x') + "\n";
  const Read result = read("gives_up", {bytes});
  ASSERT_THAT(result.records.asides, SizeIs(3));
  EXPECT_EQ(result.records.asides[2].place, (model::Place{128, 23, 0}));
  EXPECT_EQ(bytes_of(result.records.asides), bytes);
}

TEST_P(DocumentReadingTest, NoticesAReaderThatHoldsBackWithoutEnd) {
  std::vector<std::string> pieces(20, std::string(60, 'x') + "\n");
  EXPECT_THAT(read("holds_back", pieces).fault, HasSubstr("holds back"));
}

TEST_P(DocumentReadingTest, NoticesAReaderThatTakesBackWhatItWasDoneWith) {
  EXPECT_THAT(read("goes_back", {"R1\n", "R2\n"}).fault, HasSubstr("0 bytes are done with, of 6"));
}

TEST_P(DocumentReadingTest, NoticesBytesThatWereNeverToldOf) {
  const Read result = read("unfinished", {"R1\nR2"});
  EXPECT_THAT(result.fault, HasSubstr("it finishes with bytes that it did not tell of"));
  ASSERT_THAT(result.records.declarations, SizeIs(1));
  EXPECT_EQ(bytes_of(result.records.asides), "R2");
}

// No record of the call counts, so all of its bytes are set aside, also those of the records.
TEST_P(DocumentReadingTest, SetsAllOfACallAsideThatEndsInABreach) {
  const auto reader = *open_odd("unfinished");
  const Read result = read_at_once(*reader, "R1\nR2\nR3");
  EXPECT_THAT(result.fault, HasSubstr("finishes with bytes that it did not tell of"));
  EXPECT_THAT(result.records.declarations, IsEmpty());
  EXPECT_EQ(bytes_of(result.records.asides), "R1\nR2\nR3");
  EXPECT_EQ(result.consumed, 8u);
}

TEST_P(DocumentReadingTest, StopsAReaderThatIgnoresTheStop) {
  const Read result = read("ignores_stop", {"R1\nR2\n"});
  EXPECT_EQ(result.fault, "");  // nobody told it to stop
  EXPECT_THAT(result.records.declarations, SizeIs(2));
}

TEST_P(DocumentReadingTest, MakesReasonsReadable) {
  const Read odd = read("asides", {"R1\n"}), none = read("aside_without_reason", {"R1\n"});
  ASSERT_THAT(odd.records.asides, SizeIs(1));
  EXPECT_EQ(odd.records.asides[0].reason, "line \\x01 will not do");
  EXPECT_EQ(odd.records.asides[0].bytes, "R1");
  ASSERT_THAT(none.records.asides, SizeIs(1));
  EXPECT_EQ(none.records.asides[0].reason, "the reader gives no reason");
}

TEST_P(DocumentReadingTest, TellsWhyAReaderWillNotBegin) {
  EXPECT_EQ(open_odd("refuses").error().text, "reader odd: this cannot\\x0abe");
  EXPECT_EQ(open_odd("refuses_in_silence").error().text,
            "reader odd: it refuses to begin, without a reason");
  EXPECT_THAT(open_odd("emits_in_create").error().text, HasSubstr("outside of feed and finish"));
}

TEST_P(DocumentReadingTest, HasNoStateWhereTheReaderGivesNone) {
  for (const auto& [behaviour, state] :
       {std::pair{"", "2"}, {"cannot_save", ""}, {"lost_state", ""}, {"gives_up", ""}}) {
    auto document = (*open_odd(behaviour))->begin();
    model::Records records;
    document->feed("R1\nR2\nR3", records);
    document->finish(false, records);
    EXPECT_EQ(document->resume(), state) << behaviour;
  }
}

TEST_P(DocumentReadingTest, GoesOnWhereAnotherLeftOff) {
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

TEST_P(DocumentReadingTest, OutlivesItsReader) {
  auto document = (*open_odd(""))->begin();
  model::Records records;
  document->feed("R1\n", records);
  auto moved = std::move(*document);
  moved.finish(true, records);
  EXPECT_THAT(records.declarations, SizeIs(1));
}

}  // namespace
}  // namespace girdle::reading
