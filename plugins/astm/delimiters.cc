#include "astm/delimiters.h"

#include <algorithm>
#include <set>

namespace girdle::astm {

namespace {

constexpr size_t kCount = 4;

// Printable ASCII, and neither letter, digit nor space: those are text.
bool is_mark(char c) {
  const bool is_letter = (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z');
  return c > ' ' && c < 0x7F && !is_letter && !(c >= '0' && c <= '9');
}

}  // namespace

std::optional<Delimiters> Delimiters::from(std::string_view header, std::string& fault) {
  const std::string_view marks = header.substr(1, kCount);
  const bool different = std::set<char>(marks.begin(), marks.end()).size() == kCount;
  const bool ends =
      header.size() == 1 + kCount || (header.size() > kCount && header[1 + kCount] == marks[0]);
  if (different && ends && std::all_of(marks.begin(), marks.end(), is_mark)) {
    return Delimiters{marks[0], marks[1], marks[2], marks[3]};
  }
  fault =
      "a header record does not tell its delimiters: behind H stand four different marks, and "
      "then the first of them or nothing, as in H|\\^&|";
  return std::nullopt;
}

}  // namespace girdle::astm
