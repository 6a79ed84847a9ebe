#include "base/decimal.h"

#include <algorithm>
#include <array>
#include <limits>

namespace girdle::base {
namespace {

using Wide = __int128;
using Unsigned = unsigned __int128;

constexpr Wide power_of_ten(int n) {
  Wide value = 1;
  while (n-- > 0) value *= 10;
  return value;
}

constexpr Wide kLimit = power_of_ten(Decimal::kDigits);

constexpr auto kPowersOfTen = [] {
  std::array<Wide, 39> powers{};
  for (int n = 0; n < 39; ++n) powers[static_cast<size_t>(n)] = power_of_ten(n);
  return powers;
}();

constexpr Unsigned magnitude(Wide value) {
  return value < 0 ? Unsigned(0) - static_cast<Unsigned>(value) : static_cast<Unsigned>(value);
}

int digits_of(Wide value) {
  int digits = 1;
  Unsigned rest = magnitude(value);
  for (; rest > std::numeric_limits<uint64_t>::max(); rest /= 10) ++digits;
  for (auto small = static_cast<uint64_t>(rest) / 10; small > 0; small /= 10) ++digits;
  return digits;
}

// value × 10^n, when it stays under 10^38.
std::optional<Wide> scaled(Wide value, int n) {
  if (value == 0) return Wide(0);
  if (n == 0) return value;
  if (n > 38 || digits_of(value) + n > 38) return std::nullopt;
  return value * kPowersOfTen[static_cast<size_t>(n)];
}

}  // namespace

// "0.53", "-12", "100": what files are full of. Nothing found in anything else, and in what has more digits than 64
// bits hold: the long way looks at it.
inline Decimal::Short Decimal::parse_short(std::string_view text) {
  Short value;
  const char* at = text.data();
  const char* const end = at + text.size();
  const bool negative = at != end && *at == '-';
  at += negative;
  if (at == end || end - at > 18 || *at == '.') return value;
  const char* point = end;
  for (; at != end; ++at) {
    const unsigned digit = static_cast<unsigned char>(*at) - unsigned{'0'};
    if (digit <= 9) {
      value.coefficient = value.coefficient * 10 + digit;
    } else if (*at == '.' && point == end) {
      point = at;
    } else {
      return value;
    }
  }
  value.found = true;
  if (value.coefficient == 0) return value;
  if (point != end) value.exponent = static_cast<int32_t>(point + 1 - end);
  for (; value.coefficient % 10 == 0; value.coefficient /= 10) ++value.exponent;
  if (negative) value.coefficient = -value.coefficient;
  return value;
}

std::optional<Decimal> Decimal::make(__int128 coefficient, int exponent) {
  const Decimal value(coefficient, exponent);
  if (value.coefficient_ >= kLimit || value.coefficient_ <= -kLimit) return std::nullopt;
  if (value.exponent_ > kMaxExponent || value.exponent_ < -kMaxExponent) return std::nullopt;
  return value;
}

std::optional<Decimal> Decimal::parse(std::string_view text) {
  if (const Short value = parse_short(text); value.found) return Decimal(value);
  const char* at = text.data();
  const char* const end = at + text.size();
  bool negative = false;
  if (at != end && (*at == '-' || *at == '+')) negative = *at++ == '-';

  Wide coefficient = 0;
  int exponent = 0;
  int digits = 0;  // significant so far
  bool any = false;
  bool after_point = false;
  for (; at != end; ++at) {
    if (*at == '.' && !after_point) {
      after_point = true;
      continue;
    }
    const unsigned digit = static_cast<unsigned char>(*at) - static_cast<unsigned>('0');
    if (digit > 9) break;
    any = true;
    if (digits < 37) {
      coefficient = coefficient * 10 + static_cast<int>(digit);
      if (coefficient != 0) ++digits;
      if (after_point) --exponent;
    } else if (digit != 0) {
      return std::nullopt;  // more digits than we keep
    } else if (!after_point) {
      ++exponent;
    }
    if (exponent < -1000 || exponent > 1000) return std::nullopt;
  }
  if (!any) return std::nullopt;
  if (at != end && (*at == 'e' || *at == 'E')) {
    ++at;
    bool minus = false;
    if (at != end && (*at == '-' || *at == '+')) minus = *at++ == '-';
    if (at == end) return std::nullopt;
    int shift = 0;
    for (; at != end; ++at) {
      const unsigned digit = static_cast<unsigned char>(*at) - static_cast<unsigned>('0');
      if (digit > 9) return std::nullopt;
      shift = std::min(shift * 10 + static_cast<int>(digit), 10000);
    }
    exponent += minus ? -shift : shift;
  }
  if (at != end) return std::nullopt;
  return make(negative ? -coefficient : coefficient, coefficient == 0 ? 0 : exponent);
}

Decimal Decimal::rounded(int places) const {
  const int drop = -exponent_ - places;
  if (drop <= 0) return *this;
  if (drop > 38) return Decimal();
  const Wide unit = kPowersOfTen[static_cast<size_t>(drop)];
  Wide quotient = coefficient_ / unit;
  const Unsigned rest = magnitude(coefficient_ % unit);
  const Unsigned half = magnitude(unit / 2);
  if (rest > half || (rest == half && quotient % 2 != 0)) quotient += coefficient_ < 0 ? -1 : 1;
  return Decimal(quotient, -places);
}

void Decimal::append_to(std::string& out) const {
  char buffer[40];
  char* const end = buffer + sizeof buffer;
  char* at = end;
  Unsigned rest = magnitude(coefficient_);
  if (rest <= std::numeric_limits<uint64_t>::max()) {  // 128-bit division costs ten times as much
    uint64_t small = static_cast<uint64_t>(rest);
    do {
      *--at = static_cast<char>('0' + small % 10);
      small /= 10;
    } while (small > 0);
  } else {
    do {
      *--at = static_cast<char>('0' + static_cast<int>(rest % 10));
      rest /= 10;
    } while (rest > 0);
  }
  const auto digits = static_cast<size_t>(end - at);
  if (coefficient_ < 0) out += '-';
  if (exponent_ >= 0) {
    out.append(at, digits);
    out.append(static_cast<size_t>(exponent_), '0');
    return;
  }
  const auto after = static_cast<size_t>(-exponent_);
  if (digits > after) {
    out.append(at, digits - after);
    out += '.';
    out.append(at + (digits - after), after);
  } else {
    out += "0.";
    out.append(after - digits, '0');
    out.append(at, digits);
  }
}

std::string Decimal::text() const {
  std::string out;
  append_to(out);
  return out;
}

std::optional<int64_t> Decimal::as_integer() const {
  if (exponent_ < 0) return std::nullopt;
  const auto value = scaled(coefficient_, exponent_);
  if (!value || *value > std::numeric_limits<int64_t>::max() || *value < std::numeric_limits<int64_t>::min()) {
    return std::nullopt;
  }
  return static_cast<int64_t>(*value);
}

double Decimal::approximate() const {
  double value = static_cast<double>(coefficient_);
  for (int n = exponent_; n > 0; --n) value *= 10;
  double divisor = 1;
  for (int n = exponent_; n < 0; ++n) divisor *= 10;
  return value / divisor;
}

std::strong_ordering operator<=>(const Decimal& a, const Decimal& b) {
  const int sign_a = (a.coefficient_ > 0) - (a.coefficient_ < 0);
  const int sign_b = (b.coefficient_ > 0) - (b.coefficient_ < 0);
  if (sign_a != sign_b || sign_a == 0) return sign_a <=> sign_b;
  const int exponent = std::min(a.exponent_, b.exponent_);
  const auto order = [](Wide left, Wide right) {
    return left < right ? std::strong_ordering::less
           : left > right ? std::strong_ordering::greater
                          : std::strong_ordering::equal;
  };
  // Most are short: then the products fit, and nothing has to be counted.
  constexpr int kShortGap = 18;
  const bool are_short = a.coefficient_ == static_cast<int64_t>(a.coefficient_) &&
                         b.coefficient_ == static_cast<int64_t>(b.coefficient_);
  if (are_short && std::max(a.exponent_, b.exponent_) - exponent <= kShortGap) {
    return order(a.coefficient_ * kPowersOfTen[static_cast<size_t>(a.exponent_ - exponent)],
                 b.coefficient_ * kPowersOfTen[static_cast<size_t>(b.exponent_ - exponent)]);
  }
  const auto wide_a = scaled(a.coefficient_, a.exponent_ - exponent);
  const auto wide_b = scaled(b.coefficient_, b.exponent_ - exponent);
  // One that does not fit 38 digits at the common exponent is the larger in magnitude: the other has at most 34.
  if (!wide_a) return sign_a <=> 0;
  if (!wide_b) return 0 <=> sign_b;
  return order(*wide_a, *wide_b);
}

std::optional<Decimal> add(const Decimal& a, const Decimal& b) {
  if (a.is_zero()) return b;
  if (b.is_zero()) return a;
  const int exponent = std::min(a.exponent_, b.exponent_);
  const auto wide_a = scaled(a.coefficient_, a.exponent_ - exponent);
  const auto wide_b = scaled(b.coefficient_, b.exponent_ - exponent);
  if (!wide_a || !wide_b) return std::nullopt;
  return Decimal::make(*wide_a + *wide_b, exponent);  // both under 10^38, the sum fits 128 bits
}

std::optional<Decimal> subtract(const Decimal& a, const Decimal& b) {
  return add(a, Decimal(-b.coefficient_, b.exponent_));
}

std::optional<Decimal> multiply(const Decimal& a, const Decimal& b) {
  if (digits_of(a.coefficient_) + digits_of(b.coefficient_) > 38) return std::nullopt;
  return Decimal::make(a.coefficient_ * b.coefficient_, a.exponent_ + b.exponent_);
}

std::optional<Decimal> divide(const Decimal& a, const Decimal& b) {
  if (b.is_zero()) return std::nullopt;
  if (a.is_zero()) return Decimal();
  // Long division, one digit at a time: the remainder stays under b, so ten times it fits.
  const bool negative = a.is_negative() != b.is_negative();
  const Unsigned divisor = magnitude(b.coefficient_);
  Unsigned rest = magnitude(a.coefficient_);
  Unsigned quotient = rest / divisor;
  rest %= divisor;
  int exponent = a.exponent_ - b.exponent_;
  while (rest != 0 && quotient < magnitude(kLimit) / 10) {
    rest *= 10;
    quotient = quotient * 10 + rest / divisor;
    rest %= divisor;
    --exponent;
  }
  if (rest != 0 && (rest * 2 > divisor || (rest * 2 == divisor && quotient % 2 != 0))) ++quotient;
  const Wide coefficient = static_cast<Wide>(quotient);
  return Decimal::make(negative ? -coefficient : coefficient, exponent);
}

std::optional<__int128> Decimal::scaled_integer(int places) const {
  const Decimal whole = rounded(places);
  if (whole.exponent_ + places < 0) return Wide(0);
  return scaled(whole.coefficient_, whole.exponent_ + places);
}

// coefficient × 10^exponent in 34 digits; `and_a_bit`: the exact value is a little greater than that.
std::optional<Decimal> Decimal::make_rounded(__int128 coefficient, int exponent, bool and_a_bit) {
  const int drop = digits_of(coefficient) - kDigits;
  if (drop <= 0) return make(coefficient, exponent);
  const Wide unit = kPowersOfTen[static_cast<size_t>(drop)];
  Wide quotient = coefficient / unit;
  Wide rest = coefficient % unit;
  if (rest < 0) {
    rest += unit;
    --quotient;
  }
  const Wide half = unit / 2;
  if (rest > half || (rest == half && (and_a_bit || quotient % 2 != 0))) ++quotient;
  return make(quotient, exponent + drop);
}

std::optional<Decimal> rounded_sum(const Decimal& a, const Decimal& b) {
  if (a.is_zero()) return b;
  if (b.is_zero()) return a;
  const Decimal& high = a.exponent_ >= b.exponent_ ? a : b;
  const Decimal& low = a.exponent_ >= b.exponent_ ? b : a;
  const int room = 37 - digits_of(high.coefficient_);
  const int shift = std::min(high.exponent_ - low.exponent_, room);
  const Wide shifted = high.coefficient_ * kPowersOfTen[static_cast<size_t>(shift)];
  const int gap = high.exponent_ - shift - low.exponent_;
  if (gap == 0) return Decimal::make_rounded(shifted + low.coefficient_, low.exponent_, false);
  // Of the lower one only what reaches up, rounded down, and whether anything was left.
  const Wide unit = kPowersOfTen[static_cast<size_t>(std::min(gap, 38))];
  Wide reach = low.coefficient_ / unit;
  const Wide rest = low.coefficient_ % unit;
  if (rest < 0) --reach;
  return Decimal::make_rounded(shifted + reach, high.exponent_ - shift, rest != 0);
}

std::optional<Decimal> rounded_product(const Decimal& a, const Decimal& b) {
  constexpr Unsigned kHalf = static_cast<Unsigned>(power_of_ten(17));
  const bool negative = a.is_negative() != b.is_negative();
  const Unsigned x = magnitude(a.coefficient_), y = magnitude(b.coefficient_);
  // Schoolbook in digits of 10^17: the product is upper × 10^34 + lower.
  const Unsigned middle = x / kHalf * (y % kHalf) + x % kHalf * (y / kHalf);
  Unsigned upper = x / kHalf * (y / kHalf) + middle / kHalf;
  Unsigned lower = middle % kHalf * kHalf + x % kHalf * (y % kHalf);
  upper += lower / magnitude(kLimit);
  lower %= magnitude(kLimit);
  const int exponent = a.exponent_ + b.exponent_;
  const auto signed_value = [&](Unsigned value) {
    return negative ? -static_cast<Wide>(value) : static_cast<Wide>(value);
  };
  if (upper == 0) return Decimal::make(signed_value(lower), exponent);
  const int drop = digits_of(static_cast<Wide>(upper));
  const auto unit = static_cast<Unsigned>(kPowersOfTen[static_cast<size_t>(drop)]);
  Unsigned quotient =
      upper * static_cast<Unsigned>(kPowersOfTen[static_cast<size_t>(Decimal::kDigits - drop)]) + lower / unit;
  const Unsigned rest = lower % unit;
  if (rest > unit / 2 || (rest == unit / 2 && quotient % 2 != 0)) ++quotient;
  return Decimal::make(signed_value(quotient), exponent + drop);
}

std::optional<Decimal> power(const Decimal& base, int64_t exponent) {
  if (base.is_zero() && exponent < 0) return std::nullopt;
  auto left = exponent < 0 ? Unsigned(0) - static_cast<Unsigned>(exponent) : static_cast<Unsigned>(exponent);
  std::optional<Decimal> result = Decimal(1), square = base;
  while (left > 0) {
    if (left % 2 == 1) result = square ? rounded_product(*result, *square) : std::nullopt;
    if (!result) return std::nullopt;
    left /= 2;
    if (left > 0 && square) square = rounded_product(*square, *square);
  }
  return exponent < 0 ? divide(Decimal(1), *result) : result;
}

}  // namespace girdle::base
