// A file system under SQLite that fails when it is told to: the system's own, with a counter before each operation that
// changes or syncs a file. It counts what is read as well.
#pragma once

#include <sqlite3.h>

#include <atomic>
#include <cstring>
#include <string>

namespace girdle::ledger {

class FaultVfs {
 public:
  FaultVfs() {
    real_ = sqlite3_vfs_find(nullptr);
    name_ = "girdle-fault-" + std::to_string(reinterpret_cast<uintptr_t>(this));
    vfs_ = *real_;
    vfs_.zName = name_.c_str();
    vfs_.szOsFile = static_cast<int>(sizeof(File)) + real_->szOsFile;
    vfs_.pAppData = this;
    vfs_.xOpen = &open;
    sqlite3_vfs_register(&vfs_, 0);
  }
  ~FaultVfs() { sqlite3_vfs_unregister(&vfs_); }
  FaultVfs(const FaultVfs&) = delete;
  FaultVfs& operator=(const FaultVfs&) = delete;

  const char* name() const { return name_.c_str(); }
  // The operation after the next `n` fails, once.
  void fail_once_after(int64_t n) {
    operations_ = 0;
    fail_at_ = n;
  }
  void disk_full(bool full) { full_ = full; }
  int64_t operations() const { return operations_; }
  // So far. A page of the ledger is one; pages that SQLite holds in memory are not read again.
  int64_t reads() const { return reads_; }

 private:
  struct File {
    sqlite3_file base;
    FaultVfs* owner;
    sqlite3_file* real() { return reinterpret_cast<sqlite3_file*>(this + 1); }
  };
  static File* of(sqlite3_file* file) { return reinterpret_cast<File*>(file); }

  int trip(int code) {
    if (full_) return SQLITE_FULL;
    return operations_++ == fail_at_ ? code : SQLITE_OK;
  }

  static int open(sqlite3_vfs* vfs, const char* path, sqlite3_file* file, int flags, int* out) {
    auto* const self = static_cast<FaultVfs*>(vfs->pAppData);
    File* const own = of(file);
    std::memset(own, 0, sizeof *own);
    own->owner = self;
    const int code = self->real_->xOpen(self->real_, path, own->real(), flags, out);
    if (own->real()->pMethods) own->base.pMethods = &methods();
    return code;
  }

  template <auto Member, class... Args>
  static int forward(sqlite3_file* file, Args... args) {
    return (of(file)->real()->pMethods->*Member)(of(file)->real(), args...);
  }
  static int read(sqlite3_file* file, void* data, int size, sqlite3_int64 at) {
    ++of(file)->owner->reads_;
    return forward<&sqlite3_io_methods::xRead>(file, data, size, at);
  }
  static int write(sqlite3_file* file, const void* data, int size, sqlite3_int64 at) {
    if (const int code = of(file)->owner->trip(SQLITE_IOERR_WRITE)) return code;
    return forward<&sqlite3_io_methods::xWrite>(file, data, size, at);
  }
  static int truncate(sqlite3_file* file, sqlite3_int64 size) {
    if (const int code = of(file)->owner->trip(SQLITE_IOERR_TRUNCATE)) return code;
    return forward<&sqlite3_io_methods::xTruncate>(file, size);
  }
  static int sync(sqlite3_file* file, int flags) {
    if (const int code = of(file)->owner->trip(SQLITE_IOERR_FSYNC)) return code;
    return forward<&sqlite3_io_methods::xSync>(file, flags);
  }
  static int shm_map(sqlite3_file* file, int page, int size, int extend, void volatile** out) {
    return forward<&sqlite3_io_methods::xShmMap>(file, page, size, extend, out);
  }
  static void barrier(sqlite3_file* file) { of(file)->real()->pMethods->xShmBarrier(of(file)->real()); }

  static const sqlite3_io_methods& methods() {
    static const sqlite3_io_methods kMethods = {
        3,
        &forward<&sqlite3_io_methods::xClose>,
        &read,
        &write,
        &truncate,
        &sync,
        &forward<&sqlite3_io_methods::xFileSize, sqlite3_int64*>,
        &forward<&sqlite3_io_methods::xLock, int>,
        &forward<&sqlite3_io_methods::xUnlock, int>,
        &forward<&sqlite3_io_methods::xCheckReservedLock, int*>,
        &forward<&sqlite3_io_methods::xFileControl, int, void*>,
        &forward<&sqlite3_io_methods::xSectorSize>,
        &forward<&sqlite3_io_methods::xDeviceCharacteristics>,
        &shm_map,
        &forward<&sqlite3_io_methods::xShmLock, int, int, int>,
        &barrier,
        &forward<&sqlite3_io_methods::xShmUnmap, int>,
        &forward<&sqlite3_io_methods::xFetch, sqlite3_int64, int, void**>,
        &forward<&sqlite3_io_methods::xUnfetch, sqlite3_int64, void*>,
    };
    return kMethods;
  }

  sqlite3_vfs* real_ = nullptr;
  sqlite3_vfs vfs_{};
  std::string name_;
  std::atomic<int64_t> operations_{0}, fail_at_{-1}, reads_{0};
  std::atomic<bool> full_{false};
};

}  // namespace girdle::ledger
