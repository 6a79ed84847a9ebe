#include "delivery/drop_files.h"

#include <dirent.h>
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <memory>

namespace girdle::delivery {

int PosixDropFiles::open_folder(const std::string& path, Descriptor& out) {
  out = Descriptor(::open(path.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
  return out ? 0 : errno;
}

int PosixDropFiles::list(int folder, const std::function<void(const std::string& name)>& each) {
  // A descriptor of its own: the place in the listing belongs to the open file.
  const int own = ::openat(folder, ".", O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (own < 0) return errno;
  const std::unique_ptr<DIR, int (*)(DIR*)> opened(::fdopendir(own), ::closedir);
  if (!opened) {
    const int error = errno;
    ::close(own);
    return error;
  }
  for (;;) {
    errno = 0;
    const dirent* const entry = ::readdir(opened.get());
    if (entry == nullptr) return errno;
    each(entry->d_name);
  }
}

// Who may read it is for the umask: the system that imports it is another user.
int PosixDropFiles::create_at(int folder, const char* name, Descriptor& out) {
  out = Descriptor(
      ::openat(folder, name, O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0666));
  return out ? 0 : errno;
}

int PosixDropFiles::open_at(int folder, const char* name, Descriptor& out) {
  out = Descriptor(::openat(folder, name, O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC));
  return out ? 0 : errno;
}

int PosixDropFiles::size(int file, uint64_t& out) {
  struct stat status {};
  if (::fstat(file, &status) != 0) return errno;
  if (!S_ISREG(status.st_mode)) return ENOTSUP;
  out = static_cast<uint64_t>(status.st_size);
  return 0;
}

int PosixDropFiles::write(int file, std::string_view bytes, size_t& written) {
  const ssize_t count = ::write(file, bytes.data(), bytes.size());
  if (count < 0) return errno;
  written = static_cast<size_t>(count);
  return 0;
}

int PosixDropFiles::read(int file, std::span<char> into, size_t& got) {
  const ssize_t count = ::read(file, into.data(), into.size());
  if (count < 0) return errno;
  got = static_cast<size_t>(count);
  return 0;
}

int PosixDropFiles::sync(int file) { return ::fsync(file) == 0 ? 0 : errno; }

int PosixDropFiles::rename_at(int folder, const char* from, const char* to) {
  return ::renameat2(folder, from, folder, to, RENAME_NOREPLACE) == 0 ? 0 : errno;
}

int PosixDropFiles::link_at(int folder, const char* from, const char* to) {
  return ::linkat(folder, from, folder, to, 0) == 0 ? 0 : errno;
}

int PosixDropFiles::remove_at(int folder, const char* name) {
  return ::unlinkat(folder, name, 0) == 0 ? 0 : errno;
}

}  // namespace girdle::delivery
