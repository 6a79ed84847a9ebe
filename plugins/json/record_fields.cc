#include "json/record_fields.h"

#include <bit>
#include <cstring>

#include "json/json_pointer.h"
#include "json/value_scanner.h"

#ifdef __SSE2__
#include <emmintrin.h>
#endif

namespace girdle::json {

namespace {

// The first quote or backslash from `at` on; there is one. May look at kReadableAfter bytes too
// many.
const char* quote_or_backslash(const char* at) {
#ifdef __SSE2__
  for (;; at += 16) {
    const __m128i part = _mm_loadu_si128(reinterpret_cast<const __m128i*>(at));
    const int found = _mm_movemask_epi8(_mm_or_si128(_mm_cmpeq_epi8(part, _mm_set1_epi8('"')),
                                                     _mm_cmpeq_epi8(part, _mm_set1_epi8('\\'))));
    if (found != 0) return at + std::countr_zero(static_cast<unsigned>(found));
  }
#else
  while (*at != '"' && *at != '\\') ++at;
  return at;
#endif
}

// Where the valid number or literal at `at` ends; a mark or white space follows. Looks as far as
// the other.
const char* literal_end(const char* at) {
#ifdef __SSE2__
  for (;; at += 16) {
    const __m128i part = _mm_loadu_si128(reinterpret_cast<const __m128i*>(at));
    const __m128i space = _mm_cmpeq_epi8(_mm_min_epu8(part, _mm_set1_epi8(' ')), part);
    const __m128i comma = _mm_cmpeq_epi8(part, _mm_set1_epi8(','));
    const __m128i bracket =
        _mm_cmpeq_epi8(_mm_or_si128(part, _mm_set1_epi8(0x20)), _mm_set1_epi8('}'));
    const int found = _mm_movemask_epi8(_mm_or_si128(_mm_or_si128(space, comma), bracket));
    if (found != 0) return at + std::countr_zero(static_cast<unsigned>(found));
  }
#else
  while (*at != ',' && *at != '}' && *at != ']' && !is_space(*at)) ++at;
  return at;
#endif
}

uint32_t hex4(const char* digits) {
  uint32_t value = 0;
  for (int i = 0; i < 4; ++i) {
    const char c = digits[i];
    value = value << 4 | static_cast<uint32_t>(c <= '9' ? c - '0' : (c | 0x20) - 'a' + 10);
  }
  return value;
}

void append_utf8(uint32_t point, std::string& out) {
  const auto put = [&](uint32_t byte) { out.push_back(static_cast<char>(byte)); };
  if (point < 0x80) return put(point);
  if (point < 0x800) {
    put(0xC0 | point >> 6);
  } else {
    if (point >= 0x10000) {
      put(0xF0 | point >> 18);
      put(0x80 | (point >> 12 & 0x3F));
    } else {
      put(0xE0 | point >> 12);
    }
    put(0x80 | (point >> 6 & 0x3F));
  }
  put(0x80 | (point & 0x3F));
}

// Appends what the valid escape at `at` (a backslash) stands for; where it ends. RFC 8259,
// section 7.
const char* append_escape(const char* at, std::string& out) {
  static constexpr std::string_view kLetters = "bfnrt";
  static constexpr std::string_view kStandFor = "\b\f\n\r\t";
  const char letter = at[1];
  if (letter != 'u') {
    const size_t i = kLetters.find(letter);
    out.push_back(i == std::string_view::npos ? letter : kStandFor[i]);
    return at + 2;
  }
  const uint32_t unit = hex4(at + 2);
  if (unit < 0xD800 || unit > 0xDBFF) {
    append_utf8(unit, out);
    return at + 6;
  }
  append_utf8(0x10000 + ((unit - 0xD800) << 10) + (hex4(at + 8) - 0xDC00), out);
  return at + 12;
}

}  // namespace

std::optional<std::string> RecordFields::read(std::string_view object_text,
                                              const GivenFields& given) {
  begin(object_text);
  object(1);
  if (!given.names.empty()) add(given);
  return end();
}

std::optional<std::string> RecordFields::read_member(std::string_view name,
                                                     std::string_view value_text) {
  begin(value_text);
  object_member(name, 1);
  return end();
}

void RecordFields::begin(std::string_view text) {
  at_ = text.data();
  path_.clear();
  arena_.clear();
  members_.clear();
  names_.clear();
  values_.clear();
  fault_.reset();
  // Names of nested fields repeat their way; this bounds them. Texts of the document fit in any
  // case.
  arena_limit_ = 8 * text.size() + 4096;
  arena_.reserve(arena_limit_);
}

std::optional<std::string> RecordFields::end() {
  if (fault_) return fault_;
  const Layouts::Found found = layouts_.find(members_);
  layout_ = found.layout;
  if (found.twice)
    return "the name \"" + std::string(*found.twice) + "\" comes twice in one object";
  return std::nullopt;
}

void RecordFields::add(const GivenFields& given) {
  for (size_t i = 0; i < given.names.size(); ++i) {
    member({given.names[i].data, given.names[i].size}, true);
    names_.push_back(given.names[i]);
    values_.push_back(given.values[i]);
  }
}

inline void RecordFields::object_member(std::string_view token, size_t depth) {
  const bool by_pointer = depth > 1 || token.starts_with('/') || token.starts_with("../");
  const std::string_view name = by_pointer ? nested_name(token) : token;
  if (*at_ == '{' || *at_ == '[') {
    member(name, false);
    container(token, depth);
  } else {
    value(name);
  }
}

void RecordFields::object(size_t depth) {
  ++at_;
  skip_space();
  if (*at_ == '}') {
    ++at_;
    return;
  }
  do {
    skip_space();
    const std::string_view token = string();
    skip_space();
    ++at_;  // the colon
    skip_space();
    object_member(token, depth);
  } while (!fault_ && more('}'));
}

void RecordFields::array(size_t depth) {
  ++at_;
  skip_space();
  if (*at_ == ']') {
    ++at_;
    return;
  }
  size_t index = 0;
  do {
    skip_space();
    const std::string token = std::to_string(index++);
    if (*at_ == '{' || *at_ == '[') {
      container(token, depth);
    } else {
      value(nested_name(token));
    }
  } while (!fault_ && more(']'));
}

void RecordFields::container(std::string_view token, size_t depth) {
  if (depth >= kMaxDepth) {
    refuse("nested more than " + std::to_string(kMaxDepth) + " deep");
    return;
  }
  const size_t before = path_.size();
  append_token(token, path_);
  if (*at_ == '{') {
    object(depth + 1);
  } else {
    array(depth + 1);
  }
  path_.resize(before);
}

inline void RecordFields::member(std::string_view name, bool is_field) {
  members_.push_back({name, is_field});
  if (members_.size() > max_fields_) refuse("more than " + std::to_string(max_fields_) + " fields");
}

// A string, number, true, false or null.
void RecordFields::value(std::string_view name) {
  std::string_view text;
  bool is_field = true;
  if (*at_ == '"') {
    text = string();
  } else {
    const char* begin = at_;
    at_ = literal_end(at_);
    text = {begin, static_cast<size_t>(at_ - begin)};
    is_field = text[0] != 'n';
  }
  member(name, is_field);
  if (!is_field) return;
  names_.push_back({name.data(), name.size()});
  values_.push_back({text.data(), text.size()});
}

std::string_view RecordFields::string() {
  const char* begin = at_ + 1;
  const char* special = quote_or_backslash(begin);
  if (*special == '\\') return unescaped(begin, special);
  at_ = special + 1;
  return {begin, static_cast<size_t>(special - begin)};
}

std::string_view RecordFields::unescaped(const char* begin, const char* special) {
  std::string text;
  while (*special == '\\') {
    text.append(begin, special);
    begin = append_escape(special, text);
    special = quote_or_backslash(begin);
  }
  text.append(begin, special);
  at_ = special + 1;
  return keep(text);
}

std::string_view RecordFields::nested_name(std::string_view token) {
  const size_t before = path_.size();
  append_token(token, path_);
  const std::string_view name = keep(path_);
  path_.resize(before);
  return name;
}

std::string_view RecordFields::keep(std::string_view text) {
  if (arena_limit_ - arena_.size() < text.size()) {
    refuse("the names of nested fields are together too long");
    return {};
  }
  const size_t begin = arena_.size();
  arena_.append(text);
  return std::string_view(arena_).substr(begin);
}

void RecordFields::skip_space() {
  while (is_space(*at_)) ++at_;
}

// Passes the comma, or the closing bracket, after a value.
bool RecordFields::more(char closing) {
  skip_space();
  return *at_++ != closing;
}

void RecordFields::refuse(std::string fault) {
  if (!fault_) fault_ = std::move(fault);
}

}  // namespace girdle::json
