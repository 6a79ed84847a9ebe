#include "base/json.h"

#include <algorithm>
#include <charconv>
#include <cstring>

#include "base/text.h"

namespace girdle::base {
namespace {

// Whether all bytes are ASCII that JSON takes as it is. Most are, so eight are looked at in a step.
bool is_plain(std::string_view value) {
  constexpr uint64_t kOnes = 0x0101010101010101u, kHighs = 0x8080808080808080u;
  const auto has_zero = [](uint64_t word) { return (word - kOnes) & ~word & kHighs; };
  while (!value.empty()) {
    uint64_t word = kOnes * 'a';
    const size_t size = std::min<size_t>(value.size(), sizeof word);
    std::memcpy(&word, value.data(), size);
    const uint64_t below_space = (word - kOnes * 0x20) & ~word;
    const uint64_t marks = has_zero(word ^ (kOnes * '"')) | has_zero(word ^ (kOnes * '\\'));
    if (((word | below_space) & kHighs) | marks) return false;
    value.remove_prefix(size);
  }
  return true;
}

}  // namespace

bool is_json_number(std::string_view text) {
  const auto digits = [&text] {
    const size_t count = std::min(text.find_first_not_of("0123456789"), text.size());
    text.remove_prefix(count);
    return count;
  };
  const auto skip = [&text](std::string_view marks) {
    const bool is_there = !text.empty() && marks.find(text.front()) != marks.npos;
    if (is_there) text.remove_prefix(1);
    return is_there;
  };
  skip("-");
  if (!skip("0") && digits() == 0) return false;
  if (skip(".") && digits() == 0) return false;
  if (!skip("eE")) return text.empty();
  skip("+-");
  return digits() > 0 && text.empty();
}

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
  out_ += '"';
  if (is_plain(value)) {
    out_ += value;
  } else {
    escape(value);
  }
  out_ += '"';
}

void JsonWriter::escape(std::string_view value) {
  static constexpr char kHex[] = "0123456789abcdef";
  const bool utf8 = is_utf8(value);
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
