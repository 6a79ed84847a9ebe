// Exact decimal numbers: carats, probabilities, money, and the numbers of decision tables (DMN 10.3.2.3.1: 34 digits).
//
// A value is coefficient × 10^exponent, kept in lowest terms: 2.0 and 2.00 are the same value, -0 is 0. There is no
// infinity and no NaN. Never goes through binary floating point and never looks at the locale.
#pragma once

#include <compare>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace girdle::base {

class Decimal {
 public:
  static constexpr int kDigits = 34;
  // Exponents outside ±kMaxExponent are refused: a file may not make us print a million zeros.
  static constexpr int kMaxExponent = 64;

  constexpr Decimal() = default;
  constexpr Decimal(int64_t value) : Decimal(static_cast<__int128>(value), 0) {}  // NOLINT: an integer is a decimal

  // coefficient × 10^exponent. Nothing when the value has more than 34 significant digits or the exponent is out of
  // bounds; excess digits are never dropped silently.
  static std::optional<Decimal> make(__int128 coefficient, int exponent);

  // The whole text: optional sign, digits, optional "." and digits (one side may be empty, not both), optional
  // exponent ("1.2e-3"). No spaces, no group marks.
  static std::optional<Decimal> parse(std::string_view text);

  // Rounded to `places` digits after the point, half to even.
  Decimal rounded(int places) const;

  // Plain notation with the fewest digits, e.g. "0.53", "-12", "100". What is signed and stored.
  std::string text() const;
  void append_to(std::string& out) const;

  constexpr bool is_negative() const { return coefficient_ < 0; }
  constexpr bool is_zero() const { return coefficient_ == 0; }
  bool is_integer() const { return exponent_ >= 0; }
  // The value as an integer, when it is one and fits.
  std::optional<int64_t> as_integer() const;
  // The value × 10^places, rounded half to even, when it stays under 10^38.
  std::optional<__int128> scaled_integer(int places) const;
  // For statistics and plots only, never for what is stored.
  double approximate() const;

  // Exact arithmetic; nothing when the exact result has more than 34 digits.
  friend std::optional<Decimal> add(const Decimal& a, const Decimal& b);
  friend std::optional<Decimal> subtract(const Decimal& a, const Decimal& b);
  friend std::optional<Decimal> multiply(const Decimal& a, const Decimal& b);
  // Rounded half to even to 34 digits; nothing when b is zero.
  friend std::optional<Decimal> divide(const Decimal& a, const Decimal& b);

  // As the standards of decision tables have it (DMN 1.5, Tables 57, 59, 60): results of more than 34 digits are
  // rounded half to even. Nothing when the exponent is out of bounds.
  friend std::optional<Decimal> rounded_sum(const Decimal& a, const Decimal& b);
  friend std::optional<Decimal> rounded_product(const Decimal& a, const Decimal& b);
  // `exponent` whole; each multiplication on the way is rounded. Nothing for zero to a negative exponent.
  friend std::optional<Decimal> power(const Decimal& base, int64_t exponent);

  friend std::strong_ordering operator<=>(const Decimal& a, const Decimal& b);
  friend constexpr bool operator==(const Decimal& a, const Decimal& b) {
    return a.coefficient_ == b.coefficient_ && a.exponent_ == b.exponent_;
  }

 private:
  // In lowest terms already.
  struct Short {
    int64_t coefficient = 0;
    int32_t exponent = 0;
    bool found = false;
  };
  static Short parse_short(std::string_view text);
  static std::optional<Decimal> make_rounded(__int128 coefficient, int exponent, bool and_a_bit);
  explicit Decimal(const Short& value) : coefficient_(value.coefficient), exponent_(value.exponent) {}
  constexpr Decimal(__int128 coefficient, int exponent) : coefficient_(coefficient), exponent_(exponent) { reduce(); }
  constexpr void reduce() {
    if (coefficient_ == 0) {
      exponent_ = 0;
      return;
    }
    // 128-bit division costs ten times as much, and hardly any value needs it.
    while (coefficient_ != static_cast<int64_t>(coefficient_) && coefficient_ % 10 == 0) {
      coefficient_ /= 10;
      ++exponent_;
    }
    if (coefficient_ != static_cast<int64_t>(coefficient_)) return;
    auto small = static_cast<int64_t>(coefficient_);
    for (; small % 10 == 0; small /= 10) ++exponent_;
    coefficient_ = small;
  }

  __int128 coefficient_ = 0;  // |coefficient_| < 10^34, and not divisible by 10 unless 0
  int32_t exponent_ = 0;
};

std::optional<Decimal> add(const Decimal& a, const Decimal& b);
std::optional<Decimal> subtract(const Decimal& a, const Decimal& b);
std::optional<Decimal> multiply(const Decimal& a, const Decimal& b);
std::optional<Decimal> divide(const Decimal& a, const Decimal& b);
std::optional<Decimal> rounded_sum(const Decimal& a, const Decimal& b);
std::optional<Decimal> rounded_product(const Decimal& a, const Decimal& b);
std::optional<Decimal> power(const Decimal& base, int64_t exponent);
std::strong_ordering operator<=>(const Decimal& a, const Decimal& b);

}  // namespace girdle::base
