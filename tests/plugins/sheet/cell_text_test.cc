// ECMA-376, part 1: ST_Xstring 22.9.2.19, string items 18.4.8, rich text runs 18.4.4, phonetic runs
// 18.4.6.
#include "sheet/cell_text.h"

#include <gtest/gtest.h>

#include <pugixml.hpp>

namespace girdle::sheet {
namespace {

std::string unescaped(std::string_view text) {
  std::string out;
  append_unescaped(text, out);
  return out;
}

std::string shown(const char* item) {
  pugi::xml_document document;
  document.load_string(item, pugi::parse_default | pugi::parse_ws_pcdata);
  std::string out;
  append_shown(document.document_element(), out);
  return out;
}

TEST(CellText, ResolvesTheEscapesOfCharacters) {
  EXPECT_EQ(unescaped("a_x000D_b"), "a\rb");
  EXPECT_EQ(unescaped("_x0041__x00e9_"), "A\xC3\xA9");
  EXPECT_EQ(unescaped("_x005F_x000D_"), "_x000D_");
  EXPECT_EQ(unescaped("_xD83D__xDC8E_"), "\xF0\x9F\x92\x8E");
  EXPECT_EQ(unescaped("_x0000_"), std::string(1, '\0'));
}

TEST(CellText, LeavesAloneWhatIsNoEscape) {
  for (const char* text : {"", "_", "a_b", "_x000D", "_x00G0_", "_X000D_", "_x00D_", "__x_",
                           "_xD83D_", "_xDC8E_", "_xD83D_x", "_x+00D_"})
    EXPECT_EQ(unescaped(text), text);
}

TEST(CellText, JoinsTheRunsOfRichText) {
  EXPECT_EQ(shown("<si><t>R1042</t></si>"), "R1042");
  EXPECT_EQ(shown("<si><t xml:space='preserve'> a </t></si>"), " a ");
  EXPECT_EQ(shown("<si><r><t>R10</t></r><r><rPr><b/></rPr><t>42</t></r></si>"), "R1042");
  EXPECT_EQ(shown("<x:si xmlns:x='u'><x:r><x:t>a</x:t></x:r></x:si>"), "a");
  EXPECT_EQ(shown("<si><t/></si>"), "");
}

TEST(CellText, LeavesOutHowATextIsSpoken) {
  EXPECT_EQ(shown("<si><t>\xE6\x9D\xB1</t><rPh sb='0' eb='1'><t>a</t></rPh><phoneticPr/></si>"),
            "\xE6\x9D\xB1");
}

TEST(CellText, TellsNumbers) {
  EXPECT_EQ(number_of("0.28999999999999998"), 0.29);
  EXPECT_EQ(number_of("1.0000000000000001E-5"), 1e-5);
  EXPECT_EQ(number_of("-5"), -5.0);
  EXPECT_EQ(number_of("+5"), 5.0);
  for (const char* text : {"", "x", "1x", "0x10", "1,5", "nan", "inf", "1e999", "--1", "1 2"})
    EXPECT_FALSE(number_of(text)) << text;
}

// Python 3.11: repr, and format with "f" where that has an exponent.
TEST(CellText, WritesTheShortestDecimalOfANumber) {
  EXPECT_EQ(shortest_decimal(0.28999999999999998), "0.29");
  EXPECT_EQ(shortest_decimal(0.1 + 0.2), "0.30000000000000004");
  EXPECT_EQ(shortest_decimal(1e20), "100000000000000000000");
  EXPECT_EQ(shortest_decimal(1e-5), "0.00001");
  EXPECT_EQ(shortest_decimal(-12.5), "-12.5");
  EXPECT_EQ(shortest_decimal(0), "0");
  EXPECT_EQ(shortest_decimal(1e21), std::nullopt);
  EXPECT_EQ(shortest_decimal(1e-10), std::nullopt);
}

}  // namespace
}  // namespace girdle::sheet
