// What fuzzers hold a reader to: no breach of the contract, and the same from any split.
#pragma once

#include <cstdio>
#include <cstdlib>
#include <string>

#include "plugins/test_host.h"

namespace girdle::plugins_test {

inline void hold(bool holds, const char* what, const Heard& heard) {
  if (holds) return;
  std::fprintf(stderr, "%s\n%s", what, heard.text().c_str());
  std::abort();
}

// The whole input is the document, so that those of the corpus are what they are; its end and its
// size choose among `choices`, and where it is cut.
inline void fuzz(const girdle_reader_descriptor& reader, std::string_view bytes,
                 const std::vector<Options>& choices) {
  if (bytes.empty()) return;
  const auto choice = static_cast<uint8_t>(bytes.back() + bytes.size());
  const auto place = static_cast<uint8_t>(bytes[bytes.size() / 2] + bytes.size());
  const Options& options = choices[choice % choices.size()];
  const Limits limits = {choice & 0x80 ? uint64_t{64} : uint64_t{1} << 20, 20};
  const Heard whole = read(reader, {bytes}, options, true, limits);
  for (const std::string& breach : whole.breaches) hold(false, breach.c_str(), whole);
  hold(whole.status == GIRDLE_OK, "failed", whole);
  const Heard split = read(reader, pieces_of(bytes, 1 + place % 40), options, true, limits);
  hold(split.text() == whole.text(), "another split, another result", split);
  const Heard growing = read_growing(reader, bytes, {bytes.size() * place / 256}, options, limits);
  hold(growing.text() == whole.text(), "grown, another result", growing);
}

}  // namespace girdle::plugins_test
