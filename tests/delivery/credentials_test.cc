#include "delivery/credentials.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "delivery/form_text.h"

namespace girdle::delivery {
namespace {

std::string basic(std::string_view user, std::string_view password) {
  const auto value = basic_credentials(user, password);
  return value ? std::string(value->view()) : "refused: " + value.error().text;
}

TEST(BasicCredentials, AgreeWithTheStandards) {
  // RFC 7617 section 2, and 2.1 for the pound sign in UTF-8.
  EXPECT_EQ(basic("Aladdin", "open sesame"), "Basic QWxhZGRpbjpvcGVuIHNlc2FtZQ==");
  EXPECT_EQ(basic("test", "123\xc2\xa3"), "Basic dGVzdDoxMjPCow==");
  // RFC 6749 sections 4.4.2 and 2.3.1.
  EXPECT_EQ(basic("s6BhdRkqt3", "gX1fBat3bV"), "Basic czZCaGRSa3F0MzpnWDFmQmF0M2JW");
  EXPECT_EQ(basic("s6BhdRkqt3", "7Fjfp0ZBr1KtDRbnfVdmIw"),
            "Basic czZCaGRSa3F0Mzo3RmpmcDBaQnIxS3REUmJuZlZkbUl3");
}

// RFC 7617 section 2: no colon in a user, no control characters.
TEST(BasicCredentials, RefuseAUserThatTheReceiverWouldReadOtherwise) {
  for (const char* user : {"", "a:b", "a\nb", "a\x7f", "\xff"}) {
    EXPECT_THAT(basic(user, "s3cret"), testing::HasSubstr("refused")) << user;
    EXPECT_THAT(basic(user, "s3cret"), testing::Not(testing::HasSubstr("s3cret"))) << user;
  }
  EXPECT_EQ(basic("a", ""), "Basic YTo=");
}

// RFC 6749 appendix B.
TEST(FormEncoding, AgreesWithTheStandard) {
  std::string out;
  append_form(out, " %&+\xc2\xa3\xe2\x82\xac");
  EXPECT_EQ(out, "+%25%26%2B%C2%A3%E2%82%AC");
  out.clear();
  append_form(out, "aZ09*-._~\"\n=");
  EXPECT_EQ(out, "aZ09*-._%7E%22%0A%3D");  // the set of marks is WHATWG's URL standard's
}

}  // namespace
}  // namespace girdle::delivery
