// HMAC-SHA-256 (RFC 2104, FIPS 198-1) through OpenSSL, with the key's two blocks computed once.
#pragma once

#include <cstdint>
#include <initializer_list>
#include <memory>
#include <span>
#include <string_view>

#include "base/digest.h"

struct evp_mac_ctx_st;

namespace girdle::delivery {

// Not thread-safe; serves any number of messages, one after another. OpenSSL clears its copy of the
// key when it frees it.
class HmacSha256 {
 public:
  explicit HmacSha256(std::span<const uint8_t> key);

  // Of the parts as if they were one text.
  base::Digest operator()(std::initializer_list<std::string_view> parts) const;

 private:
  struct Free {
    void operator()(evp_mac_ctx_st* context) const;
  };
  std::unique_ptr<evp_mac_ctx_st, Free> context_;
};

}  // namespace girdle::delivery
