#include "delivery/http_date.h"

#include <algorithm>
#include <array>
#include <chrono>

#include "base/text.h"

namespace girdle::delivery {
namespace {

using std::chrono::days;
using std::chrono::seconds;

constexpr std::array<std::string_view, 7> kDays = {"Monday", "Tuesday",  "Wednesday", "Thursday",
                                                   "Friday", "Saturday", "Sunday"};
constexpr std::array<std::string_view, 12> kMonths = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                                      "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};

// Takes what it expects from the front of a text; after the first thing that is not there, `ok`
// stays false.
class Cursor {
 public:
  explicit Cursor(std::string_view text) : rest_(text) {}

  bool ok() const { return ok_; }
  bool at_end() const { return rest_.empty(); }

  void literal(std::string_view text) {
    ok_ = ok_ && rest_.starts_with(text);
    if (ok_) rest_.remove_prefix(text.size());
  }

  int number(size_t digits) {
    int value = 0;
    ok_ = ok_ && rest_.size() >= digits;
    for (size_t i = 0; ok_ && i < digits; ++i) {
      ok_ = rest_[i] >= '0' && rest_[i] <= '9';
      value = value * 10 + (rest_[i] - '0');
    }
    if (ok_) rest_.remove_prefix(digits);
    return value;
  }

  // The index of the word that stands here.
  template <size_t N>
  unsigned word(const std::array<std::string_view, N>& words,
                size_t letters = std::string_view::npos) {
    for (unsigned i = 0; ok_ && i < N; ++i) {
      if (!rest_.starts_with(words[i].substr(0, letters))) continue;
      rest_.remove_prefix(std::min(letters, words[i].size()));
      return i;
    }
    ok_ = false;
    return 0;
  }

  bool next_is(char c) const { return ok_ && rest_.starts_with(c); }

 private:
  std::string_view rest_;
  bool ok_ = true;
};

struct Fields {
  int year = 0, day = 0, hour = 0, minute = 0, second = 0;
  unsigned month = 0;  // from 0
};

void read_clock(Cursor& at, Fields& date) {
  date.hour = at.number(2);
  at.literal(":");
  date.minute = at.number(2);
  at.literal(":");
  date.second = at.number(2);
}

std::optional<base::Instant> instant_of(const Fields& date) {
  const std::chrono::year_month_day day{std::chrono::year(date.year),
                                        std::chrono::month(date.month + 1),
                                        std::chrono::day(static_cast<unsigned>(date.day))};
  // A leap second is allowed, and is the second that follows.
  if (!day.ok() || date.hour > 23 || date.minute > 59 || date.second > 60) return std::nullopt;
  return std::chrono::sys_days(day) + std::chrono::hours(date.hour) +
         std::chrono::minutes(date.minute) + seconds(date.second);
}

std::optional<base::Instant> finished(const Cursor& at, const Fields& date) {
  if (!at.ok() || !at.at_end()) return std::nullopt;
  return instant_of(date);
}

std::optional<base::Instant> fixed_form(std::string_view text) {
  Cursor at(text);
  Fields date;
  at.word(kDays, 3);
  at.literal(", ");
  date.day = at.number(2);
  at.literal(" ");
  date.month = at.word(kMonths);
  at.literal(" ");
  date.year = at.number(4);
  at.literal(" ");
  read_clock(at, date);
  at.literal(" GMT");
  return finished(at, date);
}

std::optional<base::Instant> rfc850_form(std::string_view text, base::Instant now) {
  const std::chrono::year_month_day today(std::chrono::floor<days>(now));
  const int this_year = static_cast<int>(today.year());
  Cursor at(text);
  Fields date;
  at.word(kDays);
  at.literal(", ");
  date.day = at.number(2);
  at.literal("-");
  date.month = at.word(kMonths);
  at.literal("-");
  date.year = this_year - this_year % 100 + at.number(2);
  at.literal(" ");
  read_clock(at, date);
  at.literal(" GMT");
  if (date.year > this_year + 50) date.year -= 100;
  return finished(at, date);
}

std::optional<base::Instant> asctime_form(std::string_view text) {
  Cursor at(text);
  Fields date;
  at.word(kDays, 3);
  at.literal(" ");
  date.month = at.word(kMonths);
  at.literal(" ");
  if (at.next_is(' ')) {
    at.literal(" ");
    date.day = at.number(1);
  } else {
    date.day = at.number(2);
  }
  at.literal(" ");
  read_clock(at, date);
  at.literal(" ");
  date.year = at.number(4);
  return finished(at, date);
}

}  // namespace

std::optional<base::Instant> parse_http_date(std::string_view text, base::Instant now) {
  if (auto instant = fixed_form(text)) return instant;
  if (auto instant = rfc850_form(text, now)) return instant;
  return asctime_form(text);
}

std::optional<base::Millis> parse_retry_after(std::string_view text, base::Instant now) {
  static constexpr base::Millis kYear = days(365);
  text = base::trimmed(text);
  if (!text.empty() && text.find_first_not_of("0123456789") == std::string_view::npos) {
    int64_t count = 0;
    for (const char digit : text)
      count = std::min<int64_t>(count * 10 + (digit - '0'), kYear / seconds(1));
    return seconds(count);
  }
  const auto until = parse_http_date(text, now);
  if (!until) return std::nullopt;
  return std::clamp(*until - now, base::Millis(0), kYear);
}

}  // namespace girdle::delivery
