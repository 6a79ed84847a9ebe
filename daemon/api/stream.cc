#include "api/stream.h"

#include <boost/asio/redirect_error.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/asio/write.hpp>
#include <utility>

namespace girdle::api {

namespace asio = boost::asio;

Stream::Stream(Socket socket, asio::ssl::context* tls) : plain_(std::move(socket)) {
  if (tls != nullptr) tls_ = std::make_unique<asio::ssl::stream<Socket>>(std::move(plain_), *tls);
}

asio::awaitable<Stream::Error> Stream::shake_hands() {
  Error error;
  if (tls_) {
    co_await tls_->async_handshake(asio::ssl::stream_base::server, asio::redirect_error(asio::use_awaitable, error));
  }
  co_return error;
}

asio::awaitable<size_t> Stream::read(asio::mutable_buffer into, Error& error) {
  size_t got = 0;
  if (tls_) {
    got = co_await tls_->async_read_some(into, asio::redirect_error(asio::use_awaitable, error));
  } else {
    got = co_await plain_.async_read_some(into, asio::redirect_error(asio::use_awaitable, error));
  }
  co_return got;
}

asio::awaitable<void> Stream::write(std::string_view head, std::string_view body, Error& error) {
  const std::array<asio::const_buffer, 2> both = {asio::buffer(head), asio::buffer(body)};
  if (tls_) {
    co_await asio::async_write(*tls_, both, asio::redirect_error(asio::use_awaitable, error));
  } else {
    co_await asio::async_write(plain_, both, asio::redirect_error(asio::use_awaitable, error));
  }
}

asio::awaitable<void> Stream::take_leave() {
  Error ignored;
  if (tls_) co_await tls_->async_shutdown(asio::redirect_error(asio::use_awaitable, ignored));
}

void Stream::watch(std::function<void()> done) {
  auto handler = [done = std::move(done)](Error, size_t) { done(); };
  if (tls_) {
    tls_->async_read_some(asio::buffer(watched_), std::move(handler));
  } else {
    plain_.async_read_some(asio::buffer(watched_), std::move(handler));
  }
}

void Stream::cancel() {
  Error ignored;
  socket().cancel(ignored);
}

void Stream::close() {
  Error ignored;
  socket().close(ignored);
}

}  // namespace girdle::api
