#include "intake/folder_watch.h"

#include <sys/inotify.h>
#include <sys/vfs.h>
#include <unistd.h>

#include <cerrno>
#include <filesystem>
#include <utility>

namespace girdle::intake {
namespace {

constexpr uint32_t kFolderLost = IN_DELETE_SELF | IN_MOVE_SELF | IN_IGNORED | IN_UNMOUNT;

Happened happened(uint32_t mask) {
  if (mask & (IN_CLOSE_WRITE | IN_MOVED_TO)) return Happened::kComplete;
  return mask & (IN_MOVED_FROM | IN_DELETE) ? Happened::kGone : Happened::kTouched;
}

struct KnownFileSystem {
  uint32_t magic;  // statfs(2)
  const char* name;
};
// Local ones: every writer goes through this kernel.
constexpr KnownFileSystem kLocal[] = {
    {0xEF53, "ext"},           {0x58465342, "xfs"},   {0x9123683E, "btrfs"},
    {0x01021994, "tmpfs"},     {0xF2F52010, "f2fs"},  {0x2FC12FC1, "zfs"},
    {0x4D44, "vfat"},          {0x2011BAB0, "exfat"}, {0x7366746E, "ntfs3"},
    {0x794C7630, "overlayfs"}, {0x3153464A, "jfs"},   {0x858458F6, "ramfs"},
    {0xCA451A4E, "bcachefs"}};
constexpr KnownFileSystem kRemote[] = {
    {0x6969, "nfs"},      {0xFF534D42, "cifs"}, {0xFE534D42, "smb2"},
    {0x517B, "smb"},      {0x65735546, "fuse"}, {0x01021997, "9p"},
    {0x00C36400, "ceph"}, {0x5346414F, "afs"},  {0x73757245, "coda"}};

}  // namespace

base::Result<std::unique_ptr<FolderWatch>> FolderWatch::create(
    boost::asio::any_io_executor executor, const std::string& path, bool writes) {
  boost::asio::posix::stream_descriptor descriptor(executor);
  const int number = ::inotify_init1(IN_NONBLOCK | IN_CLOEXEC);
  if (number < 0) return base::environment_error("no watch on folders: " + base::errno_text(errno));
  boost::system::error_code failed;
  descriptor.assign(number, failed);
  if (failed) {
    ::close(number);
    return base::environment_error("no watch on folders: " + failed.message());
  }
  uint32_t mask =
      IN_CLOSE_WRITE | IN_MOVED_TO | IN_CREATE | IN_DELETE_SELF | IN_MOVE_SELF | IN_ONLYDIR;
  if (writes) mask |= IN_MODIFY | IN_MOVED_FROM | IN_DELETE;
  if (::inotify_add_watch(number, path.c_str(), mask) < 0) {
    return base::environment_error("no watch on " + path + ": " + base::errno_text(errno));
  }
  // A folder that we hold open lives on when it is deleted, and says nothing; its parent does.
  // Where the parent cannot be watched, the scan finds out.
  const std::filesystem::path plain = path.ends_with('/') ? path.substr(0, path.size() - 1) : path;
  const std::string parent = plain.has_parent_path() ? plain.parent_path().string() : ".";
  const int parent_watch =
      ::inotify_add_watch(number, parent.c_str(), IN_DELETE | IN_MOVED_FROM | IN_ONLYDIR);
  return std::unique_ptr<FolderWatch>(
      new FolderWatch(std::move(descriptor), parent_watch, plain.filename().string()));
}

FolderWatch::Lost FolderWatch::drain(const OnEvent& on_event) {
  Lost lost;
  alignas(inotify_event) char buffer[16384];
  for (;;) {
    const ssize_t count = ::read(descriptor_.native_handle(), buffer, sizeof buffer);
    if (count < 0 && errno == EINTR) continue;
    if (count <= 0) return lost;
    for (const char* at = buffer; at < buffer + count;) {
      const auto* const event = reinterpret_cast<const inotify_event*>(at);
      at += sizeof(inotify_event) + event->len;
      if (event->mask & IN_Q_OVERFLOW) lost.events = true;
      if (event->wd == parent_watch_ && parent_watch_ >= 0) {
        if (event->len > 0 && name_ == event->name) lost.folder = true;
        continue;
      }
      if (event->mask & kFolderLost) lost.folder = true;
      if (event->len > 0) on_event(event->name, happened(event->mask));
    }
  }
}

FileSystemKind file_system_kind(int folder) {
  struct statfs found;
  if (::fstatfs(folder, &found) != 0) return {false, "unknown (" + base::errno_text(errno) + ")"};
  const auto magic = static_cast<uint32_t>(found.f_type);
  for (const KnownFileSystem& known : kLocal) {
    if (known.magic == magic) return {true, known.name};
  }
  for (const KnownFileSystem& known : kRemote) {
    if (known.magic == magic) return {false, known.name};
  }
  return {false, "unknown"};
}

}  // namespace girdle::intake
