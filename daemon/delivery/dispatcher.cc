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
#include "delivery/http_client.h"
#include "delivery/outlet_health.h"
#include "delivery/resolver.h"
#include "delivery/retry.h"
#include "delivery/webhook_request.h"

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
  Impl(const config::Outlet& outlet, int64_t number, Surroundings with,
       std::unique_ptr<HttpTarget> target, Signer signer);

  void offer(std::vector<model::Delivery> heads);
  void wake();
  void open();
  asio::awaitable<void> run();
  bool idle() const;
  Counts counts() const;

 private:
  // A connection and the coroutine that uses it.
  struct Worker {
    Worker(const asio::any_io_executor& executor, const HttpTarget& target, Resolver& resolver)
        : connection(executor, target, resolver),
          bell(executor, asio::steady_timer::time_point::max()) {}
    HttpConnection connection;
    std::string buffer;
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
  asio::awaitable<void> send(Worker& worker, model::Delivery delivery);
  bool may_send() const;
  void rouse();
  void look_for_more();
  base::Instant next_alarm() const;
  void settle(const model::Delivery& delivery, const Attempt& attempt);
  void tell(const model::Delivery& delivery, const Verdict& verdict);
  void mark(Outbox::Mark mark);
  void on_marked(const Outbox::Mark& mark, bool durable, std::optional<model::Delivery> next);
  void mark_again();
  void close(const std::string& reason);
  asio::awaitable<void> wind_down();
  asio::awaitable<void> wait_until_none(const size_t& count);

  const std::string name_;
  const std::vector<base::Millis> schedule_;
  const int64_t number_;
  Surroundings with_;
  std::unique_ptr<HttpTarget> target_;
  WebhookRequest request_;
  std::mt19937_64 random_;

  DispatchQueue queue_;
  OutletHealth health_;
  Counts counts_;
  bool asked_ = false;  // the ledger has answered once
  bool stopping_ = false;
  base::Instant parked_quiet_until_ = base::Instant::min();

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
                       std::unique_ptr<HttpTarget> target, Signer signer)
    : name_(outlet.name),
      schedule_(outlet.retry),
      number_(number),
      with_(std::move(with)),
      target_(std::move(target)),
      request_(target_->url(), std::move(signer)),
      random_(with_.seed),
      health_(std::max(4, 2 * outlet.in_flight)),
      alarm_(with_.executor),
      ended_(with_.executor, asio::steady_timer::time_point::max()),
      tasks_(with_.executor, [this](std::exception_ptr) {
        with_.log.error("delivery worker failed", {{"outlet", name_}});
      }) {
  for (int i = 0; i < std::max(1, outlet.in_flight); ++i) {
    workers_.emplace_back(with_.executor, *target_, with_.resolver);
  }
}

void Dispatcher::Impl::offer(std::vector<model::Delivery> heads) {
  if (counts_.closed || stopping_) return;
  const auto now = with_.clock.now();
  for (model::Delivery& head : heads) queue_.offer(std::move(head), now);
  if (queue_.next_due() < alarm_at_) alarm_.cancel();
  rouse();
}

void Dispatcher::Impl::wake() {
  queue_.expect_more();
  alarm_.cancel();
}

void Dispatcher::Impl::open() {
  counts_.closed = false;
  wake();
}

bool Dispatcher::Impl::idle() const {
  if (!asked_ || active_ > 0 || marking_ > 0 || !unmarked_.empty() || queue_.loading())
    return false;
  const auto now = with_.clock.now();
  return counts_.closed || health_.paused(now) || queue_.idle(now);
}

Dispatcher::Counts Dispatcher::Impl::counts() const {
  Counts counts = counts_;
  counts.failing = health_.failing();
  return counts;
}

bool Dispatcher::Impl::may_send() const {
  if (stopping_ || counts_.closed || queue_.empty() || marking_ + active_ >= kMostMarks)
    return false;
  if (health_.one_at_a_time() && active_ > 0) return false;
  return !health_.paused(with_.clock.now());
}

// Wakes as many workers as there is work for.
void Dispatcher::Impl::rouse() {
  if (resting_.empty() || !may_send()) return;
  for (size_t n = health_.one_at_a_time() ? 1 : queue_.size(); n > 0 && !resting_.empty(); --n) {
    resting_.back()->bell.cancel();
    resting_.pop_back();
  }
}

void Dispatcher::Impl::look_for_more() {
  const auto now = with_.clock.now();
  if (stopping_ || counts_.closed || !queue_.wants_load(now)) return;
  const auto except = queue_.begin_load();
  with_.outbox.load(
      number_, now, DispatchQueue::kLoad, except,
      [weak = std::weak_ptr(self_)](std::vector<model::Delivery> heads, base::Instant next_due) {
        const auto self = weak.lock();
        if (!self) return;
        Impl& impl = **self;
        impl.asked_ = true;
        impl.queue_.end_load(std::move(heads), next_due, impl.with_.clock.now());
        if (impl.counts_.closed) impl.queue_.clear();
        impl.alarm_.cancel();
      });
}

