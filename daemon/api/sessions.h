// Browsers that have signed in. In memory only, by the digest of what the cookie holds: a restart signs everybody out.
// Pure; time is an argument.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>

#include "base/clock.h"
#include "base/digest.h"

namespace girdle::api {

class Sessions {
 public:
  static constexpr size_t kMost = 1'000;  // the oldest goes
  static constexpr base::Millis kLife = std::chrono::hours(12);
  static constexpr base::Millis kIdle = std::chrono::hours(1);

  // What the cookie holds: 32 random bytes, base64url (RFC 4648 section 5). Nothing where the system has none.
  std::optional<std::string> open(int64_t token, base::Millis now);
  // The number of the token that it was opened with, and that it is used now. Nothing: there is no such session any
  // more. The look-up is by the digest of 256 random bits, so that how long it takes tells nothing of use.
  std::optional<int64_t> use(const base::Digest& secret, base::Millis now);
  void close(const base::Digest& secret) { sessions_.erase(secret); }
  size_t size() const { return sessions_.size(); }

 private:
  struct Session {
    int64_t token = 0;
    base::Millis made{}, used{};
    bool has_ended(base::Millis now) const { return now - made >= kLife || now - used >= kIdle; }
  };
  void make_room(base::Millis now);
  std::map<base::Digest, Session> sessions_;
};

}  // namespace girdle::api
