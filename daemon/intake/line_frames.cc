#include "intake/line_frames.h"

#include <utility>

#include "base/digest.h"
#include "intake/begun.h"

namespace girdle::intake {

namespace asio = boost::asio;

namespace {

constexpr size_t kMostHeld = 1024;
constexpr uint64_t kMostHeldBytes = 4 << 20;
constexpr std::chrono::milliseconds kRetry{1000};

}  // namespace

LineFrames::LineFrames(std::string intake, std::string line,
                       std::unique_ptr<framing::Framer> framer, Sink& sink, base::Clock& clock,
                       Bell& bell, Status& status)
    : intake_(std::move(intake)),
      line_(std::move(line)),
      framer_(std::move(framer)),
      sink_(sink),
      clock_(clock),
      bell_(bell),
      status_(status) {}

void LineFrames::frame(const framing::Frame& frame) { hold(frame.bytes); }

void LineFrames::fault(const framing::Fault& fault) {
  Held& held = hold(fault.bytes);
  held.reason = fault.reason;
  held.truncated = fault.truncated;
}

LineFrames::Held& LineFrames::hold(std::string_view bytes) {
  Held& held = fresh_.emplace_back();
  held.self = std::prev(fresh_.end());
  held.bytes = bytes;
  held.document.digest = base::sha256(bytes);
  held.document.intake = intake_;
  held.document.name = line_;
  held.document.size = bytes.size();
  held.document.came_at = clock_.now();
  held_bytes_ += bytes.size();
  return held;
}

asio::awaitable<void> LineFrames::hand_over() {
  if (!failed_.empty() && retry_at_ <= std::chrono::steady_clock::now())
    fresh_.splice(fresh_.begin(), failed_);
  while (!fresh_.empty()) {
    Held& held = fresh_.front();
    in_flight_.splice(in_flight_.end(), fresh_, held.self);
    co_await offer(held);
  }
}

asio::awaitable<void> LineFrames::offer(Held& held) {
  const auto done = [this, &held](bool committed) { on_done(held, committed); };
  if (!held.reason.empty()) {
    ++status_.set_aside;
    // Named: g++ 12 destroys a braced temporary in a co_await twice.
    model::Aside aside{{0, held.bytes.size(), 0}, held.reason, held.bytes, held.truncated};
    co_await sink_.set_aside(held.document, std::move(aside), std::nullopt, done);
    co_return;
  }
  ++status_.documents;
  status_.bytes += held.bytes.size();
  status_.last_at = clock_.now();
  Begun begun(sink_, status_);
  sink_.begin(held.document, "");
  co_await sink_.feed(held.bytes);
  co_await sink_.finish(true);
  co_await sink_.commit(std::nullopt, done);
  begun.committed();
}

void LineFrames::on_done(Held& held, bool committed) {
  if (committed) {
    held_bytes_ -= held.bytes.size();
    in_flight_.erase(held.self);
  } else {
    ++status_.failed;
    failed_.splice(failed_.end(), in_flight_, held.self);
    retry_at_ = std::chrono::steady_clock::now() + kRetry;
  }
  bell_.ring();
}

SteadyTime LineFrames::next_due() const { return failed_.empty() ? SteadyTime::max() : retry_at_; }

bool LineFrames::is_full() const {
  return fresh_.size() + in_flight_.size() + failed_.size() >= kMostHeld ||
         held_bytes_ >= kMostHeldBytes;
}

}  // namespace girdle::intake
