// POST over HTTP/1.1, with and without TLS, on a connection that is kept open between requests.
//
// No redirects, no cookies, no proxies. TLS is 1.2 or newer, and the receiver's certificate must be
// valid for the host's name. Plain http:// goes only to this machine's loopback, unless the outlet
// says `insecure`.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/awaitable.hpp>
#include <memory>
#include <string_view>

#include "base/result.h"
#include "config/settings.h"
#include "delivery/answer_parser.h"
#include "delivery/url.h"

namespace boost::asio::ssl {
class context;
}

namespace girdle::delivery {

class Resolver;

// What all connections to one webhook share. Outlives them.
class HttpTarget {
 public:
  static base::Result<std::unique_ptr<HttpTarget>> create(const config::Webhook& webhook);
  ~HttpTarget();

  const Url& url() const { return url_; }
  bool insecure() const { return insecure_; }
  base::Millis timeout() const { return timeout_; }
  boost::asio::ssl::context& tls() const { return *tls_; }  // only when url().tls

 private:
  HttpTarget();
  Url url_;
  bool insecure_ = false;
  base::Millis timeout_{};
  std::unique_ptr<boost::asio::ssl::context> tls_;
};

// One connection, opened when it is first needed. All calls come from the executor's one thread;
// one request at a time. Cancelling the coroutine that waits in post() ends it with an exception;
// the connection is closed then.
class HttpConnection {
 public:
  HttpConnection(boost::asio::any_io_executor executor, const HttpTarget& target,
                 Resolver& resolver);
  ~HttpConnection();
  HttpConnection(HttpConnection&&) = default;

  // Sends the bytes of a whole request, which must stay as they are until it returns, and reads the
  // answer; all of it within the target's timeout. Up to 64 KiB of an answer's body are read, and
  // dropped; after more the connection is closed, and the answer counts. A connection that was idle
  // and turns out to be closed is opened anew once, if no byte of an answer had come. The error's
  // text is for a person: it names the host and says what went wrong.
  boost::asio::awaitable<base::Result<Answer>> post(std::string_view request);

 private:
  class Impl;
  std::shared_ptr<Impl> impl_;
};

}  // namespace girdle::delivery
