#include "delivery/resolver.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <array>
#include <atomic>
#include <boost/asio/detached.hpp>
#include <condition_variable>
#include <mutex>

#include "delivery/client_runner.h"

namespace girdle::delivery {
namespace {

namespace asio = boost::asio;
using Clock = std::chrono::steady_clock;
using std::chrono::milliseconds;

const auto kAddress = asio::ip::make_address("192.0.2.7");

// Lookups of "dead…" do not come back before the end of the test; others do at once.
struct Names {
  std::atomic<int> lookups = 0;
  std::mutex mutex;
  std::condition_variable changed;
  bool over = false;
  int blocked = 0;

  ~Names() {
    std::unique_lock lock(mutex);
    over = true;
    changed.notify_all();
    changed.wait(lock, [this] { return blocked == 0; });
  }

  base::Result<Resolver::Addresses> look_up(const std::string& host) {
    ++lookups;
    if (host.starts_with("dead")) {
      std::unique_lock lock(mutex);
      ++blocked;
      changed.wait(lock, [this] { return over; });
      --blocked;
      changed.notify_all();
    }
    if (host.starts_with("none")) return base::environment_error("there is no " + host);
    return Resolver::Addresses{kAddress};
  }

  Resolver::Lookup lookup() {
    return [this](const std::string& host) { return look_up(host); };
  }
};

class ResolverTest : public testing::Test {
 protected:
  base::Result<Resolver::Addresses> resolve(Resolver& resolver, std::string host,
                                            milliseconds within) {
    return run(io_, resolver.resolve(std::move(host), Clock::now() + within));
  }

  Names names_;
  asio::io_context io_;
};

TEST_F(ResolverTest, TakesAnAddressAsItIs) {
  Resolver resolver(io_.get_executor(), {}, names_.lookup());
  EXPECT_EQ(resolve(resolver, "127.0.0.1", milliseconds(100))->front().to_string(), "127.0.0.1");
  EXPECT_EQ(resolve(resolver, "::1", milliseconds(100))->front().to_string(), "::1");
  EXPECT_EQ(names_.lookups, 0);
}

TEST_F(ResolverTest, KeepsWhatItFoundForAWhile) {
  Resolver resolver(io_.get_executor(), {.keep = milliseconds(60)}, names_.lookup());
  EXPECT_EQ(resolve(resolver, "till.example", milliseconds(1000))->front(), kAddress);
  EXPECT_EQ(resolve(resolver, "till.example", milliseconds(1000))->front(), kAddress);
  EXPECT_EQ(names_.lookups, 1);
  std::this_thread::sleep_for(milliseconds(80));
  EXPECT_EQ(resolve(resolver, "till.example", milliseconds(1000))->front(), kAddress);
  EXPECT_EQ(names_.lookups, 2);
}

TEST_F(ResolverTest, TellsThatANameDoesNotExist) {
  Resolver resolver(io_.get_executor(), {}, names_.lookup());
  const auto found = resolve(resolver, "none.example", milliseconds(1000));
  ASSERT_FALSE(found.ok());
  EXPECT_EQ(found.error().text, "there is no none.example");
}

TEST_F(ResolverTest, DoesNotLetADeadNameDelayAnotherOrTheStop) {
  const auto start = Clock::now();
  {
    Resolver resolver(io_.get_executor(), {}, names_.lookup());
    const auto dead = resolve(resolver, "dead.example", milliseconds(50));
    ASSERT_FALSE(dead.ok());
    EXPECT_THAT(dead.error().text, testing::HasSubstr("dead.example"));
    EXPECT_TRUE(resolve(resolver, "till.example", milliseconds(1000)).ok());
    // The first lookup is still under way: no second thread for the same name.
    EXPECT_FALSE(resolve(resolver, "dead.example", milliseconds(50)).ok());
    EXPECT_EQ(names_.lookups, 2);
  }
  EXPECT_LT(Clock::now() - start, milliseconds(900));
}

TEST_F(ResolverTest, HasABoundOnLookupsUnderWay) {
  Resolver resolver(io_.get_executor(), {.threads = 3}, names_.lookup());
  for (const char* host : {"dead1", "dead2", "dead3"})
    EXPECT_FALSE(resolve(resolver, host, milliseconds(10)).ok());
  const auto found = resolve(resolver, "till.example", milliseconds(1000));
  ASSERT_FALSE(found.ok());
  EXPECT_THAT(found.error().text, testing::HasSubstr("too many lookups"));
}

TEST_F(ResolverTest, AsksOnceForAllWhoWait) {
  Resolver resolver(io_.get_executor(), {}, names_.lookup());
  std::array<std::optional<base::Result<Resolver::Addresses>>, 5> found;
  for (auto& result : found) {
    asio::co_spawn(
        io_, keep(resolver.resolve("till.example", Clock::now() + milliseconds(1000)), result),
        asio::detached);
  }
  io_.run();
  for (const auto& result : found) EXPECT_TRUE(result.has_value() && result->ok());
  EXPECT_EQ(names_.lookups, 1);
}

TEST(SystemLookup, FindsThisMachine) {
  const auto found = Resolver::system_lookup("localhost");
  ASSERT_TRUE(found.ok()) << found.error().text;
  for (const auto& address : *found) EXPECT_TRUE(address.is_loopback());
}

}  // namespace
}  // namespace girdle::delivery
