#include "reading/field_values.h"

#include "base/text.h"

namespace girdle::reading {
namespace {

using base::Decimal;

constexpr size_t kMaxKey = 200;

const char* range_text(Range range) {
  switch (range) {
    case Range::kAny: return "";
    case Range::kPositive: return "must be more than 0";
    case Range::kNotNegative: return "must not be negative";
    case Range::kFraction: return "must lie from 0 to 1 (is it a percentage? then the mapping says  unit: percent )";
    case Range::kPercent: return "must lie from 0 to 100";
    case Range::kCelsius: return "lies under -273.15 degrees Celsius";
  }
  return "";
}

bool in_range(const Decimal& value, Range range) {
  static const Decimal kZeroKelvin = *Decimal::parse("-273.15");
  switch (range) {
    case Range::kAny: return true;
    case Range::kPositive: return value > Decimal(0);
    case Range::kNotNegative: return value >= Decimal(0);
    case Range::kFraction: return value >= Decimal(0) && value <= Decimal(1);
    case Range::kPercent: return value >= Decimal(0) && value <= Decimal(100);
    case Range::kCelsius: return value >= kZeroKelvin;
  }
  return false;
}

std::optional<Decimal> to_ours(const Decimal& value, Unit unit) {
  switch (unit) {
    case Unit::kOurs: return value;
    case Unit::kGram: return multiply(value, Decimal(5));
    case Unit::kMilligram: return multiply(value, *Decimal::make(5, -3));
    case Unit::kMicrometre: return multiply(value, *Decimal::make(1, -3));
    case Unit::kInch: return multiply(value, *Decimal::make(254, -1));
    case Unit::kPercentOfOne: return multiply(value, *Decimal::make(1, -2));
    case Unit::kFahrenheit: {
      const auto above = subtract(value, Decimal(32));
      const auto times = above ? multiply(*above, Decimal(5)) : std::nullopt;
      const auto celsius = times ? divide(*times, Decimal(9)) : std::nullopt;
      return celsius ? std::optional(celsius->rounded(4)) : std::nullopt;
    }
  }
  return std::nullopt;
}

// The text with a point for the decimal mark and no group marks; false when the groups are not of three digits, or a
// mark stands where it cannot.
bool plain_notation(std::string_view text, char decimal_mark, char group_mark, std::string& out) {
  out.clear();
  size_t since_group = 0;
  bool grouped = false, after_mark = false;
  for (const char c : text) {
    if (group_mark != '\0' && c == group_mark) {
      if (after_mark || since_group == 0 || since_group > 3 || (grouped && since_group != 3)) return false;
      grouped = true;
      since_group = 0;
      continue;
    }
    if (c == decimal_mark) {
      if (after_mark || (grouped && since_group != 3)) return false;
      after_mark = true;
      out += '.';
      continue;
    }
    if (c == '.' || c == ',') return false;  // a mark, and not the one that the mapping names
    if (c >= '0' && c <= '9' && !after_mark) ++since_group;
    out += c;
  }
  return !grouped || after_mark || since_group == 3;
}

}  // namespace

std::optional<Unit> unit_of(std::string_view field, std::string_view unit) {
  const bool length = field.ends_with("_mm");
  if (unit.empty()) return Unit::kOurs;
  if (field == "carat") {
    if (unit == "ct") return Unit::kOurs;
    if (unit == "g") return Unit::kGram;
    if (unit == "mg") return Unit::kMilligram;
  } else if (length) {
    if (unit == "mm") return Unit::kOurs;
    if (unit == "um") return Unit::kMicrometre;
    if (unit == "in") return Unit::kInch;
  } else if (field == "temperature_c") {
    if (unit == "C") return Unit::kOurs;
    if (unit == "F") return Unit::kFahrenheit;
  } else if (field == "confidence") {
    if (unit == "1") return Unit::kOurs;
    if (unit == "percent") return Unit::kPercentOfOne;
  } else if (field == "humidity_pct") {
    if (unit == "percent") return Unit::kOurs;
  }
  return std::nullopt;
}

std::optional<Decimal> read_decimal(std::string_view text, const model::FieldRule& rule, Unit unit, Range range,
                                    std::string& reason) {
  std::optional<Decimal> number;
  if (rule.decimal_mark == '.' && rule.group_mark == '\0') {
    number = Decimal::parse(text);
  } else {
    std::string plain;
    if (plain_notation(text, rule.decimal_mark, rule.group_mark, plain)) number = Decimal::parse(plain);
  }
  if (!number) {
    reason = "holds \"" + base::excerpt(text) + "\", which is no number with the decimal mark \"" + rule.decimal_mark + "\"";
    const char other = rule.decimal_mark == '.' ? ',' : '.';
    if (text.find(other) != std::string_view::npos) {
      reason += std::string("; if \"") + other + "\" is the decimal mark, the mapping says  decimal: \"" + other + "\"";
    }
    return std::nullopt;
  }
  auto ours = to_ours(*number, unit);
  if (!ours) {
    reason = "holds \"" + base::excerpt(text) + "\", which has too many digits";
    return std::nullopt;
  }
  if (!in_range(*ours, range)) {
    reason = "holds " + ours->text() + ", which " + range_text(range);
    return std::nullopt;
  }
  return ours;
}

bool check_key(std::string_view text, std::string& reason) {
  if (text.size() > kMaxKey) {
    reason = "holds a text of " + std::to_string(text.size()) + " bytes; at most " + std::to_string(kMaxKey) + " are kept";
    return false;
  }
  for (const char c : text) {
    if (static_cast<unsigned char>(c) < 0x20 || c == 0x7F) {
      reason = "holds control characters (\"" + base::excerpt(text) + "\")";
      return false;
    }
  }
  return true;
}

}  // namespace girdle::reading
