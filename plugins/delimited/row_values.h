// The texts of one row's fields, as UTF-8: lent from the row itself where they stand there as they
// are, else from memory that is used again for the next row.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "delimited/encoding.h"
#include "delimited/row_scanner.h"
#include "girdle/reader.h"

namespace girdle::delimited {

// Why the row's bytes are no text in this encoding; nothing where they are. UTF-16 has come through
// Utf16Decoder.
std::optional<std::string_view> text_fault(std::string_view row, Encoding encoding);

class RowValues {
 public:
  // Values of `fields` in `row`, whose quotes are `quote`. Valid until the row goes or the next
  // call.
  const std::vector<girdle_text>& of(std::string_view row, const std::vector<FieldSpan>& fields,
                                     bool decode, Encoding encoding, char quote);

 private:
  std::string_view rewritten(std::string_view text, bool escaped, bool decode, Encoding encoding,
                             char quote);

  std::vector<girdle_text> values_;
  std::string unescaped_;
  std::string arena_;  // never grows while values point into it
};

}  // namespace girdle::delimited
