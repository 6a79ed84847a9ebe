// The 16-bit CRCs of the RevEng catalogue of parametrised CRC algorithms
// (reveng.sourceforge.io/crc-catalogue), by name.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <string_view>

namespace girdle::framing {

// In the catalogue's own terms: Williams' model, `init` and `poly` with the highest power first.
struct Crc16Parameters {
  std::string_view name;  // "CRC-16/MODBUS"
  uint16_t poly;
  uint16_t init;
  bool refin;
  bool refout;
  uint16_t xorout;
};

// The whole catalogue, by name.
std::span<const Crc16Parameters> crc16_catalogue();

// Case does not matter. Null for a name that is not in the catalogue. Lives as long as the program.
const Crc16Parameters* find_crc16(std::string_view name);

class Crc16 {
 public:
  explicit Crc16(const Crc16Parameters& parameters);
  uint16_t of(std::string_view bytes) const;

 private:
  Crc16Parameters parameters_;
  std::array<uint16_t, 256> table_;
};

}  // namespace girdle::framing
