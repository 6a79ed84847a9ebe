#include "astm/delimiters.h"

#include <gtest/gtest.h>

namespace girdle::astm {
namespace {

std::optional<Delimiters> of(std::string_view header) {
  std::string fault;
  auto found = Delimiters::from(header, fault);
  EXPECT_NE(found.has_value(), !fault.empty()) << fault;
  return found;
}

// The header of the figure with two patients and four results in CLSI LIS02-A2.
TEST(Delimiters, AreTheFourMarksBehindTheLetter) {
  for (const char* header : {"H|\\^&", "H|\\^&|", "H|\\^&|||quay-street"}) {
    const auto found = of(header);
    ASSERT_TRUE(found) << header;
    EXPECT_EQ(found->field, '|');
    EXPECT_EQ(found->repeat, '\\');
    EXPECT_EQ(found->component, '^');
    EXPECT_EQ(found->escape, '&');
  }
}

TEST(Delimiters, MayBeAnyMarks) {
  const auto found = of("H!~@$!x");
  ASSERT_TRUE(found);
  EXPECT_EQ(found->field, '!');
  EXPECT_EQ(found->repeat, '~');
  EXPECT_EQ(found->component, '@');
  EXPECT_EQ(found->escape, '$');
}

// Our own rule: common practice, no source. What is text in a record cannot take it apart.
TEST(Delimiters, AreNotLettersDigitsSpacesOrTheSameTwice) {
  for (const char* header : {"H", "H|", "H|\\^", "H|\\^|", "H||^&", "Habcd", "H|\\^1", "H|\\^ ",
                             "H|\\^\x01", "H|\\^&x", "H|\\^\xC3\xA9"}) {
    EXPECT_FALSE(of(header)) << header;
  }
}

}  // namespace
}  // namespace girdle::astm
