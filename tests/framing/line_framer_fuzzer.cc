// Byte 0: the limit and the split; the rest is the stream.
#include "fuzz_framer.h"

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  if (size < 1) return 0;
  girdle::config::Framing settings;
  settings.max_bytes = 1 + data[0] % 64;
  girdle::framing::fuzz_framer(settings, {reinterpret_cast<const char*>(data) + 1, size - 1},
                               data[0]);
  return 0;
}
