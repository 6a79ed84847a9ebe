// Who may what, over real sockets.
#include <gmock/gmock.h>

#include "api/fake_shop.h"

namespace girdle::api {
namespace {

using testing::HasSubstr;
using testing::MatchesRegex;
using namespace std::chrono_literals;

class ServerAccess : public ShopTest {
 protected:
  ServerAccess() {
    ServerSettings settings = at("localhost");
    settings.hosts = {"till.shop"};
    start(settings);
  }

  std::string from_console() const { return "Origin: http://" + host() + "\r\nGirdle-Console: 1\r\n"; }
  Got sign_in(const std::string& token, const std::string& fields = "") const {
    return ask("POST", "/api/v1/session", "Content-Type: application/json\r\n" + fields,
               "{\"token\":\"" + token + "\"}");
  }
  std::string cookie(Role role) const {
    const std::string set = sign_in(token_of_role(role)).field("set-cookie");
    return "Cookie: " + set.substr(0, set.find(';')) + "\r\n";
  }
};

TEST_F(ServerAccess, GoesByTheRoleOfEveryRoute) {
  const std::vector<std::pair<Role, std::string>> routes = {
      {Role::kNobody, "/t/nobody"}, {Role::kLook, "/t/look"}, {Role::kWork, "/t/work"}, {Role::kAdmin, "/t/admin"}};
  for (const auto& [needed, target] : routes) {
    for (const char* method : {"GET", "POST"}) {
      const int anonymous = needed <= Role::kLook ? 200 : 401;
      EXPECT_EQ(ask(method, target).status, anonymous) << method << target;
      EXPECT_EQ(ask(method, target, "Authorization: Bearer gt_wrong\r\n").status, needed == Role::kNobody ? 200 : 401);
      for (const Role role : {Role::kLook, Role::kWork, Role::kAdmin}) {
        const int expected = role >= needed ? 200 : 403;
        EXPECT_EQ(ask(method, target, bearer(role)).status, expected) << method << target << text(role);
        EXPECT_EQ(ask(method, target, cookie(role) + from_console()).status, expected)
            << method << target << text(role);
      }
    }
  }
}

TEST_F(ServerAccess, SaysWhichRoleIsNeeded) {
  const Got without = get("/t/admin");
  EXPECT_EQ(without.status, 401);
  EXPECT_EQ(without.field("www-authenticate"), "Bearer realm=\"girdle\"");  // RFC 6750 3
  EXPECT_THAT(without.body, HasSubstr("`admin`"));
  const Got too_small = get("/t/admin", bearer(Role::kWork));
  EXPECT_THAT(too_small.body, HasSubstr("this needs the role `admin`, and this token has `work`"));
  EXPECT_THAT(too_small.field("www-authenticate"), HasSubstr("scope=\"admin\""));
}

TEST_F(ServerAccess, TellsARouteWhoAsks) {
  EXPECT_EQ(get("/t/look", bearer(Role::kAdmin)).body, "admin of-admin");
  EXPECT_EQ(get("/t/look", cookie(Role::kWork)).body, "work of-work");
  EXPECT_EQ(get("/t/nobody", bearer(Role::kAdmin)).body, "nobody ");
}

TEST_F(ServerAccess, AnswersToItsOwnNamesOnly) {
  const auto status = [this](const std::string& name, const std::string& target) {
    Talk talk(server_->port());
    talk.send("GET " + target + " HTTP/1.1\r\nHost: " + name + "\r\n\r\n");
    return talk.answer().value_or(Got()).status;
  };
  const std::string port = ":" + std::to_string(server_->port());
  for (const char* target : {"/t/look", "/", "/console/app.js", "/health/live", "/metrics", "/api/v1/events"}) {
    EXPECT_EQ(status("evil.example", target), 421) << target;
    EXPECT_EQ(status("evil.example" + port, target), 421) << target;
  }
  for (const std::string& name : {"localhost" + port, "127.0.0.1" + port, "[::1]" + port, std::string("till.shop")}) {
    EXPECT_EQ(status(name, "/t/look"), 200) << name;
  }
  EXPECT_EQ(status("localhost", "/t/look"), 421);  // that is port 80
}

TEST_F(ServerAccess, RefusesPagesOfOtherSites) {
  EXPECT_EQ(get("/", "Sec-Fetch-Site: cross-site\r\n").status, 200);
  EXPECT_EQ(get("/t/look", "Sec-Fetch-Site: cross-site\r\n").status, 403);
  EXPECT_EQ(get("/console/app.js", "Sec-Fetch-Site: cross-site\r\n").status, 403);
  EXPECT_EQ(get("/api/v1/events", "Sec-Fetch-Site: cross-site\r\n").status, 403);
  EXPECT_EQ(get("/t/look", "Sec-Fetch-Site: same-origin\r\n").status, 200);
  EXPECT_EQ(get("/t/look", "Sec-Fetch-Site: none\r\n").status, 200);
  EXPECT_EQ(sign_in(token_of_role(Role::kWork), "Origin: http://evil.example\r\n").status, 403);
  EXPECT_EQ(sign_in(token_of_role(Role::kWork), "Origin: http://" + host() + "\r\n").status, 200);
}

TEST_F(ServerAccess, MovesNothingByACookieAlone) {
  const std::string signed_in = cookie(Role::kWork);
  EXPECT_EQ(ask("POST", "/t/work", signed_in).status, 403);
  EXPECT_EQ(ask("POST", "/t/work", signed_in + "Girdle-Console: 1\r\n").status, 403);
  EXPECT_EQ(ask("POST", "/t/work", signed_in + "Origin: http://" + host() + "\r\n").status, 403);
  EXPECT_EQ(ask("POST", "/t/work", signed_in + "Girdle-Console: 1\r\nOrigin: http://localhost:1\r\n").status, 403);
  EXPECT_EQ(ask("POST", "/t/work", signed_in + from_console()).status, 200);
  EXPECT_EQ(ask("DELETE", "/api/v1/session", signed_in).status, 403);
  EXPECT_EQ(get("/t/work", signed_in).status, 200);
}

TEST_F(ServerAccess, SignsInAndOut) {
  const Got in = sign_in(token_of_role(Role::kWork));
  EXPECT_EQ(in.status, 200);
  EXPECT_THAT(in.field("set-cookie"), MatchesRegex("girdle=[A-Za-z0-9_-]{43}; Path=/; HttpOnly; SameSite=Strict"));
  EXPECT_THAT(in.body, HasSubstr(R"("role":"work","token":"of-work")"));
  EXPECT_THAT(in.body, HasSubstr(R"("signed_in":true)"));
  EXPECT_EQ(in.body.find(token_of_role(Role::kWork)), std::string::npos);
  const std::string value = in.field("set-cookie").substr(0, in.field("set-cookie").find(';'));
  const std::string signed_in = "Cookie: " + value + "\r\n";
  EXPECT_THAT(get("/api/v1/session", signed_in).body, HasSubstr(R"("signed_in":true)"));
  const Got out = ask("DELETE", "/api/v1/session", signed_in + from_console());
  EXPECT_EQ(out.status, 204);
  EXPECT_THAT(out.field("set-cookie"), HasSubstr("Max-Age=0"));
  EXPECT_EQ(get("/t/work", signed_in).status, 401);
  EXPECT_EQ(ask("DELETE", "/api/v1/session").status, 204);  // nobody was
}

TEST_F(ServerAccess, WantsTheTokenAndNothingElse) {
  const std::string json = "Content-Type: application/json\r\n";
  for (const char* body : {"{}", "[]", "x", "{\"token\":1}", "{\"token\":\"\"}", "{\"token\":\"a\",\"b\":1}",
                           "{\"token\":\"a\",\"token\":\"b\"}"}) {
    EXPECT_EQ(ask("POST", "/api/v1/session", json, body).status, 400) << body;
  }
  EXPECT_EQ(ask("POST", "/api/v1/session", json).status, 400);
  EXPECT_EQ(ask("POST", "/api/v1/session", "Content-Type: text/plain\r\n", "{\"token\":\"a\"}").status, 415);
  EXPECT_EQ(ask("POST", "/api/v1/session", "", "{\"token\":\"a\"}").status, 415);
  EXPECT_EQ(sign_in("gt_wrong").status, 401);
  EXPECT_EQ(last_log().find("gt_"), std::string::npos);
}

TEST_F(ServerAccess, EndsASessionThatIsNotUsed) {
  const std::string signed_in = cookie(Role::kWork);
  clock_.advance(59min);
  EXPECT_EQ(get("/t/work", signed_in).status, 200);
  clock_.advance(60min);
  const Got ended = get("/t/work", signed_in);
  EXPECT_EQ(ended.status, 401);
  EXPECT_THAT(ended.field("set-cookie"), HasSubstr("Max-Age=0"));
}

TEST_F(ServerAccess, EndsWithTheTokenWhatItLetIn) {
  const std::string signed_in = cookie(Role::kWork);
  EXPECT_EQ(get("/t/work", bearer(Role::kWork)).status, 200);
  auto tokens = one_of_each_role();
  tokens[1].revoked = true;
  set_tokens(tokens);
  clock_.advance(1s);
  EXPECT_EQ(get("/t/work", bearer(Role::kWork)).status, 401);
  EXPECT_EQ(get("/t/work", signed_in).status, 401);
  EXPECT_EQ(get("/t/work", bearer(Role::kAdmin)).status, 200);
}

TEST_F(ServerAccess, TakesATokenThatWasMadeThisMoment) {
  EXPECT_EQ(get("/t/work", bearer(Role::kWork)).status, 200);
  auto tokens = one_of_each_role();
  tokens.push_back({9, "new", Role::kAdmin, base::sha256("gt_new"), false});
  set_tokens(tokens);
  clock_.advance(200ms);
  EXPECT_EQ(get("/t/admin", "Authorization: Bearer gt_new\r\n").status, 200);
}

TEST_F(ServerAccess, LimitsWrongTokens) {
  for (int i = 0; i < 10; ++i) EXPECT_EQ(sign_in("gt_guess" + std::to_string(i)).status, 401);
  const Got limited = sign_in("gt_more");
  EXPECT_EQ(limited.status, 429);
  EXPECT_EQ(limited.field("retry-after"), "60");
  EXPECT_EQ(get("/t/look", bearer(Role::kLook)).status, 429);
  EXPECT_EQ(get("/t/look").status, 200);
  clock_.advance(1min);
  EXPECT_EQ(get("/t/look", bearer(Role::kLook)).status, 200);
}

TEST(ServerCreate, WantsTlsBeyondThisMachine) {
  FakeDesk desk;
  Meters meters;
  std::atomic<bool> heard{false};
  const base::ManualClock clock{base::Instant()};
  const auto why = [&](const std::string& host, uint16_t port, const std::string& certificate = "",
                       const std::string& key = "") {
    ServerSettings settings;
    settings.host = host;
    settings.port = port;
    settings.certificate_file = certificate;
    settings.key_file = key;
    const auto made =
        Server::create(settings, {desk, meters, heard, clock, base::Log::to_nowhere()}, Offer(), Limits());
    return made ? std::string() : made.error().text;
  };
  EXPECT_EQ(why("127.0.0.1", 0), "");
  EXPECT_EQ(why("::1", 0), "");
  EXPECT_THAT(why("0.0.0.0", 0), HasSubstr("plain HTTP is for this machine only"));
  EXPECT_THAT(why("::", 0), HasSubstr("plain HTTP is for this machine only"));
  EXPECT_THAT(why("shop.example", 0), HasSubstr("is no address"));
  EXPECT_THAT(why("127.0.0.1", 0, "/a.pem"), HasSubstr("a certificate goes with its key"));
  EXPECT_THAT(why("127.0.0.1", 0, "", "/a.key"), HasSubstr("a certificate goes with its key"));
  EXPECT_THAT(why("127.0.0.1", 0, "/none.pem", "/none.key"), HasSubstr("/none.pem: "));
  EXPECT_THAT(why("192.0.2.1", 0, "", ""), HasSubstr("plain HTTP"));  // RFC 5737: nobody's
}

TEST_F(ServerAccess, TakesNoPortThatIsTaken) {
  ServerSettings settings = at("localhost");
  settings.port = server_->port();
  const auto second = Server::create(settings, {desk_, meters_, heard_, clock_, log_}, Offer(), Limits());
  ASSERT_FALSE(second);
  EXPECT_THAT(second.error().text, HasSubstr("cannot listen at 127.0.0.1:"));
}

}  // namespace
}  // namespace girdle::api
