#include "delivery/signature.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace girdle::delivery {
namespace {

using testing::HasSubstr;
using testing::Not;

// Standard Webhooks reference libraries (commit b2fa7b8): libraries/go/webhook_test.go
// TestWebhookSign, and the Python and C# test suites.
constexpr std::string_view kSecret1 = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw";
constexpr std::string_view kId1 = "msg_p5jXN8AQM9LWM0D4loKWxJek";
constexpr std::string_view kTime1 = "1614265330";
constexpr std::string_view kBody1 = R"({"test": 2432232314})";
constexpr std::string_view kSignature1 = "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE=";

// libraries/rust/src/lib.rs test_sign.
constexpr std::string_view kSecret2 = "whsec_C2FVsBQIhrscChlQIMV+b5sSYspob7oD";
constexpr std::string_view kSignature2 = "v1,tZ1I4/hDygAJgO5TYxiSd6Sd0kDW6hPenDe+bTa3Kkw=";

Signer signer(std::initializer_list<std::string_view> texts) {
  std::vector<Secret> secrets;
  for (const auto text : texts) secrets.push_back(std::move(Secret::parse(text)).value());
  return Signer(secrets);
}

std::string sign(const Signer& by, std::string_view id, std::string_view time,
                 std::string_view body) {
  std::string out;
  by.append(out, id, time, body);
  return out;
}

TEST(Signer, AgreesWithTheReferenceLibraries) {
  EXPECT_EQ(sign(signer({kSecret1}), kId1, kTime1, kBody1), kSignature1);
  EXPECT_EQ(sign(signer({kSecret2}), "msg_27UH4WbU6Z5A5EzD8u03UvzRbpk", "1649367553",
                 R"({"email":"test@example.com","username":"test_user"})"),
            kSignature2);
}

// The example payload of the specification 1.0.0, section Webhook headers, under a known secret:
// computed with npm standardwebhooks 1.1.1.
TEST(Signer, AgreesWithAnotherLibraryOnTheSpecificationsPayload) {
  EXPECT_EQ(sign(signer({kSecret1}), "msg_2KWPBgLlAfxdpx2AI54pPJ85f4W", "1674087231",
                 R"({"type":"contact.created","timestamp":"2022-11-03T20:26:10.344522Z",)"
                 R"("data":{"id":"1f81eb52-5198-4599-803e-771906343485"}})"),
            "v1,ARw42xaAApl/nxRo+iPGYwSaMQaOwMo2eyH5JBRA+bQ=");
}

// Section Webhook headers has a `v1` beside a `v1a` (its secrets are not published): signatures by
// others must be passed over, and must not be accepted.
TEST(Signer, PassesOverSignaturesOfOtherSchemes) {
  constexpr std::string_view kExample =
      "v1,K5oZfzN95Z9UVu1EsfQmfVNQhnkZ2pj9o9NDN/H/pI4= "
      "v1a,hnO3f9T8Ytu9HwrXslvumlUpqtNVqkhqw/"
      "enGzPCXe5BdqzCInXqYXFymVJaA7AZdpXwVLPo3mNl8EM+m7TBAg==";
  const Signer by = signer({kSecret1});
  EXPECT_FALSE(by.accepts(kExample, kId1, kTime1, kBody1));
  EXPECT_TRUE(
      by.accepts(std::string(kExample) + " " + std::string(kSignature1), kId1, kTime1, kBody1));
  EXPECT_FALSE(by.accepts("v1a," + std::string(kSignature1.substr(3)), kId1, kTime1, kBody1));
}

// "valid multi sig is valid" in the Go and Python suites.
TEST(Signer, AcceptsOneRightSignatureAmongWrongOnes) {
  constexpr std::string_view kWrong = "Ceo5qEr07ixe2NLpvHk3FH9bwy/WavXrAFQ/9tdO6mc=";
  const std::string header = "v1," + std::string(kWrong) + " v2," + std::string(kWrong) + " " +
                             std::string(kSignature1) + " v1," + std::string(kWrong);
  EXPECT_TRUE(signer({kSecret1}).accepts(header, kId1, kTime1, kBody1));
}

// Computed here and cross-checked with npm standardwebhooks 1.1.1.
TEST(Signer, SignsWithBothSecretsDuringARotation) {
  const Signer both = signer({kSecret1, kSecret2});
  const std::string header = sign(both, kId1, kTime1, kBody1);
  EXPECT_EQ(header,
            "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE= "
            "v1,78nXHjpFP0tVJQW5D0SBwmVyyW87BV/rL6MgfM/Bw44=");
  EXPECT_TRUE(signer({kSecret1}).accepts(header, kId1, kTime1, kBody1));
  EXPECT_TRUE(signer({kSecret2}).accepts(header, kId1, kTime1, kBody1));
}

base::Instant at(int64_t seconds) { return base::from_millis(seconds * 1000); }

// The rejections of the Go, Python and Rust suites.
TEST(Verify, RejectsWhatTheReferenceLibrariesReject) {
  const Signer by = signer({kSecret1});
  const auto now = at(1614265330);
  const SignedMessage good{kId1, kTime1, kSignature1, kBody1};
  ASSERT_TRUE(verify(by, good, now).ok());
  auto with = [&](auto member, std::string_view value) {
    SignedMessage message = good;
    message.*member = value;
    return verify(by, message, now).ok();
  };
  EXPECT_FALSE(with(&SignedMessage::id, ""));
  EXPECT_FALSE(with(&SignedMessage::id, "msg_p5jXN8AQM9LWM0D4loKWxJel"));
  EXPECT_FALSE(with(&SignedMessage::timestamp, ""));
  EXPECT_FALSE(with(&SignedMessage::timestamp, "hello"));
  EXPECT_FALSE(with(&SignedMessage::timestamp, "1614265331"));
  EXPECT_FALSE(with(&SignedMessage::timestamp, "+1614265330"));
  EXPECT_FALSE(with(&SignedMessage::timestamp, "1614265330 "));
  EXPECT_FALSE(with(&SignedMessage::signatures, ""));
  EXPECT_FALSE(with(&SignedMessage::signatures, "v1,"));
  EXPECT_FALSE(with(&SignedMessage::signatures, kSignature1.substr(0, 8)));
  EXPECT_FALSE(with(&SignedMessage::signatures, "v1,Ceo5qEr07ixe2NLpvHk3FH9bwy/WavXrAFQ/9tdO6mc="));
  EXPECT_FALSE(with(&SignedMessage::body, R"({"test": 2432232315})"));
}

// The constants of the Go, JavaScript and Python libraries: 5 minutes, either way.
TEST(Verify, TakesTimestampsWithinFiveMinutes) {
  const Signer by = signer({kSecret1});
  const SignedMessage message{kId1, kTime1, kSignature1, kBody1};
  EXPECT_TRUE(verify(by, message, at(1614265330 + 299)).ok());
  EXPECT_FALSE(verify(by, message, at(1614265330 + 301)).ok());
  EXPECT_TRUE(verify(by, message, at(1614265330 - 299)).ok());
  EXPECT_FALSE(verify(by, message, at(1614265330 - 302)).ok());
}

// Specification 1.0.0, section Signature scheme: 24 to 64 bytes, `whsec_`, base64.
TEST(Secret, IsTwentyFourToSixtyFourBytes) {
  const auto letters = [](size_t count) { return "whsec_" + std::string(count, 'A'); };
  EXPECT_TRUE(Secret::parse(letters(32)).ok());         // 24 bytes
  EXPECT_TRUE(Secret::parse(letters(86) + "==").ok());  // 64 bytes
  EXPECT_FALSE(Secret::parse(letters(31) + "=").ok());  // 23 bytes
  EXPECT_FALSE(Secret::parse(letters(87) + "=").ok());  // 65 bytes
}

TEST(Secret, RefusesMalformedTextAndNeverRepeatsIt) {
  for (const char* text :
       {"", "whsec_", "MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw", "whsk_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw",
        "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaS", "whsec_MfKQ9r8G KYqrTwjUPD8ILPZIo2LaLaSw"}) {
    const auto secret = Secret::parse(text);
    ASSERT_FALSE(secret.ok()) << text;
    EXPECT_THAT(secret.error().text, Not(HasSubstr("MfKQ9r8G")));
  }
}

// No vector of `v1a` is published: the key is RFC 9421 B.1.4 test-key-ed25519, the message that of
// the reference libraries' first test, the signature computed with Node.js's crypto.
constexpr std::string_view kSeed = "whsk_n4Ni+HpISpVObnQMW0wOhCKROaIKqKtW/2ZYb2p9KcU=";
constexpr std::string_view kPair =
    "whsk_n4Ni+HpISpVObnQMW0wOhCKROaIKqKtW/2ZYb2p9KcUmtAuPk//"
    "z2JcRL368WCsjLb1yUX0IL+g8+zDdzkPRuw==";
constexpr std::string_view kPublic = "whpk_JrQLj5P/89iXES9+vFgrIy29clF9CC/oPPsw3c5D0bs=";
constexpr std::string_view kPaired =
    "v1a,DUtvzXtl5qIXze3JPo6rALmXavfKANTNhBE5t63gLd1HoLKp8vFSx57KKvKnGVHRv1wu4zZRKjF8iB6z6ginAw==";

TEST(PairedSignature, AgreesWithAnotherLibrary) {
  EXPECT_EQ(sign(signer({kSeed}), kId1, kTime1, kBody1), kPaired);
  EXPECT_EQ(sign(signer({kPair}), kId1, kTime1, kBody1), kPaired);
}

TEST(PairedSignature, IsAcceptedByThePublicHalfWhichSignsNothing) {
  const Signer receiver = signer({kPublic});
  EXPECT_TRUE(receiver.empty());
  EXPECT_EQ(sign(receiver, kId1, kTime1, kBody1), "");
  const SignedMessage good{kId1, kTime1, kPaired, kBody1};
  EXPECT_TRUE(verify(receiver, good, at(1614265330)).ok());
  EXPECT_FALSE(receiver.accepts(kPaired, kId1, kTime1, "{}"));
  EXPECT_FALSE(receiver.accepts(kPaired, kId1, "1614265331", kBody1));
  EXPECT_FALSE(receiver.accepts(kSignature1, kId1, kTime1, kBody1));
  EXPECT_FALSE(receiver.accepts("v1," + std::string(kPaired.substr(4)), kId1, kTime1, kBody1));
}

TEST(PairedSignature, StandsBesideTheSharedOnesInTheOrderOfTheSecrets) {
  const std::string header = sign(signer({kSeed, kSecret1, kSecret2}), kId1, kTime1, kBody1);
  EXPECT_EQ(header, std::string(kPaired) +
                        " v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="
                        " v1,78nXHjpFP0tVJQW5D0SBwmVyyW87BV/rL6MgfM/Bw44=");
  for (const auto one : {kSecret1, kSecret2, kSeed, kPublic}) {
    EXPECT_TRUE(signer({one}).accepts(header, kId1, kTime1, kBody1)) << one;
  }
}

TEST(PairedSignature, RefusesAKeyWhosePublicHalfIsAnothers) {
  std::string other(kPair);
  other[60] = other[60] == 'A' ? 'B' : 'A';
  EXPECT_FALSE(Secret::parse(other).ok());
  EXPECT_FALSE(Secret::parse("whsk_" + std::string(32, 'A')).ok());  // 24 bytes
  EXPECT_FALSE(Secret::parse("whpk_" + std::string(32, 'A')).ok());
}

}  // namespace
}  // namespace girdle::delivery
