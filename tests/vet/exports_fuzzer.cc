// What a library exports is read from its file, whatever is in that: no crash, and no name that is
// not in the bytes.
#include <cstdint>
#include <cstdlib>

#include "vet/exports.h"

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  const std::string_view bytes(reinterpret_cast<const char*>(data), size);
  const auto names = girdle::vet::exported_names_in(bytes);
  if (!names) return 0;
  for (const std::string& name : *names)
    if (bytes.find(name) == std::string_view::npos) std::abort();
  return 0;
}
