#include "delimited/encoding.h"

#include <algorithm>
#include <cstring>

namespace girdle::delimited {

namespace {

constexpr UpperHalf kWindows1252 = {
    0x20AC, 0,      0x201A, 0x0192, 0x201E, 0x2026, 0x2020, 0x2021, 0x02C6, 0x2030, 0x0160, 0x2039,
    0x0152, 0,      0x017D, 0,      0,      0x2018, 0x2019, 0x201C, 0x201D, 0x2022, 0x2013, 0x2014,
    0x02DC, 0x2122, 0x0161, 0x203A, 0x0153, 0,      0x017E, 0x0178, 0x00A0, 0x00A1, 0x00A2, 0x00A3,
    0x00A4, 0x00A5, 0x00A6, 0x00A7, 0x00A8, 0x00A9, 0x00AA, 0x00AB, 0x00AC, 0x00AD, 0x00AE, 0x00AF,
    0x00B0, 0x00B1, 0x00B2, 0x00B3, 0x00B4, 0x00B5, 0x00B6, 0x00B7, 0x00B8, 0x00B9, 0x00BA, 0x00BB,
    0x00BC, 0x00BD, 0x00BE, 0x00BF, 0x00C0, 0x00C1, 0x00C2, 0x00C3, 0x00C4, 0x00C5, 0x00C6, 0x00C7,
    0x00C8, 0x00C9, 0x00CA, 0x00CB, 0x00CC, 0x00CD, 0x00CE, 0x00CF, 0x00D0, 0x00D1, 0x00D2, 0x00D3,
    0x00D4, 0x00D5, 0x00D6, 0x00D7, 0x00D8, 0x00D9, 0x00DA, 0x00DB, 0x00DC, 0x00DD, 0x00DE, 0x00DF,
    0x00E0, 0x00E1, 0x00E2, 0x00E3, 0x00E4, 0x00E5, 0x00E6, 0x00E7, 0x00E8, 0x00E9, 0x00EA, 0x00EB,
    0x00EC, 0x00ED, 0x00EE, 0x00EF, 0x00F0, 0x00F1, 0x00F2, 0x00F3, 0x00F4, 0x00F5, 0x00F6, 0x00F7,
    0x00F8, 0x00F9, 0x00FA, 0x00FB, 0x00FC, 0x00FD, 0x00FE, 0x00FF,
};

constexpr UpperHalf kWindows1251 = {
    0x0402, 0x0403, 0x201A, 0x0453, 0x201E, 0x2026, 0x2020, 0x2021, 0x20AC, 0x2030, 0x0409, 0x2039,
    0x040A, 0x040C, 0x040B, 0x040F, 0x0452, 0x2018, 0x2019, 0x201C, 0x201D, 0x2022, 0x2013, 0x2014,
    0,      0x2122, 0x0459, 0x203A, 0x045A, 0x045C, 0x045B, 0x045F, 0x00A0, 0x040E, 0x045E, 0x0408,
    0x00A4, 0x0490, 0x00A6, 0x00A7, 0x0401, 0x00A9, 0x0404, 0x00AB, 0x00AC, 0x00AD, 0x00AE, 0x0407,
    0x00B0, 0x00B1, 0x0406, 0x0456, 0x0491, 0x00B5, 0x00B6, 0x00B7, 0x0451, 0x2116, 0x0454, 0x00BB,
    0x0458, 0x0405, 0x0455, 0x0457, 0x0410, 0x0411, 0x0412, 0x0413, 0x0414, 0x0415, 0x0416, 0x0417,
    0x0418, 0x0419, 0x041A, 0x041B, 0x041C, 0x041D, 0x041E, 0x041F, 0x0420, 0x0421, 0x0422, 0x0423,
    0x0424, 0x0425, 0x0426, 0x0427, 0x0428, 0x0429, 0x042A, 0x042B, 0x042C, 0x042D, 0x042E, 0x042F,
    0x0430, 0x0431, 0x0432, 0x0433, 0x0434, 0x0435, 0x0436, 0x0437, 0x0438, 0x0439, 0x043A, 0x043B,
    0x043C, 0x043D, 0x043E, 0x043F, 0x0440, 0x0441, 0x0442, 0x0443, 0x0444, 0x0445, 0x0446, 0x0447,
    0x0448, 0x0449, 0x044A, 0x044B, 0x044C, 0x044D, 0x044E, 0x044F,
};

bool is_high_surrogate(uint16_t unit) { return unit >= 0xD800 && unit < 0xDC00; }
bool is_low_surrogate(uint16_t unit) { return unit >= 0xDC00 && unit < 0xE000; }

// The length of the well-formed sequence that begins at text[0]; 0 = none does. RFC 3629,
// section 4.
size_t sequence_length(std::string_view text) {
  const auto at = [&](size_t i) { return i < text.size() ? static_cast<uint8_t>(text[i]) : 0; };
  const auto tail = [&](size_t i) { return (at(i) & 0xC0) == 0x80; };
  const uint8_t lead = at(0);
  if (lead < 0x80) return 1;
  if (lead >= 0xC2 && lead <= 0xDF) return tail(1) ? 2 : 0;
  if (lead >= 0xE0 && lead <= 0xEF) {
    const uint8_t low = lead == 0xE0 ? 0xA0 : 0x80;
    const uint8_t high = lead == 0xED ? 0x9F : 0xBF;
    return at(1) >= low && at(1) <= high && tail(2) ? 3 : 0;
  }
  if (lead >= 0xF0 && lead <= 0xF4) {
    const uint8_t low = lead == 0xF0 ? 0x90 : 0x80;
    const uint8_t high = lead == 0xF4 ? 0x8F : 0xBF;
    return at(1) >= low && at(1) <= high && tail(2) && tail(3) ? 4 : 0;
  }
  return 0;
}

}  // namespace

void append_utf8(uint32_t point, std::string& out) {
  if (point < 0x80) {
    out.push_back(static_cast<char>(point));
    return;
  }
  if (point < 0x800) {
    out.push_back(static_cast<char>(0xC0 | point >> 6));
  } else {
    if (point < 0x10000) {
      out.push_back(static_cast<char>(0xE0 | point >> 12));
    } else {
      out.push_back(static_cast<char>(0xF0 | point >> 18));
      out.push_back(static_cast<char>(0x80 | (point >> 12 & 0x3F)));
    }
    out.push_back(static_cast<char>(0x80 | (point >> 6 & 0x3F)));
  }
  out.push_back(static_cast<char>(0x80 | (point & 0x3F)));
}

std::optional<Encoding> encoding_named(std::string_view name) {
  if (name == "utf-8") return Encoding::kUtf8;
  if (name == "utf-16") return Encoding::kUtf16;
  if (name == "utf-16le") return Encoding::kUtf16Le;
  if (name == "utf-16be") return Encoding::kUtf16Be;
  if (name == "windows-1252") return Encoding::kWindows1252;
  if (name == "windows-1251") return Encoding::kWindows1251;
  return std::nullopt;
}

ByteOrderMark byte_order_mark(std::string_view head, bool whole) {
  struct Known {
    std::string_view bytes;
    Encoding encoding;
  };
  // UTF-32's little-endian mark begins with that of UTF-16: the longer one is asked for first.
  static constexpr Known kMarks[] = {
      {std::string_view("\xFF\xFE\0\0", 4), Encoding::kUtf32},
      {std::string_view("\0\0\xFE\xFF", 4), Encoding::kUtf32},
      {"\xEF\xBB\xBF", Encoding::kUtf8},
      {"\xFF\xFE", Encoding::kUtf16Le},
      {"\xFE\xFF", Encoding::kUtf16Be},
  };
  for (const Known& mark : kMarks) {
    if (head.starts_with(mark.bytes)) return {true, mark.bytes.size(), mark.encoding};
    if (!whole && mark.bytes.starts_with(head)) return {};
  }
  return {true, 0, Encoding::kUtf8};
}

bool is_utf8(std::string_view text) {
  while (!text.empty()) {
    uint64_t eight;
    if (text.size() >= sizeof eight) {
      std::memcpy(&eight, text.data(), sizeof eight);
      if ((eight & 0x8080808080808080) == 0) {
        text.remove_prefix(sizeof eight);
        continue;
      }
    }
    const size_t length = sequence_length(text);
    if (length == 0) return false;
    text.remove_prefix(length);
  }
  return true;
}

const UpperHalf& upper_half(Encoding encoding) {
  return encoding == Encoding::kWindows1251 ? kWindows1251 : kWindows1252;
}

bool can_decode(std::string_view text, const UpperHalf& upper) {
  return std::all_of(text.begin(), text.end(), [&](char c) {
    const auto byte = static_cast<uint8_t>(c);
    return byte < 0x80 || upper[byte - 0x80] != 0;
  });
}

void append_decoded(std::string_view text, const UpperHalf& upper, std::string& out) {
  for (const char c : text) {
    const auto byte = static_cast<uint8_t>(c);
    append_utf8(byte < 0x80 ? byte : upper[byte - 0x80], out);
  }
}

void Utf16Decoder::decode(std::string_view bytes, std::string& out) {
  for (const char c : bytes) {
    const auto byte = static_cast<uint8_t>(c);
    if (!have_byte_) {
      byte_ = byte;
      have_byte_ = true;
      continue;
    }
    have_byte_ = false;
    unit(static_cast<uint16_t>(big_endian_ ? byte_ << 8 | byte : byte << 8 | byte_), out);
  }
}

void Utf16Decoder::unit(uint16_t value, std::string& out) {
  const uint16_t high = high_;
  high_ = 0;
  if (high != 0 && is_low_surrogate(value)) {
    append_utf8(0x10000 + ((high - 0xD800u) << 10) + (value - 0xDC00u), out);
    return;
  }
  if (high != 0) append_utf8(high, out);
  if (is_high_surrogate(value)) {
    high_ = value;
  } else {
    append_utf8(value, out);
  }
}

void Utf16Decoder::finish(std::string& out) {
  if (high_ != 0) append_utf8(high_, out);
  if (have_byte_) out.push_back('\xFF');
  high_ = 0;
  have_byte_ = false;
}

uint64_t utf16_bytes(std::string_view decoded) {
  uint64_t units = 0;
  for (const char c : decoded) {
    const auto byte = static_cast<uint8_t>(c);
    units += (byte & 0xC0) != 0x80;         // one unit for each character
    units += byte >= 0xF0 && byte <= 0xF4;  // and one more above U+FFFF
  }
  return 2 * units;
}

}  // namespace girdle::delimited
