#include "delivery/ed25519.h"

#include <openssl/evp.h>

#include <cstdlib>

namespace girdle::delivery {
namespace {

struct FreeContext {
  void operator()(EVP_MD_CTX* context) const { EVP_MD_CTX_free(context); }
};
using Context = std::unique_ptr<EVP_MD_CTX, FreeContext>;

Context make_context() {
  Context context(EVP_MD_CTX_new());
  if (!context) std::abort();  // no memory
  return context;
}

const unsigned char* bytes_of(std::string_view text) {
  return reinterpret_cast<const unsigned char*>(text.data());
}

}  // namespace

void Ed25519::Free::operator()(EVP_PKEY* key) const { EVP_PKEY_free(key); }

Ed25519 Ed25519::from_seed(std::span<const uint8_t, kSeed> seed) {
  EVP_PKEY* const key =
      EVP_PKEY_new_raw_private_key(EVP_PKEY_ED25519, nullptr, seed.data(), seed.size());
  if (key == nullptr) std::abort();  // each 32 bytes are a seed
  return Ed25519(key);
}

std::optional<Ed25519> Ed25519::from_public(std::span<const uint8_t, kPublic> key) {
  EVP_PKEY* const made =
      EVP_PKEY_new_raw_public_key(EVP_PKEY_ED25519, nullptr, key.data(), key.size());
  if (made == nullptr) return std::nullopt;
  return Ed25519(made);
}

Ed25519::Signature Ed25519::sign(std::string_view message) const {
  Signature signature{};
  size_t size = signature.size();
  const Context context = make_context();
  if (EVP_DigestSignInit(context.get(), nullptr, nullptr, nullptr, key_.get()) != 1 ||
      EVP_DigestSign(context.get(), signature.data(), &size, bytes_of(message), message.size()) !=
          1) {
    std::abort();  // no pair
  }
  return signature;
}

bool Ed25519::verify(std::string_view message, const Signature& signature) const {
  const Context context = make_context();
  return EVP_DigestVerifyInit(context.get(), nullptr, nullptr, nullptr, key_.get()) == 1 &&
         EVP_DigestVerify(context.get(), signature.data(), signature.size(), bytes_of(message),
                          message.size()) == 1;
}

Ed25519::PublicKey Ed25519::public_key() const {
  PublicKey key{};
  size_t size = key.size();
  if (EVP_PKEY_get_raw_public_key(key_.get(), key.data(), &size) != 1) std::abort();
  return key;
}

}  // namespace girdle::delivery
