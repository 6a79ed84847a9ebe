// What create is given, as a C++ reader asks for it.
#pragma once

#include <cstdint>
#include <string_view>

#include "girdle/kit/text.h"
#include "girdle/reader.h"

namespace girdle::kit {

// The value of an option, "" where it is not given. Lent by `setup`: copy what is to be kept.
inline std::string_view option(const girdle_reader_setup& setup, std::string_view name) {
  for (size_t i = 0; i < setup.option_count; ++i) {
    if (view(setup.options[i].name) == name) return view(setup.options[i].value);
  }
  return {};
}

// The least limits that a host may set. A reader refuses less.
inline constexpr uint64_t kLeastRecordBytes = 64;
inline constexpr uint64_t kLeastFields = 1;
// A reader may take more for this.
inline constexpr uint64_t kMostRecordBytes = uint64_t{1} << 30;

// For `refusal`; empty where the limits will do.
inline std::string_view wrong_limits(const girdle_reader_setup& setup) {
  if (setup.max_record_bytes >= kLeastRecordBytes && setup.max_fields >= kLeastFields) return {};
  return "the limits are too small: at least 64 bytes and 1 field a record";
}

}  // namespace girdle::kit
