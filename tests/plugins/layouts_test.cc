#include "json/layouts.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <string>

namespace girdle::json {
namespace {

TEST(Layouts, GivesEqualNumbersToEqualNamesInEqualOrder) {
  Layouts layouts;
  const std::vector<Member> ab = {{"a", true}, {"b", true}};
  const std::vector<Member> ba = {{"b", true}, {"a", true}};
  const std::vector<Member> a_null = {{"a", false}, {"b", true}};
  const uint32_t first = layouts.find(ab).layout;
  EXPECT_NE(first, 0u);
  const uint32_t second = layouts.find(ba).layout;
  const uint32_t third = layouts.find(a_null).layout;
  EXPECT_NE(first, second);
  EXPECT_NE(first, third);
  EXPECT_NE(second, third);
  EXPECT_EQ(layouts.find(ab).layout, first);
  EXPECT_EQ(layouts.find(a_null).layout, third);
}

TEST(Layouts, TellsNamesApartThatRunTogether) {
  Layouts layouts;
  EXPECT_NE(layouts.find({{"ab", true}, {"c", true}}).layout,
            layouts.find({{"a", true}, {"bc", true}}).layout);
}

TEST(Layouts, FindsANameThatComesTwice) {
  Layouts layouts;
  EXPECT_EQ(layouts.find({{"a", true}, {"b", false}, {"a", true}}).twice, "a");
  EXPECT_EQ(layouts.find({{"b", false}, {"b", true}}).twice, "b");
  EXPECT_FALSE(layouts.find({{"a", true}, {"b", true}}).twice);
}

TEST(Layouts, NeverUsesANumberAgain) {
  Layouts layouts;
  std::vector<uint32_t> numbers;
  for (int round = 0; round < 2; ++round) {
    for (int i = 0; i < 100; ++i) {
      const std::string name = "n" + std::to_string(i);
      numbers.push_back(layouts.find({{name, true}}).layout);
    }
  }
  std::sort(numbers.begin(), numbers.end());
  EXPECT_EQ(std::adjacent_find(numbers.begin(), numbers.end()), numbers.end());
}

TEST(Layouts, PromisesNothingForNamesTooLongToRemember) {
  Layouts layouts;
  const std::string name(20000, 'x');
  EXPECT_EQ(layouts.find({{name, true}}).layout, 0u);
  EXPECT_EQ(layouts.find({{name, true}, {name, true}}).twice, name);
}

}  // namespace
}  // namespace girdle::json
