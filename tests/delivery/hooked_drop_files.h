// Real files of a drop folder, with a hook before each operation: it may make it fail, hang, or end
// the process.
#pragma once

#include <sys/stat.h>

#include <functional>
#include <limits>
#include <string>

#include "delivery/drop_files.h"

namespace girdle::delivery {

class HookedDropFiles final : public PosixDropFiles {
 public:
  enum class Op {
    kOpenFolder,
    kList,
    kCreate,
    kOpen,
    kSize,
    kWrite,
    kRead,
    kSyncFile,
    kSyncFolder,
    kRename,
    kLink,
    kRemove
  };

  // An errno value, or 0: then the operation is done. On the thread that does the file's work.
  std::function<int(Op)> before = [](Op) { return 0; };
  size_t most_written = std::numeric_limits<size_t>::max();  // in one call

  int open_folder(const std::string& path, Descriptor& out) override {
    const int error = before(Op::kOpenFolder);
    return error != 0 ? error : PosixDropFiles::open_folder(path, out);
  }
  int list(int folder, const std::function<void(const std::string&)>& each) override {
    const int error = before(Op::kList);
    return error != 0 ? error : PosixDropFiles::list(folder, each);
  }
  int create_at(int folder, const char* name, Descriptor& out) override {
    const int error = before(Op::kCreate);
    return error != 0 ? error : PosixDropFiles::create_at(folder, name, out);
  }
  int open_at(int folder, const char* name, Descriptor& out) override {
    const int error = before(Op::kOpen);
    return error != 0 ? error : PosixDropFiles::open_at(folder, name, out);
  }
  int size(int file, uint64_t& out) override {
    const int error = before(Op::kSize);
    return error != 0 ? error : PosixDropFiles::size(file, out);
  }
  int write(int file, std::string_view bytes, size_t& written) override {
    const int error = before(Op::kWrite);
    return error != 0 ? error : PosixDropFiles::write(file, bytes.substr(0, most_written), written);
  }
  int read(int file, std::span<char> into, size_t& got) override {
    const int error = before(Op::kRead);
    return error != 0 ? error : PosixDropFiles::read(file, into, got);
  }
  int sync(int file) override {
    struct stat status {};
    ::fstat(file, &status);
    const int error = before(S_ISDIR(status.st_mode) ? Op::kSyncFolder : Op::kSyncFile);
    return error != 0 ? error : PosixDropFiles::sync(file);
  }
  int rename_at(int folder, const char* from, const char* to) override {
    const int error = before(Op::kRename);
    return error != 0 ? error : PosixDropFiles::rename_at(folder, from, to);
  }
  int link_at(int folder, const char* from, const char* to) override {
    const int error = before(Op::kLink);
    return error != 0 ? error : PosixDropFiles::link_at(folder, from, to);
  }
  int remove_at(int folder, const char* name) override {
    const int error = before(Op::kRemove);
    return error != 0 ? error : PosixDropFiles::remove_at(folder, name);
  }
};

}  // namespace girdle::delivery
