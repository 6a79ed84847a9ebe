// Any bytes as the list of what an outcome rests on: refused, or the bytes that the list gives.
#include <cstdlib>

#include "ledger/measured.h"

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  const std::string_view bytes(reinterpret_cast<const char*>(data), size);
  const auto measured = girdle::ledger::unpack_measured(bytes);
  if (measured && girdle::ledger::pack_measured(*measured) != bytes) std::abort();
  return 0;
}
