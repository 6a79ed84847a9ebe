// Byte 0: the limit and the split; byte 1: marks and check; the rest is the stream.
#include "fuzz_framer.h"

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  if (size < 2) return 0;
  static constexpr const char* kStarts[] = {"\x02", "$", "\x02\x02", "*"};
  static constexpr const char* kEnds[] = {"\x03", "*", "\r\n", "*"};
  static constexpr const char* kChecks[] = {"", "xor8", "sum8-hex", "CRC-32/ISO-HDLC"};
  girdle::config::Framing settings;
  settings.kind = girdle::config::Framing::Kind::kBlock;
  settings.max_bytes = 1 + data[0] % 64;
  settings.start = kStarts[data[1] & 3];
  settings.end = kEnds[data[1] & 3];
  settings.check = kChecks[data[1] >> 2 & 3];
  settings.check_hex = data[1] >> 4 & 1;
  settings.check_low_byte_first = data[1] >> 5 & 1;
  settings.check_with_start = data[1] >> 6 & 1;
  settings.check_with_end = data[1] >> 7 & 1;
  girdle::framing::fuzz_framer(settings, {reinterpret_cast<const char*>(data) + 2, size - 2},
                               data[0]);
  return 0;
}
