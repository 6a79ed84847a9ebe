// Times by a pattern in the letters of strptime, read by hand: the C library's looks at the locale,
// takes white space loosely and accepts 31 February.
#include <algorithm>
#include <array>

#include "base/calendar.h"
#include "base/cursor.h"
#include "base/text.h"
#include "base/time.h"

namespace girdle::base {
namespace {

constexpr std::string_view kLetters = "YymdebBhHIpMSfjzZTRDFnt%";

constexpr std::array<std::string_view, 12> kMonths = {
    "January", "February", "March",     "April",   "May",      "June",
    "July",    "August",   "September", "October", "November", "December"};

bool equal_without_case(std::string_view a, std::string_view b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                    [](char x, char y) { return (x | 0x20) == (y | 0x20); });
}

// The parts of a time as a pattern finds them.
struct Parts {
  int64_t year = 1970, month = 1, day = 1, hour = 0, minute = 0, second = 0, millis = 0;
  int64_t day_of_year = 0, offset = 0;
  bool has_day_of_year = false, has_offset = false, half_day = false, afternoon = false;
};

bool take_month(Cursor& at, Parts& parts) {
  for (size_t i = 0; i < kMonths.size(); ++i) {
    for (const std::string_view name : {kMonths[i], kMonths[i].substr(0, 3)}) {
      if (!equal_without_case(at.rest().substr(0, name.size()), name)) continue;
      at.skip(name.size());
      parts.month = static_cast<int64_t>(i + 1);
      return true;
    }
  }
  return false;
}

bool take_half(Cursor& at, Parts& parts) {
  const std::string_view rest = at.rest().substr(0, 2);
  parts.half_day = true;
  parts.afternoon = equal_without_case(rest, "pm");
  if (!parts.afternoon && !equal_without_case(rest, "am")) return false;
  at.skip(2);
  return true;
}

bool take_zone_name(Cursor& at, Parts& parts) {
  for (const std::string_view name : {"UTC", "GMT", "Z"}) {
    if (!at.rest().starts_with(name)) continue;
    at.skip(name.size());
    parts.has_offset = true;
    return true;
  }
  return false;
}

void skip_white_space(Cursor& at) {
  while (!at.done() && std::string_view(" \t\r\n\v\f").find(at.peek()) != std::string_view::npos) {
    at.skip(1);
  }
}

bool take_two_digit_year(Cursor& at, Parts& parts) {
  if (!at.take_digits(2, 2, parts.year)) return false;
  parts.year += parts.year < 69 ? 2000 : 1900;  // POSIX.1-2017, strptime
  return true;
}

// `point`: a fraction may follow.
bool take_seconds(Cursor& at, bool point, Parts& parts) {
  if (!at.take_digits(1, 2, parts.second)) return false;
  if (!point || (at.peek() != '.' && at.peek() != ',')) return true;
  at.skip(1);
  return at.take_fraction(parts.millis);
}

bool take_directive(char letter, bool point, Cursor& at, Parts& parts) {
  switch (letter) {
    case 'Y':
      return at.take_digits(4, 4, parts.year);
    case 'y':
      return take_two_digit_year(at, parts);
    case 'm':
      return at.take_digits(1, 2, parts.month);
    case 'd':
      return at.take_digits(1, 2, parts.day);
    case 'e':
      at.take(' ');
      return at.take_digits(1, 2, parts.day);
    case 'b':
      return take_month(at, parts);
    case 'H':
    case 'I':
      return at.take_digits(1, 2, parts.hour);
    case 'p':
      return take_half(at, parts);
    case 'M':
      return at.take_digits(1, 2, parts.minute);
    case 'S':
      return take_seconds(at, point, parts);
    case 'f':
      return at.take_fraction(parts.millis);
    case 'j':
      parts.has_day_of_year = true;
      return at.take_digits(3, 3, parts.day_of_year);
    case 'z':
      parts.has_offset = true;
      return at.take_offset(parts.offset);
    case 'Z':
      return take_zone_name(at, parts);
    case 'n':
      skip_white_space(at);
      return true;
    case '%':
      return at.take('%');
  }
  return false;
}

bool take_pattern(std::string_view pattern, Cursor& at, Parts& parts) {
  for (size_t i = 0; i < pattern.size(); ++i) {
    if (pattern[i] != '%') {
      if (!at.take(pattern[i])) return false;
      continue;
    }
    const char letter = pattern[++i];
    // "%S.%f" names the fraction itself.
    const char next = i + 1 < pattern.size() ? pattern[i + 1] : '\0';
    if (!take_directive(letter, next != '.' && next != ',', at, parts)) return false;
  }
  return at.done();
}

// Why no clock or calendar shows these parts; nullptr where one does.
const char* impossible(const Parts& p) {
  if (p.half_day && (p.hour < 1 || p.hour > 12)) return "the hour must lie from 1 to 12";
  if (p.has_day_of_year) {
    if (p.day_of_year < 1 || p.day_of_year > (is_leap(p.year) ? 366 : 365)) {
      return "there is no such day in that year";
    }
  } else {
    if (p.month < 1 || p.month > 12) return "there is no such month";
    if (p.day < 1 || p.day > days_in_month(p.year, p.month)) {
      return "there is no such day in that month";
    }
  }
  if (p.hour > 23) return "there is no such hour";
  if (p.minute > 59) return "there is no such minute";
  if (p.second > 59) return "there is no such second";
  return nullptr;
}

int64_t local_millis(const Parts& p) {
  const int64_t days = p.has_day_of_year ? days_from_civil(p.year, 1, 1) + p.day_of_year - 1
                                         : days_from_civil(p.year, p.month, p.day);
  const int64_t hour = p.half_day ? p.hour % 12 + (p.afternoon ? 12 : 0) : p.hour;
  return ((days * 24 + hour) * 60 + p.minute) * 60'000 + p.second * 1'000 + p.millis;
}

std::optional<Instant> parse_unix(std::string_view text, bool in_millis) {
  Cursor at(text);
  const bool minus = at.take('-');
  int64_t value, millis = 0;
  // No more digits than a time before the year 5138 has: milliseconds are not taken for seconds.
  if (!at.take_digits(1, in_millis ? 14 : 11, value)) return std::nullopt;
  if (!in_millis && at.take('.') && !at.take_fraction(millis)) return std::nullopt;
  if (!at.done()) return std::nullopt;
  const int64_t total = in_millis ? value : value * 1'000 + millis;
  return from_millis(minus ? -total : total);
}

// The pattern with its abbreviations written out; each letter left is one of take_directive's.
std::string written_out(std::string_view form) {
  std::string pattern;
  for (size_t i = 0; i < form.size(); ++i) {
    pattern += form[i];
    if (form[i] != '%') continue;
    switch (const char letter = form[++i]) {
      case 'T':
        pattern += "H:%M:%S";
        break;
      case 'R':
        pattern += "H:%M";
        break;
      case 'D':
        pattern += "m/%d/%y";
        break;
      case 'F':
        pattern += "Y-%m-%d";
        break;
      case 'B':
      case 'h':
        pattern += 'b';
        break;
      case 't':
        pattern += 'n';
        break;
      default:
        pattern += letter;
    }
  }
  return pattern;
}

void put_digits(std::string& out, int width, int64_t value, char fill = '0') {
  char digits[8];
  for (int i = width; i-- > 0; value /= 10) digits[i] = static_cast<char>('0' + value % 10);
  for (int i = 0; i + 1 < width && fill != '0' && digits[i] == '0'; ++i) digits[i] = fill;
  out.append(digits, static_cast<size_t>(width));
}

// What clocks and calendars in a zone show.
struct LocalTime {
  LocalTime(Instant instant, int64_t offset_seconds) : offset(offset_seconds) {
    const int64_t local = to_millis(instant) + offset * 1'000;
    int64_t days = local / kDayMillis;
    int64_t rest = local % kDayMillis;
    if (rest < 0) {
      rest += kDayMillis;
      --days;
    }
    date = civil_from_days(days);
    day_of_year = days - days_from_civil(date.year, 1, 1) + 1;
    hour = rest / 3'600'000;
    minute = rest / 60'000 % 60;
    second = rest / 1'000 % 60;
    millis = rest % 1'000;
  }
  bool has_four_digits() const { return date.year >= 0 && date.year <= 9999; }

