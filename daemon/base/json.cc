#include "base/json.h"

#include <charconv>

#include "base/text.h"

namespace girdle::base {

void JsonWriter::separate() {
  if (comma_) out_ += ',';
  comma_ = true;
}

JsonWriter& JsonWriter::open(char mark) {
  separate();
  out_ += mark;
  comma_ = false;
  return *this;
}

JsonWriter& JsonWriter::close(char mark) {
  out_ += mark;
  comma_ = true;
  return *this;
}

void JsonWriter::quote(std::string_view value) {
  static constexpr char kHex[] = "0123456789abcdef";
  const bool utf8 = is_utf8(value);
  out_ += '"';
  size_t plain = 0;  // start of the stretch that needs no escape
  for (size_t i = 0; i < value.size(); ++i) {
    const auto byte = static_cast<unsigned char>(value[i]);
    if (byte >= 0x20 && byte != '"' && byte != '\\' && (utf8 || byte < 0x80)) continue;
    out_.append(value, plain, i - plain);
    plain = i + 1;
    switch (byte) {
      case '"': out_ += "\\\""; break;
      case '\\': out_ += "\\\\"; break;
      case '\n': out_ += "\\n"; break;
      case '\r': out_ += "\\r"; break;
      case '\t': out_ += "\\t"; break;
      default:
        if (byte >= 0x80) {
          out_ += "\xEF\xBF\xBD";
        } else {
          out_ += "\\u00";
          out_ += kHex[byte >> 4];
          out_ += kHex[byte & 15];
        }
    }
  }
  out_.append(value, plain, value.size() - plain);
  out_ += '"';
}

JsonWriter& JsonWriter::key(std::string_view name) {
  separate();
  quote(name);
  out_ += ':';
  comma_ = false;
  return *this;
}

JsonWriter& JsonWriter::text(std::string_view value) {
  separate();
  quote(value);
  return *this;
}

JsonWriter& JsonWriter::number(int64_t value) {
  separate();
  char buffer[24];
  const auto end = std::to_chars(buffer, buffer + sizeof buffer, value).ptr;
  out_.append(buffer, end);
  return *this;
}

JsonWriter& JsonWriter::boolean(bool value) { return raw(value ? "true" : "false"); }
JsonWriter& JsonWriter::null() { return raw("null"); }

JsonWriter& JsonWriter::raw(std::string_view json) {
  separate();
  out_ += json;
  return *this;
}

}  // namespace girdle::base
