#include "json/value_scanner.h"

#include <algorithm>
#include <bit>
#include <cstring>
#include <string_view>

#ifdef __SSE2__
#include <emmintrin.h>
#endif

namespace girdle::json {

namespace {

constexpr size_t kBlock = 64;

// One bit for each of 64 bytes that is a quote, a backslash or a bracket. Brackets and braces
// differ in one bit.
#ifdef __SSE2__
uint64_t marks_in(const char* bytes) {
  uint64_t marks = 0;
  for (size_t i = 0; i < kBlock; i += 16) {
    const __m128i part = _mm_loadu_si128(reinterpret_cast<const __m128i*>(bytes + i));
    const __m128i folded = _mm_or_si128(part, _mm_set1_epi8(0x20));
    const __m128i brackets = _mm_or_si128(_mm_cmpeq_epi8(folded, _mm_set1_epi8('{')),
                                          _mm_cmpeq_epi8(folded, _mm_set1_epi8('}')));
    const __m128i quotes = _mm_or_si128(_mm_cmpeq_epi8(part, _mm_set1_epi8('"')),
                                        _mm_cmpeq_epi8(part, _mm_set1_epi8('\\')));
    const __m128i any = _mm_or_si128(brackets, quotes);
    marks |= static_cast<uint64_t>(_mm_movemask_epi8(any)) << i;
  }
  return marks;
}
#else
uint64_t marks_in(const char* bytes) {
  uint64_t marks = 0;
  for (size_t i = 0; i < kBlock; ++i) {
    const char folded = static_cast<char>(bytes[i] | 0x20);
    const bool bracket = folded == '{' || folded == '}';
    if (bracket || bytes[i] == '"' || bytes[i] == '\\') marks |= uint64_t{1} << i;
  }
  return marks;
}
#endif

uint64_t marks_in(const char* bytes, size_t size) {
  if (size >= kBlock) return marks_in(bytes);
  char padded[kBlock] = {};
  std::memcpy(padded, bytes, size);
  return marks_in(padded);
}

}  // namespace

bool ends_scalar(char c) {
  return is_space(c) || std::string_view(",:[]{}\"").find(c) != std::string_view::npos;
}

void ValueScanner::begin(char first) {
  place_ = {};
  place_.is_scalar = first != '"' && first != '{' && first != '[';
  ended_ = false;
}

size_t ValueScanner::scalar(const char* bytes, size_t size) {
  const char* end = std::find_if(bytes, bytes + size, ends_scalar);
  ended_ = end != bytes + size;
  return static_cast<size_t>(end - bytes);
}

size_t ValueScanner::advance(const char* bytes, size_t size) {
  ended_ = false;
  if (place_.is_scalar) return scalar(bytes, size);
  Place at = place_;
  size_t escaped_at = at.escaped ? 0 : size;  // a byte that a backslash before it makes ordinary
  at.escaped = false;
  for (size_t from = 0; from < size; from += kBlock) {
    uint64_t marks = marks_in(bytes + from, size - from);
    for (; marks != 0; marks &= marks - 1) {
      const size_t i = from + static_cast<size_t>(std::countr_zero(marks));
      const char c = bytes[i];
      if (at.in_string) {
        if (i == escaped_at) continue;
        if (c == '\\') {
          escaped_at = i + 1;
          at.escaped = escaped_at == size;
        } else if (c == '"') {
          at.in_string = false;
        }
      } else if (c == '"') {
        at.in_string = true;
      } else if (c == '{' || c == '[') {
        ++at.depth;
      } else if (c != '\\') {
        --at.depth;
      }
      if (at.depth == 0 && !at.in_string && c != '\\') {
        place_ = at;
        ended_ = true;
        return i + 1;
      }
    }
  }
  place_ = at;
  return size;
}

}  // namespace girdle::json
