// What a scanned GS1 code says: application identifiers and their data, from
// - an element string, as a scanner sends it: with a symbology identifier (]C1, ]d2, ]Q3, ]e0, ]J1;
//   ]E0 and ]E4 of a plain EAN or UPC) or without, FNC1 as the group separator 0x1D (General
//   Specifications, 7.8);
// - its human-readable form, (01)09520123456788(21)12345;
// - a GS1 Digital Link URI (gs1_link.h).
//
// Nothing is guessed. A scanner that works as a keyboard drops the separator: without one, and
// without a symbology identifier, an element of variable length may hold what belongs to the next
// ones. A text in which that may be is refused.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"

namespace girdle::base {

struct Gs1Element {
  std::string code;  // of the application identifier
  std::string data;  // as Gs1Identifier takes them
  bool operator==(const Gs1Element&) const = default;
};

// In the order of the text; each identifier once.
using Gs1Elements = std::vector<Gs1Element>;

// Bytes; no longer text is looked at.
inline constexpr size_t kMaxGs1Text = 8 << 10;

// The error is a clause about the text: "(89) is no application identifier of GS1".
Result<Gs1Elements> read_gs1(std::string_view text);

// Null where there is none.
const std::string* gs1_data(const Gs1Elements& elements, std::string_view code);

}  // namespace girdle::base
