// Text encodings of delimited documents. Decoding is strict: what is not of the encoding is told,
// never replaced.
//
// Sources: WHATWG Encoding Standard (byte order marks, index-windows-1251.txt,
// index-windows-1252.txt: the bytes without a letter are C1 controls), RFC 3629 (UTF-8), RFC 2781
// (UTF-16).
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace girdle::delimited {

enum class Encoding { kUtf8, kUtf16, kUtf16Le, kUtf16Be, kWindows1252, kWindows1251, kUtf32 };
// kUtf16: as configured, before the byte order mark says which. kUtf32 is only recognised, never
// read.

inline bool is_wide(Encoding encoding) {
  return encoding == Encoding::kUtf16Le || encoding == Encoding::kUtf16Be;
}
inline bool is_single_byte(Encoding encoding) {
  return encoding == Encoding::kWindows1252 || encoding == Encoding::kWindows1251;
}

// By the name in the manifest; nothing for any other.
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

// Appends the UTF-8 of text in a single-byte encoding: at most three bytes a byte. Never fails.
void append_decoded(std::string_view text, Encoding encoding, std::string& out);

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
