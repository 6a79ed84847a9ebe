#include "draft/times.h"

#include <algorithm>
#include <array>

#include "base/time.h"
#include "reading/field_values.h"

namespace girdle::draft {
namespace {

using Texts = std::span<const std::string_view>;
using Forms = std::vector<std::string>;

// 1985-01-01 and 2070-01-01: instruments whose clock was never set say 1970 or 1980.
constexpr int64_t kFirst = 473'385'600'000, kEnd = 3'155'760'000'000;

constexpr std::string_view kDates[] = {
    // As ISO 8601, and the day before the month before the other way round: of two that fit
    // equally well, the first is named first.
    "%Y-%m-%d", "%Y/%m/%d",     "%Y.%m.%d", "%Y %m %d",  "%d.%m.%Y", "%d/%m/%Y",  "%d-%m-%Y",
    "%d %m %Y", "%m/%d/%Y",     "%m-%d-%Y", "%m.%d.%Y",  "%d.%m.%y", "%d/%m/%y",  "%d-%m-%y",
    "%m/%d/%y", "%m-%d-%y",     "%m.%d.%y", "%y-%m-%d",  "%y/%m/%d", "%y.%m.%d",  "%d %b %Y",
    "%d-%b-%Y", "%d/%b/%Y",     "%d.%b.%Y", "%d. %b %Y", "%d%b%Y",   "%b %d, %Y", "%b %d %Y",
    "%b-%d-%Y", "%Y %b %d",     "%Y-%b-%d", "%d %b %y",  "%d-%b-%y", "%d/%b/%y",  "%d%b%y",
    "%Y-%j",    "%Y年%m月%d日", "%d.%m.%Y."};
constexpr std::string_view kDatesOfDigits[] = {"%Y%m%d", "%d%m%Y", "%m%d%Y",
                                               "%d%m%y", "%y%m%d", "%m%d%y"};
constexpr std::string_view kClocks[] = {"%H:%M:%S",     "%H:%M",      "%I:%M:%S %p", "%I:%M %p",
                                        "%I:%M:%S%p",   "%I:%M%p",    "%H.%M.%S",    "%H.%M",
                                        "%H-%M-%S",     "%Hh%M",      "%Hh%Mm%Ss",   "%H時%M分%S秒",
                                        "%H时%M分%S秒", "%H:%M:%S:%f"};
constexpr std::string_view kClocksOfDigits[] = {"%H%M%S", "%H%M"};
constexpr std::string_view kBetween[] = {" ", "T", ", ", "  ", "_", "-", "/", ",", ";", ""};
constexpr std::string_view kZones[] = {"", "%z", " %z", " %Z"};

std::string_view text_of(std::string_view text) { return reading::without_outer_space(text); }

// The first that says something; empty where none does.
std::string_view first_text(Texts texts) {
  const auto at =
      std::find_if(texts.begin(), texts.end(), [](auto text) { return !text_of(text).empty(); });
  return at == texts.end() ? std::string_view() : text_of(*at);
}

bool are_digits(std::string_view text) {
  return !text.empty() && text.find_first_not_of("0123456789") == text.npos;
}

bool is_plausible(base::Instant instant) {
  const int64_t millis = base::to_millis(instant);
  return millis >= kFirst && millis < kEnd;
}

bool reads(std::string_view form, std::string_view text, const base::Zone& utc) {
  const auto compiled = base::TimeForm::compile(form);
  if (!compiled) return false;
  const auto instant = compiled->parse(text, utc, base::TwiceRule::kEarlier);
  return instant && is_plausible(*instant);
}

// A date's form with each clock, and by itself. `text` is a text that the forms must read: most are
// refused by their date alone.
void add_with_clocks(std::string_view date, std::string_view text, const base::Zone& utc,
                     Forms& forms) {
  if (reads(date, text, utc)) forms.emplace_back(date);
  const auto with = [&](std::span<const std::string_view> clocks, std::string_view between) {
    for (const std::string_view clock : clocks) {
      for (const std::string_view zone : kZones) {
        std::string form(date);
        form.append(between).append(clock).append(zone);
        if (reads(form, text, utc)) forms.push_back(std::move(form));
      }
    }
  };
  for (const std::string_view between : kBetween) {
    with(kClocks, between);
    with(kClocksOfDigits, between);
  }
}

// Whether a text can begin with a date of this form: tried before the many ways to go on.
bool may_begin(std::string_view date, std::string_view text) {
  size_t at = 0;
  for (size_t i = 0; i < date.size(); ++i) {
    if (at >= text.size()) return false;
    if (date[i] != '%') {
      if (text[at++] != date[i]) return false;
      continue;
    }
    const char letter = date[++i];
    const bool named = letter == 'b';
    size_t most = letter == 'Y' ? 4 : letter == 'j' ? 3 : named ? 9 : 2;
    size_t taken = 0;
    const auto fits = [&](char c) {
      return named ? (c | 0x20) >= 'a' && (c | 0x20) <= 'z' : c >= '0' && c <= '9';
    };
    while (taken < most && at < text.size() && fits(text[at])) ++at, ++taken;
    if (taken == 0) return false;
  }
  return true;
}

Forms candidates(std::string_view text, Digits digits, const base::Zone& utc) {
  Forms forms;
  const bool take_digits = digits == Digits::kMayBeTime;
  for (const std::string_view form : {"rfc3339", "unix", "unix_ms"}) {
    if ((form == "rfc3339" || take_digits) && reads(form, text, utc)) forms.emplace_back(form);
  }
  if (are_digits(text) && !take_digits) return forms;
  for (const std::string_view date : kDates) {
    if (may_begin(date, text)) add_with_clocks(date, text, utc, forms);
  }
  for (const std::string_view date : kDatesOfDigits) {
    if (text.size() >= 6 && may_begin(date, text)) add_with_clocks(date, text, utc, forms);
  }
  return forms;
}

bool is_local(std::string_view form) {
  if (form == "rfc3339" || form == "unix" || form == "unix_ms") return false;
  return form.find("%z") == form.npos && form.find("%Z") == form.npos;
}

bool instants_of(std::string_view form, Texts texts, const base::Zone& utc,
                 std::vector<base::Instant>& instants) {
  const auto compiled = base::TimeForm::compile(form);
  if (!compiled) return false;
  instants.clear();
  for (std::string_view text : texts) {
    text = text_of(text);
    if (text.empty()) continue;
    const auto instant = compiled->parse(text, utc, base::TwiceRule::kEarlier);
    if (!instant || !is_plausible(*instant)) return false;
    instants.push_back(*instant);
  }
  return !instants.empty();
}

TimeReading reading_of(std::string_view form, const std::vector<base::Instant>& instants) {
  TimeReading reading;
  reading.form = form;
  reading.local = is_local(form);
  for (size_t i = 1; i < instants.size(); ++i) reading.steps_back += instants[i] < instants[i - 1];
  const auto [least, greatest] = std::minmax_element(instants.begin(), instants.end());
  reading.first = *least;
  reading.last = *greatest;
  return reading;
}

// Read with a date before each, which a form has to give.
bool is_clock_of_all(std::string_view clock, Texts texts) {
  const base::Zone utc = base::Zone::utc();
  const auto compiled = base::TimeForm::compile("%Y-%m-%d " + std::string(clock));
  if (!compiled) return false;
  bool any = false;
  for (std::string_view text : texts) {
    text = text_of(text);
    if (text.empty()) continue;
    any = true;
    const std::string with_date = "2000-01-01 " + std::string(text);
    if (!compiled->parse(with_date, utc, base::TwiceRule::kEarlier)) return false;
  }
  return any;
}

}  // namespace

std::vector<TimeReading> fitting_forms(std::span<const std::string> forms, Texts texts) {
  const base::Zone utc = base::Zone::utc();
  std::vector<TimeReading> found;
  std::vector<std::vector<base::Instant>> known;
  for (const std::string& form : forms) {
    std::vector<base::Instant> instants;
    if (!instants_of(form, texts, utc, instants)) continue;
    if (std::find(known.begin(), known.end(), instants) != known.end()) continue;
    found.push_back(reading_of(form, instants));
    known.push_back(std::move(instants));
  }
  std::stable_sort(found.begin(), found.end(), [](const TimeReading& a, const TimeReading& b) {
    return a.steps_back < b.steps_back;
  });
  return found;
}

std::vector<TimeReading> time_forms(Texts texts, Digits digits) {
  const std::string_view text = first_text(texts);
  if (text.size() < 6 || text.size() > 48) return {};
  return fitting_forms(candidates(text, digits, base::Zone::utc()), texts);
}

bool has_time_of_day(std::string_view form) {
  if (form == "rfc3339" || form == "unix" || form == "unix_ms") return true;
  return form.find("%H") != form.npos || form.find("%I") != form.npos;
}

std::vector<std::string> clock_forms(Texts texts, Digits digits) {
  std::vector<std::string> found;
  const auto keep_fitting = [&](std::span<const std::string_view> clocks) {
    for (const std::string_view clock : clocks) {
      if (is_clock_of_all(clock, texts)) found.emplace_back(clock);
    }
  };
  keep_fitting(kClocks);
  if (digits == Digits::kMayBeTime) keep_fitting(kClocksOfDigits);
  return found;
}

std::string shown(const TimeReading& reading, base::Instant instant) {
  std::string text = base::format_rfc3339(instant);
  const size_t point = text.find('.');
  if (text.compare(point, 5, ".000Z") == 0) text.erase(point, 4);
  if (reading.local) text.pop_back();
  return text;
}

}  // namespace girdle::draft
