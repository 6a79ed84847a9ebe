// A reader's library, loaded and agreed with about the version of the ABI of <girdle/reader.h>.
#pragma once

#include <girdle/reader.h>

#include <memory>

#include "base/result.h"
#include "reading/manifest.h"

namespace girdle::reading {

class Library {
 public:
  // Errors: the file is not there or cannot be loaded, it lacks the two functions, speaks another
  // version, has no reader of the manifest's name and version, or one with a function left out.
  static base::Result<Library> load(const Manifest& manifest);

  // Valid as long as the Library.
  const girdle_reader_descriptor& descriptor() const { return *descriptor_; }

 private:
  struct Close {
    void operator()(void* handle) const;
  };
  using Handle = std::unique_ptr<void, Close>;
  Library(Handle handle, const girdle_reader_descriptor* descriptor)
      : handle_(std::move(handle)), descriptor_(descriptor) {}

  Handle handle_;
  const girdle_reader_descriptor* descriptor_;
};

// The name of the first function without which no reader is loaded; null where all are there.
const char* function_left_out(const girdle_reader_descriptor& descriptor);

}  // namespace girdle::reading
