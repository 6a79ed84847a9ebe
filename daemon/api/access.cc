#include "api/access.h"

#include <openssl/crypto.h>

#include <algorithm>
#include <utility>

#include "api/problem.h"
#include "base/text.h"

namespace girdle::api {
namespace {

bool is_same_word(std::string_view a, std::string_view b) {
  return std::ranges::equal(a, b, [](char x, char y) { return base::lower(x) == base::lower(y); });
}

// RFC 6750 2.1. Nothing: this is no such field.
std::optional<std::string_view> bearer_token(std::string_view field) {
  const size_t space = field.find(' ');
  if (space == std::string_view::npos || !is_same_word(field.substr(0, space), "Bearer")) return std::nullopt;
  const std::string_view token = base::trimmed(field.substr(space));
  if (token.empty()) return std::nullopt;
  return token;
}

struct Cookies {
  size_t count = 0;  // of ours
  std::string value;
};

// RFC 6265bis 4.2.1.
Cookies own_cookies(std::string_view field, bool tls) {
  Cookies found;
  while (!field.empty()) {
    const std::string_view pair = field.substr(0, field.find(';'));
    field.remove_prefix(std::min(field.size(), pair.size() + 1));
    const size_t sign = pair.find('=');
    if (sign == std::string_view::npos || base::trimmed(pair.substr(0, sign)) != cookie_name(tls)) continue;
    // Of two of them the order tells nothing (RFC 6265bis 5.8.3): neither is right.
    found.value = ++found.count == 1 ? base::trimmed(pair.substr(sign + 1)) : std::string_view();
  }
  return found;
}

// RFC 6265bis 5.5. Without Max-Age: it goes with the browser, and the server ends it before that.
std::string set_cookie(std::string_view value, bool tls, bool end) {
  std::string out(cookie_name(tls));
  out += '=';
  out += value;
  out += "; Path=/; HttpOnly; SameSite=Strict";
  if (tls) out += "; Secure";
  if (end) out += "; Max-Age=0";
  return out;
}

// RFC 6454 6.1. A proxy on this machine may speak TLS to the browser, and not to us.
bool is_own_origin(const Guarded& asked, const Peer& peer) {
  if (is_same_word(asked.origin, (peer.tls ? "https://" : "http://") + asked.host)) return true;
  return asked.is_forwarded && !peer.tls && is_same_word(asked.origin, "https://" + asked.host);
}

Response too_many(base::Millis for_how_long) {
  Response response =
      problem(429, "too many wrong tokens came from this address: wait, and look which program sends them");
  response.headers.emplace_back("Retry-After", std::to_string((for_how_long.count() + 999) / 1000));
  return response;
}

}  // namespace

std::string_view cookie_name(bool tls) { return tls ? "__Host-girdle" : "girdle"; }

Response need_token(std::string_view detail, bool shown) {
  Response response = problem(401, detail);
  response.headers.emplace_back("WWW-Authenticate",
                                shown ? R"(Bearer realm="girdle", error="invalid_token")" : R"(Bearer realm="girdle")");
  return response;
}

Response need_role(Role needed, const Caller& caller) {
  std::string detail = "this needs the role `" + std::string(text(needed)) + "`, and ";
  detail += caller.token.empty() ? "without a token one may only look"
                                 : "this token has `" + std::string(text(caller.role)) + "`";
  Response response = problem(403, detail);
  // RFC 6750 3.1.
  response.headers.emplace_back("WWW-Authenticate", R"(Bearer realm="girdle", error="insufficient_scope", scope=")" +
                                                        std::string(text(needed)) + '"');
  return response;
}

std::optional<Response> Access::refuse(const Guarded& asked, const Peer& peer) const {
  if (!names_.have(asked.host, peer.local)) {
    // RFC 9110 15.5.20.
    return problem(421, "this service is not called by this name: use its address, or have the name added to `hosts`");
  }
  // A page of another site may link here; it may not load, ask or post anything (Fetch Metadata, 2.4).
  const bool is_front_page = asked.request.method == Method::kGet && asked.request.path.empty();
  if (asked.fetch_site == "cross-site" && !is_front_page) {
    return problem(403, "the request comes from a page of another site");
  }
  return std::nullopt;
}

bool Access::shows_credentials(const Guarded& asked, const Peer& peer) {
  return !asked.authorization.empty() || own_cookies(asked.cookie, peer.tls).count > 0;
}

