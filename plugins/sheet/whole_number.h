// A whole number, as attributes, cells and options write it: decimal digits and nothing else.
#pragma once

#include <charconv>
#include <cstdint>
#include <optional>
#include <string_view>

namespace girdle::sheet {

// Nothing where the text is none, or one of more than 64 bits.
inline std::optional<uint64_t> whole_number(std::string_view text) {
  uint64_t number = 0;
  const char* end = text.data() + text.size();
  const auto [at, error] = std::from_chars(text.data(), end, number);
  if (error != std::errc() || at != end) return std::nullopt;
  return number;
}

}  // namespace girdle::sheet
