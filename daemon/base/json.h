// Writing JSON (RFC 8259) whose bytes we control: they are signed and compared. Reading JSON is simdjson's work.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

namespace girdle::base {

// Whether the text is a number as JSON writes one (RFC 8259 section 6).
bool is_json_number(std::string_view text);

// Appends compact JSON to a string that the caller owns. Members come out in the order in which they are written;
// commas are put by the writer. The caller keeps begin and end in balance. Text must be UTF-8: any byte that is not
// is written as U+FFFD, so that the result is always valid JSON.
class JsonWriter {
 public:
  explicit JsonWriter(std::string& out) : out_(out) {}

  JsonWriter& begin_object() { return open('{'); }
  JsonWriter& end_object() { return close('}'); }
  JsonWriter& begin_array() { return open('['); }
  JsonWriter& end_array() { return close(']'); }
  JsonWriter& key(std::string_view name);
  JsonWriter& text(std::string_view value);
  JsonWriter& number(int64_t value);
  JsonWriter& boolean(bool value);
  JsonWriter& null();
  // `json` is valid JSON already.
  JsonWriter& raw(std::string_view json);

  // key() and the value in one.
  JsonWriter& member(std::string_view name, std::string_view value) { return key(name).text(value); }
  JsonWriter& member(std::string_view name, const char* value) { return key(name).text(value); }
  JsonWriter& member(std::string_view name, int64_t value) { return key(name).number(value); }
  JsonWriter& member(std::string_view name, bool value) { return key(name).boolean(value); }
  // A text, or null where it is empty.
  JsonWriter& member_or_null(std::string_view name, std::string_view value) {
    key(name);
    return value.empty() ? null() : text(value);
  }

 private:
  JsonWriter& open(char mark);
  JsonWriter& close(char mark);
  void separate();
  void quote(std::string_view value);
  void escape(std::string_view value);

  std::string& out_;
  bool comma_ = false;
};

}  // namespace girdle::base
