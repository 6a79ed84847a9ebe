#include "reading/library.h"

#include <dlfcn.h>

#include <string>
#include <vector>

#include "base/text.h"

namespace girdle::reading {
namespace {

using base::Error;
using base::input_error;
using base::Result;
using Descriptor = girdle_reader_descriptor;

constexpr uint32_t kMaxReaders = 64;  // looked at in one library

Error wrong(const Manifest& manifest, const std::string& why) {
  return input_error("reader " + manifest.name + ": " + manifest.library.string() + ' ' + why);
}

}  // namespace

const char* function_left_out(const Descriptor& descriptor) {
  if (!descriptor.create) return "create";
  if (!descriptor.feed) return "feed";
  if (!descriptor.finish) return "finish";
  if (!descriptor.consumed) return "consumed";
  if (!descriptor.save) return "save";
  if (!descriptor.destroy) return "destroy";
  return nullptr;
}

namespace {

Result<const Descriptor*> checked(const Descriptor* descriptor, const Manifest& manifest) {
  if (const char* missing = function_left_out(*descriptor)) {
    return wrong(manifest, std::string("leaves out its function ") + missing);
  }
  const std::string version = descriptor->version ? descriptor->version : "";
  if (version == manifest.version) return descriptor;
  return wrong(manifest, "is version \"" + base::excerpt(version) +
                             "\", its manifest is version \"" + manifest.version +
                             "\"; install both from one package");
}

// The descriptor of the manifest's name.
Result<const Descriptor*> find(decltype(&girdle_reader_descriptor_at) descriptor_at,
                               const Manifest& manifest) {
  std::vector<std::string_view> names;
  for (uint32_t i = 0; i < kMaxReaders; ++i) {
    const Descriptor* const descriptor = descriptor_at(i);
    if (!descriptor) break;
    if (descriptor->size < sizeof(Descriptor) || !descriptor->name) continue;
    if (manifest.name == descriptor->name) return checked(descriptor, manifest);
    names.emplace_back(descriptor->name);
  }
  return wrong(manifest, "has no reader " + manifest.name +
                             ", which its manifest promises; it has " +
                             (names.empty() ? "none" : base::excerpt(base::listed(names), 200)));
}

Result<const Descriptor*> negotiate(void* handle, const Manifest& manifest) {
  const auto negotiate_version = reinterpret_cast<decltype(&girdle_reader_negotiate)>(
      dlsym(handle, "girdle_reader_negotiate"));
  const auto descriptor_at = reinterpret_cast<decltype(&girdle_reader_descriptor_at)>(
      dlsym(handle, "girdle_reader_descriptor_at"));
  if (!negotiate_version || !descriptor_at) {
    return wrong(manifest, std::string("does not export ") +
                               (negotiate_version ? "girdle_reader_descriptor_at"
                                                  : "girdle_reader_negotiate") +
                               ": it is no reader");
  }
  uint32_t chosen = 0;
  if (negotiate_version(GIRDLE_READER_ABI, GIRDLE_READER_ABI, &chosen) != GIRDLE_OK ||
      chosen != GIRDLE_READER_ABI) {
    return wrong(
        manifest,
        "does not speak version " + std::to_string(GIRDLE_READER_ABI) +
            " of the reader ABI, the one of this girdled; build it against this version's SDK");
  }
  return find(descriptor_at, manifest);
}

}  // namespace

void Library::Close::operator()(void* handle) const { dlclose(handle); }

Result<Library> Library::load(const Manifest& manifest) {
  if (manifest.abi != GIRDLE_READER_ABI) {
    return input_error(
        "reader " + manifest.name + ": its manifest says version " + std::to_string(manifest.abi) +
        " of the reader ABI, this girdled speaks version " + std::to_string(GIRDLE_READER_ABI));
  }
  std::error_code failed;
  if (!std::filesystem::exists(manifest.library, failed)) {
    return wrong(manifest, "is not there, and its manifest names it");
  }
  Handle handle(dlopen(manifest.library.c_str(), RTLD_NOW | RTLD_LOCAL));
  if (!handle) {
    const char* const why = dlerror();
    return wrong(manifest, std::string("cannot be loaded: ") + (why ? why : "no reason given"));
  }
  auto descriptor = negotiate(handle.get(), manifest);
  if (!descriptor) return descriptor.error();
  return Library(std::move(handle), *descriptor);
}

}  // namespace girdle::reading
