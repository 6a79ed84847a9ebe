#include "delivery/secret_file.h"

#include <fcntl.h>
#include <openssl/crypto.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <string>
#include <utility>

#include "base/descriptor.h"
#include "base/text.h"

namespace girdle::delivery {
namespace {

constexpr size_t kMostOfAKind = 2;

// Where the file's text passes through; overwritten when it goes.
struct Scratch {
  explicit Scratch(size_t limit) : bytes(new char[limit + 1]), room(limit + 1) {}
  ~Scratch() { OPENSSL_cleanse(bytes.get(), room); }
  Scratch(const Scratch&) = delete;
  std::unique_ptr<char[]> bytes;
  size_t room;
  size_t size = 0;
};

base::Error unreadable(const config::SecretFile& file) {
  return base::environment_error(file.path.string() +
                                 ": cannot be read: " + base::errno_text(errno));
}

base::Error wrong(const config::SecretFile& file, std::string_view what) {
  return base::input_error(file.path.string() + ": " + std::string(what));
}

base::Result<void> check_file(const config::SecretFile& file, const struct stat& status) {
  if (!S_ISREG(status.st_mode)) return wrong(file, "is no plain file; a secret stands in one");
  const bool open_to_others = (status.st_mode & (S_IRWXG | S_IRWXO)) != 0;
  if (open_to_others && !file.is_credential) {
    return wrong(file, "others than its owner may use this secret; make it private: chmod 600");
  }
  return {};
}

base::Error wrong_line(const config::SecretFile& file, int line, const std::string& what) {
  return base::input_error(file.path.string() + ":" + std::to_string(line) + ":1: " + what);
}

base::Result<void> check_signing_secrets(const config::SecretFile& file,
                                         const std::vector<Secret>& secrets) {
  if (secrets.empty()) return wrong(file, "is empty; " + std::string(Secret::kRight));
  for (const auto kind : {Secret::Kind::kShared, Secret::Kind::kPrivate}) {
    const auto of_kind = std::count_if(secrets.begin(), secrets.end(),
                                       [&](const Secret& one) { return one.kind() == kind; });
    if (static_cast<size_t>(of_kind) > kMostOfAKind) {
      return wrong(file, "holds more than two secrets of a kind; one, or during a rotation two");
    }
  }
  return {};
}

}  // namespace

SecretBytes::SecretBytes(std::string_view bytes) : SecretBytes({bytes}) {}

SecretBytes::SecretBytes(std::initializer_list<std::string_view> parts) {
  for (const std::string_view part : parts) size_ += part.size();
  bytes_.reset(new char[std::max<size_t>(size_, 1)]);
  char* at = bytes_.get();
  for (const std::string_view part : parts) at = std::copy(part.begin(), part.end(), at);
}

SecretBytes::SecretBytes(SecretBytes&& other) noexcept
    : bytes_(std::move(other.bytes_)), size_(std::exchange(other.size_, 0)) {}

SecretBytes& SecretBytes::operator=(SecretBytes&& other) noexcept {
  std::swap(bytes_, other.bytes_);
  std::swap(size_, other.size_);
  return *this;
}

SecretBytes::~SecretBytes() {
  if (bytes_) OPENSSL_cleanse(bytes_.get(), size_);
}

base::Result<SecretBytes> read_secret_file(const config::SecretFile& file, size_t limit) {
  const base::Descriptor opened(::open(file.path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK));
  struct stat status {};
  if (!opened || ::fstat(opened.get(), &status) != 0) return unreadable(file);
  if (auto checked = check_file(file, status); !checked) return std::move(checked.error());
  Scratch scratch(limit);
  while (scratch.size < scratch.room) {
    const ssize_t got =
        ::read(opened.get(), scratch.bytes.get() + scratch.size, scratch.room - scratch.size);
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) return unreadable(file);
    if (got == 0) return SecretBytes(std::string_view(scratch.bytes.get(), scratch.size));
    scratch.size += static_cast<size_t>(got);
  }
  return wrong(file, "is longer than any secret (" + std::to_string(limit) + " bytes)");
}

base::Result<SecretBytes> load_secret_line(const config::SecretFile& file) {
  auto bytes = read_secret_file(file);
  if (!bytes) return bytes;
  const std::string_view line = base::trimmed(bytes->view());
  if (line.empty()) return wrong(file, "is empty; it holds one secret in one line");
  if (line.find('\n') != std::string_view::npos) {
    return wrong(file, "has more than one line; it holds one secret in one line");
  }
  if (!base::is_utf8(line) || std::ranges::any_of(line, base::is_control)) {
    return wrong(file, "has bytes that are no text; a secret is UTF-8 without control characters");
  }
  return SecretBytes(line);
}

base::Result<std::vector<Secret>> load_signing_secrets(const config::SecretFile& file) {
  auto bytes = read_secret_file(file);
  if (!bytes) return std::move(bytes.error());
  std::string_view rest = bytes->view();
  std::vector<Secret> secrets;
  for (int line = 1; !rest.empty(); ++line) {
    const size_t end = rest.find('\n');
    const std::string_view text = base::trimmed(rest.substr(0, end));
    rest = end == std::string_view::npos ? std::string_view() : rest.substr(end + 1);
    if (text.empty()) continue;
    auto secret = Secret::parse(text);
    if (!secret) return wrong_line(file, line, secret.error().text);
    if (secret->kind() == Secret::Kind::kPublic) {
      return wrong_line(
          file, line,
          "is the receiver's half of a key, which signs nothing; " + std::string(Secret::kRight));
    }
    secrets.push_back(std::move(secret).value());
  }
  if (auto checked = check_signing_secrets(file, secrets); !checked) {
    return std::move(checked.error());
  }
  return secrets;
}

}  // namespace girdle::delivery
