// Signatures of Standard Webhooks 1.0.0, symmetric scheme: `v1,` and the base64 of HMAC-SHA-256
// over `id.timestamp.body`, the timestamp in whole seconds since 1970.
#pragma once

#include <array>
#include <chrono>
#include <cstdint>
#include <filesystem>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/clock.h"
#include "base/result.h"
#include "delivery/hmac.h"

namespace girdle::delivery {

// One symmetric secret: 24 to 64 bytes, written as `whsec_` and padded base64. Its bytes are
// overwritten when it goes; no text of ours ever contains any of them.
class Secret {
 public:
  static constexpr size_t kLeast = 24;
  static constexpr size_t kMost = 64;

  static base::Result<Secret> parse(std::string_view text);

  Secret(Secret&& other) noexcept;
  Secret& operator=(Secret&& other) noexcept;
  ~Secret();

  std::span<const uint8_t> bytes() const { return {bytes_.data(), size_}; }

 private:
  Secret() = default;
  std::array<uint8_t, kMost> bytes_{};
  size_t size_ = 0;
};

// Reads a secret file: one secret a line; two lines during a rotation, the new one first. Refuses a
// file that others than its owner may read, and anything else in it.
base::Result<std::vector<Secret>> load_secrets(const std::filesystem::path& path);

// Signs with every secret that it was given, and keeps no other copy of them. Not thread-safe.
class Signer {
 public:
  explicit Signer(const std::vector<Secret>& secrets);

  // Appends the value of `webhook-signature`: one signature a secret, separated by a space.
  void append(std::string& out, std::string_view id, std::string_view timestamp,
              std::string_view body) const;

  // True when `signatures`, a header's value, holds a `v1` signature by any of the secrets. Takes
  // the same time wherever two signatures differ.
  bool accepts(std::string_view signatures, std::string_view id, std::string_view timestamp,
               std::string_view body) const;

 private:
  std::vector<HmacSha256> keys_;
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
