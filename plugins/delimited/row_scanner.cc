#include "delimited/row_scanner.h"

#include <algorithm>
#include <bit>
#include <cstring>

#ifdef __SSE2__
#include <emmintrin.h>
#endif

namespace girdle::delimited {

namespace {

constexpr size_t kBlock = 64;

// One bit for each of 64 bytes.
struct Block {
  uint64_t marks;    // delimiter, quote, CR, LF
  uint64_t unusual;  // NUL, or not ASCII
};

// The characters that are marks besides CR and LF.
struct Marks {
  char delimiter;
  char quote;
  char escape;
};

#ifdef __SSE2__
template <bool kWithEscape>
Block look(const char* bytes, const Marks& of) {
  const __m128i delimiters = _mm_set1_epi8(of.delimiter);
  const __m128i quotes = _mm_set1_epi8(of.quote);
  const __m128i escapes = _mm_set1_epi8(of.escape);
  const __m128i line_feeds = _mm_set1_epi8('\n');
  const __m128i returns = _mm_set1_epi8('\r');
  Block block = {0, 0};
  for (size_t i = 0; i < kBlock; i += 16) {
    const __m128i part = _mm_loadu_si128(reinterpret_cast<const __m128i*>(bytes + i));
    __m128i between = _mm_or_si128(_mm_cmpeq_epi8(part, delimiters), _mm_cmpeq_epi8(part, quotes));
    if constexpr (kWithEscape) between = _mm_or_si128(between, _mm_cmpeq_epi8(part, escapes));
    const __m128i ends =
        _mm_or_si128(_mm_cmpeq_epi8(part, line_feeds), _mm_cmpeq_epi8(part, returns));
    const __m128i odd = _mm_or_si128(part, _mm_cmpeq_epi8(part, _mm_setzero_si128()));
    const auto bits = [](__m128i mask) { return static_cast<uint64_t>(_mm_movemask_epi8(mask)); };
    block.marks |= bits(_mm_or_si128(between, ends)) << i;
    block.unusual |= bits(odd) << i;
  }
  return block;
}
#else
template <bool kWithEscape>
Block look(const char* bytes, const Marks& of) {
  Block block = {0, 0};
  for (size_t i = 0; i < kBlock; ++i) {
    const char c = bytes[i];
    const uint64_t bit = uint64_t{1} << i;
    const bool between = c == of.delimiter || c == of.quote || (kWithEscape && c == of.escape);
    if (between || c == '\n' || c == '\r') block.marks |= bit;
    if (c == 0 || static_cast<uint8_t>(c) >= 0x80) block.unusual |= bit;
  }
  return block;
}
#endif

// The same of fewer bytes than a block, without reading past them.
template <bool kWithEscape>
Block look_at_tail(const char* bytes, size_t size, const Marks& of) {
  char padded[kBlock] = {};
  std::memcpy(padded, bytes, size);
  Block block = look<kWithEscape>(padded, of);
  const uint64_t there = (uint64_t{1} << size) - 1;
  block.marks &= there;
  block.unusual &= there;
  return block;
}

}  // namespace

RowScanner::RowScanner(char delimiter, std::optional<char> quote, size_t max_fields,
                       std::optional<char> escape)
    : delimiter_(delimiter),
      quote_(quote.value_or(delimiter)),
      max_fields_(max_fields),
      escape_(escape) {}

void RowScanner::begin() {
  fields_.clear();
  field_count_ = 0;
  size_ = 0;
  field_begin_ = 0;
  after_quote_ = kNowhere;
  after_cr_ = kNowhere;
  after_escape_ = kNowhere;
  line_ends_ = 0;
  fault_ = RowFault::kNone;
  quoted_ = field_quoted_ = escaped_ = needs_a_look_ = false;
}

bool RowScanner::advance(const char* bytes, size_t size) {
  return escape_ ? advance_in<true>(bytes, size) : advance_in<false>(bytes, size);
}

template <bool kWithEscape>
bool RowScanner::advance_in(const char* bytes, size_t size) {
  const Marks of = {delimiter_, quote_, escape_.value_or(quote_)};
  for (size_t from = 0; from < size; from += kBlock) {
    const size_t left = size - from;
    const Block block = left >= kBlock ? look<kWithEscape>(bytes + from, of)
                                       : look_at_tail<kWithEscape>(bytes + from, left, of);
    needs_a_look_ |= block.unusual != 0;
    for (uint64_t marks = block.marks; marks != 0; marks &= marks - 1) {
      const auto bit = static_cast<uint32_t>(std::countr_zero(marks));
      const char c = bytes[from + bit];
      const uint32_t at = size_ + bit;
      if (quoted_) {
        if (kWithEscape && escape_inside(c, at)) continue;
        if (c == quote_) {
          quoted_ = false;
          after_quote_ = at + 1;
        } else {
          line_end_inside(c, at);
        }
      } else if (c == delimiter_) {
        close_field(at);
        field_begin_ = at + 1;
      } else if (c == quote_) {
        quote_outside(at);
      } else if (kWithEscape && c == escape_) {
        continue;
      } else {
        close_field(at);
        size_ = at;
        return true;
      }
    }
    size_ += static_cast<uint32_t>(std::min(left, kBlock));
  }
  return false;
}

void RowScanner::end() {
  if (quoted_) fault_ = RowFault::kUnclosedQuote;
  close_field(size_);
}

void RowScanner::quote_outside(uint32_t at) {
  if (field_quoted_ && at == after_quote_) {
    quoted_ = escaped_ = true;
  } else if (!field_quoted_ && at == field_begin_) {
    quoted_ = field_quoted_ = true;
  } else if (fault_ == RowFault::kNone) {
    fault_ = field_quoted_ ? RowFault::kTextAfterQuote : RowFault::kQuoteInField;
  }
}

// Whether the mark is an escape, or escaped.
bool RowScanner::escape_inside(char c, uint32_t at) {
  const bool escaped = at == after_escape_ && (c == quote_ || c == escape_);
  escaped_ |= escaped;
  if (escaped) return true;
  if (c != escape_) return false;
  after_escape_ = at + 1;
  return true;
}

void RowScanner::line_end_inside(char c, uint32_t at) {
  if (c == '\r') {
    ++line_ends_;
    after_cr_ = at + 1;
  } else if (c == '\n' && at != after_cr_) {
    ++line_ends_;
  }
}

inline void RowScanner::close_field(uint32_t at) {
  uint32_t begin = field_begin_;
  uint32_t end = at;
  if (field_quoted_) {
    if (after_quote_ != at && fault_ == RowFault::kNone) fault_ = RowFault::kTextAfterQuote;
    begin += 1;
    end = std::max(begin, after_quote_ - 1);
  }
  if (++field_count_ <= max_fields_) fields_.push_back({begin, end, escaped_});
  field_quoted_ = escaped_ = false;
}

RowScanner::Place RowScanner::rebase() {
  const Place place = {quoted_,
                       field_quoted_,
                       after_quote_ == size_,
                       after_escape_ == size_,
                       field_begin_ == size_,
                       after_cr_ == size_,
                       line_ends_};
  take_up(place);
  return place;
}

void RowScanner::take_up(const Place& place) {
  begin();
  quoted_ = place.quoted;
  field_quoted_ = place.field_quoted;
  after_quote_ = place.after_quote ? 0 : kNowhere;
  after_escape_ = place.after_escape ? 0 : kNowhere;
  field_begin_ = place.field_begins ? 0 : kNowhere;
  after_cr_ = place.after_cr ? 0 : kNowhere;
  line_ends_ = place.line_ends;
}

}  // namespace girdle::delimited
