// The notation is our own: common practice, no source.
#include "columns/layout.h"

#include <gmock/gmock.h>

namespace girdle::columns {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;

Layout layout(std::string_view fields, std::string_view ignore = {}) {
  std::string refusal;
  auto layout = Layout::from(fields, ignore, 1000, refusal);
  EXPECT_TRUE(layout) << refusal;
  return layout ? *layout : Layout();
}

std::string refusal(std::string_view fields, std::string_view ignore = {}) {
  std::string refusal;
  EXPECT_FALSE(Layout::from(fields, ignore, 1000, refusal)) << fields;
  return refusal;
}

std::string told(const LineKind& kind) {
  std::string out;
  for (const Segment& segment : kind.segments) {
    out += segment.use == Segment::Use::kField    ? kind.names[segment.field]
           : segment.use == Segment::Use::kUnused ? "-"
                                                  : "gap";
    out += ' ' + std::to_string(segment.at.first) + '-';
    out += segment.at.last == kToLineEnd ? "; " : std::to_string(segment.at.last) + "; ";
  }
  return out;
}

TEST(ColumnsLayout, KnowsWhatEveryPositionIs) {
  EXPECT_EQ(told(layout("run 1-4, date 6-15, - 16, result 39").kinds[0]),
            "run 1-4; gap 5-5; date 6-15; - 16-16; gap 17-38; result 39-39; gap 40-; ");
  EXPECT_EQ(told(layout("note 9-, item 2-8").kinds[0]), "gap 1-1; item 2-8; note 9-; ");
}

TEST(ColumnsLayout, TakesKindsByLinesOrSemicolons) {
  for (const char* text : {"'H' carried: a 2; 'it''s: ' : b 7", "'H'carried:a 2\n\n'it''s: ':b 7\n",
                           "'H' carried:\n  a 2,\n;'it''s: ': b 7;"}) {
    const Layout two = layout(text);
    ASSERT_EQ(two.kinds.size(), 2u) << text;
    EXPECT_EQ(two.kinds[0].prefix, "H");
    EXPECT_TRUE(two.kinds[0].carried);
    EXPECT_EQ(two.kinds[1].prefix, "it's: ");
    EXPECT_FALSE(two.kinds[1].carried);
    EXPECT_THAT(two.kinds[1].names, ElementsAre("b"));
  }
}

TEST(ColumnsLayout, GoesOnBehindACommaOnTheNextLine) {
  const Layout one = layout("run 1-4,\n  stock no. 6-9\n");
  ASSERT_EQ(one.kinds.size(), 1u);
  EXPECT_THAT(one.kinds[0].names, ElementsAre("run", "stock no."));
}

TEST(ColumnsLayout, TellsKindsByTheLongestBeginning) {
  const Layout some = layout("'R': a 2; 'RX': a 3; b 1", "'RXX', '# '");
  EXPECT_EQ(some.match("RY").kind, 0u);
  EXPECT_EQ(some.match("RX").kind, 1u);
  EXPECT_EQ(some.match("RXX").found, Layout::Found::kIgnored);
  EXPECT_EQ(some.match("# x").found, Layout::Found::kIgnored);
  EXPECT_EQ(some.match("#x").kind, 2u);
  EXPECT_EQ(layout("'R': a 2").match("S").found, Layout::Found::kNothing);
}

TEST(ColumnsLayout, RefusesWhatIsNotOfTheNotation) {
  for (const char* text :
       {"run", "1-4", "run 0-4", "run 4-1", "run 1-x", "run -4", "run 1-1001", "run 1001",
        "run 1001-", "run 1..4", "run 99999999999999999999", "a 1,, b 2", ", a 1", "it's 1-4"}) {
    EXPECT_THAT(refusal(text), HasSubstr("is no name with its positions")) << text;
  }
  EXPECT_THAT(refusal(""), HasSubstr("say which field"));
  EXPECT_THAT(refusal(" ;\n"), HasSubstr("say which field"));
  EXPECT_THAT(refusal("'H: a 1"), HasSubstr("single quotes"));
  EXPECT_THAT(refusal("'': a 1"), HasSubstr("single quotes"));
  EXPECT_THAT(refusal("'\t': a 1"), HasSubstr("single quotes"));
  EXPECT_THAT(refusal("'H' a 1"), HasSubstr("behind 'H' must stand a colon"));
  EXPECT_THAT(refusal("'H' carry: a 1"), HasSubstr("a colon"));
  EXPECT_THAT(refusal("a 1", "#"), HasSubstr("ignore: "));
  EXPECT_THAT(refusal("a 1", "'#' 'x'"), HasSubstr("ignore: "));
  EXPECT_THAT(refusal("a 1", "''"), HasSubstr("ignore: "));
}

TEST(ColumnsLayout, RefusesWhatContradictsItself) {
  EXPECT_THAT(refusal("a 1-4, b 4-6"), HasSubstr("position 4 is in two fields"));
  EXPECT_THAT(refusal("a 3-, b 7"), HasSubstr("position 7 is in two fields"));
  EXPECT_THAT(refusal("a 1, a 2"), HasSubstr("\"a\" is there twice"));
  EXPECT_THAT(refusal("a 1\nb 2"), HasSubstr("two kinds of lines have no beginning"));
  EXPECT_THAT(refusal("'H': a 1; 'H': b 2"), HasSubstr("begin with 'H' are there twice"));
  EXPECT_THAT(refusal("'H': a 1", "'H'"), HasSubstr("begin with 'H' are there twice"));
  EXPECT_THAT(refusal("'H': - 1"), HasSubstr("no field in 'H'"));
  EXPECT_THAT(refusal("'H' carried: a 1"), HasSubstr("none is a record"));
  EXPECT_THAT(refusal("'H' carried: a 1; 'R': a 2"), HasSubstr("\"a\" would be in a record twice"));
  EXPECT_THAT(refusal("'H' carried: a 1; 'I' carried: a 2; 'R': b 2"), HasSubstr("\"a\" would"));
}

}  // namespace
}  // namespace girdle::columns
