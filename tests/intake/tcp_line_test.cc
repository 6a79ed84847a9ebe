#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <boost/asio/detached.hpp>

#include "intake/intake.h"
#include "intake/name_lookup.h"
#include "loop.h"
#include "peer.h"

namespace girdle::intake {
namespace {

using namespace std::chrono_literals;
using testing::ElementsAre;
using testing::HasSubstr;

// What a lookup gave: how many addresses, or the error's text.
boost::asio::awaitable<void> look_up(NameLookup& lookup, std::chrono::milliseconds deadline,
                                     std::string& out) {
  const auto found = co_await lookup.find(deadline);
  out = found.ok() ? std::to_string(found->size()) : found.error().text;
}

class TcpLineTest : public testing::Test {
 protected:
  TcpLineTest() {
    settings.name = "counter-3-line";
    tcp.host = "127.0.0.1";
    tcp.port = peer.port();
  }
  ~TcpLineTest() override { loop.stop(); }

  void make() {
    settings.source = tcp;
    auto made = make_intake(settings, loop.sink, loop.clock, loop.log, loop.context.get_executor());
    ASSERT_TRUE(made.ok()) << made.error().text;
    intake = std::move(made).value();
  }
  void start() {
    make();
    loop.start(*intake);
    ASSERT_TRUE(loop.until([&] { return peer.accept(); }));
  }
  bool comes(const std::vector<std::string>& frames) {
    return loop.until([&] {
      std::vector<std::string> taken;
      for (const auto& one : loop.sink.taken) taken.push_back(one.bytes);
      return taken == frames;
    });
  }

  Peer peer;
  Loop loop;
  config::Intake settings;
  config::TcpIntake tcp;
  std::unique_ptr<Intake> intake;
};

TEST_F(TcpLineTest, MakesADocumentOfEachFrame) {
  start();
  peer.send("R1042;natural\r\nR10");
  peer.send("43;natural\r\n");
  ASSERT_TRUE(comes({"R1042;natural", "R1043;natural"}));
  EXPECT_EQ(loop.sink.taken[0].document.name, "127.0.0.1:" + std::to_string(peer.port()));
}

TEST_F(TcpLineTest, ConnectsByName) {
  tcp.host = "localhost";
  start();
  peer.send("one\n");
  EXPECT_TRUE(comes({"one"}));
}

TEST_F(TcpLineTest, ConnectsAgainAndSetsThePartialFrameAside) {
  start();
  peer.send("one\nhal");
  ASSERT_TRUE(comes({"one"}));
  peer.hang_up();
  ASSERT_TRUE(loop.until([&] { return loop.sink.refused.size() == 1; }));
  EXPECT_EQ(loop.sink.refused[0].aside.bytes, "hal");
  ASSERT_TRUE(loop.until([&] { return peer.accept(); }));
  peer.send("two\n");
  ASSERT_TRUE(comes({"one", "two"}));
  peer.hang_up();  // between two frames: nothing to set aside
  ASSERT_TRUE(loop.until([&] { return peer.accept(); }));
  EXPECT_EQ(loop.sink.refused.size(), 1u);
  EXPECT_GE(intake->status().connects, 2u);
}

TEST_F(TcpLineTest, WaitsForAPeerThatIsNotThereYet) {
  const uint16_t port = peer.port();
  peer.stop_listening();
  make();
  loop.start(*intake);
  ASSERT_TRUE(loop.until([&] { return !intake->status().trouble.empty(); }));
  EXPECT_THAT(intake->status().trouble, HasSubstr("127.0.0.1:" + std::to_string(port)));
  peer.listen(port);
  ASSERT_TRUE(loop.until([&] { return peer.accept(); }));
  peer.send("one\n");
  EXPECT_TRUE(comes({"one"}));
  EXPECT_EQ(intake->status().trouble, "");
}

TEST_F(TcpLineTest, APeerThatClosesAtOnceIsNotMetInALoop) {
  make();
  loop.start(*intake);
  size_t accepted = 0;
  const auto end = std::chrono::steady_clock::now() + 600ms;
  loop.until([&] {
    if (peer.accept()) ++accepted;
    peer.hang_up();
    return std::chrono::steady_clock::now() > end;
  });
  EXPECT_GE(accepted, 1u);
  EXPECT_LE(accepted, 5u);  // pauses of at least 125, 250, 500 ms
}

TEST_F(TcpLineTest, StopsAtOnceWhileItIsConnected) {
  auto best = std::chrono::steady_clock::duration::max();
  for (int i = 0; i < 5; ++i) {
    start();
    const auto began = std::chrono::steady_clock::now();
    loop.stop();
    best = std::min(best, std::chrono::steady_clock::now() - began);
    peer.hang_up();
  }
  EXPECT_LT(best, 100ms);
}

// RFC 2606: no name below .invalid exists. Where a resolver takes long to say so, the lookup's
// deadline ends the wait.
TEST_F(TcpLineTest, ANameWithoutAnAddressIsTroubleAndNoMore) {
  tcp.host = "no-such-instrument.invalid";
  make();
  loop.start(*intake);
  ASSERT_TRUE(loop.until([&] { return !intake->status().trouble.empty(); }));
  EXPECT_THAT(intake->status().trouble, HasSubstr("no-such-instrument.invalid"));
  const auto began = std::chrono::steady_clock::now();
  loop.stop();
  EXPECT_LT(std::chrono::steady_clock::now() - began, 5s);
}

TEST_F(TcpLineTest, ALookupEndsAtItsDeadline) {
  NameLookup lookup(loop.context.get_executor(), "no-such-instrument.invalid", 1);
  std::string text;
  boost::asio::co_spawn(loop.context, look_up(lookup, 0ms, text), boost::asio::detached);
  ASSERT_TRUE(loop.until([&] { return !text.empty(); }));
  EXPECT_THAT(text, testing::AnyOf(HasSubstr("no answer"), HasSubstr("no address")));
}

TEST_F(TcpLineTest, NumericAddressesAreNotLookedUp) {
  for (const char* host : {"127.0.0.1", "::1"}) {
    NameLookup lookup(loop.context.get_executor(), host, 9100);
    std::string text;
    boost::asio::co_spawn(loop.context, look_up(lookup, 0ms, text), boost::asio::detached);
    loop.context.restart();
    loop.context.poll();
    EXPECT_EQ(text, "1") << host;
  }
}

}  // namespace
}  // namespace girdle::intake
