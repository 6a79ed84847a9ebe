// What the server answers to whom it lets in.
#include "api/server.h"

#include <gmock/gmock.h>

#include <thread>

#include "api/fake_shop.h"

namespace girdle::api {
namespace {

using testing::EndsWith;
using testing::HasSubstr;
using testing::Not;
using namespace std::chrono_literals;

class ServerTest : public ShopTest {
 protected:
  ServerTest() { start(); }
};

TEST_F(ServerTest, AnswersARequest) {
  const Got got = get("/t/look");
  EXPECT_EQ(got.status, 200);
  EXPECT_EQ(got.body, "look ");
  EXPECT_EQ(got.field("content-type"), "application/json");
  EXPECT_EQ(got.field("content-length"), "5");
  EXPECT_EQ(got.field("cache-control"), "no-store");
  EXPECT_THAT(got.field("content-security-policy"), HasSubstr("default-src 'none'"));
  EXPECT_EQ(got.field("date"), "Tue, 14 Nov 2023 22:13:20 GMT");
}

TEST_F(ServerTest, SendsNothingAgainThatIsThere) {
  const std::string tag = get("/t/look").field("etag");
  EXPECT_EQ(tag.size(), 34u);
  Talk talk(server_->port());
  talk.send(request("GET", "/t/look", "If-None-Match: " + tag + "\r\n") + request("GET", "/t/look"));
  const Got got = *talk.answer();
  EXPECT_EQ(got.status, 304);
  EXPECT_EQ(got.field("etag"), tag);      // RFC 9110 15.4.5
  EXPECT_EQ(talk.answer()->status, 200);  // and no byte of a body lies between
}

TEST_F(ServerTest, AnswersAHeadLikeAGetWithoutTheBody) {
  const Got by_get = get("/t/look");
  Talk talk(server_->port());
  talk.send(request("HEAD", "/t/look") + request("HEAD", "/none") + request("GET", "/t/look"));
  const Got by_head = *talk.answer(true);
  EXPECT_EQ(by_head.status, 200);
  EXPECT_EQ(by_head.fields, by_get.fields);  // RFC 9110 9.3.2
  EXPECT_EQ(talk.answer(true)->status, 404);
  EXPECT_EQ(talk.answer()->body, "look ");
}

TEST_F(ServerTest, AnswersRequestsThatComeTogetherInTheirOrder) {
  Talk talk(server_->port());
  std::string all;
  for (int i = 0; i < 50; ++i) all += request("POST", "/t/work", bearer(Role::kWork), std::to_string(i));
  EXPECT_TRUE(talk.send(all));
  for (int i = 0; i < 50; ++i) EXPECT_EQ(talk.answer().value_or(Got()).body, std::to_string(i));  // RFC 9112 9.3.2
}

TEST_F(ServerTest, ClosesWhenItIsAskedTo) {
  Talk talk(server_->port());
  talk.send(request("GET", "/t/look", "Connection: close\r\n"));
  EXPECT_EQ(talk.answer()->field("connection"), "close");  // RFC 9112 9.6
  EXPECT_TRUE(talk.closes(5s));
}

TEST_F(ServerTest, TakesBodiesWithALengthAndInChunks) {
  EXPECT_EQ(ask("POST", "/t/work", bearer(Role::kWork), std::string(100'000, 'a')).body, std::string(100'000, 'a'));
  Talk talk(server_->port());
  std::string chunked = request("POST", "/t/work", bearer(Role::kWork) + "Transfer-Encoding: chunked\r\n");
  for (int i = 0; i < 100; ++i) chunked += "3e8\r\n" + std::string(1'000, 'b') + "\r\n";
  talk.send(chunked + "0\r\n\r\n" + request("GET", "/t/look"));
  EXPECT_EQ(talk.answer()->body, std::string(100'000, 'b'));
  EXPECT_EQ(talk.answer()->body, "look ");
}

TEST_F(ServerTest, TellsAClientThatWaitsToGoOn) {
  Talk talk(server_->port());
  talk.send(request("POST", "/t/work", bearer(Role::kWork) + "Expect: 100-continue\r\nContent-Length: 2\r\n"));
  EXPECT_EQ(talk.until("\r\n\r\n"), "HTTP/1.1 100 Continue\r\n\r\n");  // RFC 9110 10.1.1
  talk.send("ab");
  EXPECT_EQ(talk.answer()->body, "ab");
  talk.send(request("POST", "/t/work", "Expect: 100-continue\r\nContent-Length: 2\r\n"));
  EXPECT_EQ(talk.answer()->status, 401);  // at once: no body is wanted
  EXPECT_TRUE(talk.closes(5s));
}

TEST_F(ServerTest, TellsWhatIsNotThere) {
  EXPECT_EQ(get("/none").status, 404);
  EXPECT_EQ(get("/none").field("content-type"), "application/problem+json");
  const Got wrong_method = ask("DELETE", "/t/look");
  EXPECT_EQ(wrong_method.status, 405);
  EXPECT_EQ(wrong_method.field("allow"), "GET, HEAD, POST");  // RFC 9110 15.5.6
}

TEST_F(ServerTest, RefusesABodyThatIsTooLongBeforeItComes) {
  Talk talk(server_->port());
  talk.send(request("POST", "/t/work", bearer(Role::kWork) + "Content-Length: 100001\r\n"));
  const Got got = *talk.answer();
  EXPECT_EQ(got.status, 413);  // RFC 9110 15.5.14
  EXPECT_EQ(got.field("connection"), "close");
  EXPECT_TRUE(talk.closes(5s));
  Talk other(server_->port());
  other.send(request("POST", "/t/deed", "Content-Length: 65537\r\n"));
  EXPECT_EQ(other.answer()->status, 413);  // where a route says nothing
}

TEST_F(ServerTest, GivesItsAnswerToAClientThatGoesOnSending) {
  Talk talk(server_->port());
  talk.send(request("POST", "/t/work", bearer(Role::kWork) + "Content-Length: 500000\r\n"));
  talk.send(std::string(500'000, 'x'));
  EXPECT_EQ(talk.answer().value_or(Got()).status, 413);  // not lost by a reset (RFC 9112 9.6)
}

TEST_F(ServerTest, SurvivesFaultsOfRoutes) {
  const int before = desk_.tellers;
  EXPECT_EQ(get("/t/throw").status, 500);
  EXPECT_EQ(ask("POST", "/t/throw").status, 500);
  EXPECT_EQ(get("/t/forgotten").status, 500);
  EXPECT_EQ(get("/t/split").status, 500);
  EXPECT_EQ(get("/t/split").field("set-cookie"), "");
  EXPECT_EQ(get("/t/look").status, 200);
  EXPECT_TRUE(becomes([&] { return get("/t/look").status == 200 && desk_.tellers > before; }));  // a new one was made
  for (int i = 0; i < 10; ++i) get("/t/throw");
  const std::string log = last_log();
  const size_t told = log.find("the route's own fault");
  EXPECT_NE(told, std::string::npos);
  EXPECT_EQ(log.find("the route's own fault", told + 1), std::string::npos);  // once
}

TEST_F(ServerTest, ServesTheConsole) {
  const Got page = get("/", "If-None-Match: \"x\"\r\n");
  EXPECT_EQ(page.body, "<!doctype html>");
  EXPECT_EQ(page.field("content-type"), "text/html; charset=utf-8");
  EXPECT_EQ(page.field("cache-control"), "no-cache");
  EXPECT_EQ(get("/console/app.js?v=1").body, "export {};");
  EXPECT_EQ(get("/console/app.js", "If-None-Match: \"4567\"\r\n").status, 304);
  EXPECT_EQ(ask("HEAD", "/console/app.js").field("content-length"), "10");
  EXPECT_EQ(ask("POST", "/").status, 405);
  EXPECT_EQ(get("/", "Authorization: Bearer wrong\r\n").status, 200);  // it is for nobody: nobody asks who
}

TEST_F(ServerTest, HasNoWayOutOfTheConsole) {
  for (const char* target :
       {"/console/../t/look", "/console/..", "/console/%2e%2e/%2e%2e/etc/passwd", "/console/..%2f..%2fetc/passwd",
        "/console//app.js", "/console/./app.js", "/console/app.js%00.html", "/console/%5c..%5capp.js"}) {
    EXPECT_EQ(get(target).status, 400) << target;
  }
  for (const char* target :
       {"/console", "/console/app", "/console/APP.JS", "/console/app.js/x", "/index.html", "/etc/passwd"}) {
    EXPECT_EQ(get(target).status, 404) << target;
  }
}

TEST_F(ServerTest, TellsOfHealthAndMetrics) {
  EXPECT_EQ(get("/health/live").status, 200);
  EXPECT_EQ(get("/health/ready").status, 503);
  EXPECT_EQ(get("/metrics").body, "1 0");
  EXPECT_EQ(get("/t/stand").body, "7");
  EXPECT_EQ(get("/metrics", "Authorization: Bearer wrong\r\n").status, 401);
}

TEST_F(ServerTest, TellsOfTheSession) {
  const Got anonymous = get("/api/v1/session");
  EXPECT_THAT(anonymous.body,
              testing::StartsWith(R"({"role":"look","token":null,"site":"quay-street","timezone":"UTC",)"));
  EXPECT_THAT(anonymous.body, EndsWith(R"("now":"2023-11-14T22:13:20.000Z","signed_in":false})"));
  const Got by_token = get("/api/v1/session", bearer(Role::kAdmin));
  EXPECT_THAT(by_token.body, HasSubstr(R"({"role":"admin","token":"of-admin",)"));
}

TEST_F(ServerTest, WaitsForADeedToBeDone) {
  Talk talk(server_->port());
  talk.send(request("POST", "/t/deed") + request("GET", "/t/look"));
  std::vector<std::function<void(DeedAnswer)>> waiting;
  ASSERT_TRUE(becomes([&] {
    if (waiting.empty()) waiting = desk_.take_waiting();
    return !waiting.empty();
  }));
  EXPECT_EQ(get("/t/look").status, 200);  // nobody else waits
  waiting[0]({.kind = DeedAnswer::Kind::kDone, .text = "", .json = "{\"changed\":true}"});
  waiting[0]({.kind = DeedAnswer::Kind::kConflict, .text = "twice", .json = ""});  // once counts
  EXPECT_EQ(talk.answer()->body, "{\"changed\":true}");
  EXPECT_EQ(talk.answer()->body, "look ");
}

TEST_F(ServerTest, TakesAnAnswerForAClientThatHasGone) {
  {
    Talk talk(server_->port());
    talk.send(request("POST", "/t/deed"));
    ASSERT_TRUE(becomes([&] { return connected() == 1; }));
  }
  std::vector<std::function<void(DeedAnswer)>> waiting;
  ASSERT_TRUE(becomes([&] {
    if (waiting.empty()) waiting = desk_.take_waiting();
    return !waiting.empty();
  }));
  waiting[0]({});
  EXPECT_TRUE(becomes([&] { return connected() == 0; }));
}

TEST_F(ServerTest, SaysSoWhenTheLedgerCannotBeRead) {
  desk_.has_ledger = false;
  EXPECT_EQ(get("/t/look").status, 503);
  EXPECT_EQ(get("/t/look", bearer(Role::kLook)).status, 503);  // nobody knows whether it is right
  EXPECT_EQ(get("/health/live").status, 200);
  EXPECT_EQ(get("/").status, 200);
  desk_.has_ledger = true;
  EXPECT_EQ(get("/t/look").status, 200);
}

}  // namespace
}  // namespace girdle::api
