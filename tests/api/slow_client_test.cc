// Clients that take their time, come in crowds, or leave in the middle: each holds its own connection, and that not
// long.
#include <gmock/gmock.h>
#include <sys/resource.h>
#include <unistd.h>

#include <thread>

#include "api/fake_shop.h"

namespace girdle::api {
namespace {

using namespace std::chrono_literals;

class SlowClient : public ShopTest {
 protected:
  SlowClient() {
    limits_.header = limits_.body = limits_.write = 300ms;
    limits_.idle = 600ms;
    limits_.farewell = 200ms;
  }
};

TEST_F(SlowClient, IsToldThatItsHeaderTookTooLong) {
  start();
  Talk talk(server_->port());
  const auto begin = std::chrono::steady_clock::now();
  for (const char c : std::string("GET /t/look HTTP/1.1\r\nX: ")) {
    if (!talk.send({&c, 1})) break;
    std::this_thread::sleep_for(20ms);  // each byte is in time, the whole is not
  }
  EXPECT_EQ(talk.answer().value_or(Got()).status, 408);  // RFC 9110 15.5.9
  EXPECT_TRUE(talk.closes());
  EXPECT_LT(std::chrono::steady_clock::now() - begin, 5s);
}

TEST_F(SlowClient, IsClosedWhenItSaysNothing) {
  start();
  Talk talk(server_->port());
  EXPECT_EQ(talk.until("x", 5s), std::nullopt);  // not a byte
  EXPECT_TRUE(talk.closes());
}

TEST_F(SlowClient, IsToldThatItsBodyTookTooLong) {
  start();
  for (const char* framing : {"Content-Length: 100\r\n", "Transfer-Encoding: chunked\r\n"}) {
    Talk talk(server_->port());
    talk.send(request("POST", "/t/work", bearer(Role::kWork) + framing) + "1\r\n");
    EXPECT_EQ(talk.answer().value_or(Got()).status, 408) << framing;
    EXPECT_TRUE(talk.closes());
  }
}

TEST_F(SlowClient, IsClosedWhenItDoesNotReadItsAnswer) {
  start();
  Talk talk(server_->port());
  talk.take_little();
  talk.send(request("GET", "/t/big"));
  std::this_thread::sleep_for(100ms);
  EXPECT_EQ(connected(), 1);
  EXPECT_TRUE(becomes([&] { return connected() == 0; }));
}

TEST_F(SlowClient, IsClosedWhenItIsIdle) {
  start();
  Talk talk(server_->port());
  talk.send(request("GET", "/t/look"));
  EXPECT_EQ(talk.answer()->status, 200);
  std::this_thread::sleep_for(400ms);  // longer than a header may take, shorter than it may be idle
  talk.send(request("GET", "/t/look"));
  EXPECT_EQ(talk.answer().value_or(Got()).status, 200);
  EXPECT_TRUE(talk.closes());
}

TEST_F(SlowClient, HoldsNobodyUp) {
  limits_.header = limits_.body = limits_.write = 10s;
  start();
  std::vector<std::unique_ptr<Talk>> slow;
  for (int i = 0; i < 40; ++i) {
    auto& talk = slow.emplace_back(std::make_unique<Talk>(server_->port()));
    if (i % 3 == 0) talk->send("GET /");
    if (i % 3 == 1) talk->send(request("POST", "/t/work", bearer(Role::kWork) + "Content-Length: 9\r\n"));
    if (i % 3 == 2) talk->send(request("GET", "/t/big"));
  }
  const auto begin = std::chrono::steady_clock::now();
  EXPECT_EQ(get("/t/look").status, 200);
  EXPECT_LT(std::chrono::steady_clock::now() - begin, 2s);
}

TEST_F(SlowClient, GivesItsPlaceToANewOneWhenItIsIdle) {
  limits_.connections = 4;
  limits_.settled = 50ms;
  limits_.idle = 10s;
  start();
  std::vector<std::unique_ptr<Talk>> idle;
  for (int i = 0; i < 4; ++i) {
    auto& talk = idle.emplace_back(std::make_unique<Talk>(server_->port()));
    talk->send(request("GET", "/t/look"));
    EXPECT_EQ(talk->answer()->status, 200);
  }
  std::this_thread::sleep_for(100ms);
  EXPECT_EQ(get("/t/look").status, 200);
  EXPECT_TRUE(idle[0]->closes(5s));  // who waits the longest
  idle[3]->send(request("GET", "/t/look"));
  EXPECT_EQ(idle[3]->answer().value_or(Got()).status, 200);
}

TEST_F(SlowClient, OneOfACrowdIsToldOrClosed) {
  limits_.connections = 4;
  limits_.refused = 2;
  limits_.header = 3s;
  limits_.settled = 60s;
  limits_.farewell = 3s;
  start();
  std::vector<std::unique_ptr<Talk>> crowd;
  for (int i = 0; i < 4; ++i) crowd.emplace_back(std::make_unique<Talk>(server_->port()))->send("GET");
  Talk told(server_->port()), told_too(server_->port()), closed(server_->port());
  const Got got = told.answer().value_or(Got());
  EXPECT_EQ(got.status, 503);
  EXPECT_EQ(got.field("retry-after"), "1");  // RFC 9110 10.2.3
  EXPECT_EQ(told_too.answer().value_or(Got()).status, 503);
  EXPECT_FALSE(closed.answer());
  crowd.clear();
  told.close();
  told_too.close();
  EXPECT_TRUE(becomes([&] { return get("/t/look").status == 200; }));
}

TEST_F(SlowClient, OfAFloodLeavesNothingBehind) {
  start();
  for (int i = 0; i < 1'000; ++i) {
    Talk talk(server_->port());
    if (i % 2 == 0) talk.send("GET /t/look HTTP/1.1\r\n");
    if (i % 5 == 0) talk.reset();
  }
  EXPECT_TRUE(becomes([&] { return connected() == 0; }));
}

TEST_F(SlowClient, MayLeaveAtAnyPoint) {
  start();
  const std::string whole = request("POST", "/t/work", bearer(Role::kWork) + "Transfer-Encoding: chunked\r\n") +
                            "5\r\nabcde\r\n0\r\n\r\n" + request("GET", "/t/big");
  for (size_t size = 0; size <= whole.size(); ++size) {
    Talk talk(server_->port());
    talk.send(whole.substr(0, size));
    if (size % 2 == 0) talk.reset();
  }
  EXPECT_TRUE(becomes([&] { return connected() == 0; }));
  EXPECT_EQ(get("/t/look").status, 200);
  EXPECT_EQ(last_log().find("fault"), std::string::npos);
}

TEST_F(SlowClient, ThatHalfClosesGetsItsAnswer) {
  start();
  Talk talk(server_->port());
  talk.send(request("GET", "/t/look"));
  talk.finish();
  EXPECT_EQ(talk.answer().value_or(Got()).status, 200);  // RFC 9112 9.6: closing one way is not leaving
  EXPECT_TRUE(talk.closes());
}

TEST_F(SlowClient, IsServedOnlySoOften) {
  limits_.requests = 3;
  start();
  Talk talk(server_->port());
  for (int i = 0; i < 4; ++i) talk.send(request("GET", "/t/look"));
  EXPECT_EQ(talk.answer()->field("connection"), "");
  EXPECT_EQ(talk.answer()->field("connection"), "");
  EXPECT_EQ(talk.answer()->field("connection"), "close");
  EXPECT_TRUE(talk.closes());
}

TEST_F(SlowClient, MeetsABoundedQueueForTheLedger) {
  limits_.reads = 3;
  start();
  std::vector<std::unique_ptr<Talk>> waiting;
  {
    const Gate gate;
    for (int i = 0; i < 2; ++i) {
      waiting.emplace_back(std::make_unique<Talk>(server_->port()))->send(request("GET", "/t/wait"));
      ASSERT_TRUE(becomes([&] { return waiting_at_gate() == i + 1; }));  // both threads
    }
    for (int i = 0; i < 3; ++i) {
      waiting.emplace_back(std::make_unique<Talk>(server_->port()))->send(request("GET", "/t/look"));
      EXPECT_EQ(get("/health/live").status, 200);  // those that need no ledger go on
    }
    Talk one_too_many(server_->port());
    one_too_many.send(request("GET", "/t/look"));
    const auto got = one_too_many.answer();
    ASSERT_TRUE(got);
    EXPECT_EQ(got->status, 503);
    EXPECT_EQ(got->field("retry-after"), "1");
  }
  for (int i = 0; i < 5; ++i) EXPECT_EQ(waiting[static_cast<size_t>(i)]->answer().value_or(Got()).status, 200);
}

// As many as the process may have are open: the next connection waits, and nothing spins or ends.
class FewDescriptors {
 public:
  explicit FewDescriptors(int more) {
    ::getrlimit(RLIMIT_NOFILE, &before_);
    const int next = ::dup(0);
    ::close(next);
    rlimit few = before_;
    few.rlim_cur = static_cast<rlim_t>(next + more);
    ::setrlimit(RLIMIT_NOFILE, &few);
  }
  ~FewDescriptors() { ::setrlimit(RLIMIT_NOFILE, &before_); }

