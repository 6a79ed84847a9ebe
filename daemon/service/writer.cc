#include "service/writer.h"

#include <algorithm>

#include "base/overload.h"

namespace girdle::service {

using base::Overload;
using base::Result;

namespace {

constexpr auto kIdleTidy = std::chrono::milliseconds(300);  // quiet for so long: the log may be moved into the file
constexpr uint64_t kIdlePages = 256;                        // 1 MiB
constexpr uint64_t kBusyPages = 8192;                       // 32 MiB: even under load

size_t cost_of(const Batch& batch) { return batch.cost(); }

}  // namespace

Writer::Writer(std::unique_ptr<ledger::Ledger> ledger, const base::Clock& clock, base::Log log, std::string site, Hooks hooks)
    : ledger_(std::move(ledger)),
      recorder_(*ledger_, clock, std::move(site)),
      clock_(clock),
      log_(std::move(log)),
      hooks_(std::move(hooks)) {
  recorder_.count_into(hooks_.meters);
}

Writer::~Writer() { stop(); }

void Writer::start() { thread_ = std::thread([this] { run(); }); }

void Writer::stop() {
  {
    const std::lock_guard lock(mutex_);
    stopping_ = true;
  }
  wake_.notify_all();
  if (thread_.joinable()) thread_.join();
}

bool Writer::has_room() {
  const std::lock_guard lock(mutex_);
  if (queued_ < kMaxQueued) return true;
  room_wanted_ = true;
  return false;
}

bool Writer::idle() {
  const std::lock_guard lock(mutex_);
  return queue_.empty() && !busy_;
}

api::WriterState Writer::standing() {
  const std::lock_guard lock(mutex_);
  return {queued_, refused_ || failed_};
}

void Writer::push(Work work, size_t cost) {
  {
    const std::lock_guard lock(mutex_);
    queue_.push_back(std::move(work));
    queued_ += cost;
  }
  wake_.notify_one();
}

void Writer::submit(Batch batch, Done done) {
  const size_t cost = cost_of(batch);
  push(BatchWork{std::move(batch), std::move(done)}, cost);
}

void Writer::mark(ledger::DeliveryRow row, std::optional<ledger::AttemptRow> attempt, Marked done) {
  push(MarkWork{std::move(row), std::move(attempt), std::move(done)}, 0);
}

void Writer::act(Act act, Done done) { push(ActWork{std::move(act), std::move(done)}, 0); }

void Writer::bind(api::Bind deed, HandDone done) { push(HandWork{std::move(deed), std::move(done), {}}, 0); }

void Writer::decide(api::DecideByHand deed, HandDone done) { push(HandWork{std::move(deed), std::move(done), {}}, 0); }

void Writer::adopt(Adoption adoption, Done done) { push(AdoptWork{std::move(adoption), std::move(done)}, 0); }

std::vector<Writer::Work> Writer::take_group() {
  std::unique_lock lock(mutex_);
  busy_ = false;
  while (queue_.empty() && !stopping_) {
    if (wake_.wait_for(lock, kIdleTidy, [&] { return !queue_.empty() || stopping_; })) break;
    lock.unlock();
    ledger_->tidy(kIdlePages);
    lock.lock();
    wake_.wait(lock, [&] { return !queue_.empty() || stopping_; });
  }
  busy_ = true;
  std::vector<Work> group;
  size_t cost = 0;
  while (!queue_.empty()) {
    const auto* batch = std::get_if<BatchWork>(&queue_.front());
    const size_t next = batch ? cost_of(batch->batch) : 1;
    if (!group.empty() && cost + next > kMaxGroup) break;
    cost += next;
    if (batch) queued_ -= next;
    group.push_back(std::move(queue_.front()));
    queue_.pop_front();
  }
  const bool room = room_wanted_ && queued_ < kMaxQueued / 2;
  if (room) room_wanted_ = false;
  lock.unlock();
  if (room && hooks_.on_room) hooks_.on_room();
  return group;
}

void Writer::run() {
  for (;;) {
    std::vector<Work> group = take_group();
    if (group.empty()) break;
    tell(group, !failed_ && write_until_durable(group));
    if (!failed_) ledger_->tidy(kBusyPages);
  }
  if (!failed_) ledger_->tidy(1);
}

bool Writer::write_until_durable(std::vector<Work>& group) {
  auto wait = std::chrono::milliseconds(100);
  bool told = false;
  for (;;) {
    std::vector<model::Delivery> fresh;
    const bool watched = hooks_.on_committed && hooks_.listened != nullptr && hooks_.listened->load(std::memory_order_relaxed);
    recorder_.watch(watched);
    const base::Stopwatch watch;
    const auto written = write(group, fresh);
    if (written) {
      if (hooks_.meters != nullptr) hooks_.meters->commit.add(watch.took());
      api::Happening happening;
      if (watched) happening = happening_of(group);
      recorder_.committed();
      if (!happening.empty()) hooks_.on_committed(happening);
      if (told) {
        log_.info("ledger writes again");
        const std::lock_guard lock(mutex_);
        refused_ = false;
      }
      if (!fresh.empty() && hooks_.on_fresh) hooks_.on_fresh(std::move(fresh));
      return true;
    }
    ledger_->rollback();
    recorder_.rolled_back();
    if (written.error().fault != base::Fault::kEnvironment) {
      fail(written.error());
      return false;
    }
    if (!told) log_.error("ledger refuses a commit; nothing is lost, it is tried again", {{"why", written.error().text}});
    told = true;
    std::unique_lock lock(mutex_);
    refused_ = true;
    if (wake_.wait_for(lock, wait, [&] { return stopping_; })) return false;
    wait = std::min(wait * 2, std::chrono::milliseconds(5000));
  }
}

Result<void> Writer::write(std::vector<Work>& group, std::vector<model::Delivery>& fresh) {
  if (auto done = ledger_->begin(); !done) return done;
  for (Work& work : group) {
    if (auto done = write_one(work, fresh); !done) return done;
  }
  if (auto done = recorder_.settle(fresh, kMaxFresh); !done) return done;
  return ledger_->commit();
}

api::Happening Writer::happening_of(const std::vector<Work>& group) const {
  api::Happening happening = recorder_.happening();
  for (const Work& work : group) happening.marks += std::holds_alternative<MarkWork>(work);
  return happening;
}

Result<void> Writer::write_one(Work& work, std::vector<model::Delivery>& fresh) {
  return std::visit(Overload{[&](BatchWork& w) { return recorder_.add(w.batch); },
                             [&](MarkWork& w) -> Result<void> {
                               auto next = ledger_->mark_delivery(w.row, w.attempt ? &*w.attempt : nullptr);
                               if (!next) return next.error();
                               w.next = *next;
                               return {};
                             },
                             [&](ActWork& w) { return w.act(*ledger_); },
                             [&](AdoptWork& w) { return recorder_.adopt(w.adoption); },
                             [&](HandWork& w) { return write_hand(w, fresh); }},
                    work);
}

Result<void> Writer::write_hand(HandWork& work, std::vector<model::Delivery>& fresh) {
  auto fate = std::visit(Overload{[&](const api::Bind& deed) { return recorder_.bind(deed); },
                                  [&](const api::DecideByHand& deed) {
                                    return recorder_.decide_by_hand(deed, fresh, kMaxFresh);
                                  }},
                         work.deed);
  if (!fate) return fate.error();
  work.fate = std::move(fate).value();
  return {};
}

void Writer::tell(std::vector<Work>& group, bool committed) {
  for (Work& work : group) {
    std::visit(Overload{[&](BatchWork& w) {
                          if (w.done) w.done(committed);
                        },
                        [&](MarkWork& w) {
                          std::optional<model::Delivery> next;
                          if (committed && w.next != 0) {
                            if (auto found = recorder_.delivery(w.next)) next = std::move(*found);
                          }
                          if (w.done) w.done(committed, std::move(next));
                        },
                        [&](ActWork& w) {
                          if (w.done) w.done(committed);
                        },
                        [&](AdoptWork& w) {
                          if (w.done) w.done(committed);
                        },
                        [&](HandWork& w) {
                          const auto* bind = std::get_if<api::Bind>(&w.deed);
                          if (committed && bind && w.fate.kind == HandFate::Kind::kDone) {
                            (void)recorder_.find_case(*bind, w.fate);  // it is bound, whether its case is found or not
                          }
                          if (w.done) w.done(committed, std::move(w.fate));
                        }},
               work);
  }
}

void Writer::fail(const base::Error& error) {
  {
    const std::lock_guard lock(mutex_);
    failed_ = true;
  }
  log_.error("ledger cannot be used", {{"why", error.text}});
  if (hooks_.on_fault) hooks_.on_fault(error);
}

}  // namespace girdle::service
