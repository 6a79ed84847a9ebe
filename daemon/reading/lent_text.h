// Texts of the C interface.
#pragma once

#include <girdle/reader.h>

#include <string_view>

namespace girdle::reading {

// A text that was looked at before: neither null nor out of bounds. Lives as long as what it points to.
inline std::string_view view(const girdle_text& text) {
  return text.size == 0 ? std::string_view() : std::string_view(text.data, text.size);
}

}  // namespace girdle::reading
