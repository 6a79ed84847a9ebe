// How a document is written, as its reader is told: the encodings of the reader `delimited`.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "delimited/code_page.h"
#include "delimited/encoding.h"
#include "girdle/reader.h"

namespace girdle::columns {

using delimited::Encoding;

struct TextEncoding {
  Encoding encoding = Encoding::kUtf8;
  std::optional<delimited::CodePage> page;  // only of kCodePage

  // The option `encoding`. Nothing, and the reason for a shop's administrator in `refusal`, where
  // there is no such encoding.
  static std::optional<TextEncoding> from(const girdle_reader_setup& setup, std::string& refusal);
};

}  // namespace girdle::columns