// All of them are compared, each in constant time, whichever is right.
const KnownToken* Access::find(const base::Digest& shown) const {
  const KnownToken* right = nullptr;
  for (const KnownToken& token : tokens_) {
    const bool is_same = CRYPTO_memcmp(token.digest.data(), shown.data(), shown.size()) == 0;
    right = is_same && !token.revoked ? &token : right;
  }
  return right;
}

const KnownToken* Access::find(int64_t id) const {
  const auto at = std::ranges::find(tokens_, id, &KnownToken::id);
  return at == tokens_.end() || at->revoked ? nullptr : &*at;
}

bool Access::knows(const Guarded& asked) const {
  const auto token = bearer_token(asked.authorization);
  return token && find(base::sha256(*token)) != nullptr;
}

std::variant<const KnownToken*, Response> Access::check(std::string_view token, const Peer& peer, base::Millis now) {
  const base::Digest shown = base::sha256(token);
  if (const auto wait = failed_.refused_for(peer.remote, shown, now)) return too_many(*wait);
  const KnownToken* const known = find(shown);
  if (known != nullptr) return known;
  failed_.add(peer.remote, shown, now);
  return need_token("this token is unknown, or it was revoked", true);
}

std::variant<Asker, Response> Access::by_session(const std::string& secret, const Peer& peer, base::Millis now) {
  const base::Digest digest = base::sha256(secret);
  const auto token = sessions_.use(digest, now);
  const KnownToken* const known = token ? find(*token) : nullptr;
  if (known != nullptr) return Asker{{known->role, known->name}, known->id, digest};
  sessions_.close(digest);
  Response response = need_token("the session has ended: sign in again", false);
  response.headers.emplace_back("Set-Cookie", set_cookie("", peer.tls, true));
  return response;
}

std::variant<Asker, Response> Access::identify(const Guarded& asked, const Peer& peer, base::Millis now) {
  if (!asked.authorization.empty()) {
    const auto token = bearer_token(asked.authorization);
    if (!token) return need_token("a token is shown as `Authorization: Bearer …`", true);
    auto checked = check(*token, peer, now);
    if (auto* const wrong = std::get_if<Response>(&checked)) return std::move(*wrong);
    const KnownToken& known = *std::get<const KnownToken*>(checked);
    return Asker{{known.role, known.name}, known.id, std::nullopt};
  }
  const Cookies cookies = own_cookies(asked.cookie, peer.tls);
  if (cookies.count > 0) {
    auto found = by_session(cookies.value, peer, now);
    if (std::holds_alternative<Response>(found)) return found;
    if (auto forged = refuse_forged(asked, peer)) return std::move(*forged);
    return found;
  }
  // TLS is spoken where others than this machine are to come, and a proxy on this machine speaks for others.
  if (peer.is_loopback() && !peer.tls && !asked.is_forwarded) return Asker{{Role::kLook, {}}, 0, std::nullopt};
  return Asker{};
}

bool Access::is_still(const Asker& asker, base::Millis now) {
  if (asker.token == 0) return true;
  if (asker.session && !sessions_.use(*asker.session, now)) return false;
  return find(asker.token) != nullptr;
}

std::variant<Access::SignedIn, Response> Access::sign_in(std::string_view token, const Peer& peer, base::Millis now) {
  auto checked = check(token, peer, now);
  if (auto* const wrong = std::get_if<Response>(&checked)) return std::move(*wrong);
  const KnownToken& known = *std::get<const KnownToken*>(checked);
  const auto secret = sessions_.open(known.id, now);
  if (!secret) return problem(503, "the system has no random numbers");
  return SignedIn{set_cookie(*secret, peer.tls, false), {{known.role, known.name}, known.id, base::sha256(*secret)}};
}

std::string Access::sign_out(const Guarded& asked, const Peer& peer) {
  const Cookies cookies = own_cookies(asked.cookie, peer.tls);
  if (cookies.count > 0) sessions_.close(base::sha256(cookies.value));
  return set_cookie("", peer.tls, true);
}

std::optional<Response> Access::refuse_forged(const Guarded& asked, const Peer& peer) {
  if (asked.request.method == Method::kGet) return std::nullopt;  // RFC 9110 9.2.1: changes nothing
  if (!is_own_origin(asked, peer) || asked.console != "1") {
    return problem(
        403,
        "a request with a cookie comes from the console's own page, with its Origin and `Girdle-Console: 1`; "
        "a program shows its token instead");
  }
  return std::nullopt;
}

std::optional<Response> Access::refuse_foreign(const Guarded& asked, const Peer& peer) {
  if (asked.origin.empty() || is_own_origin(asked, peer)) return std::nullopt;
  return problem(403, "the request comes from a page of another site");
}

}  // namespace girdle::api
