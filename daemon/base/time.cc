#include "base/time.h"

#include <charconv>

#include "base/calendar.h"
#include "base/cursor.h"

namespace girdle::base {
namespace {

// Two or four digits at a fixed place; `bad` collects what was none.
int64_t two_digits(const char* at, bool& bad) {
  const unsigned tens = static_cast<unsigned char>(at[0]) - unsigned{'0'};
  const unsigned ones = static_cast<unsigned char>(at[1]) - unsigned{'0'};
  bad |= tens > 9 || ones > 9;
  return tens * 10 + ones;
}

int64_t four_digits(const char* at, bool& bad) {
  return two_digits(at, bad) * 100 + two_digits(at + 2, bad);
}

// From the point on; leaves what follows.
bool take_fraction(std::string_view& text, int64_t& millis) {
  Cursor at(text.substr(1));
  if (!at.take_fraction(millis)) return false;
  text = at.rest();
  return true;
}

// The whole text: "Z" or "+01:00"; seconds east.
bool is_offset(std::string_view text, int64_t& seconds) {
  if (text.size() == 1) return text[0] == 'Z' || text[0] == 'z';
  if (text.size() != 6 || text[3] != ':' || (text[0] != '+' && text[0] != '-')) return false;
  bool bad = false;
  const int64_t hours = two_digits(text.data() + 1, bad),
                minutes = two_digits(text.data() + 4, bad);
  seconds = (hours * 60 + minutes) * (text[0] == '-' ? -60 : 60);
  return !bad && hours <= 23 && minutes <= 59;
}

// A leap second ends the UTC day, and only the last day of a month has one.
bool can_follow_a_leap_second(int64_t utc_seconds) {
  return utc_seconds % 86'400 == 0 && civil_from_days(utc_seconds / 86'400).day == 1;
}

}  // namespace

std::optional<Instant> parse_rfc3339(std::string_view text) {
  constexpr size_t kFixed = sizeof "2026-11-02T10:15:30" - 1;
  if (text.size() <= kFixed) return std::nullopt;
  const char* const at = text.data();
  bool bad = at[4] != '-' || at[7] != '-' || at[13] != ':' || at[16] != ':' ||
             (at[10] != 'T' && at[10] != 't' && at[10] != ' ');
  const int64_t year = four_digits(at, bad), month = two_digits(at + 5, bad),
                day = two_digits(at + 8, bad), hour = two_digits(at + 11, bad),
                minute = two_digits(at + 14, bad), second = two_digits(at + 17, bad);
  if (bad || month < 1 || month > 12 || day < 1 || day > days_in_month(year, month) || hour > 23 ||
      minute > 59 || second > 60) {
    return std::nullopt;
  }
  int64_t millis = 0, offset = 0;
  text.remove_prefix(kFixed);
  if (text.front() == '.' && !take_fraction(text, millis)) return std::nullopt;
  if (!is_offset(text, offset)) return std::nullopt;
  const int64_t seconds =
      days_from_civil(year, month, day) * 86'400 + hour * 3'600 + minute * 60 + second - offset;
  if (second == 60 && !can_follow_a_leap_second(seconds)) return std::nullopt;
  const int64_t total = seconds * 1'000 + millis;
  if (total < kFirstMillis || total > kLastMillis) return std::nullopt;
  return from_millis(total);
}

void append_rfc3339(std::string& out, Instant instant) {
  const int64_t total = to_millis(instant);
  int64_t days = total / kDayMillis;
  int64_t rest = total % kDayMillis;
  if (rest < 0) {
    rest += kDayMillis;
    --days;
  }
  const Civil date = civil_from_days(days);
  char text[] = "0000-00-00T00:00:00.000Z";
  const auto put = [&](int place, int width, int64_t value) {
    for (int i = width; i-- > 0; value /= 10) text[place + i] = static_cast<char>('0' + value % 10);
  };
  put(0, 4, date.year < 0 ? 0 : date.year > 9999 ? 9999 : date.year);
  put(5, 2, date.month);
  put(8, 2, date.day);
  put(11, 2, rest / 3'600'000);
  put(14, 2, rest / 60'000 % 60);
  put(17, 2, rest / 1'000 % 60);
  put(20, 3, rest % 1'000);
  out.append(text, sizeof text - 1);
}

std::string format_rfc3339(Instant instant) {
  std::string out;
  append_rfc3339(out, instant);
  return out;
}

std::optional<Millis> parse_duration(std::string_view text) {
  int64_t count = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), count);
  if (error != std::errc() || count < 0) return std::nullopt;
  const std::string_view unit = text.substr(static_cast<size_t>(end - text.data()));
  int64_t millis;
  if (unit == "ms") {
    millis = 1;
  } else if (unit == "s") {
    millis = 1'000;
  } else if (unit == "min") {
    millis = 60'000;
  } else if (unit == "h") {
    millis = 3'600'000;
  } else if (unit == "d") {
    millis = kDayMillis;
  } else {
    return std::nullopt;
  }
  if (count > 36'500 * kDayMillis / millis) return std::nullopt;  // a hundred years
  return Millis(count * millis);
}

std::string format_duration(Millis duration) {
  const int64_t millis = duration.count();
  static constexpr std::pair<int64_t, const char*> kUnits[] = {
      {kDayMillis, "d"}, {3'600'000, "h"}, {60'000, "min"}, {1'000, "s"}};
  for (const auto& [size, unit] : kUnits) {
    if (millis != 0 && millis % size == 0) return std::to_string(millis / size) + unit;
  }
  return std::to_string(millis) + "ms";
}

}  // namespace girdle::base
