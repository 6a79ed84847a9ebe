// Requests that two readers may take for different ones (RFC 9112 11.2), and those that are too large: refused, and the
// connection closed, so that nothing behind them is taken for a request.
#include <gmock/gmock.h>

#include "api/fake_shop.h"

namespace girdle::api {
namespace {

using namespace std::chrono_literals;

class Smuggling : public ShopTest {
 protected:
  Smuggling() { start(); }

  // The status of the first answer; and no second one comes, though a request stands behind. The route is one that
  // needs no token.
  int refused(const std::string& head, const std::string& body) {
    Talk talk(server_->port());
    talk.send(head + "\r\n" + body + request("GET", "/t/look"));
    const auto got = talk.answer();
    EXPECT_TRUE(got) << head;
    if (!got) return 0;
    EXPECT_EQ(got->field("connection"), "close") << head;
    EXPECT_FALSE(talk.answer()) << head;
    EXPECT_TRUE(talk.closes()) << head;
    return got->status;
  }
  std::string post(const std::string& fields) const {
    return "POST /t/nobody HTTP/1.1\r\nHost: " + host() + "\r\n" + fields;
  }
};

TEST_F(Smuggling, IsRefusedWhateverItsForm) {
  const std::string chunks = "3\r\nabc\r\n0\r\n\r\n";
  EXPECT_EQ(refused(post("Content-Length: 6\r\nTransfer-Encoding: chunked\r\n"), chunks), 400);  // CL.TE
  EXPECT_EQ(refused(post("Transfer-Encoding: chunked\r\nContent-Length: 6\r\n"), chunks), 400);  // TE.CL
  EXPECT_EQ(refused(post("Transfer-Encoding: gzip\r\nContent-Length: 3\r\n"), "abc"), 400);
  EXPECT_EQ(refused(post("Transfer-Encoding: gzip\r\n"), "abc"), 400);
  EXPECT_EQ(refused(post("Transfer-Encoding: chunked, chunked\r\n"), chunks), 400);
  EXPECT_EQ(refused(post("Transfer-Encoding: chunked\r\nTransfer-Encoding: chunked\r\n"), chunks), 400);
  EXPECT_EQ(refused(post("Transfer-Encoding: gzip, chunked\r\n"), chunks), 400);
  EXPECT_EQ(refused(post("Transfer-Encoding : chunked\r\n"), chunks), 400);
  EXPECT_EQ(refused(post("Transfer-Encoding: \x0b"
                         "chunked\r\n"),
                    chunks),
            400);
  EXPECT_EQ(refused(post("X: y\r\n Transfer-Encoding: chunked\r\n"), chunks), 400);
  EXPECT_EQ(refused(post("X: y\nTransfer-Encoding: chunked\r\n"), chunks), 400);
  EXPECT_EQ(refused(post("Content-Length: 3\r\nContent-Length: 0\r\n"), "abc"), 400);
  EXPECT_EQ(refused(post("Content-Length: 3\r\nContent-Length: 3\r\n"), "abc"), 400);
  EXPECT_EQ(refused(post("Content-Length: 3, 3\r\n"), "abc"), 400);
  EXPECT_EQ(refused(post("Content-Length: +3\r\n"), "abc"), 400);
  EXPECT_EQ(refused("POST /t/nobody HTTP/1.0\r\nHost: " + host() + "\r\nTransfer-Encoding: chunked\r\n", chunks), 505);
  EXPECT_EQ(refused("GET /t/look HTTP/1.1\r\n", ""), 400);  // no Host
  EXPECT_EQ(refused("GET /t/look HTTP/1.1\r\nHost: " + host() + "\r\nHost: evil.example\r\n", ""), 400);
  EXPECT_EQ(refused("GET http://" + host() + "/t/look HTTP/1.1\r\nHost: " + host() + "\r\n", ""), 400);
  EXPECT_EQ(refused("GET /t/look HTTP/1.1\r\nHost: " + host() + "\r\nContent-Length: 3\r\n", "abc"), 400);
  EXPECT_EQ(get("/t/look").status, 200);
}

TEST_F(Smuggling, IsRefusedInTheBodyToo) {
  const std::string head = post("Transfer-Encoding: chunked\r\n");
  EXPECT_EQ(refused(head, "-3\r\nabc\r\n0\r\n\r\n"), 400);
  EXPECT_EQ(refused(head, "0x3\r\nabc\r\n0\r\n\r\n"), 400);
  EXPECT_EQ(refused(head, "3\r\nabcd\r\n0\r\n\r\n"), 400);
  EXPECT_EQ(refused(head, "fffffffffffffffff\r\nabc\r\n0\r\n\r\n"), 400);
}

TEST_F(Smuggling, IsRefusedWithATrailerOfAnyLength) {
  // Beast 1.81 throws where a trailer is longer than 64 KiB.
  for (const size_t size : {size_t{17} << 10, size_t{70} << 10, size_t{1} << 20}) {
    Talk talk(server_->port());
    talk.send(post("Transfer-Encoding: chunked\r\n") + "\r\n0\r\nX: " + std::string(size, 'a') + "\r\n\r\n");
    EXPECT_EQ(talk.answer().value_or(Got()).status, 431) << size;
  }
  std::string many = "\r\n0\r\n";
  for (int i = 0; i < 100; ++i) many += "X: y\r\n";
  Talk talk(server_->port());
  talk.send(post("Transfer-Encoding: chunked\r\n") + many + "\r\n");
  EXPECT_EQ(talk.answer().value_or(Got()).status, 431);
  EXPECT_EQ(get("/t/look").status, 200);
  EXPECT_EQ(last_log().find("fault"), std::string::npos);
}

TEST_F(Smuggling, IsRefusedWhereAnythingIsTooLarge) {
  const auto status = [this](const std::string& bytes) {
    Talk talk(server_->port());
    talk.send(bytes, 2s);
    return talk.answer().value_or(Got()).status;
  };
  std::string fields;
  for (int i = 0; i < 65; ++i) fields += "X: y\r\n";
  EXPECT_EQ(status(request("GET", "/t/look", fields)), 431);
  EXPECT_EQ(status(request("GET", "/t/look", "X: " + std::string(17 << 10, 'a') + "\r\n")), 431);
  EXPECT_EQ(status(request("GET", "/t/look", "X: " + std::string(2 << 20, 'a') + "\r\n")), 431);
  EXPECT_EQ(status(request("GET", "/" + std::string(4 << 10, 'a'))), 414);
  EXPECT_EQ(status(std::string(1 << 20, 'A')), 414);
  EXPECT_EQ(status("GET /t/look HTTP/1.1\r\nHost: " + std::string(1'000, 'a') + "\r\n\r\n"), 400);
  EXPECT_EQ(status(post("Transfer-Encoding: chunked\r\n\r\n") + "30d41\r\n" + std::string(200'001, 'a')), 413);
  EXPECT_EQ(status(std::string("\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03", 11)), 400);  // TLS on a plain port
  EXPECT_EQ(status("PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n"), 505);                               // RFC 9113 3.4
  EXPECT_EQ(get("/t/look").status, 200);
}

}  // namespace
}  // namespace girdle::api
