#include "sheet/number_format.h"

#include <algorithm>
#include <string>

#include "xml/characters.h"

namespace girdle::sheet {

using xml::in_lower_case;

namespace {

constexpr char kElapsedHours = 'H';    // [h]
constexpr char kElapsedMinutes = 'M';  // [m]
constexpr char kElapsedSeconds = 'S';  // [s]
constexpr char kHalfOfDay = 'p';       // AM/PM
constexpr char kMinutes = 'n';         // an m that is no month

bool begins_with(std::string_view text, std::string_view word) {
  return text.size() >= word.size() &&
         std::equal(word.begin(), word.end(), text.begin(),
                    [](char a, char b) { return a == in_lower_case(b); });
}

// The letters of a section that stand for parts of a date or a time, one for each run of them.
class Letters {
 public:
  explicit Letters(std::string_view section) : rest_(section) {
    while (!rest_.empty() && rest_[0] != ';') take();
    tell_minutes();
  }
  bool has(std::string_view some) const { return found_.find_first_of(some) != std::string::npos; }

 private:
  void take() {
    const char c = in_lower_case(rest_[0]);
    if (c == '"') return skip(std::min(rest_.find('"', 1), rest_.size() - 1) + 1);
    if (c == '\\' || c == '_' || c == '*') return skip(2);
    if (c == '[') return bracket();
    if (begins_with(rest_, "general")) return skip(7);
    if (begins_with(rest_, "am/pm")) return add(kHalfOfDay, 5);
    if (begins_with(rest_, "a/p")) return add(kHalfOfDay, 3);
    // 0.00E+00 is a number in powers of ten; a bare e is a year of an era.
    const char next = rest_.size() > 1 ? rest_[1] : '\0';
    if (c == 'e' && (next == '+' || next == '-')) return skip(2);
    const bool is_part = std::string_view("ymdhseg").find(c) != std::string_view::npos ||
                         begins_with(rest_, "bb") || begins_with(rest_, "aaa");
    if (!is_part) return skip(1);
    add(c, std::min(rest_.find_first_not_of(std::string{c, static_cast<char>(c & ~0x20)}),
                    rest_.size()));
  }
  void bracket() {
    const size_t end = std::min(rest_.find(']'), rest_.size() - 1);
    const std::string_view inside = rest_.substr(1, end - 1);
    const char c = inside.empty() ? '\0' : in_lower_case(inside[0]);
    const bool one_letter = std::all_of(inside.begin(), inside.end(),
                                        [c](char other) { return in_lower_case(other) == c; });
    if (one_letter && c == 'h') return add(kElapsedHours, end + 1);
    if (one_letter && c == 'm') return add(kElapsedMinutes, end + 1);
    if (one_letter && c == 's') return add(kElapsedSeconds, end + 1);
    skip(end + 1);
  }
  void add(char letter, size_t size) {
    found_ += letter;
    skip(size);
  }
  void skip(size_t size) { rest_.remove_prefix(std::min(size, rest_.size())); }

  // 18.8.31: m behind hours, or before seconds, is minutes.
  void tell_minutes() {
    for (size_t i = 0; i < found_.size(); ++i) {
      if (found_[i] != 'm') continue;
      const char before = i > 0 ? found_[i - 1] : '\0';
      const char after = i + 1 < found_.size() ? found_[i + 1] : '\0';
      const bool hours = before == 'h' || before == kElapsedHours;
      if (hours || after == 's' || after == kElapsedSeconds) found_[i] = kMinutes;
    }
  }

  std::string_view rest_;
  std::string found_;
};

struct BuiltIn {
  uint64_t first, last;  // ids
  NumberKind kind;
};
// Of the list of 18.8.30 what is no number. Under some ids Chinese programs have times, Japanese
// and Korean ones dates.
constexpr BuiltIn kBuiltIn[] = {
    {14, 17, NumberKind::kDate},     {18, 21, NumberKind::kTime},
    {22, 22, NumberKind::kDateTime}, {27, 31, NumberKind::kDate},
    {32, 33, NumberKind::kTime},     {34, 35, NumberKind::kDateOrTime},
    {36, 36, NumberKind::kDate},     {45, 45, NumberKind::kTime},
    {46, 46, NumberKind::kElapsed},  {47, 47, NumberKind::kTime},
    {50, 51, NumberKind::kDate},     {52, 53, NumberKind::kDateOrTime},
    {54, 54, NumberKind::kDate},     {55, 56, NumberKind::kDateOrTime},
    {57, 58, NumberKind::kDate},     {71, 74, NumberKind::kDate},
    {75, 76, NumberKind::kTime},     {77, 77, NumberKind::kDateTime},
    {78, 78, NumberKind::kTime},     {79, 79, NumberKind::kElapsed},
    {80, 80, NumberKind::kTime},     {81, 81, NumberKind::kDate},
};

}  // namespace

NumberKind number_kind(std::string_view format_code) {
  const Letters letters(format_code);
  const bool date = letters.has("ymdegba");
  const bool elapsed = letters.has("HMS");
  const bool time = elapsed || letters.has("hspn");
  if (date) return time ? NumberKind::kDateTime : NumberKind::kDate;
  if (elapsed) return NumberKind::kElapsed;
  return time ? NumberKind::kTime : NumberKind::kNumber;
}

NumberKind built_in_kind(uint64_t format_id) {
  const auto* known = std::find_if(
      std::begin(kBuiltIn), std::end(kBuiltIn),
      [format_id](const BuiltIn& one) { return format_id >= one.first && format_id <= one.last; });
  return known == std::end(kBuiltIn) ? NumberKind::kNumber : known->kind;
}

}  // namespace girdle::sheet
