// Events to those who listen, and the end of everything.
#include <gmock/gmock.h>

#include <thread>

#include "api/fake_shop.h"

namespace girdle::api {
namespace {

using testing::HasSubstr;
using testing::Not;
using testing::StartsWith;
using namespace std::chrono_literals;

class ServerEvents : public ShopTest {
 protected:
  ServerEvents() {
    limits_.listeners = 5;
    limits_.connections = 4;
    limits_.frame = 20ms;
    limits_.heartbeat = 200ms;
    limits_.recheck = 50ms;
    limits_.write = 5s;
  }

  std::unique_ptr<Talk> listen(const std::string& fields = "") {
    auto talk = std::make_unique<Talk>(server_->port());
    talk->send(request("GET", "/api/v1/events", fields));
    head_ = talk->until("\r\n\r\n").value_or("");
    hello_ = talk->until("\n\n").value_or("");
    return talk;
  }
  void publish(ledger::Number number) {
    Happening happening;
    happening.decided.push_back({number, 2});
    happening.readings = 1;
    server_->publish(std::move(happening));
  }

  std::string head_, hello_;
};

TEST_F(ServerEvents, ReachEverybodyWhoListens) {
  start();
  std::vector<std::unique_ptr<Talk>> all;
  for (int i = 0; i < 5; ++i) all.push_back(listen());
  EXPECT_THAT(head_, StartsWith("HTTP/1.1 200 OK\r\n"));
  EXPECT_THAT(head_, HasSubstr("\r\nContent-Type: text/event-stream\r\n"));
  EXPECT_THAT(head_, HasSubstr("\r\nCache-Control: no-store\r\n"));
  EXPECT_THAT(hello_, HasSubstr("retry: 2000\n"));
  EXPECT_THAT(
      hello_,
      HasSubstr(
          "event: hello\ndata: {\"site\":\"quay-street\",\"now\":\"2023-11-14T22:13:20.000Z\",\"resumed\":false}"));
  EXPECT_TRUE(heard_);
  publish(7);
  for (const auto& talk : all) {
    EXPECT_THAT(
        talk->until("\n\n").value_or(""),
        HasSubstr(
            R"(event: changes)"
            "\n"
            R"(data: {"decided":[{"bench":"counter-1","instrument":"A-0117","case":{"id":"c-7","sequence":2}}],"more":0,"readings":1,)"));
  }
}

TEST_F(ServerEvents, LeaveOthersTheirPlaces) {
  start();
  std::vector<std::unique_ptr<Talk>> all;
  for (int i = 0; i < 5; ++i) all.push_back(listen());  // more than connections
  Talk one_more(server_->port());
  one_more.send(request("GET", "/api/v1/events"));
  EXPECT_EQ(one_more.answer().value_or(Got()).status, 503);
  EXPECT_EQ(get("/t/look").status, 200);
  all.clear();
  EXPECT_TRUE(becomes([&] { return connected() == 0; }));  // at once, and not with the next comment
  EXPECT_FALSE(heard_);
}

TEST_F(ServerEvents, SayNowAndThenThatTheyAreLive) {
  start();
  const auto talk = listen();
  EXPECT_EQ(talk->until(":\n\n", 5s), ":\n\n");
  EXPECT_EQ(talk->until(":\n\n", 5s), ":\n\n");
}

TEST_F(ServerEvents, EndForOneThatDoesNotKeepUp) {
  start();
  const auto quick = listen();
  Talk slow(server_->port());
  slow.take_little();
  slow.send(request("GET", "/api/v1/events"));
  ASSERT_TRUE(becomes([&] { return get("/metrics").body == "3 2"; }));
  std::atomic<bool> done{false};
  std::thread reader([&] {
    while (!done) quick->until("\n\n", 100ms);
  });
  const bool ended = becomes([&] {
    Happening many;
    for (int i = 0; i < 50; ++i) many.decided.push_back({1'000'000'000 + i, 1});
    server_->publish(std::move(many));
    return get("/metrics").body == "2 1";
  });
  done = true;
  reader.join();
  EXPECT_TRUE(ended);
  publish(7);
  EXPECT_TRUE(quick->until("\"c-7\"", 5s));
}

TEST_F(ServerEvents, TellWhetherAnythingWasMissed) {
  start();
  const auto stays = listen();
  publish(7);
  const std::string frame = stays->until("\nevent: changes").value_or("");
  const size_t at = frame.find("id: ") + 4;
  const std::string id = frame.substr(at, frame.find('\n', at) - at);
  const auto again = listen("Last-Event-ID: " + id + "\r\n");
  EXPECT_THAT(hello_, HasSubstr("\"resumed\":true"));
  const auto other = listen("Last-Event-ID: 1-1\r\n");
  EXPECT_THAT(hello_, HasSubstr("\"resumed\":false"));
}

TEST_F(ServerEvents, EndWithTheToken) {
  start();
  const auto by_token = listen(bearer(Role::kLook));
  const auto by_nothing = listen();
  set_tokens({});
  clock_.advance(1s);
  EXPECT_TRUE(by_token->closes(5s));
  EXPECT_TRUE(by_nothing->until(":\n\n", 5s));
}

TEST_F(ServerEvents, EndWithTheSession) {
  start();
  const Got in = ask("POST", "/api/v1/session", "Content-Type: application/json\r\n",
                     "{\"token\":\"" + token_of_role(Role::kLook) + "\"}");
  const std::string cookie = "Cookie: " + in.field("set-cookie").substr(0, in.field("set-cookie").find(';')) + "\r\n";
  const auto by_session = listen(cookie);
  EXPECT_TRUE(by_session->until(":\n\n", 5s));
  EXPECT_EQ(ask("DELETE", "/api/v1/session", cookie + "Girdle-Console: 1\r\nOrigin: http://" + host() + "\r\n").status,
            204);
  EXPECT_TRUE(by_session->closes(5s));
}

TEST_F(ServerEvents, AreNoneToAHead) {
  start();
  Talk talk(server_->port());
  talk.send(request("HEAD", "/api/v1/events"));
  EXPECT_EQ(talk.answer(true).value_or(Got()).status, 200);
  EXPECT_TRUE(talk.closes());
  EXPECT_FALSE(heard_);
}

TEST_F(ServerEvents, CostThePublisherNothingToSpeakOf) {
  start();
  const auto talk = listen();
  const auto begin = std::chrono::steady_clock::now();
  for (int i = 0; i < 2'000; ++i) publish(i);
  EXPECT_LT(std::chrono::steady_clock::now() - begin, 5s);
  EXPECT_TRUE(talk->until("\"c-1999\"", 5s));  // in few frames; the last has the newest
}

// With one of everything that may be under way.
TEST_F(ServerEvents, EndWithTheServerAndSoDoesEverythingElse) {
  limits_.connections = 64;
  limits_.header = limits_.idle = limits_.body = limits_.write = limits_.deed = 60s;
  start();
  std::vector<std::unique_ptr<Talk>> all;
  const auto begin_one = [&](const std::string& bytes) {
    all.emplace_back(std::make_unique<Talk>(server_->port()))->send(bytes);
  };
  for (int i = 0; i < 3; ++i) all.push_back(listen(bearer(Role::kLook)));
  begin_one("");
  begin_one("GET /");
  begin_one(request("POST", "/t/work", bearer(Role::kWork) + "Content-Length: 9\r\n"));
  begin_one(request("GET", "/t/big"));
  begin_one(request("POST", "/t/deed"));
  desk_.is_silent = true;
  begin_one(request("GET", "/health/ready"));
  begin_one(request("GET", "/t/look"));
  EXPECT_EQ(all.back()->answer().value_or(Got()).status, 200);
  std::unique_ptr<Gate> gate = std::make_unique<Gate>();
  begin_one(request("GET", "/t/wait"));
  ASSERT_TRUE(becomes([] { return waiting_at_gate() == 1; }));
  std::vector<std::function<void(DeedAnswer)>> late;
  ASSERT_TRUE(becomes([&] {
    if (late.empty()) late = desk_.take_waiting();
    return !late.empty();
  }));
  std::thread opener([&] {
    std::this_thread::sleep_for(300ms);  // what is being read is read to its end
    gate.reset();
  });
  const auto begin = std::chrono::steady_clock::now();
  stop();
  EXPECT_LT(std::chrono::steady_clock::now() - begin, 2s);
  opener.join();
  for (const auto& talk : all) EXPECT_TRUE(talk->closes(1s));
  EXPECT_FALSE(heard_);
  publish(7);
  late[0]({});
  server_.reset();
  late[0]({});  // nobody waits any more
}

TEST_F(ServerEvents, NeedNoServerThatWasStarted) {
  FakeDesk desk;
  const auto made = Server::create(at("127.0.0.1"), {desk, meters_, heard_, clock_, log_}, Offer(), Limits());
  ASSERT_TRUE(made);
  EXPECT_NE((*made)->port(), 0);
  (*made)->stop();
}

}  // namespace
}  // namespace girdle::api
