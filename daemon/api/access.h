// Who asks: from where, by which name, with which token. Pure; time is an argument. On the server's thread.
//
// A loopback address may look without a token, over plain HTTP and by no proxy; nobody else may anything but what is
// for nobody. A token that is shown and wrong is refused, and never taken for none.
#pragma once

#include <boost/asio/ip/address.hpp>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "api/failed_tokens.h"
#include "api/guard.h"
#include "api/host_names.h"
#include "api/message.h"
#include "api/sessions.h"
#include "base/clock.h"
#include "base/digest.h"

namespace girdle::api {

struct KnownToken {
  int64_t id = 0;
  std::string name;
  Role role = Role::kLook;
  base::Digest digest{};  // SHA-256 of the token's text
  bool revoked = false;
};

// One connection's ends.
struct Peer {
  boost::asio::ip::address remote, local;
  bool tls = false;
  bool is_loopback() const { return plain_address(remote).is_loopback() && plain_address(local).is_loopback(); }
};

struct Asker {
  Caller caller;
  int64_t token = 0;  // its number; 0 = none was shown
  std::optional<base::Digest> session;
};

class Access {
 public:
  explicit Access(HostNames names) : names_(std::move(names)) {}

  void set_tokens(std::vector<KnownToken> tokens) { tokens_ = std::move(tokens); }

  // What refuses any request, whatever it asks: a Host that is none of ours, a page of another site.
  std::optional<Response> refuse(const Guarded& asked, const Peer& peer) const;

  // Something is shown that the tokens must be known for.
  static bool shows_credentials(const Guarded& asked, const Peer& peer);
  // Whether identify() would know the token; counts nothing.
  bool knows(const Guarded& asked) const;
  std::variant<Asker, Response> identify(const Guarded& asked, const Peer& peer, base::Millis now);
  // Whether who asked may still what they may: their token was not revoked, their session has not ended. Counts as use.
  bool is_still(const Asker& asker, base::Millis now);

  // A right token for the value of a Set-Cookie field.
  struct SignedIn {
    std::string cookie;
    Asker asker;
  };
  std::variant<SignedIn, Response> sign_in(std::string_view token, const Peer& peer, base::Millis now);
  // Of the session that a cookie names, if any: the value of the Set-Cookie field that ends it.
  std::string sign_out(const Guarded& asked, const Peer& peer);

  // CSRF: what a browser sends along by itself does not move anything. The request must come from our own page, which
  // Origin tells (RFC 6454 7.3), and have a field that no page of another origin can add without being asked for leave.
  static std::optional<Response> refuse_forged(const Guarded& asked, const Peer& peer);
  // The same for a request that has no cookie yet, or none that is right: only what Origin says, where it says
  // anything.
  static std::optional<Response> refuse_foreign(const Guarded& asked, const Peer& peer);

 private:
  std::variant<const KnownToken*, Response> check(std::string_view token, const Peer& peer, base::Millis now);
  const KnownToken* find(const base::Digest& shown) const;
  const KnownToken* find(int64_t id) const;
  std::variant<Asker, Response> by_session(const std::string& secret, const Peer& peer, base::Millis now);

  HostNames names_;
  std::vector<KnownToken> tokens_;
  FailedTokens failed_;
  Sessions sessions_;
};

// 401 with its challenge (RFC 6750 3): with `shown`, a token was, and is not right.
Response need_token(std::string_view detail, bool shown);
// 403: the role is too small.
Response need_role(Role needed, const Caller& caller);

// `__Host-girdle` over TLS, which a browser takes from this very host only (RFC 6265bis 4.1.3.2); `girdle` else.
std::string_view cookie_name(bool tls);

}  // namespace girdle::api
