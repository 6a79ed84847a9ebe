#include "astm/record_fields.h"

#include <algorithm>

#include "columns/text_lines.h"
#include "kit/text.h"

namespace girdle::astm {

namespace {

// Calls take(number, part) with each part, from 1 on.
template <class Take>
void each_part(std::string_view text, char delimiter, Take take) {
  for (size_t number = 1;; ++number) {
    const size_t end = text.find(delimiter);
    take(number, text.substr(0, end));
    if (end == std::string_view::npos) return;
    text.remove_prefix(end + 1);
  }
}

int digit(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  return -1;
}

bool append_hex(std::string_view digits, std::string& out) {
  if (digits.empty() || digits.size() % 2 != 0) return false;
  for (size_t i = 0; i < digits.size(); i += 2) {
    const int high = digit(digits[i]), low = digit(digits[i + 1]);
    if (high < 0 || low < 0) return false;
    out += static_cast<char>(high << 4 | low);
  }
  return true;
}

}  // namespace

void RecordFields::clear() {
  names_.clear();
  values_.clear();
  fault_.reset();
}

std::optional<std::string> RecordFields::read(std::string_view record,
                                              const Delimiters& delimiters) {
  clear();
  delimiters_ = delimiters;
  const std::string letter(record.substr(0, 1));
  // The letter is field 1, and a header's delimiters are field 2: they are no values.
  const size_t first = letter == "H" ? 3 : 2;
  each_part(record, delimiters.field, [&](size_t number, std::string_view text) {
    if (number >= first) field(letter + '.' + std::to_string(number), text);
  });
  return fault_;
}

void RecordFields::field(const std::string& name, std::string_view text) {
  if (fault_ || text.empty()) return;
  const char marks[] = {delimiters_.repeat, delimiters_.component};
  const bool is_one_text = text.find_first_of({marks, 2}) == std::string_view::npos;
  add(name, text, is_one_text);
  each_part(text, delimiters_.repeat, [&](size_t number, std::string_view repeat) {
    if (number == 1) return components(name, repeat);
    const std::string of_repeat = name + '[' + std::to_string(number) + ']';
    add(of_repeat, repeat, repeat.find(delimiters_.component) == std::string_view::npos);
    components(of_repeat, repeat);
  });
}

void RecordFields::components(const std::string& name, std::string_view text) {
  each_part(text, delimiters_.component, [&](size_t number, std::string_view component) {
    add(name + '.' + std::to_string(number), component, true);
  });
}

void RecordFields::add(std::string name, std::string_view text, bool is_one_text) {
  if (fault_ || text.empty()) return;
  if (names_.size() >= most_) {
    fault_ = "more than " + std::to_string(most_) + " fields, components and repeats";
    return;
  }
  std::string value;
  if (!is_one_text || !decodes_escapes_) {
    value = text;
  } else if (!decode(text, value)) {
    return;
  }
  names_.push_back(std::move(name));
  values_.push_back(std::move(value));
}

bool RecordFields::decode(std::string_view text, std::string& out) {
  while (true) {
    const size_t begin = text.find(delimiters_.escape);
    out += text.substr(0, begin);
    if (begin == std::string_view::npos) break;
    const size_t end = text.find(delimiters_.escape, begin + 1);
    const bool is_closed = end != std::string_view::npos;
    if (!is_closed || !append_escaped(text.substr(begin + 1, end - begin - 1), out)) {
      fault_ = columns::excerpt(text.substr(begin, is_closed ? end - begin + 1 : text.npos)) +
               " is no escape sequence; escapes: keep leaves them as they stand";
      return false;
    }
    text.remove_prefix(end + 1);
  }
  if (kit::is_utf8(out)) return true;
  fault_ = "an escape sequence stands for bytes that are not UTF-8";
  return false;
}

bool RecordFields::append_escaped(std::string_view sequence, std::string& out) const {
  if (sequence.starts_with('X')) return append_hex(sequence.substr(1), out);
  if (sequence.size() != 1) return false;
  switch (sequence[0]) {
    case 'F':
      out += delimiters_.field;
      return true;
    case 'S':
      out += delimiters_.component;
      return true;
    case 'R':
      out += delimiters_.repeat;
      return true;
    case 'E':
      out += delimiters_.escape;
      return true;
    case 'H':  // highlighting begins and ends: how the text looks, not what it says
    case 'N':
      return true;
    default:
      return false;
  }
}

std::string_view field_of(std::string_view record, char delimiter, size_t number) {
  std::string_view found;
  each_part(record, delimiter, [&](size_t at, std::string_view text) {
    if (at == number) found = text;
  });
  return found;
}

}  // namespace girdle::astm
