// Secrets from files, and from credentials that systemd hands over. Their bytes are overwritten
// when they go; no text of ours ever contains any of them.
#pragma once

#include <cstddef>
#include <initializer_list>
#include <memory>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "config/settings.h"
#include "delivery/signature.h"

namespace girdle::delivery {

// Bytes that are overwritten when they go.
class SecretBytes {
 public:
  SecretBytes() = default;
  explicit SecretBytes(std::string_view bytes);
  // The parts one after another, without a copy of them elsewhere.
  explicit SecretBytes(std::initializer_list<std::string_view> parts);
  SecretBytes(SecretBytes&& other) noexcept;
  SecretBytes& operator=(SecretBytes&& other) noexcept;
  ~SecretBytes();

  std::string_view view() const { return {bytes_.get(), size_}; }

 private:
  std::unique_ptr<char[]> bytes_;
  size_t size_ = 0;
};

// The file's bytes as they are. Refuses a file that others than its owner may read, unless it is a
// credential (systemd guards those in its own way), one of more than `limit` bytes, and what is no
// plain file. The error names the file.
base::Result<SecretBytes> read_secret_file(const config::SecretFile& file, size_t limit = 4096);

// A secret in one line: a token, a password. UTF-8 without control characters; spaces around it,
// and the line's end, do not belong to it.
base::Result<SecretBytes> load_secret_line(const config::SecretFile& file);

// The secrets of signatures, one a line: at most two `whsec_…` and two `whsk_…`, of each the new
// one first.
base::Result<std::vector<Secret>> load_signing_secrets(const config::SecretFile& file);

}  // namespace girdle::delivery
