#include "framing/crc16.h"

#include <algorithm>

namespace girdle::framing {
namespace {

constexpr Crc16Parameters kCatalogue[] = {
    {"CRC-16/ARC", 0x8005, 0x0000, true, true, 0x0000},
    {"CRC-16/CDMA2000", 0xC867, 0xFFFF, false, false, 0x0000},
    {"CRC-16/CMS", 0x8005, 0xFFFF, false, false, 0x0000},
    {"CRC-16/DDS-110", 0x8005, 0x800D, false, false, 0x0000},
    {"CRC-16/DECT-R", 0x0589, 0x0000, false, false, 0x0001},
    {"CRC-16/DECT-X", 0x0589, 0x0000, false, false, 0x0000},
    {"CRC-16/DNP", 0x3D65, 0x0000, true, true, 0xFFFF},
    {"CRC-16/EN-13757", 0x3D65, 0x0000, false, false, 0xFFFF},
    {"CRC-16/GENIBUS", 0x1021, 0xFFFF, false, false, 0xFFFF},
    {"CRC-16/GSM", 0x1021, 0x0000, false, false, 0xFFFF},
    {"CRC-16/IBM-3740", 0x1021, 0xFFFF, false, false, 0x0000},
    {"CRC-16/IBM-SDLC", 0x1021, 0xFFFF, true, true, 0xFFFF},
    {"CRC-16/ISO-IEC-14443-3-A", 0x1021, 0xC6C6, true, true, 0x0000},
    {"CRC-16/KERMIT", 0x1021, 0x0000, true, true, 0x0000},
    {"CRC-16/LJ1200", 0x6F63, 0x0000, false, false, 0x0000},
    {"CRC-16/M17", 0x5935, 0xFFFF, false, false, 0x0000},
    {"CRC-16/MAXIM-DOW", 0x8005, 0x0000, true, true, 0xFFFF},
    {"CRC-16/MCRF4XX", 0x1021, 0xFFFF, true, true, 0x0000},
    {"CRC-16/MODBUS", 0x8005, 0xFFFF, true, true, 0x0000},
    {"CRC-16/NRSC-5", 0x080B, 0xFFFF, true, true, 0x0000},
    {"CRC-16/OPENSAFETY-A", 0x5935, 0x0000, false, false, 0x0000},
    {"CRC-16/OPENSAFETY-B", 0x755B, 0x0000, false, false, 0x0000},
    {"CRC-16/PROFIBUS", 0x1DCF, 0xFFFF, false, false, 0xFFFF},
    {"CRC-16/RIELLO", 0x1021, 0xB2AA, true, true, 0x0000},
    {"CRC-16/SPI-FUJITSU", 0x1021, 0x1D0F, false, false, 0x0000},
    {"CRC-16/T10-DIF", 0x8BB7, 0x0000, false, false, 0x0000},
    {"CRC-16/TELEDISK", 0xA097, 0x0000, false, false, 0x0000},
    {"CRC-16/TMS37157", 0x1021, 0x89EC, true, true, 0x0000},
    {"CRC-16/UMTS", 0x8005, 0x0000, false, false, 0x0000},
    {"CRC-16/USB", 0x8005, 0xFFFF, true, true, 0xFFFF},
    {"CRC-16/XMODEM", 0x1021, 0x0000, false, false, 0x0000},
};

constexpr uint16_t reflected(uint16_t value) {
  uint16_t out = 0;
  for (int bit = 0; bit < 16; ++bit) out = static_cast<uint16_t>(out << 1 | (value >> bit & 1));
  return out;
}

constexpr char upper(char c) { return c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c; }

uint16_t table_entry(const Crc16Parameters& crc, unsigned byte) {
  if (crc.refin) {
    uint16_t value = static_cast<uint16_t>(byte);
    const uint16_t poly = reflected(crc.poly);
    for (int bit = 0; bit < 8; ++bit) {
      value = static_cast<uint16_t>(value & 1 ? value >> 1 ^ poly : value >> 1);
    }
    return value;
  }
  uint16_t value = static_cast<uint16_t>(byte << 8);
  for (int bit = 0; bit < 8; ++bit) {
    value = static_cast<uint16_t>(value & 0x8000 ? value << 1 ^ crc.poly : value << 1);
  }
  return value;
}

}  // namespace

std::span<const Crc16Parameters> crc16_catalogue() { return kCatalogue; }

const Crc16Parameters* find_crc16(std::string_view name) {
  const auto same = [&](const Crc16Parameters& crc) {
    return std::equal(crc.name.begin(), crc.name.end(), name.begin(), name.end(),
                      [](char a, char b) { return upper(a) == upper(b); });
  };
  const auto* found = std::find_if(std::begin(kCatalogue), std::end(kCatalogue), same);
  return found == std::end(kCatalogue) ? nullptr : found;
}

Crc16::Crc16(const Crc16Parameters& parameters) : parameters_(parameters) {
  for (unsigned byte = 0; byte < 256; ++byte) table_[byte] = table_entry(parameters, byte);
}

uint16_t Crc16::of(std::string_view bytes) const {
  // The register is kept reflected when the input is, so that no byte has to be turned round.
  uint16_t value = parameters_.refin ? reflected(parameters_.init) : parameters_.init;
  for (const unsigned char byte : bytes) {
    value = parameters_.refin
                ? static_cast<uint16_t>(value >> 8 ^ table_[(value ^ byte) & 0xFF])
                : static_cast<uint16_t>(value << 8 ^ table_[(value >> 8 ^ byte) & 0xFF]);
  }
  if (parameters_.refin != parameters_.refout) value = reflected(value);
  return value ^ parameters_.xorout;
}

}  // namespace girdle::framing
