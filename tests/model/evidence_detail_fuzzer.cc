// Any bytes as the detail of an outcome's evidence: refused, with the evidence as it was, or read, and then written and
// read again to the same.
#include <cstdlib>

#include "model/evidence.h"

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  using namespace girdle::model;
  Evidence evidence;
  if (!read_detail({reinterpret_cast<const char*>(data), size}, evidence)) {
    if (!(evidence == Evidence())) std::abort();
    return 0;
  }
  const std::string text = evidence_detail(evidence);
  Evidence again;
  if (!read_detail(text, again) || !(again == evidence) || evidence_detail(again) != text) std::abort();
  return 0;
}
