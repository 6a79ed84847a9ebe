#include "delivery/folder_sender.h"

#include <atomic>
#include <boost/asio/error.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/redirect_error.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/system/system_error.hpp>
#include <mutex>
#include <optional>
#include <system_error>
#include <thread>

#include "base/time.h"
#include "delivery/file_drop.h"

namespace girdle::delivery {
namespace asio = boost::asio;

namespace {

using Dropped = base::Result<std::string>;

Attempt failed(Attempt attempt, std::string why) {
  attempt.end = Attempt::End::kFailed;
  attempt.failure = std::move(why);
  return attempt;
}

}  // namespace

struct FolderSender::Message {
  FileName name;
  std::string bytes;
};

// Shared with the thread, which may outlive the sender. `drop` is the thread's while there is one;
// everything else but `mutex` and `closed` belongs to the executor's thread.
struct FolderSender::State : std::enable_shared_from_this<State> {
  // One file on its way.
  struct Work {
    Message message;
    std::atomic<bool> given_up{false};
    std::optional<Dropped> dropped;
    asio::steady_timer* waiting =
        nullptr;  // in the frame of send(); cancelled when the file is there
  };

  State(asio::any_io_executor where, FileDrop by)
      : executor(std::move(where)), drop(std::move(by)) {}

  base::Result<void> start(std::shared_ptr<Work> work);
  void work_on(const std::shared_ptr<Work>& work);

  asio::any_io_executor executor;
  FileDrop drop;
  bool is_working = false;
  std::mutex mutex;
  bool closed = false;
};

base::Result<void> FolderSender::State::start(std::shared_ptr<Work> work) {
  try {
    std::thread([state = shared_from_this(), work = std::move(work)] {
      state->work_on(work);
    }).detach();
  } catch (const std::system_error& e) {
    return base::environment_error(std::string("no thread can be started: ") + e.what());
  }
  is_working = true;
  return {};
}

// On a thread of its own.
void FolderSender::State::work_on(const std::shared_ptr<Work>& work) {
  Dropped dropped = base::environment_error("the file was not written");
  try {
    dropped = drop.drop(work->message.name, work->message.bytes, work->given_up);
  } catch (const std::exception& e) {
    dropped = base::environment_error(std::string("the file was not written: ") + e.what());
  }
  const std::lock_guard lock(mutex);
  if (closed) return;
  asio::post(executor, [state = shared_from_this(), work, dropped = std::move(dropped)]() mutable {
    state->is_working = false;
    work->dropped = std::move(dropped);
    if (work->waiting != nullptr) work->waiting->cancel();
  });
}

FolderSender::FolderSender(asio::any_io_executor executor, std::string folder, std::string owner,
                           FileNames names, std::unique_ptr<Body> body)
    : FolderSender(std::move(executor), std::move(folder), std::move(owner), std::move(names),
                   std::move(body), Options(), std::make_shared<PosixDropFiles>()) {}

FolderSender::FolderSender(asio::any_io_executor executor, std::string folder, std::string owner,
                           FileNames names, std::unique_ptr<Body> body, Options options,
                           std::shared_ptr<DropFiles> files)
    : folder_(std::move(folder)),
      names_(std::move(names)),
      body_(std::move(body)),
      options_(options),
      state_(std::make_shared<State>(std::move(executor),
                                     FileDrop(std::move(files), folder_, owner))) {}

FolderSender::~FolderSender() {
  const std::lock_guard lock(state_->mutex);
  state_->closed = true;
}

// Without those that the body cannot say; with none left, there are no bytes and no name.
FolderSender::Message FolderSender::write(std::span<const model::Delivery> deliveries,
                                          Attempt& attempt) {
  Message message;
  const model::Outcome* first = nullptr;
  body_->begin(message.bytes);
  for (size_t i = 0; i < deliveries.size(); ++i) {
    const auto added = body_->add(message.bytes, deliveries[i].outcome);
    if (!added) {
      attempt.unwritable.emplace_back(i, added.error().text);
    } else if (first == nullptr) {
      first = &deliveries[i].outcome;
    }
  }
  body_->end(message.bytes);
  if (first != nullptr) {
    message.name = names_.name(*first, deliveries.size() - attempt.unwritable.size(), next_written());
  }
  return message;
}

// Each later than the one before, also while the clock stands still or goes back.
base::Instant FolderSender::next_written() {
  const base::Instant now = options_.clock ? options_.clock->now() : base::SystemClock().now();
  return written_ = std::max(now, written_ + base::Millis(1));
}

asio::awaitable<Attempt> FolderSender::send(std::span<const model::Delivery> deliveries) {
  Attempt attempt;
  const auto work = std::make_shared<State::Work>();
  work->message = write(deliveries, attempt);
  if (attempt.unwritable.size() == deliveries.size()) co_return attempt;
  State& state = *state_;
  if (state.is_working) {
    co_return failed(std::move(attempt), "the folder " + folder_ +
                                             " still waits for the file system, which hangs; is "
                                             "its network share reachable?");
  }
  if (auto started = state.start(work); !started) {
    co_return failed(std::move(attempt), started.error().text);
  }

  asio::steady_timer timer(state.executor, options_.timeout);
  struct Waiting {
    State::Work& work;
    ~Waiting() {
      work.waiting = nullptr;
      work.given_up = true;
    }
  };
  work->waiting = &timer;
  const Waiting waiting{*work};
  boost::system::error_code ended;
  co_await timer.async_wait(asio::redirect_error(asio::use_awaitable, ended));
  if (!work->dropped && ended) throw boost::system::system_error(ended);  // cancelled
  if (!work->dropped) {
    co_return failed(std::move(attempt),
                     "the folder " + folder_ + " did not take the file within " +
                         base::format_duration(options_.timeout) +
                         ": the file system hangs; is its network share reachable?");
  }
  if (!*work->dropped) co_return failed(std::move(attempt), work->dropped->error().text);
  attempt.end = Attempt::End::kTaken;
  attempt.reference = std::move(*work->dropped).value();
  co_return attempt;
}

}  // namespace girdle::delivery
