// A watched folder. The periodic full scan against the ledger is the truth; the kernel's events
// make it quick.
//
// One coroutine does one thing after another: what is ready, what is due, some of the scan; and
// gives way to the other intakes of the thread in between. Memory is bounded whatever the folder
// holds: the scan streams the names and pauses while too many are in hand.
#pragma once

#include <memory>
#include <string>

#include "intake/backoff.h"
#include "intake/folder_watch.h"
#include "intake/folder_work.h"
#include "intake/intake.h"
#include "intake/name_rules.h"

namespace girdle::intake {

class FolderIntake final : public Intake {
 public:
  // `settings.source` holds a FolderIntake.
  FolderIntake(const config::Intake& settings, std::shared_ptr<Files> files, Sink& sink,
               base::Clock& clock, base::Log log, boost::asio::any_io_executor executor);

  boost::asio::awaitable<void> run() override;
  boost::asio::awaitable<void> scan_once() override;
  std::string_view name() const override { return work_.intake; }
  Status status() const override;

 private:
  bool open_folder();
  void watch_folder();
  void lose_folder(const std::string& why);
  bool is_still_the_folder();

  void drain_events();
  void on_event(std::string_view name, Happened happened);

  // Does some of what there is to do; false when there is nothing now.
  boost::asio::awaitable<bool> work_some();
  boost::asio::awaitable<bool> work_one(SteadyTime now);
  SteadyTime next_wake() const;

  void begin_scan();
  boost::asio::awaitable<void> scan_some();
  // The next name that there is something to do about; empty when there is none in this batch.
  std::string_view next_with_news();
  void end_scan(int error);

  FolderWork work_;
  const NameRules rules_;
  const std::unique_ptr<FileTaker> taker_;
  Backoff look_for_folder_;
  std::unique_ptr<FolderWatch> watch_;  // null: polled
  FileStatus folder_status_;
  std::string trouble_;               // why the folder is not there; empty when it is
  std::string polled_why_;            // for status(), and so that it is said once
  std::unique_ptr<Listing> listing_;  // the scan that is under way
  SteadyTime::duration scan_cost_{};  // time spent on names, without that on their documents
  SteadyTime scan_at_{};              // the next one
  bool scan_again_ = false;           // something was missed while it is under way
};

}  // namespace girdle::intake