base::Instant Dispatcher::Impl::next_alarm() const {
  if (counts_.closed) return mark_again_at_;
  base::Instant next = std::min(mark_again_at_, queue_.next_due());
  if (!queue_.empty() && health_.paused(with_.clock.now()))
    next = std::min(next, health_.pause_until());
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
    const auto now = with_.clock.now();
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
    model::Delivery delivery = queue_.take();
    if (queue_.size() < DispatchQueue::kLow) look_for_more();
    co_await send(worker, std::move(delivery));
    rouse();
    if (health_.failing()) alarm_.cancel();
  }
}

asio::awaitable<void> Dispatcher::Impl::send(Worker& worker, model::Delivery delivery) {
  const Attempting attempting(*this);
  ++delivery.attempts;
  const auto request = request_.write(worker.buffer, delivery.outcome, with_.clock.now());
  if (!request) {
    ++counts_.parked;
    mark({delivery.id, DeliveryState::kParked, delivery.attempts, {}, 0, request.error().text});
    co_return;
  }
  std::string failure;
  try {
    const base::Result<Answer> answer = co_await worker.connection.post(*request);
    if (answer) {
      settle(delivery, {answer->status, answer->retry_after, {}});
      co_return;
    }
    failure = answer.error().text;
  } catch (const std::exception& e) {
    if (stopping_) throw;  // cancelled: it stays waiting in the ledger
    failure = e.what();
  }
  settle(delivery, {0, {}, failure});
}

void Dispatcher::Impl::settle(const model::Delivery& delivery, const Attempt& attempt) {
  const auto now = with_.clock.now();
  const double random = static_cast<double>(random_() >> 11) * 0x1p-53;
  const Verdict verdict = judge(attempt, delivery.attempts, schedule_, now, random);
  ++counts_.attempts;
  if (verdict.kind == Verdict::Kind::kSent) {
    ++counts_.sent;
  } else {
    ++counts_.failed;
  }
  if (verdict.outlet_failing) {
    if (health_.failed(now, verdict.asked)) {
      with_.log.warning("outlet fails", {{"outlet", name_}, {"reason", verdict.note}});
    }
  } else if (health_.failing() && health_.worked()) {
    with_.log.info("outlet works again", {{"outlet", name_}});
  }
  if (verdict.kind != Verdict::Kind::kSent) tell(delivery, verdict);
  mark({delivery.id, state_after(verdict.kind), delivery.attempts, now + verdict.wait,
        attempt.status, verdict.note});
}

// What a person should hear of an attempt that did not succeed, beside the outlet's own state.
void Dispatcher::Impl::tell(const model::Delivery& delivery, const Verdict& verdict) {
  const auto& log = with_.log;
  log.debug("attempt failed", {{"outlet", name_},
                               {"id", model::event_id(delivery.outcome)},
                               {"attempts", delivery.attempts},
                               {"reason", verdict.note}});
  if (verdict.kind == Verdict::Kind::kCloseOutlet) close(verdict.note);
  if (verdict.kind != Verdict::Kind::kPark) return;
  ++counts_.parked;
  const auto now = with_.clock.now();
  if (now < parked_quiet_until_) return;
  parked_quiet_until_ = now + OutletHealth::kQuiet;
  log.warning("delivery is parked", {{"outlet", name_},
                                     {"id", model::event_id(delivery.outcome)},
                                     {"reason", verdict.note},
                                     {"parked_since_start", counts_.parked}});
}

void Dispatcher::Impl::close(const std::string& reason) {
  if (counts_.closed) return;
  counts_.closed = true;
  queue_.clear();
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
  const auto now = with_.clock.now();
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
  if (next && !counts_.closed) queue_.offer(std::move(*next), now);
  rouse();
}

void Dispatcher::Impl::mark_again() {
  if (with_.clock.now() < mark_again_at_) return;
  mark_again_at_ = kNever;
  for (Outbox::Mark& again : std::exchange(unmarked_, {})) mark(std::move(again));
}

base::Result<std::unique_ptr<Dispatcher>> Dispatcher::create(const config::Outlet& outlet,
                                                             int64_t outlet_number,
                                                             Surroundings surroundings) {
  auto target = HttpTarget::create(outlet.webhook);
  if (!target) return std::move(target.error());
  auto secrets = load_secrets(outlet.webhook.secret_file);
  if (!secrets) return std::move(secrets.error());
  return std::unique_ptr<Dispatcher>(
      new Dispatcher(std::make_unique<Impl>(outlet, outlet_number, std::move(surroundings),
                                            std::move(target).value(), Signer(*secrets))));
}

Dispatcher::Dispatcher(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
Dispatcher::~Dispatcher() = default;

void Dispatcher::offer(std::vector<model::Delivery> heads) { impl_->offer(std::move(heads)); }
void Dispatcher::wake() { impl_->wake(); }
void Dispatcher::open() { impl_->open(); }
asio::awaitable<void> Dispatcher::run() { return impl_->run(); }
bool Dispatcher::idle() const { return impl_->idle(); }
Dispatcher::Counts Dispatcher::counts() const { return impl_->counts(); }

}  // namespace girdle::delivery
