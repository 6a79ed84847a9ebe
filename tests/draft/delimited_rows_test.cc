#include "draft/delimited_rows.h"

#include <gmock/gmock.h>

#include "draft/header_look.h"

namespace girdle::draft {
namespace {

using testing::ElementsAre;

RowShape shape(const std::string& text) { return row_shapes({text}).front(); }

// RFC 4180, section 2, the examples of rules 5 to 7.
TEST(Rows, AreCutAsRfc4180Says) {
  const auto rows = rows_of("\"aaa\",\"b\r\nbb\",\"c\"\"cc\"\r\nzzz,yyy,xxx", {});
  ASSERT_EQ(rows.size(), 2u);
  EXPECT_THAT(rows[0].cells, ElementsAre("aaa", "b\r\nbb", "c\"cc"));
  EXPECT_EQ(rows[1].line, 3u);
  EXPECT_FALSE(rows[0].is_broken);
}

TEST(Rows, AreBrokenByAQuoteWhereNoneBelongs) {
  EXPECT_TRUE(rows_of("5\",b", {}).front().is_broken);
  EXPECT_TRUE(rows_of("\"a\"b,c", {}).front().is_broken);
  EXPECT_TRUE(rows_of("\"a,b\n", {}).front().is_broken);
}

TEST(Delimiter, IsTheOneThatLeavesCellsWhole) {
  EXPECT_EQ(shape("no;weight\n1;0,53\n2;0,71\n").dialect.delimiter, ';');
  EXPECT_EQ(shape("no,weight\n1,0.53\n2,0.71\n").dialect.delimiter, ',');
  EXPECT_EQ(shape("no\tnote\n1\ta, b\n2\tc\n").dialect.delimiter, '\t');
  EXPECT_EQ(shape("no|when\n1|10:15:30\n2|10:16:40\n").dialect.delimiter, '|');
}

TEST(Delimiter, IsWhatTheFirstLineSays) {
  EXPECT_EQ(shape("sep=;\r\na,b;c\r\n1,2;3\r\n").dialect.delimiter, ';');
}

TEST(Delimiter, IsNoneWhereNothingSetsFieldsApart) { EXPECT_EQ(shape("stock\nR1\n").width, 1u); }

TEST(Quote, IsNoneWhereInchMarksStandInFields) {
  EXPECT_EQ(shape("size,note\n5\",say \"hi\n").dialect.quote, '\0');
  EXPECT_EQ(shape("size,note\n\"5\"\"\",x\n").dialect.quote, '"');
}

TEST(Quote, IsSingleWhereItStandsAroundFields) {
  EXPECT_EQ(shape("a;b\n'x;y';'it''s'\n").dialect.quote, '\'');
  EXPECT_EQ(shape("a;b\nit's;x\n").dialect.quote, '"');
}

TEST(Escape, IsTheBackslashBeforeQuotes) {
  EXPECT_EQ(shape("a,b\n\"5\\\" x\",\"c\"\n").dialect.escape, '\\');
}

TEST(Comment, IsNotTakenForOneWhereItNamesAColumn) {
  EXPECT_EQ(shape("# made by hand\na,b\n1,2\n").dialect.comment, '#');
  EXPECT_EQ(shape("#,b\n1,2\n").dialect.comment, '\0');
}

TEST(Titles, AreNoRows) {
  const RowShape found = shape("Results of 2 November\nroom \"2\n\nno,item\n1,R1\n2,R2\n");
  EXPECT_EQ(found.width, 2u);
  ASSERT_EQ(found.rows.front().size(), 3u);
  EXPECT_EQ(found.rows.front().front().line, 4u);
}

TEST(Header, IsTheFirstRowWhereNumbersStandBelowWords) {
  EXPECT_EQ(look_at_header(shape("a,b\nx,1\ny,2\n")).look, HeaderLook::kYes);
}

TEST(Header, IsTheFirstRowWhereItsNamesAreUsualOnes) {
  EXPECT_EQ(look_at_header(shape("item,result\nfoo,A\n")).look, HeaderLook::kYes);
}

TEST(Header, IsNoneWhereTheFirstRowHasNumbersAsTheOthers) {
  EXPECT_EQ(look_at_header(shape("R1,0.50\nR2,1.00\n")).look, HeaderLook::kNo);
}

TEST(Header, IsLeftOpenWhereAllIsWords) {
  EXPECT_EQ(look_at_header(shape("foo,bar\nbaz,qux\n")).look, HeaderLook::kUndecided);
}

}  // namespace
}  // namespace girdle::draft
