// The threads that read the ledger for the API, each with a teller of its own, behind one bounded queue.
#pragma once

#include <condition_variable>
#include <cstddef>
#include <deque>
#include <functional>
#include <mutex>
#include <thread>
#include <vector>

#include "api/desk.h"
#include "base/log.h"
#include "base/result.h"

namespace girdle::api {

// Thread-safe.
class Readers {
 public:
  // On a reading thread, with its teller, or why there is none: the next job tries to have one made again. One that
  // throws costs the teller.
  using Job = std::function<void(const base::Result<Teller*>& teller)>;
  static constexpr size_t kThreads = 2;

  Readers(Desk& desk, size_t most, base::Log log) : desk_(desk), most_(most), log_(std::move(log)) {}
  ~Readers();

  void start();
  // Ends when the jobs under way have; those that wait are dropped.
  void stop();

  // False: so many wait that this one may not.
  bool submit(Job job);
  // What the server itself needs, before all others. The caller has a bound.
  void submit_first(Job job);

 private:
  void work();
  bool next(Job& job);
  void run(const Job& job, std::unique_ptr<Teller>& teller);

  Desk& desk_;
  size_t most_;
  base::Log log_;
  std::mutex mutex_;
  std::condition_variable more_;
  std::deque<Job> jobs_;
  bool stopping_ = false;
  std::once_flag told_;
  std::vector<std::thread> threads_;
};

}  // namespace girdle::api