  int64_t offset;  // seconds east
  Civil date{};
  int64_t day_of_year, hour, minute, second, millis;
};

// "+0100", or with `colon` "+01:00".
void put_offset(std::string& out, int64_t seconds, bool colon) {
  const int64_t minutes = std::abs(seconds) / 60;
  out += seconds < 0 ? '-' : '+';
  put_digits(out, 2, minutes / 60);
  if (colon) out += ':';
  put_digits(out, 2, minutes % 60);
}

void put_rfc3339(std::string& out, Instant instant, const LocalTime& time) {
  append_rfc3339(out, from_millis(to_millis(instant) + time.offset * 1'000));
  if (time.offset == 0) return;
  out.pop_back();
  put_offset(out, time.offset, true);
}

void put_form(std::string& out, std::string_view form, const LocalTime& time);

void put_directive(std::string& out, char letter, const LocalTime& t) {
  switch (letter) {
    case 'Y':
      return put_digits(out, 4, t.date.year);
    case 'y':
      return put_digits(out, 2, t.date.year % 100);
    case 'm':
      return put_digits(out, 2, t.date.month);
    case 'd':
      return put_digits(out, 2, t.date.day);
    case 'e':
      return put_digits(out, 2, t.date.day, ' ');
    case 'b':
    case 'h':
      out += kMonths[static_cast<size_t>(t.date.month - 1)].substr(0, 3);
      return;
    case 'B':
      out += kMonths[static_cast<size_t>(t.date.month - 1)];
      return;
    case 'H':
      return put_digits(out, 2, t.hour);
    case 'I':
      return put_digits(out, 2, (t.hour + 11) % 12 + 1);
    case 'p':
      out += t.hour < 12 ? "AM" : "PM";
      return;
    case 'M':
      return put_digits(out, 2, t.minute);
    case 'S':
      return put_digits(out, 2, t.second);
    case 'f':
      return put_digits(out, 3, t.millis);
    case 'j':
      return put_digits(out, 3, t.day_of_year);
    case 'z':
      return put_offset(out, t.offset, false);
    case 'Z':
      out += "UTC";
      return;
    case 'T':
      return put_form(out, "%H:%M:%S", t);
    case 'R':
      return put_form(out, "%H:%M", t);
    case 'D':
      return put_form(out, "%m/%d/%y", t);
    case 'F':
      return put_form(out, "%Y-%m-%d", t);
    case 'n':
      out += '\n';
      return;
    case 't':
      out += '\t';
      return;
    case '%':
      out += '%';
      return;
  }
}

void put_form(std::string& out, std::string_view form, const LocalTime& time) {
  for (size_t i = 0; i < form.size(); ++i) {
    if (form[i] == '%') {
      put_directive(out, form[++i], time);
    } else {
      out += form[i];
    }
  }
}

bool has_letter(std::string_view pattern, char letter) {
  for (size_t i = 0; i + 1 < pattern.size(); ++i) {
    if (pattern[i] == '%' && pattern[++i] == letter) return true;
  }
  return false;
}

// A part that no letter of the pattern gives would be made up.
const char* lacks(std::string_view pattern) {
  const auto has = [&](char letter) { return has_letter(pattern, letter); };
  const bool year = has('Y') || has('y'), day = has('d') || has('e');
  const bool date = year && (has('j') || (day && (has('m') || has('b'))));
  if (!date) return "does not give a whole date (year, month and day)";
  if (has('I') != has('p')) return "has one of %I and %p: the half of the day takes both";
  if (has('M') && !has('H') && !has('I')) return "gives minutes without hours";
  if (has('S') && !has('M')) return "gives seconds without minutes";
  if (has('f') && !has('S')) return "gives a fraction without seconds";
  return nullptr;
}

}  // namespace

Result<TimeForm> TimeForm::compile(std::string_view form, Use use) {
  TimeForm compiled;
  if (form.empty() || form == "rfc3339") return compiled;
  if (form == "unix" || form == "unix_ms") {
    compiled.kind_ = form == "unix" ? Kind::kUnix : Kind::kUnixMillis;
    return compiled;
  }
  for (size_t i = 0; i < form.size(); ++i) {
    if (form[i] != '%') continue;
    if (++i == form.size()) {
      return input_error("the form ends in a single %; write %% for a per cent sign");
    }
    if (kLetters.find(form[i]) == std::string_view::npos) {
      return input_error("the form has %" + excerpt(form.substr(i, 1)) +
                         ", which is none of %Y %y %m %d %e %b %B %h %j %H %I %p %M %S %f %z %Z %T "
                         "%R %D %F %n %t %%");
    }
  }
  compiled.pattern_ = written_out(form);
  const char* const why = use == Use::kRead ? lacks(compiled.pattern_) : nullptr;
  if (why != nullptr) {
    return input_error("the form \"" + excerpt(form) + "\" " + why +
                       "; it is rfc3339, unix, unix_ms, or a pattern such as \"%d.%m.%Y "
                       "%H:%M:%S\"");
  }
  compiled.kind_ = Kind::kPattern;
  compiled.form_ = form;
  return compiled;
}

Result<Instant> TimeForm::parse(std::string_view text, const Zone& zone, TwiceRule twice) const {
  const auto unfit = [&](const std::string& why) {
    return input_error("\"" + excerpt(text) + "\": " + why);
  };
  const auto bounded = [&](Instant instant) -> Result<Instant> {
    const int64_t millis = to_millis(instant);
    if (millis >= kFirstMillis && millis <= kLastMillis) return instant;
    return unfit("outside of the years 0000 to 9999");
  };
  switch (kind_) {
    case Kind::kRfc3339:
      if (const auto instant = parse_rfc3339(text)) return *instant;
      return unfit("not a time after RFC 3339, such as 2026-11-02T10:15:30+01:00");
    case Kind::kUnix:
      if (const auto instant = parse_unix(text, false)) return bounded(*instant);
      return unfit("not seconds since 1970");
    case Kind::kUnixMillis:
      if (const auto instant = parse_unix(text, true)) return bounded(*instant);
      return unfit("not milliseconds since 1970");
    case Kind::kPattern:
      break;
  }
  Parts parts;
  Cursor at(text);
  if (!take_pattern(pattern_, at, parts)) return unfit("does not have the form \"" + form_ + "\"");
  if (const char* why = impossible(parts)) return unfit(why);
  const int64_t local = local_millis(parts);
  if (parts.has_offset) return bounded(from_millis(local - parts.offset * 1'000));
  auto instant = zone.to_instant(local, twice);
  if (!instant) return unfit(instant.error().text);
  return bounded(*instant);
}

bool TimeForm::asks_for_zone() const {
  return kind_ == Kind::kRfc3339 || (kind_ == Kind::kPattern && !has_letter(form_, 'Z'));
}

bool TimeForm::append(std::string& out, Instant instant, const Zone& zone) const {
  int64_t offset = asks_for_zone() ? zone.offset_seconds(instant) : 0;
  // No text of an offset has the seconds that local times had in the nineteenth century.
  if (kind_ == Kind::kRfc3339 || has_letter(form_, 'z')) offset -= offset % 60;
  const LocalTime time(instant, offset);
  if (!time.has_four_digits()) return false;
  const int64_t millis = to_millis(instant);
  switch (kind_) {
    case Kind::kRfc3339:
      put_rfc3339(out, instant, time);
      break;
    case Kind::kUnix:
      out += std::to_string(millis / 1'000 - (millis % 1'000 < 0));
      break;
    case Kind::kUnixMillis:
      out += std::to_string(millis);
      break;
    case Kind::kPattern:
      put_form(out, form_, time);
      break;
  }
  return true;
}

}  // namespace girdle::base
