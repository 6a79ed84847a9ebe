#include "intake/folder_intake.h"

#include <algorithm>
#include <boost/system/system_error.hpp>
#include <cerrno>
#include <utility>

#include "intake/growing_files.h"
#include "intake/whole_files.h"

namespace girdle::intake {

namespace asio = boost::asio;

namespace {

using std::chrono::milliseconds;

constexpr milliseconds kFirstLookForFolder{250};
constexpr milliseconds kLookForFolder{2000};
constexpr milliseconds kScanAgain{200};
constexpr std::chrono::minutes kLongestPause{10};
constexpr int kScanShare = 10;         // of the time, one part: however large the folder is
constexpr int kNamesAtATime = 16;      // before other intakes have their turn
constexpr int kNamesWithoutNews = 64;  // of a scan

SteadyTime steady_now() { return std::chrono::steady_clock::now(); }

std::unique_ptr<FileTaker> make_taker(FolderWork& work, uint64_t max_record_bytes) {
  if (work.settings.growing) return std::make_unique<GrowingFiles>(work, max_record_bytes);
  return std::make_unique<WholeFiles>(work);
}

}  // namespace

FolderIntake::FolderIntake(const config::Intake& settings, std::shared_ptr<Files> files, Sink& sink,
                           base::Clock& clock, base::Log log, asio::any_io_executor executor)
    : work_(settings.name, std::get<config::FolderIntake>(settings.source), std::move(files), sink,
            clock, std::move(log), std::move(executor)),
      rules_(work_.settings.match),
      taker_(make_taker(work_, settings.max_record_bytes)),
      look_for_folder_(kFirstLookForFolder, kLookForFolder, 0) {}

Status FolderIntake::status() const {
  Status status = work_.status;
  status.up = static_cast<bool>(work_.folder);
  status.trouble = trouble_.empty() ? polled_why_ : trouble_;
  if (status.trouble.empty() && work_.troubles() > 0) {
    status.trouble =
        std::to_string(work_.troubles()) + " names in the folder cannot be read; see the log";
  }
  if (status.trouble.empty()) status.trouble = work_.sink.trouble();
  status.in_flight = work_.names.in_flight();
  return status;
}

asio::awaitable<void> FolderIntake::run() {
  try {
    for (;;) {
      if (!work_.folder && !open_folder()) {
        const SteadyTime look_at = steady_now() + look_for_folder_.next(0);
        while (steady_now() < look_at) {
          co_await work_.bell.wait(std::min(look_at, taker_->next_due()));
          co_await taker_->tend();
        }
        continue;
      }
      drain_events();
      if (!work_.folder) continue;
      if (co_await work_some()) {
        co_await work_.yield();
      } else {
        co_await work_.bell.wait(next_wake(), watch_ ? &watch_->descriptor() : nullptr);
      }
    }
  } catch (const boost::system::system_error& ended) {
    if (ended.code() != asio::error::operation_aborted) throw;
  }
}

asio::awaitable<void> FolderIntake::scan_once() {
  work_.once = true;
  try {
    if (!work_.folder && !open_folder()) co_return;
    begin_scan();
    for (;;) {
      if (co_await work_some()) {
        co_await work_.yield();
      } else if (listing_ || work_.names.has_ready() || taker_->is_busy()) {
        co_await work_.bell.wait(SteadyTime::max());  // for what is in flight to land
      } else {
        break;
      }
    }
  } catch (const boost::system::system_error& ended) {
    if (ended.code() != asio::error::operation_aborted) throw;
  }
  work_.once = false;
}

bool FolderIntake::open_folder() {
  const std::string path = work_.settings.path.string();
  int error = work_.files.open_folder(path, work_.folder);
  if (error == 0) error = work_.files.status(work_.folder.get(), folder_status_);
  if (error != 0) {
    work_.folder.close();
    lose_folder(base::errno_text(error));
    return false;
  }
  if (!std::exchange(trouble_, {}).empty()) {
    work_.log.info("the folder is back", {{"intake", work_.intake}, {"folder", path}});
  }
  look_for_folder_.reset();
  ++work_.status.connects;
  work_.newest_ctime_ns = 0;
  if (!work_.once) watch_folder();
  scan_at_ = steady_now();
  return true;
}

void FolderIntake::watch_folder() {
  const FileSystemKind kind = file_system_kind(work_.folder.get());
  work_.trust_clock = kind.is_local;
  std::string why;
  if (kind.is_local) {
    auto made =
        FolderWatch::create(work_.executor, work_.settings.path.string(), work_.settings.growing);
    if (made) {
      watch_ = std::move(made).value();
    } else {
      why = made.error().text;
    }
  } else {
    why = "the file system is " + kind.name + ", which does not tell of writes by others";
  }
  if (!why.empty() && why != polled_why_) {
    work_.log.info(
        "the folder is polled, not watched",
        {{"intake", work_.intake}, {"folder", work_.settings.path.string()}, {"why", why}});
  }
  polled_why_ = std::move(why);
}

void FolderIntake::lose_folder(const std::string& why) {
  if (trouble_.empty()) {
    work_.log.warning(
        "the folder is not there; it is looked for until it comes back",
        {{"intake", work_.intake}, {"folder", work_.settings.path.string()}, {"why", why}});
  }
  trouble_ = "the folder " + work_.settings.path.string() + " is not there: " + why;
  watch_.reset();
  listing_.reset();
  work_.folder.close();
  work_.names.drop_all_at_rest();
  taker_->folder_lost();
}

// A folder that is deleted and made again, or renamed, keeps its old descriptor and watch: what has
// its name now counts.
bool FolderIntake::is_still_the_folder() {
  FileStatus now;
  const int error = work_.files.status_of_path(work_.settings.path.string(), now);
  if (error == 0 && now.is_same_file(folder_status_)) return true;
  if (error == EIO) return true;  // says nothing of the name; the open folder may still answer
  if (error != 0) {
    lose_folder(base::errno_text(error));
  } else {
    lose_folder("another folder has its name");
  }
  return false;
}

void FolderIntake::drain_events() {
  if (!watch_) return;
  const FolderWatch::Lost lost =
      watch_->drain([this](std::string_view name, Happened happened) { on_event(name, happened); });
  if (lost.events) {
    scan_again_ = listing_ != nullptr;
    scan_at_ = steady_now();
  }
  if (lost.folder) lose_folder("it was deleted or moved");
}

void FolderIntake::on_event(std::string_view name, Happened happened) {
  if (!rules_.is_document(name)) return;
  InHand* entry = work_.names.find(name);
  if (entry == nullptr && work_.names.is_full()) {
    scan_again_ = true;
    scan_at_ = std::min(scan_at_, steady_now() + kScanAgain);
    return;
  }
  if (entry == nullptr) {
    entry = &work_.names.take(name);
  } else if (entry->stage == InHand::Stage::kTaken || entry->stage == InHand::Stage::kInFlight) {
    entry->again = true;
    entry->complete = happened == Happened::kComplete;
    return;
  }
  taker_->on_event(*entry, happened);
}

asio::awaitable<bool> FolderIntake::work_some() {
  for (int count = 0; count < kNamesAtATime; ++count) {
    if (!co_await work_one(steady_now())) co_return false;
    if (!work_.folder) co_return true;
  }
  co_return true;
}

asio::awaitable<bool> FolderIntake::work_one(SteadyTime now) {
  if (taker_->next_due() <= now) {
    co_await taker_->tend();
    co_return true;
  }
  if (work_.names.is_flying_full()) co_return false;
  if (InHand* const entry = work_.names.next(now)) {
    co_await taker_->take(*entry);
    co_return true;
  }
  if (!listing_ && !work_.once && scan_at_ <= now && is_still_the_folder()) begin_scan();
  if (!listing_ || work_.names.is_full()) co_return false;
  co_await scan_some();
  co_return true;
}

SteadyTime FolderIntake::next_wake() const {
  SteadyTime at = taker_->next_due();
  if (work_.names.is_flying_full()) return at;
  if (!listing_) at = std::min(at, scan_at_);
  return std::min(at, work_.names.next_due());
}

void FolderIntake::begin_scan() {
  scan_cost_ = {};
  scan_again_ = false;
  const int error = work_.files.list(work_.folder.get(), listing_);
  if (error != 0) end_scan(error);
}

asio::awaitable<void> FolderIntake::scan_some() {
  const SteadyTime began = steady_now();
  const std::string_view name = next_with_news();
  scan_cost_ += steady_now() - began;
  if (!name.empty()) co_await taker_->take(work_.names.take(name));
}

std::string_view FolderIntake::next_with_news() {
  for (int count = 0; count < kNamesWithoutNews; ++count) {
    std::string_view name;
    const int error = listing_->next(name);
    if (error != 0 || name.empty()) {
      end_scan(error);
      return {};
    }
    if (!rules_.is_document(name) || work_.names.find(name) != nullptr) continue;
    if (taker_->has_news(name.data())) return name;
  }
  return {};
}

void FolderIntake::end_scan(int error) {
  listing_.reset();
  const auto every = std::max<SteadyTime::duration>(
      work_.settings.scan_every,
      std::min<SteadyTime::duration>(kScanShare * scan_cost_, kLongestPause));
  const auto again = std::min<SteadyTime::duration>(every, kScanAgain);
  scan_at_ = steady_now() + (scan_again_ ? again : every);
  if (error == 0) {
    ++work_.status.scans;
    work_.forget_old_troubles();
    taker_->after_scan();
  } else {
    work_.trouble(".", "list", error);
  }
}

}  // namespace girdle::intake
