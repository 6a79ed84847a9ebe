#include "evidence/carat.h"

#include <gtest/gtest.h>

#include <cmath>

namespace girdle::evidence {
namespace {

using base::Decimal;

Decimal d(std::string_view text) { return Decimal::parse(text).value(); }

double carat(Cut cut, const char* length, const char* width, const char* depth, const char* girdle = "1") {
  const auto estimate = estimate_carat(cut, {d(length), d(width), d(depth)}, d(girdle));
  return estimate ? estimate->carat.approximate() : NAN;
}

// Worked examples of a public page of the trade. It rounds the mean diameter first: 7.095 to 7.10.
TEST(EstimateCarat, AgreesWithWorkedExamplesOfRoundStones) {
  EXPECT_NEAR(carat(Cut::kRound, "6.05", "6.11", "3.63"), 0.8185, 0.0006);
  EXPECT_NEAR(carat(Cut::kRound, "7.10", "7.10", "4.47"), 1.374, 0.0006);
  EXPECT_NEAR(carat(Cut::kRound, "7.02", "7.17", "4.47"), 1.3726, 0.0001) << "without that rounding";
  EXPECT_NEAR(carat(Cut::kRound, "6.05", "6.11", "3.63", "1.02"), 0.8349, 0.0006);
}

// The same page's marquise: 10.24 × 6.11 × 4.75 mm, girdle 1.035.
TEST(EstimateCarat, AgreesWithTheWorkedExampleOfAMarquise) {
  EXPECT_NEAR(carat(Cut::kMarquise, "10.24", "6.11", "4.75", "1.035"), 1.753, 0.0006);
}

// By hand from the tabled factors, at the ratios of the tables and between them.
TEST(EstimateCarat, TakesTheFactorOfTheNearestRatio) {
  EXPECT_NEAR(carat(Cut::kEmerald, "7.5", "5", "3"), 7.5 * 5 * 3 * 0.0092, 1e-12);
  EXPECT_NEAR(carat(Cut::kEmerald, "8.5", "5", "3"), 8.5 * 5 * 3 * 0.0092, 1e-12) << "1.70";
  EXPECT_NEAR(carat(Cut::kEmerald, "9", "5", "3"), 9 * 5 * 3 * 0.0100, 1e-12) << "1.80";
  EXPECT_NEAR(carat(Cut::kPear, "8.3", "5", "3"), 8.3 * 5 * 3 * 0.0059, 1e-12) << "1.66";
  EXPECT_NEAR(carat(Cut::kOval, "8", "6", "4"), 49 * 4 * 0.0062, 1e-12);
  EXPECT_NEAR(carat(Cut::kHeart, "6", "6", "3.6"), 6 * 6 * 3.6 * 0.0059, 1e-12);
}

TEST(EstimateCarat, RefusesWhatIsNoStone) {
  EXPECT_TRUE(std::isnan(carat(Cut::kRound, "0", "6.11", "3.63")));
  EXPECT_TRUE(std::isnan(carat(Cut::kRound, "6.05", "6.11", "-3.63")));
  EXPECT_TRUE(std::isnan(carat(Cut::kPear, "5", "8", "3"))) << "longer than wide";
  EXPECT_FALSE(std::isnan(carat(Cut::kRound, "6.05", "6.11", "3.63"))) << "diameters in any order";
}

TEST(IsPlausible, AllowsForTheGirdleAndTheError) {
  const Measurements round{d("6.05"), d("6.11"), d("3.63")};  // 0.8185 ct
  EXPECT_EQ(is_plausible(d("0.82"), Cut::kRound, round), true);
  EXPECT_EQ(is_plausible(d("0.79"), Cut::kRound, round), true);
  EXPECT_EQ(is_plausible(d("0.95"), Cut::kRound, round), true) << "a thick girdle";
  EXPECT_EQ(is_plausible(d("0.70"), Cut::kRound, round), false);
  EXPECT_EQ(is_plausible(d("1.01"), Cut::kRound, round), false);
  EXPECT_EQ(is_plausible(d("1"), Cut::kRound, {d("0"), d("0"), d("0")}), std::nullopt);
}

// A laboratory's FAQ (1.768, 1.769), a page of the trade (1.568, 1.569), R. Cartier on CIBJO's rule
// (0.025, 0.125, 0.999), an examination note (0.759).
TEST(StatedCarat, RoundsUpOnlyFromNine) {
  const std::pair<const char*, const char*> kCases[] = {
      {"1.768", "1.76"}, {"1.769", "1.77"}, {"1.568", "1.56"}, {"1.569", "1.57"},
      {"0.025", "0.02"}, {"0.125", "0.12"}, {"0.759", "0.76"}, {"0.999", "1.00"}};
  for (const auto& [weight, stated] : kCases) EXPECT_EQ(stated_carat(d(weight)), stated);
}

TEST(StatedCarat, CutsOffWhatIsBeyondTheThousandth) {
  EXPECT_EQ(stated_carat(d("1.7689")), "1.76");
  EXPECT_EQ(stated_carat(d("1.7699999")), "1.77");
  EXPECT_EQ(stated_carat(d("10")), "10.00");
  EXPECT_EQ(stated_carat(d("0.005")), "0.00");
}

}  // namespace
}  // namespace girdle::evidence
