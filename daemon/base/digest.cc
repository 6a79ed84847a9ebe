#include "base/digest.h"

#include <openssl/evp.h>

#include <cstdlib>
#include <utility>

namespace girdle::base {
namespace {

// Fetched once: a fetch an operation costs more than the digest of a short record.
const EVP_MD* algorithm() {
  static const EVP_MD* const fetched = EVP_MD_fetch(nullptr, "SHA256", nullptr);
  return fetched;
}

void must(bool done) {
  if (!done) std::abort();  // out of memory, or an OpenSSL without SHA-256
}

}  // namespace

Sha256::Sha256() : context_(EVP_MD_CTX_new()) {
  must(context_ != nullptr);
  begin();
}

Sha256::~Sha256() { EVP_MD_CTX_free(static_cast<EVP_MD_CTX*>(context_)); }

Sha256::Sha256(Sha256&& other) noexcept : context_(std::exchange(other.context_, nullptr)) {}

Sha256& Sha256::operator=(Sha256&& other) noexcept {
  std::swap(context_, other.context_);
  return *this;
}

void Sha256::begin() {
  must(EVP_DigestInit_ex2(static_cast<EVP_MD_CTX*>(context_), algorithm(), nullptr) == 1);
}

void Sha256::update(std::string_view bytes) {
  must(EVP_DigestUpdate(static_cast<EVP_MD_CTX*>(context_), bytes.data(), bytes.size()) == 1);
}

Digest Sha256::so_far() const {
  EVP_MD_CTX* const copy = EVP_MD_CTX_new();
  must(copy != nullptr && EVP_MD_CTX_copy_ex(copy, static_cast<EVP_MD_CTX*>(context_)) == 1);
  Digest digest;
  must(EVP_DigestFinal_ex(copy, digest.data(), nullptr) == 1);
  EVP_MD_CTX_free(copy);
  return digest;
}

Digest Sha256::finish() {
  Digest digest;
  must(EVP_DigestFinal_ex(static_cast<EVP_MD_CTX*>(context_), digest.data(), nullptr) == 1);
  begin();
  return digest;
}

Digest sha256(std::string_view bytes) {
  Sha256 hash;
  hash.update(bytes);
  return hash.finish();
}

std::string hex(std::string_view bytes) {
  static constexpr char kDigits[] = "0123456789abcdef";
  std::string out;
  out.reserve(bytes.size() * 2);
  for (const unsigned char byte : bytes) {
    out += kDigits[byte >> 4];
    out += kDigits[byte & 15];
  }
  return out;
}

std::string digest_text(const Digest& digest) { return "sha256:" + hex(digest); }

}  // namespace girdle::base
