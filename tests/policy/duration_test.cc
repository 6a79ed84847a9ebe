// Rows of the DMN TCK (github.com/dmn-tck/tck at 0dbcaf9) 1120-feel-duration-function, by what they
// read.
#include "policy/duration.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "policy/values.h"

namespace girdle::policy {
namespace {

using testing::HasSubstr;

std::string again(std::string_view text) {
  const auto value = duration_of_text(text);
  EXPECT_TRUE(value.ok()) << text;
  return value ? plain_text(*value) : "";
}

std::string error(std::string_view text) {
  const auto value = duration_of_text(text);
  EXPECT_FALSE(value.ok()) << text;
  return value ? "" : value.error().text;
}

TEST(Duration, IsWrittenInTheLargestPartsThatFit) {
  EXPECT_EQ(again("P0D"), "PT0S");
  EXPECT_EQ(again("PT24H"), "P1D");
  EXPECT_EQ(again("P2DT274M"), "P2DT4H34M");
  EXPECT_EQ(again("PT1000M0.999999999S"), "PT16H40M0.999999999S");
  EXPECT_EQ(again("PT0.S"), "PT0S");
  EXPECT_EQ(again("PT3600S"), "PT1H");
  EXPECT_EQ(again("-PT1H2M"), "-PT1H2M");
  EXPECT_EQ(again("P0Y"), "P0M");
  EXPECT_EQ(again("P26M"), "P2Y2M");
  EXPECT_EQ(again("-P999999999M"), "-P83333333Y3M");
  EXPECT_EQ(again("-P99999999Y"), "-P99999999Y");
}

TEST(Duration, OfNoFormIsRefused) {
  for (const auto* text : {"P", "P0", "P1H", "P1S", "1D", "1Y", "", "-", "PT", "P1DT", "P1M1Y",
                           "PT1S1M", "P1.5D", "P-1D", "2012T-12-2511:00:00Z"}) {
    EXPECT_THAT(error(text), HasSubstr("written like P1DT2H30M or P1Y6M")) << text;
  }
  EXPECT_THAT(error("P1YT1H"), HasSubstr("mixes months with time"));
  EXPECT_THAT(error("P1Y1D"), HasSubstr("written like"));
  EXPECT_THAT(error("P1234567890123456D"), HasSubstr("15 digits"));
  EXPECT_THAT(error("PT0.1234567891S"), HasSubstr("nine digits"));
  EXPECT_THAT(error("P999999999999999Y"), HasSubstr("too long"));
}

// 0068 dt_duration_002, _004, ym_duration_002.
TEST(Duration, IsEqualByItsLength) {
  EXPECT_EQ(days("P1D"), days("PT24H"));
  EXPECT_EQ(days("P0D"), days("-P0D"));
  EXPECT_NE(days("P1D"), days("-P1D"));
  EXPECT_EQ(months("P1Y"), months("P12M"));
}

TEST(Duration, OfTheOtherKindIsNoValueOfAType) {
  EXPECT_EQ(value_of_text("P1Y", Type::kDaysDuration), std::nullopt);
  EXPECT_EQ(value_of_text("P1D", Type::kMonthsDuration), std::nullopt);
  EXPECT_THAT(temporal_of_text("P1D", Type::kMonthsDuration).error().text,
              HasSubstr("is a days and time duration, not a years and months duration"));
}

}  // namespace
}  // namespace girdle::policy
