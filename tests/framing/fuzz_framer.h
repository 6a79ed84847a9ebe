// What holds for every framer and every stream: any split gives the same, and nothing is longer
// than the limit allows.
#pragma once

#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "recorder.h"

namespace girdle::framing {

// `seed` chooses where the stream is split.
inline void fuzz_framer(const config::Framing& settings, std::string_view stream, uint8_t seed) {
  const auto whole = cut(settings, stream);
  const size_t longest = settings.max_bytes + settings.start.size() + settings.end.size() + 8;
  uint64_t offset = 0;
  for (const Said& one : whole) {
    if (one.bytes.size() > longest || one.stream_offset < offset ||
        one.stream_offset > stream.size())
      std::abort();
    if (one.is_frame != one.reason.empty()) std::abort();
    offset = one.stream_offset;
  }
  std::vector<size_t> places;
  for (size_t at = seed % 7 + 1; at < stream.size(); at += (seed * at) % 13 + 1)
    places.push_back(at);
  if (cut_at(settings, stream, places) != whole) std::abort();
}

}  // namespace girdle::framing
