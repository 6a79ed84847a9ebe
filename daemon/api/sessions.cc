#include "api/sessions.h"

#include <openssl/crypto.h>
#include <openssl/rand.h>

#include <algorithm>
#include <array>

namespace girdle::api {
namespace {

std::string base64url(const std::array<uint8_t, 32>& bytes) {
  static constexpr char kLetters[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";
  std::string out;
  uint32_t held = 0;
  int bits = 0;
  for (const uint8_t byte : bytes) {
    held = held << 8 | byte;
    for (bits += 8; bits >= 6; bits -= 6) out += kLetters[held >> (bits - 6) & 63];
  }
  out += kLetters[held << (6 - bits) & 63];
  return out;
}

}  // namespace

void Sessions::make_room(base::Millis now) {
  std::erase_if(sessions_, [now](const auto& session) { return session.second.has_ended(now); });
  if (sessions_.size() < kMost) return;
  sessions_.erase(std::ranges::min_element(sessions_, {}, [](const auto& session) { return session.second.made; }));
}

std::optional<std::string> Sessions::open(int64_t token, base::Millis now) {
  std::array<uint8_t, 32> secret;
  if (RAND_bytes(secret.data(), static_cast<int>(secret.size())) != 1) return std::nullopt;
  if (sessions_.size() >= kMost) make_room(now);
  std::string text = base64url(secret);
  OPENSSL_cleanse(secret.data(), secret.size());
  sessions_[base::sha256(text)] = {token, now, now};
  return text;
}

std::optional<int64_t> Sessions::use(const base::Digest& secret, base::Millis now) {
  const auto at = sessions_.find(secret);
  if (at == sessions_.end()) return std::nullopt;
  if (at->second.has_ended(now)) {
    sessions_.erase(at);
    return std::nullopt;
  }
  at->second.used = now;
  return at->second.token;
}

}  // namespace girdle::api
