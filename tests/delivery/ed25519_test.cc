#include "delivery/ed25519.h"

#include <gtest/gtest.h>

#include <string>

#include "base/digest.h"

namespace girdle::delivery {
namespace {

std::string bytes_of(std::string_view hex) {
  std::string bytes;
  for (size_t i = 0; i + 1 < hex.size(); i += 2) {
    bytes += static_cast<char>(std::stoi(std::string(hex.substr(i, 2)), nullptr, 16));
  }
  return bytes;
}

template <size_t size>
std::array<uint8_t, size> array_of(std::string_view hex) {
  std::array<uint8_t, size> out{};
  const std::string bytes = bytes_of(hex);
  std::copy_n(bytes.begin(), std::min(size, bytes.size()), out.begin());
  return out;
}

struct Vector {
  std::string_view seed, half, message, signature;
};

// RFC 8032 section 7.1, TEST 1 to 3 and TEST SHA(abc).
constexpr Vector kVectors[] = {
    {"9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
     "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a", "",
     "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b"
     "4"
     "6bd25bf5f0595bbe24655141438e7a100b"},
    {"4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
     "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c", "72",
     "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11"
     "d"
     "8c387b2eaeb4302aeeb00d291612bb0c00"},
    {"c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
     "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025", "af82",
     "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc"
     "6"
     "594a7c15e9716ed28dc027beceea1ec40a"},
    {"833fe62409237b9d62ec77587520911e9a759cec1d19755b7da901b96dca3d42",
     "ec172b93ad5e563bf4932c70e1245034c35467ef2efd4d64ebf819683467e2bf",
     "ddaf35a193617abacc417349ae20413112e6fa4e89a97ea20a9eeee64b55d39a2192992a274fc1a836ba3c23a3fee"
     "bb"
     "d454d4423643ce80e2a9ac94fa54ca49f",
     "dc2a4459e7369633a52b1bf277839a00201009a3efbf3ecb69bea2186c26b58909351fc9ac90b3ecfdfbc7c66431e"
     "0"
     "303dca179c138ac17ad9bef1177331a704"},
};

TEST(Ed25519, AgreesWithTheVectorsOfTheStandard) {
  for (const Vector& one : kVectors) {
    const std::string message = bytes_of(one.message);
    const Ed25519 pair = Ed25519::from_seed(array_of<32>(one.seed));
    EXPECT_EQ(pair.public_key(), array_of<32>(one.half));
    EXPECT_EQ(pair.sign(message), array_of<64>(one.signature));
    const auto half = Ed25519::from_public(array_of<32>(one.half));
    ASSERT_TRUE(half.has_value());
    EXPECT_TRUE(half->verify(message, array_of<64>(one.signature)));
    EXPECT_FALSE(half->verify(message + "x", array_of<64>(one.signature)));
  }
}

TEST(Ed25519, RefusesASignatureOfWhichAnyBitDiffers) {
  const Ed25519 pair = Ed25519::from_seed(array_of<32>(kVectors[2].seed));
  const std::string message = bytes_of(kVectors[2].message);
  for (size_t bit = 0; bit < 512; ++bit) {
    auto signature = array_of<64>(kVectors[2].signature);
    signature[bit / 8] = static_cast<uint8_t>(signature[bit / 8] ^ (1u << (bit % 8)));
    EXPECT_FALSE(pair.verify(message, signature)) << bit;
  }
}

}  // namespace
}  // namespace girdle::delivery
