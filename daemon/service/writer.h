// The one thread that writes the ledger, and the bounded queue before it.
//
// Everything that is waiting when the thread is free goes into one transaction (group commit): a lone record pays one
// sync, a flood pays one a thousand records. Back-pressure: whoever submits batches asks has_room() first and waits for
// on_room(); marks of deliveries are bounded by their dispatchers. A commit that the disk refuses (full, read-only) is
// tried again, with the same work, until it goes through or the writer is stopped; meanwhile the queue is full, and the
// intakes wait. A ledger that is damaged ends the service: see on_fault.
#pragma once

#include <atomic>
#include <condition_variable>
#include <cstdint>
#include <deque>
#include <functional>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <variant>
#include <vector>

#include "api/feed.h"
#include "api/meters.h"
#include "base/clock.h"
#include "base/histogram.h"
#include "base/log.h"
#include "ledger/ledger.h"
#include "service/recorder.h"

namespace girdle::service {

class Writer {
 public:
  static constexpr size_t kMaxQueued = 4'000;  // records
  static constexpr size_t kMaxGroup = 5'000;   // records in one transaction, unless one batch has more
  static constexpr size_t kMaxFresh = 2'000;    // deliveries handed on straight after a commit

  struct Hooks {
    // On the writer's thread, after a commit: deliveries that may go out at once.
    std::function<void(std::vector<model::Delivery>)> on_fresh;
    // On the writer's thread: there is room again, after has_room() said no.
    std::function<void()> on_room;
    // On the writer's thread, at most once: the ledger cannot be used any more; nothing will be written.
    std::function<void(const base::Error&)> on_fault;
    // On the writer's thread, after each commit that changed something, while `listened` says that somebody listens.
    std::function<void(const api::Happening&)> on_committed = {};
    const std::atomic<bool>* listened = nullptr;  // null = nobody does
    api::Meters* meters = nullptr;                // null = nobody counts
  };
  // Called on the writer's thread; false when the writer stopped before the work was durable.
  using Done = std::function<void(bool committed)>;

  Writer(std::unique_ptr<ledger::Ledger> ledger, const base::Clock& clock, base::Log log, std::string site, Hooks hooks);
  ~Writer();  // stop()

  // Thread-safe, all of these.
  void start();
  // Finishes what is queued, unless the disk refuses it; then ends the thread.
  void stop();
  bool has_room();
  void submit(Batch batch, Done done);
  using Marked = std::function<void(bool committed, std::optional<model::Delivery> next)>;
  void mark(ledger::DeliveryRow row, std::optional<ledger::AttemptRow> attempt, Marked done);
  // Something small that a person or an outlet asks of the ledger. `act` may run more than once, where the disk refuses
  // a commit; an error of its own ends the service, as any damage does.
  using Act = std::function<base::Result<void>(ledger::Ledger&)>;
  void act(Act act, Done done);
  void adopt(Adoption adoption, Done done);
  // What a person says, in a transaction like any other. The fate is the recorder's; where it was not committed it means
  // nothing.
  using HandDone = std::function<void(bool committed, HandFate fate)>;
  void bind(api::Bind deed, HandDone done);
  void decide(api::DecideByHand deed, HandDone done);
  // Nothing is queued or under way.
  bool idle();
  api::WriterState standing();

  // Of everything committed. Only when stop() has returned: it is the thread's own until then.
  const Recorder::Counts& counts() const { return recorder_.counts(); }

 private:
  struct BatchWork {
    Batch batch;
    Done done;
  };
  struct MarkWork {
    ledger::DeliveryRow row;
    std::optional<ledger::AttemptRow> attempt;
    Marked done;
    ledger::Number next = 0;
  };
  struct ActWork {
    Act act;
    Done done;
  };
  struct AdoptWork {
    Adoption adoption;
    Done done;
  };
  struct HandWork {
    std::variant<api::Bind, api::DecideByHand> deed;
    HandDone done;
    HandFate fate;
  };
  using Work = std::variant<BatchWork, MarkWork, ActWork, AdoptWork, HandWork>;

  void push(Work work, size_t cost);
  void run();
  // Waits for work; empty when stopped and nothing is left.
  std::vector<Work> take_group();
  base::Result<void> write(std::vector<Work>& group, std::vector<model::Delivery>& fresh);
  base::Result<void> write_one(Work& work, std::vector<model::Delivery>& fresh);
  base::Result<void> write_hand(HandWork& work, std::vector<model::Delivery>& fresh);
  api::Happening happening_of(const std::vector<Work>& group) const;
  // False when stopped before the disk took it.
  bool write_until_durable(std::vector<Work>& group);
  void tell(std::vector<Work>& group, bool committed);
  void fail(const base::Error& error);

  std::unique_ptr<ledger::Ledger> ledger_;
  Recorder recorder_;
  const base::Clock& clock_;
  base::Log log_;
  Hooks hooks_;

  std::mutex mutex_;
  std::condition_variable wake_;
  std::deque<Work> queue_;
  size_t queued_ = 0;       // cost of what waits
  bool room_wanted_ = false;
  bool busy_ = false;
  bool stopping_ = false;
  bool failed_ = false;
  bool refused_ = false;  // the disk refuses the commit under way
  std::thread thread_;
};

}  // namespace girdle::service
