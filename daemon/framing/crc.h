// The CRCs of the RevEng catalogue of parametrised CRC algorithms
// (reveng.sourceforge.io/crc-catalogue), by name: all of 3 to 64 bits. The one of 82 bits is left
// out, for no line that we may meet has it.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <string_view>

namespace girdle::framing {

// In the catalogue's own terms: Williams' model, `init` and `poly` with the highest power first.
struct CrcParameters {
  std::string_view name;  // "CRC-16/MODBUS"
  unsigned width;         // bits
  uint64_t poly;
  uint64_t init;
  bool refin;
  bool refout;
  uint64_t xorout;
};

// In the order of widths, and of names within a width.
std::span<const CrcParameters> crc_catalogue();

// Case does not matter. Null for a name that is not in the catalogue. Lives as long as the program.
const CrcParameters* find_crc(std::string_view name);

class Crc {
 public:
  explicit Crc(const CrcParameters& parameters);
  uint64_t of(std::string_view bytes) const;
  unsigned width() const { return parameters_.width; }

 private:
  CrcParameters parameters_;
  std::array<uint64_t, 256> table_;
};

}  // namespace girdle::framing
