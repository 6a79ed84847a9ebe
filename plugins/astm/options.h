// The options of the reader `astm`, understood.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "columns/text_encoding.h"
#include "girdle/reader.h"

namespace girdle::astm {

struct Options {
  bool decodes_escapes = true;
  bool passes_comments = true;
  bool wants_terminator = true;
  columns::TextEncoding encoding;
  uint64_t fingerprint = 0;  // tells options apart

  // Nothing, and the reason for a shop's administrator in `refusal`, where they are wrong.
  static std::optional<Options> from(const girdle_reader_setup& setup, std::string& refusal);
};

}  // namespace girdle::astm
