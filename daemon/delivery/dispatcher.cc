#include "delivery/dispatcher.h"

#include <algorithm>
#include <boost/asio/redirect_error.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/this_coro.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <deque>
#include <random>
#include <utility>

#include "base/task_group.h"
#include "delivery/dispatch_queue.h"
#include "delivery/forward_time.h"
#include "delivery/outlet_health.h"
#include "delivery/outlet_rate.h"
#include "delivery/retry.h"

namespace girdle::delivery {
namespace asio = boost::asio;

namespace {

using boost::system::error_code;
using model::DeliveryState;

constexpr size_t kMostMarks = 1000;           // sent, and not yet durable
constexpr base::Millis kMarkAgain{1000};      // after a commit that failed
constexpr base::Millis kLongestSleep{60000};  // a clock that was set may have brought something due
constexpr auto kGrace =
    std::chrono::milliseconds(400);  // for attempts under way, and again for marks, at the stop
constexpr base::Instant kNever = base::Instant::max();

DeliveryState state_after(Verdict::Kind kind) {
  switch (kind) {
    case Verdict::Kind::kSent:
      return DeliveryState::kSent;
    case Verdict::Kind::kRetry:
      return DeliveryState::kWaiting;
    case Verdict::Kind::kPark:
      return DeliveryState::kParked;
    case Verdict::Kind::kCloseOutlet:
      return DeliveryState::kWaiting;
  }
  return DeliveryState::kWaiting;
}

}  // namespace

class Dispatcher::Impl {
 public:
  Impl(const config::Outlet& outlet, int64_t number, Surroundings with, std::vector<std::unique_ptr<Sender>> senders);

  void offer(std::vector<model::Delivery> heads);
  void hurry();
  void wake();
  void pause();
  void close();
  void open();
  asio::awaitable<void> run();
  bool idle() const;
  Counts counts() const;

 private:
  using Deliveries = std::vector<model::Delivery>;

  // A sender and the coroutine that uses it.
  struct Worker {
    Worker(const asio::any_io_executor& executor, std::unique_ptr<Sender> way)
        : sender(std::move(way)), bell(executor, asio::steady_timer::time_point::max()) {}
    std::unique_ptr<Sender> sender;
    asio::steady_timer bell;  // cancelled to wake it
  };

  struct Attempting {
    explicit Attempting(Impl& impl) : impl_(impl) { ++impl_.active_; }
    ~Attempting() {
      if (--impl_.active_ == 0 && impl_.stopping_) impl_.ended_.cancel();
    }
    Attempting(const Attempting&) = delete;
    Impl& impl_;
  };

  asio::awaitable<void> work(Worker& worker);
  asio::awaitable<void> rest(Worker& worker);
  Deliveries take();
  bool skip(const model::Delivery& delivery);
  asio::awaitable<void> send(Worker& worker, Deliveries deliveries);
  bool halted() const { return counts_.closed || counts_.paused; }
  void halt();
  base::Instant may_send_at() const;
  bool may_send();
  void rouse();
  void look_for_more();
  base::Instant next_alarm() const;
  // An attempt that has ended.
  struct Ended {
    Attempt attempt;
    base::Instant at{};  // by the wall clock
    base::Millis took{0};
  };
  Deliveries without_unwritable(Deliveries deliveries, const Attempt& attempt);
  void settle(const model::Delivery& delivery, const Ended& ended);
  void note_health(const Ended& ended);
  void note_sent(const model::Delivery& delivery);
  void park_unwritable(const model::Delivery& delivery, std::string why);
  void tell(const model::Delivery& delivery, const Verdict& verdict);
  void tell_parked(const model::Delivery& delivery, const std::string& why);
  void mark(Outbox::Mark mark);
  void on_marked(const Outbox::Mark& mark, bool durable, std::optional<model::Delivery> next);
  void mark_again();
  void receiver_is_gone(const std::string& reason);
  asio::awaitable<void> wind_down();
  asio::awaitable<void> wait_until_none(const size_t& count);

  const std::string name_;
  const std::vector<base::Millis> schedule_;
  const int64_t number_;
  const size_t batch_;
  base::Millis batch_wait_;
  const bool only_latest_;
  Surroundings with_;
  std::mt19937_64 random_;

