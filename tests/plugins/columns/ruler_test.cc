#include "columns/ruler.h"

#include <gtest/gtest.h>

#include <vector>

namespace girdle::columns {
namespace {

using Found = Ruler::Found;

// "aé€💎z": one to four bytes of UTF-8 (RFC 3629, section 3), one unit of UTF-16 each but two for
// the fourth (RFC 2781, section 2.1).
constexpr std::string_view kText = "a\xC3\xA9\xE2\x82\xAC\xF0\x9F\x92\x8Ez";
constexpr std::string_view kUtf16Bytes("\2\2\0\2\0\0\4\0\0\0\2", 11);

void expect_positions(const Widths& widths, const std::vector<uint64_t>& begins, uint64_t size) {
  Ruler ruler(kText, widths);
  const size_t indices[] = {0, 1, 3, 6, 10};
  for (size_t i = 0; i < begins.size(); ++i) {
    const Ruler::Mark mark = ruler.at(begins[i]);
    EXPECT_EQ(mark.found, Found::kThere) << i;
    EXPECT_EQ(mark.index, indices[i]) << i;
  }
  EXPECT_EQ(ruler.size(), size);
}

TEST(Ruler, CountsByTheWidthsOfCharacters) {
  expect_positions({}, {1, 2, 3, 4, 5}, 5);
  expect_positions({Widths::Kind::kUtf8}, {1, 2, 4, 7, 11}, 11);
  expect_positions({Widths::Kind::kListed, kUtf16Bytes}, {1, 3, 5, 7, 11}, 12);
}

TEST(Ruler, SaysWhatIsInTheMiddleOfACharacterOrBeyondTheLine) {
  Ruler bytes(kText, {Widths::Kind::kUtf8});
  EXPECT_EQ(bytes.at(3).found, Found::kInside);
  EXPECT_EQ(bytes.at(12).found, Found::kThere);
  EXPECT_EQ(bytes.at(13).found, Found::kBeyond);
  EXPECT_EQ(bytes.at(13).index, kText.size());
  Ruler plain("abc", {});
  EXPECT_EQ(plain.at(4).found, Found::kThere);
  EXPECT_EQ(plain.at(5).found, Found::kBeyond);
  EXPECT_EQ(plain.at(5).index, 3u);
  Ruler nothing("", {});
  EXPECT_EQ(nothing.at(1).found, Found::kThere);
  EXPECT_EQ(nothing.size(), 0u);
}

// expand -t 4 (coreutils 9.1) writes these.
TEST(Ruler, PutsSpacesForTabs) {
  WithoutTabs spaces;
  spaces.make("\ta\tbcd\te", {}, 4);
  EXPECT_EQ(spaces.text(), "    a   bcd e");
  spaces.make("abcd\t|", {}, 4);
  EXPECT_EQ(spaces.text(), "abcd    |");
}

// The same in UTF-16, where a character takes two bytes: the stop comes after two of them.
TEST(Ruler, PutsTabStopsAtPositionsOfTheDocument) {
  WithoutTabs spaces;
  spaces.make("a\tb", {Widths::Kind::kListed, "\2\2\2"}, 4);
  EXPECT_EQ(spaces.text(), "a  b");
  Ruler ruler(spaces.text(), spaces.widths());
  EXPECT_EQ(ruler.at(5).index, 3u);
  EXPECT_EQ(ruler.size(), 6u);
}

}  // namespace
}  // namespace girdle::columns
