// Server-sent events (HTML standard, 9.2): what changes, to all who listen. A listener costs one write a frame, and a
// frame is made once for all of them; one that does not keep up is closed and comes again.
#pragma once

#include <atomic>
#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/awaitable.hpp>
#include <boost/asio/steady_timer.hpp>
#include <chrono>
#include <cstdint>
#include <deque>
#include <functional>
#include <memory>
#include <mutex>
#include <string>
#include <string_view>
#include <vector>

#include "api/home_thread.h"
#include "api/limits.h"
#include "base/clock.h"
#include "base/result.h"
#include "ledger/ledger.h"

namespace girdle::api {

class Readers;
class Teller;
struct House;

// What a commit changed. Cheap to make: numbers only.
struct Happening {
  struct Decided {
    ledger::Number case_number = 0;
    int64_t sequence = 0;

    bool operator==(const Decided&) const = default;
  };
  std::vector<Decided> decided;
  uint64_t readings = 0, duplicates = 0, asides = 0, declarations = 0, marks = 0;

  bool empty() const { return decided.empty() && readings + duplicates + asides + declarations + marks == 0; }
};

// What was published and is in no frame yet. Bounded: of many decided cases the newest are kept, the others counted.
class Gathering {
 public:
  static constexpr size_t kMostDecided = 50;

  void add(Happening happening);
  bool empty() const { return sum_.empty() && more_ == 0; }
  // A case that was decided several times stands there once.
  const std::vector<Happening::Decided>& decided() const { return sum_.decided; }
  // The data of the event `changes`. `lines`: of the decided cases, as JSON; an empty one could not be told.
  std::string json(const std::vector<std::string>& lines) const;

 private:
  Happening sum_;
  uint64_t more_ = 0;
};

// All but publish() on the server's thread.
class Feed : public std::enable_shared_from_this<Feed> {
 public:
  using Frame = std::shared_ptr<const std::string>;
  // The entry of a decided case, {"bench", "instrument", "case"}; on a reading thread.
  using Line =
      std::function<base::Result<std::string>(Teller& teller, const House& house, const Happening::Decided& decided)>;

  // One connection that listens.
  class Listener {
   public:
    Listener(boost::asio::any_io_executor executor) : bell_(std::move(executor)) {}
    // The next frame, or nothing: none came in that time, or it was ended.
    boost::asio::awaitable<Frame> next(base::Millis most);
    // The last frame was written.
    void has_taken() { taking_ = false; }
    // Its connection is gone, or may not listen any more.
    void end();
    bool has_ended() const { return ended_; }
    // Called by end(), to cut short what is being written. Not after the listener has left.
    void on_end(std::function<void()> cut) { cut_ = std::move(cut); }

   private:
    friend class Feed;
    void offer(const Frame& frame);
    boost::asio::steady_timer bell_;
    std::deque<Frame> waiting_;
    bool taking_ = false, ended_ = false;
    std::function<void()> cut_;
  };

  struct Parts {
    boost::asio::any_io_executor executor;
    std::shared_ptr<HomeThread> home;
    Readers& readers;
    std::function<std::shared_ptr<const House>()> house;  // from any thread
    Line line;
    std::atomic<bool>& heard;  // written here: whether anybody listens
    base::Instant started{};   // makes the events' ids of this process
  };
  Feed(Parts parts, const Limits& limits);

  // From any thread, at once.
  void publish(Happening happening);

  // Nothing: as many listen as may.
  std::shared_ptr<Listener> join();
  void leave(const std::shared_ptr<Listener>& listener);
  size_t listeners() const { return listeners_.size(); }
  // The first event of a listener. It has missed nothing where the last one that it knows is the last that was sent.
  std::string hello(std::string_view site, base::Instant now, std::string_view last_event_id) const;
  // Ends all listeners; nothing is sent any more.
  void stop();

 private:
  std::string event_id() const { return start_ + '-' + std::to_string(sent_); }
  void wake();
  void make();
  void send(const std::string& data);

  Parts parts_;
  Limits limits_;
  std::string start_;

  std::mutex mutex_;
  Gathering gathering_;    // with the mutex
  bool is_woken_ = false;  // with the mutex: the server's thread knows that there is something

  std::vector<std::shared_ptr<Listener>> listeners_;
  boost::asio::steady_timer timer_;
  std::chrono::steady_clock::time_point last_{};
  uint64_t sent_ = 0;
  bool stopping_ = false;
};

}  // namespace girdle::api
