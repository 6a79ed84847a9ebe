// What reading a configuration asks of the file system: behind an interface, so that tests and
// fuzzers need no disk.
#pragma once

#include <cstdint>
#include <filesystem>
#include <map>
#include <set>
#include <string>

#include "base/result.h"

namespace girdle::config {

// Reads only. May be used on any number of threads at once.
class Files {
 public:
  enum class Kind { kMissing, kFile, kFolder, kOther };

  virtual ~Files() = default;
  // Symbolic links are followed; what this user may not look at counts as missing.
  virtual Kind kind(const std::filesystem::path& path) const = 0;
  // The whole file. The error says, without the path, why it cannot be read or that it is larger
  // than `limit` bytes.
  virtual base::Result<std::string> read(const std::filesystem::path& path,
                                         uint64_t limit) const = 0;
  // One name for each thing: absolute, and without symbolic links as far as the path exists.
  virtual std::filesystem::path canonical(const std::filesystem::path& path) const = 0;
  // Where systemd put this service's credentials ($CREDENTIALS_DIRECTORY); empty where it is none
  // of its services.
  virtual std::filesystem::path credentials() const = 0;
};

class Disk final : public Files {
 public:
  Kind kind(const std::filesystem::path& path) const override;
  base::Result<std::string> read(const std::filesystem::path& path, uint64_t limit) const override;
  std::filesystem::path canonical(const std::filesystem::path& path) const override;
  std::filesystem::path credentials() const override;
};

// Files and folders that are only spoken of. Paths are absolute and normal ("/house/a.yaml").
class MemoryFiles final : public Files {
 public:
  MemoryFiles& file(const std::string& path, std::string text);
  MemoryFiles& folder(const std::string& path);
  // Another name for `target`, for canonical() only.
  MemoryFiles& link(const std::string& path, const std::string& target);
  MemoryFiles& credentials_in(const std::string& path);

  Kind kind(const std::filesystem::path& path) const override;
  base::Result<std::string> read(const std::filesystem::path& path, uint64_t limit) const override;
  std::filesystem::path canonical(const std::filesystem::path& path) const override;
  std::filesystem::path credentials() const override { return credentials_; }

 private:
  std::map<std::string, std::string> files_;
  std::set<std::string> folders_;
  std::map<std::string, std::string> links_;
  std::filesystem::path credentials_;
};

}  // namespace girdle::config
