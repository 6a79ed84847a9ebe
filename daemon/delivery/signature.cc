#include "delivery/signature.h"

#include <fcntl.h>
#include <openssl/crypto.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <charconv>

#include "base/text.h"
#include "delivery/base64.h"

namespace girdle::delivery {
namespace {

constexpr std::string_view kPrefix = "whsec_";
constexpr size_t kMostInFile = 4096;  // bytes
constexpr size_t kSecretsInFile = 2;
constexpr std::string_view kRight =
    "a secret is `whsec_` and the padded base64 of 24 to 64 random bytes";

// Where the file's text passes through; overwritten when it goes.
struct Scratch {
  std::array<char, kMostInFile + 1> bytes{};
  size_t size = 0;
  ~Scratch() { OPENSSL_cleanse(bytes.data(), bytes.size()); }
};

struct Descriptor {
  int number;
  ~Descriptor() {
    if (number >= 0) ::close(number);
  }
};

base::Result<void> read_private(const std::filesystem::path& path, Scratch& scratch) {
  const Descriptor file{::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK)};
  struct stat status {};
  if (file.number < 0 || ::fstat(file.number, &status) != 0) {
    return base::environment_error(path.string() + ": cannot be read: " + base::errno_text(errno));
  }
  if (!S_ISREG(status.st_mode)) {
    return base::input_error(path.string() +
                             ": is no plain file; a secret file holds one secret a line");
  }
  if ((status.st_mode & (S_IRWXG | S_IRWXO)) != 0) {
    return base::input_error(
        path.string() + ": others than its owner may use this secret; make it private: chmod 600");
  }
  while (scratch.size < scratch.bytes.size()) {
    const ssize_t got = ::read(file.number, scratch.bytes.data() + scratch.size,
                               scratch.bytes.size() - scratch.size);
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) {
      return base::environment_error(path.string() +
                                     ": cannot be read: " + base::errno_text(errno));
    }
    if (got == 0) return {};
    scratch.size += static_cast<size_t>(got);
  }
  return base::input_error(path.string() + ": is longer than any secret; " + std::string(kRight));
}

}  // namespace

base::Result<Secret> Secret::parse(std::string_view text) {
  const auto wrong = [] {
    return base::input_error(std::string("is no secret; ") + std::string(kRight));
  };
  if (!text.starts_with(kPrefix)) return wrong();
  Secret secret;
  const auto size = decode_base64(text.substr(kPrefix.size()), secret.bytes_);
  if (!size || *size < kLeast) return wrong();
  secret.size_ = *size;
  return secret;
}

Secret::Secret(Secret&& other) noexcept { *this = std::move(other); }

Secret& Secret::operator=(Secret&& other) noexcept {
  if (this == &other) return *this;
  bytes_ = other.bytes_;
  size_ = other.size_;
  OPENSSL_cleanse(other.bytes_.data(), other.bytes_.size());
  other.size_ = 0;
  return *this;
}

Secret::~Secret() { OPENSSL_cleanse(bytes_.data(), bytes_.size()); }

base::Result<std::vector<Secret>> load_secrets(const std::filesystem::path& path) {
  Scratch scratch;
  if (auto read = read_private(path, scratch); !read) return std::move(read.error());
  std::string_view rest(scratch.bytes.data(), scratch.size);
  std::vector<Secret> secrets;
  for (int line = 1; !rest.empty(); ++line) {
    const size_t end = rest.find('\n');
    const std::string_view text = base::trimmed(rest.substr(0, end));
    rest = end == std::string_view::npos ? std::string_view() : rest.substr(end + 1);
    if (text.empty()) continue;
    auto secret = Secret::parse(text);
    if (!secret) {
      return base::input_error(path.string() + ":" + std::to_string(line) +
                               ":1: " + secret.error().text);
    }
    secrets.push_back(std::move(secret).value());
  }
  if (secrets.empty())
    return base::input_error(path.string() + ": is empty; " + std::string(kRight));
  if (secrets.size() > kSecretsInFile) {
    return base::input_error(path.string() +
                             ": holds more than two secrets; one, or during a rotation two");
  }
  return secrets;
}

Signer::Signer(const std::vector<Secret>& secrets) {
  for (const Secret& secret : secrets) keys_.emplace_back(secret.bytes());
}

void Signer::append(std::string& out, std::string_view id, std::string_view timestamp,
                    std::string_view body) const {
  std::string_view mark = "v1,";
  for (const HmacSha256& key : keys_) {
    out += mark;
    append_base64(out, key({id, ".", timestamp, ".", body}));
    mark = " v1,";
  }
}

bool Signer::accepts(std::string_view signatures, std::string_view id, std::string_view timestamp,
                     std::string_view body) const {
  bool good = false;
  for (const HmacSha256& key : keys_) {
    const base::Digest right = key({id, ".", timestamp, ".", body});
    for (std::string_view rest = signatures; !rest.empty();) {
      const size_t end = rest.find(' ');
      const std::string_view one = rest.substr(0, end);
      rest = end == std::string_view::npos ? std::string_view() : rest.substr(end + 1);
      base::Digest given{};
      if (!one.starts_with("v1,") || decode_base64(one.substr(3), given) != given.size()) continue;
      good |= CRYPTO_memcmp(given.data(), right.data(), right.size()) == 0;
    }
  }
  return good;
}

base::Result<void> verify(const Signer& signer, const SignedMessage& message, base::Instant now,
                          std::chrono::seconds tolerance) {
  if (message.id.empty()) return base::input_error("webhook-id is missing");
  int64_t seconds = 0;
  const char* const end = message.timestamp.data() + message.timestamp.size();
  const auto read = std::from_chars(message.timestamp.data(), end, seconds);
  if (read.ec != std::errc() || read.ptr != end || seconds < 0) {
    return base::input_error("webhook-timestamp is not a whole number of seconds");
  }
  const int64_t here = base::to_millis(now) / 1000;
  if (seconds < here - tolerance.count()) return base::input_error("webhook-timestamp is too old");
  if (seconds > here + tolerance.count()) {
    return base::input_error("webhook-timestamp is in the future; compare the two clocks");
  }
  if (!signer.accepts(message.signatures, message.id, message.timestamp, message.body)) {
    return base::input_error("webhook-signature does not fit the message and the secret");
  }
  return {};
}

}  // namespace girdle::delivery
