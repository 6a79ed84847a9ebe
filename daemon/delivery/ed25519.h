// Ed25519 (RFC 8032) through OpenSSL.
#pragma once

#include <array>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string_view>

struct evp_pkey_st;

namespace girdle::delivery {

// One key: a pair, or its public half alone. OpenSSL clears its copy when it frees it. Thread-safe.
class Ed25519 {
 public:
  static constexpr size_t kSeed = 32, kPublic = 32;
  using Signature = std::array<uint8_t, 64>;
  using PublicKey = std::array<uint8_t, kPublic>;

  static Ed25519 from_seed(std::span<const uint8_t, kSeed> seed);
  // Nothing where these bytes are refused.
  static std::optional<Ed25519> from_public(std::span<const uint8_t, kPublic> key);

  // Only of a pair.
  Signature sign(std::string_view message) const;
  bool verify(std::string_view message, const Signature& signature) const;
  PublicKey public_key() const;

 private:
  struct Free {
    void operator()(evp_pkey_st* key) const;
  };
  explicit Ed25519(evp_pkey_st* key) : key_(key) {}
  std::unique_ptr<evp_pkey_st, Free> key_;
};

}  // namespace girdle::delivery
