// What is worked out of measurements has one text on every machine.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "evidence/carat.h"
#include "policy/locales.h"

namespace girdle::evidence {
namespace {

using base::Decimal;

TEST(EvidenceLocale, DoesNotChangeCarats) {
  const auto work = [] {
    std::string all;
    for (const Cut cut :
         {Cut::kRound, Cut::kOval, Cut::kHeart, Cut::kMarquise, Cut::kPear, Cut::kEmerald}) {
      for (const char* length : {"6.51", "9.875", "1200.5"}) {
        const Measurements stone = {*Decimal::parse(length), *Decimal::parse("5.25"),
                                    *Decimal::parse("3.125")};
        const auto estimate = estimate_carat(cut, stone, *Decimal::parse("1.02"));
        if (!estimate) continue;
        for (const Decimal& carat : {estimate->carat, estimate->low, estimate->high}) {
          all += carat.text() + " " + carat.rounded(3).text() + " " + stated_carat(carat) + "\n";
        }
        all += error_of(cut).text() + "\n";
      }
    }
    return all + stated_carat(*Decimal::parse("1234.769")) + "\n";
  };
  // The trade's rule, as carat.h has it: the third place rounds up from 9.
  EXPECT_THAT(work(), testing::EndsWith("\n1234.77\n"));
  expect_the_same_in_every_locale(work);
}

}  // namespace
}  // namespace girdle::evidence
