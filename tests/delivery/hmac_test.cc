#include "delivery/hmac.h"

#include <gtest/gtest.h>

#include <string>

namespace girdle::delivery {
namespace {

struct Case {
  std::string key, data;
  std::string_view hex;  // of the first bytes of the digest
};

std::string counted(int from, int to) {
  std::string bytes;
  for (int i = from; i <= to; ++i) bytes += static_cast<char>(i);
  return bytes;
}

std::string digest_hex(const Case& one) {
  const HmacSha256 hmac({reinterpret_cast<const uint8_t*>(one.key.data()), one.key.size()});
  return base::hex(hmac({one.data}));
}

// RFC 4231 sections 4.2 to 4.8, the values for HMAC-SHA-256; the fifth is truncated to 128 bits
// there.
TEST(HmacSha256, AgreesWithTheVectorsOfTheStandard) {
  const Case cases[] = {
      {std::string(20, '\x0b'), "Hi There",
       "b0344c61d8db38535ca8afceaf0bf12b881dc200c9833da726e9376c2e32cff7"},
      {"Jefe", "what do ya want for nothing?",
       "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843"},
      {std::string(20, '\xaa'), std::string(50, '\xdd'),
       "773ea91e36800e46854db8ebd09181a72959098b3ef8c122d9635514ced565fe"},
      {counted(1, 25), std::string(50, '\xcd'),
       "82558a389a443c0ea4cc819899f2083a85f0faa3e578f8077a2e3ff46729665b"},
      {std::string(20, '\x0c'), "Test With Truncation", "a3b6167473100ee06e0c796c2955552b"},
      {std::string(131, '\xaa'), "Test Using Larger Than Block-Size Key - Hash Key First",
       "60e431591ee0b67f0d8a26aacbf5b77f8e0bc6213728c5140546040f0ee37f54"},
      {std::string(131, '\xaa'),
       "This is a test using a larger than block-size key and a larger than block-size data. The "
       "key needs to be "
       "hashed before being used by the HMAC algorithm.",
       "9b09ffa71b942fcb27635fbcd5b0e944bfdc63644f0713938a7f51535c3a35e2"},
  };
  for (const Case& one : cases)
    EXPECT_EQ(digest_hex(one).substr(0, one.hex.size()), one.hex) << one.data;
}

TEST(HmacSha256, TakesAMessageInPartsAndServesManyMessages) {
  const std::string key = "Jefe";
  const HmacSha256 hmac({reinterpret_cast<const uint8_t*>(key.data()), key.size()});
  const auto whole = hmac({"what do ya want for nothing?"});
  EXPECT_NE(hmac({"something else"}), whole);
  EXPECT_EQ(hmac({"what do ya ", "", "want for nothing?"}), whole);
}

}  // namespace
}  // namespace girdle::delivery
