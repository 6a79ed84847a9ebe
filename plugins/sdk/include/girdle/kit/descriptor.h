// A C++ class as a girdle_reader_descriptor. No exception leaves it: one in create is a refusal,
// one in feed, finish, consumed or save is GIRDLE_FAILED, and nothing of the reader is called any
// more but its destructor.
#pragma once

#include <concepts>
#include <cstddef>
#include <cstdint>
#include <exception>
#include <iterator>
#include <memory>
#include <string>
#include <string_view>
#include <utility>

#include "girdle/kit/setup.h"
#include "girdle/kit/text.h"
#include "girdle/reader.h"

namespace girdle::kit {

// What a class must have to be a reader; each as the descriptor's function of that name says.
// create gives nothing, and the reason in `refusal`, where the setup will not do. It is handed the
// host to keep; only the calls of feed and finish may use it.
template <class Class>
concept Reader = requires(Class& reader, const Class& same, const girdle_reader_host& host,
                          const girdle_reader_setup& setup, std::string& refusal,
                          std::string_view bytes) {
  { Class::create(host, setup, refusal) } -> std::same_as<std::unique_ptr<Class>>;
  { reader.feed(bytes) } -> std::same_as<girdle_status>;
  { reader.finish() } -> std::same_as<girdle_status>;
  { same.consumed() } -> std::convertible_to<uint64_t>;
  { reader.save() } -> std::convertible_to<std::string_view>;
};

template <Reader Class>
class Adapter {
 public:
  static girdle_reader* create(const girdle_reader_host* host,
                               const girdle_reader_setup* setup) noexcept {
    try {
      std::string refusal;
      std::unique_ptr<Class> reader = Class::create(*host, *setup, refusal);
      if (!reader) {
        refuse(host, refusal);
        return nullptr;
      }
      return reinterpret_cast<girdle_reader*>(new Held{std::move(reader)});
    } catch (const std::exception& failure) {
      refuse(host, failure.what());
    } catch (...) {
      refuse(host, {});
    }
    return nullptr;
  }

  static girdle_status feed(girdle_reader* reader, const void* bytes, size_t size) noexcept {
    return guarded(reader, [&](Class& own) {
      return own.feed(view({static_cast<const char*>(bytes), size}));
    });
  }

  static girdle_status finish(girdle_reader* reader) noexcept {
    return guarded(reader, [](Class& own) { return own.finish(); });
  }

  static uint64_t consumed(const girdle_reader* reader) noexcept {
    const Held& held = *reinterpret_cast<const Held*>(reader);
    if (held.failed) return held.consumed;
    try {
      held.consumed = std::as_const(*held.reader).consumed();
    } catch (...) {
      held.failed = true;  // and the next call says so: this one has no way to
    }
    return held.consumed;
  }

  static girdle_status save(girdle_reader* reader, girdle_text* state) noexcept {
    return guarded(reader, [&](Class& own) {
      *state = lend(own.save());
      return girdle_status{GIRDLE_OK};
    });
  }

  static void destroy(girdle_reader* reader) noexcept { delete reinterpret_cast<Held*>(reader); }
  static const void* extension(const char*) noexcept { return nullptr; }

 private:
  struct Held {
    std::unique_ptr<Class> reader;
    mutable uint64_t consumed = 0;  // as last said
    mutable bool failed = false;
  };

  static void refuse(const girdle_reader_host* host, std::string_view reason) noexcept {
    std::string made;
    try {
      if (!is_reason(reason)) append_printable(made, reason, kMostReason);
    } catch (...) {  // no memory to say it better: without a reason
      reason = {};
    }
    if (!made.empty()) reason = made;
    host->refuse(host, lend(reason.empty() ? "the reader fails, and cannot say why" : reason));
  }

  template <class Call>
  static girdle_status guarded(girdle_reader* reader, Call call) noexcept {
    Held& held = *reinterpret_cast<Held*>(reader);
    if (held.failed) return GIRDLE_FAILED;
    try {
      return call(*held.reader);
    } catch (...) {
      held.failed = true;
      return GIRDLE_FAILED;
    }
  }
};

// `name` and `version` as in the manifest, and valid as long as the library.
template <Reader Class>
constexpr girdle_reader_descriptor describe(const char* name, const char* version) {
  using A = Adapter<Class>;
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

}  // namespace girdle::kit

// The two functions of a library, once in it and outside any namespace: its readers, each by
// girdle::kit::describe.
#define GIRDLE_READER_LIBRARY(...)                                                                \
  girdle_status girdle_reader_negotiate(uint32_t host_min, uint32_t host_max, uint32_t* chosen) { \
    return girdle::kit::negotiate(host_min, host_max, chosen);                                    \
  }                                                                                               \
  const girdle_reader_descriptor* girdle_reader_descriptor_at(uint32_t index) {                   \
    static constexpr girdle_reader_descriptor kReaders[] = {__VA_ARGS__};                         \
    return index < std::size(kReaders) ? &kReaders[index] : nullptr;                              \
  }                                                                                               \
  static_assert(true, "so that a semicolon may follow")
