// Documents whose rows cannot be found in their own bytes are made UTF-8 first: UTF-16, and code
// pages of more than one byte a character, in which a byte that looks like a mark may be half of a
// letter.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "delimited/encoding.h"

namespace girdle::delimited {

// Text comes out alike however the bytes are cut into calls. What cannot be decoded comes out as
// bytes that is_utf8 refuses, so that the row which holds it is refused, and only that; line ends
// are never lost in it.
class Decoder {
 public:
  virtual ~Decoder() = default;

  // The UTF-8 of these bytes and of what was kept of those before; the beginning of a character is
  // kept. Valid until the next call.
  virtual std::string_view decode(std::string_view bytes) = 0;
  // No more will come.
  virtual std::string_view finish() = 0;
  // How many bytes of the document a part of the text came from. The part lies in what the last
  // call gave, and is cut between characters.
  virtual uint64_t source_bytes(std::string_view part) const = 0;
};

class Utf16Text final : public Decoder {
 public:
  explicit Utf16Text(bool big_endian) : decoder_(big_endian) {}
  std::string_view decode(std::string_view bytes) override;
  std::string_view finish() override;
  uint64_t source_bytes(std::string_view part) const override { return utf16_bytes(part); }

 private:
  Utf16Decoder decoder_;
  std::string text_;
};

}  // namespace girdle::delimited
