// A server with a desk and routes of the test's own: no ledger, and every role.
#pragma once

#include <gtest/gtest.h>

#include <atomic>
#include <functional>
#include <memory>
#include <mutex>
#include <string>
#include <vector>

#include "api/limits.h"
#include "api/offer.h"
#include "api/server.h"
#include "api/talk.h"

namespace girdle::api {

class FakeTeller final : public Teller {
 public:
  ledger::Ledger& ledger() override { std::abort(); }  // nothing of the server's asks it
  base::Result<model::Outcome> outcome(ledger::Number, int64_t) override { return base::input_error("none"); }
  base::Result<std::optional<std::string>> story(ledger::Number) override { return std::optional<std::string>(); }
  base::Result<std::optional<std::string>> story_of(const std::string&) override {
    return std::optional<std::string>();
  }
};

class FakeDesk final : public Desk {
 public:
  std::shared_ptr<const House> house() const override { return house_; }
  base::Result<std::unique_ptr<Teller>> teller() override;
  void standing(std::function<void(Standing)> done) override;
  void act(Deed deed, std::function<void(DeedAnswer)> done) override;

  std::atomic<int> tellers{0};
  std::atomic<bool> has_ledger{true};
  std::atomic<bool> is_silent{false};  // does not say how it stands
  // What act() was asked, and has not been answered yet.
  std::vector<std::function<void(DeedAnswer)>> take_waiting();

 private:
  static std::shared_ptr<const House> make_house();
  std::shared_ptr<const House> house_ = make_house();
  std::mutex mutex_;
  std::vector<std::function<void(DeedAnswer)>> waiting_;
};

// Routes for tests. `/t/ROLE` for every role: a GET that tells who asked, and a POST that gives the body back. `/t/big`
// is 8 MiB, `/t/wait` waits at the gate, `/t/throw` throws, `/t/split` has a field that would begin another, `/t/deed`
// asks the desk, `/t/stand` tells how it stands; and those that the server answers itself.
std::span<const Route> test_routes();

// Holds the routes that wait, while it is there.
class Gate {
 public:
  Gate();
  ~Gate();
};
// Of `/t/wait` that a thread has begun.
int waiting_at_gate();

std::string token_of_role(Role role);

class ShopTest : public testing::Test {
 protected:
  ShopTest();
  ~ShopTest() override;

  // With limits_ as they are now.
  void start() { start(at("127.0.0.1")); }
  void start(const ServerSettings& settings);
  static ServerSettings at(std::string host);
  void stop();
  // Stops the server first: nobody writes any more.
  std::string last_log();

  void set_tokens(std::vector<KnownToken> tokens);
  std::string host() const { return "localhost:" + std::to_string(server_->port()); }
  // "GET /a HTTP/1.1", Host, the fields ("A: b\r\n…"), the body with its length.
  std::string request(std::string_view method, std::string_view target, std::string_view fields = "",
                      std::string_view body = "") const;
  // On a connection of its own.
  Got ask(std::string_view method, std::string_view target, std::string_view fields = "",
          std::string_view body = "") const;
  Got get(std::string_view target, std::string_view fields = "") const { return ask("GET", target, fields); }
  static std::string bearer(Role role) { return "Authorization: Bearer " + token_of_role(role) + "\r\n"; }
  // How many are connected, by the server's own count, but for the one that asks.
  int connected() const;
  bool becomes(const std::function<bool()>& what) const;

  FakeDesk desk_;
  Meters meters_;
  std::atomic<bool> heard_{false};
  base::ManualClock clock_{base::from_millis(1'700'000'000'000)};
  base::Log log_ = base::Log::to_memory();
  Limits limits_;
  std::unique_ptr<Server> server_;

 private:
  std::mutex mutex_;
  std::vector<KnownToken> tokens_;
};

std::vector<KnownToken> one_of_each_role();

}  // namespace girdle::api
