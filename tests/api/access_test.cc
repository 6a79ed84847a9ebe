#include "api/access.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

namespace girdle::api {
namespace {

using testing::HasSubstr;
using testing::MatchesRegex;
using testing::Not;
using namespace std::chrono_literals;

const std::string kLookToken = "gt_lookAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA";
const std::string kWorkToken = "gt_workAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA";
const std::string kOldToken = "gt_oldAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA";

Peer peer(const char* remote = "127.0.0.1", const char* local = "127.0.0.1", bool tls = false) {
  return {boost::asio::ip::make_address(remote), boost::asio::ip::make_address(local), tls};
}

Guarded get(std::string host = "localhost:80") {
  Guarded asked;
  asked.request.path = {"api"};
  asked.host = std::move(host);
  return asked;
}

Guarded with_token(const std::string& token) {
  Guarded asked = get();
  asked.authorization = "Bearer " + token;
  return asked;
}

std::string header(const Response& response, std::string_view name) {
  const auto at =
      std::ranges::find(response.headers, name, [](const auto& field) -> std::string_view { return field.first; });
  return at == response.headers.end() ? "" : at->second;
}

class AccessTest : public testing::Test {
 protected:
  AccessTest() { access_.set_tokens(tokens()); }

  static std::vector<KnownToken> tokens() {
    return {{1, "wall", Role::kLook, base::sha256(kLookToken), false},
            {2, "till", Role::kWork, base::sha256(kWorkToken), false},
            {3, "gone", Role::kAdmin, base::sha256(kOldToken), true}};
  }

  // The role, or the status with which it is refused.
  std::string asks(const Guarded& asked, const Peer& from = peer()) {
    auto found = access_.identify(asked, from, now_);
    if (auto* const refused = std::get_if<Response>(&found)) return std::to_string(refused->status);
    const Caller& caller = std::get<Asker>(found).caller;
    return std::string(text(caller.role)) + (caller.token.empty() ? "" : " " + caller.token);
  }

  std::string cookie_of(const std::string& token, const Peer& from = peer()) {
    auto done = access_.sign_in(token, from, now_);
    if (std::holds_alternative<Response>(done)) return {};
    const std::string set = std::get<Access::SignedIn>(done).cookie;
    return set.substr(0, set.find(';'));
  }

  Guarded with_cookie(std::string cookie, Method method = Method::kGet) {
    Guarded asked = get();
    asked.request.method = method;
    asked.cookie = std::move(cookie);
    return asked;
  }

