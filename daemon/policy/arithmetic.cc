#include "policy/arithmetic.h"
#include "base/text.h"

#include <array>
#include <utility>


namespace girdle::policy {
namespace {

using base::Decimal;
using base::Result;
using base::in_quotes;

enum class Fault : uint8_t { kKinds, kRange, kZero, kOffsets, kExponent };

using Answer = std::variant<Value, Fault>;

template <class T>
Answer in_range(std::optional<T> value) {
  if (!value) return Fault::kRange;
  return Value(std::move(*value));
}

constexpr Nanos kDayNanos = Nanos{kDaySeconds} * kSecondNanos;

// Midnight of UTC, as the standard takes a date for a moment (10.3.2.3.5).
DateTime midnight(const Date& date) { return {date, {0, 0, {0, nullptr}}}; }

Answer plus_days(const Date& date, Nanos nanos) {
  Nanos days = nanos / kDayNanos;
  if (nanos % kDayNanos < 0) --days;
  const Nanos sum = days + date.days();
  constexpr Nanos kFar = Nanos{1} << 60;
  if (sum > kFar || sum < -kFar) return Fault::kRange;
  return in_range(Date::from_days(static_cast<int64_t>(sum)));
}

Answer plus_days(const DateTime& moment, Nanos nanos) {
  const Offset& offset = moment.time.offset;
  constexpr Nanos kFar = Nanos{1} << 96;
  if (nanos > kFar || nanos < -kFar) return Fault::kRange;
  if (!offset.is_known()) return in_range(DateTime::from_local(moment.local() + nanos, offset));
  const Nanos instant = moment.local() - Nanos{offset.seconds} * kSecondNanos;
  return in_range(DateTime::from_instant(instant + nanos, offset));
}

Answer plus_months(const DateTime& moment, int64_t months) {
  const auto date = moment.date.plus_months(months);
  if (!date) return Fault::kRange;
  // The zone may have another offset there.
  return in_range(DateTime::from_local(DateTime{*date, moment.time}.local(), moment.time.offset));
}

Answer plus_months(const Date& date, int64_t months) { return in_range(date.plus_months(months)); }

Answer plus_days(const Time& time, Nanos nanos) {
  return Value(Time::from_nanos(time.since_midnight() + nanos % kDayNanos, time.offset));
}

Answer between(std::optional<Nanos> difference) {
  if (!difference) return Fault::kOffsets;
  return in_range(DaysDuration::of(*difference));
}

Answer quotient(const Decimal& a, const Decimal& b) {
  if (b.is_zero()) return Fault::kZero;
  return in_range(divide(a, b));
}

struct Sum {
  int sign;  // -1: a difference

  Answer operator()(const Decimal& a, const Decimal& b) const {
    return in_range(rounded_sum(a, sign < 0 ? negative(b) : b));
  }
  Answer operator()(const DaysDuration& a, const DaysDuration& b) const {
    return in_range(DaysDuration::of(a.nanos + sign * b.nanos));
  }
  Answer operator()(const MonthsDuration& a, const MonthsDuration& b) const {
    return in_range(MonthsDuration::of(a.months + sign * b.months));
  }
  Answer operator()(const Date& a, const DaysDuration& b) const {
    return plus_days(a, sign * b.nanos);
  }
  Answer operator()(const Time& a, const DaysDuration& b) const {
    return plus_days(a, sign * b.nanos);
  }
  Answer operator()(const DateTime& a, const DaysDuration& b) const {
    return plus_days(a, sign * b.nanos);
  }
  Answer operator()(const Date& a, const MonthsDuration& b) const {
    return plus_months(a, sign * b.months);
  }
  Answer operator()(const DateTime& a, const MonthsDuration& b) const {
    return plus_months(a, sign * b.months);
  }

  // A duration may stand first in a sum, a point in time in the second place of a difference.
  Answer operator()(const DaysDuration& a, const Date& b) const { return commuted(b, a); }
  Answer operator()(const DaysDuration& a, const Time& b) const { return commuted(b, a); }
  Answer operator()(const DaysDuration& a, const DateTime& b) const { return commuted(b, a); }
  Answer operator()(const MonthsDuration& a, const Date& b) const { return commuted(b, a); }
  Answer operator()(const MonthsDuration& a, const DateTime& b) const { return commuted(b, a); }
  Answer operator()(const Time& a, const Time& b) const {
    return difference(Time::difference(a, b));
  }
  Answer operator()(const DateTime& a, const DateTime& b) const {
    return difference(DateTime::difference(a, b));
  }
  Answer operator()(const Date& a, const Date& b) const {
    return difference(DateTime::difference(midnight(a), midnight(b)));
  }
  Answer operator()(const Date& a, const DateTime& b) const {
    return difference(DateTime::difference(midnight(a), b));
  }
  Answer operator()(const DateTime& a, const Date& b) const {
    return difference(DateTime::difference(a, midnight(b)));
  }
  template <class A, class B>
  Answer operator()(const A&, const B&) const {
    return Fault::kKinds;
  }

