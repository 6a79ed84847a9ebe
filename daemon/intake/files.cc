#include "intake/files.h"

#include <dirent.h>
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <string>
#include <vector>

namespace girdle::intake {
namespace {

FileKind kind_of(mode_t mode) {
  switch (mode & S_IFMT) {
    case S_IFREG:
      return FileKind::kFile;
    case S_IFDIR:
      return FileKind::kFolder;
    case S_IFLNK:
      return FileKind::kLink;
    case S_IFIFO:
      return FileKind::kPipe;
    case S_IFSOCK:
      return FileKind::kSocket;
    default:
      return FileKind::kDevice;
  }
}

int64_t nanoseconds(const timespec& time) {
  return int64_t{time.tv_sec} * 1'000'000'000 + time.tv_nsec;
}

int convert(int result, const struct stat& from, FileStatus& out) {
  if (result != 0) return errno;
  out = {kind_of(from.st_mode),
         from.st_dev,
         from.st_ino,
         static_cast<uint64_t>(from.st_size),
         nanoseconds(from.st_mtim),
         nanoseconds(from.st_ctim)};
  return 0;
}

// The names are streamed: a folder of a million of them costs one buffer. In their order, as far as kNamesSorted of
// them go: exports are named by their time, and the ledger takes what comes in the order of time with less work. The
// system's order is that of a hash.
class PosixListing final : public Listing {
 public:
  explicit PosixListing(DIR* folder) : folder_(folder) {}
  ~PosixListing() override { ::closedir(folder_); }
  PosixListing(const PosixListing&) = delete;
  PosixListing& operator=(const PosixListing&) = delete;

  int next(std::string_view& name) override {
    name = {};
    if (next_ == names_.size()) fill();
    if (next_ == names_.size()) return error_;
    name = names_[next_++];
    return 0;
  }

 private:
  static constexpr size_t kNamesSorted = 4096;

  void fill() {
    names_.clear();
    next_ = 0;
    while (names_.size() < kNamesSorted) {
      errno = 0;
      const dirent* const entry = ::readdir(folder_);
      if (entry == nullptr) {
        error_ = errno;
        break;
      }
      const std::string_view name(entry->d_name);
      if (name != "." && name != "..") names_.emplace_back(name);
    }
    std::sort(names_.begin(), names_.end());
  }

  DIR* folder_;
  std::vector<std::string> names_;
  size_t next_ = 0;
  int error_ = 0;
};

}  // namespace

int PosixFiles::open_folder(const std::string& path, Descriptor& out) {
  out = Descriptor(::open(path.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
  return out ? 0 : errno;
}

int PosixFiles::list(int folder, std::unique_ptr<Listing>& out) {
  // A descriptor of its own: the place in the listing belongs to the open file.
  Descriptor own(::openat(folder, ".", O_RDONLY | O_DIRECTORY | O_CLOEXEC));
  if (!own) return errno;
  DIR* const opened = ::fdopendir(own.get());
  if (opened == nullptr) return errno;
  own.release();
  out = std::make_unique<PosixListing>(opened);
  return 0;
}

int PosixFiles::status_of_path(const std::string& path, FileStatus& out) {
  struct stat found;
  return convert(::stat(path.c_str(), &found), found, out);
}

int PosixFiles::status_at(int folder, const char* name, FileStatus& out) {
  struct stat found;
  return convert(::fstatat(folder, name, &found, AT_SYMLINK_NOFOLLOW), found, out);
}

int PosixFiles::status(int file, FileStatus& out) {
  struct stat found;
  return convert(::fstat(file, &found), found, out);
}

int PosixFiles::open_at(int folder, const char* name, Descriptor& out) {
  out =
      Descriptor(::openat(folder, name, O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC | O_NOCTTY));
  return out ? 0 : errno;
}

int PosixFiles::read_at(int file, std::span<char> into, uint64_t offset, size_t& got) {
  got = 0;
  while (got < into.size()) {
    const ssize_t count =
        ::pread(file, into.data() + got, into.size() - got, static_cast<off_t>(offset + got));
    if (count == 0) return 0;
    if (count < 0 && errno == EINTR) continue;
    if (count < 0) return errno;
    got += static_cast<size_t>(count);
  }
  return 0;
}

int PosixFiles::make_folder_at(int folder, const char* name) {
  return ::mkdirat(folder, name, 0777) == 0 ? 0 : errno;
}

int PosixFiles::move_at(int folder, const char* from, const char* to) {
  if (::renameat2(folder, from, folder, to, RENAME_NOREPLACE) == 0) return 0;
  if (errno != EINVAL && errno != ENOSYS) return errno;
  // A file system without this flag: a hard link refuses an existing name too.
  if (::linkat(folder, from, folder, to, 0) != 0) return errno;
  return ::unlinkat(folder, from, 0) == 0 ? 0 : errno;
}

}  // namespace girdle::intake
