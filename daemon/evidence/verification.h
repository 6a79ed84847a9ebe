// How well an instrument does on stones whose identity is known, in the trade's terms, and how sure
// that is.
//
// A "false positive" of the trade's test programmes is a laboratory-grown stone passed as natural.
// The word misleads elsewhere, so it is called a miss here, and on every screen. Definitions: public
// descriptions of the trade's test programme for verification instruments.
//
// Pure.
#pragma once

#include <cstdint>
#include <string>

#include "evidence/confusion.h"
#include "evidence/proportion.h"

namespace girdle::evidence {

struct Rate {
  int64_t hits = 0, trials = 0;
  Interval interval;  // exact, two-sided
  double upper = 1;   // exact, one-sided: what "none" means
};

struct Verification {
  Rate miss;      // laboratory-grown stones said to be natural, of all laboratory-grown ones
  Rate referral;  // natural stones of which the instrument cannot tell, of all natural ones
  Rate accuracy;  // natural stones said to be natural, of all natural ones
  Rate wrongly_suspected;  // natural stones said to be something else, of all natural ones
};

// Without a stone of a kind its rates are 0 of 0 and their intervals [0, 1].
Verification verification(const ConfusionCounts& counts, double confidence);

// For people: "3 of 200 (1.5 %; 0.3 % to 4.3 %)". None is never shown as zero: "none of 200 (at most
// 1.5 %)". Per cent with one decimal, upper ends rounded up.
std::string in_words(const Rate& rate);

}  // namespace girdle::evidence
