#include "config/values.h"

#include <gtest/gtest.h>

namespace girdle::config {
namespace {

TEST(Values, AWholeNumberIsDigitsAndNothingElse) {
  EXPECT_EQ(parse_whole("0"), 0);
  EXPECT_EQ(parse_whole("007"), 7);
  EXPECT_EQ(parse_whole("-3"), -3);
  for (const char* text : {"", "+1", " 1", "1 ", "1.0", "1e3", "0x10", "9223372036854775808"}) {
    EXPECT_FALSE(parse_whole(text)) << text;
  }
}

TEST(Values, ASizeIsBytesOrABinaryUnit) {
  EXPECT_EQ(parse_size("4096"), 4096u);
  EXPECT_EQ(parse_size("64KiB"), 65536u);
  EXPECT_EQ(parse_size("1MiB"), 1048576u);
  EXPECT_EQ(parse_size("2GiB"), 2147483648u);
  for (const char* text : {"", "KiB", "1KB", "1 KiB", "1kib", "-1", "1.5MiB", "1KiB ",
                           "18446744073709551615KiB", "18446744073709551616"}) {
    EXPECT_FALSE(parse_size(text)) << text;
  }
}

TEST(Values, AnAddressHasAHostAndAPort) {
  EXPECT_EQ(parse_host_port("till.example:443")->host, "till.example");
  EXPECT_EQ(parse_host_port("127.0.0.1:65535")->port, 65535);
  EXPECT_EQ(parse_host_port("[::1]:4001")->host, "::1");
  for (const char* text :
       {"", ":1", "host", "host:", "host:0", "host:65536", "host:99999", "host:80x", "host:+80",
        "host: 80", "ho st:80", "ho\rst:80", "::1:80", "[]:80", "user@host:80", "host:80/"}) {
    EXPECT_FALSE(parse_host_port(text)) << text;
  }
}

TEST(Values, BytesAreTwoHexadecimalDigitsEach) {
  EXPECT_EQ(parse_bytes("02"), std::string("\x02"));
  EXPECT_EQ(parse_bytes("0d0A"), std::string("\r\n"));
  EXPECT_EQ(parse_bytes("00ff"), std::string("\0\xFF", 2));
  EXPECT_EQ(parse_bytes("0102030405060708")->size(), 8u);
  for (const char* text : {"", "2", "021", "0x", "g0", "-1", "010203040506070809", "02 "}) {
    EXPECT_FALSE(parse_bytes(text)) << text;
  }
}

TEST(Values, ANameCanStandInAnAddress) {
  for (const char* text : {"quay-street", "a", "0117", "A_b.c-d"})
    EXPECT_TRUE(is_name(text)) << text;
  for (const char* text : {"", "-a", ".a", "a b", "a/b", "é", "a\n"}) {
    EXPECT_FALSE(is_name(text)) << text;
  }
  EXPECT_TRUE(is_name(std::string(64, 'a')));
  EXPECT_FALSE(is_name(std::string(65, 'a')));
}

TEST(Values, ALabelIsOneLine) {
  for (const char* text : {"A-0117", "Zähler 1", "#7"}) EXPECT_TRUE(is_label(text)) << text;
  for (const char* text : {"", " a", "a ", "a\nb", "a\tb", "a\x7F"}) {
    EXPECT_FALSE(is_label(text)) << text;
  }
  EXPECT_FALSE(is_label(std::string(201, 'a')));
}

}  // namespace
}  // namespace girdle::config
