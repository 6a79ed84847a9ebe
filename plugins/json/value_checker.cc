#include "json/value_checker.h"

#include <algorithm>
#include <new>

#include "json/value_scanner.h"

namespace girdle::json {

namespace {

// How deep simdjson goes. RecordFields refuses much less; values that are passed over may be
// deeper.
constexpr size_t kMaxDepth = 1024;
constexpr size_t kLeastCapacity = 4096;

std::string_view reason(simdjson::error_code error) {
  switch (error) {
    case simdjson::UTF8_ERROR:
      return "bytes that are not UTF-8, in which JSON must be written";
    case simdjson::DEPTH_ERROR:
      return "nested too deep";
    case simdjson::STRING_ERROR:
      return "not JSON: an escape in a string that JSON does not have, or half a surrogate pair";
    case simdjson::UNESCAPED_CHARS:
      return "not JSON: a control character in a string that is not escaped";
    case simdjson::UNCLOSED_STRING:
      return "not JSON: a string is opened and never closed";
    case simdjson::NUMBER_ERROR:
      return "not JSON: a number that is not written as JSON has it";
    default:  // the other codes of the library say no more
      return "not JSON: a comma, colon, bracket, name or value is missing or too much";
  }
}

bool is_digit(char c) { return c >= '0' && c <= '9'; }

// number = [ minus ] int [ frac ] [ exp ] (RFC 8259, section 6)
bool is_number(std::string_view text) {
  size_t i = 0;
  const auto at = [&] { return i < text.size() ? text[i] : '\0'; };
  const auto digits = [&] {
    const size_t before = i;
    while (is_digit(at())) ++i;
    return i > before;
  };
  if (at() == '-') ++i;
  if (at() == '0') {
    ++i;
  } else if (!digits()) {
    return false;
  }
  if (at() == '.') {
    ++i;
    if (!digits()) return false;
  }
  if (at() == 'e' || at() == 'E') {
    ++i;
    if (at() == '+' || at() == '-') ++i;
    if (!digits()) return false;
  }
  return i == text.size();
}

// The string that begins at text[0], with its quotes; to the end where it is not closed.
std::string_view string_at(std::string_view text) {
  size_t i = 1;
  while (i < text.size() && text[i] != '"') i += text[i] == '\\' ? 2 : 1;
  return text.substr(0, i + 1);
}

}  // namespace

std::string with_small_numbers(std::string_view text) {
  std::string out;
  while (!text.empty()) {
    std::string_view token = text.substr(0, 1);
    if (token[0] == '"') {
      token = string_at(text);
    } else if (token[0] == '-' || is_digit(token[0])) {
      const auto* end = std::find_if(text.begin(), text.end(), ends_scalar);
      token = text.substr(0, static_cast<size_t>(end - text.begin()));
    }
    out.append(is_number(token) ? "0" : token);
    text.remove_prefix(token.size());
  }
  return out;
}

ValueChecker::Checked ValueChecker::check(std::string_view text, const char* readable_end) {
  if (readable_end - (text.data() + text.size()) < ptrdiff_t{simdjson::SIMDJSON_PADDING}) {
    padded_.assign(text);
    padded_.append(simdjson::SIMDJSON_PADDING, ' ');
    text = std::string_view(padded_).substr(0, text.size());
  }
  simdjson::error_code error = parse(text);
  if (error == simdjson::NUMBER_ERROR) {
    smaller_ = with_small_numbers(text);
    const size_t size = smaller_.size();
    smaller_.append(simdjson::SIMDJSON_PADDING, ' ');
    error = parse(std::string_view(smaller_).substr(0, size));
  }
  if (error != simdjson::SUCCESS) return {text, reason(error)};
  return {text, std::nullopt};
}

simdjson::error_code ValueChecker::parse(std::string_view padded) {
  if (parser_.capacity() < padded.size()) {
    const size_t wanted = std::max({padded.size(), 2 * parser_.capacity(), kLeastCapacity});
    const size_t capacity = std::max(padded.size(), std::min(wanted, parser_.max_capacity()));
    if (parser_.allocate(capacity, kMaxDepth) != simdjson::SUCCESS) throw std::bad_alloc();
  }
  return parser_.parse(padded.data(), padded.size(), false).get(value_);
}

std::optional<std::string_view> ValueChecker::string() const {
  std::string_view text;
  if (value_.get_string().get(text) != simdjson::SUCCESS) return std::nullopt;
  return text;
}

}  // namespace girdle::json
