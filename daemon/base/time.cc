#include "base/time.h"

#include <date/date.h>
#include <date/tz.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <exception>

#include "base/text.h"

namespace girdle::base {
namespace {

constexpr int64_t kDayMillis = 86'400'000;

// Days from 1970-01-01 of a date of the proleptic Gregorian calendar; the usual integer arithmetic over eras of 400
// years (March-based years).
constexpr int64_t days_from_civil(int64_t year, int month, int day) {
  year -= month <= 2;
  const int64_t era = (year >= 0 ? year : year - 399) / 400;
  const int64_t year_of_era = year - era * 400;
  const int64_t day_of_year = (153 * (month + (month > 2 ? -3 : 9)) + 2) / 5 + day - 1;
  return era * 146097 + year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year - 719468;
}

struct Civil {
  int64_t year;
  int month, day;
};

constexpr Civil civil_from_days(int64_t days) {
  days += 719468;
  const int64_t era = (days >= 0 ? days : days - 146096) / 146097;
  const int64_t day_of_era = days - era * 146097;
  const int64_t year_of_era = (day_of_era - day_of_era / 1460 + day_of_era / 36524 - day_of_era / 146096) / 365;
  const int64_t day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
  const int64_t month_index = (5 * day_of_year + 2) / 153;
  const int day = static_cast<int>(day_of_year - (153 * month_index + 2) / 5 + 1);
  const int month = static_cast<int>(month_index < 10 ? month_index + 3 : month_index - 9);
  return {year_of_era + era * 400 + (month <= 2), month, day};
}

constexpr bool is_leap(int64_t year) { return (year % 4 == 0 && year % 100 != 0) || year % 400 == 0; }

constexpr int days_in_month(int64_t year, int month) {
  constexpr std::array<int, 12> kDays = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  return month == 2 && is_leap(year) ? 29 : kDays[static_cast<size_t>(month - 1)];
}

// Walks over a text; every take_ is all or nothing.
class Cursor {
 public:
  explicit Cursor(std::string_view text) : text_(text) {}

  bool done() const { return at_ == text_.size(); }
  char peek() const { return done() ? '\0' : text_[at_]; }
  std::string_view rest() const { return text_.substr(at_); }
  void skip(size_t count) { at_ += count; }

  bool take(char c) {
    if (peek() != c || done()) return false;
    ++at_;
    return true;
  }

  // From `least` to `most` digits.
  bool take_digits(int least, int most, int64_t& value) {
    int64_t result = 0;
    int count = 0;
    while (count < most && !done() && text_[at_ + 0] >= '0' && text_[at_] <= '9') {
      result = result * 10 + (text_[at_] - '0');
      ++at_;
      ++count;
    }
    value = result;
    return count >= least;
  }

  // Digits after the point; those past the millisecond are dropped.
  bool take_fraction(int64_t& millis) {
    int count = 0;
    millis = 0;
    while (!done() && peek() >= '0' && peek() <= '9') {
      if (count < 3) millis = millis * 10 + (peek() - '0');
      ++count;
      ++at_;
    }
    for (int n = count; n < 3; ++n) millis *= 10;
    return count > 0;
  }

