#include "policy/cell_scanner.h"

#include <algorithm>

#include "base/text.h"

namespace girdle::policy {
namespace {

using base::Error;
using base::Result;
using base::in_quotes;
using base::is_digit;

constexpr bool is_space(char c) { return c == ' ' || c == '\t' || c == '\n' || c == '\r'; }
constexpr bool is_name_start(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '_';
}
constexpr bool is_name_part(char c) { return is_name_start(c) || is_digit(c); }

void append_utf8(std::string& out, uint32_t code) {
  const auto byte = [&](uint32_t value) { out += static_cast<char>(value); };
  if (code < 0x80) {
    byte(code);
  } else if (code < 0x800) {
    byte(0xC0 | code >> 6);
    byte(0x80 | (code & 0x3F));
  } else if (code < 0x10000) {
    byte(0xE0 | code >> 12);
    byte(0x80 | (code >> 6 & 0x3F));
    byte(0x80 | (code & 0x3F));
  } else {
    byte(0xF0 | code >> 18);
    byte(0x80 | (code >> 12 & 0x3F));
    byte(0x80 | (code >> 6 & 0x3F));
    byte(0x80 | (code & 0x3F));
  }
}

constexpr bool is_surrogate(uint32_t code, uint32_t first) {
  return code >= first && code < first + 0x400;
}

// ‘ ’ “ ” and ': what word processors and other languages put round a text.
bool is_foreign_quote(std::string_view rest) {
  return rest.starts_with('\'') || rest.starts_with("\xE2\x80\x98") ||
         rest.starts_with("\xE2\x80\x99") || rest.starts_with("\xE2\x80\x9C") ||
         rest.starts_with("\xE2\x80\x9D");
}

}  // namespace

Result<void> CellScanner::check() const {
  if (text_.size() > kMaxBytes) return base::input_error("the cell is longer than 64 KiB");
  if (!base::is_utf8(text_)) return base::input_error("the cell is not UTF-8");
  if (base::trimmed(text_).empty()) {
    return base::input_error("the cell is empty; write - for \"any value\"");
  }
  return {};
}

Result<void> CellScanner::check_value() const {
  const std::string_view text = base::trimmed(text_);
  if (text.empty()) return base::input_error("the cell is empty; write a value, or null for none");
  if (text == "-") return base::input_error("\"-\" is no value; write a value, or null for none");
  return check();
}

char CellScanner::peek(size_t ahead) const {
  return at_ + ahead < text_.size() ? text_[at_ + ahead] : '\0';
}

void CellScanner::skip_spaces() {
  while (at_ < text_.size() && is_space(text_[at_])) ++at_;
}

bool CellScanner::at_end() {
  skip_spaces();
  return at_ == text_.size();
}

bool CellScanner::at_operator() {
  skip_spaces();
  return at_ < text_.size() && std::string_view("+-*/").find(text_[at_]) != std::string_view::npos;
}

bool CellScanner::at_number() {
  skip_spaces();
  const size_t sign = peek() == '-' ? 1 : 0;
  return is_digit(peek(sign)) || (peek(sign) == '.' && is_digit(peek(sign + 1)));
}

bool CellScanner::take(std::string_view mark) {
  skip_spaces();
  if (!text_.substr(at_).starts_with(mark)) return false;
  at_ += mark.size();
  return true;
}

bool CellScanner::take_not() {
  skip_spaces();
  if (word() != "not") return false;
  const size_t before = at_;
  at_ += 3;
  if (take("(")) return true;
  at_ = before;
  return false;
}

Error CellScanner::error(std::string text) const {
  return base::input_error("at character " + std::to_string(at_ + 1) + ": " + std::move(text));
}

Error CellScanner::unexpected(std::string_view expected) {
  if (at_end()) return error("the cell ends where " + std::string(expected) + " should be");
  const std::string_view rest = text_.substr(at_);
  if (is_foreign_quote(rest)) return error("texts stand in plain double quotes: \"…\"");
  const std::string found = in_quotes(rest, 20);
  return error(found + " stands where " + std::string(expected) + " should be");
}

Result<Operand> CellScanner::operand() {
  skip_spaces();
  const char first = peek();
  if (first == '"') return string();
  if (at_number()) return number();
  if (auto name = name_in_scope()) return std::move(*name);
  if (is_name_start(first)) return word_operand();
  if (first == '@') return at_literal();
  if (first == '-') {
    return error("\"-\" stands alone for \"any value\", or before the digits of a number");
  }
  return unexpected("a number, a text in double quotes, true, false or the name of a fact");
}

Result<Operand> CellScanner::number() {
  const size_t begin = at_;
  if (peek() == '-') ++at_;
  while (is_digit(peek())) ++at_;
  if (peek() == '.' && is_digit(peek(1))) {
    ++at_;
    while (is_digit(peek())) ++at_;
  }
  if (peek() == 'e' || peek() == 'E') {
    const size_t sign = peek(1) == '+' || peek(1) == '-' ? 2 : 1;
    if (is_digit(peek(sign))) at_ += sign;
    while (is_digit(peek())) ++at_;
  }
  if (is_name_part(peek())) {
    return error(in_quotes(text_.substr(begin), 20) +
                 " is not a number; units are not written, and texts stand in double quotes");
  }
  const auto value = base::Decimal::parse(text_.substr(begin, at_ - begin));
  if (!value) return error("the number has more than 34 digits or is out of range");
  return Operand{*value};
}

Result<Operand> CellScanner::string() {
  std::string out;
  for (++at_; at_ < text_.size() && peek() != '"';) {
    if (peek() == '\n' || peek() == '\r') return error("a text ends on its line; write \\n");
    if (peek() != '\\') {
      out += text_[at_++];
    } else if (auto read = escape(out); !read) {
      return read.error();
    }
  }
  if (at_ == text_.size()) return error("the closing double quote is missing");
  ++at_;
  return Operand{std::move(out)};
}

Result<void> CellScanner::escape(std::string& out) {
  const char kind = peek(1);
  at_ += 2;
  switch (kind) {
    case '\'':
    case '"':
    case '\\':
      out += kind;
      return {};
    case 'n':
      out += '\n';
      return {};
    case 'r':
      out += '\r';
      return {};
    case 't':
      out += '\t';
      return {};
    case 'u':
    case 'U': {
      auto code = code_point(kind == 'u' ? 4 : 6);
      if (!code) return code.error();
      append_utf8(out, *code);
      return {};
    }
    default:
      at_ -= 2;
      return error("an escape is one of \\' \\\" \\\\ \\n \\r \\t \\uXXXX \\UXXXXXX");
  }
}

Result<uint32_t> CellScanner::code_point(size_t digits) {
  const auto read = [&](size_t count) -> Result<uint32_t> {
    uint32_t code = 0;
    for (size_t i = 0; i < count; ++i, ++at_) {
      const char c = peek();
      const char lower = static_cast<char>(c | 0x20);
      if (is_digit(c)) {
        code = code * 16 + static_cast<uint32_t>(c - '0');
      } else if (lower >= 'a' && lower <= 'f') {
        code = code * 16 + static_cast<uint32_t>(lower - 'a' + 10);
      } else {
        return error("\\u needs 4 hexadecimal digits, \\U needs 6");
      }
    }
    return code;
  };
  auto code = read(digits);
  if (!code) return code;
  // Two \u escapes may be the two halves of one character, as in JSON.
  if (digits == 4 && is_surrogate(*code, 0xD800) && peek() == '\\' && peek(1) == 'u') {
    at_ += 2;
    auto low = read(4);
    if (!low) return low;
    if (!is_surrogate(*low, 0xDC00)) return error("half a surrogate pair is no character");
    return 0x10000 + ((*code - 0xD800) << 10) + (*low - 0xDC00);
  }
  if (*code > 0x10FFFF || is_surrogate(*code, 0xD800) || is_surrogate(*code, 0xDC00)) {
    return error("the escape is no Unicode character");
  }
  return code;
}

std::string_view CellScanner::word() const {
  size_t end = at_;
  if (end == text_.size() || !is_name_start(text_[end])) return {};
  const auto part_at = [&](size_t i) { return i < text_.size() && is_name_part(text_[i]); };
  while (part_at(end) || (end < text_.size() && text_[end] == '.' && part_at(end + 1))) ++end;
  return text_.substr(at_, end - at_);
}

Result<Operand> CellScanner::word_operand() {
  const std::string_view found = word();
  const size_t begin = at_;
  at_ += found.size();
  skip_spaces();
  if (found == "date" && word() == "and") {
    at_ += 3;
    skip_spaces();
    if (word() != "time") return unexpected("\"time\" of date and time(…)");
    at_ += 4;
    skip_spaces();
    return temporal("date and time", begin);
  }
  const bool is_temporal = found == "date" || found == "time" || found == "duration";
  if (is_temporal && peek() == '(') return temporal(found, begin);
  if (peek() == '(') {
    at_ = begin;
    return error(found == "not" ? "not(…) goes round the whole cell, once"
                                : "functions are not supported in cells: \"" +
                                      base::excerpt(found, 20) + "(…)\"");
  }
  if (found == "not") {
    at_ = begin;
    return error("write not(…) with the tests in the brackets");
  }
  if (found == "true") return Operand{true};
  if (found == "false") return Operand{false};
  if (found == "null") return Operand{};
  return name(found);
}

Operand CellScanner::name(std::string_view name) {
  auto place = std::find(names_.begin(), names_.end(), name);
  if (place == names_.end()) place = names_.insert(names_.end(), std::string(name));
  return Operand{{}, static_cast<int32_t>(place - names_.begin())};
}

size_t CellScanner::length_of(std::string_view name) const {
  size_t at = at_;
  for (const char c : name) {
    if (c != ' ') {
      if (at == text_.size() || text_[at] != c) return 0;
      ++at;
      continue;
    }
    if (at == text_.size() || !is_space(text_[at])) return 0;
    while (at < text_.size() && is_space(text_[at])) ++at;
  }
  const char next = at < text_.size() ? text_[at] : ' ';
  const bool goes_on =
      is_name_part(next) || static_cast<unsigned char>(next) >= 0x80 || next == '(';
  return goes_on ? 0 : at - at_;
}

std::optional<Operand> CellScanner::name_in_scope() {
  std::string_view best;
  size_t best_length = 0;
  for (const std::string& candidate : in_scope_) {
    const size_t length = length_of(candidate);
    if (length <= best_length) continue;
    best = candidate;
    best_length = length;
  }
  if (best_length == 0) return std::nullopt;
  at_ += best_length;
  return name(best);
}

Result<Operand> CellScanner::temporal(std::string_view kind, size_t begin) {
  const std::string call = std::string(kind) + "(…)";
  if (!take("(")) return unexpected("the bracket of " + call);
  skip_spaces();
  if (peek() != '"')
    return error(call + " takes a text in double quotes, such as " + std::string(kind) + "(\"" +
                 std::string(example_of(type_named(kind).value_or(Type::kDaysDuration))) + "\")");
  auto text = string();
  if (!text) return text;
  if (!take(")")) return unexpected("the closing bracket of " + call);
  const std::string& written = *std::get_if<std::string>(&text->literal);
  auto value =
      kind == "duration" ? duration_of_text(written) : temporal_of_text(written, *type_named(kind));
  if (value) return Operand{std::move(*value)};
  at_ = begin;
  return error(call + ": " + in_quotes(written) + ' ' + value.error().text);
}

Result<Operand> CellScanner::at_literal() {
  const size_t begin = at_++;
  if (peek() != '"')
    return error("@ stands before a date, a time or a duration in double quotes: @\"2026-11-02\"");
  auto text = string();
  if (!text) return text;
  const std::string& written = *std::get_if<std::string>(&text->literal);
  auto value = temporal_of_text(written);
  if (value) return Operand{std::move(*value)};
  at_ = begin;
  return error("@" + in_quotes(written) + ' ' + value.error().text);
}

Result<Operand> parse_operand(std::string_view text, std::vector<std::string>& names) {
  CellScanner scanner(text, names);
  if (auto whole = scanner.check_value(); !whole) return whole.error();
  auto operand = scanner.operand();
  if (operand && !scanner.at_end()) return scanner.unexpected("the end of the cell");
  return operand;
}

}  // namespace girdle::policy
