// What a reader's process gives up before it runs anything of the reader.
//
// In two steps, because a library has to be read from the disk and may run code of its own while it
// is loaded: then it may read libraries and nothing else; afterwards, nothing at all. What it may
// not do ends the process, with a frame on the socket that says what it was (see wire.h).
#pragma once

#include <chrono>
#include <cstdint>
#include <filesystem>

#include "base/result.h"

namespace girdle::reader_host {

struct Limits {
  uint64_t memory = 0;  // bytes of address space
  std::chrono::seconds cpu{0};
};

// The process ends when the thread that started it does; that it is `parent`'s is seen to.
// False: the parent is gone already.
bool die_with(int parent);

// Step one: no new privileges, no core, no child, no file that is written, no network; reading only
// of libraries: those in `folder` and where the system keeps its own.
base::Result<void> enter_for_loading(const Limits& limits, const std::filesystem::path& folder);

// Step two: no files at all, no code that was not there when the library was loaded. The socket
// remains, and memory.
base::Result<void> enter_for_reading(int parent);

}  // namespace girdle::reader_host
