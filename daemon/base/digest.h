// SHA-256 (FIPS 180-4) through OpenSSL, and hexadecimal text.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace girdle::base {

using Digest = std::array<uint8_t, 32>;

// Not thread-safe; one object serves any number of digests, one after another.
class Sha256 {
 public:
  Sha256();
  ~Sha256();
  Sha256(Sha256&& other) noexcept;
  Sha256& operator=(Sha256&& other) noexcept;

  void update(std::string_view bytes);
  // The digest of what came since the beginning; more may follow.
  Digest so_far() const;
  // Ends the digest and begins the next.
  Digest finish();

 private:
  void begin();
  void* context_;  // EVP_MD_CTX, owned
};

Digest sha256(std::string_view bytes);

std::string hex(std::string_view bytes);
inline std::string hex(const Digest& digest) {
  return hex(std::string_view(reinterpret_cast<const char*>(digest.data()), digest.size()));
}

// "sha256:" and 64 lower-case digits: how a digest is shown and stored.
std::string digest_text(const Digest& digest);

}  // namespace girdle::base
