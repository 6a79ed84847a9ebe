// Dates and times of spreadsheets: days since a first day, as a number (ECMA-376, part 1, 18.17.4).
#pragma once

#include <cstdint>
#include <string>

#include "sheet/number_format.h"

namespace girdle::sheet {

// 18.17.4.1. The first day of each.
enum class DateBase : uint8_t {
  k1900,            // 1 is 1 January 1900; 60 is 29 February 1900, which never was
  k1900WithoutGap,  // 0 is 30 December 1899, and no day is missing
  k1904,            // 0 is 1 January 1904
};

struct SerialText {
  std::string text;   // local: 2026-11-02, 10:15:30, 2026-11-02T10:15:30; with .250 where it is not
                      // on the second; a duration counts hours on, 26:15:00
  std::string fault;  // why it is none; the text does not count then
};

// A date with a time of day, in a format that shows only one of them, is told with both: what is
// hidden is there. Rounded to milliseconds, as far as the number reaches.
SerialText serial_text(double serial, NumberKind kind, DateBase base);

}  // namespace girdle::sheet
