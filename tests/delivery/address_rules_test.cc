#include "delivery/address_rules.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace girdle::delivery {
namespace {

using testing::HasSubstr;

boost::asio::ip::address address(const char* text) { return boost::asio::ip::make_address(text); }

AddressRules rules(std::initializer_list<const char*> allowed = {}) {
  std::vector<config::Text> texts;
  for (const char* text : allowed) texts.push_back({text, {}});
  return AddressRules::create(texts).value();
}

std::string_view kind(const char* text) { return refused_kind(address(text)); }

// RFC 6890 2.2 and RFC 4291 2.4 have the networks.
TEST(RefusedKind, NamesWhatNoReceiverHas) {
  EXPECT_EQ(kind("169.254.0.0"), "link-local");
  EXPECT_EQ(kind("169.254.255.255"), "link-local");
  EXPECT_EQ(kind("fe80::1"), "link-local");
  EXPECT_EQ(kind("febf:ffff::1"), "link-local");
  EXPECT_EQ(kind("fe80::1%1"), "link-local");
  EXPECT_EQ(kind("224.0.0.1"), "multicast");
  EXPECT_EQ(kind("239.255.255.255"), "multicast");
  EXPECT_EQ(kind("ff02::1"), "multicast");
  EXPECT_EQ(kind("0.0.0.0"), "unspecified");
  EXPECT_EQ(kind("0.1.2.3"), "unspecified");
  EXPECT_EQ(kind("::"), "unspecified");
  EXPECT_EQ(kind("255.255.255.255"), "broadcast");
}

TEST(RefusedKind, NamesMetadataServices) {
  for (const char* text :
       {"169.254.169.254", "fd00:ec2::254", "100.100.100.200", "168.63.129.16", "192.0.0.192"}) {
    EXPECT_EQ(kind(text), "a metadata service's") << text;
  }
}

// RFC 4291 2.5.5 and RFC 6052 2.1.
TEST(RefusedKind, LooksIntoAddressesThatHoldAddresses) {
  EXPECT_EQ(kind("::ffff:169.254.169.254"), "a metadata service's");
  EXPECT_EQ(kind("64:ff9b::169.254.169.254"), "a metadata service's");
  EXPECT_EQ(kind("::169.254.169.254"), "a metadata service's");
  EXPECT_EQ(kind("::ffff:224.0.0.1"), "multicast");
  EXPECT_EQ(kind("64:ff9b::a9fe:102"), "link-local");
  EXPECT_EQ(kind("::ffff:0.0.0.0"), "unspecified");
  EXPECT_EQ(kind("::ffff:255.255.255.255"), "broadcast");
}

TEST(RefusedKind, TakesReceiversAnywhereElse) {
  for (const char* text : {"127.0.0.1",
                           "::1",
                           "10.0.0.7",
                           "172.16.0.1",
                           "192.168.1.1",
                           "192.0.2.7",
                           "169.253.255.255",
                           "169.255.0.0",
                           "223.255.255.255",
                           "240.0.0.1",
                           "255.255.255.254",
                           "1.0.0.0",
                           "100.100.100.201",
                           "192.0.0.193",
                           "168.63.129.17",
                           "2001:db8::1",
                           "fd00:ec2::253",
                           "fec0::1",
                           "fe00::1",
                           "::ffff:192.0.2.7",
                           "64:ff9b::192.0.2.7",
                           "64:ff9b:1::a9fe:a9fe"}) {
    EXPECT_EQ(kind(text), "") << text;
  }
}

TEST(AddressRules, LeaveOutWhatIsRefused) {
  const auto admitted = rules().admit(
      "till.example", {address("169.254.169.254"), address("192.0.2.7"), address("ff02::1")});
  ASSERT_TRUE(admitted.ok());
  EXPECT_THAT(*admitted, testing::ElementsAre(address("192.0.2.7")));
}

TEST(AddressRules, SayWhatIsRefusedWhereNothingRemains) {
  const auto admitted = rules().admit("till.example", {address("169.254.169.254")});
  ASSERT_FALSE(admitted.ok());
  EXPECT_THAT(admitted.error().text,
              AllOf(HasSubstr("till.example leads to 169.254.169.254"),
                    HasSubstr("a metadata service's"), HasSubstr("`addresses`")));
}

TEST(AddressRules, TakeAnAddressThatSomebodyNamed) {
  const auto found = std::vector{address("169.254.10.2"), address("169.254.10.3")};
  EXPECT_THAT(*rules({"169.254.10.2"}).admit("till.example", found),
              testing::ElementsAre(address("169.254.10.2")));
  EXPECT_EQ(rules({"169.254.10.0/24"}).admit("till.example", found)->size(), 2u);
  EXPECT_EQ(rules({"169.254.10.2/31"}).admit("till.example", found)->size(), 2u);
  EXPECT_FALSE(rules({"169.254.11.0/24", "fe80::/10"}).admit("till.example", found).ok());
  EXPECT_TRUE(rules({"fe80::/10"}).admit("till.example", {address("fe80::7")}).ok());
  EXPECT_TRUE(rules({"169.254.10.2"}).admit("t.example", {address("::ffff:169.254.10.2")}).ok());
  EXPECT_TRUE(rules({"0.0.0.0/0"}).admit("till.example", found).ok());
}

TEST(AddressRules, TakeTheAddressThatTheUrlItselfIs) {
  EXPECT_TRUE(rules().admit("169.254.10.2", {address("169.254.10.2")}).ok());
  EXPECT_FALSE(rules().admit("169.254.10.2", {address("169.254.10.3")}).ok());
}

TEST(AddressRules, RefuseWhatIsNoAddress) {
  for (const char* text : {"", "till.example", "10.0.0.0/", "10.0.0.0/33", "10.0.0.0/-1",
                           "10.0.0.0/8x", "fe80::/129", "10.0.0/8", "/8"}) {
    EXPECT_FALSE(AddressRules::create({{text, {}}}).ok()) << text;
  }
}

}  // namespace
}  // namespace girdle::delivery
