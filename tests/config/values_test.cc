#include "config/values.h"

#include <gtest/gtest.h>
#include <simdjson.h>

#include "base/json.h"
#include "base/time.h"

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

// Tags from RFC 5646, 2.1.1 and appendix A.
TEST(Values, ATagOfALanguageGetsTheUsualCase) {
  EXPECT_EQ(language_tag("en"), "en");
  EXPECT_EQ(language_tag("DE-at"), "de-AT");
  EXPECT_EQ(language_tag("mn-cYRL-mn"), "mn-Cyrl-MN");
  EXPECT_EQ(language_tag("es-419"), "es-419");
  EXPECT_EQ(language_tag("sl-ROZAJ-biske"), "sl-rozaj-biske");
  EXPECT_EQ(language_tag("en-ca-X-CA"), "en-CA-x-ca");
  EXPECT_EQ(language_tag("de-CH-1901"), "de-CH-1901");
}

TEST(Values, ATagOfALanguageIsLettersDigitsAndHyphens) {
  EXPECT_TRUE(language_tag("en-" + std::string(8, 'a')));
  EXPECT_TRUE(language_tag("en-aaaaaaaa-bbbbbbbb-cccccccc-ddddd"));    // 35 characters
  EXPECT_FALSE(language_tag("en-aaaaaaaa-bbbbbbbb-cccccccc-dddddd"));  // 36: RFC 5646, 4.4.1
  for (const char* text : {"", "e", "de_AT", "en-", "-en", "en--GB", "e1", "en GB", "Deutsch (AT)",
                           "abcdefghi", "en-abcdefghi", "dé"}) {
    EXPECT_FALSE(language_tag(text)) << text;
  }
}

std::string moment(const char* text, const char* zone) {
  const auto instant = parse_moment(text, base::Zone::find(zone).value());
  return instant ? base::format_rfc3339(*instant) : "none";
}

TEST(Values, ADateBeginsWithItsDayInTheZone) {
  EXPECT_EQ(moment("2026-11-02", "UTC"), "2026-11-02T00:00:00.000Z");
  EXPECT_EQ(moment("2026-11-02", "Europe/Brussels"), "2026-11-01T23:00:00.000Z");
  EXPECT_EQ(moment("2026-07-01", "Europe/Brussels"), "2026-06-30T22:00:00.000Z");
  EXPECT_EQ(moment("2026-12-01", "America/New_York"), "2026-12-01T05:00:00.000Z");
}

// Source: the IANA time zone database (rules of Brazil and Cuba, and the zone of Apia), as Python's
// zoneinfo reads it: the first minute whose local date is that day, or is past it.
TEST(Values, ADayBeginsAlsoWhereItsMidnightIsMissingOrComesTwice) {
  EXPECT_EQ(moment("2018-11-04", "America/Sao_Paulo"), "2018-11-04T03:00:00.000Z");
  EXPECT_EQ(moment("2018-11-04", "America/Havana"), "2018-11-04T04:00:00.000Z");
  EXPECT_EQ(moment("1919-03-31", "America/Toronto"), "1919-03-31T04:30:00.000Z");
  EXPECT_EQ(moment("2011-12-30", "Pacific/Apia"), "2011-12-30T10:00:00.000Z");
  EXPECT_EQ(moment("2011-12-31", "Pacific/Apia"), "2011-12-30T10:00:00.000Z");
}

TEST(Values, ATimeHasItsOwnOffset) {
  EXPECT_EQ(moment("2026-11-02T09:00:00+01:00", "America/New_York"), "2026-11-02T08:00:00.000Z");
  EXPECT_EQ(moment("2026-11-02T09:00:00Z", "Europe/Brussels"), "2026-11-02T09:00:00.000Z");
  for (const char* text :
       {"", "2026-02-30", "2026-13-01", "2026-1-2", "02.11.2026", "2026-11-02T09:00:00",
        "2026-11-02T09:00+01:00", "20261102", "0000-01-01", "tomorrow"}) {
    EXPECT_EQ(moment(text, "Europe/Brussels"), "none") << text;
  }
}

