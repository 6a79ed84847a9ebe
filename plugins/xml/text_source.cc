#include "xml/text_source.h"

#include <algorithm>
#include <utility>

#include "kit/text.h"
#include "xml/characters.h"
#include "xml/markup.h"

namespace girdle::xml {

namespace {

constexpr size_t kTelling = 4;  // bytes by which encodings of several bytes a character show
constexpr std::string_view kRead =
    "; UTF-8, UTF-16 with a byte order mark, ISO-8859-1 and US-ASCII are read";

bool is_wide(const delimited::ByteOrderMark& mark) {
  return mark.size > 0 && delimited::is_wide(mark.encoding);
}

bool is_continuation(char c) { return (static_cast<uint8_t>(c) & 0xC0) == 0x80; }

// What the declaration says, checked against production [23]; all empty where it does not say.
struct Declaration {
  std::string encoding;
  std::string fault;
};

bool is_version(std::string_view value) {
  // 2.8: a processor of 1.0 takes any 1.x as 1.0.
  return value.size() > 2 && value.starts_with("1.") &&
         value.find_first_not_of("0123456789", 2) == std::string_view::npos;
}

Declaration declaration(std::string_view text) {
  TagParser parser;
  if (!parser.parse(text, "<?", "?>").empty())
    return {{}, "the XML declaration is not well-formed"};
  Declaration said;
  static constexpr std::string_view kOrder[] = {"version", "encoding", "standalone"};
  size_t next = 0;
  for (const Attribute& one : parser.attributes()) {
    while (next < 3 && one.name != kOrder[next]) ++next;
    if (next == 3 || (&one == parser.attributes().data() && next > 0)) break;
    if (one.name == "encoding") said.encoding = in_lower_case(one.value);
    if (one.name == "standalone" && one.value != "yes" && one.value != "no") next = 3;
  }
  const bool has_version = !parser.attributes().empty() && parser.attributes()[0].name == "version";
  if (next == 3 || !has_version) {
    said.fault =
        "the XML declaration is not well-formed: it has version, perhaps encoding, perhaps "
        "standalone";
  } else if (!is_version(parser.attributes()[0].value)) {
    said.fault = "the XML declaration gives a version that is not 1.0";
  }
  return said;
}

std::optional<Encoding> encoding_of(const std::string& name, const delimited::ByteOrderMark& mark) {
  using Mark = delimited::Encoding;
  if (is_wide(mark)) {
    const bool little = mark.encoding == Mark::kUtf16Le;
    const bool agrees =
        name.empty() || name == "utf-16" || name == (little ? "utf-16le" : "utf-16be");
    if (!agrees) return std::nullopt;
    return little ? Encoding::kUtf16Le : Encoding::kUtf16Be;
  }
  if (name.empty() || name == "utf-8") return Encoding::kUtf8;
  if (mark.size > 0) return std::nullopt;
  if (name == "us-ascii" || name == "ascii") return Encoding::kAscii;
  if (name == "iso-8859-1" || name == "latin1" || name == "latin-1") return Encoding::kLatin1;
  return std::nullopt;
}

// The text of `bytes`, whose encoding is not known but for the mark.
std::string first_text(std::string_view bytes, const delimited::ByteOrderMark& mark) {
  if (!is_wide(mark)) return std::string(bytes);
  delimited::Utf16Decoder decoder(mark.encoding == delimited::Encoding::kUtf16Be);
  std::string text;
  decoder.decode(bytes, text);
  return text;
}

DocumentHead refused(std::string reason) {
  DocumentHead head;
  head.known = true;
  head.fault = std::move(reason);
  return head;
}

DocumentHead with_encoding(const std::string& name, const delimited::ByteOrderMark& mark,
                           size_t declaration_bytes) {
  const std::optional<Encoding> encoding = encoding_of(name, mark);
  if (!encoding) {
    const std::string which = mark.size > 0 ? ", which its byte order mark contradicts" : "";
    return refused("the document declares the encoding " + kit::in_quotes(name) + which +
                   std::string(kRead));
  }
  return {true, mark.size + declaration_bytes, mark.size, *encoding, {}};
}

// `text`: what follows the mark, all there is so far.
DocumentHead head_of(std::string_view text, const delimited::ByteOrderMark& mark, bool whole) {
  static constexpr std::string_view kBegin = "<?xml";
  if (text.size() <= kBegin.size() && !whole && kBegin.starts_with(text)) return {};
  const bool declares =
      text.size() > kBegin.size() && text.starts_with(kBegin) && is_space(text[kBegin.size()]);
  if (!declares) return with_encoding({}, mark, 0);
  const size_t end = text.find("?>");
  if (end == std::string::npos && !whole) return {};
  if (end == std::string::npos) return refused("the XML declaration does not end");
  const std::string_view declared = text.substr(0, end + 2);
  Declaration said = declaration(declared);
  if (!said.fault.empty()) return refused(std::move(said.fault));
  return with_encoding(said.encoding, mark,
                       is_wide(mark) ? delimited::utf16_bytes(declared) : declared.size());
}

}  // namespace

DocumentHead document_head(std::string_view head, bool whole) {
  head = head.substr(0, kMostHead);
  whole = whole || head.size() == kMostHead;
  const delimited::ByteOrderMark mark = delimited::byte_order_mark(head, whole);
  if (!mark.known || (head.size() < kTelling && !whole)) return {};
  const bool is_utf32 = mark.encoding == delimited::Encoding::kUtf32;
  const bool has_nul = head.substr(0, kTelling).find('\0') != std::string_view::npos;
  if (is_utf32 || (mark.size == 0 && has_nul)) {
    return refused("the document is in UTF-32, or in UTF-16 without a byte order mark" +
                   std::string(kRead));
  }
  return head_of(first_text(head.substr(mark.size), mark), mark, whole);
}

TextSource::TextSource(Encoding encoding)
    : encoding_(encoding), utf16_(encoding == Encoding::kUtf16Be) {}

void TextSource::decode(std::string_view bytes, std::string& out) {
  switch (encoding_) {
    case Encoding::kUtf8:
    case Encoding::kAscii:
      out.append(bytes);
      return;
    case Encoding::kLatin1:
      for (const char c : bytes) delimited::append_utf8(static_cast<uint8_t>(c), out);
      return;
    case Encoding::kUtf16Le:
    case Encoding::kUtf16Be:
      utf16_.decode(bytes, out);
      return;
  }
}

void TextSource::finish(std::string& out) {
  if (encoding_ == Encoding::kUtf16Le || encoding_ == Encoding::kUtf16Be) utf16_.finish(out);
}

uint64_t source_bytes(std::string_view text, Encoding encoding) {
  switch (encoding) {
    case Encoding::kUtf8:
    case Encoding::kAscii:
      return text.size();
    case Encoding::kLatin1:
      return text.size() -
             static_cast<uint64_t>(std::count_if(text.begin(), text.end(), is_continuation));
    case Encoding::kUtf16Le:
    case Encoding::kUtf16Be:
      return delimited::utf16_bytes(text);
  }
  return text.size();
}

size_t room(std::string_view text, uint64_t bytes, Encoding encoding) {
  if (is_plain(encoding)) return std::min<uint64_t>(text.size(), bytes);
  if (2 * text.size() <= bytes) return text.size();
  size_t size = 0;
  uint64_t taken = 0;
  while (size < text.size()) {
    size_t next = size + 1;
    while (next < text.size() && is_continuation(text[next])) ++next;
    taken += source_bytes(text.substr(size, next - size), encoding);
    if (taken > bytes) break;
    size = next;
  }
  return size;
}

std::string character_fault(std::string_view text, Encoding encoding) {
  const bool ascii = std::none_of(text.begin(), text.end(),
                                  [](char c) { return static_cast<uint8_t>(c) >= 0x80; });
  if (encoding == Encoding::kAscii && !ascii)
    return "a byte that is not ASCII, though the document declares US-ASCII";
  if (!ascii && !delimited::is_utf8(text)) {
    return encoding == Encoding::kUtf8 ? "bytes that are not UTF-8; the XML declaration must say "
                                         "how the document is written"
                                       : "half a character of UTF-16";
  }
  if (!are_characters(text)) return "not well-formed XML: a control character";
  return {};
}

}  // namespace girdle::xml
