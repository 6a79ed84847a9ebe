// Two functions that lie: about versions, and about descriptors. And exports more.
#include <girdle/reader.h>

__attribute__((visibility("default"))) int liar_says_more = 1;

girdle_status girdle_reader_negotiate(uint32_t host_min, uint32_t, uint32_t* chosen) {
  *chosen = 1;
  return host_min > 1 ? (host_min == 2 ? GIRDLE_OK : GIRDLE_UNSUPPORTED) : GIRDLE_OK;
}

namespace {
girdle_reader* create(const girdle_reader_host*, const girdle_reader_setup*) { return nullptr; }
girdle_status feed(girdle_reader*, const void*, size_t) { return GIRDLE_OK; }
girdle_status finish(girdle_reader*) { return GIRDLE_OK; }
uint64_t consumed(const girdle_reader*) { return 0; }
girdle_status save(girdle_reader*, girdle_text*) { return GIRDLE_OK; }
void destroy(girdle_reader*) {}
const void* extension(const char*) { return "yes"; }

girdle_reader_descriptor told[3];
unsigned calls = 0;
}  // namespace

const girdle_reader_descriptor* girdle_reader_descriptor_at(uint32_t) {
  girdle_reader_descriptor& next = told[calls++ % 3];
  next = {sizeof next, 3,        "liar", "0.2.0", create,   feed,
          finish,      consumed, save,   destroy, extension};
  return &next;
}
