// A C++ class as a girdle_reader_descriptor. Exceptions (out of memory) end here: as GIRDLE_FAILED,
// or as a refusal.
//
// Reader has
//   static std::unique_ptr<Reader> create(const girdle_reader_host&, const girdle_reader_setup&,
//   std::string& refusal); girdle_status feed(std::string_view); girdle_status finish(); uint64_t
//   consumed() const; std::string_view save();
#pragma once

#include <exception>
#include <memory>
#include <string>
#include <string_view>

#include "girdle/reader.h"
#include "kit/output.h"

namespace girdle::kit {

template <class Reader>
struct Adapter {
  static Reader& of(girdle_reader* reader) { return *reinterpret_cast<Reader*>(reader); }

  static girdle_reader* create(const girdle_reader_host* host,
                               const girdle_reader_setup* setup) noexcept {
    try {
      std::string refusal;
      std::unique_ptr<Reader> reader = Reader::create(*host, *setup, refusal);
      if (!reader) host->refuse(host, lend(refusal));
      return reinterpret_cast<girdle_reader*>(reader.release());
    } catch (const std::exception& failure) {
      host->refuse(host, lend(failure.what()));
      return nullptr;
    }
  }
  static girdle_status feed(girdle_reader* reader, const void* bytes, size_t size) noexcept {
    try {
      return of(reader).feed(view({static_cast<const char*>(bytes), size}));
    } catch (const std::exception&) {
      return GIRDLE_FAILED;
    }
  }
  static girdle_status finish(girdle_reader* reader) noexcept {
    try {
      return of(reader).finish();
    } catch (const std::exception&) {
      return GIRDLE_FAILED;
    }
  }
  static uint64_t consumed(const girdle_reader* reader) noexcept {
    return reinterpret_cast<const Reader*>(reader)->consumed();
  }
  static girdle_status save(girdle_reader* reader, girdle_text* state) noexcept {
    try {
      *state = lend(of(reader).save());
      return GIRDLE_OK;
    } catch (const std::exception&) {
      return GIRDLE_FAILED;
    }
  }
  static void destroy(girdle_reader* reader) noexcept { delete reinterpret_cast<Reader*>(reader); }
  static const void* extension(const char*) noexcept { return nullptr; }
};

template <class Reader>
constexpr girdle_reader_descriptor describe(const char* name, const char* version) {
  using A = Adapter<Reader>;
  return {sizeof(girdle_reader_descriptor),
          0,
          name,
          version,
          &A::create,
          &A::feed,
          &A::finish,
          &A::consumed,
          &A::save,
          &A::destroy,
          &A::extension};
}

// For girdle_reader_negotiate of a library that speaks version 1 only.
inline girdle_status negotiate(uint32_t host_min, uint32_t host_max, uint32_t* chosen) {
  if (host_min > GIRDLE_READER_ABI || host_max < GIRDLE_READER_ABI) return GIRDLE_UNSUPPORTED;
  *chosen = GIRDLE_READER_ABI;
  return GIRDLE_OK;
}

// The value of an option, "" where it is not given. Lent by `setup`.
inline std::string_view option(const girdle_reader_setup& setup, std::string_view name) {
  for (size_t i = 0; i < setup.option_count; ++i) {
    if (view(setup.options[i].name) == name) return view(setup.options[i].value);
  }
  return {};
}

}  // namespace girdle::kit
