// The opaque bytes of a reader's saved state: numbers and texts one after the other, behind a head
// that says whose state it is. Numbers are eight bytes, least significant first; a text is its
// length and its bytes. A state that was cut, altered, or made by another reader, another version
// of the state or other options is told from a good one.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

namespace girdle::kit {

// FNV-1a, 64 bits (offset basis and prime as published by its authors); tells configurations apart,
// no protection.
class Fingerprint {
 public:
  Fingerprint& add(std::string_view text) {
    for (const char c : text) mix(static_cast<uint8_t>(c));
    mix(0xFF);  // no byte of UTF-8: "ab" "c" differs from "a" "bc"
    return *this;
  }
  uint64_t value() const { return value_; }

 private:
  void mix(uint8_t byte) { value_ = (value_ ^ byte) * 0x100000001b3; }
  uint64_t value_ = 0xcbf29ce484222325;
};

class StateWriter {
 public:
  // `out` is overwritten and lives longer than this.
  StateWriter(std::string& out, uint64_t version, uint64_t fingerprint) : out_(out) {
    out_.clear();
    number(version).number(fingerprint);
  }
  StateWriter& number(uint64_t value) {
    for (int i = 0; i < 8; ++i) out_.push_back(static_cast<char>(value >> (8 * i)));
    return *this;
  }
  StateWriter& text(std::string_view value) {
    number(value.size());
    out_.append(value);
    return *this;
  }

 private:
  std::string& out_;
};

// After a fault every number is 0 and every text empty; done() then says false.
class StateParser {
 public:
  StateParser(std::string_view state, uint64_t version, uint64_t fingerprint) : rest_(state) {
    good_ = number() == version;
    good_ = number() == fingerprint && good_;
  }
  uint64_t number() {
    const std::string_view bytes = take(8);
    uint64_t value = 0;
    for (size_t i = bytes.size(); i > 0; --i)
      value = value << 8 | static_cast<uint8_t>(bytes[i - 1]);
    return value;
  }
  // At most `limit`; more is a fault.
  uint64_t number(uint64_t limit) {
    const uint64_t value = number();
    if (value > limit) good_ = false;
    return good_ ? value : 0;
  }
  bool flag() { return number(1) != 0; }
  std::string_view text() { return take(number()); }
  // All was there, all was right, and nothing is left.
  bool done() const { return good_ && rest_.empty(); }
  bool good() const { return good_; }
  // For the caller, who knows more of what may be there.
  void fail() { good_ = false; }

 private:
  std::string_view take(uint64_t size) {
    if (!good_ || size > rest_.size()) {
      good_ = false;
      return {};
    }
    const std::string_view taken = rest_.substr(0, size);
    rest_.remove_prefix(size);
    return taken;
  }
  std::string_view rest_;
  bool good_ = true;
};

}  // namespace girdle::kit
