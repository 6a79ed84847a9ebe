#include "vet/loaded.h"

#include <dlfcn.h>

#include <string_view>

namespace girdle::vet {
namespace {

template <class Function>
Function symbol(void* library, const char* name) {
  return reinterpret_cast<Function>(dlsym(library, name));
}

bool is_whole(const girdle_reader_descriptor& descriptor) {
  return descriptor.size >= sizeof descriptor && descriptor.name != nullptr && descriptor.create &&
         descriptor.feed && descriptor.finish && descriptor.consumed && descriptor.save &&
         descriptor.destroy;
}

}  // namespace

std::vector<const girdle_reader_descriptor*> descriptors(Trial& trial, const Loaded& loaded) {
  std::vector<const girdle_reader_descriptor*> all;
  for (uint32_t i = 0; i < kMostReaders; ++i) {
    const InCall call(trial, Call::kDescriptorAt);
    const girdle_reader_descriptor* const descriptor = loaded.descriptor_at(i);
    if (!descriptor) break;
    all.push_back(descriptor);
  }
  return all;
}

Loaded load(Trial& trial, const reading::Manifest& manifest) {
  Loaded loaded;
  void* library = nullptr;
  {
    const InCall call(trial, Call::kLoad);
    library = dlopen(manifest.library.c_str(), RTLD_NOW | RTLD_LOCAL);
  }
  if (!library) {
    const char* const why = dlerror();
    loaded.error = why ? why : "no reason given";
    return loaded;
  }
  loaded.negotiate = symbol<decltype(loaded.negotiate)>(library, "girdle_reader_negotiate");
  loaded.descriptor_at =
      symbol<decltype(loaded.descriptor_at)>(library, "girdle_reader_descriptor_at");
  if (!loaded.negotiate || !loaded.descriptor_at) {
    loaded.error = "it does not export both functions";
    return loaded;
  }
  for (const girdle_reader_descriptor* descriptor : descriptors(trial, loaded)) {
    if (is_whole(*descriptor) && manifest.name == descriptor->name) loaded.descriptor = descriptor;
  }
  if (!loaded.descriptor) loaded.error = "it has no whole descriptor " + manifest.name;
  return loaded;
}

}  // namespace girdle::vet
