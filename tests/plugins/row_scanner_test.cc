#include "delimited/row_scanner.h"

#include <gmock/gmock.h>

#include <string>
#include <string_view>

namespace girdle::delimited {
namespace {

using testing::ElementsAre;

std::vector<std::string> texts(const RowScanner& scanner, std::string_view row) {
  std::vector<std::string> out;
  for (const FieldSpan& field : scanner.fields())
    out.emplace_back(row.substr(field.begin, field.end - field.begin));
  return out;
}

// The fields of the first row, looked at in pieces of `size`.
std::vector<std::string> first_row(RowScanner& scanner, std::string_view text, size_t size = 1000) {
  scanner.begin();
  for (size_t at = 0; at < text.size(); at += size) {
    const std::string_view piece = text.substr(at, size);
    if (scanner.advance(piece.data(), piece.size())) return texts(scanner, text);
  }
  scanner.end();
  return texts(scanner, text);
}

TEST(RowScanner, FindsFieldsInOneGoAndByteByByte) {
  const std::string long_field(200, 'x');
  const std::string row = "a,\"b,\r\n\"\"c\",," + long_field + ",d\ne";
  for (const size_t size : {1, 2, 5, 63, 64, 65, 1000}) {
    RowScanner scanner(',', '"', 100);
    EXPECT_THAT(first_row(scanner, row, size),
                ElementsAre("a", "b,\r\n\"\"c", "", long_field, "d"));
    EXPECT_EQ(scanner.size(), row.size() - 2);
    EXPECT_EQ(scanner.fault(), RowFault::kNone);
    EXPECT_EQ(scanner.line_ends(), 1u);
    EXPECT_TRUE(scanner.fields()[1].escaped);
    EXPECT_FALSE(scanner.fields()[0].escaped);
  }
}

TEST(RowScanner, TellsTheKindsOfBrokenQuotes) {
  const std::pair<const char*, RowFault> rows[] = {
      {"a\"b", RowFault::kQuoteInField},       {"a,b\"", RowFault::kQuoteInField},
      {"\"a\"b", RowFault::kTextAfterQuote},   {"\"a\" ,b", RowFault::kTextAfterQuote},
      {"\"a\"b\"", RowFault::kTextAfterQuote}, {"\"a", RowFault::kUnclosedQuote},
      {"\"a\"\"", RowFault::kUnclosedQuote},   {"\"\"", RowFault::kNone},
      {"\"\"\"\"", RowFault::kNone},           {",\"a\"", RowFault::kNone},
  };
  for (const auto& [row, fault] : rows) {
    RowScanner scanner(',', '"', 10);
    first_row(scanner, row);
    EXPECT_EQ(scanner.fault(), fault) << row;
  }
}

TEST(RowScanner, ABrokenQuoteCostsOneRow) {
  RowScanner scanner(',', '"', 10);
  first_row(scanner, "5\",\"x\ny\",1\nnext");
  EXPECT_EQ(scanner.size(), 10u);  // the quoted line end is still part of it
  first_row(scanner, "\"a\"b,c\nnext");
  EXPECT_EQ(scanner.size(), 6u);
}

TEST(RowScanner, AnEscapeKeepsAQuoteOrItselfInTheField) {
  const std::string row = R"("a\",b","c\\","d\e","","f""g",h\,\"i)";
  for (const size_t size : {1, 2, 3, 63, 64, 1000}) {
    RowScanner scanner(',', '"', 100, '\\');
    EXPECT_THAT(first_row(scanner, row + "\nnext", size),
                ElementsAre(R"(a\",b)", R"(c\\)", R"(d\e)", "", R"(f""g)", R"(h\)", R"(\"i)"));
    EXPECT_EQ(scanner.size(), row.size());
    EXPECT_TRUE(scanner.fields()[0].escaped);
    EXPECT_TRUE(scanner.fields()[1].escaped);
    EXPECT_FALSE(scanner.fields()[2].escaped);  // before another character it is one itself
    EXPECT_EQ(scanner.fault(), RowFault::kQuoteInField);  // outside quotes it escapes nothing
  }
}

TEST(RowScanner, ALineEndBehindAnEscapeIsCounted) {
  RowScanner scanner(',', '"', 10, '\\');
  EXPECT_THAT(first_row(scanner, "\"a\\\nb\",c\nnext"), ElementsAre("a\\\nb", "c"));
  EXPECT_EQ(scanner.line_ends(), 1u);
}

TEST(RowScanner, WithoutQuoteNoneIsSpecial) {
  RowScanner scanner(';', std::nullopt, 10);
  EXPECT_THAT(first_row(scanner, "\"a;b\"\n"), ElementsAre("\"a", "b\""));
  EXPECT_EQ(scanner.fault(), RowFault::kNone);
}

TEST(RowScanner, CountsFieldsThatItDoesNotKeep) {
  RowScanner scanner(',', '"', 2);
  EXPECT_THAT(first_row(scanner, "a,b,c,d\n"), ElementsAre("a", "b"));
  EXPECT_EQ(scanner.field_count(), 4u);
}

TEST(RowScanner, AsksForALookAtUnusualBytesOnly) {
  for (const std::string& text :
       {std::string("a,\0b", 4), std::string("a,\xC3\xA9"), std::string(80, 'x') + "\x80"}) {
    RowScanner scanner(',', '"', 10);
    first_row(scanner, text);
    EXPECT_TRUE(scanner.needs_a_look());
  }
  RowScanner scanner(',', '"', 10);
  first_row(scanner, std::string(100, '\x01') + "\x7F,~ ");
  EXPECT_FALSE(scanner.needs_a_look());
}

TEST(RowScanner, GoesOnElsewhereFromItsPlace) {
  const std::string row = "a,\"b\r\nc\"\"d\n\",\"\"e\",x,\"\\\"\n\",\"\\\\\",\\\"\nnext";
  RowScanner whole(',', '"', 10, '\\');
  first_row(whole, row);
  for (size_t cut = 0; cut <= whole.size(); ++cut) {
    RowScanner first(',', '"', 10, '\\');
    first.begin();
    first.advance(row.data(), cut);
    RowScanner second(',', '"', 10, '\\');
    second.take_up(first.rebase());
    EXPECT_TRUE(second.advance(row.data() + cut, row.size() - cut)) << cut;
    EXPECT_EQ(cut + second.size(), whole.size()) << cut;
    EXPECT_EQ(second.line_ends(), whole.line_ends()) << cut;
  }
}

}  // namespace
}  // namespace girdle::delimited