  base::Millis now_{1'000'000};
  Access access_{HostNames({.tls = false, .port = 80, .hosts = {"till.shop"}, .certificate = {}})};
};

TEST_F(AccessTest, LetsLoopbackLookWithoutAToken) {
  EXPECT_EQ(asks(get()), "look");
  EXPECT_EQ(asks(get(), peer("::1", "::1")), "look");
  EXPECT_EQ(asks(get(), peer("::ffff:127.0.0.1", "::ffff:127.0.0.1")), "look");
}

TEST_F(AccessTest, LetsNobodyElseInWithoutAToken) {
  EXPECT_EQ(asks(get(), peer("192.168.1.9", "192.168.1.5", true)), "nobody");
  EXPECT_EQ(asks(get(), peer("192.168.1.5", "192.168.1.5", true)), "nobody");  // this machine, by its other address
}

// Where TLS is spoken others than this machine are to come, perhaps through a proxy on it.
TEST_F(AccessTest, LetsNobodyLookOverTlsWithoutAToken) {
  EXPECT_EQ(asks(get(), peer("127.0.0.1", "127.0.0.1", true)), "nobody");
}

// RFC 7239, RFC 9110 7.6.3.
TEST_F(AccessTest, TakesWhoeverAProxyBringsForSomebodyElse) {
  Guarded asked = get();
  asked.is_forwarded = true;
  EXPECT_EQ(asks(asked), "nobody");
  asked.authorization = "Bearer " + kLookToken;
  EXPECT_EQ(asks(asked), "look wall");
}

TEST_F(AccessTest, KnowsWhoseATokenIs) {
  EXPECT_EQ(asks(with_token(kLookToken)), "look wall");
  EXPECT_EQ(asks(with_token(kWorkToken), peer("192.168.1.9", "192.168.1.5", true)), "work till");
  Guarded asked = get();
  asked.authorization = "bearer  " + kWorkToken;  // RFC 9110 11.1: schemes have no case
  EXPECT_EQ(asks(asked), "work till");
}

TEST_F(AccessTest, NeverTakesAWrongTokenForNone) {
  EXPECT_EQ(asks(with_token("gt_wrong")), "401");
  EXPECT_EQ(asks(with_token(kOldToken)), "401");
  EXPECT_EQ(asks(with_token(kWorkToken + "x")), "401");
  EXPECT_EQ(asks(with_token(kWorkToken.substr(1))), "401");
  for (const char* wrong : {"Basic YTpi", "Bearer", "Bearer ", "gt_x", ""}) {
    Guarded asked = get();
    asked.authorization = wrong;
    EXPECT_EQ(asks(asked), *wrong == '\0' ? "look" : "401") << wrong;
  }
}

TEST_F(AccessTest, ChallengesWithBearer) {
  auto refused = access_.identify(with_token("gt_wrong"), peer(), now_);
  EXPECT_THAT(header(std::get<Response>(refused), "WWW-Authenticate"),
              HasSubstr("error=\"invalid_token\""));  // RFC 6750 3.1
  EXPECT_EQ(header(need_token("", false), "WWW-Authenticate"),
            "Bearer realm=\"girdle\"");  // no error code where none was shown
  EXPECT_THAT(need_role(Role::kAdmin, {Role::kWork, "till"}).body, HasSubstr("`admin`"));
}

TEST_F(AccessTest, RefusesANameThatIsNoneOfOurs) {
  // DNS rebinding: the address is ours, and the page is another site's.
  EXPECT_EQ(access_.refuse(get("evil.example"), peer())->status, 421);
  EXPECT_EQ(access_.refuse(get("evil.example:80"), peer())->status, 421);
  EXPECT_FALSE(access_.refuse(get("localhost:80"), peer()));
  EXPECT_FALSE(access_.refuse(get("till.shop"), peer()));
}

TEST_F(AccessTest, RefusesWhatAPageOfAnotherSiteLoads) {
  Guarded asked = get();
  asked.fetch_site = "cross-site";
  EXPECT_EQ(access_.refuse(asked, peer())->status, 403);
  asked.request.path.clear();
  EXPECT_FALSE(access_.refuse(asked, peer()));  // a link to the console
  asked.request.method = Method::kPost;
  EXPECT_EQ(access_.refuse(asked, peer())->status, 403);
  asked = get();
  asked.fetch_site = "same-origin";
  EXPECT_FALSE(access_.refuse(asked, peer()));
}

TEST_F(AccessTest, GivesACookieForAToken) {
  auto done = access_.sign_in(kWorkToken, peer(), now_);
  // RFC 6265bis 5.5, 4.1.3.2. 43 letters: 32 bytes.
  EXPECT_THAT(std::get<Access::SignedIn>(done).cookie,
              MatchesRegex("girdle=[A-Za-z0-9_-]{43}; Path=/; HttpOnly; SameSite=Strict"));
  auto over_tls = access_.sign_in(kWorkToken, peer("10.0.0.2", "10.0.0.1", true), now_);
  EXPECT_THAT(std::get<Access::SignedIn>(over_tls).cookie,
              MatchesRegex("__Host-girdle=[A-Za-z0-9_-]{43}; Path=/; HttpOnly; SameSite=Strict; Secure"));
}

TEST_F(AccessTest, KnowsWhoSignedIn) {
  const std::string cookie = cookie_of(kWorkToken);
  EXPECT_EQ(asks(with_cookie(cookie)), "work till");
  EXPECT_EQ(asks(with_cookie("a=b; " + cookie + "; c=d")), "work till");
  EXPECT_EQ(asks(with_cookie("a=b")), "look");  // other cookies are of no interest
  EXPECT_EQ(asks(with_cookie("girdle=x")), "401");
  EXPECT_EQ(asks(with_cookie(cookie + "; girdle=x")), "401");
  EXPECT_EQ(asks(with_cookie("girdle=x; " + cookie)), "401");
  EXPECT_EQ(asks(with_cookie("__Host-" + cookie)), "look");  // over plain HTTP it is none of ours
}

TEST_F(AccessTest, ClearsACookieThatIsWrong) {
  auto refused = access_.identify(with_cookie("girdle=x"), peer(), now_);
  EXPECT_EQ(header(std::get<Response>(refused), "Set-Cookie"), "girdle=; Path=/; HttpOnly; SameSite=Strict; Max-Age=0");
}

TEST_F(AccessTest, WantsARequestThatMovesAnythingToComeFromTheConsole) {
  const std::string cookie = cookie_of(kWorkToken);
  Guarded asked = with_cookie(cookie, Method::kPost);
  EXPECT_EQ(asks(asked), "403");
  asked.console = "1";
  EXPECT_EQ(asks(asked), "403");
  asked.origin = "http://evil.example";
  EXPECT_EQ(asks(asked), "403");
  asked.origin = "null";
  EXPECT_EQ(asks(asked), "403");
  asked.origin = "https://localhost:80";
  asked.is_forwarded = true;  // by a proxy on this machine that speaks TLS to the browser
  EXPECT_EQ(asks(asked), "work till");
  asked.is_forwarded = false;
  EXPECT_EQ(asks(asked), "403");
  asked.origin = "http://localhost:80";
  EXPECT_EQ(asks(asked), "work till");
  asked.console = "0";
  EXPECT_EQ(asks(asked), "403");
  asked.request.method = Method::kDelete;
  EXPECT_EQ(asks(asked), "403");
  asked.request.method = Method::kGet;
  EXPECT_EQ(asks(asked), "work till");
}

TEST_F(AccessTest, DoesNotWantThatOfAToken) {
  Guarded asked = with_token(kWorkToken);
  asked.request.method = Method::kPost;
  EXPECT_EQ(asks(asked), "work till");
}

TEST_F(AccessTest, EndsASessionAfterAnHourWithoutUse) {
  const std::string cookie = cookie_of(kWorkToken);
  now_ += 59min;
  EXPECT_EQ(asks(with_cookie(cookie)), "work till");
  now_ += 59min;
  EXPECT_EQ(asks(with_cookie(cookie)), "work till");
  now_ += 60min;
  EXPECT_EQ(asks(with_cookie(cookie)), "401");
}

TEST_F(AccessTest, EndsASessionAfterTwelveHours) {
  const std::string cookie = cookie_of(kWorkToken);
  for (int i = 0; i < 23; ++i) {
    now_ += 30min;
    EXPECT_EQ(asks(with_cookie(cookie)), "work till");
  }
  now_ += 30min;
  EXPECT_EQ(asks(with_cookie(cookie)), "401");
}

TEST_F(AccessTest, EndsASessionWithItsToken) {
  const std::string cookie = cookie_of(kWorkToken);
  auto known = tokens();
  known[1].revoked = true;
  access_.set_tokens(known);
  EXPECT_EQ(asks(with_cookie(cookie)), "401");
  access_.set_tokens(tokens());
  EXPECT_EQ(asks(with_cookie(cookie)), "401");  // for good
}

TEST_F(AccessTest, SignsOut) {
  const std::string cookie = cookie_of(kWorkToken);
  EXPECT_EQ(access_.sign_out(with_cookie(cookie), peer()), "girdle=; Path=/; HttpOnly; SameSite=Strict; Max-Age=0");
  EXPECT_EQ(asks(with_cookie(cookie)), "401");
}

TEST_F(AccessTest, TellsWhetherAListenerMayStillListen) {
  auto done = access_.sign_in(kLookToken, peer(), now_);
  const Asker by_session = std::get<Access::SignedIn>(done).asker;
  const Asker by_token = std::get<Asker>(access_.identify(with_token(kLookToken), peer(), now_));
  const Asker by_nothing = std::get<Asker>(access_.identify(get(), peer(), now_));
  for (int i = 0; i < 11; ++i) {
    now_ += 59min;  // listening is use
    EXPECT_TRUE(access_.is_still(by_session, now_));
  }
  now_ += 2h;
  EXPECT_FALSE(access_.is_still(by_session, now_));
  EXPECT_TRUE(access_.is_still(by_token, now_));
  access_.set_tokens({});
  EXPECT_FALSE(access_.is_still(by_token, now_));
  EXPECT_TRUE(access_.is_still(by_nothing, now_));
}

TEST_F(AccessTest, LimitsWrongTokensOfAnAddress) {
  const Peer guesser = peer("10.0.0.9", "10.0.0.1", true);
  for (int i = 0; i < 10; ++i) EXPECT_EQ(asks(with_token("gt_" + std::to_string(i)), guesser), "401");
  auto refused = access_.identify(with_token("gt_more"), guesser, now_);
  EXPECT_EQ(std::get<Response>(refused).status, 429);  // RFC 6585 section 4
  EXPECT_EQ(header(std::get<Response>(refused), "Retry-After"), "60");
  EXPECT_EQ(asks(with_token(kWorkToken), guesser), "429");  // a right one too
  EXPECT_TRUE(std::holds_alternative<Response>(access_.sign_in(kWorkToken, guesser, now_)));
  EXPECT_EQ(asks(with_token(kWorkToken), peer("10.0.0.8", "10.0.0.1", true)), "work till");  // others notice nothing
  EXPECT_EQ(asks(get(), guesser), "nobody");
  now_ += 60s;
  EXPECT_EQ(asks(with_token(kWorkToken), guesser), "work till");
}

TEST_F(AccessTest, DoesNotShutOutATillForAnotherThatShowsAnOldToken) {
  for (int i = 0; i < 10; ++i) EXPECT_EQ(asks(with_token(kOldToken)), "401");
  EXPECT_EQ(asks(with_token(kOldToken)), "429");
  EXPECT_EQ(asks(with_token(kWorkToken)), "work till");
}

TEST_F(AccessTest, KeepsWhoHasSignedInWhenTheAddressIsLimited) {
  const std::string cookie = cookie_of(kWorkToken);
  for (int i = 0; i < 11; ++i) asks(with_token("gt_" + std::to_string(i)));
  EXPECT_EQ(asks(with_cookie(cookie)), "work till");
}

TEST(FailedTokens, AreBoundedInAddresses) {
  FailedTokens failed;
  const base::Digest token = base::sha256("x");
  for (uint32_t i = 0; i < 5'000; ++i) failed.add(boost::asio::ip::address_v4(0x0a000000 + i), token, base::Millis(i));
  EXPECT_EQ(failed.size(), FailedTokens::kMostAddresses);
}

TEST(FailedTokens, TakeANetworkOfIpv6ForOneAddress) {
  FailedTokens failed;
  using boost::asio::ip::make_address;
  for (int i = 0; i < 10; ++i) {
    failed.add(make_address("2001:db8::" + std::to_string(i)), base::sha256(std::to_string(i)), base::Millis(0));
  }
  EXPECT_TRUE(failed.refused_for(make_address("2001:db8::ffff"), base::sha256("y"), base::Millis(1)));
  EXPECT_FALSE(failed.refused_for(make_address("2001:db8:0:1::1"), base::sha256("y"), base::Millis(1)));
}

TEST(Sessions, AreBounded) {
  Sessions sessions;
  const auto first = sessions.open(1, base::Millis(0));
  for (int i = 1; i <= 1'000; ++i) sessions.open(1, base::Millis(i));
  EXPECT_EQ(sessions.size(), Sessions::kMost);
  EXPECT_FALSE(sessions.use(base::sha256(*first), base::Millis(1'001)));  // the oldest went
}

TEST(Sessions, AreNotAlike) {
  Sessions sessions;
  EXPECT_NE(sessions.open(1, base::Millis(0)), sessions.open(1, base::Millis(0)));
}

}  // namespace
}  // namespace girdle::api
