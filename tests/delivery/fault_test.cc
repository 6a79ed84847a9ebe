// Whatever the other end does wrong, wherever it stands: the client ends in time, says what it was,
// and goes on.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <openssl/ssl.h>
#include <sys/stat.h>

#include <fstream>

#include "delivery/authorization.h"
#include "delivery/bad_peer.h"
#include "delivery/certificates.h"
#include "delivery/client_runner.h"
#include "delivery/faults.h"
#include "delivery/http_client.h"
#include "delivery/resolver.h"

namespace girdle::delivery {
namespace {

using std::chrono::milliseconds;
using testing::HasSubstr;
using Clock = std::chrono::steady_clock;

constexpr std::string_view kNoContent = "HTTP/1.1 204 No Content\r\n\r\n";
constexpr std::string_view kRequest =
    "POST /hook HTTP/1.1\r\nhost: till.example\r\ncontent-length: 2\r\n\r\n{}";
constexpr milliseconds kSoon{5000};

class FaultTest : public testing::TestWithParam<Fault> {
 protected:
  // The peer that does wrong, with the port that it had where nobody listens.
  void begin(const RightWay& right, SSL_CTX* tls = nullptr) {
    const Fault& fault = GetParam();
    peer_.emplace([&fault, right](BadPeer::Line& line) { fault.script(line, right); }, tls);
    port_ = peer_->port();
    if (!fault.script) peer_.reset();
  }

  std::string url(std::string_view scheme, std::string_view host = "till.example") const {
    return std::string(scheme) + "://" + std::string(host) + ":" + std::to_string(port_) + "/";
  }

  config::Webhook webhook(std::string url) const {
    config::Webhook webhook;
    webhook.url = std::move(url);
    webhook.insecure = true;
    webhook.timeout = GetParam().timeout;
    return webhook;
  }

  std::string post(const config::Webhook& webhook) {
    const auto target = HttpTarget::create(webhook).value();
    HttpConnection connection(io_.get_executor(), *target, resolver_);
    const auto answer = run(io_, connection.post(kRequest));
    return answer ? "answered " + std::to_string(answer->status) : answer.error().text;
  }

  void expect(const std::string& said, std::string_view told, std::string_view right) {
    EXPECT_THAT(said, HasSubstr(std::string(told == "right" ? right : told)));
    EXPECT_LT(Clock::now() - start_, kSoon);
    // 100 MB were sent for nobody.
    EXPECT_LT(peer_ ? peer_->written() : 0, 20u << 20);
  }

  boost::asio::io_context io_;
  Resolver resolver_{io_.get_executor(), {}, [](const std::string&) {
                       return Resolver::Addresses{boost::asio::ip::make_address("127.0.0.1")};
                     }};
  Clock::time_point start_ = Clock::now();
  std::optional<BadPeer> peer_;
  uint16_t port_ = 0;
};

class AtTheReceiver : public FaultTest {};

TEST_P(AtTheReceiver, IsToldInTime) {
  begin({std::string(kNoContent)});
  expect(post(webhook(url("http"))), GetParam().receiver, "answered 204");
}

TEST_P(AtTheReceiver, IsToldInTimeThroughTls) {
  const Certificates authority;
  const auto context = authority.server({.names = "DNS:till.example"});
  begin({std::string(kNoContent)}, context.get());
  auto with_tls = webhook(url("https"));
  with_tls.ca_file = authority.ca_file();
  expect(post(with_tls), GetParam().receiver, "answered 204");
}

class AtTheProxy : public FaultTest {};

TEST_P(AtTheProxy, IsToldInTime) {
  BadPeer till(BadPeer::answering(std::string(kNoContent)));
  const uint16_t there = till.port();
  begin({"HTTP/1.1 200 OK\r\n\r\n", [there](BadPeer::Line& line) { line.relay(there); }});
  auto proxied = webhook(till.url("http", "till.example"));
  proxied.proxy.emplace();
  proxied.proxy->url = url("http", "proxy.example");
  const std::string said = post(proxied);
  expect(said, GetParam().proxy, "answered 204");
  EXPECT_TRUE(said == "answered 204" || said.find("proxy.example") != std::string::npos) << said;
}

class AtTheTokenEndpoint : public FaultTest {};

TEST_P(AtTheTokenEndpoint, IsToldInTime) {
  constexpr std::string_view kToken = R"({"access_token":"t0ken","token_type":"Bearer"})";
  begin({"HTTP/1.1 200 OK\r\nContent-Length: " + std::to_string(kToken.size()) + "\r\n\r\n" +
         std::string(kToken)});
  const std::filesystem::path secret =
      testing::TempDir() + "girdle_fault_secret_" + std::to_string(::getpid());
  std::ofstream(secret) << "gX1fBat3bV\n";
  ::chmod(secret.c_str(), 0600);
  auto with_token = webhook("https://till.example/");
  with_token.oauth.emplace();
  with_token.oauth->token_url = url("http", "auth.example");
  with_token.oauth->client_id = "s6BhdRkqt3";
  with_token.oauth->client_secret.path = secret;
  const base::SystemClock clock;
  const auto authorization =
      Authorization::create(with_token, io_.get_executor(), resolver_, clock).value();
  std::filesystem::remove(secret);
  const auto value = run(io_, authorization->value());
  const std::string said = value ? *value : value.error().text;
  expect(said, GetParam().token, "Bearer t0ken");
  EXPECT_TRUE(value.ok() || said.find("auth.example") != std::string::npos) << said;
}

const auto kName = [](const testing::TestParamInfo<Fault>& info) {
  return std::string(info.param.name);
};
INSTANTIATE_TEST_SUITE_P(Fault, AtTheReceiver, testing::ValuesIn(faults()), kName);
INSTANTIATE_TEST_SUITE_P(Fault, AtTheProxy, testing::ValuesIn(faults()), kName);
INSTANTIATE_TEST_SUITE_P(Fault, AtTheTokenEndpoint, testing::ValuesIn(faults()), kName);

}  // namespace
}  // namespace girdle::delivery
