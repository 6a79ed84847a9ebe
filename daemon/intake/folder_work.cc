#include "intake/folder_work.h"

#include <boost/asio/post.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <utility>

#include "base/result.h"

namespace girdle::intake {
namespace {

constexpr size_t kNamesInHand = 4096;
constexpr size_t kTroubledNames = 1024;
constexpr int64_t kCoarsestTimes_ns = 2'100'000'000;  // vfat counts in steps of two seconds

const char* what_it_is(FileKind kind) {
  switch (kind) {
    case FileKind::kFile:
      return "a file";
    case FileKind::kFolder:
      return "a folder; folders within the folder are not read";
    case FileKind::kLink:
      return "a symbolic link; links are not followed: put the file itself there";
    case FileKind::kPipe:
      return "a named pipe; only files are read";
    case FileKind::kSocket:
      return "a socket; only files are read";
    case FileKind::kDevice:
      return "a device; only files are read";
  }
  return "no file";
}

// Stands for the content of a document that is not read: two of them never count as the same.
base::Digest digest_of_unread(const InHand& entry, const FileStatus& file) {
  std::string text = "unread";
  text += '\0';
  text += entry.name;
  for (const uint64_t value : {file.inode, file.size, static_cast<uint64_t>(file.mtime_ns),
                               static_cast<uint64_t>(file.ctime_ns)}) {
    text += '\0';
    text += std::to_string(value);
  }
  return base::sha256(text);
}

}  // namespace

FolderWork::FolderWork(std::string intake_name, const config::FolderIntake& folder_settings,
                       std::shared_ptr<Files> file_system, Sink& sink_to, base::Clock& time,
                       base::Log log_to, boost::asio::any_io_executor on)
    : intake(std::move(intake_name)),
      settings(folder_settings),
      owned_files(std::move(file_system)),
      files(*owned_files),
      sink(sink_to),
      clock(time),
      log(std::move(log_to)),
      executor(on),
      bell(on),
      names(kNamesInHand) {}

boost::asio::awaitable<void> FolderWork::yield() {
  co_await boost::asio::post(executor, boost::asio::use_awaitable);
}

bool FolderWork::is_quiet(const FileStatus& file) const {
  // Another machine's clock may be anything; but what it gave to the newest change is not later
  // than its now.
  const int64_t now_ns = trust_clock ? base::to_millis(clock.now()) * 1'000'000 : newest_ctime_ns;
  return file.ctime_ns <= now_ns - settings.settle.count() * 1'000'000;
}

bool FolderWork::is_fresh(const FileStatus& file) const {
  return base::to_millis(clock.now()) * 1'000'000 - file.ctime_ns < kCoarsestTimes_ns;
}

void FolderWork::trouble(const std::string& name, const char* what, int error) {
  const auto [at, is_new] = troubled_.insert_or_assign(name, status.scans);
  if (!is_new) return;
  if (troubled_.size() > kTroubledNames) {
    troubled_.erase(at);
    return;
  }
  log.warning(
      "cannot read a file; it is tried again at every scan",
      {{"intake", intake}, {"file", name}, {"call", what}, {"error", base::errno_text(error)}});
}

void FolderWork::forget_old_troubles() {
  std::erase_if(troubled_, [&](const auto& one) { return one.second + 1 < status.scans; });
}

model::Document FolderWork::document(const std::string& name, const FileStatus& file) const {
  model::Document document;
  document.intake = intake;
  document.name = name;
  document.size = file.size;
  document.came_at = base::from_millis(file.mtime_ns / 1'000'000);
  return document;
}

model::FilePosition FolderWork::position(const std::string& name, const FileStatus& file) const {
  model::FilePosition position;
  position.intake = intake;
  position.name = name;
  position.size = file.size;
  position.mtime_ns = file.mtime_ns;
  position.ctime_ns = file.ctime_ns;
  return position;
}

void FolderWork::count_document(uint64_t bytes) {
  ++status.documents;
  status.bytes += bytes;
  status.last_at = clock.now();
}

bool FolderWork::is_told(const std::optional<model::FilePosition>& known) {
  return known && known->size == 0 && known->mtime_ns == 0 && known->ctime_ns == 0 &&
         known->offset == 0;
}

boost::asio::awaitable<void> FolderWork::set_aside_no_file(InHand& entry, const FileStatus& file) {
  FileStatus nothing = file;
  nothing.size = 0;
  nothing.mtime_ns = nothing.ctime_ns = 0;
  co_await set_aside_unread(entry, file, std::string("this is ") + what_it_is(file.kind),
                            position(entry.name, nothing));
}

boost::asio::awaitable<void> FolderWork::set_aside_unread(InHand& entry, const FileStatus& file,
                                                          std::string reason,
                                                          model::FilePosition at) {
  model::Document unread = document(entry.name, file);
  unread.digest = digest_of_unread(entry, file);
  model::Aside aside;
  aside.place.length = file.size;
  aside.reason = std::move(reason);
  aside.truncated = file.size > 0;
  entry.seen = file;
  entry.move = false;
  names.fly(entry);
  ++status.set_aside;
  co_await sink.set_aside(unread, std::move(aside), std::move(at),
                          [this, &entry](bool committed) { landed(entry, committed); });
}

void FolderWork::let_go(InHand& entry) {
  if (std::exchange(entry.again, false)) {
    names.make_ready(entry);
  } else {
    names.drop(entry);
  }
}

void FolderWork::landed(InHand& entry, bool committed) {
  if (committed) {
    let_go(entry);
  } else {
    ++status.failed;
    names.drop(entry);  // its position has not moved: the next scan offers the file again
  }
  bell.ring();
}

boost::asio::awaitable<void> FileTaker::tend() { co_return; }

}  // namespace girdle::intake
