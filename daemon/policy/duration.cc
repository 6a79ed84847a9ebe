#include "policy/duration.h"

#include "base/cursor.h"

namespace girdle::policy {
namespace {

using base::Cursor;
using base::input_error;
using base::Result;

constexpr Nanos kDayNanos = Nanos{kDaySeconds} * kSecondNanos;
constexpr std::string_view kForm = "is not written like P1DT2H30M or P1Y6M";

// One number with the letter of its part behind it, e.g. "24H"; nothing taken where there is none.
struct Part {
  int64_t value = 0;
  int64_t nanos = 0;
  bool has_point = false;
  char letter = '\0';
};

Result<Part> take_part(Cursor& at) {
  Part part;
  if (!at.take_digits(1, 15, part.value)) return input_error(std::string(kForm));
  if (at.take('.')) {
    part.has_point = true;
    int count = 0;
    for (; at.peek() >= '0' && at.peek() <= '9'; at.skip(1), ++count) {
      if (count < 9) part.nanos = part.nanos * 10 + (at.peek() - '0');
      if (count >= 9 && at.peek() != '0') {
        return input_error("has more than nine digits of a second's fraction");
      }
    }
    for (int n = count; n < 9; ++n) part.nanos *= 10;
  }
  part.letter = at.peek();
  if (part.letter >= '0' && part.letter <= '9') return input_error("has more than 15 digits");
  at.skip(at.done() ? 0 : 1);
  return part;
}

// Parts in the order of `letters`, each at most once, at least one; `sum` is called for each.
template <class Sum>
Result<bool> take_parts(Cursor& at, std::string_view letters, const Sum& sum) {
  size_t next = 0;
  bool any = false;
  while (!at.done() && at.peek() != 'T') {
    auto part = take_part(at);
    if (!part) return part.error();
    const size_t place = letters.find(part->letter, next);
    if (part->letter == '\0' || place == std::string_view::npos ||
        (part->has_point && part->letter != 'S')) {
      return input_error(std::string(kForm));
    }
    next = place + 1;
    any = true;
    sum(*part);
  }
  return any;
}

Result<Duration> parse_months(Cursor& at, bool minus) {
  Nanos months = 0;
  auto any = take_parts(at, "YM", [&](const Part& part) {
    months += Nanos{part.value} * (part.letter == 'Y' ? 12 : 1);
  });
  if (!any) return any.error();
  if (!at.done()) return input_error("mixes months with time; a duration has one or the other");
  if (months > MonthsDuration::kMost) return input_error("is too long");
  return Duration(MonthsDuration{static_cast<int64_t>(minus ? -months : months)});
}

Result<Duration> parse_days(Cursor& at, bool minus) {
  Nanos nanos = 0;
  auto days = take_parts(at, "D", [&](const Part& part) { nanos += part.value * kDayNanos; });
  if (!days) return days.error();
  bool any = *days;
  if (at.take('T')) {
    auto times = take_parts(at, "HMS", [&](const Part& part) {
      const int64_t seconds = part.letter == 'H' ? 3600 : part.letter == 'M' ? 60 : 1;
      nanos += Nanos{part.value} * seconds * kSecondNanos + part.nanos;
    });
    if (!times) return times.error();
    any = *times;
  }
  if (!any || !at.done()) return input_error(std::string(kForm));
  return Duration(DaysDuration{minus ? -nanos : nanos});
}

void append_part(std::string& out, int64_t value, char letter) {
  if (value == 0) return;
  out += std::to_string(value);
  out += letter;
}

}  // namespace

std::optional<DaysDuration> DaysDuration::of(Nanos nanos) {
  if (nanos > kMost || nanos < -kMost) return std::nullopt;
  return DaysDuration{nanos};
}

std::optional<DaysDuration> DaysDuration::of_seconds(const base::Decimal& seconds) {
  const auto nanos = seconds.scaled_integer(9);
  return nanos ? of(*nanos) : std::nullopt;
}

base::Decimal DaysDuration::seconds() const { return base::Decimal::make(nanos, -9).value_or(0); }

std::string DaysDuration::text() const {
  if (nanos == 0) return "PT0S";
  const Nanos length = nanos < 0 ? -nanos : nanos;
  std::string out = nanos < 0 ? "-P" : "P";
  const auto days = base::Decimal::make(length / kDayNanos, 0).value_or(0);
  if (!days.is_zero()) out += days.text() + 'D';
  const auto second = static_cast<int64_t>(length % kDayNanos / kSecondNanos);
  const auto fraction = static_cast<int64_t>(length % kSecondNanos);
  if (second == 0 && fraction == 0) return out;
  out += 'T';
  append_part(out, second / 3600, 'H');
  append_part(out, second / 60 % 60, 'M');
  const auto rest =
      base::Decimal::make(Nanos{second % 60} * kSecondNanos + fraction, -9).value_or(0);
  if (!rest.is_zero()) out += rest.text() + 'S';
  return out;
}

std::optional<MonthsDuration> MonthsDuration::of(int64_t months) {
  if (months > kMost || months < -kMost) return std::nullopt;
  return MonthsDuration{months};
}

std::optional<MonthsDuration> MonthsDuration::of_months(const base::Decimal& months) {
  // Of a whole number nothing is dropped; of others what stands before the point.
  const std::string text = months.text();
  const auto whole = base::Decimal::parse(std::string_view(text).substr(0, text.find('.')));
  const auto number = whole ? whole->as_integer() : std::nullopt;
  return number ? of(*number) : std::nullopt;
}

std::string MonthsDuration::text() const {
  if (months == 0) return "P0M";
  const int64_t length = months < 0 ? -months : months;
  std::string out = months < 0 ? "-P" : "P";
  append_part(out, length / 12, 'Y');
  append_part(out, length % 12, 'M');
  return out;
}

Result<Duration> parse_duration(std::string_view text) {
  Cursor at(text);
  const bool minus = at.take('-');
  if (!at.take('P') || at.done()) return input_error(std::string(kForm));
  const bool months = text.find_first_of("YM") < text.find_first_of("TD");
  return months ? parse_months(at, minus) : parse_days(at, minus);
}

}  // namespace girdle::policy