 private:
  rlimit before_{};
};

TEST_F(SlowClient, WaitsWhereTheProcessHasNoDescriptorForIt) {
  limits_.header = 5s;
  start();
  EXPECT_EQ(get("/t/look").status, 200);  // all threads have what they need
  ASSERT_TRUE(becomes([&] { return connected() == 0; }));
  std::optional<Talk> waits;
  {
    const FewDescriptors one(1);
    waits.emplace(server_->port());
    ASSERT_TRUE(waits->connected());
    waits->send(request("GET", "/t/look"));
    std::this_thread::sleep_for(1s);  // some tries
  }
  EXPECT_EQ(waits->answer().value_or(Got()).status, 200);
  const std::string log = last_log();
  EXPECT_NE(log.find("the API takes no connections"), std::string::npos);
  EXPECT_EQ(log.find("the API takes no connections"), log.rfind("the API takes no connections"));  // told once
}

TEST_F(SlowClient, IsNotWorseThanASlowDesk) {
  limits_.deed = 200ms;
  limits_.standing = 200ms;
  start();
  desk_.is_silent = true;
  EXPECT_EQ(ask("POST", "/t/deed").status, 503);
  EXPECT_EQ(get("/health/ready").status, 503);
  EXPECT_EQ(get("/t/stand").status, 503);
  for (const auto& late : desk_.take_waiting()) late({});
  EXPECT_EQ(get("/t/look").status, 200);
}

}  // namespace
}  // namespace girdle::api