  mutable ForwardTime time_;
  DispatchQueue queue_;
  OutletHealth health_;
  OutletRate rate_;
  Counts counts_;
  bool asked_ = false;  // the ledger has answered once
  // When the ledger is asked next, as if it were this late at least.
  base::Instant load_as_of_ = base::Instant::min();
  bool stopping_ = false;
  base::Instant parked_quiet_until_ = base::Instant::min();
  base::Instant refused_quiet_until_ = base::Instant::min();

  std::deque<Worker> workers_;
  std::vector<Worker*>
      resting_;         // the last to rest is the first to work: its connection is the warmest
  size_t active_ = 0;   // attempts under way
  size_t marking_ = 0;  // marks asked for and not yet done
  std::vector<Outbox::Mark> unmarked_;  // to be asked for again
  base::Instant mark_again_at_ = kNever;

  asio::steady_timer alarm_;  // wakes run()
  base::Instant alarm_at_ = kNever;
  asio::steady_timer ended_;  // cancelled when active_ or marking_ comes to 0 during the stop
  base::TaskGroup tasks_;
  // Ends with this object: a callback of the outbox that outlives it finds that out here.
  std::shared_ptr<Impl*> self_ = std::make_shared<Impl*>(this);
};

Dispatcher::Impl::Impl(const config::Outlet& outlet, int64_t number, Surroundings with,
                       std::vector<std::unique_ptr<Sender>> senders)
    : name_(outlet.name),
      schedule_(outlet.retry),
      number_(number),
      batch_(static_cast<size_t>(std::max(1, outlet.batch.count))),
      batch_wait_(outlet.batch.wait),
      only_latest_(outlet.only_latest),
      with_(std::move(with)),
      random_(with_.seed),
      time_(with_.clock),
      health_(std::max(4, 2 * static_cast<int>(senders.size()))),
      rate_(outlet.per_minute),
      alarm_(with_.executor),
      ended_(with_.executor, asio::steady_timer::time_point::max()),
      tasks_(with_.executor, [this](std::exception_ptr) {
        with_.log.error("delivery worker failed", {{"outlet", name_}});
      }) {
  for (auto& sender : senders) workers_.emplace_back(with_.executor, std::move(sender));
}

void Dispatcher::Impl::offer(std::vector<model::Delivery> heads) {
  if (halted() || stopping_) return;
  const auto now = time_.now();
  for (model::Delivery& head : heads) queue_.offer(std::move(head), now);
  if (next_alarm() < alarm_at_) alarm_.cancel();
  rouse();
}

void Dispatcher::Impl::hurry() {
  batch_wait_ = base::Millis(0);
  alarm_.cancel();
}

void Dispatcher::Impl::wake() {
  queue_.expect_more();
  alarm_.cancel();
}

void Dispatcher::Impl::halt() {
  queue_.clear();
  alarm_.cancel();
}

void Dispatcher::Impl::pause() {
  counts_.paused = true;
  halt();
}

void Dispatcher::Impl::close() {
  counts_.closed = true;
  halt();
}

void Dispatcher::Impl::open() {
  counts_.closed = counts_.paused = false;
  health_.forget();
  wake();
}

bool Dispatcher::Impl::idle() const {
  if (active_ > 0 || marking_ > 0 || !unmarked_.empty() || queue_.loading()) return false;
  if (halted()) return true;
  const auto now = time_.now();
  return asked_ && (health_.paused(now) || queue_.idle(now));
}

Dispatcher::Counts Dispatcher::Impl::counts() const {
  Counts counts = counts_;
  counts.failing = health_.failing();
  // A batch that was refused and goes out one by one is under way beside each of them.
  counts.in_flight = std::min(active_, workers_.size());
  counts.in_memory = queue_.size();
  if (health_.paused(time_.now())) counts.resting_until = health_.pause_until();
  return counts;
}

// What is ready may be sent from then on; kNever where nothing is.
base::Instant Dispatcher::Impl::may_send_at() const {
  if (queue_.empty()) return kNever;
  base::Instant from = std::max(health_.pause_until(), rate_.next());
  if (queue_.size() < batch_) from = std::max(from, queue_.since() + batch_wait_);
  return from;
}

bool Dispatcher::Impl::may_send() {
  if (stopping_ || halted() || queue_.empty() || marking_ + active_ >= kMostMarks) return false;
  if (health_.one_at_a_time() && active_ > 0) return false;
  return may_send_at() <= time_.now();
}

// Wakes as many workers as there is work for.
void Dispatcher::Impl::rouse() {
  if (resting_.empty() || !may_send()) return;
  for (size_t n = health_.one_at_a_time() ? 1 : (queue_.size() + batch_ - 1) / batch_; n > 0 && !resting_.empty(); --n) {
    resting_.back()->bell.cancel();
    resting_.pop_back();
  }
}

void Dispatcher::Impl::look_for_more() {
  const auto now = time_.now();
  if (stopping_ || halted() || !queue_.wants_load(now)) return;
  const auto except = queue_.begin_load();
  const auto as_of = std::max(now, std::exchange(load_as_of_, base::Instant::min()));
  with_.outbox.load(
      number_, as_of, DispatchQueue::kLoad, except,
      [weak = std::weak_ptr(self_)](std::vector<model::Delivery> heads, base::Instant next_due) {
        const auto self = weak.lock();
        if (!self) return;
        Impl& impl = **self;
        impl.asked_ = true;
        const auto loaded_at = impl.time_.now();
        // Nothing waits for so long: the clock was set back since that was written.
        if (next_due != kNever && next_due > loaded_at + longest_wait(impl.schedule_)) {
          impl.load_as_of_ = next_due;
          next_due = loaded_at;
        }
        impl.queue_.end_load(std::move(heads), next_due, loaded_at);
        if (impl.halted()) impl.queue_.clear();
        impl.alarm_.cancel();
      });
}

base::Instant Dispatcher::Impl::next_alarm() const {
  if (halted()) return mark_again_at_;
  base::Instant next = std::min(mark_again_at_, queue_.next_due());
  if (const auto from = may_send_at(); from > time_.now()) next = std::min(next, from);
  return next;
}

asio::awaitable<void> Dispatcher::Impl::run() {
  // A cancellation must lead to wind_down(), not out of here.
  co_await asio::this_coro::throw_if_cancelled(false);
  for (Worker& worker : workers_) tasks_.spawn(work(worker));
  while ((co_await asio::this_coro::cancellation_state).cancelled() ==
         asio::cancellation_type::none) {
    mark_again();
    look_for_more();
    rouse();
    const auto now = time_.now();
    alarm_at_ = next_alarm();
    if (alarm_at_ == kNever) {
      alarm_.expires_at(asio::steady_timer::time_point::max());
    } else {
      alarm_.expires_after(std::clamp(alarm_at_ - now, base::Millis(1), kLongestSleep));
    }
    error_code ignored;
    co_await alarm_.async_wait(asio::redirect_error(asio::use_awaitable, ignored));
  }
  co_await asio::this_coro::reset_cancellation_state(asio::disable_cancellation());
  co_await wind_down();
}

asio::awaitable<void> Dispatcher::Impl::wind_down() {
  stopping_ = true;
  while (!resting_.empty()) {
    resting_.back()->bell.cancel();
    resting_.pop_back();
  }
  // What a receiver is taking just now would be sent to it a second time after the next start.
  co_await wait_until_none(active_);
  co_await tasks_.stop();
  co_await wait_until_none(marking_);
}

asio::awaitable<void> Dispatcher::Impl::wait_until_none(const size_t& count) {
  const auto deadline = std::chrono::steady_clock::now() + kGrace;
  while (count > 0 && std::chrono::steady_clock::now() < deadline) {
    ended_.expires_at(deadline);
    error_code ignored;
    co_await ended_.async_wait(asio::redirect_error(asio::use_awaitable, ignored));
  }
}

asio::awaitable<void> Dispatcher::Impl::rest(Worker& worker) {
  resting_.push_back(&worker);
  error_code ignored;
  co_await worker.bell.async_wait(asio::redirect_error(asio::use_awaitable, ignored));
}

asio::awaitable<void> Dispatcher::Impl::work(Worker& worker) {
  while (!stopping_) {
    if (!may_send()) {
      co_await rest(worker);
      continue;
    }
    Deliveries deliveries = take();
    if (queue_.wants_more()) look_for_more();
    if (!deliveries.empty()) co_await send(worker, std::move(deliveries));
    rouse();
    if (may_send_at() < alarm_at_ || health_.failing()) alarm_.cancel();
  }
}

Dispatcher::Impl::Deliveries Dispatcher::Impl::take() {
  Deliveries deliveries;
  while (!queue_.empty() && deliveries.size() < batch_) {
    model::Delivery delivery = queue_.take();
    if (!skip(delivery)) deliveries.push_back(std::move(delivery));
  }
  return deliveries;
}

// The next one of its case comes by the mark.
bool Dispatcher::Impl::skip(const model::Delivery& delivery) {
  if (!only_latest_ || !with_.outbox.is_overtaken(delivery)) return false;
  mark({delivery.id, DeliveryState::kSkipped, delivery.attempts, {}, 0, "a later outcome of the case goes in its place"});
  return true;
}

asio::awaitable<void> Dispatcher::Impl::send(Worker& worker, Deliveries deliveries) {
  const Attempting attempting(*this);
  rate_.count(time_.now());
  Ended ended;
  ended.at = with_.clock.now();
  const base::Millis begin = with_.clock.elapsed();
  const base::Stopwatch watch;
  try {
    ended.attempt = co_await worker.sender->send(deliveries);
  } catch (const std::exception& e) {
    if (stopping_) throw;  // cancelled: it stays waiting in the ledger
    ended.attempt.failure = e.what();
  }
  ended.took = with_.clock.elapsed() - begin;
  deliveries = without_unwritable(std::move(deliveries), ended.attempt);
  if (deliveries.empty()) co_return;
  if (with_.meters) with_.meters->attempt.add(watch.took());
  if (deliveries.size() > 1 && meaning_of(ended.attempt) == Meaning::kRefused) {
    // One of them may be what the receiver does not take: each for itself.
    for (model::Delivery& delivery : deliveries) {
      if (stopping_) co_return;
      Deliveries alone;
      alone.push_back(std::move(delivery));
      co_await send(worker, std::move(alone));
    }
    co_return;
  }
  note_health(ended);
  for (model::Delivery& delivery : deliveries) {
    ++delivery.attempts;
    settle(delivery, ended);
  }
}

// Parks those that the message could not say; gives the others.
Dispatcher::Impl::Deliveries Dispatcher::Impl::without_unwritable(Deliveries deliveries, const Attempt& attempt) {
  if (attempt.unwritable.empty()) return deliveries;
  std::vector<bool> said(deliveries.size(), true);
  for (const auto& [place, why] : attempt.unwritable) {
    said[place] = false;
    park_unwritable(deliveries[place], why);
  }
  Deliveries others;
  for (size_t i = 0; i < deliveries.size(); ++i) {
    if (said[i]) others.push_back(std::move(deliveries[i]));
  }
  return others;
}

void Dispatcher::Impl::note_health(const Ended& ended) {
  const auto now = time_.now();
  const Verdict verdict = judge(ended.attempt, 1, schedule_, ended.at, 0);
  if (verdict.outlet_failing) {
    if (health_.failed(now, verdict.asked)) {
      with_.log.warning("outlet fails", {{"outlet", name_}, {"reason", verdict.note}});
    }
  } else if (health_.failing() && health_.worked()) {
    with_.log.info("outlet works again", {{"outlet", name_}});
  }
  // One that refuses everything is up, and yet somebody should look.
  if (meaning_of(ended.attempt) == Meaning::kRefused && now >= refused_quiet_until_) {
    refused_quiet_until_ = now + OutletHealth::kQuiet;
    with_.log.warning("outlet refuses a delivery", {{"outlet", name_}, {"reason", verdict.note}});
  }
}

void Dispatcher::Impl::settle(const model::Delivery& delivery, const Ended& ended) {
  const double random = static_cast<double>(random_() >> 11) * 0x1p-53;
  const Verdict verdict = judge(ended.attempt, delivery.attempts, schedule_, ended.at, random);
  ++counts_.attempts;
  if (verdict.kind == Verdict::Kind::kSent) {
    note_sent(delivery);
  } else {
    ++counts_.failed;
    tell(delivery, verdict);
  }
  Outbox::Mark how{delivery.id, state_after(verdict.kind), delivery.attempts, time_.now() + verdict.wait,
                   ended.attempt.status, verdict.note};
  how.reference = ended.attempt.reference;
  how.made = Outbox::Mark::Made{ended.at, ended.took, ended.attempt.answer};
  mark(std::move(how));
}

void Dispatcher::Impl::note_sent(const model::Delivery& delivery) {
  ++counts_.sent;
  if (with_.meters) with_.meters->outcome_to_sent.add(with_.clock.now() - delivery.outcome.decided_at);
}

// Nothing was sent, and nothing will be while the configuration is as it is.
void Dispatcher::Impl::park_unwritable(const model::Delivery& delivery, std::string why) {
  ++counts_.failed;
  tell_parked(delivery, why);
  mark({delivery.id, DeliveryState::kParked, delivery.attempts, {}, 0, std::move(why)});
}

// What a person should hear of an attempt that did not succeed, beside the outlet's own state.
void Dispatcher::Impl::tell(const model::Delivery& delivery, const Verdict& verdict) {
  const auto& log = with_.log;
  log.debug("attempt failed", {{"outlet", name_},
                               {"id", model::event_id(delivery.outcome)},
                               {"attempts", delivery.attempts},
                               {"reason", verdict.note}});
  if (verdict.kind == Verdict::Kind::kCloseOutlet) receiver_is_gone(verdict.note);
  if (verdict.kind == Verdict::Kind::kPark) tell_parked(delivery, verdict.note);
}

void Dispatcher::Impl::tell_parked(const model::Delivery& delivery, const std::string& why) {
  ++counts_.parked;
  const auto now = time_.now();
  if (now < parked_quiet_until_) return;
  parked_quiet_until_ = now + OutletHealth::kQuiet;
  with_.log.warning("delivery is parked", {{"outlet", name_},
                                           {"id", model::event_id(delivery.outcome)},
                                           {"reason", why},
                                           {"parked_since_start", counts_.parked}});
}

void Dispatcher::Impl::receiver_is_gone(const std::string& reason) {
  if (counts_.closed) return;
  close();
  with_.log.error("outlet is closed until a person opens it",
                  {{"outlet", name_}, {"reason", reason}});
  with_.outbox.close_outlet(number_, reason);
}

void Dispatcher::Impl::mark(Outbox::Mark mark) {
  ++marking_;
  auto done = [weak = std::weak_ptr(self_), copy = mark](bool durable,
                                                         std::optional<model::Delivery> next) {
    if (const auto self = weak.lock()) (*self)->on_marked(copy, durable, std::move(next));
  };
  with_.outbox.mark(std::move(mark), std::move(done));
}

void Dispatcher::Impl::on_marked(const Outbox::Mark& mark, bool durable,
                                 std::optional<model::Delivery> next) {
  --marking_;
  if (stopping_ && marking_ == 0) ended_.cancel();
  const auto now = time_.now();
  if (!durable) {
    // Sending again would tell the same thing twice; asking again does not.
    unmarked_.push_back(mark);
    mark_again_at_ = now + kMarkAgain;
    alarm_.cancel();
    return;
  }
  if (mark.state == DeliveryState::kWaiting) {
    queue_.release_until(mark.delivery, mark.due);
    if (queue_.next_due() < alarm_at_) alarm_.cancel();
  } else {
    queue_.release(mark.delivery);
  }
  if (next && !halted()) queue_.follow(std::move(*next), now);
  rouse();
}

void Dispatcher::Impl::mark_again() {
  if (time_.now() < mark_again_at_) return;
  mark_again_at_ = kNever;
  for (Outbox::Mark& again : std::exchange(unmarked_, {})) mark(std::move(again));
}

Dispatcher::Dispatcher(const config::Outlet& outlet, int64_t outlet_number, Surroundings surroundings,
                       std::vector<std::unique_ptr<Sender>> senders)
    : impl_(std::make_unique<Impl>(outlet, outlet_number, std::move(surroundings), std::move(senders))) {}
Dispatcher::~Dispatcher() = default;

void Dispatcher::offer(std::vector<model::Delivery> heads) { impl_->offer(std::move(heads)); }
void Dispatcher::hurry() { impl_->hurry(); }
void Dispatcher::wake() { impl_->wake(); }
void Dispatcher::pause() { impl_->pause(); }
void Dispatcher::close() { impl_->close(); }
void Dispatcher::open() { impl_->open(); }
asio::awaitable<void> Dispatcher::run() { return impl_->run(); }
bool Dispatcher::idle() const { return impl_->idle(); }
Dispatcher::Counts Dispatcher::counts() const { return impl_->counts(); }

}  // namespace girdle::delivery
