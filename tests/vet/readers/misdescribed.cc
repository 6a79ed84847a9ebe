// Libraries whose descriptors are wrong, each in its own way: MISDEED says in which. None of them
// is ever asked for a reader.
#include <girdle/reader.h>

enum Misdeed { kShort, kNameless, kTwins, kUnlinked, kOddAnswer };

#if defined(CALLS_NOWHERE)
extern "C" void girdle_test_function_that_is_nowhere();
#endif

girdle_status girdle_reader_negotiate(uint32_t host_min, uint32_t host_max, uint32_t* chosen) {
  if (MISDEED == kOddAnswer) return 77;
  if (host_min > GIRDLE_READER_ABI || host_max < GIRDLE_READER_ABI) return GIRDLE_UNSUPPORTED;
  *chosen = GIRDLE_READER_ABI;
  return GIRDLE_OK;
}

namespace {

girdle_reader* create(const girdle_reader_host*, const girdle_reader_setup*) {
#if defined(CALLS_NOWHERE)
  girdle_test_function_that_is_nowhere();
#endif
  return nullptr;
}
girdle_status feed(girdle_reader*, const void*, size_t) { return GIRDLE_OK; }
girdle_status finish(girdle_reader*) { return GIRDLE_OK; }
uint64_t consumed(const girdle_reader*) { return 0; }
girdle_status save(girdle_reader*, girdle_text*) { return GIRDLE_OK; }
void destroy(girdle_reader*) {}
const void* extension(const char*) { return nullptr; }

constexpr uint32_t kSize = MISDEED == kShort ? 8 : sizeof(girdle_reader_descriptor);
constexpr const char* kName = MISDEED == kNameless ? nullptr : "misdescribed";
constexpr girdle_reader_descriptor kReaders[] = {
    {kSize, 0, kName, "0.1.0", create, feed, finish, consumed, save, destroy, extension},
    {kSize, 0, kName, "0.1.0", create, feed, finish, consumed, save, destroy, extension}};

}  // namespace

const girdle_reader_descriptor* girdle_reader_descriptor_at(uint32_t index) {
  return index < (MISDEED == kTwins ? 2 : 1) ? &kReaders[index] : nullptr;
}
