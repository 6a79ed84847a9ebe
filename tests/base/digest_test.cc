#include "base/digest.h"

#include <gtest/gtest.h>

namespace girdle::base {
namespace {

// The messages of FIPS 180-4's examples, with the digests as in RFC 6234 section 8.5 (TEST1,
// TEST2_1, TEST3); the empty message's is FIPS 180-4 by any implementation, here NIST CAVP
// SHA256ShortMsg, Len = 0.
TEST(Sha256, GivesTheStandardsExamples) {
  EXPECT_EQ(hex(sha256("abc")), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  EXPECT_EQ(hex(sha256("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq")),
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
  EXPECT_EQ(hex(sha256(std::string(1'000'000, 'a'))),
            "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
  EXPECT_EQ(hex(sha256("")), "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}

TEST(Sha256, TakesAMessageInPieces) {
  Sha256 hash;
  for (int i = 0; i < 1000; ++i) hash.update(std::string(1000, 'a'));
  EXPECT_EQ(hash.finish(), sha256(std::string(1'000'000, 'a')));
}

TEST(Sha256, BeginsAgainAfterItHasFinished) {
  Sha256 hash;
  hash.update("something else");
  static_cast<void>(hash.finish());
  hash.update("abc");
  EXPECT_EQ(hash.finish(), sha256("abc"));
}

TEST(Sha256, TellsTheDigestSoFarAndGoesOn) {
  Sha256 hash;
  hash.update("ab");
  EXPECT_EQ(hash.so_far(), sha256("ab"));
  hash.update("c");
  EXPECT_EQ(hash.so_far(), sha256("abc"));
  EXPECT_EQ(hash.finish(), sha256("abc"));
}

TEST(Sha256, MovesWithItsState) {
  Sha256 hash;
  hash.update("ab");
  Sha256 moved = std::move(hash);
  moved.update("c");
  EXPECT_EQ(moved.finish(), sha256("abc"));
}

// RFC 4648 section 8 in lower case.
TEST(Hex, IsLowerCaseWithTwoDigitsAByte) {
  EXPECT_EQ(hex(std::string_view("\x00\x0f\xf0\xff", 4)), "000ff0ff");
  EXPECT_EQ(hex(std::string_view()), "");
  EXPECT_EQ(digest_text(sha256("abc")).substr(0, 15), "sha256:ba7816bf");
}

}  // namespace
}  // namespace girdle::base
