// The operating system's files, as far as a drop folder needs them, behind an interface: the real
// ones, and in tests ones that fail, hang and crash at will.
//
// Every call returns 0 or an errno value. `folder` and `file` are descriptors that the caller owns.
// Nothing follows a symbolic link below the folder. All calls block, for as long as the file system
// takes.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <span>
#include <string>
#include <string_view>

#include "base/descriptor.h"

namespace girdle::delivery {

using base::Descriptor;

class DropFiles {
 public:
  virtual ~DropFiles() = default;

  virtual int open_folder(const std::string& path, Descriptor& out) = 0;
  virtual int list(int folder, const std::function<void(const std::string& name)>& each) = 0;
  // A new file, for writing; EEXIST when the name is taken.
  virtual int create_at(int folder, const char* name, Descriptor& out) = 0;
  // For reading. Never waits for a writer of a pipe.
  virtual int open_at(int folder, const char* name, Descriptor& out) = 0;
  // ENOTSUP of what is no plain file.
  virtual int size(int file, uint64_t& out) = 0;
  // `written` may be less than all.
  virtual int write(int file, std::string_view bytes, size_t& written) = 0;
  // `got` is 0 at the end.
  virtual int read(int file, std::span<char> into, size_t& got) = 0;
  // Of a file or a folder: until it is on the disk.
  virtual int sync(int file) = 0;
  // EEXIST when there is something at `to`; EINVAL or ENOSYS from a file system that cannot look
  // and rename in one.
  virtual int rename_at(int folder, const char* from, const char* to) = 0;
  // A second name; EEXIST as above.
  virtual int link_at(int folder, const char* from, const char* to) = 0;
  virtual int remove_at(int folder, const char* name) = 0;
};

// Stateless and thread-safe.
class PosixDropFiles : public DropFiles {
 public:
  int open_folder(const std::string& path, Descriptor& out) override;
  int list(int folder, const std::function<void(const std::string& name)>& each) override;
  int create_at(int folder, const char* name, Descriptor& out) override;
  int open_at(int folder, const char* name, Descriptor& out) override;
  int size(int file, uint64_t& out) override;
  int write(int file, std::string_view bytes, size_t& written) override;
  int read(int file, std::span<char> into, size_t& got) override;
  int sync(int file) override;
  int rename_at(int folder, const char* from, const char* to) override;
  int link_at(int folder, const char* from, const char* to) override;
  int remove_at(int folder, const char* name) override;
};

}  // namespace girdle::delivery
