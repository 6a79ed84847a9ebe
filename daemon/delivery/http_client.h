// Requests over HTTP/1.1, with and without TLS, straight or through a proxy, on a connection that
// is kept open between requests.
//
// No redirects, no cookies. TLS is 1.2 or newer, and the receiver's certificate must be valid for
// the host's name. Plain http:// goes only to this machine's loopback, unless the outlet says
// `insecure`. Which addresses are taken is address_rules.h's. With a proxy it is the proxy that
// resolves the receiver's name, and those rules hold for the proxy's own.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/awaitable.hpp>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "base/result.h"
#include "config/settings.h"
#include "delivery/address_rules.h"
#include "delivery/answer_parser.h"
#include "delivery/secret_file.h"
#include "delivery/tls_client.h"
#include "delivery/url.h"

namespace girdle::delivery {

class Resolver;

// What all connections to one webhook share. Outlives them.
class HttpTarget {
 public:
  // Reads all files that the connection needs. Errors name the file.
  static base::Result<std::unique_ptr<HttpTarget>> create(const config::Webhook& webhook);
  ~HttpTarget();

  const Url& url() const { return url_; }
  base::Millis timeout() const { return timeout_; }
  // Both of them, for errors.
  const std::string& name() const { return name_; }

  // The proxy's where there is one.
  const std::string& host() const { return proxy_ ? proxy_->host : url_.host; }
  uint16_t port() const { return proxy_ ? proxy_->port : url_.port; }
  // Those of its addresses that may be used.
  base::Result<AddressRules::Addresses> admit(const AddressRules::Addresses& found) const;

  bool has_proxy() const { return proxy_.has_value(); }
  std::string_view connect_request() const { return connect_request_.view(); }
  bool shows_proxy_user() const { return shows_proxy_user_; }
  TlsClient& tls() const { return *tls_; }  // only when url().tls

 private:
  HttpTarget();
  base::Result<void> set_proxy(const config::Webhook::Proxy& proxy);

  Url url_;
  std::string name_;
  bool insecure_ = false;
  base::Millis timeout_{};
  AddressRules rules_;
  std::optional<Url> proxy_;
  SecretBytes connect_request_;
  bool shows_proxy_user_ = false;
  std::unique_ptr<TlsClient> tls_;
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
  // answer; all of it within the target's timeout. Up to 64 KiB of an answer's body are read; after
  // more the connection is closed, and the answer counts. A connection that was idle and turns out
  // to be closed is opened anew once, if no byte of an answer had come. The error's text is for a
  // person: it names the host and says what went wrong.
  boost::asio::awaitable<base::Result<Answer>> post(std::string_view request);

 private:
  class Impl;
  std::shared_ptr<Impl> impl_;
};

}  // namespace girdle::delivery
