#include "config/files.h"

#include <cerrno>
#include <cstdlib>
#include <fstream>

namespace girdle::config {
namespace {

base::Error too_large(uint64_t limit) {
  return base::input_error("is larger than " + std::to_string(limit >> 10) +
                           " KiB: it is no configuration");
}

}  // namespace

Files::Kind Disk::kind(const std::filesystem::path& path) const {
  std::error_code failed;
  switch (std::filesystem::status(path, failed).type()) {
    case std::filesystem::file_type::regular:
      return Kind::kFile;
    case std::filesystem::file_type::directory:
      return Kind::kFolder;
    case std::filesystem::file_type::none:
    case std::filesystem::file_type::not_found:
      return Kind::kMissing;
    case std::filesystem::file_type::symlink:
    case std::filesystem::file_type::block:
    case std::filesystem::file_type::character:
    case std::filesystem::file_type::fifo:
    case std::filesystem::file_type::socket:
    case std::filesystem::file_type::unknown:
      return Kind::kOther;
  }
  return Kind::kOther;
}

base::Result<std::string> Disk::read(const std::filesystem::path& path, uint64_t limit) const {
  errno = 0;
  std::ifstream file(path, std::ios::binary);
  std::string text;
  char block[16 << 10];
  while (file) {
    file.read(block, sizeof block);
    text.append(block, static_cast<size_t>(file.gcount()));
    if (text.size() > limit) return too_large(limit);
  }
  if (file.eof()) return text;
  const int number = errno;
  return base::environment_error("cannot be read: " +
                                 (number == 0 ? "unknown reason" : base::errno_text(number)));
}

std::filesystem::path Disk::canonical(const std::filesystem::path& path) const {
  std::error_code failed;
  auto canonical = std::filesystem::weakly_canonical(path, failed);
  return failed ? path.lexically_normal() : canonical;
}

std::filesystem::path Disk::credentials() const {
  const char* const folder = std::getenv("CREDENTIALS_DIRECTORY");
  return folder == nullptr ? std::filesystem::path() : folder;
}

MemoryFiles& MemoryFiles::file(const std::string& path, std::string text) {
  files_[path] = std::move(text);
  return *this;
}

MemoryFiles& MemoryFiles::folder(const std::string& path) {
  folders_.insert(path);
  return *this;
}

MemoryFiles& MemoryFiles::link(const std::string& path, const std::string& target) {
  links_[path] = target;
  return folder(path);
}

MemoryFiles& MemoryFiles::credentials_in(const std::string& path) {
  credentials_ = path;
  return *this;
}

Files::Kind MemoryFiles::kind(const std::filesystem::path& path) const {
  if (files_.contains(path.string())) return Kind::kFile;
  return folders_.contains(path.string()) ? Kind::kFolder : Kind::kMissing;
}

base::Result<std::string> MemoryFiles::read(const std::filesystem::path& path,
                                            uint64_t limit) const {
  const auto file = files_.find(path.string());
  if (file == files_.end()) return base::environment_error("cannot be read: no such file");
  if (file->second.size() > limit) return too_large(limit);
  return file->second;
}

std::filesystem::path MemoryFiles::canonical(const std::filesystem::path& path) const {
  const auto link = links_.find(path.string());
  return link == links_.end() ? path.lexically_normal() : std::filesystem::path(link->second);
}

}  // namespace girdle::config
