// What a reader may ask the system for: memory.
#pragma once

#include <string>

namespace girdle::vet {

enum class Allowed {
  kMemory,   // memory, and the end of the process
  kLoading,  // besides, what the loader does: files are looked at and read
};

// From now on this process may do that, and write to `report`; anything else raises SIGSYS. False:
// the system has no such filter.
bool allow_only(Allowed allowed, int report);

// What a process does that makes this system call: "opens a file (openat)"; -1 where the number is
// not known.
std::string words_of_system_call(int number);

}  // namespace girdle::vet
