#include "api/host_names.h"

#include <gtest/gtest.h>

namespace girdle::api {
namespace {

boost::asio::ip::address address(const char* text) { return boost::asio::ip::make_address(text); }

TEST(HostNames, TakesAuthoritiesApart) {
  // RFC 3986 3.2.2, 3.2.3.
  EXPECT_EQ(parse_authority("Shop.example:8443")->name, "shop.example");
  EXPECT_EQ(parse_authority("shop.example.")->name, "shop.example");
  EXPECT_EQ(parse_authority("shop:8443")->port, 8443);
  EXPECT_EQ(parse_authority("127.0.0.1")->address, address("127.0.0.1"));
  EXPECT_EQ(parse_authority("[::1]:80")->address, address("::1"));
  EXPECT_EQ(parse_authority("[::ffff:127.0.0.1]")->address, address("127.0.0.1"));
  for (const char* wrong : {"", ":80", "a:", "a:x", "a:99999", "a:123456", "[::1", "[::1]x", "a b", "a@b", "user@a",
                            "a/b", "::1", "a:80:80", ".", "[fe80::1%25eth0]", "a,b"}) {
    EXPECT_FALSE(parse_authority(wrong)) << wrong;
  }
}

TEST(HostNames, OfALoopbackAddressAreItselfAndLocalhost) {
  const HostNames names({.tls = false, .port = 8080, .hosts = {}, .certificate = {}});
  for (const char* own : {"127.0.0.1:8080", "[::1]:8080", "localhost:8080", "LOCALHOST:8080", "localhost.:8080"}) {
    EXPECT_TRUE(names.have(own, address("127.0.0.1"))) << own;
  }
  for (const char* other : {"localhost", "localhost:8081", "127.0.0.1", "127.0.0.1:80", "evil.example:8080",
                            "evil.example", "localhost.evil.example:8080", "127.0.0.1.evil.example:8080",
                            "2130706433:8080", "127.1:8080", "0x7f.0.0.1:8080", "192.168.1.5:8080", ""}) {
    EXPECT_FALSE(names.have(other, address("127.0.0.1"))) << other;
  }
}

TEST(HostNames, OfAnotherAddressAreItselfOnly) {
  const HostNames names({.tls = true, .port = 443, .hosts = {}, .certificate = {}});
  EXPECT_TRUE(names.have("192.168.1.5", address("192.168.1.5")));  // 443 is the default (RFC 9110 4.2.2)
  EXPECT_TRUE(names.have("192.168.1.5:443", address("192.168.1.5")));
  EXPECT_TRUE(names.have("192.168.1.5", address("::ffff:192.168.1.5")));
  EXPECT_FALSE(names.have("192.168.1.6", address("192.168.1.5")));
  EXPECT_FALSE(names.have("localhost", address("192.168.1.5")));
  EXPECT_FALSE(names.have("127.0.0.1", address("192.168.1.5")));
}

TEST(HostNames, AreThoseThatAreConfigured) {
  const HostNames names({.tls = false, .port = 8080, .hosts = {"till.shop", "back.shop:81"}, .certificate = {}});
  EXPECT_TRUE(names.have("till.shop", address("127.0.0.1")));
  EXPECT_TRUE(names.have("Till.Shop:9999", address("127.0.0.1")));  // a port may be mapped on the way
  EXPECT_TRUE(names.have("back.shop:81", address("127.0.0.1")));
  EXPECT_FALSE(names.have("back.shop", address("127.0.0.1")));
  EXPECT_FALSE(names.have("x.till.shop", address("127.0.0.1")));
}

TEST(HostNames, AreThoseThatTheCertificateVouchesFor) {
  const HostNames names(
      {.tls = true, .port = 8443, .hosts = {}, .certificate = {"till.shop", "*.quay.shop", "10.0.0.1", "[fd00::1]"}});
  const auto local = address("172.17.0.2");
  for (const char* own : {"till.shop", "till.shop:8443", "a.quay.shop", "10.0.0.1:8443", "[fd00::1]"}) {
    EXPECT_TRUE(names.have(own, local)) << own;
  }
  // RFC 6125 6.4.3: a star is one label.
  for (const char* other : {"quay.shop", "a.b.quay.shop", "xquay.shop", ".quay.shop", "10.0.0.2"}) {
    EXPECT_FALSE(names.have(other, local)) << other;
  }
}

}  // namespace
}  // namespace girdle::api
