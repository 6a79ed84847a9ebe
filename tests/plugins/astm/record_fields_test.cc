#include "astm/record_fields.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace girdle::astm {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Optional;
using testing::Pair;

constexpr Delimiters kUsual{'|', '\\', '^', '&'};

std::vector<std::pair<std::string, std::string>> fields(std::string_view record,
                                                        bool decodes = true) {
  RecordFields read(decodes, 100);
  EXPECT_EQ(read.read(record, kUsual), std::nullopt) << record;
  std::vector<std::pair<std::string, std::string>> out;
  for (size_t i = 0; i < read.names().size(); ++i) {
    out.emplace_back(read.names()[i], read.values()[i]);
  }
  return out;
}

std::optional<std::string> fault(std::string_view record, uint64_t most = 100) {
  return RecordFields(true, most).read(record, kUsual);
}

// python-astm 0.5's tests (BSD), github kxepal/python-astm @06ca13c, astm/tests/test_codecs.py,
// DecodeRecordTestCase: what is between which delimiters. Names are ours.
TEST(RecordFields, TakesAPublishedRecordApart) {
  EXPECT_THAT(fields("P|1|2776833|||ABC||||||||||||||||||||"),
              ElementsAre(Pair("P.2", "1"), Pair("P.2.1", "1"), Pair("P.3", "2776833"),
                          Pair("P.3.1", "2776833"), Pair("P.6", "ABC"), Pair("P.6.1", "ABC")));
}

TEST(RecordFields, TakesPublishedComponentsApart) {
  EXPECT_THAT(
      fields("A|B^C^D^E|F"),
      ElementsAre(Pair("A.2", "B^C^D^E"), Pair("A.2.1", "B"), Pair("A.2.2", "C"),
                  Pair("A.2.3", "D"), Pair("A.2.4", "E"), Pair("A.3", "F"), Pair("A.3.1", "F")));
  EXPECT_THAT(
      fields("A|B^^C^D^^E|F"),
      ElementsAre(Pair("A.2", "B^^C^D^^E"), Pair("A.2.1", "B"), Pair("A.2.3", "C"),
                  Pair("A.2.4", "D"), Pair("A.2.6", "E"), Pair("A.3", "F"), Pair("A.3.1", "F")));
}

TEST(RecordFields, TakesPublishedRepeatsApart) {
  EXPECT_THAT(fields("A|B^C\\D^E|F"),
              ElementsAre(Pair("A.2", "B^C\\D^E"), Pair("A.2.1", "B"), Pair("A.2.2", "C"),
                          Pair("A.2[2]", "D^E"), Pair("A.2[2].1", "D"), Pair("A.2[2].2", "E"),
                          Pair("A.3", "F"), Pair("A.3.1", "F")));
}

TEST(RecordFields, HasNoNameForWhatIsEmpty) {
  EXPECT_THAT(fields("R"), IsEmpty());
  EXPECT_THAT(fields("R||||"), IsEmpty());
  EXPECT_THAT(fields("R|^\\^"), ElementsAre(Pair("R.2", "^\\^"), Pair("R.2[2]", "^")));
}

TEST(RecordFields, HasNoNameForAHeadersDelimiters) {
  EXPECT_THAT(fields("H|\\^&|7||quay-street"),
              ElementsAre(Pair("H.3", "7"), Pair("H.3.1", "7"), Pair("H.5", "quay-street"),
                          Pair("H.5.1", "quay-street")));
}

// The sequences as the Perl library Epidermis-Protocol-CLSI-LIS lists them (H N F S R E X…); the
// first two examples were made outside of this program.
TEST(RecordFields, DecodesEscapeSequences) {
  const auto decoded = [](std::string_view text) {
    return fields("R|" + std::string(text)).at(0).second;
  };
  EXPECT_EQ(decoded("a&S&b"), "a^b");
  EXPECT_EQ(decoded("&E&F&E&"), "&F&");
  EXPECT_EQ(decoded("1&F&2&R&3"), "1|2\\3");
  EXPECT_EQ(decoded("&X41420a&"), "AB\n");
  EXPECT_EQ(decoded("&XC3A9&"), "\xC3\xA9");
  EXPECT_EQ(decoded("&H&loud&N&"), "loud");
  EXPECT_EQ(decoded("&H&"), "");  // it is there, and says nothing
}

TEST(RecordFields, DecodesEachComponentAndLeavesTheWholeAsItStands) {
  EXPECT_THAT(fields("R|a&S&b^c"),
              ElementsAre(Pair("R.2", "a&S&b^c"), Pair("R.2.1", "a^b"), Pair("R.2.2", "c")));
}

TEST(RecordFields, LeavesEscapesWhereThatIsSaid) {
  EXPECT_THAT(fields("R|a & b|&F&", false),
              ElementsAre(Pair("R.2", "a & b"), Pair("R.2.1", "a & b"), Pair("R.3", "&F&"),
                          Pair("R.3.1", "&F&")));
}

TEST(RecordFields, TakesNoSequenceThatItDoesNotKnow) {
  for (const char* text : {"&", "a&b", "&Q&", "&&", "&X&", "&X1&", "&XG0&", "&FF&", "&f&"}) {
    EXPECT_THAT(fault("R|" + std::string(text)), Optional(HasSubstr("escape sequence"))) << text;
  }
  EXPECT_THAT(fault("R|&XFF&"), Optional(HasSubstr("not UTF-8")));
}

TEST(RecordFields, BoundsTheNames) {
  EXPECT_EQ(fault("R|1|2", 4), std::nullopt);
  EXPECT_THAT(fault("R|1|2", 3), Optional(HasSubstr("more than 3")));
  EXPECT_THAT(fault("R|" + std::string(100000, '^') + "x", 1), Optional(HasSubstr("more than 1")));
  EXPECT_EQ(fault("R" + std::string(100000, '|'), 1), std::nullopt);
}

TEST(RecordFields, FindsAFieldByItsNumber) {
  EXPECT_EQ(field_of("L|1|N", '|', 3), "N");
  EXPECT_EQ(field_of("L|1|N|", '|', 4), "");
  EXPECT_EQ(field_of("L|1", '|', 3), "");
  EXPECT_EQ(field_of("", '|', 1), "");
}

}  // namespace
}  // namespace girdle::astm
