// A reader that speaks another version of the ABI only.
#include <girdle/reader.h>

girdle_status girdle_reader_negotiate(uint32_t host_min, uint32_t, uint32_t* chosen) {
  if (host_min < 9) return GIRDLE_UNSUPPORTED;
  *chosen = 9;
  return GIRDLE_OK;
}

const girdle_reader_descriptor* girdle_reader_descriptor_at(uint32_t) { return nullptr; }
