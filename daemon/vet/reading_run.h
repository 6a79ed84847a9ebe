// A document read from its first byte to its end, in one way or another.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "vet/checks.h"

namespace girdle::vet {

// Where a document is cut, in ascending order.
using Cuts = std::vector<size_t>;

Cuts every(size_t step, size_t size);  // step, 2 * step, …

// Fed in pieces, then finished. Nothing where the time is over, or where the reader did not come to
// the end (which was told).
std::optional<Heard> read_in_pieces(const Bench& bench, const Terms& terms, std::string_view bytes,
                                    const Cuts& cuts);
inline std::optional<Heard> read_whole(const Bench& bench, const Terms& terms,
                                       std::string_view bytes) {
  return read_in_pieces(bench, terms, bytes, {});
}

// As a document that grows: at each cut the reader is saved and ended, and another goes on where it
// was, from its `consumed` on. Without layouts, which count within one reader's life.
std::optional<Heard> read_growing(const Bench& bench, const Terms& terms, std::string_view bytes,
                                  const Cuts& cuts);

// "…, and read whole" etc.: tells what the first difference is, if there is one.
bool expect_same(const Bench& bench, std::string_view rule, const std::optional<Heard>& expected,
                 const std::optional<Heard>& heard, std::string_view right);

// Places worth a cut: all of a small document; else those around records, and others by chance, the
// same ones each time.
Cuts places(const Heard& whole, size_t size, size_t most);

constexpr size_t kSmall = 2048;

}  // namespace girdle::vet
