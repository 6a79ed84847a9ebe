// Carats: estimated from a mounted stone's measurements, and stated as the trade states them.
//
// Exact decimals; a metric carat is 0.2 g. Pure.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "base/decimal.h"

namespace girdle::evidence {

enum class Cut : uint8_t { kRound, kOval, kHeart, kMarquise, kPear, kEmerald };

// "round", "oval", "heart", "marquise", "pear", "emerald": exact words; nothing for another.
std::optional<Cut> cut_of(std::string_view word);

// Of the whole stone, in mm: the greatest and the least diameter of a round, length and width of any
// other; and the depth. Each more than 0.
struct Measurements {
  base::Decimal length, width, depth;
};

// How thick the girdle is, as the factor on the weight: 1 for thin to medium, more for thicker.
// Handbooks have tables by shape and width; from 1 to 1.12 (from memory).
struct CaratEstimate {
  base::Decimal carat;
  base::Decimal low, high;  // by error_of()
};

// round, oval: (mean of length and width)² × depth × f; others: length × width × depth × f.
//   round 0.0061, oval 0.0062, heart 0.0059
//   marquise by length : width, at the nearest tabled ratio: 1.50 0.00565, 1.75 0.00570,
//     2.00 0.00580, 2.25 0.00583, 2.50 0.00585, 2.75 0.00590, 3.00 0.00595
//   pear 1.25 0.00615, 1.50 0.00600, 1.66 0.00590, 2.00 0.00575 (from memory)
//   emerald 1.25 0.0080, 1.50 0.0092, 2.00 0.0100, 2.50 0.0106
// Trade formulas for well-made stones, as public pages of the trade print them; those of the
// emerald are quoted second-hand. Nothing where a measurement is not positive, where length is less
// than width (of a shape that is not round), or the result has too many digits.
std::optional<CaratEstimate> estimate_carat(Cut cut, const Measurements& measurements,
                                            const base::Decimal& girdle_factor = 1);

// Relative, to either side, that 95 of 100 estimates keep. Round: 0.03915, measured on the 53,920
// measured stones of the open data set `diamonds` (ggplot2). Others: 0.10, common practice, no
// source.
base::Decimal error_of(Cut cut);

// Whether a declared carat fits the measurements, the girdle being anything from thin to thick:
// from the low end of the estimate with factor 1 to the high end with factor 1.12. Nothing as
// above.
std::optional<bool> is_plausible(const base::Decimal& carat, Cut cut,
                                 const Measurements& measurements);

// With two places; the third rounds up only from 9: 1.768 is stated as 1.76, 1.769 as 1.77. (The
// trade's rule; CIBJO as told by R. Cartier, and laboratories' public pages.) Digits beyond the
// third are cut off first. For display, never for computing.
std::string stated_carat(const base::Decimal& carat);

}  // namespace girdle::evidence
