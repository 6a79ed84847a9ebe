// Text encodings of delimited documents. Decoding is strict: what is not of the encoding is told,
// never replaced. The older encodings are in code_page.h.
//
// Sources: WHATWG Encoding Standard (byte order marks, index-windows-1251.txt,
// index-windows-1252.txt; but a byte without a letter, a C1 control there, is an error here, as in
// Unicode's CP1251.TXT and CP1252.TXT), RFC 3629 (UTF-8), RFC 2781 (UTF-16).
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace girdle::delimited {

enum class Encoding {
  kUtf8,
  kUtf16,  // as configured, before the byte order mark says which
  kUtf16Le,
  kUtf16Be,
  kWindows1252,
  kWindows1251,
  kUtf32,     // only recognised, never read
  kCodePage,  // one of code_page.h
};

inline bool is_wide(Encoding encoding) {
  return encoding == Encoding::kUtf16Le || encoding == Encoding::kUtf16Be;
}
inline bool is_single_byte(Encoding encoding) {
  return encoding == Encoding::kWindows1252 || encoding == Encoding::kWindows1251;
}

// By the name in the manifest; nothing for any other, and for those of code_page.h.
std::optional<Encoding> encoding_named(std::string_view name);

struct ByteOrderMark {
  bool known = false;  // false: `head` may still become a mark; ask again with more bytes
  size_t size = 0;     // bytes of the mark; 0 = there is none
  Encoding encoding = Encoding::kUtf8;  // only where size > 0
};
// Looks at a document's first bytes, all there are so far. `whole`: no more will come.
ByteOrderMark byte_order_mark(std::string_view head, bool whole);

// True for well-formed UTF-8.
bool is_utf8(std::string_view text);

// What the bytes 80 to FF of a single-byte encoding stand for; 0 = nothing. Those below are ASCII.
using UpperHalf = std::array<char16_t, 128>;

// Of kWindows1252 and kWindows1251.
const UpperHalf& upper_half(Encoding encoding);

// Whether every byte stands for a character.
bool can_decode(std::string_view text, const UpperHalf& upper);

// Appends the UTF-8 of text that can be decoded: at most three bytes a byte.
void append_decoded(std::string_view text, const UpperHalf& upper, std::string& out);
inline void append_decoded(std::string_view text, Encoding encoding, std::string& out) {
  append_decoded(text, upper_half(encoding), out);
}

void append_utf8(uint32_t point, std::string& out);

// UTF-16 to UTF-8, across feeds. A lone surrogate comes out as the three bytes that is_utf8
// refuses, so that the row which holds it is refused, and only that.
class Utf16Decoder {
 public:
  explicit Utf16Decoder(bool big_endian) : big_endian_(big_endian) {}

  // Appends the UTF-8 of `bytes`; keeps what may go on in the next call.
  void decode(std::string_view bytes, std::string& out);
  // No more will come: appends bytes that is_utf8 refuses for what is kept.
  void finish(std::string& out);

 private:
  void unit(uint16_t value, std::string& out);

  bool big_endian_;
  bool have_byte_ = false;
  uint8_t byte_ = 0;
  uint16_t high_ = 0;  // a high surrogate that waits for its low one; 0 = none
};

// How many bytes of UTF-16 became this output of Utf16Decoder (cut between characters).
uint64_t utf16_bytes(std::string_view decoded);

}  // namespace girdle::delimited
