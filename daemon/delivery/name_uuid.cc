#include "delivery/name_uuid.h"

#include <openssl/evp.h>

#include <cstdlib>

#include "base/digest.h"

namespace girdle::delivery {
namespace {

// SHA-1 because version 5 is made of it: nothing here is kept secret or proved by it.
std::array<uint8_t, 20> sha1(std::string_view bytes) {
  std::array<uint8_t, 20> digest;
  // Out of memory, or an OpenSSL without SHA-1.
  if (EVP_Digest(bytes.data(), bytes.size(), digest.data(), nullptr, EVP_sha1(), nullptr) != 1)
    std::abort();
  return digest;
}

}  // namespace

std::string name_uuid(const Uuid& name_space, std::string_view name) {
  std::string bytes(name_space.begin(), name_space.end());
  bytes += name;
  std::array<uint8_t, 20> digest = sha1(bytes);
  digest[6] = static_cast<uint8_t>((digest[6] & 0x0f) | 0x50);  // version 5
  digest[8] = static_cast<uint8_t>((digest[8] & 0x3f) | 0x80);  // variant of RFC 9562
  std::string text = base::hex(std::string_view(reinterpret_cast<const char*>(digest.data()), 16));
  for (const size_t at : {8u, 13u, 18u, 23u}) text.insert(at, 1, '-');
  return text;
}

}  // namespace girdle::delivery
