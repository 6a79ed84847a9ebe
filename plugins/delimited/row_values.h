// The texts of one row's fields, as UTF-8: lent from the row itself where they stand there as they
// are, else from memory that is used again for the next row.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "delimited/code_page.h"
#include "delimited/encoding.h"
#include "delimited/row_scanner.h"
#include "girdle/reader.h"

namespace girdle::delimited {

// Why the row's bytes are no text in this encoding; nothing where they are. UTF-16 and code pages
// of more than one byte a character have come through a Decoder.
std::optional<std::string_view> text_fault(std::string_view row, Encoding encoding);
std::optional<std::string_view> text_fault(std::string_view row, const CodePage& page);

// How the texts are written.
struct FieldForm {
  char quote = '\0';
  std::optional<char> escape;
  const UpperHalf* upper_half = nullptr;  // of a single-byte encoding; null where they are UTF-8
};

class RowValues {
 public:
  // Values of `fields` in `row`, and empty ones up to `count`. Valid until the row goes or the next
  // call.
  const std::vector<girdle_text>& of(std::string_view row, const std::vector<FieldSpan>& fields,
                                     const FieldForm& form, size_t count = 0);

 private:
  std::string_view rewritten(std::string_view text, bool escaped, const FieldForm& form);

  std::vector<girdle_text> values_;
  std::string unescaped_;
  std::string arena_;  // never grows while values point into it
};

}  // namespace girdle::delimited
