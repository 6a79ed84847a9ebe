#include "intake/line_intake.h"

#include <unistd.h>

#include <boost/asio/post.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/system/system_error.hpp>
#include <cerrno>
#include <utility>

#include "base/result.h"

namespace girdle::intake {

namespace asio = boost::asio;

namespace {

using std::chrono::milliseconds;

constexpr size_t kReadBytes = 16 << 10;
constexpr milliseconds kAfterEnd{
    250};  // an end of file that passes: nothing tells when there is more to read
constexpr milliseconds kAnswerDeadline{5000};
constexpr int kMostEnds = 20;  // in a row; then the line is opened anew
constexpr std::chrono::minutes kSayAgain{1};
constexpr std::chrono::hours kTellCounts{1};

SteadyTime steady_now() { return std::chrono::steady_clock::now(); }

// Lets go of the line also when the intake is cancelled: others may want the device.
struct Release {
  Line& line;
  int descriptor;
  ~Release() { line.release(descriptor); }
};

}  // namespace

LineIntake::LineIntake(std::string name, std::unique_ptr<Line> line, const MakeDesk& make_desk,
                       base::Log log, asio::any_io_executor executor)
    : name_(std::move(name)),
      executor_(executor),
      line_(std::move(line)),
      log_(std::move(log)),
      bell_(executor),
      desk_(make_desk(bell_, status_)),
      backoff_(line_->backoff()),
      random_(std::random_device()()),
      buffer_(kReadBytes, '\0') {}

Status LineIntake::status() const {
  Status status = status_;
  status.in_flight = desk_->in_flight();
  desk_->report(status);
  return status;
}

asio::awaitable<void> LineIntake::run() {
  try {
    co_await serve();
  } catch (const boost::system::system_error& ended) {
    if (ended.code() != asio::error::operation_aborted) throw;
  }
  status_.up = false;
  tell_counts();
  if (desk_->unfinished() > 0 || desk_->waiting() > 0) {
    log_.warning("stopped within a frame; what was not handed over is lost",
                 {{"intake", name_}, {"bytes", desk_->unfinished()}, {"frames", desk_->waiting()}});
  }
}

asio::awaitable<void> LineIntake::serve() {
  for (;;) {
    auto opened = co_await line_->open();
    if (!opened) {
      on_trouble(opened.error().text);
    } else {
      const int number = opened->get();
      asio::posix::stream_descriptor descriptor(executor_, opened->release());
      on_open();
      {
        const Release release{*line_, number};
        std::string why = co_await read_all(descriptor);
        on_trouble(std::move(why));
      }
      descriptor.close();  // before it is opened again, or the device comes back under another name
      desk_->lost();
    }
    co_await pause();
  }
}

asio::awaitable<void> LineIntake::pause() {
  const double chance = std::uniform_real_distribution<double>(0, 1)(random_);
  const SteadyTime until = steady_now() + backoff_.next(chance);
  while (steady_now() < until) {
    co_await desk_->hand_over();
    co_await bell_.wait(std::min(until, desk_->next_due()));
  }
}

asio::awaitable<std::string> LineIntake::read_all(asio::posix::stream_descriptor& descriptor) {
  ends_in_a_row_ = 0;
  for (;;) {
    co_await desk_->hand_over();
    if (!desk_->answer().empty()) {
      std::string deaf = co_await send_answer(descriptor);
      if (!deaf.empty()) co_return deaf;
    }
    if (desk_->is_full()) {
      co_await bell_.wait(desk_->next_due());
      continue;
    }
    const ssize_t count = ::read(descriptor.native_handle(), buffer_.data(), buffer_.size());
    if (count <= 0) {
      std::string lost = co_await on_nothing(descriptor, count, errno);
      if (!lost.empty()) co_return lost;
      continue;
    }
    ends_in_a_row_ = 0;
    backoff_.reset();
    line_->feed({buffer_.data(), static_cast<size_t>(count)}, *desk_);
    if (steady_now() - counts_told_at_ >= kTellCounts) tell_counts();
    co_await asio::post(executor_, asio::use_awaitable);  // other intakes have their turn
  }
}

asio::awaitable<std::string> LineIntake::on_nothing(asio::posix::stream_descriptor& descriptor,
                                                    ssize_t count, int error) {
  if (count < 0 && error == EINTR) co_return std::string();
  if (count < 0 && (error == EAGAIN || error == EWOULDBLOCK)) {
    co_await bell_.wait(desk_->next_due(), &descriptor);
    co_return std::string();
  }
  if (count < 0) co_return base::errno_text(error);
  std::string why = line_->why_at_end(descriptor.native_handle());
  if (!why.empty()) co_return why;
  if (++ends_in_a_row_ >= kMostEnds) co_return "it gives nothing but ends of file";
  co_await bell_.wait(steady_now() + kAfterEnd);
  co_return std::string();
}

asio::awaitable<std::string> LineIntake::send_answer(asio::posix::stream_descriptor& descriptor) {
  const SteadyTime until = steady_now() + kAnswerDeadline;
  while (!desk_->answer().empty()) {
    const ssize_t count = line_->write(descriptor.native_handle(), desk_->answer());
    if (count >= 0) {
      desk_->answered();
    } else if (errno == EAGAIN || errno == EWOULDBLOCK) {
      if (steady_now() >= until) co_return "it takes no answers";
      co_await bell_.wait(until, &descriptor, Bell::Descriptor::wait_write);
      co_await desk_->hand_over();
    } else if (errno != EINTR) {
      co_return base::errno_text(errno);
    }
  }
  co_return std::string();
}

void LineIntake::on_open() {
  desk_->opened();
  status_.up = true;
  status_.trouble.clear();
  ++status_.connects;
  if (!std::exchange(said_, {}).empty()) {
    log_.info("the line is back", {{"intake", name_}, {"line", line_->name()}});
  }
}

// What the desk counted since the start, where that is news.
void LineIntake::tell_counts() {
  counts_told_at_ = steady_now();
  Status status;
  desk_->report(status);
  std::string counts;
  for (const auto& [name, count] : status.counts) {
    if (count == 0) continue;
    if (!counts.empty()) counts += ", ";
    counts.append(name).append(" ").append(std::to_string(count));
  }
  if (counts == counts_told_) return;
  log_.info("the line so far", {{"intake", name_}, {"line", line_->name()}, {"counts", counts}});
  counts_told_ = std::move(counts);
}

void LineIntake::on_trouble(std::string why) {
  status_.up = false;
  status_.trouble = why;
  const SteadyTime now = steady_now();
  const bool is_news =
      said_.empty() ? said_at_ == SteadyTime() || now - said_at_ >= kSayAgain : said_ != why;
  if (!is_news) return;
  log_.warning("the line is not there; it is opened again",
               {{"intake", name_}, {"line", line_->name()}, {"why", why}});
  said_ = std::move(why);
  said_at_ = now;
}

}  // namespace girdle::intake
