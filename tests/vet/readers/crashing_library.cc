// Crashes when it is loaded.
#include <girdle/reader.h>

#include <cstdlib>

static const bool kCrashed = (std::abort(), true);

girdle_status girdle_reader_negotiate(uint32_t, uint32_t, uint32_t*) {
  return kCrashed ? GIRDLE_OK : GIRDLE_UNSUPPORTED;
}
const girdle_reader_descriptor* girdle_reader_descriptor_at(uint32_t) { return nullptr; }
