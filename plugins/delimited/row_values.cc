#include "delimited/row_values.h"

#include <algorithm>
#include <cstring>

namespace girdle::delimited {

namespace {

bool is_ascii(std::string_view text) {
  return std::none_of(text.begin(), text.end(),
                      [](char c) { return static_cast<uint8_t>(c) >= 0x80; });
}

}  // namespace

std::optional<std::string_view> text_fault(std::string_view row, Encoding encoding) {
  if (std::memchr(row.data(), 0, row.size()) != nullptr) {
    return "a NUL byte: binary data, or UTF-16 without its byte order mark";
  }
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
      // Every byte is a character here, so nothing can be wrong, and text of another encoding would
      // be taken for words that nobody wrote. Single-byte text is practically never well-formed
      // UTF-8 by chance.
      if (is_ascii(row) || !is_utf8(row)) return std::nullopt;
      return "the bytes are UTF-8 and not of the encoding that is configured; say encoding: utf-8";
  }
  return std::nullopt;
}

const std::vector<girdle_text>& RowValues::of(std::string_view row,
                                              const std::vector<FieldSpan>& fields, bool decode,
                                              Encoding encoding, char quote) {
  values_.resize(fields.size());
  arena_.clear();
  for (size_t i = 0; i < fields.size(); ++i) {
    const FieldSpan& field = fields[i];
    std::string_view text(row.data() + field.begin, field.end - field.begin);
    if (decode || field.escaped) {
      if (arena_.empty()) arena_.reserve(row.size() * (decode ? 3 : 1));
      text = rewritten(text, field.escaped, decode, encoding, quote);
    }
    values_[i] = {text.data(), text.size()};
  }
  return values_;
}

std::string_view RowValues::rewritten(std::string_view text, bool escaped, bool decode,
                                      Encoding encoding, char quote) {
  if (escaped) {
    unescaped_.clear();
    for (size_t i = 0; i < text.size(); ++i) {
      unescaped_.push_back(text[i]);
      if (text[i] == quote) ++i;  // the second of two
    }
    text = unescaped_;
  }
  const size_t begin = arena_.size();
  if (decode) {
    append_decoded(text, encoding, arena_);
  } else {
    arena_.append(text);
  }
  return std::string_view(arena_).substr(begin);
}

}  // namespace girdle::delimited
