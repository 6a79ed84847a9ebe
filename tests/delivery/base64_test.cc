#include "delivery/base64.h"

#include <gtest/gtest.h>

#include <array>
#include <string>

namespace girdle::delivery {
namespace {

std::string encoded(std::string_view text) {
  std::string out;
  append_base64(out, {reinterpret_cast<const uint8_t*>(text.data()), text.size()});
  return out;
}

std::optional<std::string> decoded(std::string_view text) {
  std::array<uint8_t, 64> bytes{};
  const auto size = decode_base64(text, bytes);
  if (!size) return std::nullopt;
  return std::string(bytes.begin(), bytes.begin() + *size);
}

// RFC 4648 section 10, test vectors.
constexpr std::pair<std::string_view, std::string_view> kVectors[] = {
    {"", ""},
    {"f", "Zg=="},
    {"fo", "Zm8="},
    {"foo", "Zm9v"},
    {"foob", "Zm9vYg=="},
    {"fooba", "Zm9vYmE="},
    {"foobar", "Zm9vYmFy"},
};

TEST(Base64, AgreesWithTheVectorsOfTheStandard) {
  for (const auto& [plain, text] : kVectors) {
    EXPECT_EQ(encoded(plain), text);
    EXPECT_EQ(decoded(text), plain);
  }
}

TEST(Base64, DecodesEveryByteThatItEncodes) {
  std::string all;
  for (int i = 0; i < 48; ++i) all += static_cast<char>(i * 37);
  EXPECT_EQ(decoded(encoded(all)), all);
  EXPECT_EQ(encoded("\xfb\xff\xbf"), "+/+/");
}

TEST(Base64, RefusesWhatIsNotCanonical) {
  for (const char* text : {"Zg", "Zg=", "Z===", "Zh==", "Zm9=", "Zm 9", "Zm9v\n", "Zm9-",
                           "====", "=Zm9", "Zg==Zg=="}) {
    EXPECT_EQ(decoded(text), std::nullopt) << text;
  }
}

TEST(Base64, RefusesMoreThanFits) {
  std::array<uint8_t, 2> two{};
  EXPECT_EQ(decode_base64("Zm9v", two), std::nullopt);
  EXPECT_EQ(decode_base64("Zm8=", two), 2u);
}

}  // namespace
}  // namespace girdle::delivery
