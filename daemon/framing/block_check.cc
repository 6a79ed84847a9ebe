#include "framing/block_check.h"

#include <utility>
#include <vector>

#include "base/text.h"

namespace girdle::framing {
namespace {

std::optional<unsigned> hex_digit(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  return std::nullopt;
}

std::optional<uint8_t> hex_byte(std::string_view digits) {
  const auto high = hex_digit(digits[0]), low = hex_digit(digits[1]);
  if (!high || !low) return std::nullopt;
  return static_cast<uint8_t>(*high << 4 | *low);
}

uint8_t sum8(std::string_view bytes) {
  unsigned sum = 0;
  for (const unsigned char byte : bytes) sum += byte;
  return static_cast<uint8_t>(sum);
}

uint8_t xor8(std::string_view bytes) {
  unsigned value = 0;
  for (const unsigned char byte : bytes) value ^= byte;
  return static_cast<uint8_t>(value);
}

base::Error unknown(std::string_view name) {
  std::vector<std::string_view> names = {"xor8", "neg-sum8", "sum8-hex"};
  for (const CrcParameters& crc : crc_catalogue()) names.push_back(crc.name);
  std::string text =
      "check \"" + base::excerpt(name) +
      "\" is not known: xor8, neg-sum8, sum8-hex, or a name of the CRC catalogue such as "
      "CRC-16/MODBUS";
  const std::string_view near = base::nearest(name, names);
  if (!near.empty()) text += "; did you mean " + std::string(near) + "?";
  return base::input_error(std::move(text));
}

}  // namespace

BlockCheck::BlockCheck(Kind kind, std::string name, bool hex, bool low_byte_first,
                       std::optional<Crc> crc)
    : kind_(kind),
      name_(std::move(name)),
      width_(crc ? (crc->width() + 7) / 8 : 1),
      hex_(hex),
      low_byte_first_(low_byte_first),
      crc_(std::move(crc)) {}

base::Result<BlockCheck> BlockCheck::create(std::string_view name, bool hex, bool low_byte_first) {
  if (name == "xor8") return BlockCheck(Kind::kXor8, "xor8", hex, false, std::nullopt);
  if (name == "neg-sum8") return BlockCheck(Kind::kNegSum8, "neg-sum8", hex, false, std::nullopt);
  if (name == "sum8-hex") return BlockCheck(Kind::kSum8, "sum8-hex", true, false, std::nullopt);
  const CrcParameters* const crc = find_crc(name);
  if (crc == nullptr) return unknown(name);
  return BlockCheck(Kind::kCrc, std::string(crc->name), hex, low_byte_first, Crc(*crc));
}

uint64_t BlockCheck::of(std::string_view bytes) const {
  switch (kind_) {
    case Kind::kXor8:
      return xor8(bytes);
    case Kind::kNegSum8:
      return static_cast<uint8_t>(-sum8(bytes));
    case Kind::kSum8:
      return sum8(bytes);
    case Kind::kCrc:
      return crc_->of(bytes);
  }
  return 0;
}

std::optional<uint64_t> BlockCheck::read(std::string_view written) const {
  uint64_t value = 0;
  for (size_t i = 0; i < width_; ++i) {
    const size_t at = low_byte_first_ ? width_ - 1 - i : i;
    const auto byte = hex_ ? hex_byte(written.substr(2 * at, 2))
                           : std::optional(static_cast<uint8_t>(written[at]));
    if (!byte) return std::nullopt;
    value = value << 8 | *byte;
  }
  return value;
}

std::string BlockCheck::text(uint64_t value) const {
  static constexpr char kDigits[] = "0123456789ABCDEF";
  std::string out = "0x";
  for (int shift = static_cast<int>(width_) * 8 - 4; shift >= 0; shift -= 4)
    out += kDigits[value >> shift & 15];
  return out;
}

}  // namespace girdle::framing
