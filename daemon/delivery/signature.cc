#include "delivery/signature.h"

#include <openssl/crypto.h>

#include <algorithm>
#include <charconv>

#include "delivery/base64.h"

namespace girdle::delivery {
namespace {

struct Prefix {
  std::string_view text;
  Secret::Kind kind;
};
constexpr Prefix kPrefixes[] = {{"whsec_", Secret::Kind::kShared},
                                {"whsk_", Secret::Kind::kPrivate},
                                {"whpk_", Secret::Kind::kPublic}};
constexpr std::string_view kShared = "v1,", kPaired = "v1a,";

// Calls `look` with each text between spaces.
template <class Look>
void each_word(std::string_view text, const Look& look) {
  while (!text.empty()) {
    const size_t end = text.find(' ');
    look(text.substr(0, end));
    text = end == std::string_view::npos ? std::string_view() : text.substr(end + 1);
  }
}

std::span<const uint8_t, Ed25519::kSeed> thirty_two(std::span<const uint8_t> bytes) {
  return bytes.first<Ed25519::kSeed>();
}

}  // namespace

base::Result<Secret> Secret::parse(std::string_view text) {
  Secret secret;
  const auto prefix = std::find_if(std::begin(kPrefixes), std::end(kPrefixes),
                                   [&](const Prefix& one) { return text.starts_with(one.text); });
  if (prefix != std::end(kPrefixes)) {
    secret.kind_ = prefix->kind;
    secret.size_ = decode_base64(text.substr(prefix->text.size()), secret.bytes_).value_or(0);
    if (secret.is_right()) return secret;
  }
  return base::input_error("is no secret; " + std::string(kRight));
}

// Leaves of a private key written with its public half the seed alone.
bool Secret::is_right() {
  switch (kind_) {
    case Kind::kShared:
      return size_ >= kLeast;
    case Kind::kPublic:
      return size_ == Ed25519::kPublic;
    case Kind::kPrivate:
      break;
  }
  if (size_ == Ed25519::kSeed) return true;
  if (size_ != Ed25519::kSeed + Ed25519::kPublic) return false;
  const auto half = Ed25519::from_seed(thirty_two(bytes())).public_key();
  size_ = Ed25519::kSeed;
  return std::equal(half.begin(), half.end(), bytes_.begin() + Ed25519::kSeed);
}

Secret::Secret(Secret&& other) noexcept { *this = std::move(other); }

Secret& Secret::operator=(Secret&& other) noexcept {
  if (this == &other) return *this;
  kind_ = other.kind_;
  bytes_ = other.bytes_;
  size_ = other.size_;
  OPENSSL_cleanse(other.bytes_.data(), other.bytes_.size());
  other.size_ = 0;
  return *this;
}

Secret::~Secret() { OPENSSL_cleanse(bytes_.data(), bytes_.size()); }

Signer::Signer(const std::vector<Secret>& secrets) {
  for (const Secret& secret : secrets) {
    if (secret.kind() == Secret::Kind::kShared) {
      keys_.push_back({secret.kind(), hmacs_.size()});
      hmacs_.emplace_back(secret.bytes());
    } else if (secret.kind() == Secret::Kind::kPrivate) {
      keys_.push_back({secret.kind(), pairs_.size()});
      pairs_.push_back(Ed25519::from_seed(thirty_two(secret.bytes())));
    } else if (auto half = Ed25519::from_public(thirty_two(secret.bytes()))) {
      keys_.push_back({secret.kind(), pairs_.size()});
      pairs_.push_back(std::move(*half));
    }
  }
}

bool Signer::empty() const {
  return std::all_of(keys_.begin(), keys_.end(),
                     [](const Key& key) { return key.kind == Secret::Kind::kPublic; });
}

std::string_view Signer::joined(std::string_view id, std::string_view timestamp,
                                std::string_view body) const {
  joined_.assign(id).append(1, '.').append(timestamp).append(1, '.').append(body);
  return joined_;
}

void Signer::append(std::string& out, std::string_view id, std::string_view timestamp,
                    std::string_view body) const {
  std::string_view between;
  for (const Key& key : keys_) {
    if (key.kind == Secret::Kind::kPublic) continue;
    out += between;
    between = " ";
    if (key.kind == Secret::Kind::kShared) {
      out += kShared;
      append_base64(out, hmacs_[key.number]({id, ".", timestamp, ".", body}));
    } else {
      out += kPaired;
      append_base64(out, pairs_[key.number].sign(joined(id, timestamp, body)));
    }
  }
}

bool Signer::accepts_shared(std::string_view signatures, const base::Digest& right) const {
  bool good = false;
  each_word(signatures, [&](std::string_view one) {
    base::Digest given{};
    if (!one.starts_with(kShared)) return;
    if (decode_base64(one.substr(kShared.size()), given) != given.size()) return;
    good |= CRYPTO_memcmp(given.data(), right.data(), right.size()) == 0;
  });
  return good;
}

bool Signer::accepts(std::string_view signatures, std::string_view id, std::string_view timestamp,
                     std::string_view body) const {
  bool good = false;
  for (const HmacSha256& key : hmacs_) {
    good |= accepts_shared(signatures, key({id, ".", timestamp, ".", body}));
  }
  if (pairs_.empty()) return good;
  const std::string_view message = joined(id, timestamp, body);
  each_word(signatures, [&](std::string_view one) {
    Ed25519::Signature given{};
    if (!one.starts_with(kPaired)) return;
    if (decode_base64(one.substr(kPaired.size()), given) != given.size()) return;
    for (const Ed25519& pair : pairs_) good |= pair.verify(message, given);
  });
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
