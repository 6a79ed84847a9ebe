// The client's side of TLS for one webhook: whom it trusts, who it says it is, and sessions to
// resume.
#pragma once

#include <boost/asio/ssl/context.hpp>
#include <chrono>
#include <memory>
#include <string>
#include <vector>

#include "base/result.h"
#include "config/settings.h"
#include "delivery/url.h"

namespace girdle::delivery {

// TLS 1.2 or newer. All calls come from one thread. Outlives its streams, but for those that only
// take their leave.
class TlsClient {
 public:
  // With the webhook's own authority, and its client certificate. Errors name the file.
  static base::Result<std::unique_ptr<TlsClient>> create(const config::Webhook& webhook);
  ~TlsClient();
  TlsClient(const TlsClient&) = delete;

  boost::asio::ssl::context& context() { return context_; }

  // Before a handshake: whose certificate it must be, and a session to resume where there is one.
  // False where TLS does not take the name.
  bool prepare(SSL* ssl, const Url& url);
  // After a handshake that went well.
  void shook_hands(SSL* ssl);

 private:
  TlsClient();
  base::Result<void> trust(const std::filesystem::path& ca_file);
  base::Result<void> identify(const config::Webhook::Certificate& certificate);
  static int on_session(SSL* ssl, SSL_SESSION* session);
  void resume(SSL* ssl);

  struct Free {
    void operator()(SSL_SESSION* session) const;
  };
  using Session = std::unique_ptr<SSL_SESSION, Free>;

  boost::asio::ssl::context context_;
  std::vector<Session> sessions_;  // the newest last
  // A resumed handshake shows no certificate: now and then one must.
  std::chrono::steady_clock::time_point shown_at_{};
};

}  // namespace girdle::delivery
