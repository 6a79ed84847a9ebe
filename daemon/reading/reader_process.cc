#include "reading/reader_process.h"

#include <utility>

#include "base/text.h"
#include "reading/system_call.h"

namespace girdle::reading {
namespace {

using std::chrono::milliseconds;
using What = ReaderProcess::Heard::What;
using wire::FrameType;

constexpr size_t kExcerpt = 300;
constexpr size_t kBeforeOthers = 256 << 10;  // bytes at a time; then whoever else has its turn
constexpr milliseconds kToBeKilled{1000};
// Nearly always enough, so that nothing is left of the process; else the next document waits for
// its end, without blocking.
constexpr milliseconds kAtOnce{5};

std::string in_seconds(milliseconds time) {
  if (time.count() % 1000 == 0) return std::to_string(time.count() / 1000) + " s";
  return std::to_string(time.count()) + " ms";
}

}  // namespace

std::optional<Wait> ReaderProcess::prepare() {
  for (;;) {
    std::optional<Wait> wait;
    switch (stage_) {
      case Stage::kNone:
        if (now() < pause_.until()) return Wait{.until = pause_.until()};
        start();
        break;
      case Stage::kEnding:
        wait = await_end();
        break;
      case Stage::kStarting:
        wait = await_ready();
        break;
      case Stage::kDropping:
        wait = await_dropped();
        break;
      case Stage::kIdle:
        wait = look_at_idle();
        if (stage_ == Stage::kIdle) return wait;
        break;
      case Stage::kBusy:
        return std::nullopt;
    }
    if (wait) return wait;
  }
}

void ReaderProcess::start() {
  auto started = ChildProcess::start(plan_.isolation.host, plan_.reader);
  if (!started) return cannot_start(started.error().text);
  child_ = std::move(started).value();
  ++starts_;
  frames_.emplace(wire::max_body(plan_.max_record_bytes));
  closed_ = false;
  child_->outgoing() = plan_.start_frame;
  expect(wire::max_body(plan_.max_record_bytes));
  until_ = now() + plan_.isolation.patience;
  stage_ = Stage::kStarting;
}

void ReaderProcess::cannot_start(std::string why) {
  trouble_ = std::move(why);
  fail();
}

std::optional<Wait> ReaderProcess::await_ready() {
  Heard heard = hear(until_);
  switch (heard.what) {
    case What::kWait:
      return heard.wait;
    case What::kEnd:
      cannot_start("reader " + plan_.reader + ": when it is loaded, it " + heard.why + said());
      return std::nullopt;
    case What::kFrame:
      break;
  }
  if (heard.frame.type == FrameType::kReady) {
    trouble_.clear();
    stage_ = Stage::kIdle;
  } else if (heard.frame.type == FrameType::kCannot) {
    wire::Parser parser(heard.frame.body);
    cannot_start(base::excerpt(parser.text(), 2 * kExcerpt));
  } else {
    cannot_start("reader " + plan_.reader + ": when it is loaded, it says what nobody asked");
  }
  return std::nullopt;
}

std::optional<Wait> ReaderProcess::await_dropped() {
  Heard heard = hear(until_);
  if (heard.what == What::kWait) return heard.wait;
  if (heard.what == What::kFrame && heard.frame.type == FrameType::kDropped) {
    stage_ = Stage::kIdle;
  } else if (heard.what == What::kEnd) {
    news_.warning = heard.why + ", after a document that was broken off" + said();
    fail();
  }
  return std::nullopt;  // other frames are what it still had to say of the document
}

// Between two documents it may have ended, or been ended.
std::optional<Wait> ReaderProcess::look_at_idle() {
  size_t size = 0;
  const auto came = closed_ ? ChildProcess::Came::kEnd : child_->receive(*frames_, size);
  if (came == ChildProcess::Came::kNothing && frames_->empty()) {
    // Its limit would meet some document half-way.
    if (2 * child_->processor_time() > plan_.isolation.cpu) stop();
    return std::nullopt;
  }
  std::string what = "said what nobody asked";
  if (came == ChildProcess::Came::kEnd) {
    if (!closed_) close();
    Heard heard = ended();
    if (heard.what == What::kWait) return heard.wait;
    what = std::move(heard.why);
  }
  fail_between(what);
  return std::nullopt;
}

void ReaderProcess::fail_between(const std::string& what) {
  news_.warning = what + ", between two documents" + said();
  fail();
}

std::optional<Wait> ReaderProcess::await_end() {
  if (child_->how_it_ended().empty() && now() < until_) return wait_for_end(until_);
  child_.reset();
  stage_ = Stage::kNone;
  return std::nullopt;
}

void ReaderProcess::end_document() {
  pause_.went_well();
  stage_ = Stage::kIdle;
}

void ReaderProcess::drop_document() {
  wire::put_frame(outgoing(), FrameType::kDrop);
  child_->send();
  expect(2 * wire::max_body(plan_.max_record_bytes));
  until_ = now() + plan_.isolation.patience;
  stage_ = Stage::kDropping;
}

void ReaderProcess::fail() {
  pause_.failed(now());
  stop();
}

void ReaderProcess::stop() {
  if (!child_) {
    stage_ = Stage::kNone;
    return;
  }
  child_->kill();
  if (child_->ends_within(kAtOnce)) {
    child_.reset();
    stage_ = Stage::kNone;
    return;
  }
  until_ = now() + kToBeKilled;
  stage_ = Stage::kEnding;
}

void ReaderProcess::shut_down() {
  child_.reset();
  stage_ = Stage::kNone;
}

ReaderProcess::Heard ReaderProcess::hear(SteadyTime until) {
  for (;;) {
    if (const auto frame = frames_->next()) return heard(*frame);
    if (frames_->broken()) return Heard::end("sent what is no answer");
    if (closed_) return ended();
    child_->send();
    size_t size = 0;
    switch (child_->receive(*frames_, size)) {
      case ChildProcess::Came::kBytes:
        if (size > may_come_) return Heard::end("said more than there was to say");
        may_come_ -= size;
        since_wait_ += size;
        if (since_wait_ < kBeforeOthers) break;
        since_wait_ = 0;
        return Heard::waits({.until = SteadyTime{}});
      case ChildProcess::Came::kEnd:
        close();
        break;
      case ChildProcess::Came::kNothing:
        since_wait_ = 0;
        if (now() < until) return Heard::waits(wait_for_socket(until));
        return Heard::end("did not answer in time (" + in_seconds(plan_.isolation.patience) +
                          ", and 1 s a MiB)");
    }
  }
}

ReaderProcess::Heard ReaderProcess::heard(const wire::Frame& frame) {
  if (frame.type != FrameType::kForbidden) return Heard::of(frame);
  wire::Parser parser(frame.body);
  return Heard::end("made the system call " + name_of_system_call(parser.u32()) +
                    ", which no reader may make");
}

// Nothing but its end closes a connection, and on a busy machine that takes its time; whatever else
// did it is like a reader that hangs.
void ReaderProcess::close() {
  closed_ = true;
  ends_until_ = now() + plan_.isolation.patience;
}

// The connection is closed. The process tells how it ended, when it has.
ReaderProcess::Heard ReaderProcess::ended() {
  const std::string& how = child_->how_it_ended();
  if (how.empty() && now() < ends_until_) return Heard::waits(wait_for_end(ends_until_));
  Heard end = Heard::end(how.empty() ? "closed its connection" : how);
  end.killed = child_->was_killed();
  return end;
}

Wait ReaderProcess::wait_for_socket(SteadyTime until) const {
  return {child_->socket(), 2 * starts_, child_->has_unsent(), until};
}

Wait ReaderProcess::wait_for_end(SteadyTime until) const {
  return {child_->end(), 2 * starts_ + 1, false, until};
}

std::string ReaderProcess::said() {
  if (!child_) return {};
  const std::string said = child_->take_said();
  if (said.empty()) return {};
  const size_t from = said.size() - std::min(said.size(), kExcerpt);
  return "; it wrote: " + base::excerpt(std::string_view(said).substr(from), 2 * kExcerpt);
}

ReaderNews ReaderProcess::take_news() {
  ReaderNews news = std::exchange(news_, {});
  if (child_) news.said = base::excerpt(child_->take_said(), kExcerpt);
  return news;
}

}  // namespace girdle::reading
