#include "draft/text_form.h"

#include <algorithm>
#include <cstdint>

#include "base/text.h"

namespace girdle::draft {
namespace {

using namespace std::string_view_literals;

bool is_text_control(unsigned char byte) {
  return byte == '\t' || byte == '\r' || byte == '\n' || byte == '\f' || byte == 0x1A;  // 1A: DOS
}

struct Counts {
  size_t even_zeros = 0, odd_zeros = 0, controls = 0, high = 0;
};

Counts count(std::string_view bytes) {
  Counts counts;
  for (size_t i = 0; i < bytes.size(); ++i) {
    const auto byte = static_cast<unsigned char>(bytes[i]);
    if (byte == 0) ++(i % 2 == 0 ? counts.even_zeros : counts.odd_zeros);
    if (byte != 0 && byte < 0x20 && !is_text_control(byte)) ++counts.controls;
    if (byte >= 0x80) ++counts.high;
  }
  return counts;
}

size_t characters_beyond_ascii(std::string_view utf8) {
  return static_cast<size_t>(std::count_if(utf8.begin(), utf8.end(), [](char c) {
    return (static_cast<unsigned char>(c) & 0xC0) == 0xC0;
  }));
}

// Other text has no zeros, and UTF-16 of ASCII has them in every other place: in more than half of
// these places, and in next to none of the others.
bool is_utf16_pattern(size_t zeros, size_t other_zeros, size_t bytes) {
  return bytes % 2 == 0 && zeros * 4 > bytes && other_zeros * 20 <= zeros;
}

void append_utf8(std::string& out, uint32_t c) {
  if (c < 0x80) {
    out += static_cast<char>(c);
  } else if (c < 0x800) {
    out += static_cast<char>(0xC0 | c >> 6);
    out += static_cast<char>(0x80 | (c & 0x3F));
  } else if (c < 0x10000) {
    out += static_cast<char>(0xE0 | c >> 12);
    out += static_cast<char>(0x80 | (c >> 6 & 0x3F));
    out += static_cast<char>(0x80 | (c & 0x3F));
  } else {
    out += static_cast<char>(0xF0 | c >> 18);
    out += static_cast<char>(0x80 | (c >> 12 & 0x3F));
    out += static_cast<char>(0x80 | (c >> 6 & 0x3F));
    out += static_cast<char>(0x80 | (c & 0x3F));
  }
}

// RFC 2781, 2.2.
std::string from_utf16(std::string_view bytes, bool little_endian) {
  std::string out;
  const auto unit = [&](size_t at) {
    const auto first = static_cast<unsigned char>(bytes[at]);
    const auto second = static_cast<unsigned char>(bytes[at + 1]);
    return static_cast<uint32_t>(little_endian ? second << 8 | first : first << 8 | second);
  };
  for (size_t at = 0; at + 1 < bytes.size(); at += 2) {
    const uint32_t first = unit(at);
    if (first < 0xD800 || first > 0xDFFF) {
      append_utf8(out, first);
      continue;
    }
    const bool pair = first < 0xDC00 && at + 3 < bytes.size() && (unit(at + 2) & 0xFC00) == 0xDC00;
    if (!pair) continue;
    append_utf8(out, 0x10000 + ((first & 0x3FF) << 10) + (unit(at + 2) & 0x3FF));
    at += 2;
  }
  return out;
}

// The form in which texts of both can be read; kUndecided where there is none.
TextForm shared(TextForm a, TextForm b) {
  if (a == b) return a;
  const auto is_one_of = [&](TextForm one, TextForm other) {
    return (a == one && b == other) || (a == other && b == one);
  };
  if (is_one_of(TextForm::kUtf8, TextForm::kUtf8Marked)) return TextForm::kUtf8;
  for (const TextForm form :
       {TextForm::kUtf8, TextForm::kUtf8Marked, TextForm::kGb18030Marked, TextForm::kUndecided}) {
    if (is_one_of(TextForm::kAscii, form)) return form;
  }
  if (a == TextForm::kBinary || b == TextForm::kBinary) return TextForm::kBinary;
  return TextForm::kUndecided;
}

bool is_little_endian_mark(std::string_view bytes) { return bytes.starts_with("\xFF\xFE"sv); }

}  // namespace

TextLook look_at_text(std::string_view bytes) {
  const bool utf32 = bytes.starts_with("\xFF\xFE\0\0"sv) || bytes.starts_with("\0\0\xFE\xFF"sv);
  if (utf32) return {TextForm::kBinary, 0};
  if (is_little_endian_mark(bytes) || bytes.starts_with("\xFE\xFF"sv)) {
    const std::string text = plain_text(bytes, TextForm::kUtf16Marked);
    return {TextForm::kUtf16Marked, characters_beyond_ascii(text)};
  }
  const Counts counts = count(bytes);
  const bool may_be_utf16 = counts.controls == 0;
  if (may_be_utf16 && is_utf16_pattern(counts.odd_zeros, counts.even_zeros, bytes.size())) {
    return {TextForm::kUtf16Le, characters_beyond_ascii(from_utf16(bytes, true))};
  }
  if (may_be_utf16 && is_utf16_pattern(counts.even_zeros, counts.odd_zeros, bytes.size())) {
    return {TextForm::kUtf16Be, characters_beyond_ascii(from_utf16(bytes, false))};
  }
  const bool zeros = counts.even_zeros + counts.odd_zeros > 0;
  if (zeros || counts.controls * 50 > bytes.size()) return {TextForm::kBinary, 0};
  if (bytes.starts_with("\xEF\xBB\xBF"sv) && base::is_utf8(bytes)) {
    return {TextForm::kUtf8Marked, characters_beyond_ascii(bytes) - 1};
  }
  if (bytes.starts_with("\x84\x31\x95\x33"sv)) return {TextForm::kGb18030Marked, counts.high};
  if (counts.high == 0) return {TextForm::kAscii, 0};
  if (base::is_utf8(bytes)) return {TextForm::kUtf8, characters_beyond_ascii(bytes)};
  return {TextForm::kUndecided, counts.high};
}

TextLook look_at_text(const Samples& samples) {
  TextLook all;
  bool any = false;
  for (const Sample& sample : samples) {
    if (sample.bytes.empty()) continue;
    const TextLook one = look_at_text(sample.bytes);
    all.form = any ? shared(all.form, one.form) : one.form;
    all.beyond_ascii += one.beyond_ascii;
    any = true;
  }
  return all;
}

std::string plain_text(std::string_view bytes, TextForm form) {
  switch (form) {
    case TextForm::kUtf8Marked:
      return std::string(bytes.starts_with("\xEF\xBB\xBF"sv) ? bytes.substr(3) : bytes);
    case TextForm::kUtf16Marked:
      return from_utf16(bytes.substr(std::min<size_t>(2, bytes.size())),
                        is_little_endian_mark(bytes));
    case TextForm::kUtf16Le:
      return from_utf16(bytes, true);
    case TextForm::kUtf16Be:
      return from_utf16(bytes, false);
    case TextForm::kGb18030Marked:
      return std::string(bytes.substr(std::min<size_t>(4, bytes.size())));
    case TextForm::kAscii:
    case TextForm::kUtf8:
    case TextForm::kUndecided:
    case TextForm::kBinary:
      break;
  }
  return std::string(bytes);
}

std::string_view encoding_option(TextForm form) {
  switch (form) {
    case TextForm::kUtf16Marked:
      return "utf-16";
    case TextForm::kUtf16Le:
      return "utf-16le";
    case TextForm::kUtf16Be:
      return "utf-16be";
    case TextForm::kGb18030Marked:
      return "gb18030";
    case TextForm::kAscii:
    case TextForm::kUtf8:
    case TextForm::kUtf8Marked:
    case TextForm::kUndecided:
    case TextForm::kBinary:
      break;
  }
  return {};
}

std::string evidence_of(const TextLook& look) {
  const auto beyond = [&](std::string_view thing) {
    std::string text = std::to_string(look.beyond_ascii) + ' ';
    text += thing;
    return text + (look.beyond_ascii == 1 ? " beyond ASCII" : "s beyond ASCII");
  };
  switch (look.form) {
    case TextForm::kAscii:
      return "only ASCII so far; letters with accents would be taken for UTF-8";
    case TextForm::kUtf8:
      return beyond("character") + ", in well-formed UTF-8";
    case TextForm::kUtf8Marked:
      return "the byte order mark of UTF-8";
    case TextForm::kUtf16Marked:
      return "the byte order mark of UTF-16";
    case TextForm::kUtf16Le:
    case TextForm::kUtf16Be:
      return "every other byte is zero, and there is no byte order mark";
    case TextForm::kGb18030Marked:
      return "the byte order mark of GB 18030";
    case TextForm::kUndecided:
      return beyond("byte") + ", which are no UTF-8";
    case TextForm::kBinary:
      return "bytes that no text has";
  }
  return {};
}

}  // namespace girdle::draft
