// The operating system's files, as far as a folder intake needs them, behind an interface: the real
// ones, and in tests ones that fail at will.
//
// Every call returns 0 or an errno value. `folder` and `file` are descriptors that the caller owns.
// Nothing follows a symbolic link below the folder. All calls block, for as long as the file system
// takes.
#pragma once

#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <utility>

#include "base/descriptor.h"

namespace girdle::intake {

using base::Descriptor;

enum class FileKind { kFile, kFolder, kLink, kPipe, kSocket, kDevice };

struct FileStatus {
  FileKind kind = FileKind::kFile;
  uint64_t device = 0;
  uint64_t inode = 0;
  uint64_t size = 0;     // bytes
  int64_t mtime_ns = 0;  // since 1970, of the file system's clock
  int64_t ctime_ns = 0;

  bool is_same_file(const FileStatus& other) const {
    return device == other.device && inode == other.inode;
  }
  bool operator==(const FileStatus&) const = default;
};

// The names in a folder, without "." and "..". Each comes once, in an order that nobody may count on.
class Listing {
 public:
  virtual ~Listing() = default;
  // Empty at the end. The text is ended by a zero and lives until the next call.
  virtual int next(std::string_view& name) = 0;
};

class Files {
 public:
  virtual ~Files() = default;

  virtual int open_folder(const std::string& path, Descriptor& out) = 0;
  virtual int list(int folder, std::unique_ptr<Listing>& out) = 0;
  // Of what the path leads to; here links are followed.
  virtual int status_of_path(const std::string& path, FileStatus& out) = 0;
  virtual int status_at(int folder, const char* name, FileStatus& out) = 0;
  virtual int status(int file, FileStatus& out) = 0;
  // For reading. Never waits for a writer of a pipe.
  virtual int open_at(int folder, const char* name, Descriptor& out) = 0;
  // Reads until the buffer is full or the file ends.
  virtual int read_at(int file, std::span<char> into, uint64_t offset, size_t& got) = 0;
  // EEXIST when it is there.
  virtual int make_folder_at(int folder, const char* name) = 0;
  // Within the folder; `to` may name a folder in it. EEXIST when there is something at `to`:
  // nothing is replaced.
  virtual int move_at(int folder, const char* from, const char* to) = 0;
};

// Stateless and thread-safe.
class PosixFiles final : public Files {
 public:
  int open_folder(const std::string& path, Descriptor& out) override;
  int list(int folder, std::unique_ptr<Listing>& out) override;
  int status_of_path(const std::string& path, FileStatus& out) override;
  int status_at(int folder, const char* name, FileStatus& out) override;
  int status(int file, FileStatus& out) override;
  int open_at(int folder, const char* name, Descriptor& out) override;
  int read_at(int file, std::span<char> into, uint64_t offset, size_t& got) override;
  int make_folder_at(int folder, const char* name) override;
  int move_at(int folder, const char* from, const char* to) override;
};

}  // namespace girdle::intake
