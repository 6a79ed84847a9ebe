// A library that does something as soon as it is loaded: GIRDLE_DEED.
#include <girdle/reader.h>

#include "misdeeds.h"

namespace {

const bool kDone = [] {
  girdle::misdeeds::commit(GIRDLE_DEED);
  return true;
}();

}  // namespace

girdle_status girdle_reader_negotiate(uint32_t, uint32_t host_max, uint32_t* chosen) {
  *chosen = host_max;
  return kDone ? GIRDLE_OK : GIRDLE_UNSUPPORTED;
}

const girdle_reader_descriptor* girdle_reader_descriptor_at(uint32_t) { return nullptr; }
