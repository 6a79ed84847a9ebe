// How far an intake has come in a file. Moves only with the commit that holds the file's records.
#pragma once

#include <cstdint>
#include <string>

#include "base/digest.h"

namespace girdle::model {

struct FilePosition {
  std::string intake;
  std::string name;  // relative to the intake's folder
  // The file as it was when it was taken in: unchanged values mean that there is nothing to look at. Never trusted to
  // mean the same content; that is the digest's work.
  uint64_t size = 0;
  int64_t mtime_ns = 0;
  int64_t ctime_ns = 0;
  uint64_t offset = 0;     // bytes taken in so far (a whole file: its size)
  base::Digest prefix{};   // SHA-256 of the first `offset` bytes: another prefix is another generation of the file
  std::string resume;      // the reader's own state at `offset` (a header row that was read once)

  bool operator==(const FilePosition&) const = default;
};

}  // namespace girdle::model
