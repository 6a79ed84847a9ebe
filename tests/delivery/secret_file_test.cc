#include "delivery/secret_file.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/stat.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>

namespace girdle::delivery {
namespace {

using testing::HasSubstr;
using testing::Not;

// Standard Webhooks reference libraries (commit b2fa7b8), and the key of RFC 9421 B.1.4.
constexpr std::string_view kShared1 = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw";
constexpr std::string_view kShared2 = "whsec_C2FVsBQIhrscChlQIMV+b5sSYspob7oD";
constexpr std::string_view kPrivate = "whsk_n4Ni+HpISpVObnQMW0wOhCKROaIKqKtW/2ZYb2p9KcU=";
constexpr std::string_view kPublic = "whpk_JrQLj5P/89iXES9+vFgrIy29clF9CC/oPPsw3c5D0bs=";

class SecretFileTest : public testing::Test {
 protected:
  SecretFileTest() {
    file_.path = testing::TempDir() + "girdle_secret_" + std::to_string(::getpid());
  }
  ~SecretFileTest() override { std::filesystem::remove(file_.path); }

  void write(std::string_view content, mode_t mode = 0600) {
    std::filesystem::remove(file_.path);
    std::ofstream(file_.path) << content;
    ::chmod(file_.path.c_str(), mode);
  }

  base::Result<std::vector<Secret>> load(std::string_view content, mode_t mode = 0600) {
    write(content, mode);
    return load_signing_secrets(file_);
  }

  std::string line(std::string_view content) {
    write(content);
    const auto secret = load_secret_line(file_);
    return secret ? std::string(secret->view()) : "refused: " + secret.error().text;
  }

  config::SecretFile file_;
};

TEST_F(SecretFileTest, HoldsOneSigningSecretOrTwoDuringARotation) {
  const std::string one(kShared1), two(kShared2);
  EXPECT_EQ(load(one)->size(), 1u);
  EXPECT_EQ(load(one + "\r\n")->size(), 1u);
  EXPECT_EQ(load(one + "\n" + two + "\n")->size(), 2u);
  EXPECT_FALSE(load(one + "\n" + two + "\n" + one + "\n").ok());
  EXPECT_FALSE(load("").ok());
  EXPECT_FALSE(load("\n\n").ok());
}

TEST_F(SecretFileTest, HoldsTwoOfEachKindInTheirOrder) {
  const std::string shared1(kShared1), shared2(kShared2), pair(kPrivate);
  const auto secrets = load(pair + "\n" + shared1 + "\n" + pair + "\n" + shared2 + "\n");
  ASSERT_TRUE(secrets.ok()) << secrets.error().text;
  ASSERT_EQ(secrets->size(), 4u);
  EXPECT_EQ((*secrets)[0].kind(), Secret::Kind::kPrivate);
  EXPECT_EQ((*secrets)[1].kind(), Secret::Kind::kShared);
  EXPECT_FALSE(load(pair + "\n" + pair + "\n" + pair + "\n").ok());
}

TEST_F(SecretFileTest, RefusesAPublicKeyWhichSignsNothing) {
  EXPECT_THAT(load(kPublic).error().text, HasSubstr("signs nothing"));
}

TEST_F(SecretFileTest, IsRefusedWhenOthersMayReadIt) {
  for (const mode_t mode : {0640, 0604, 0620, 0644, 0610}) {
    const auto loaded = load(kShared1, mode);
    ASSERT_FALSE(loaded.ok()) << mode;
    EXPECT_THAT(loaded.error().text, HasSubstr("chmod 600"));
  }
  EXPECT_TRUE(load(kShared1, 0400).ok());
}

// systemd.exec(5), CREDENTIALS_DIRECTORY: such files may be readable to a group by an access list,
// whose mask shows as the group's mode.
TEST_F(SecretFileTest, IsTakenFromACredentialWhateverItsMode) {
  file_.is_credential = true;
  EXPECT_TRUE(load(kShared1, 0440).ok());
}

TEST_F(SecretFileTest, IsNamedWithItsLineButNotShownWhenItIsWrong) {
  const auto loaded = load(std::string(kShared1) + "\nwhsec_AbCdEfGh\n");
  ASSERT_FALSE(loaded.ok());
  EXPECT_THAT(loaded.error().text, HasSubstr(file_.path.string() + ":2:1: "));
  EXPECT_THAT(loaded.error().text, Not(HasSubstr("AbCdEfGh")));
}

TEST_F(SecretFileTest, IsRefusedWhenItIsMissingTooLongOrNoFile) {
  EXPECT_THAT(load(std::string(5000, 'A')).error().text, HasSubstr("longer than any secret"));
  config::SecretFile other;
  other.path = "/nowhere/secret";
  EXPECT_THAT(load_signing_secrets(other).error().text, HasSubstr("No such file"));
  other.path = "/";
  EXPECT_THAT(load_signing_secrets(other).error().text, HasSubstr("no plain file"));
}

TEST_F(SecretFileTest, HoldsOneLineOfText) {
  EXPECT_EQ(line("hunter two"), "hunter two");
  EXPECT_EQ(line("  p\xc3\xa4ss\r\n\n"), "p\xc3\xa4ss");
  EXPECT_THAT(line(""), HasSubstr("is empty"));
  EXPECT_THAT(line("\n"), HasSubstr("is empty"));
  EXPECT_THAT(line("one\ntwo\n"), HasSubstr("more than one line"));
  for (const char* text : {"tab\tinside", "cr\rinside", "bell\a", "latin-1 \xe4", "del\x7f."}) {
    EXPECT_THAT(line(text), HasSubstr("no text")) << text;
  }
}

TEST_F(SecretFileTest, IsNeverShownInAnError) {
  for (const char* text : {"s3cret-one\ns3cret-two", "s3cret\x01", "s3cret\xff"}) {
    EXPECT_THAT(line(text), AllOf(HasSubstr("refused"), Not(HasSubstr("s3cret"))));
  }
}

TEST(SecretBytes, MoveAndLeaveNothing) {
  SecretBytes one(std::string_view("one"));
  SecretBytes two(std::move(one));
  EXPECT_EQ(two.view(), "one");
  EXPECT_EQ(one.view(), "");  // NOLINT(bugprone-use-after-move)
  two = SecretBytes(std::string_view("three"));
  EXPECT_EQ(two.view(), "three");
  EXPECT_EQ(SecretBytes().view(), "");
}

}  // namespace
}  // namespace girdle::delivery
