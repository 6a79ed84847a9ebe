// The server through TLS.
#include <gmock/gmock.h>
#include <openssl/ssl.h>
#include <sys/stat.h>

#include <fstream>
#include <thread>

#include "api/certificate_files.h"
#include "api/fake_shop.h"
#include "api/tls_server.h"

namespace girdle::api {
namespace {

using testing::HasSubstr;
using testing::MatchesRegex;
using namespace std::chrono_literals;

class ServerTls : public ShopTest {
 protected:
  ServerTls() {
    limits_.handshake = limits_.header = limits_.body = limits_.write = 500ms;
    limits_.farewell = 300ms;
    ServerSettings settings = at("127.0.0.1");
    settings.certificate_file = files_.certificate();
    settings.key_file = files_.key();
    start(settings);
  }

  Got ask_tls(const std::string& bytes) {
    Talk talk(server_->port(), client_.get());
    EXPECT_TRUE(talk.connected());
    EXPECT_TRUE(talk.send(bytes));
    return talk.answer().value_or(Got());
  }
  int counted() { return std::stoi(ask_tls(request("GET", "/metrics", bearer(Role::kLook))).body) - 1; }

  CertificateFiles files_{"DNS:till.shop,DNS:*.quay.shop,IP:127.0.0.1"};
  std::shared_ptr<SSL_CTX> client_ = tls_client(files_);
};

TEST_F(ServerTls, Answers) {
  Talk talk(server_->port(), client_.get());
  EXPECT_EQ(talk.tls_version(), "TLSv1.3");
  for (int i = 0; i < 3; ++i) {
    talk.send(request("GET", "/t/look", bearer(Role::kLook)));
    const Got got = talk.answer().value_or(Got());
    EXPECT_EQ(got.body, "look of-look");
    EXPECT_THAT(got.field("strict-transport-security"), HasSubstr("max-age="));
  }
  talk.send(request("GET", "/t/big", bearer(Role::kLook) + "Connection: close\r\n"));
  EXPECT_EQ(talk.answer().value_or(Got()).body.size(), size_t{8} << 20);
  EXPECT_TRUE(talk.closes());
}

TEST_F(ServerTls, LetsNobodyInWithoutAToken) {
  EXPECT_EQ(ask_tls(request("GET", "/t/look")).status, 401);
  EXPECT_EQ(ask_tls(request("GET", "/metrics")).status, 401);
  EXPECT_EQ(ask_tls(request("GET", "/api/v1/session")).status, 401);
  EXPECT_EQ(ask_tls(request("GET", "/api/v1/events")).status, 401);
  EXPECT_EQ(ask_tls(request("GET", "/health/live")).status, 200);
  EXPECT_EQ(ask_tls(request("GET", "/")).status, 200);
}

TEST_F(ServerTls, TakesTheNamesOfTheCertificate) {
  for (const char* name : {"till.shop", "till.shop:8443", "a.quay.shop"}) {
    EXPECT_EQ(ask_tls("GET /t/nobody HTTP/1.1\r\nHost: " + std::string(name) + "\r\n\r\n").status, 200) << name;
  }
  EXPECT_EQ(ask_tls("GET /t/nobody HTTP/1.1\r\nHost: evil.example\r\n\r\n").status, 421);
}

TEST_F(ServerTls, SetsACookieThatStaysHere) {
  const std::string body = "{\"token\":\"" + token_of_role(Role::kWork) + "\"}";
  const Got got = ask_tls(request("POST", "/api/v1/session", "Content-Type: application/json\r\n", body));
  EXPECT_THAT(got.field("set-cookie"),
              MatchesRegex("__Host-girdle=[A-Za-z0-9_-]{43}; Path=/; HttpOnly; SameSite=Strict; Secure"));
  const std::string cookie = "Cookie: " + got.field("set-cookie").substr(0, got.field("set-cookie").find(';')) + "\r\n";
  const std::string console = "Girdle-Console: 1\r\nOrigin: ";
  EXPECT_EQ(ask_tls(request("POST", "/t/work", cookie + console + "https://" + host() + "\r\n")).status, 200);
  EXPECT_EQ(ask_tls(request("POST", "/t/work", cookie + console + "http://" + host() + "\r\n")).status, 403);
}

TEST_F(ServerTls, RefusesOldVersions) {
  EXPECT_TRUE(Talk(server_->port(), tls_client(files_, TLS1_2_VERSION).get()).connected());
  EXPECT_FALSE(Talk(server_->port(), tls_client(files_, TLS1_1_VERSION).get()).connected());  // RFC 8996
  EXPECT_FALSE(Talk(server_->port(), tls_client(files_, TLS1_VERSION).get()).connected());
}

TEST_F(ServerTls, SpeaksHttp11Only) {
  const auto both = tls_client(files_, 0, std::string("\x02h2\x08http/1.1"));
  EXPECT_EQ(Talk(server_->port(), both.get()).protocol(), "http/1.1");  // RFC 7301
  EXPECT_FALSE(Talk(server_->port(), tls_client(files_, 0, std::string("\x02h2")).get()).connected());
}

TEST_F(ServerTls, ClosesWhoDoesNotShakeHands) {
  Talk plain(server_->port()), silent(server_->port()), half(server_->port());
  plain.send("GET / HTTP/1.1\r\nHost: x\r\n\r\n");
  half.send(std::string("\x16\x03\x01\x02\x00\x01", 6));
  EXPECT_TRUE(plain.closes());
  EXPECT_TRUE(silent.closes());
  EXPECT_TRUE(half.closes());
}

TEST_F(ServerTls, IsNotHeldUpBySlowClients) {
  Talk header(server_->port(), client_.get()), body(server_->port(), client_.get()),
      reader(server_->port(), client_.get());
  header.send("GET / HT");
  body.send(request("POST", "/t/work", bearer(Role::kWork) + "Content-Length: 9\r\n"));
  reader.send(request("GET", "/t/big", bearer(Role::kLook)));
  EXPECT_EQ(ask_tls(request("GET", "/t/look", bearer(Role::kLook))).status, 200);
  EXPECT_EQ(header.answer().value_or(Got()).status, 408);  // a read that was broken off does not spoil the stream
  EXPECT_EQ(body.answer().value_or(Got()).status, 408);
  EXPECT_TRUE(becomes([&] { return counted() == 0; }));
}

TEST_F(ServerTls, BoundsItsGoodbye) {
  Talk talk(server_->port(), client_.get());
  talk.send(request("GET", "/none", "Connection: close\r\n"));
  EXPECT_EQ(talk.until("\r\n\r\n").has_value(), true);
  // This client says nothing any more, and is not waited for.
  EXPECT_TRUE(becomes([&] { return counted() == 0; }));
}

TEST_F(ServerTls, GivesItsAnswerToAClientThatGoesOnSending) {
  Talk talk(server_->port(), client_.get());
  talk.send(request("POST", "/t/work", bearer(Role::kWork) + "Content-Length: 500000\r\n"));
  talk.send(std::string(300'000, 'x'));
  EXPECT_EQ(talk.answer().value_or(Got()).status, 413);
}

class TlsFiles : public testing::Test {
 protected:
  static std::string why(const std::filesystem::path& certificate, const std::filesystem::path& key) {
    const auto made = TlsServer::create(certificate, key);
    return made ? "" : made.error().text;
  }
  CertificateFiles one_{"DNS:Till.Shop,DNS:*.quay.shop,IP:10.0.0.1,IP:fd00::1,email:a@b.example"}, other_{"DNS:b"};
};

TEST_F(TlsFiles, GiveTheNames) {
  const auto made = TlsServer::create(one_.certificate(), one_.key());
  ASSERT_TRUE(made);
  EXPECT_THAT((*made)->names(), testing::ElementsAre("till.shop", "*.quay.shop", "10.0.0.1", "[fd00::1]"));
}

TEST_F(TlsFiles, AreToldWhereTheyAreWrong) {
  EXPECT_EQ(why(one_.certificate(), other_.key()),
            other_.key().string() + ": is the key of another certificate than " + one_.certificate().string());
  EXPECT_THAT(why(one_.key(), one_.key()), HasSubstr("holds no certificate in PEM form"));
  EXPECT_THAT(why(one_.certificate(), one_.certificate()), HasSubstr(one_.certificate().string() + ": "));
  EXPECT_THAT(why(one_.certificate(), "/none.key"), HasSubstr("/none.key"));
  ASSERT_EQ(::chmod(one_.key().c_str(), 0644), 0);
  EXPECT_THAT(why(one_.certificate(), one_.key()), HasSubstr(one_.key().string()));  // others may read it
}

}  // namespace
}  // namespace girdle::api
