#include "evidence/carat.h"

#include <array>
#include <span>

namespace girdle::evidence {
namespace {

using base::Decimal;

constexpr std::array<std::string_view, 6> kCuts = {"round",    "oval", "heart",
                                                   "marquise", "pear", "emerald"};

Decimal decimal(std::string_view text) { return *Decimal::parse(text); }

// `left` × `right`, or nothing once anything had too many digits.
std::optional<Decimal> times(const std::optional<Decimal>& left, const Decimal& right) {
  return left ? multiply(*left, right) : std::nullopt;
}

struct Factor {
  std::string_view ratio, factor;
};
constexpr Factor kMarquise[] = {{"1.50", "0.00565"}, {"1.75", "0.00570"}, {"2.00", "0.00580"},
                                {"2.25", "0.00583"}, {"2.50", "0.00585"}, {"2.75", "0.00590"},
                                {"3.00", "0.00595"}};
constexpr Factor kPear[] = {
    {"1.25", "0.00615"}, {"1.50", "0.00600"}, {"1.66", "0.00590"}, {"2.00", "0.00575"}};
constexpr Factor kEmerald[] = {
    {"1.25", "0.0080"}, {"1.50", "0.0092"}, {"2.00", "0.0100"}, {"2.50", "0.0106"}};

// That of the nearest ratio; of two as near, the smaller ratio's.
std::optional<Decimal> factor_at(std::span<const Factor> table, const Decimal& ratio) {
  std::optional<Decimal> nearest, factor;
  for (const Factor& row : table) {
    auto distance = subtract(ratio, decimal(row.ratio));
    if (distance && distance->is_negative()) distance = subtract(decimal(row.ratio), ratio);
    if (!distance) return std::nullopt;
    if (nearest && *distance >= *nearest) continue;
    nearest = distance;
    factor = decimal(row.factor);
  }
  return factor;
}

std::optional<Decimal> factor_of(Cut cut, const Measurements& m) {
  switch (cut) {
    case Cut::kRound:
      return decimal("0.0061");
    case Cut::kOval:
      return decimal("0.0062");
    case Cut::kHeart:
      return decimal("0.0059");
    case Cut::kMarquise:
    case Cut::kPear:
    case Cut::kEmerald:
      break;
  }
  const auto ratio = divide(m.length, m.width);
  if (!ratio) return std::nullopt;
  if (cut == Cut::kMarquise) return factor_at(kMarquise, *ratio);
  return cut == Cut::kPear ? factor_at(kPear, *ratio) : factor_at(kEmerald, *ratio);
}

// In mm².
std::optional<Decimal> face_of(Cut cut, const Measurements& m) {
  if (cut != Cut::kRound && cut != Cut::kOval) return multiply(m.length, m.width);
  const auto mean = times(add(m.length, m.width), decimal("0.5"));
  return mean ? multiply(*mean, *mean) : std::nullopt;
}

bool is_positive(const Decimal& value) { return !value.is_zero() && !value.is_negative(); }

}  // namespace

std::optional<Cut> cut_of(std::string_view word) {
  for (size_t i = 0; i < kCuts.size(); ++i) {
    if (kCuts[i] == word) return static_cast<Cut>(i);
  }
  return std::nullopt;
}

Decimal error_of(Cut cut) { return decimal(cut == Cut::kRound ? "0.03915" : "0.10"); }

std::optional<CaratEstimate> estimate_carat(Cut cut, const Measurements& m,
                                            const Decimal& girdle_factor) {
  const bool measured = is_positive(m.length) && is_positive(m.width) && is_positive(m.depth);
  if (!measured || (cut != Cut::kRound && m.length < m.width)) return std::nullopt;
  const auto factor = factor_of(cut, m);
  if (!factor) return std::nullopt;
  const auto carat = times(times(times(face_of(cut, m), m.depth), *factor), girdle_factor);
  const auto low = times(carat, *subtract(1, error_of(cut)));
  const auto high = times(carat, *add(1, error_of(cut)));
  if (!carat || !low || !high) return std::nullopt;
  return CaratEstimate{*carat, *low, *high};
}

std::optional<bool> is_plausible(const Decimal& carat, Cut cut, const Measurements& m) {
  const auto thin = estimate_carat(cut, m, 1);
  const auto thick = estimate_carat(cut, m, decimal("1.12"));
  if (!thin || !thick) return std::nullopt;
  return thin->low <= carat && carat <= thick->high;
}

std::string stated_carat(const Decimal& carat) {
  const int64_t thousandths = [&] {
    const auto scaled = multiply(carat, 1000);
    if (!scaled) return int64_t{0};
    Decimal whole = scaled->rounded(0);
    if (whole > *scaled) whole = *subtract(whole, 1);
    return whole.as_integer().value_or(0);
  }();
  const int64_t hundredths = (thousandths + 1) / 10;
  std::string places = std::to_string(hundredths % 100);
  if (places.size() == 1) places.insert(places.begin(), '0');
  return std::to_string(hundredths / 100) + '.' + places;
}

}  // namespace girdle::evidence
