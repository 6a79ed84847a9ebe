// How a sample's text is written, as far as its bytes tell: by a byte order mark, by the zeros of
// UTF-16, by being well-formed UTF-8. Bytes beyond ASCII that are none of these may be any of some
// thirty encodings: then the form is kUndecided, and a person has to say.
//
// Pure; any thread.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

#include "draft/sample.h"

namespace girdle::draft {

enum class TextForm {
  kAscii,  // every encoding but UTF-16 reads it alike
  kUtf8,
  kUtf8Marked,
  kUtf16Marked,
  kUtf16Le,
  kUtf16Be,
  kGb18030Marked,
  kUndecided,
  kBinary,  // no text: zeros or control characters that no text has
};

struct TextLook {
  TextForm form = TextForm::kAscii;
  size_t beyond_ascii = 0;  // characters of UTF-8, or bytes where the form is undecided
};

TextLook look_at_text(std::string_view bytes);
// Of several samples of one instrument: the form that all of them share, or kUndecided.
TextLook look_at_text(const Samples& samples);

// UTF-8 without a byte order mark where the form is known; else the bytes as they are, in which
// ASCII characters still stand for themselves. Half a character of UTF-16 is left out.
std::string plain_text(std::string_view bytes, TextForm form);

// The option `encoding` of readers that have it; empty where it need not be given, or is not known.
std::string_view encoding_option(TextForm form);

// The evidence, as a comment says it.
std::string evidence_of(const TextLook& look);

}  // namespace girdle::draft
