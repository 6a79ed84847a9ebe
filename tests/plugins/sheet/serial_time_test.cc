// ECMA-376, second edition, part 1, 18.17.4.1 to 18.17.4.3 (first edition: part 4, 3.17.4.1 to
// 3.17.4.3): the bases, the limits, 29 February 1900, and the worked examples of dates, times and
// both.
#include "sheet/serial_time.h"

#include <gmock/gmock.h>

#include <fstream>
#include <sstream>

namespace girdle::sheet {
namespace {

using Base = DateBase;
using Kind = NumberKind;
using testing::HasSubstr;

void expect_text(double serial, Kind kind, Base base, const std::string& text) {
  const SerialText made = serial_text(serial, kind, base);
  EXPECT_EQ(made.fault, "") << serial;
  EXPECT_EQ(made.text, text) << serial;
}

TEST(SerialTime, CountsDaysAsTheStandardsExamplesDo) {
  expect_text(1, Kind::kDate, Base::k1900, "1900-01-01");
  expect_text(3687, Kind::kDate, Base::k1900, "1910-02-03");
  expect_text(38749, Kind::kDate, Base::k1900, "2006-02-01");
  expect_text(2958465, Kind::kDate, Base::k1900, "9999-12-31");
  expect_text(0, Kind::kDate, Base::k1904, "1904-01-01");
  expect_text(2225, Kind::kDate, Base::k1904, "1910-02-03");
  expect_text(37287, Kind::kDate, Base::k1904, "2006-02-01");
  expect_text(2957003, Kind::kDate, Base::k1904, "9999-12-31");
  expect_text(2, Kind::kDate, Base::k1900WithoutGap, "1900-01-01");
  expect_text(3687, Kind::kDate, Base::k1900WithoutGap, "1910-02-03");
}

TEST(SerialTime, CountsPartsOfADayAsTheStandardsExamplesDo) {
  expect_text(0, Kind::kTime, Base::k1900, "00:00:00");
  expect_text(0.0000115741, Kind::kTime, Base::k1900, "00:00:01");
  expect_text(0.4207639, Kind::kTime, Base::k1900, "10:05:54.001");
  expect_text(0.5, Kind::kTime, Base::k1900, "12:00:00");
  expect_text(3687 + 36354 / 86400.0, Kind::kDateTime, Base::k1900, "1910-02-03T10:05:54");
  expect_text(1.5, Kind::kDateTime, Base::k1900, "1900-01-01T12:00:00");
  expect_text(2958465 + 86399 / 86400.0, Kind::kDateTime, Base::k1900, "9999-12-31T23:59:59");
  expect_text(2225 + 36354 / 86400.0, Kind::kDateTime, Base::k1904, "1910-02-03T10:05:54");
  expect_text(0.5, Kind::kDateTime, Base::k1904, "1904-01-01T12:00:00");
}

TEST(SerialTime, KnowsTheDayThatNeverWas) {
  expect_text(59, Kind::kDate, Base::k1900, "1900-02-28");
  expect_text(61, Kind::kDate, Base::k1900, "1900-03-01");
  EXPECT_THAT(serial_text(60, Kind::kDate, Base::k1900).fault, HasSubstr("29 February 1900"));
  EXPECT_THAT(serial_text(60.5, Kind::kTime, Base::k1900).fault, HasSubstr("29 February 1900"));
  expect_text(60, Kind::kDate, Base::k1900WithoutGap, "1900-02-28");
  expect_text(61, Kind::kDate, Base::k1900WithoutGap, "1900-03-01");
}

TEST(SerialTime, RefusesWhatLiesOutsideOfTheBase) {
  EXPECT_THAT(serial_text(0, Kind::kDate, Base::k1900).fault, HasSubstr("before 1 January 1900"));
  EXPECT_THAT(serial_text(0.5, Kind::kDateTime, Base::k1900).fault, HasSubstr("before"));
  EXPECT_THAT(serial_text(-0.5, Kind::kTime, Base::k1900).fault, HasSubstr("below 0"));
  EXPECT_THAT(serial_text(2958466, Kind::kDate, Base::k1900).fault, HasSubstr("after the year"));
  EXPECT_THAT(serial_text(2957004, Kind::kDate, Base::k1904).fault, HasSubstr("after the year"));
  EXPECT_THAT(serial_text(1e300, Kind::kElapsed, Base::k1904).fault, HasSubstr("after the year"));
}

// Our own rules: what a format hides is there all the same.
TEST(SerialTime, TellsWhatTheFormatHides) {
  expect_text(46328.25, Kind::kDate, Base::k1900, "2026-11-02T06:00:00");
  expect_text(46328.25, Kind::kTime, Base::k1900, "2026-11-02T06:00:00");
  expect_text(46328, Kind::kDateTime, Base::k1900, "2026-11-02T00:00:00");
  expect_text(0.25, Kind::kDateOrTime, Base::k1900, "06:00:00");
  expect_text(46328, Kind::kDateOrTime, Base::k1900, "2026-11-02");
  expect_text(46328.25, Kind::kDateOrTime, Base::k1900, "2026-11-02T06:00:00");
}

TEST(SerialTime, CountsHoursOnInADuration) {
  expect_text(26.25 / 24, Kind::kElapsed, Base::k1900, "26:15:00");
  expect_text(0.5, Kind::kElapsed, Base::k1904, "12:00:00");
  expect_text(100, Kind::kElapsed, Base::k1900, "2400:00:00");
}

TEST(SerialTime, RoundsToMilliseconds) {
  expect_text(46328.427430555552, Kind::kDateTime, Base::k1900, "2026-11-02T10:15:30");
  expect_text(46328.4274305556, Kind::kDateTime, Base::k1900, "2026-11-02T10:15:30");
  expect_text(46328 + 0.25 / 86400, Kind::kDateTime, Base::k1900, "2026-11-02T00:00:00.250");
  expect_text(46327.9999999999, Kind::kDateTime, Base::k1900, "2026-11-02T00:00:00");
  expect_text(46327.9999999999, Kind::kDate, Base::k1900, "2026-11-02");
}

// openpyxl 3.0.9, from_excel; the table is made by tests/corpus/sheet/producers/serials.py.
TEST(SerialTime, AgreesWithOpenpyxl) {
  std::ifstream table(GIRDLE_SOURCE_DIR "/tests/corpus/sheet/producers/serials.tsv");
  size_t count = 0;
  for (std::string line; std::getline(table, line); ++count) {
    std::istringstream columns(line);
    std::string base, serial, text;
    columns >> base >> serial >> text;
    expect_text(std::stod(serial), Kind::kDateTime, base == "1904" ? Base::k1904 : Base::k1900,
                text);
  }
  EXPECT_GE(count, 300u);
}

}  // namespace
}  // namespace girdle::sheet
