// Whether a text is one JSON value (RFC 8259), by simdjson's DOM parser, which looks at every byte
// of it.
#pragma once

#include <simdjson.h>

#include <optional>
#include <string>
#include <string_view>

namespace girdle::json {

class ValueChecker {
 public:
  // Values up to `max_bytes` are checked.
  explicit ValueChecker(size_t max_bytes) : parser_(max_bytes) {}

  struct Checked {
    std::string_view text;  // the same text where RecordFields may read it; until the next call
    std::optional<std::string_view> fault;  // why it is not JSON
  };
  // From `text` up to `readable_end` memory can be read.
  Checked check(std::string_view text, const char* readable_end);

  // The characters of the string that was checked last; nothing where it was no string.
  std::optional<std::string_view> string() const;

 private:
  simdjson::error_code parse(std::string_view padded);

  simdjson::dom::parser parser_;
  simdjson::dom::element value_;
  std::string padded_;
  std::string smaller_;
};

// `text` with 0 in the place of each number that is written as JSON has it. simdjson refuses
// numbers that fit no 64 bits; they are JSON all the same, and we do not compute with them.
std::string with_small_numbers(std::string_view text);

}  // namespace girdle::json
