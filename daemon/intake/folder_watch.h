// What the kernel tells of a folder (inotify): quick, and never the whole truth. Events are lost
// when the queue runs over, on network file systems, for stores through mmap; the periodic scan
// finds what was missed.
//
// On the intake's thread.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/posix/stream_descriptor.hpp>
#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <string_view>
#include <utility>

#include "base/result.h"

namespace girdle::intake {

enum class Happened {
  kComplete,  // closed after writing, or moved in
  kTouched,   // made, or (only when asked for) written to
  kGone,      // moved away or deleted; only when asked for
};

class FolderWatch {
 public:
  struct Lost {
    bool events = false;  // the queue ran over: scan
    bool folder = false;  // the folder was deleted, moved or unmounted: nothing will come from its
                          // name any more
  };
  // The name is ended by a zero and lives during the call.
  using OnEvent = std::function<void(std::string_view name, Happened happened)>;

  // `writes`: also tells every write, and names that go. Fails where the system has no watches
  // left.
  static base::Result<std::unique_ptr<FolderWatch>> create(boost::asio::any_io_executor executor,
                                                           const std::string& path, bool writes);

  // Tells what happened until now; does not wait.
  Lost drain(const OnEvent& on_event);

  // Readable when something happened.
  boost::asio::posix::stream_descriptor& descriptor() { return descriptor_; }

 private:
  FolderWatch(boost::asio::posix::stream_descriptor descriptor, int parent_watch, std::string name)
      : descriptor_(std::move(descriptor)), parent_watch_(parent_watch), name_(std::move(name)) {}

  boost::asio::posix::stream_descriptor descriptor_;
  const int parent_watch_;  // below 0: none
  const std::string name_;  // of the folder in its parent
};

// Whether writes by others come as events, and times can be compared with this machine's clock:
// true for file systems known to be local. `name` says which it is, for the log.
struct FileSystemKind {
  bool is_local = false;
  std::string name;
};
FileSystemKind file_system_kind(int folder);

}  // namespace girdle::intake
