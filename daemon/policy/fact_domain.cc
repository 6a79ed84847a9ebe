#include "policy/fact_domain.h"

#include <algorithm>

namespace girdle::policy {
namespace {

using base::Decimal;

bool is_before(const Value& a, const Value& b) {
  if (a.index() != b.index()) return a.index() < b.index();
  if (const auto* flag = std::get_if<bool>(&a)) return !*flag && std::get<bool>(b);
  return order_of(a, b) == Order::kLess;
}

// The number with the fewest digits between two.
Decimal between(const Decimal& low, const Decimal& high) {
  const Decimal middle = *multiply(*add(low, high), *Decimal::parse("0.5"));
  for (int places = 0; places < Decimal::kDigits; ++places) {
    const Decimal rounded = middle.rounded(places);
    if (low < rounded && rounded < high) return rounded;
  }
  return middle;
}

Decimal next_whole(const Decimal& number) {
  Decimal next = number.rounded(0);
  if (next <= number) next = *add(next, 1);
  return next;
}

// `count` different numbers in a stretch, each between the one before it and the upper end.
std::vector<Value> numbers(const Decimal* low, const Decimal* high, size_t count, bool is_whole) {
  std::vector<Value> values;
  std::optional<Decimal> at;
  if (low != nullptr) at = *low;
  for (size_t i = 0; i < count; ++i) {
    if (at && high != nullptr && is_whole) {
      at = next_whole(*at);
      if (*at >= *high) break;
    } else if (at && high != nullptr) {
      at = between(*at, *high);
    } else if (at) {
      at = add(*at, 1);
    } else {
      at = high != nullptr ? subtract(*high, static_cast<int64_t>(count)) : Decimal(1);
    }
    if (!at) break;
    values.emplace_back(*at);
  }
  return values;
}

std::vector<Value> texts_between(const std::string* low, const std::string* high, size_t count) {
  std::vector<Value> values;
  const std::string base = low != nullptr ? *low : "";
  for (const char* tail : {"", " ", "!", "0", "a", "aa", "ab", "b"}) {
    std::string text = base + tail;
    if (values.size() == count) break;
    if ((low == nullptr || *low < text) && (high == nullptr || text < *high)) {
      values.emplace_back(std::move(text));
    }
  }
  return values;
}

std::vector<Value> other_texts(const std::vector<Value>& ends, size_t count) {
  std::vector<Value> values;
  for (int i = 1; values.size() < count; ++i) {
    Value text = i == 1 ? std::string("other") : "other " + std::to_string(i);
    if (std::ranges::find(ends, text) == ends.end()) values.push_back(std::move(text));
  }
  return values;
}

// Dates and durations as whole numbers of their smallest unit: days, months, else nanoseconds.
Nanos ordinal_of(const Value& value) {
  if (const auto* date = std::get_if<Date>(&value)) return date->days();
  if (const auto* time = std::get_if<Time>(&value)) return time->since_midnight();
  if (const auto* both = std::get_if<DateTime>(&value)) return both->local();
  if (const auto* days = std::get_if<DaysDuration>(&value)) return days->nanos;
  return std::get<MonthsDuration>(value).months;
}

template <class T>
std::optional<Value> as_value(const std::optional<T>& given) {
  return given ? std::optional<Value>(*given) : std::nullopt;
}

// `like`: has the offset.
std::optional<Value> temporal_at(Nanos ordinal, Type type, const Value* like) {
  switch (type) {
    case Type::kDate:
      return as_value(Date::from_days(static_cast<int64_t>(ordinal)));
    case Type::kTime:
      if (ordinal < 0 || ordinal >= Nanos{kDaySeconds} * kSecondNanos) return std::nullopt;
      return Time::from_nanos(ordinal, like ? std::get<Time>(*like).offset : Offset());
    case Type::kDateTime:
      return as_value(DateTime::from_local(ordinal, like ? std::get<DateTime>(*like).time.offset : Offset()));
    case Type::kDaysDuration:
      return as_value(DaysDuration::of(ordinal));
    default:
      return as_value(MonthsDuration::of(static_cast<int64_t>(ordinal)));
  }
}

// Days and months have no third between two neighbours: that stretch stays empty.
std::vector<Value> temporals(const Value* low, const Value* high, Type type, size_t count) {
  const bool is_whole = type == Type::kDate || type == Type::kMonthsDuration;
  const Nanos unit = is_whole ? 1 : Nanos{3600} * kSecondNanos;
  const auto steps = static_cast<Nanos>(count);
  const Value* const like = low ? low : high;
  std::vector<Value> values;
  for (Nanos i = 1; i <= steps; ++i) {
    Nanos at = i * unit;
    if (low && high) {
      at = ordinal_of(*low) + (ordinal_of(*high) - ordinal_of(*low)) * i / (steps + 1);
    } else if (low) {
      at += ordinal_of(*low);
    } else if (high) {
      at = ordinal_of(*high) - (steps + 1 - i) * unit;
    }
    const auto value = temporal_at(at, type, like);
    const bool fits = value && (!low || is_before(*low, *value)) && (!high || is_before(*value, *high)) &&
                      (values.empty() || is_before(values.back(), *value));
    if (fits) values.push_back(*value);
  }
  return values;
}

std::vector<Value> stretch(const Value* low, const Value* high, Type type, size_t count, bool is_whole) {
  if (is_temporal(type)) return temporals(low, high, type, count);
  if (type == Type::kNumber) {
    return numbers(low ? std::get_if<Decimal>(low) : nullptr, high ? std::get_if<Decimal>(high) : nullptr, count, is_whole);
  }
  return texts_between(low ? std::get_if<std::string>(low) : nullptr,
                       high ? std::get_if<std::string>(high) : nullptr, count);
}

}  // namespace

FactDomain::FactDomain(const Use& use) {
  std::vector<Value> ends = use.ends;
  std::erase_if(ends, is_null);
  std::sort(ends.begin(), ends.end(), is_before);
  ends.erase(std::unique(ends.begin(), ends.end()), ends.end());
  for (const Type type : {Type::kBoolean, Type::kNumber, Type::kString, Type::kDate, Type::kTime, Type::kDateTime,
                          Type::kDaysDuration, Type::kMonthsDuration}) {
    if (use.type && *use.type != type) continue;
    std::vector<Value> of_kind;
    std::ranges::copy_if(ends, std::back_inserter(of_kind),
                         [&](const Value& end) { return has_type(end, type); });
    // Of a fact without a type, the kinds that the cells speak of; a text where they speak of none.
    const bool asked = use.type || !of_kind.empty() || (ends.empty() && type == Type::kString);
    if (asked) add_kind(of_kind, type, use);
  }
  if (!use.may_be_missing) return;
  members_.push_back({kNull, labels_.size()});
  labels_.push_back({.is_point = true, .text = "missing", .has_members = true});
}

void FactDomain::add_kind(const std::vector<Value>& ends, Type type, const Use& use) {
  if (type == Type::kBoolean) {
    add_point(false, false, use);
    add_point(true, false, use);
    return;
  }
  const size_t count = use.compared_with + 1;
  if (type == Type::kString && !use.is_ordered) {
    for (const Value& end : ends) add_point(end, false, use);
    add_members(other_texts(ends, count), {.text = "any other text"}, use);
    return;
  }
  const Value* before = nullptr;
  for (size_t i = 0; i <= ends.size(); ++i) {
    const Value* const next = i < ends.size() ? &ends[i] : nullptr;
    add_members(stretch(before, next, type, count, use.is_whole),
                {.is_ordered = true, .low = before ? to_json(*before) : "", .high = next ? to_json(*next) : ""}, use);
    if (next) add_point(*next, true, use);
    before = next;
  }
}

void FactDomain::add_point(const Value& value, bool is_ordered, const Use& use) {
  add_members({value}, {.is_point = true, .is_ordered = is_ordered, .text = to_json(value)}, use);
}

void FactDomain::add_members(std::vector<Value> values, Label label, const Use& use) {
  std::erase_if(values, [&](const Value& value) {
    return std::ranges::any_of(use.allowed, [&](const UnaryTest* test) {
      return test->evaluate(value, {}) != Truth::kTrue;
    });
  });
  for (Value& value : values) members_.push_back({std::move(value), labels_.size()});
  label.has_members = !values.empty();
  labels_.push_back(std::move(label));
}

// One stretch of places from `low` to `high`, both included.
std::string FactDomain::text_of(const Label& low, const Label& high) {
  if (&low == &high && !low.text.empty()) return low.text;
  const bool has_low = low.is_point || !low.low.empty();
  const bool has_high = high.is_point || !high.high.empty();
  const std::string& from = low.is_point ? low.text : low.low;
  const std::string& to = high.is_point ? high.text : high.high;
  if (has_low && has_high) {
    return (low.is_point ? "[" : "(") + from + ".." + to + (high.is_point ? "]" : ")");
  }
  if (has_low) return (low.is_point ? ">= " : "> ") + from;
  if (has_high) return (high.is_point ? "<= " : "< ") + to;
  return "anything else";
}

std::string FactDomain::region(const std::vector<bool>& places) const {
  bool all = true;
  for (size_t i = 0; i < labels_.size(); ++i) all = all && (places[i] || !labels_[i].has_members);
  if (all) return "anything";
  std::string text;
  for (size_t i = 0; i < labels_.size(); ++i) {
    if (!places[i]) continue;
    const size_t first = i;
    while (i + 1 < labels_.size() && places[i + 1] && touch(labels_[i], labels_[i + 1])) ++i;
    if (!text.empty()) text += ", ";
    text += text_of(labels_[first], labels_[i]);
  }
  return text;
}

}  // namespace girdle::policy
