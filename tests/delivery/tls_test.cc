#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <openssl/ssl.h>

#include "delivery/bad_peer.h"
#include "delivery/certificates.h"
#include "delivery/client_runner.h"
#include "delivery/http_client.h"
#include "delivery/resolver.h"

namespace girdle::delivery {
namespace {

using testing::HasSubstr;

constexpr std::string_view kRequest =
    "POST /hook HTTP/1.1\r\nhost: till.example\r\ncontent-length: 2\r\n\r\n{}";

class Tls : public testing::Test {
 protected:
  // Posts to a server that calls itself so; gives the answer's status, or why there is none.
  std::string post(const Certificates::Server& server, std::string_view host = "till.example",
                   std::filesystem::path ca_file = {}) {
    const auto context = authority_.server(server);
    BadPeer peer(BadPeer::answering("HTTP/1.1 204 No Content\r\n\r\n"), context.get());
    connect(peer, host, ca_file.empty() ? authority_.ca_file() : ca_file);
    const std::string first = once();
    if (first == "204") {
      EXPECT_EQ(once(), "204");
      EXPECT_EQ(peer.connections(), 1);  // kept, as without TLS
    } else {
      EXPECT_TRUE(peer.requests().empty());
    }
    server_name_ = peer.server_name();
    connection_.reset();
    io_.restart();
    io_.run();
    return first;
  }

  void connect(const BadPeer& peer, std::string_view host, const std::filesystem::path& ca_file) {
    config::Webhook webhook;
    webhook.url = peer.url("https", host);
    webhook.ca_file = ca_file;
    webhook.timeout = std::chrono::seconds(5);
    target_ = HttpTarget::create(webhook).value();
    connection_.emplace(io_.get_executor(), *target_, resolver_);
  }

  std::string once() {
    const auto answer = run(io_, connection_->post(kRequest));
    return answer ? std::to_string(answer->status) : answer.error().text;
  }

  Certificates authority_;
  boost::asio::io_context io_;
  Resolver resolver_{io_.get_executor(), {}, [](const std::string&) {
                       return Resolver::Addresses{boost::asio::ip::make_address("127.0.0.1")};
                     }};
  std::unique_ptr<HttpTarget> target_;
  std::optional<HttpConnection> connection_;
  std::string server_name_;
};

TEST_F(Tls, TakesAReceiverWhoseCertificateIsRight) {
  EXPECT_EQ(post({.names = "DNS:till.example"}), "204");
  EXPECT_EQ(server_name_, "till.example");
}

TEST_F(Tls, TakesAnAddressThatTheCertificateNames) {
  EXPECT_EQ(post({.names = "IP:127.0.0.1"}, "127.0.0.1"), "204");
  EXPECT_EQ(server_name_, "");  // RFC 6066 section 3: no addresses
}

TEST_F(Tls, RefusesAnotherName) {
  EXPECT_THAT(post({.names = "DNS:other.example"}),
              HasSubstr("certificate is refused: hostname mismatch"));
  EXPECT_THAT(post({.names = "DNS:*.till.example"}), HasSubstr("hostname mismatch"));
  EXPECT_THAT(post({.names = "DNS:127.0.0.1"}, "127.0.0.1"), HasSubstr("IP address mismatch"));
}

TEST_F(Tls, RefusesACertificateOutOfItsTime) {
  EXPECT_THAT(post({.names = "DNS:till.example", .days_from = -3, .days_to = -1}),
              HasSubstr("has expired"));
  EXPECT_THAT(post({.names = "DNS:till.example", .days_from = 1, .days_to = 3}),
              HasSubstr("not yet valid"));
}

TEST_F(Tls, RefusesAnAuthorityThatItDoesNotKnow) {
  const Certificates other;
  EXPECT_THAT(post({.names = "DNS:till.example"}, "till.example", other.ca_file()),
              HasSubstr("certificate is refused: unable to get local issuer certificate"));
}

TEST_F(Tls, RefusesOldVersions) {
  EXPECT_EQ(post({.names = "DNS:till.example", .max_version = TLS1_2_VERSION}), "204");
  EXPECT_THAT(post({.names = "DNS:till.example", .max_version = TLS1_1_VERSION}), HasSubstr("TLS"));
}

TEST_F(Tls, GivesUpOnAPeerThatDoesNotShakeHands) {
  BadPeer peer([](BadPeer::Line& line) { line.wait_for_close(); });
  config::Webhook webhook;
  webhook.url = peer.url("https");
  webhook.timeout = std::chrono::milliseconds(150);
  target_ = HttpTarget::create(webhook).value();
  connection_.emplace(io_.get_executor(), *target_, resolver_);
  EXPECT_THAT(once(), HasSubstr("TLS: it took too long"));
}

}  // namespace
}  // namespace girdle::delivery
