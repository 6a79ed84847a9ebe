#include "draft/times.h"

#include <gmock/gmock.h>

namespace girdle::draft {
namespace {

using testing::Contains;
using testing::ElementsAre;
using testing::IsEmpty;

std::vector<std::string> forms(const std::vector<std::string_view>& texts,
                               Digits digits = Digits::kAreOneNumber) {
  std::vector<std::string> found;
  for (const TimeReading& reading : time_forms(texts, digits)) found.push_back(reading.form);
  return found;
}

// The forms are those of the date command of coreutils 9.1, each run as date -d '2026-11-22
// 14:15:30' +FORM.
TEST(TimeForms, FindTheOneByWhichDateWroteTheTime) {
  EXPECT_THAT(forms({"2026-11-22 14:15:30"}), ElementsAre("%Y-%m-%d %H:%M:%S"));
  EXPECT_THAT(forms({"22.11.2026 14:15"}), ElementsAre("%d.%m.%Y %H:%M"));
  EXPECT_THAT(forms({"11/22/2026 02:15:30 PM"}), ElementsAre("%m/%d/%Y %I:%M:%S %p"));
  EXPECT_THAT(forms({"22-Nov-2026"}), ElementsAre("%d-%b-%Y"));
  EXPECT_THAT(forms({"Nov 22, 2026 14:15"}), ElementsAre("%b %d, %Y %H:%M"));
  EXPECT_THAT(forms({"2026/11/22T14:15:30+0100"}), ElementsAre("%Y/%m/%dT%H:%M:%S%z"));
}

// RFC 3339, 5.8, the examples.
TEST(TimeForms, TakeRfc3339BeforeAPatternThatReadsTheSame) {
  EXPECT_THAT(forms({"1985-04-12T23:20:50.52Z", "1996-12-19T16:39:57-08:00"}),
              ElementsAre("rfc3339"));
}

TEST(TimeForms, LeaveDayAndMonthOpenUntilOneOfThemIsAboveTwelve) {
  EXPECT_THAT(forms({"02.11.2026", "03.11.2026"}), ElementsAre("%d.%m.%Y", "%m.%d.%Y"));
  EXPECT_THAT(forms({"02.11.2026", "13.11.2026"}), ElementsAre("%d.%m.%Y"));
  EXPECT_THAT(forms({"11/02/2026", "11/13/2026"}), ElementsAre("%m/%d/%Y"));
}

TEST(TimeForms, NameTheFormFirstByWhichTimesDoNotGoBack) {
  // As day and month these go from 30 November back to October; as month and day they would not
  // exist.
  EXPECT_THAT(forms({"01/12/2026", "02/01/2026", "03/01/2026"}),
              ElementsAre("%m/%d/%Y", "%d/%m/%Y"));
  EXPECT_THAT(forms({"01/12/2026", "02/12/2026", "03/12/2026"}),
              ElementsAre("%d/%m/%Y", "%m/%d/%Y"));
}

TEST(TimeForms, LeaveTwoDigitsOpenThatMayBeYearMonthOrDay) {
  const auto found = forms({"02-03-04"});
  EXPECT_THAT(found, Contains("%d-%m-%y"));
  EXPECT_THAT(found, Contains("%m-%d-%y"));
  EXPECT_THAT(found, Contains("%y-%m-%d"));
}

TEST(TimeForms, AreNoneWhereOneTextIsNoTime) {
  EXPECT_THAT(forms({"02.11.2026", "n/a"}), IsEmpty());
  EXPECT_THAT(forms({"31.02.2026"}), IsEmpty());
  EXPECT_THAT(forms({"", ""}), IsEmpty());
}

TEST(TimeForms, PassOverEmptyTexts) {
  EXPECT_THAT(forms({"", "2026-11-22", ""}), ElementsAre("%Y-%m-%d"));
}

TEST(TimeForms, TakeDigitsForANumberUnlessTheColumnIsCalledATime) {
  EXPECT_THAT(forms({"20261122"}), IsEmpty());
  EXPECT_THAT(forms({"20261122"}, Digits::kMayBeTime), ElementsAre("%Y%m%d"));
  // Seconds since 1970: date -u -d @1793610930 gives 2026-11-02 09:15:30.
  const std::vector<std::string_view> seconds = {"1793610930"};
  const auto found = time_forms(seconds, Digits::kMayBeTime);
  ASSERT_FALSE(found.empty());
  EXPECT_EQ(found.front().form, "unix");
  EXPECT_EQ(shown(found.front(), found.front().first), "2026-11-02T09:15:30Z");
}

TEST(TimeForms, SayWhetherAZoneHasToBeKnown) {
  const std::vector<std::string_view> local = {"2026-11-22 14:15:30"};
  EXPECT_TRUE(time_forms(local, Digits::kAreOneNumber).front().local);
  const std::vector<std::string_view> offset = {"2026-11-22 14:15:30+0100"};
  EXPECT_FALSE(time_forms(offset, Digits::kAreOneNumber).front().local);
}

TEST(ClockForms, AreThoseOfATimeOfDayAlone) {
  const std::vector<std::string_view> texts = {"10:15:30", "23:59:59"};
  EXPECT_THAT(clock_forms(texts, Digits::kAreOneNumber), ElementsAre("%H:%M:%S"));
  const std::vector<std::string_view> none = {"10:15:30", "24:00:01"};
  EXPECT_THAT(clock_forms(none, Digits::kAreOneNumber), IsEmpty());
}

}  // namespace
}  // namespace girdle::draft
