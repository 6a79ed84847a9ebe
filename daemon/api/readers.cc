#include "api/readers.h"

#include <exception>
#include <utility>

namespace girdle::api {

Readers::~Readers() { stop(); }

void Readers::start() {
  for (size_t i = 0; i < kThreads; ++i) threads_.emplace_back([this] { work(); });
}

void Readers::stop() {
  {
    const std::lock_guard lock(mutex_);
    stopping_ = true;
    jobs_.clear();
  }
  more_.notify_all();
  for (std::thread& thread : threads_) thread.join();
  threads_.clear();
}

bool Readers::submit(Job job) {
  {
    const std::lock_guard lock(mutex_);
    if (stopping_ || jobs_.size() >= most_) return false;
    jobs_.push_back(std::move(job));
  }
  more_.notify_one();
  return true;
}

void Readers::submit_first(Job job) {
  {
    const std::lock_guard lock(mutex_);
    if (stopping_) return;
    jobs_.push_front(std::move(job));
  }
  more_.notify_one();
}

bool Readers::next(Job& job) {
  std::unique_lock lock(mutex_);
  more_.wait(lock, [this] { return stopping_ || !jobs_.empty(); });
  if (stopping_) return false;
  job = std::move(jobs_.front());
  jobs_.pop_front();
  return true;
}

void Readers::run(const Job& job, std::unique_ptr<Teller>& teller) {
  if (teller) return job(teller.get());
  auto made = desk_.teller();
  if (!made) return job(std::move(made.error()));
  teller = std::move(made).value();
  job(teller.get());
}

void Readers::work() {
  std::unique_ptr<Teller> teller;
  Job job;
  while (next(job)) {
    try {
      run(job, teller);
    } catch (const std::exception& fault) {
      teller.reset();  // nobody knows what state it is in
      std::call_once(told_, [&] { log_.error("a request of the API ended by a fault", {{"fault", fault.what()}}); });
    } catch (...) {
      teller.reset();
      std::call_once(told_, [&] { log_.error("a request of the API ended by a fault"); });
    }
    job = nullptr;  // what it holds goes now
  }
}

}  // namespace girdle::api
