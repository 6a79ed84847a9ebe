#include "delivery/uri_text.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace girdle::delivery {
namespace {

using ::testing::HasSubstr;

TEST(PercentEncoded, LeavesOnlyUnreservedCharacters) {
  // RFC 3986 2.3 and 2.5: "A" to "Z", digits, "-._~"; KATAKANA LETTER A (2.5) is %E3%82%A2.
  EXPECT_EQ(percent_encoded("azAZ09-._~"), "azAZ09-._~");
  EXPECT_EQ(percent_encoded("\xe3\x82\xa2"), "%E3%82%A2");
  EXPECT_EQ(percent_encoded("R1042#2"), "R1042%232");
  EXPECT_EQ(percent_encoded("12/E4 %\n"), "12%2FE4%20%25%0A");
}

TEST(IsUri, TakesTheExamplesOfTheStandard) {
  // RFC 3986 1.1.2.
  for (const char* uri :
       {"ftp://ftp.is.co.za/rfc/rfc1808.txt", "http://www.ietf.org/rfc/rfc2396.txt",
        "ldap://[2001:db8::7]/c=GB?objectClass?one", "mailto:John.Doe@example.com",
        "news:comp.infosystems.www.servers.unix", "tel:+1-816-555-1212", "telnet://192.0.2.16:80/",
        "urn:oasis:names:specification:docbook:dtd:xml:4.1.2"}) {
    EXPECT_TRUE(is_uri(uri)) << uri;
  }
  // GS1's: EPC URIs, Digital Links, and the hash of RFC 6920.
  EXPECT_TRUE(is_uri("urn:%41"));
  EXPECT_TRUE(is_uri("urn:epc:id:sgln:9529999.99999.0"));
  EXPECT_TRUE(is_uri("https://id.gs1.org/01/09520001123464/21/1%2F2#part"));
  EXPECT_TRUE(is_uri("ni:///sha-256;f4OxZX_x_FO5LcGBSKHWXfwtSx-j1ncoSt3SABJtkGk"));
}

TEST(IsUri, RefusesWhatIsNone) {
  // RFC 3986 3.1 (schemes), 2.1 (percent-encoding), 2 (characters), 3.5 (one fragment).
  for (const char* text :
       {"", "R1042", "/stock/R1042", "1st:x", ":x", "urn:", "a b:c", "urn:a b", "urn:%4", "urn:%4g",
        "urn:a#b#c", "urn:{a}", "urn:\xc3\xa9", "urn:a\"b", "urn:a<b>", "urn:a\n"}) {
    EXPECT_FALSE(is_uri(text)) << text;
  }
}

TEST(UriPattern, PutsTheValueIntoItsPlace) {
  const auto pattern =
      UriPattern::compile("https://quay-street.example/stock/{stock_number}?v=1", "stock_number");
  ASSERT_TRUE(pattern);
  EXPECT_EQ(pattern->with("R1042"), "https://quay-street.example/stock/R1042?v=1");
  EXPECT_EQ(pattern->with("A/1 {x}"), "https://quay-street.example/stock/A%2F1%20%7Bx%7D?v=1");
}

std::string refusal(std::string_view text) {
  const auto pattern = UriPattern::compile(text, "stock_number");
  return pattern ? "" : pattern.error().text;
}

TEST(UriPattern, SaysWhatIsWrongWithOne) {
  EXPECT_THAT(refusal("https://quay-street.example/stock/"),
              HasSubstr("has to have {stock_number} in it, once"));
  EXPECT_THAT(refusal("urn:{stock_number}:{stock_number}"), HasSubstr("once"));
  EXPECT_THAT(refusal("stock/{stock_number}"), HasSubstr("is no URI"));
  EXPECT_THAT(refusal("{stock_number}"), HasSubstr("is no URI"));
  EXPECT_THAT(refusal("a{stock_number}:x"),
              HasSubstr("is no URI"));  // the scheme depends on the stock number
  EXPECT_THAT(refusal("urn:{stock_number}:{position}"), HasSubstr("is no URI"));
  EXPECT_THAT(refusal("https://quay-street.example/my stock/{stock_number}"),
              HasSubstr("is no URI"));
}

}  // namespace
}  // namespace girdle::delivery
