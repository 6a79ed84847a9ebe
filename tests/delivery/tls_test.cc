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

class ClientCertificate : public testing::Test {
 protected:
  ClientCertificate()
      : peer_(BadPeer::answering("HTTP/1.1 204 No Content\r\n\r\n"), context_.get()) {
    webhook_.url = peer_.url("https", "till.example");
    webhook_.ca_file = authority_.ca_file();
  }

  std::string post() {
    auto target = HttpTarget::create(webhook_);
    if (!target) return target.error().text;
    HttpConnection connection(io_.get_executor(), **target, resolver_);
    const auto answer = run(io_, connection.post(kRequest));
    return answer ? std::to_string(answer->status) : answer.error().text;
  }

  void show(const Certificates::Client& client) {
    webhook_.certificate.emplace();
    webhook_.certificate->certificate_file = client.certificate_file;
    webhook_.certificate->key.path = client.key_file;
  }

  Certificates authority_;
  std::shared_ptr<SSL_CTX> context_ =
      authority_.server({.names = "DNS:till.example", .wants_client = true});
  BadPeer peer_;
  boost::asio::io_context io_;
  Resolver resolver_{io_.get_executor(), {}, [](const std::string&) {
                       return Resolver::Addresses{boost::asio::ip::make_address("127.0.0.1")};
                     }};
  config::Webhook webhook_;
};

TEST_F(ClientCertificate, IsShownToAReceiverThatWantsIt) {
  show(authority_.client("girdled"));
  EXPECT_EQ(post(), "204");
}

TEST_F(ClientCertificate, IsMissedByAReceiverThatWantsIt) {
  EXPECT_THAT(post(), HasSubstr("certificate required"));
  EXPECT_TRUE(peer_.requests().empty());
}

TEST_F(ClientCertificate, OfAnotherAuthorityIsRefused) {
  const Certificates other;
  show(other.client("girdled"));
  EXPECT_NE(post(), "204");
  EXPECT_TRUE(peer_.requests().empty());
}

TEST_F(ClientCertificate, ErrorsNameTheFile) {
  const auto one = authority_.client("one"), two = authority_.client("two");
  show({one.certificate_file, two.key_file});
  EXPECT_THAT(post(), AllOf(HasSubstr(two.key_file.string()), HasSubstr("another certificate")));
  show({one.certificate_file, one.certificate_file});
  EXPECT_THAT(post(), AllOf(HasSubstr(one.certificate_file.string()), HasSubstr("chmod 600")));
  show({one.key_file, one.key_file});
  EXPECT_THAT(post(), AllOf(HasSubstr(one.key_file.string()), HasSubstr("holds no certificate")));
  show({"/nowhere/c.pem", one.key_file});
  EXPECT_THAT(post(), HasSubstr("/nowhere/c.pem"));
  show({one.certificate_file, "/nowhere/c.key"});
  EXPECT_THAT(post(), HasSubstr("/nowhere/c.key"));
  std::filesystem::permissions(one.certificate_file, std::filesystem::perms::owner_read);
  show({one.certificate_file, one.certificate_file});
  EXPECT_THAT(post(), HasSubstr("holds no private key"));
}

// The peer closes after each answer, so that each request shakes hands.
class Resumption : public ClientCertificate {
 protected:
  // How many of five connections resumed a session.
  int resumed_with(int max_version) {
    const auto context =
        authority_.server({.names = "DNS:till.example", .max_version = max_version});
    BadPeer peer(BadPeer::answering("HTTP/1.1 204 No Content\r\nConnection: close\r\n\r\n"),
                 context.get());
    webhook_.url = peer.url("https", "till.example");
    const auto target = HttpTarget::create(webhook_).value();
    HttpConnection connection(io_.get_executor(), *target, resolver_);
    for (int i = 0; i < 5; ++i) {
      const auto answer = run(io_, connection.post(kRequest));
      EXPECT_TRUE(answer.ok() && answer->status == 204);
    }
    EXPECT_EQ(peer.connections(), 5);
    EXPECT_EQ(peer.requests().size(), 5u);
    return peer.resumed();
  }
};

TEST_F(Resumption, SparesMostHandshakes) {
  EXPECT_EQ(resumed_with(TLS1_3_VERSION), 4);
  EXPECT_EQ(resumed_with(TLS1_2_VERSION), 4);
}

}  // namespace
}  // namespace girdle::delivery
