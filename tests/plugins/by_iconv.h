// The C library's own tables of encodings, as a reference for ours.
#pragma once

#include <gtest/gtest.h>
#include <iconv.h>

#include <optional>
#include <string>

namespace girdle::plugins_test {

// The UTF-8 of `bytes`; nothing where the C library has no character for them, or for a part.
inline std::optional<std::string> by_iconv(const char* from, std::string bytes) {
  const iconv_t handle = iconv_open("UTF-8", from);
  EXPECT_NE(handle, reinterpret_cast<iconv_t>(-1)) << from;
  char out[64];
  char* in_at = bytes.data();
  char* out_at = out;
  size_t in_left = bytes.size();
  size_t out_left = sizeof out;
  const bool good =
      iconv(handle, &in_at, &in_left, &out_at, &out_left) != static_cast<size_t>(-1) &&
      iconv(handle, nullptr, nullptr, &out_at, &out_left) != static_cast<size_t>(-1);
  iconv_close(handle);
  if (!good) return std::nullopt;
  return std::string(out, out_at);
}

}  // namespace girdle::plugins_test