 private:
  static Decimal negative(const Decimal& value) { return subtract(Decimal(), value).value_or(0); }
  Answer difference(std::optional<Nanos> found) const {
    return sign < 0 ? between(found) : Answer(Fault::kKinds);
  }
  template <class A, class B>
  Answer commuted(const A& a, const B& b) const {
    return sign > 0 ? (*this)(a, b) : Answer(Fault::kKinds);
  }
};

struct Product {
  Answer operator()(const Decimal& a, const Decimal& b) const {
    return in_range(rounded_product(a, b));
  }
  Answer operator()(const Decimal& a, const DaysDuration& b) const { return (*this)(b, a); }
  Answer operator()(const Decimal& a, const MonthsDuration& b) const { return (*this)(b, a); }
  Answer operator()(const DaysDuration& a, const Decimal& b) const {
    const auto seconds = rounded_product(a.seconds(), b);
    return in_range(seconds ? DaysDuration::of_seconds(*seconds) : std::nullopt);
  }
  Answer operator()(const MonthsDuration& a, const Decimal& b) const {
    const auto months = rounded_product(Decimal(a.months), b);
    return in_range(months ? MonthsDuration::of_months(*months) : std::nullopt);
  }
  template <class A, class B>
  Answer operator()(const A&, const B&) const {
    return Fault::kKinds;
  }
};

struct Quotient {
  Answer operator()(const Decimal& a, const Decimal& b) const { return quotient(a, b); }
  Answer operator()(const DaysDuration& a, const DaysDuration& b) const {
    return quotient(a.seconds(), b.seconds());
  }
  Answer operator()(const MonthsDuration& a, const MonthsDuration& b) const {
    return quotient(a.months, b.months);
  }
  Answer operator()(const DaysDuration& a, const Decimal& b) const {
    if (b.is_zero()) return Fault::kZero;
    const auto seconds = divide(a.seconds(), b);
    return in_range(seconds ? DaysDuration::of_seconds(*seconds) : std::nullopt);
  }
  Answer operator()(const MonthsDuration& a, const Decimal& b) const {
    if (b.is_zero()) return Fault::kZero;
    const auto months = divide(a.months, b);
    return in_range(months ? MonthsDuration::of_months(*months) : std::nullopt);
  }
  template <class A, class B>
  Answer operator()(const A&, const B&) const {
    return Fault::kKinds;
  }
};

struct Power {
  Answer operator()(const Decimal& a, const Decimal& b) const {
    const auto exponent = b.as_integer();
    if (!exponent) return Fault::kExponent;
    if (a.is_zero() && *exponent < 0) return Fault::kZero;
    return in_range(power(a, *exponent));
  }
  template <class A, class B>
  Answer operator()(const A&, const B&) const {
    return Fault::kKinds;
  }
};

struct Opposite {
  Answer operator()(const Decimal& value) const { return in_range(subtract(Decimal(), value)); }
  Answer operator()(const DaysDuration& value) const { return Value(DaysDuration{-value.nanos}); }
  Answer operator()(const MonthsDuration& value) const {
    return Value(MonthsDuration{-value.months});
  }
  template <class T>
  Answer operator()(const T&) const {
    return Fault::kKinds;
  }
};

Answer answer_of(Operator op, const Value& a, const Value& b) {
  switch (op) {
    case Operator::kAdd:
      return std::visit(Sum{1}, a, b);
    case Operator::kSubtract:
      return std::visit(Sum{-1}, a, b);
    case Operator::kMultiply:
      return std::visit(Product(), a, b);
    case Operator::kDivide:
      return std::visit(Quotient(), a, b);
    case Operator::kPower:
      return std::visit(Power(), a, b);
  }
  return Fault::kKinds;
}

std::string_view reason_of(Fault fault) {
  switch (fault) {
    case Fault::kKinds:
      return "is not defined for values of these kinds";
    case Fault::kRange:
      return "is out of range";
    case Fault::kZero:
      return "divides by zero";
    case Fault::kOffsets:
      return "has no answer: one of the two has an offset or a zone, and the other has not the "
             "same";
    case Fault::kExponent:
      return "has no answer: an exponent is a whole number";
  }
  return {};
}

std::string shown(const Value& value) { return base::excerpt(to_json(value), 40); }

Result<Value> result_of(Answer answer, const std::string& calculation) {
  if (auto* value = std::get_if<Value>(&answer)) return std::move(*value);
  const Fault fault = *std::get_if<Fault>(&answer);
  std::string text = calculation + ' ' + std::string(reason_of(fault));
  return fault == Fault::kKinds ? base::call_error(std::move(text))
                                : base::input_error(std::move(text));
}

}  // namespace

std::string_view sign_of(Operator op) {
  static constexpr std::array<std::string_view, 5> kSigns = {"+", "-", "*", "/", "**"};
  return kSigns[static_cast<size_t>(op)];
}

Result<Value> calculate(Operator op, const Value& a, const Value& b) {
  if (is_null(a) || is_null(b)) return Value();
  Answer answer = answer_of(op, a, b);
  if (auto* value = std::get_if<Value>(&answer)) return std::move(*value);
  return result_of(std::move(answer), shown(a) + ' ' + std::string(sign_of(op)) + ' ' + shown(b));
}

Result<Value> opposite(const Value& value) {
  if (is_null(value)) return Value();
  return result_of(std::visit(Opposite(), value), "-(" + shown(value) + ')');
}

}  // namespace girdle::policy
