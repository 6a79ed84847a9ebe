#include "reading/field_values.h"

#include <algorithm>

#include "base/text.h"

namespace girdle::reading {
namespace {

using base::Decimal;
using base::is_digit;

constexpr size_t kMaxKey = 200;
constexpr size_t kMaxNote = 4000;

const char* range_text(Range range) {
  switch (range) {
    case Range::kAny:
      return "";
    case Range::kPositive:
      return "must be more than 0";
    case Range::kNotNegative:
      return "must not be negative";
    case Range::kCount:
      return "must be a whole number from 1 on";
    case Range::kFraction:
      return "must lie from 0 to 1 (is it a percentage? then the mapping says  unit: percent )";
    case Range::kPercent:
      return "must lie from 0 to 100";
    case Range::kCelsius:
      return "lies under -273.15 degrees Celsius";
  }
  return "";
}

bool in_range(const Decimal& value, Range range) {
  static const Decimal kZeroKelvin = *Decimal::make(-27315, -2);
  switch (range) {
    case Range::kAny:
      return true;
    case Range::kPositive:
      return !value.is_negative() && !value.is_zero();
    case Range::kNotNegative:
      return !value.is_negative();
    case Range::kCount:
      return !value.is_negative() && !value.is_zero() && value.is_integer();
    case Range::kFraction:
      return !value.is_negative() && value <= Decimal(1);
    case Range::kPercent:
      return !value.is_negative() && value <= Decimal(100);
    case Range::kCelsius:
      return value >= kZeroKelvin;
  }
  return false;
}

std::optional<Decimal> celsius_of(const Decimal& fahrenheit) {
  const auto above = subtract(fahrenheit, Decimal(32));
  const auto times = above ? multiply(*above, Decimal(5)) : std::nullopt;
  const auto celsius = times ? divide(*times, Decimal(9)) : std::nullopt;
  if (!celsius) return std::nullopt;
  return celsius->rounded(4);
}

std::optional<Decimal> to_ours(const Decimal& value, Unit unit) {
  switch (unit) {
    case Unit::kOurs:
      return value;
    case Unit::kGram:
      return multiply(value, Decimal(5));
    case Unit::kMilligram:
      return multiply(value, *Decimal::make(5, -3));
    case Unit::kMicrometre:
      return multiply(value, *Decimal::make(1, -3));
    case Unit::kInch:
      return multiply(value, *Decimal::make(254, -1));
    case Unit::kFahrenheit:
      return celsius_of(value);
    case Unit::kPercentOfOne:
      return multiply(value, *Decimal::make(1, -2));
    case Unit::kOneOfAPercent:
      return multiply(value, Decimal(100));
  }
  return std::nullopt;
}


// The digits of "1.234.567", with its marks taken out; false when they do not stand where group
// marks stand. A number in groups does not begin with 0: "0.500" is a fraction under another mark,
// not 500.
bool append_ungrouped(std::string_view whole, char mark, std::string& out) {
  for (bool first = true;; first = false) {
    const size_t end = std::min(whole.find(mark), whole.size());
    const std::string_view digits = whole.substr(0, end);
    if (!std::all_of(digits.begin(), digits.end(), is_digit)) return false;
    const bool sound =
        first ? !digits.empty() && digits.size() <= 3 && digits.front() != '0' : digits.size() == 3;
    if (!sound) return false;
    out += digits;
    if (end == whole.size()) return true;
    whole.remove_prefix(end + 1);
  }
}

// The text with a point for the decimal mark and without group marks.
bool append_plain(std::string_view text, const NumberForm& form, std::string& out) {
  if (!text.empty() && (text.front() == '-' || text.front() == '+')) {
    out += text.front();
    text.remove_prefix(1);
  }
  const size_t mark = std::min(text.find(form.decimal_mark), text.size());
  const std::string_view whole = text.substr(0, mark);
  const std::string_view fraction = text.substr(mark);  // with its mark
  if (form.group_mark != '\0' && whole.find(form.group_mark) != std::string_view::npos) {
    if (!append_ungrouped(whole, form.group_mark, out)) return false;
  } else {
    if (whole.find_first_of(".,") != std::string_view::npos) return false;
    out += whole;
  }
  if (fraction.empty()) return true;
  if (fraction.find_first_of(".,", 1) != std::string_view::npos) return false;
  out += '.';
  out += fraction.substr(1);
  return true;
}

std::optional<Decimal> parse_number(std::string_view text, const NumberForm& form) {
  if (form.decimal_mark == '.' && form.group_mark == '\0') return Decimal::parse(text);
  std::string plain;
  if (!append_plain(text, form, plain)) return std::nullopt;
  return Decimal::parse(plain);
}

std::string quoted(char mark) { return std::string{'"', mark, '"'}; }

// What is wrong with a text that is no number in this form, and what the mapping could say.
std::string no_number(std::string_view text, const NumberForm& form) {
  std::string reason = "holds \"";
  reason += base::excerpt(text) + "\", which is no number with the decimal mark " +
            quoted(form.decimal_mark);
  reason += form.group_mark == '\0'
                ? std::string(" and without group marks")
                : " and groups of three digits set apart by " + quoted(form.group_mark);
  const char other = form.decimal_mark == '.' ? ',' : '.';
  const size_t first_other = text.find(other);
  if (first_other == std::string_view::npos || form.group_mark == other) return reason;
  if (text.find(form.decimal_mark) == std::string_view::npos) {
    reason += "; if " + quoted(other) +
              " is the decimal mark, the mapping says  decimal: " + quoted(other);
  } else if (first_other < text.find(form.decimal_mark)) {
    reason +=
        "; if " + quoted(other) + " sets groups apart, the mapping says  group: " + quoted(other);
  }
  return reason;
}

std::string too_many_digits(std::string_view text) {
  std::string reason = "holds \"";
  reason += base::excerpt(text) + "\", which has more digits than are kept";
  return reason;
}

std::string out_of_range(std::string_view text, const NumberForm& form, const Decimal& ours) {
  std::string reason = "holds \"";
  reason += base::excerpt(text) + "\"";
  if (form.unit != Unit::kOurs) reason += " (" + ours.text() + " in our unit)";
  return reason + ", which " + range_text(form.range);
}

// Control characters of ASCII and of ISO 8859-1 (U+0080 to U+009F, mostly text in a wrong
// encoding).
bool is_control(std::string_view text, size_t at) {
  const auto byte = static_cast<unsigned char>(text[at]);
  if (byte == 0xC2 && at + 1 < text.size()) return static_cast<unsigned char>(text[at + 1]) < 0xA0;
  return byte < 0x20 || byte == 0x7F;
}

bool check_text(std::string_view text, size_t limit, std::string_view allowed,
                std::string& reason) {
  if (text.size() > limit) {
    reason = "holds a text of " + std::to_string(text.size()) + " bytes; at most " +
             std::to_string(limit) + " are kept";
    return false;
  }
  const auto is_plain = [](char c) { return c >= 0x20 && c < 0x7F; };
  if (std::all_of(text.begin(), text.end(), is_plain)) return true;
  bool ascii = true;
  for (size_t i = 0; i < text.size(); ++i) {
    ascii = ascii && static_cast<unsigned char>(text[i]) < 0x80;
    if (is_control(text, i) && allowed.find(text[i]) == std::string_view::npos) {
      reason = "holds control characters: \"";
      reason += base::excerpt(text) + "\"";
      return false;
    }
  }
  if (ascii || base::is_utf8(text)) return true;
  reason = "holds bytes that are not UTF-8: \"";
  reason += base::excerpt(text) + "\"";
  return false;
}

}  // namespace

std::optional<Unit> unit_of(std::string_view field, std::string_view unit) {
  struct Known {
    std::string_view field, unit;
    Unit means;
  };
  static constexpr Known kKnown[] = {
      {"carat", "ct", Unit::kOurs},
      {"carat", "g", Unit::kGram},
      {"carat", "mg", Unit::kMilligram},
      {"_mm", "mm", Unit::kOurs},
      {"_mm", "um", Unit::kMicrometre},
      {"_mm", "in", Unit::kInch},
      {"temperature_c", "C", Unit::kOurs},
      {"temperature_c", "F", Unit::kFahrenheit},
      {"confidence", "1", Unit::kOurs},
      {"confidence", "percent", Unit::kPercentOfOne},
      {"humidity_pct", "percent", Unit::kOurs},
      {"humidity_pct", "1", Unit::kOneOfAPercent},
  };
  if (unit.empty()) return Unit::kOurs;
  for (const Known& known : kKnown) {
    const bool same = known.field == "_mm" ? field.ends_with("_mm") : field == known.field;
    if (same && unit == known.unit) return known.means;
  }
  return std::nullopt;
}

bool read_decimal(std::string_view text, const NumberForm& form, std::optional<Decimal>& out,
                  std::string& reason) {
  out = parse_number(text, form);
  if (!out) {
    reason = no_number(text, form);
    return false;
  }
  if (form.unit != Unit::kOurs) out = to_ours(*out, form.unit);
  if (!out) {
    reason = too_many_digits(text);
    return false;
  }
  if (in_range(*out, form.range)) return true;
  reason = out_of_range(text, form, *out);
  return false;
}

std::string_view trim_outer_space(std::string_view text) {
  constexpr std::string_view kSpace = " \t\r\n";
  while (!text.empty() && kSpace.find(text.front()) != std::string_view::npos)
    text.remove_prefix(1);
  while (!text.empty() && kSpace.find(text.back()) != std::string_view::npos) text.remove_suffix(1);
  return text;
}

bool check_key(std::string_view text, std::string& reason) {
  return check_text(text, kMaxKey, {}, reason);
}

bool check_note(std::string_view text, std::string& reason) {
  return check_text(text, kMaxNote, "\t\r\n", reason);
}

}  // namespace girdle::reading
