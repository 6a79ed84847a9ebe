// Signatures of Standard Webhooks 1.0.0 over `id.timestamp.body`, the timestamp in whole seconds
// since 1970: `v1,` and the base64 of HMAC-SHA-256, `v1a,` and the base64 of Ed25519.
#pragma once

#include <array>
#include <chrono>
#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/clock.h"
#include "base/result.h"
#include "delivery/ed25519.h"
#include "delivery/hmac.h"

namespace girdle::delivery {

// One secret, or the public half of one. Its bytes are overwritten when it goes; no text of ours
// ever contains any of them.
class Secret {
 public:
  static constexpr size_t kLeast = 24;
  static constexpr size_t kMost = 64;
  static constexpr std::string_view kRight =
      "a secret is `whsec_` and the padded base64 of 24 to 64 random bytes, or `whsk_` and that of "
      "an Ed25519 key's 32 bytes";

  enum class Kind : uint8_t {
    kShared,   // whsec_: HMAC's, known to both sides
    kPrivate,  // whsk_: the seed of an Ed25519 pair
    kPublic,   // whpk_: its public half, for receivers
  };

  // `whsk_` may hold the seed alone or, as many libraries write private keys, the seed and the
  // public half.
  static base::Result<Secret> parse(std::string_view text);

  Secret(Secret&& other) noexcept;
  Secret& operator=(Secret&& other) noexcept;
  ~Secret();

  Kind kind() const { return kind_; }
  // Of a private one the seed.
  std::span<const uint8_t> bytes() const { return {bytes_.data(), size_}; }

 private:
  Secret() = default;
  bool is_right();
  Kind kind_ = Kind::kShared;
  std::array<uint8_t, kMost> bytes_{};
  size_t size_ = 0;
};

// Signs with every secret that it was given, and keeps no other copy of them. Not thread-safe.
class Signer {
 public:
  explicit Signer(const std::vector<Secret>& secrets);

  // Nothing to sign with, be it that nobody gave a secret, or public halves only.
  bool empty() const;

  // Appends the value of `webhook-signature`: one signature a secret, in their order, separated by
  // a space.
  void append(std::string& out, std::string_view id, std::string_view timestamp,
              std::string_view body) const;

  // True when `signatures`, a header's value, holds a `v1` or `v1a` signature by any of the
  // secrets. Takes the same time wherever two signatures of `v1` differ.
  bool accepts(std::string_view signatures, std::string_view id, std::string_view timestamp,
               std::string_view body) const;

 private:
  struct Key {
    Secret::Kind kind;
    size_t number;  // in hmacs_ or pairs_
  };
  std::string_view joined(std::string_view id, std::string_view timestamp,
                          std::string_view body) const;
  bool accepts_shared(std::string_view signatures, const base::Digest& right) const;

  std::vector<Key> keys_;
  std::vector<HmacSha256> hmacs_;
  std::vector<Ed25519> pairs_;
  mutable std::string joined_;  // Ed25519 takes a message in one piece
};

// What a receiver was sent.
struct SignedMessage {
  std::string_view id, timestamp, signatures;  // the values of the three headers
  std::string_view body;
};

// For receivers: an error unless the signature is right and the timestamp within `tolerance` of
// now. (300 s is what the public libraries take; the document names none.)
base::Result<void> verify(const Signer& signer, const SignedMessage& message, base::Instant now,
                          std::chrono::seconds tolerance = std::chrono::seconds(300));

}  // namespace girdle::delivery
