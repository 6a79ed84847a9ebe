// From a document's bytes to its text, in UTF-8: the byte order mark and the XML declaration say
// how it is written (XML 1.0, 4.3.3 and appendix F).
//
// Read are UTF-8, UTF-16 with a byte order mark, ISO-8859-1 and US-ASCII. Anything else, and two
// that contradict each other, is told, not guessed.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "delimited/encoding.h"

namespace girdle::xml {

// The numbers are in saved states.
enum class Encoding : uint8_t { kUtf8, kAscii, kLatin1, kUtf16Le, kUtf16Be };

// Why bytes, as TextSource decoded them, are no characters; empty where all are. XML 1.0, 2.2.
std::string character_fault(std::string_view text, Encoding encoding);

// A document's first bytes, up to the end of its XML declaration where there is one.
struct DocumentHead {
  bool known = false;  // false: ask again with more bytes
  size_t size = 0;     // bytes that hold nothing: the mark and the declaration
  size_t mark = 0;     // of them the mark's
  Encoding encoding = Encoding::kUtf8;
  std::string fault;  // why the document cannot be read; nothing else counts then
};
// `head`: all there are so far, at most kMostHead of them count. `whole`: no more will come.
inline constexpr size_t kMostHead = 1024;
DocumentHead document_head(std::string_view head, bool whole);

// True where the text is the bytes themselves.
inline bool is_plain(Encoding encoding) {
  return encoding == Encoding::kUtf8 || encoding == Encoding::kAscii;
}
// How many bytes became this stretch of text. Half a character at the end counts as a whole one.
uint64_t source_bytes(std::string_view text, Encoding encoding);
// The longest beginning of `text`, in whole characters, that was made of at most so many bytes.
size_t room(std::string_view text, uint64_t bytes, Encoding encoding);

class TextSource {
 public:
  explicit TextSource(Encoding encoding);

  Encoding encoding() const { return encoding_; }

  // Appends the text of the next bytes. What is no character comes out as bytes that
  // character_fault refuses.
  void decode(std::string_view bytes, std::string& out);
  // No more will come: appends the like for half a character that is left.
  void finish(std::string& out);

 private:
  Encoding encoding_;
  delimited::Utf16Decoder utf16_;
};

}  // namespace girdle::xml
