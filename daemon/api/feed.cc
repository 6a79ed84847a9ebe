#include "api/feed.h"

#include <algorithm>
#include <exception>
#include <utility>

#include "api/desk.h"
#include "api/readers.h"
#include "base/json.h"
#include "base/time.h"

namespace girdle::api {

namespace asio = boost::asio;

namespace {

std::string tell_one(const Happening::Decided& decided, const base::Result<Teller*>& teller, const House& house,
                     const Feed::Line& line) {
  if (!teller) return {};
  try {
    auto told = line(**teller, house, decided);
    return told ? std::move(*told) : std::string();
  } catch (const std::exception&) {
    return {};
  }
}

// What cannot be told now is counted, and who listens looks again: the next frame must come in any case.
std::vector<std::string> tell(const Gathering& gathering, const base::Result<Teller*>& teller, const House& house,
                              const Feed::Line& line) {
  std::vector<std::string> lines;
  for (const auto& decided : gathering.decided()) {
    lines.push_back(tell_one(decided, teller, house, line));
  }
  return lines;
}

}  // namespace

void Gathering::add(Happening happening) {
  sum_.readings += happening.readings;
  sum_.duplicates += happening.duplicates;
  sum_.asides += happening.asides;
  sum_.declarations += happening.declarations;
  sum_.marks += happening.marks;
  auto& fresh = happening.decided;
  if (fresh.size() > kMostDecided) {
    more_ += fresh.size() - kMostDecided;
    fresh.erase(fresh.begin(), fresh.end() - kMostDecided);
  }
  for (const auto& decided : fresh) {
    std::erase_if(sum_.decided, [&](const auto& earlier) { return earlier.case_number == decided.case_number; });
    sum_.decided.push_back(decided);
  }
  if (sum_.decided.size() <= kMostDecided) return;
  const size_t excess = sum_.decided.size() - kMostDecided;
  more_ += excess;
  sum_.decided.erase(sum_.decided.begin(), sum_.decided.begin() + static_cast<ptrdiff_t>(excess));
}

std::string Gathering::json(const std::vector<std::string>& lines) const {
  std::string out;
  base::JsonWriter json(out);
  json.begin_object().key("decided").begin_array();
  uint64_t more = more_;
  for (const std::string& line : lines) {
    if (line.empty()) {
      ++more;
    } else {
      json.raw(line);
    }
  }
  json.end_array();
  const auto count = [](uint64_t number) { return static_cast<int64_t>(number); };
  json.member("more", count(more)).member("readings", count(sum_.readings));
  json.member("duplicates", count(sum_.duplicates)).member("asides", count(sum_.asides));
  json.member("declarations", count(sum_.declarations)).member("deliveries", count(sum_.marks)).end_object();
  return out;
}

asio::awaitable<Feed::Frame> Feed::Listener::next(base::Millis most) {
  if (waiting_.empty() && !ended_) {
    boost::system::error_code ended;
    bell_.expires_after(most);
    co_await bell_.async_wait(asio::redirect_error(asio::use_awaitable, ended));
  }
  if (waiting_.empty() || ended_) co_return nullptr;
  Frame frame = std::move(waiting_.front());
  waiting_.pop_front();
  taking_ = true;
  co_return frame;
}

void Feed::Listener::end() {
  if (std::exchange(ended_, true)) return;
  waiting_.clear();
  bell_.cancel();
  if (cut_) cut_();
}

void Feed::Listener::offer(const Frame& frame) {
  if (ended_) return;
  waiting_.push_back(frame);
  if (taking_ && waiting_.size() >= 2) {
    end();  // it does not keep up
  } else {
    bell_.cancel();
  }
}

Feed::Feed(Parts parts, const Limits& limits)
    : parts_(std::move(parts)),
      limits_(limits),
      start_(std::to_string(base::to_millis(parts_.started))),
      timer_(parts_.executor) {}

void Feed::publish(Happening happening) {
  if (!parts_.heard.load(std::memory_order_relaxed) || happening.empty()) return;
  {
    const std::lock_guard lock(mutex_);
    gathering_.add(std::move(happening));
    if (std::exchange(is_woken_, true)) return;
  }
  parts_.home->post([weak = weak_from_this()] {
    if (const auto self = weak.lock()) self->wake();
  });
}

std::shared_ptr<Feed::Listener> Feed::join() {
  if (stopping_ || listeners_.size() >= limits_.listeners) return nullptr;
  parts_.heard = true;
  return listeners_.emplace_back(std::make_shared<Listener>(parts_.executor));
}

void Feed::leave(const std::shared_ptr<Listener>& listener) {
  listener->cut_ = nullptr;
  std::erase(listeners_, listener);
  if (!listeners_.empty()) return;
  parts_.heard = false;
  ++sent_;  // what happens from now on nobody gathers: who comes back with the last id has missed something
}

void Feed::stop() {
  stopping_ = true;
  parts_.heard = false;
  timer_.cancel();
  for (const auto& listener : std::vector(listeners_)) listener->end();
}

std::string Feed::hello(std::string_view site, base::Instant now, std::string_view last_event_id) const {
  std::string data;
  base::JsonWriter json(data);
  json.begin_object().member("site", site).member("now", base::format_rfc3339(now));
  json.member("resumed", last_event_id == event_id()).end_object();
  return "retry: 2000\nid: " + event_id() + "\nevent: hello\ndata: " + data + "\n\n";
}

// There is something to send; not before the last frame is old enough.
void Feed::wake() {
  if (stopping_) return;
  timer_.expires_at(last_ + limits_.frame);
  timer_.async_wait([weak = weak_from_this()](boost::system::error_code cancelled) {
    const auto self = weak.lock();
    if (self && !cancelled) self->make();
  });
}

void Feed::make() {
  last_ = std::chrono::steady_clock::now();
  const auto gathering = std::make_shared<Gathering>();
  {
    const std::lock_guard lock(mutex_);
    std::swap(*gathering, gathering_);
    if (listeners_.empty()) is_woken_ = false;
  }
  if (listeners_.empty()) return;
  const auto house = parts_.house();
  // One at a time: is_woken_ stays until it is sent.
  parts_.readers.submit_first([weak = weak_from_this(), home = parts_.home, line = parts_.line, gathering,
                               house](const base::Result<Teller*>& teller) {
    const auto lines = tell(*gathering, teller, *house, line);
    home->post([weak, data = gathering->json(lines)] {
      if (const auto self = weak.lock()) self->send(data);
    });
  });
}

void Feed::send(const std::string& data) {
  ++sent_;
  const auto frame =
      std::make_shared<const std::string>("id: " + event_id() + "\nevent: changes\ndata: " + data + "\n\n");
  for (const auto& listener : std::vector(listeners_)) listener->offer(frame);
  {
    const std::lock_guard lock(mutex_);
    is_woken_ = !gathering_.empty();
    if (!is_woken_) return;
  }
  wake();
}

}  // namespace girdle::api