TEST(Values, ALabelIsOneLine) {
  for (const char* text : {"A-0117", "Zähler 1", "#7"}) EXPECT_TRUE(is_label(text)) << text;
  for (const char* text : {"", " a", "a ", "a\nb", "a\tb", "a\x7F"}) {
    EXPECT_FALSE(is_label(text)) << text;
  }
  EXPECT_FALSE(is_label(std::string(201, 'a')));
}

TEST(Values, AnAddressIsFourNumbersOrEight) {
  // RFC 4291 2.2, the examples of its three forms; RFC 5735 for the IPv4 ones.
  for (const char* text :
       {"ABCD:EF01:2345:6789:ABCD:EF01:2345:6789", "2001:DB8:0:0:8:800:200C:417A",
        "2001:DB8::8:800:200C:417A", "FF01::101", "::1", "::", "0:0:0:0:0:0:13.1.68.3",
        "::FFFF:129.144.52.38", "169.254.0.0", "224.0.0.1", "0.0.0.0"}) {
    EXPECT_TRUE(is_address(text)) << text;
  }
  for (const char* text : {"", "127.1", "2130706433", "0x7f.0.0.1", "127.0.0.01", "256.0.0.1",
                           "[::1]", "fe80::1%eth0", "1::2::3", "host", " ::1", "::1 "}) {
    EXPECT_FALSE(is_address(text)) << text;
  }
  EXPECT_FALSE(is_address(std::string_view("::1\0", 4)));
}

TEST(Values, APointerIsOfRfc6901) {
  // RFC 6901 5, its pointers as JSON strings.
  for (const char* text : {"", "/foo", "/foo/0", "/", "/a~1b", "/c%d", "/e^f", "/g|h", "/i\\j",
                           "/k\"l", "/ ", "/m~0n"}) {
    EXPECT_TRUE(is_pointer(text)) << text;
  }
  for (const char* text : {"foo", "#/foo", "/~", "/~2", "/a~", "/a~/b", " /a"}) {
    EXPECT_FALSE(is_pointer(text)) << text;
  }
}

TEST(Values, ANumberOfJsonIsWhatAReaderOfJsonTakesForOne) {
  // simdjson, over all texts of up to five of these characters.
  constexpr std::string_view kCharacters = "0 1-+.eE";
  simdjson::dom::parser parser;
  size_t numbers = 0;
  for (size_t count = 0, all = 1; count <= 5; ++count, all *= kCharacters.size()) {
    for (size_t nth = 0; nth < all; ++nth) {
      std::string text;
      for (size_t i = 0, rest = nth; i < count; ++i, rest /= kCharacters.size()) {
        text += kCharacters[rest % kCharacters.size()];
      }
      // White space around a number is JSON's, and not the number's.
      const bool theirs =
          text.find(' ') == text.npos && parser.parse(simdjson::padded_string(text)).is_number();
      ASSERT_EQ(base::is_json_number(text), theirs) << '"' << text << '"';
      numbers += theirs;
    }
  }
  EXPECT_GT(numbers, 100u);
  EXPECT_TRUE(base::is_json_number("123456789012345678901234567890.5e-10"));
}

TEST(Values, ACredentialHasTheNameOfAFile) {
  EXPECT_EQ(credential_of("credential:till"), "till");
  EXPECT_EQ(credential_of("credential:"), "");
  EXPECT_FALSE(credential_of("./credential:till"));
  EXPECT_FALSE(credential_of("Credential:till"));
  for (const char* name : {"till", "a.b-c_d", "...", "a:b"}) {
    EXPECT_TRUE(is_credential_name(name)) << name;
  }
  for (const char* name : {"", ".", "..", "a/b", "/", "../a"}) {
    EXPECT_FALSE(is_credential_name(name)) << name;
  }
}

}  // namespace
}  // namespace girdle::config
