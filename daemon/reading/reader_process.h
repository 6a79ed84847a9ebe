// The process of one intake's isolated reader, over its lives: started when it is needed, watched,
// ended when it fails, started again after a pause. It reads one document at a time.
//
// Whatever the process does costs girdled a bounded time and memory. Nothing blocks (but a killed
// process has 5 ms to be gone); who waits is told for what.
#pragma once

#include <memory>
#include <optional>
#include <string>

#include "reading/carrier.h"
#include "reading/child_process.h"
#include "reading/restart_pause.h"
#include "reading/wire.h"

namespace girdle::reading {

class ReaderProcess {
 public:
  struct Plan {
    std::string reader;       // its name
    std::string start_frame;  // what each new process is told first
    uint64_t max_record_bytes = 0;
    Isolation isolation;
  };
  explicit ReaderProcess(Plan plan) : plan_(std::move(plan)) {}

  // Brings the process to where it can take a document: starts it, and waits for what has to be
  // waited for. Nothing: it can.
  std::optional<Wait> prepare();
  // Why it cannot be started, while it cannot.
  const std::string& trouble() const { return trouble_; }

  bool is_busy() const { return stage_ == Stage::kBusy; }
  void begin_document() { stage_ = Stage::kBusy; }
  void end_document();
  // The document is of no interest any more; its reader waits for a call.
  void drop_document();
  // The reader failed, or does not answer: the process ends, and that is remembered.
  void fail();
  // So too, but that it belongs to no document: it is told in the news.
  void fail_between(const std::string& what);
  // Ends it without that.
  void stop();
  // Ends it, and waits for its end.
  void shut_down();

  // What is to be sent.
  std::string& outgoing() { return child_->outgoing(); }
  // What may come until expect() is called again.
  void expect(uint64_t bytes) { may_come_ = bytes; }

  struct Heard {
    enum class What { kFrame, kWait, kEnd } what = What::kEnd;
    wire::Frame frame{};
    Wait wait{};
    std::string why;      // of an end; what the reader did, as in "the reader … "
    bool killed = false;  // of an end: by somebody else

    static Heard of(const wire::Frame& frame) { return {What::kFrame, frame, {}, {}}; }
    static Heard waits(const Wait& wait) { return {What::kWait, {}, wait, {}}; }
    static Heard end(std::string why) { return {What::kEnd, {}, {}, std::move(why)}; }
  };
  // Sends what there is to send, and gives the next frame that came. An end: nothing more will come
  // that can be used, `until` passed too; fail() has to follow.
  Heard hear(SteadyTime until);

  SteadyTime now() const { return plan_.isolation.now(); }
  const Plan& plan() const { return plan_; }
  // What the process wrote to its standard error, for a reason: "" or "; it wrote: …".
  std::string said();
  ReaderNews take_news();

 private:
  enum class Stage {
    kNone,      // no process
    kEnding,    // killed, and not gone yet
    kStarting,  // not ready yet
    kIdle,
    kBusy,      // with a document
    kDropping,  // lets go of a document that nobody wants
  };

  void start();
  void cannot_start(std::string why);
  // The next stage; or what it waits for.
  std::optional<Wait> await_end();
  std::optional<Wait> await_ready();
  std::optional<Wait> await_dropped();
  std::optional<Wait> look_at_idle();
  static Heard heard(const wire::Frame& frame);
  void close();
  Heard ended();
  Wait wait_for_socket(SteadyTime until) const;
  Wait wait_for_end(SteadyTime until) const;

  const Plan plan_;
  Stage stage_ = Stage::kNone;
  std::unique_ptr<ChildProcess> child_;
  uint64_t starts_ = 0;
  std::optional<wire::Frames> frames_;
  SteadyTime until_{};   // of starting, dropping, ending
  bool closed_ = false;  // nothing more comes; why, its end tells
  SteadyTime ends_until_{};
  uint64_t may_come_ = 0;
  size_t since_wait_ = 0;  // bytes that came
  RestartPause pause_;
  std::string trouble_;
  ReaderNews news_;
};

}  // namespace girdle::reading
