#include "delivery/hmac.h"

#include <openssl/core_names.h>
#include <openssl/evp.h>
#include <openssl/params.h>

#include <cstdlib>

namespace girdle::delivery {
namespace {

// The default provider always has HMAC and SHA-256; without them, or without memory, there is no
// going on.
void must(bool done) {
  if (!done) std::abort();
}

}  // namespace

void HmacSha256::Free::operator()(evp_mac_ctx_st* context) const { EVP_MAC_CTX_free(context); }

HmacSha256::HmacSha256(std::span<const uint8_t> key) {
  EVP_MAC* const mac = EVP_MAC_fetch(nullptr, "HMAC", nullptr);
  must(mac != nullptr);
  context_.reset(EVP_MAC_CTX_new(mac));
  EVP_MAC_free(mac);
  char digest[] = "SHA256";
  const OSSL_PARAM params[] = {
      OSSL_PARAM_construct_utf8_string(OSSL_MAC_PARAM_DIGEST, digest, sizeof digest - 1),
      OSSL_PARAM_construct_end()};
  must(context_ != nullptr && EVP_MAC_init(context_.get(), key.data(), key.size(), params) == 1);
}

base::Digest HmacSha256::operator()(std::initializer_list<std::string_view> parts) const {
  // Without a key: the one that was given before, without computing its blocks again.
  must(EVP_MAC_init(context_.get(), nullptr, 0, nullptr) == 1);
  for (const std::string_view part : parts) {
    must(EVP_MAC_update(context_.get(), reinterpret_cast<const uint8_t*>(part.data()),
                        part.size()) == 1);
  }
  base::Digest digest;
  size_t size = 0;
  must(EVP_MAC_final(context_.get(), digest.data(), &size, digest.size()) == 1 &&
       size == digest.size());
  return digest;
}

}  // namespace girdle::delivery
