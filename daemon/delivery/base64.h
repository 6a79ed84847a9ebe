// Base64 (RFC 4648 section 4: padded, no line breaks), as Standard Webhooks writes secrets and
// signatures.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>

namespace girdle::delivery {

void append_base64(std::string& out, std::span<const uint8_t> bytes);

// The number of bytes written to `out`. Nothing unless the whole text is canonical base64 (padding
// there, no other character, unused bits zero) and fits.
std::optional<size_t> decode_base64(std::string_view text, std::span<uint8_t> out);

}  // namespace girdle::delivery
