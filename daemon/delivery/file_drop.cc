#include "delivery/file_drop.h"

#include <algorithm>
#include <array>
#include <cerrno>
#include <random>

#include "base/digest.h"
#include "base/text.h"

namespace girdle::delivery {
namespace {

constexpr std::string_view kUnfinishedEnd = ".part";
constexpr std::string_view kRenaming = "rename the file";
constexpr size_t kDigits = 16;

// Of this object alone: one before it may hang in the file system, and wake up.
std::string drawn_digits() {
  std::random_device source;
  std::string bytes;
  while (bytes.size() < kDigits / 2) bytes += static_cast<char>(source() & 0xFF);
  return base::hex(bytes);
}

bool is_hex_digit(char c) { return base::is_digit(c) || (c >= 'a' && c <= 'f'); }

}  // namespace

FileDrop::FileDrop(std::shared_ptr<DropFiles> files, std::string folder, std::string_view owner)
    : files_(std::move(files)),
      folder_(std::move(folder)),
      unfinished_begin_(".girdled-" + base::hex(base::sha256(owner)).substr(0, kDigits) + '-'),
      unfinished_(unfinished_begin_ + drawn_digits() + std::string(kUnfinishedEnd)) {}

base::Result<std::string> FileDrop::drop(const FileName& name, std::string_view bytes,
                                         const std::atomic<bool>& given_up) {
  Descriptor folder;
  Fault fault{files_->open_folder(folder_, folder), "open the folder"};
  if (fault.error != 0) return explain(fault, name);
  remove_left_over(folder.get());
  fault = write_unfinished(folder.get(), bytes);
  std::string given;
  if (fault.error == 0 && given_up) fault = {ECANCELED, "go on"};
  if (fault.error == 0) fault = give_name(folder.get(), name, bytes, given);
  if (fault.error == 0) fault = {sync_folder(folder.get()), "bring the folder to the disk"};
  if (fault.error == 0) return given;
  files_->remove_at(folder.get(), unfinished_.c_str());  // where it is there no more, that is well
  return explain(fault, name);
}

// What a crash left. While the folder cannot be listed, or written to, it is tried again with the
// next file.
void FileDrop::remove_left_over(int folder) {
  if (tidied_) return;
  std::vector<std::string> found;
  tidied_ = files_->list(folder, [&](const std::string& name) {
    if (is_left_over(name)) found.push_back(name);
  }) == 0;
  for (const std::string& name : found) {
    const int error = files_->remove_at(folder, name.c_str());
    tidied_ = tidied_ && error != EACCES && error != EROFS;
  }
}

bool FileDrop::is_left_over(std::string_view name) const {
  if (name.size() != unfinished_.size() || !name.starts_with(unfinished_begin_) ||
      !name.ends_with(kUnfinishedEnd)) {
    return false;
  }
  const std::string_view digits = name.substr(unfinished_begin_.size(), kDigits);
  return std::all_of(digits.begin(), digits.end(), is_hex_digit);
}

FileDrop::Fault FileDrop::write_unfinished(int folder, std::string_view bytes) {
  Descriptor file;
  int error = files_->create_at(folder, unfinished_.c_str(), file);
  if (error == EEXIST) {  // of an attempt that could not clear up
    files_->remove_at(folder, unfinished_.c_str());
    error = files_->create_at(folder, unfinished_.c_str(), file);
  }
  if (error != 0) return {error, "make a file"};
  if (const Fault fault = write_all(file.get(), bytes); fault.error != 0) return fault;
  return {files_->sync(file.get()), "bring the file to the disk"};
}

FileDrop::Fault FileDrop::write_all(int file, std::string_view bytes) {
  while (!bytes.empty()) {
    size_t written = 0;
    const int error = files_->write(file, bytes, written);
    if (error == EINTR) continue;
    if (error != 0 || written == 0) return {error != 0 ? error : EIO, "write the file"};
    bytes.remove_prefix(written);
  }
  return {};
}

FileDrop::Fault FileDrop::give_name(int folder, const FileName& name, std::string_view bytes,
                                    std::string& given) {
  for (unsigned number = 1; number <= kMostNumbers; ++number) {
    given = name.numbered(number);
    const int error = move_to(folder, given);
    if (error == 0) return {};
    if (error != EEXIST) return {error, kRenaming};
    if (is_there(folder, given, bytes)) {
      files_->remove_at(folder, unfinished_.c_str());
      return {};
    }
  }
  return {EEXIST, kRenaming};
}

int FileDrop::move_to(int folder, const std::string& name) {
  int error = files_->rename_at(folder, unfinished_.c_str(), name.c_str());
  if (error != EINVAL && error != ENOSYS) return error;
  // A file system without this: a second name refuses an existing one too.
  error = files_->link_at(folder, unfinished_.c_str(), name.c_str());
  if (error == EPERM || error == ENOSYS) return ENOTSUP;
  if (error == 0)
    files_->remove_at(folder, unfinished_.c_str());  // a name too many of a whole file
  return error;
}

// On the disk, too: the attempt that wrote it may not have come so far.
bool FileDrop::is_there(int folder, const std::string& name, std::string_view bytes) {
  Descriptor file;
  return files_->open_at(folder, name.c_str(), file) == 0 && holds(file.get(), bytes) &&
         files_->sync(file.get()) == 0;
}

bool FileDrop::holds(int file, std::string_view bytes) {
  uint64_t size = 0;
  if (files_->size(file, size) != 0 || size != bytes.size()) return false;
  std::array<char, 64 << 10> piece;
  for (;;) {
    size_t got = 0;
    const int error = files_->read(file, piece, got);
    if (error == EINTR) continue;
    if (error != 0 || got > bytes.size()) return false;
    if (got == 0) return bytes.empty();
    if (bytes.substr(0, got) != std::string_view(piece.data(), got)) return false;
    bytes.remove_prefix(got);
  }
}

// Some network file systems have no such thing for folders, and need none.
int FileDrop::sync_folder(int folder) {
  const int error = files_->sync(folder);
  return error == EINVAL || error == ENOTSUP ? 0 : error;
}

base::Error FileDrop::explain(const Fault& fault, const FileName& name) const {
  const auto say = [&](const std::string& text) {
    return base::environment_error("the folder " + folder_ + ' ' + text);
  };
  switch (fault.error) {
    case ENOENT:
      if (fault.doing == kRenaming)
        return say("lost the unfinished file " + unfinished_ +
                   ": who takes files from it has to leave those that begin with \".\"");
      return say(
          "is not there: mount it, or make it (girdled makes no folder: a share that is not "
          "mounted would be "
          "filled underneath)");
    case ENOTDIR:
      return say("is no folder: name one in the outlet's `folder: { path }`");
    case ELOOP:
      return say("cannot be reached: its path has links that lead in a circle");
    case ENOSPC:
      return say("has no space left: make room on its disk");
    case EDQUOT:
      return say("has no space left for this user: make room, or raise the quota");
    case EACCES:
    case EPERM:
      return say("does not let girdled in: its user needs the rights to read and to write there");
    case EROFS:
      return say("is read-only: mount it so that it can be written to");
    case ENOTSUP:
      return say(
          "lies on a file system that can neither rename without replacing nor give a file a "
          "second name; "
          "choose one that can");
    case EEXIST:
      return say("has " + std::to_string(kMostNumbers) + " files called as " + name.whole() +
                 " already, with other contents: clear it");
    case ECANCELED:
      return say("answered too late");
    default:
      break;
  }
  return say(std::string("cannot take ") + name.whole() + ": girdled cannot " +
             std::string(fault.doing) + ": " + base::errno_text(fault.error));
}

}  // namespace girdle::delivery
