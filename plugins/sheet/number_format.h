// What a number format makes of a cell's number: a date, a time, or a number after all (ECMA-376,
// part 1, 18.8.30 and 18.8.31).
#pragma once

#include <cstdint>
#include <string_view>

namespace girdle::sheet {

enum class NumberKind : uint8_t {
  kNumber,
  kDate,
  kTime,  // of day
  kDateTime,
  kElapsed,     // a duration: [h]:mm:ss
  kDateOrTime,  // one of the first two, by the language of the program
};

// Of the first section of a format code: that for numbers above 0, which dates are.
NumberKind number_kind(std::string_view format_code);

// Of a format that the file need not write out; kNumber for any other id.
NumberKind built_in_kind(uint64_t format_id);

}  // namespace girdle::sheet
