// What the two ways of taking in files share: the folder, the sink, the names in hand, and what
// becomes of names that are no files or cannot be read.
//
// On the intake's thread. Everything that is referred to outlives it.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/awaitable.hpp>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <unordered_map>

#include "base/clock.h"
#include "base/log.h"
#include "config/settings.h"
#include "intake/bell.h"
#include "intake/files.h"
#include "intake/folder_watch.h"
#include "intake/intake.h"
#include "intake/names_in_hand.h"
#include "intake/sink.h"
#include "model/position.h"

namespace girdle::intake {

struct FolderWork {
  FolderWork(std::string intake_name, const config::FolderIntake& folder_settings,
             std::shared_ptr<Files> file_system, Sink& sink_to, base::Clock& time, base::Log log_to,
             boost::asio::any_io_executor on);

  const std::string intake;
  const config::FolderIntake settings;
  const std::shared_ptr<Files> owned_files;
  Files& files;
  Sink& sink;
  base::Clock& clock;
  base::Log log;
  boost::asio::any_io_executor executor;
  Bell bell;
  NamesInHand names;
  Status status;

  Descriptor folder;
  bool once = false;         // scan_once: nothing is waited for
  bool trust_clock = false;  // the folder's file system goes by this machine's clock
  int64_t newest_ctime_ns =
      0;  // of what was seen in the folder: a lower bound of its file system's time

  // Lets everything else that is due on the thread run.
  boost::asio::awaitable<void> yield();

  // Whether the file has stood still for `settle`, by its own change time.
  bool is_quiet(const FileStatus& file) const;
  // Whether the file's last change is so fresh that the next one may get the same times.
  bool is_fresh(const FileStatus& file) const;

  // The name cannot be read now: said once while it lasts, tried again at every scan.
  void trouble(const std::string& name, const char* what, int error);
  void no_trouble(const std::string& name) {
    if (!troubled_.empty()) troubled_.erase(name);
  }
  // Forgets troubles that the scan, which is over, did not meet again.
  void forget_old_troubles();
  size_t troubles() const { return troubled_.size(); }

  model::Document document(const std::string& name, const FileStatus& file) const;
  model::FilePosition position(const std::string& name, const FileStatus& file) const;
  void count_document(uint64_t bytes);

  // Sets aside what is no regular file. It is told once: its position is all zeros, whatever its
  // times are.
  static bool is_told(const std::optional<model::FilePosition>& known);
  boost::asio::awaitable<void> set_aside_no_file(InHand& entry, const FileStatus& file);
  boost::asio::awaitable<void> set_aside_unread(InHand& entry, const FileStatus& file,
                                                std::string reason, model::FilePosition position);

  // The name needs nothing now: it is dropped, unless something happened to it in the meantime.
  void let_go(InHand& entry);
  // After a document that came by this name was committed, or not: the name leaves flight, and is
  // looked at again when something happened to it.
  void landed(InHand& entry, bool committed);

 private:
  std::unordered_map<std::string, uint64_t> troubled_;  // name, and how many scans there were then
};

// One way to take in a folder's files.
class FileTaker {
 public:
  virtual ~FileTaker() = default;

  // For a scan: whether there is anything to do about the name, which is not in hand. Cheap: nearly
  // always not.
  virtual bool has_news(const char* name) = 0;
  // Deals with a name of the stage kTaken; after it the name is waiting, ready, in flight or
  // dropped. Right after has_news() of the same name it goes by what that saw.
  virtual boost::asio::awaitable<void> take(InHand& entry) = 0;
  // When something is due that belongs to no name; tend() then does it.
  virtual SteadyTime next_due() const { return SteadyTime::max(); }
  virtual boost::asio::awaitable<void> tend();
  // More will follow once what is in flight has landed.
  virtual bool is_busy() const { return false; }
  // A full scan is over: what it did not come across is not there.
  virtual void after_scan() {}
  // The folder is another one, or not there.
  virtual void folder_lost() {}
  // Something happened to the name, which is in hand.
  virtual void on_event(InHand& entry, Happened happened) = 0;
};

}  // namespace girdle::intake
