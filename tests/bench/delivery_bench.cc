// Drains outcomes from memory to a receiver on this machine, and says how fast:
//   girdle_delivery_drain PORT CONNECTIONS COUNT
// Marks are durable at once: what is measured is everything of delivery but the ledger.
#include <sys/resource.h>
#include <unistd.h>

#include <boost/asio/co_spawn.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>

#include "base/task_group.h"
#include "delivery/dispatcher.h"
#include "delivery/open_senders.h"
#include "delivery/outbox.h"
#include "delivery/resolver.h"

namespace girdle::delivery {
namespace {

namespace asio = boost::asio;

// Makes the deliveries as they are asked for.
class Spring final : public Outbox {
 public:
  Spring(asio::io_context& io, int64_t count) : io_(io), count_(count) {}

  void load(int64_t, base::Instant, size_t limit, const std::vector<int64_t>&,
            Loaded done) override {
    std::vector<model::Delivery> heads;
    while (heads.size() < limit && made_ < count_) heads.push_back(make(++made_));
    asio::post(io_, [done = std::move(done), heads = std::move(heads)]() mutable {
      done(std::move(heads), base::Instant::max());
    });
  }
  void mark(Mark mark, Marked done) override {
    sent_ += mark.state == model::DeliveryState::kSent;
    asio::post(io_, [done = std::move(done)] { done(true, std::nullopt); });
  }
  bool is_overtaken(const model::Delivery&) override { return false; }
  void close_outlet(int64_t, std::string) override {}

  int64_t sent() const { return sent_; }

 private:
  static model::Delivery make(int64_t number) {
    model::Delivery delivery;
    delivery.id = delivery.case_number = number;
    delivery.outcome.case_id = "q1-" + std::to_string(number);
    delivery.outcome.sequence = 1;
    delivery.outcome.site = "quay-street";
    delivery.outcome.stock_number = "R" + std::to_string(number);
    delivery.outcome.decision.reason = "as_declared";
    delivery.outcome.reasons = {{"as_declared", "The readings agree with the declaration."}};
    delivery.outcome.policy = {"default", "1", "sha256:" + std::string(64, 'a')};
    return delivery;
  }

  asio::io_context& io_;
  int64_t count_;
  int64_t made_ = 0;
  int64_t sent_ = 0;
};

int drain(int port, int connections, int64_t count) {
  const std::filesystem::path secret =
      std::filesystem::temp_directory_path() / ("girdle_drain_" + std::to_string(::getpid()));
  std::ofstream(secret) << "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw";
  std::filesystem::permissions(secret, std::filesystem::perms::owner_read);
  config::Outlet outlet;
  outlet.name = "drain";
  outlet.webhook.url = "http://127.0.0.1:" + std::to_string(port) + "/hook";
  outlet.webhook.secret.path = secret;
  outlet.in_flight = connections;

  asio::io_context io(1);
  Spring spring(io, count);
  Resolver resolver(io.get_executor());
  base::SystemClock clock;
  const base::Log log = base::Log::to_stderr("info");
  const std::string file;
  config::Problems problems;
  auto senders = open_senders(outlet, {io.get_executor(), resolver, clock, log}, config::Report(file, problems));
  std::filesystem::remove(secret);
  for (const auto& problem : problems) std::fprintf(stderr, "%s\n", problem.text.c_str());
  if (!problems.empty()) return 1;
  Dispatcher dispatcher(outlet, 1, {io.get_executor(), spring, clock, log, 1}, std::move(senders));
  base::TaskGroup tasks(io.get_executor(), [](std::exception_ptr) { std::abort(); });
  const auto start = std::chrono::steady_clock::now();
  tasks.spawn(dispatcher.run());
  while (!dispatcher.idle()) io.run_one();
  const double seconds =
      std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
  bool ended = false;
  asio::co_spawn(io, tasks.stop(), [&](std::exception_ptr) { ended = true; });
  while (!ended) io.run_one();  // not until the timers of idle connections ring
  rusage usage{};
  ::getrusage(RUSAGE_SELF, &usage);
  const double cpu = static_cast<double>(usage.ru_utime.tv_sec + usage.ru_stime.tv_sec) +
                     static_cast<double>(usage.ru_utime.tv_usec + usage.ru_stime.tv_usec) * 1e-6;
  std::printf("%lld sent, %.0f/s, cpu %.1f us each, peak memory %ld MB\n",
              static_cast<long long>(spring.sent()), static_cast<double>(spring.sent()) / seconds,
              cpu * 1e6 / static_cast<double>(count), usage.ru_maxrss / 1024);
  return spring.sent() == count ? 0 : 1;
}

}  // namespace
}  // namespace girdle::delivery

int main(int argc, char** argv) {
  if (argc != 4) {
    std::fprintf(stderr, "girdle_delivery_drain PORT CONNECTIONS COUNT\n");
    return 2;
  }
  return girdle::delivery::drain(std::atoi(argv[1]), std::atoi(argv[2]), std::atoll(argv[3]));
}
