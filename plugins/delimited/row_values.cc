#include "delimited/row_values.h"

#include <algorithm>
#include <cstring>

namespace girdle::delimited {

namespace {

bool is_ascii(std::string_view text) {
  return std::none_of(text.begin(), text.end(),
                      [](char c) { return static_cast<uint8_t>(c) >= 0x80; });
}

bool has_nul(std::string_view row) { return std::memchr(row.data(), 0, row.size()) != nullptr; }

constexpr std::string_view kNul = "a NUL byte: binary data, or UTF-16 without its byte order mark";
constexpr std::string_view kUndecodable =
    "bytes that are no characters of the encoding that is configured; say which encoding the "
    "document is in";
constexpr std::string_view kIsUtf8 =
    "the bytes are UTF-8 and not of the encoding that is configured; say encoding: utf-8";

// In a page that `differs` from UTF-8, text of another encoding would be taken for words that
// nobody wrote: its own text is practically never well-formed UTF-8 by chance.
std::optional<std::string_view> one_byte_fault(std::string_view row, const UpperHalf& upper,
                                               bool differs) {
  if (differs && !is_ascii(row) && is_utf8(row)) return kIsUtf8;
  if (!can_decode(row, upper)) return kUndecodable;
  return std::nullopt;
}

}  // namespace

std::optional<std::string_view> text_fault(std::string_view row, Encoding encoding) {
  if (has_nul(row)) return kNul;
  switch (encoding) {
    case Encoding::kUtf8:
    case Encoding::kUtf16:
    case Encoding::kUtf32:
      if (is_utf8(row)) return std::nullopt;
      return "bytes that are not UTF-8; say which encoding the document is in";
    case Encoding::kUtf16Le:
    case Encoding::kUtf16Be:
      if (is_utf8(row)) return std::nullopt;
      return "half a character of UTF-16";
    case Encoding::kWindows1252:
    case Encoding::kWindows1251:
      return one_byte_fault(row, upper_half(encoding), true);
    case Encoding::kCodePage:
      if (is_utf8(row)) return std::nullopt;
      return kUndecodable;
  }
  return std::nullopt;
}

std::optional<std::string_view> text_fault(std::string_view row, const CodePage& page) {
  const UpperHalf* const upper = page.upper_half();
  if (upper == nullptr) return text_fault(row, Encoding::kCodePage);
  if (has_nul(row)) return kNul;
  return one_byte_fault(row, *upper, page.differs_from_utf8());
}

const std::vector<girdle_text>& RowValues::of(std::string_view row,
                                              const std::vector<FieldSpan>& fields,
                                              const FieldForm& form, size_t count) {
  const bool decodes = form.upper_half != nullptr;
  const size_t there = fields.size();
  values_.resize(std::max(there, count));
  arena_.clear();
  girdle_text* value = values_.data();
  for (size_t i = 0; i < there; ++i, ++value) {
    const FieldSpan& field = fields[i];
    std::string_view text(row.data() + field.begin, field.end - field.begin);
    if (decodes || field.escaped) {
      if (arena_.empty()) arena_.reserve(row.size() * (decodes ? 3 : 1));
      text = rewritten(text, field.escaped, form);
    }
    *value = {text.data(), text.size()};
  }
  std::fill(value, values_.data() + values_.size(), girdle_text{});
  return values_;
}

std::string_view RowValues::rewritten(std::string_view text, bool escaped, const FieldForm& form) {
  if (escaped) {
    unescaped_.clear();
    for (size_t i = 0; i < text.size(); ++i) {
      const bool has_next = i + 1 < text.size();
      const bool escapes = text[i] == form.escape && has_next &&
                           (text[i + 1] == form.quote || text[i + 1] == text[i]);
      if (escapes) ++i;
      unescaped_.push_back(text[i]);
      if (!escapes && text[i] == form.quote) ++i;  // the second of two
    }
    text = unescaped_;
  }
  const size_t begin = arena_.size();
  if (form.upper_half != nullptr) {
    append_decoded(text, *form.upper_half, arena_);
  } else {
    arena_.append(text);
  }
  return std::string_view(arena_).substr(begin);
}

}  // namespace girdle::delimited
