#include "framing/crc.h"

namespace girdle::framing {
namespace {

constexpr uint64_t kHighest = 1ull << 63;

uint64_t reflected(uint64_t value, unsigned width) {
  uint64_t out = 0;
  for (unsigned bit = 0; bit < width; ++bit) out = out << 1 | (value >> bit & 1);
  return out;
}

// The register of a CRC that is not reflected lies at the upper end of the word, so that one loop
// serves every width, narrower than a byte too.
uint64_t at_upper_end(uint64_t value, unsigned width) { return value << (64 - width); }

uint64_t table_entry(const CrcParameters& crc, uint64_t byte) {
  if (crc.refin) {
    const uint64_t poly = reflected(crc.poly, crc.width);
    for (int bit = 0; bit < 8; ++bit) byte = byte & 1 ? byte >> 1 ^ poly : byte >> 1;
    return byte;
  }
  const uint64_t poly = at_upper_end(crc.poly, crc.width);
  uint64_t value = byte << 56;
  for (int bit = 0; bit < 8; ++bit) value = value & kHighest ? value << 1 ^ poly : value << 1;
  return value;
}

}  // namespace

Crc::Crc(const CrcParameters& parameters) : parameters_(parameters) {
  for (unsigned byte = 0; byte < 256; ++byte) table_[byte] = table_entry(parameters, byte);
}

uint64_t Crc::of(std::string_view bytes) const {
  const unsigned width = parameters_.width;
  uint64_t value;
  if (parameters_.refin) {
    value = reflected(parameters_.init, width);
    for (const unsigned char byte : bytes) value = value >> 8 ^ table_[(value ^ byte) & 0xFF];
  } else {
    value = at_upper_end(parameters_.init, width);
    for (const unsigned char byte : bytes) value = value << 8 ^ table_[(value >> 56 ^ byte) & 0xFF];
    value >>= 64 - width;
  }
  if (parameters_.refin != parameters_.refout) value = reflected(value, width);
  return value ^ parameters_.xorout;
}

}  // namespace girdle::framing
