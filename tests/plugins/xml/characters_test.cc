// XML 1.0 (fifth edition), productions [2] to [5]; the first and last characters of their ranges.
#include "xml/characters.h"

#include <gtest/gtest.h>

namespace girdle::xml {
namespace {

TEST(Characters, AreThoseOfProduction2) {
  for (const uint32_t point :
       {0x9u, 0xAu, 0xDu, 0x20u, 0xD7FFu, 0xE000u, 0xFFFDu, 0x10000u, 0x10FFFFu})
    EXPECT_TRUE(is_character(point)) << point;
  for (const uint32_t point :
       {0x0u, 0x8u, 0xBu, 0xCu, 0xEu, 0x1Fu, 0xD800u, 0xDFFFu, 0xFFFEu, 0xFFFFu, 0x110000u})
    EXPECT_FALSE(is_character(point)) << point;
}

TEST(Characters, AreLookedForInText) {
  EXPECT_TRUE(are_characters("a\t\r\n\x7F\xC2\x80\xEF\xBF\xBD\xF0\x9F\x92\x8E"));
  for (const char* text : {"\x01", "a\x1F", "\xEF\xBF\xBE", "x\xEF\xBF\xBF"})
    EXPECT_FALSE(are_characters(text)) << text;
  EXPECT_FALSE(are_characters(std::string_view("\0", 1)));
}

TEST(Names, BeginAndGoOnAsProductions4And4aSay) {
  EXPECT_EQ(name_length("stone id"), 5u);
  EXPECT_EQ(name_length("g:stone-1.2_x>"), 13u);
  EXPECT_EQ(name_length("_"), 1u);
  EXPECT_EQ(name_length("\xD0\x9A\xD0\xB0="), 4u);                  // U+041A U+0430
  EXPECT_EQ(name_length("a\xC2\xB7\xCC\x80\xE2\x80\xBF/"), 8u);     // U+00B7 U+0300 U+203F
  EXPECT_EQ(name_length("\xF0\x90\x80\x80\xF3\xAF\xBF\xBF "), 8u);  // U+10000 U+EFFFF
  for (const char* text : {"", "1", "-a", ".a", " a", "\xC3\x97", "\xC3\xB7", "\xC2\xB7",
                           "\xCC\x80", "\xCD\xBE", "\xE2\x80\x8B", "\xF3\xB0\x80\x80"})
    EXPECT_EQ(name_length(text), 0u) << text;
}

TEST(Names, EndBeforeHalfACharacter) {
  EXPECT_EQ(name_length("a\xC3"), 1u);
  EXPECT_EQ(name_length("\xE2\x82"), 0u);
}

}  // namespace
}  // namespace girdle::xml
