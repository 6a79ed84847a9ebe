// XML 1.0 (fifth edition): what ends comments (2.5), instructions (2.6), CDATA sections (2.7), tags
// (3.1).
#include "xml/markup_scanner.h"

#include <gtest/gtest.h>

#include <string>
#include <string_view>

namespace girdle::xml {
namespace {

struct Found {
  Token token;
  size_t size;
  bool operator==(const Found&) const = default;
};

// The first token; byte by byte, and in one piece.
Found first(std::string_view text) {
  MarkupScanner whole;
  whole.begin();
  const size_t size = whole.advance(text.data(), text.size());
  MarkupScanner cut;
  cut.begin();
  size_t at = 0;
  while (at < text.size() && !cut.ended()) at += cut.advance(text.data() + at, 1);
  EXPECT_EQ(cut.ended(), whole.ended()) << text;
  EXPECT_EQ(at, size) << text;
  EXPECT_EQ(cut.token(), whole.token()) << text;
  return {whole.ended() ? whole.token() : Token::kNone, size};
}

TEST(MarkupScanner, FindsWhereTokensEnd) {
  EXPECT_EQ(first("abc<"), (Found{Token::kText, 3}));
  EXPECT_EQ(first("<a>b"), (Found{Token::kStartTag, 3}));
  EXPECT_EQ(first("<a />b"), (Found{Token::kEmptyTag, 5}));
  EXPECT_EQ(first("</a >b"), (Found{Token::kEndTag, 5}));
  EXPECT_EQ(first("<?a b>c?>d"), (Found{Token::kInstruction, 9}));
  EXPECT_EQ(first("<!--a>b--c-->d"), (Found{Token::kComment, 13}));
  EXPECT_EQ(first("<![CDATA[a]>b]]c]]>d"), (Found{Token::kCdata, 19}));
  EXPECT_EQ(first("<!DOCTYPE a"), (Found{Token::kDoctype, 9}));
}

TEST(MarkupScanner, PassesOverMarksInAttributes) {
  EXPECT_EQ(first("<a b='>/' c=\"'/>\">"), (Found{Token::kStartTag, 18}));
  EXPECT_EQ(first("<a b='/'/>"), (Found{Token::kEmptyTag, 10}));
  EXPECT_EQ(first("<a b=/ >"), (Found{Token::kStartTag, 8}));
}

TEST(MarkupScanner, TellsMarksThatOverlap) {
  EXPECT_EQ(first("<!-->-->"), (Found{Token::kComment, 8}));
  EXPECT_EQ(first("<!--->-->"), (Found{Token::kComment, 9}));
  EXPECT_EQ(first("<!----->"), (Found{Token::kComment, 8}));
  EXPECT_EQ(first("<![CDATA[]]]>"), (Found{Token::kCdata, 13}));
  EXPECT_EQ(first("<?a?\?>"), (Found{Token::kInstruction, 6}));
  EXPECT_EQ(first("<?>?>"), (Found{Token::kInstruction, 5}));
}

TEST(MarkupScanner, TellsWhatIsNoMarkup) {
  for (const char* text :
       {"< a>", "<1>", "<!a>", "<!-a", "<![CDAT]", "<![x", "<!DOCTIPE", "<>", "<&"})
    EXPECT_EQ(first(text).token, Token::kBroken) << text;
  EXPECT_EQ(first("<a <b>").token, Token::kBroken);
  EXPECT_EQ(first("<a b='<'>").token, Token::kBroken);
  EXPECT_EQ(first("</a <").token, Token::kBroken);
}

TEST(MarkupScanner, GoesOnFromAPlace) {
  const std::string text = "<a b='>' c=\"/\"/><!-- -- --><![CDATA[]]]]>]]><?p ?\?>x";
  for (size_t cut = 0; cut <= text.size(); ++cut) {
    std::string told;
    MarkupScanner scanner;
    scanner.begin();
    for (size_t at = 0; at < text.size();) {
      if (at == cut) {
        MarkupScanner other;
        ASSERT_TRUE(other.take_up(scanner.place()));
        scanner = other;
      }
      const size_t end = at < cut ? cut : text.size();
      at += scanner.advance(text.data() + at, end - at);
      if (!scanner.ended()) continue;
      told += std::to_string(static_cast<int>(scanner.token())) + "@" + std::to_string(at) + " ";
      scanner.begin();
    }
    EXPECT_EQ(told, "3@16 6@27 7@41 1@44 5@51 ") << cut;
  }
}

TEST(MarkupScanner, RefusesAPlaceThatIsNone) {
  MarkupScanner scanner;
  EXPECT_FALSE(scanner.take_up({MarkupScanner::State::kEnded, 0, '\0', false}));
  EXPECT_FALSE(scanner.take_up({MarkupScanner::State::kTag, 0, 'x', false}));
  EXPECT_FALSE(scanner.take_up({MarkupScanner::State::kCdataOpen, 7, '\0', false}));
}

}  // namespace
}  // namespace girdle::xml
