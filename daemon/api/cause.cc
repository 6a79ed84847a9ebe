#include "api/cause.h"

#include "base/text.h"

namespace girdle::api {
namespace {

constexpr std::string_view kTakenOut = "…";

bool ends_a_word(std::string_view text, size_t at) {
  constexpr std::string_view kEnds = " ,.;:)";
  return at >= text.size() || kEnds.find(text[at]) != std::string_view::npos;
}

// Where the quoted text that begins at `from` ends, behind its quote. Quotes that stand inside it are not marked there:
// the end is one before a blank or a mark. Nothing to take out where there is none.
size_t end_of_quoted(std::string_view text, size_t from) {
  for (size_t at = text.find('"', from + 1); at != std::string_view::npos; at = text.find('"', at + 1)) {
    if (ends_a_word(text, at + 1)) return at + 1;
  }
  return from;
}

// A number that stands by itself: not the one of UTF-8, of sheet1, or of 1B.
size_t end_of_number(std::string_view text, size_t from) {
  constexpr std::string_view kBefore = " (=+-";
  if (!base::is_digit(text[from]) || (from > 0 && kBefore.find(text[from - 1]) == std::string_view::npos)) return from;
  if (from > 1 && text[from - 1] == '-' && text[from - 2] != ' ') return from;
  size_t end = from;
  while (end < text.size() &&
         (base::is_digit(text[end]) || (text[end] == '.' && end + 1 < text.size() && base::is_digit(text[end + 1]))))
    ++end;
  return ends_a_word(text, end) ? end : from;
}

// The name of a column, and of those that are joined with it.
bool names_a_column(std::string_view before) { return before.ends_with("column ") || before.ends_with("\" with "); }

}  // namespace

std::string cause_of(std::string_view reason) {
  std::string cause;
  for (size_t at = 0; at < reason.size();) {
    if (const size_t end = reason[at] == '"' ? end_of_quoted(reason, at) : at; end != at) {
      cause += names_a_column(reason.substr(0, at)) ? reason.substr(at, end - at) : "\"…\"";
      at = end;
    } else if (const size_t number = end_of_number(reason, at); number != at) {
      cause += kTakenOut;
      at = number;
    } else {
      cause += reason[at++];
    }
  }
  return cause;
}

}  // namespace girdle::api
