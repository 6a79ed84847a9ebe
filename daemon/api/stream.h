// One connection's bytes, with or without TLS. On the server's thread.
#pragma once

#include <array>
#include <boost/asio/awaitable.hpp>
#include <boost/asio/buffer.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/ssl/context.hpp>
#include <boost/asio/ssl/stream.hpp>
#include <functional>
#include <memory>
#include <string_view>

namespace girdle::api {

class Stream {
 public:
  using Error = boost::system::error_code;
  using Socket = boost::asio::ip::tcp::socket;

  // Without a context: plain.
  Stream(Socket socket, boost::asio::ssl::context* tls);

  bool is_tls() const { return tls_ != nullptr; }
  Socket& socket() { return tls_ ? tls_->next_layer() : plain_; }

  boost::asio::awaitable<Error> shake_hands();
  // Some bytes; 0 with an error, end of file among them.
  boost::asio::awaitable<size_t> read(boost::asio::mutable_buffer into, Error& error);
  // Both, whole.
  boost::asio::awaitable<void> write(std::string_view head, std::string_view body, Error& error);
  // Says goodbye to a TLS peer (RFC 9112 9.8), and waits for its goodbye.
  boost::asio::awaitable<void> take_leave();
  // Reads beside a coroutine that writes, until something comes or the peer closes; `done` then, whatever it was.
  void watch(std::function<void()> done);

  // Ends what is under way; the connection stays. close() ends that too.
  void cancel();
  void close();

 private:
  Socket plain_;
  std::unique_ptr<boost::asio::ssl::stream<Socket>> tls_;  // in place of plain_ when there
  std::array<char, 64> watched_;
};

}  // namespace girdle::api
