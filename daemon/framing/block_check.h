// Block checks of framed lines: what is computed over a frame, and how it is written behind the
// frame's end.
//
// "LRC" and "BCC" name several algorithms; ours say which: `xor8` (exclusive or of the bytes),
// `neg-sum8` (two's complement of their sum), `sum8-hex` (their sum modulo 256, always as two
// hexadecimal digits), and every name of the CRC catalogue in crc.h ("CRC-16/MODBUS",
// "crc-32/iso-hdlc"). A CRC takes as many bytes as its bits fill; one of 15 bits takes two, its
// value in the lower bits.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "base/result.h"
#include "framing/crc.h"

namespace girdle::framing {

class BlockCheck {
 public:
  // `hex`: written as hexadecimal digits of either case; else as bytes. The error names a near
  // name.
  static base::Result<BlockCheck> create(std::string_view name, bool hex, bool low_byte_first);

  uint64_t of(std::string_view bytes) const;

  // How many bytes the check takes on the line.
  size_t length() const { return hex_ ? 2 * width_ : width_; }

  // The value written in exactly length() bytes; nothing when these are not hexadecimal digits.
  std::optional<uint64_t> read(std::string_view written) const;

  // "0x50", "0x4B37": for texts. All digits of its bytes.
  std::string text(uint64_t value) const;
  const std::string& name() const { return name_; }

 private:
  enum class Kind { kXor8, kNegSum8, kSum8, kCrc };
  BlockCheck(Kind kind, std::string name, bool hex, bool low_byte_first, std::optional<Crc> crc);

  Kind kind_;
  std::string name_;
  size_t width_;  // bytes of the value
  bool hex_;
  bool low_byte_first_;
  std::optional<Crc> crc_;
};

}  // namespace girdle::framing
