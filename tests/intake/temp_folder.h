// A folder of a test's own, removed with all that is in it. In memory where the machine has a file
// system for that, so that a busy disk does not make tests slow; on a disk where a test is about
// one.
#pragma once

#include <gtest/gtest.h>
#include <stdlib.h>
#include <linux/magic.h>
#include <sys/vfs.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <string_view>

namespace girdle::intake {

class TempFolder {
 public:
  enum class Place { kMemory, kDisk };

  explicit TempFolder(Place place = Place::kMemory) {
    std::string pattern = place == Place::kMemory && has_memory() ? "/dev/shm/" : testing::TempDir();
    pattern += "girdle-intake-XXXXXX";
    parent_ = ::mkdtemp(pattern.data());
    path_ = parent_ / "folder";
    std::filesystem::create_directory(path_);
  }
  ~TempFolder() {
    std::error_code ignored;
    std::filesystem::remove_all(parent_, ignored);
  }
  TempFolder(const TempFolder&) = delete;
  TempFolder& operator=(const TempFolder&) = delete;

  const std::filesystem::path& path() const { return path_; }
  std::filesystem::path operator/(std::string_view name) const { return path_ / name; }

  // Made, written and closed.
  void write(std::string_view name, std::string_view bytes) const {
    std::ofstream(path_ / name, std::ios::binary)
        .write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
  }
  void append(std::string_view name, std::string_view bytes) const {
    std::ofstream(path_ / name, std::ios::binary | std::ios::app)
        .write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
  }
  // Written under a name that is no document, then renamed: the file appears whole.
  void put(std::string_view name, std::string_view bytes) const {
    write(".put", bytes);
    std::filesystem::rename(path_ / ".put", path_ / name);
  }
  std::string read(std::string_view name) const {
    std::ifstream file(path_ / name, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
  }
  bool has(std::string_view name) const { return std::filesystem::exists(path_ / name); }

 private:
  // A folder of another kind there would be polled, not watched.
  static bool has_memory() {
    struct statfs system {};
    return ::access("/dev/shm", W_OK) == 0 && ::statfs("/dev/shm", &system) == 0 &&
           system.f_type == TMPFS_MAGIC;
  }

  std::filesystem::path parent_;  // its own: an intake watches it too, and would hear of other tests' folders
  std::filesystem::path path_;
};

}  // namespace girdle::intake
