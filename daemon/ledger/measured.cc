#include "ledger/measured.h"

#include <cassert>

namespace girdle::ledger {
namespace {

// Small numbers of either sign become small numbers: 0, -1, 1, -2 … are 0, 1, 2, 3 …
uint64_t zig_zag(Number difference) {
  return (static_cast<uint64_t>(difference) << 1) ^ static_cast<uint64_t>(difference >> 63);
}

Number from_zig_zag(uint64_t value) { return static_cast<Number>(value >> 1) ^ -static_cast<Number>(value & 1); }

// Seven bits a byte, the lowest first; the highest bit says that more follow.
void put_varint(std::string& out, uint64_t value) {
  for (; value >= 0x80; value >>= 7) out += static_cast<char>(value | 0x80);
  out += static_cast<char>(value);
}

// Takes it off the front of `bytes`. False for one that is cut off, too large, or longer than it has to be.
bool take_varint(std::string_view& bytes, uint64_t& value) {
  value = 0;
  for (int shift = 0; shift < 64 && !bytes.empty(); shift += 7) {
    const auto byte = static_cast<unsigned char>(bytes.front());
    bytes.remove_prefix(1);
    const uint64_t bits = byte & 0x7f;
    if ((bits << shift) >> shift != bits) return false;
    value |= bits << shift;
    if (byte < 0x80) return byte != 0 || shift == 0;
  }
  return false;
}

// The number that lies so far from another positive one; 0 where that is no positive number.
Number at_distance(Number from, uint64_t zig_zag_distance) {
  const auto distance = static_cast<uint64_t>(from_zig_zag(zig_zag_distance));
  const auto number = static_cast<Number>(static_cast<uint64_t>(from) + distance);
  return number > 0 ? number : 0;
}

}  // namespace

std::string pack_measured(const std::vector<Measured>& measured) {
  std::string out;
  Number before = 0;
  for (const Measured& m : measured) {
    assert(m.reading > 0 && m.second >= 0);
    put_varint(out, zig_zag(m.reading - before));
    // Two positive numbers are never so far from each other that the 1 does not fit.
    put_varint(out, m.second == 0 ? 0 : 1 + zig_zag(m.second - m.reading));
    before = m.reading;
  }
  return out;
}

std::optional<std::vector<Measured>> unpack_measured(std::string_view bytes) {
  std::vector<Measured> measured;
  Number before = 0;
  while (!bytes.empty()) {
    uint64_t reading = 0, second = 0;
    if (!take_varint(bytes, reading) || !take_varint(bytes, second)) return std::nullopt;
    Measured& m = measured.emplace_back();
    m.reading = at_distance(before, reading);
    if (m.reading == 0) return std::nullopt;
    if (second != 0) {
      m.second = at_distance(m.reading, second - 1);
      if (m.second == 0) return std::nullopt;
    }
    before = m.reading;
  }
  return measured;
}

}  // namespace girdle::ledger