 private:
  std::string_view text_;
  size_t at_ = 0;
};

// "+01:00", "-0530", "Z"; seconds east. RFC 3339 wants the colon; strptime's %z does not.
bool take_offset(Cursor& at, bool colon_required, int64_t& seconds) {
  if (at.take('Z') || at.take('z')) {
    seconds = 0;
    return true;
  }
  const bool minus = at.peek() == '-';
  if (!at.take('+') && !at.take('-')) return false;
  int64_t hours, minutes;
  if (!at.take_digits(2, 2, hours)) return false;
  if (!at.take(':') && colon_required) return false;
  if (!at.take_digits(2, 2, minutes) || hours > 23 || minutes > 59) return false;
  seconds = (hours * 60 + minutes) * 60;
  if (minus) seconds = -seconds;
  return true;
}

}  // namespace

std::optional<Instant> parse_rfc3339(std::string_view text) {
  Cursor at(text);
  int64_t year, month, day, hour, minute, second, millis = 0, offset;
  if (!at.take_digits(4, 4, year) || !at.take('-') || !at.take_digits(2, 2, month) || !at.take('-') ||
      !at.take_digits(2, 2, day)) {
    return std::nullopt;
  }
  if (!at.take('T') && !at.take('t') && !at.take(' ')) return std::nullopt;
  if (!at.take_digits(2, 2, hour) || !at.take(':') || !at.take_digits(2, 2, minute) || !at.take(':') ||
      !at.take_digits(2, 2, second)) {
    return std::nullopt;
  }
  if (at.take('.') && !at.take_fraction(millis)) return std::nullopt;
  if (!take_offset(at, true, offset) || !at.done()) return std::nullopt;
  if (month < 1 || month > 12 || day < 1 || day > days_in_month(year, static_cast<int>(month))) return std::nullopt;
  if (hour > 23 || minute > 59 || second > 60) return std::nullopt;
  const int64_t days = days_from_civil(year, static_cast<int>(month), static_cast<int>(day));
  const int64_t utc_seconds = days * 86400 + hour * 3600 + minute * 60 + second - offset;
  if (second == 60) {
    // A leap second ends the UTC day, and only the last day of a month has one.
    if (utc_seconds % 86400 != 0) return std::nullopt;
    if (civil_from_days(utc_seconds / 86400).day != 1) return std::nullopt;
  }
  return from_millis(utc_seconds * 1000 + millis);
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
  put(0, 4, std::clamp<int64_t>(date.year, 0, 9999));
  put(5, 2, date.month);
  put(8, 2, date.day);
  put(11, 2, rest / 3'600'000);
  put(14, 2, rest / 60'000 % 60);
  put(17, 2, rest / 1000 % 60);
  put(20, 3, rest % 1000);
  out.append(text, sizeof text - 1);
}

std::string format_rfc3339(Instant instant) {
  std::string out;
  append_rfc3339(out, instant);
  return out;
}

Result<Zone> Zone::find(std::string_view name) {
  try {
    return Zone(date::locate_zone(std::string(name)), std::string(name));
  } catch (const std::exception&) {
    // Not in the database; or there is no database.
  }
  try {
    std::vector<std::string_view> names;
    for (const auto& zone : date::get_tzdb().zones) names.push_back(zone.name());
    const std::string_view near = nearest(name, names);
    return input_error("no time zone \"" + std::string(name) + "\"" +
                       (near.empty() ? "; IANA names look like Europe/Brussels" : "; did you mean " + std::string(near) + "?"));
  } catch (const std::exception&) {
    return environment_error("this machine has no time zone database; install the package tzdata");
  }
}

Zone Zone::utc() {
  auto zone = find("Etc/UTC");
  return zone ? std::move(zone).value() : Zone(nullptr, "UTC");
}

Result<Instant> Zone::to_instant(int64_t local_millis, TwiceRule twice) const {
  if (!zone_) return from_millis(local_millis);
  if (local_millis >= cached_from_ && local_millis < cached_to_) return from_millis(local_millis - cached_offset_);
  try {
    const date::local_info info =
        zone_->get_info(date::local_seconds(std::chrono::seconds(local_millis / 1000 - (local_millis % 1000 < 0))));
    const int64_t first = info.first.offset.count() * 1000;
    switch (info.result) {
      case date::local_info::unique: {
        // Two days clear of either end of the stretch, no other offset can mean the same local time.
        constexpr int64_t kClear = 2 * kDayMillis;
        const int64_t begin = info.first.begin.time_since_epoch().count();
        const int64_t end = info.first.end.time_since_epoch().count();
        constexpr int64_t kFar = 200'000'000'000;  // seconds; the database's ends are near the type's limits
        cached_from_ = std::clamp(begin, -kFar, kFar) * 1000 + kClear;
        cached_to_ = std::clamp(end, -kFar, kFar) * 1000 - kClear;
        cached_offset_ = first;
        return from_millis(local_millis - first);
      }
      case date::local_info::ambiguous: {
        const int64_t second = info.second.offset.count() * 1000;
        if (twice == TwiceRule::kEarlier) return from_millis(local_millis - std::max(first, second));
        if (twice == TwiceRule::kLater) return from_millis(local_millis - std::min(first, second));
        return input_error("this hour comes twice in " + name_ +
                           " that night; the mapping can say which with  twice: earlier  or  twice: later");
      }
      default:
        return input_error("this hour does not come in " + name_ + " that night: the clocks skip it");
    }
  } catch (const std::exception& failure) {
    return input_error(std::string("the time zone database refuses it: ") + failure.what());
  }
}

int64_t Zone::offset_seconds(Instant instant) const {
  if (!zone_) return 0;
  try {
    return zone_->get_info(date::floor<std::chrono::seconds>(instant)).offset.count();
  } catch (const std::exception&) {
    return 0;
  }
}

namespace {

constexpr std::array<std::string_view, 12> kMonths = {"January", "February", "March",     "April",   "May",      "June",
                                                      "July",    "August",   "September", "October", "November", "December"};

bool equal_without_case(std::string_view a, std::string_view b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                    [](char x, char y) { return (x | 0x20) == (y | 0x20); });
}

// The parts of a time as a pattern finds them.
struct Parts {
  int64_t year = 1970, month = 1, day = 1, hour = 0, minute = 0, second = 0, millis = 0;
  std::optional<int64_t> offset, day_of_year;
  std::optional<bool> afternoon;
  bool half_day = false;
};

bool take_month(Cursor& at, Parts& parts) {
  for (size_t i = 0; i < kMonths.size(); ++i) {
    for (const std::string_view name : {kMonths[i], kMonths[i].substr(0, 3)}) {
      const std::string_view rest = at.rest();
      if (rest.size() < name.size() || !equal_without_case(rest.substr(0, name.size()), name)) continue;
      at.skip(name.size());
      parts.month = static_cast<int64_t>(i + 1);
      return true;
    }
  }
  return false;
}

bool take_seconds(Cursor& at, Parts& parts) {
  if (!at.take_digits(1, 2, parts.second)) return false;
  const std::string_view rest = at.rest();
  const bool fraction = rest.size() > 1 && (rest[0] == '.' || rest[0] == ',') && rest[1] >= '0' && rest[1] <= '9';
  if (!fraction) return true;
  at.skip(1);
  return at.take_fraction(parts.millis);
}

bool take_half(Cursor& at, Parts& parts) {
  const std::string_view rest = at.rest().substr(0, 2);
  const bool morning = equal_without_case(rest, "am");
  if (!morning && !equal_without_case(rest, "pm")) return false;
  parts.afternoon = !morning;
  at.skip(2);
  return true;
}

bool take_zone_name(Cursor& at, Parts& parts) {
  for (const std::string_view name : {"UTC", "GMT", "Z"}) {
    if (!at.rest().starts_with(name)) continue;
    at.skip(name.size());
    parts.offset = 0;
    return true;
  }
  return false;
}

bool take_pattern(std::string_view pattern, Cursor& at, Parts& parts);

bool take_directive(char letter, Cursor& at, Parts& parts) {
  const auto digits = [&](int most, int64_t& value) { return at.take_digits(1, most, value); };
  switch (letter) {
    case 'Y': return at.take_digits(4, 4, parts.year);
    case 'y':
      if (!at.take_digits(2, 2, parts.year)) return false;
      parts.year += parts.year < 69 ? 2000 : 1900;  // POSIX strptime
      return true;
    case 'm': return digits(2, parts.month);
    case 'd':
    case 'e':
      if (letter == 'e') at.take(' ');
      return digits(2, parts.day);
    case 'b':
    case 'B':
    case 'h': return take_month(at, parts);
    case 'H': return digits(2, parts.hour);
    case 'I': parts.half_day = true; return digits(2, parts.hour);
    case 'p': return take_half(at, parts);
    case 'M': return digits(2, parts.minute);
    case 'S': return take_seconds(at, parts);
    case 'f': return at.take_fraction(parts.millis);
    case 'j': {
      int64_t value;
      if (!at.take_digits(3, 3, value)) return false;
      parts.day_of_year = value;
      return true;
    }
    case 'z': {
      int64_t seconds;
      if (!take_offset(at, false, seconds)) return false;
      parts.offset = seconds;
      return true;
    }
    case 'Z': return take_zone_name(at, parts);
    case 'T': return take_pattern("%H:%M:%S", at, parts);
    case 'R': return take_pattern("%H:%M", at, parts);
    case 'D': return take_pattern("%m/%d/%y", at, parts);
    case 'F': return take_pattern("%Y-%m-%d", at, parts);
    case 'n':
    case 't':
      while (at.peek() == ' ' || at.peek() == '\t') at.skip(1);
      return true;
    case '%': return at.take('%');
  }
  return false;
}

bool take_pattern(std::string_view pattern, Cursor& at, Parts& parts) {
  for (size_t i = 0; i < pattern.size(); ++i) {
    if (pattern[i] == '%' && i + 1 < pattern.size()) {
      if (!take_directive(pattern[++i], at, parts)) return false;
    } else if (!at.take(pattern[i])) {
      return false;
    }
  }
  return true;
}

// Bounds that no calendar lifts.
const char* impossible(Parts& p) {
  if (p.half_day) {
    if (p.hour < 1 || p.hour > 12) return "the hour must lie from 1 to 12";
    if (!p.afternoon) return "the form has %I without %p: morning and afternoon look alike";
    p.hour = p.hour % 12 + (*p.afternoon ? 12 : 0);
  }
  if (p.day_of_year) {
    if (*p.day_of_year < 1 || *p.day_of_year > (is_leap(p.year) ? 366 : 365)) return "there is no such day in that year";
  } else {
    if (p.month < 1 || p.month > 12) return "there is no such month";
    if (p.day < 1 || p.day > days_in_month(p.year, static_cast<int>(p.month))) return "there is no such day in that month";
  }
  if (p.hour > 23) return "there is no such hour";
  if (p.minute > 59) return "there is no such minute";
  if (p.second > 59) return "there is no such second";
  return nullptr;
}

}  // namespace

Result<TimeForm> TimeForm::compile(std::string_view form) {
  TimeForm compiled;
  if (form.empty() || form == "rfc3339") return compiled;
  if (form == "unix" || form == "unix_ms") {
    compiled.kind_ = form == "unix" ? Kind::kUnix : Kind::kUnixMillis;
    return compiled;
  }
  bool year = false, day = false;
  for (size_t i = 0; i < form.size(); ++i) {
    if (form[i] != '%') continue;
    if (++i == form.size()) return input_error("the form ends in a single %; write %% for a per cent sign");
    const char letter = form[i];
    if (std::string_view("YymdebBhHIpMSfjzZTRDFnt%").find(letter) == std::string_view::npos) {
      return input_error(std::string("the form has %") + letter +
                         ", which is none of %Y %y %m %d %e %b %B %j %H %I %p %M %S %f %z %Z %T %R %D %F %n %t %%");
    }
    year = year || letter == 'Y' || letter == 'y' || letter == 'F' || letter == 'D';
    day = day || letter == 'd' || letter == 'e' || letter == 'j' || letter == 'F' || letter == 'D';
  }
  if (!year || !day) {
    return input_error("the form \"" + std::string(form) +
                       "\" does not give a whole date; it is rfc3339, unix, unix_ms, or a pattern such as "
                       "\"%d.%m.%Y %H:%M:%S\"");
  }
  compiled.kind_ = Kind::kPattern;
  compiled.pattern_ = form;
  return compiled;
}

Result<Instant> TimeForm::parse(std::string_view text, const Zone& zone, TwiceRule twice) const {
  const auto unfit = [&](const std::string& why) { return input_error("\"" + excerpt(text) + "\": " + why); };
  switch (kind_) {
    case Kind::kRfc3339:
      if (const auto instant = parse_rfc3339(text)) return *instant;
      return unfit("not a time after RFC 3339, such as 2026-11-02T10:15:30+01:00");
    case Kind::kUnix:
    case Kind::kUnixMillis: {
      Cursor at(text);
      const bool minus = at.take('-');
      int64_t value, millis = 0;
      const bool whole = at.take_digits(1, kind_ == Kind::kUnix ? 11 : 14, value);
      if (whole && kind_ == Kind::kUnix && at.take('.') && !at.take_fraction(millis)) return unfit("no digits after the point");
      if (!whole || !at.done()) return unfit(kind_ == Kind::kUnix ? "not seconds since 1970" : "not milliseconds since 1970");
      const int64_t total = kind_ == Kind::kUnix ? value * 1000 + millis : value;
      return from_millis(minus ? -total : total);
    }
    case Kind::kPattern:
      break;
  }
  Parts parts;
  Cursor at(text);
  if (!take_pattern(pattern_, at, parts) || !at.done()) return unfit("does not have the form \"" + pattern_ + "\"");
  if (const char* why = impossible(parts)) return unfit(why);
  const int64_t days = parts.day_of_year ? days_from_civil(parts.year, 1, 1) + *parts.day_of_year - 1
                                         : days_from_civil(parts.year, static_cast<int>(parts.month), static_cast<int>(parts.day));
  const int64_t local = ((days * 24 + parts.hour) * 60 + parts.minute) * 60'000 + parts.second * 1000 + parts.millis;
  if (parts.offset) return from_millis(local - *parts.offset * 1000);
  auto instant = zone.to_instant(local, twice);
  if (!instant) return unfit(instant.error().text);
  return instant;
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
    millis = 1000;
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
      {kDayMillis, "d"}, {3'600'000, "h"}, {60'000, "min"}, {1000, "s"}};
  for (const auto& [size, unit] : kUnits) {
    if (millis != 0 && millis % size == 0) return std::to_string(millis / size) + unit;
  }
  return std::to_string(millis) + "ms";
}

}  // namespace girdle::base
