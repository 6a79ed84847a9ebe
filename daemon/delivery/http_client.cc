#include "delivery/http_client.h"

#include <openssl/ssl.h>
#include <openssl/x509_vfy.h>

#include <algorithm>
#include <array>
#include <boost/asio/connect.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/redirect_error.hpp>
#include <boost/asio/ssl.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/this_coro.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/asio/write.hpp>
#include <cstring>
#include <utility>

#include "delivery/credentials.h"
#include "delivery/resolver.h"

namespace girdle::delivery {
namespace asio = boost::asio;

namespace {

using asio::ip::tcp;
using boost::system::error_code;
using Clock = std::chrono::steady_clock;
using TlsStream = asio::ssl::stream<tcp::socket>;

// A header must fit into the buffer: the limit that keeps a peer from making us hold more.
constexpr size_t kBuffer = 16 << 10;
// Header, body, chunk marks and trailers of one answer, interim answers before it included.
constexpr size_t kMostOfAnswer = kBuffer + (64 << 10);
constexpr auto kIdle = std::chrono::seconds(30);
constexpr auto kFarewell = std::chrono::milliseconds(250);

std::string certificate_text(long code) { return X509_verify_cert_error_string(code); }

// Says goodbye to a TLS peer (RFC 9112 9.8) without waiting for its answer for long. Lives in its
// own handlers.
void take_leave(std::unique_ptr<TlsStream> stream) {
  struct Leave {
    explicit Leave(std::unique_ptr<TlsStream> from)
        : stream(std::move(from)), timer(stream->get_executor()) {}
    std::unique_ptr<TlsStream> stream;
    asio::steady_timer timer;
  };
  auto leave = std::make_shared<Leave>(std::move(stream));
  leave->timer.expires_after(kFarewell);
  leave->timer.async_wait([leave](error_code error) {
    if (!error) leave->stream->next_layer().close(error);
  });
  leave->stream->async_shutdown([leave](error_code) { leave->timer.cancel(); });
}

}  // namespace

HttpTarget::HttpTarget() = default;
HttpTarget::~HttpTarget() = default;

base::Result<std::unique_ptr<HttpTarget>> HttpTarget::create(const config::Webhook& webhook) {
  auto url = parse_url(webhook.url);
  if (!url) return std::move(url.error());
  std::unique_ptr<HttpTarget> target(new HttpTarget());
  target->url_ = std::move(url).value();
  target->name_ = target->url_.authority;
  target->insecure_ = webhook.insecure;
  target->timeout_ = webhook.timeout;
  auto rules = AddressRules::create(webhook.addresses);
  if (!rules) return std::move(rules.error());
  target->rules_ = std::move(rules).value();
  if (webhook.proxy) {
    if (auto set = target->set_proxy(*webhook.proxy); !set) return std::move(set.error());
  }
  if (!target->url_.tls) return target;
  auto tls = TlsClient::create(webhook);
  if (!tls) return std::move(tls.error());
  target->tls_ = std::move(tls).value();
  return target;
}

base::Result<void> HttpTarget::set_proxy(const config::Webhook::Proxy& proxy) {
  auto url = parse_url(proxy.url);
  if (!url) return base::input_error("proxy: " + url.error().text);
  if (url->tls || url->target != "/") {
    return base::input_error(
        "proxy: its url is http://host:port, without https and without a path");
  }
  if (!url_.tls && !insecure_) {
    return base::input_error(
        "http:// through a proxy leaves this machine in clear text: use https://, or say "
        "`insecure: true` in the outlet's webhook");
  }
  proxy_ = std::move(url).value();
  name_ += " through the proxy " + proxy_->authority;
  const auto port = url_.tls ? ":443" : ":80";  // CONNECT always names it
  const bool has_port = url_.port != (url_.tls ? 443 : 80);
  const std::string there = has_port ? url_.authority : url_.authority + port;
  const std::string head =
      "CONNECT " + there + " HTTP/1.1\r\nhost: " + there + "\r\nuser-agent: girdled\r\n";
  if (proxy.user.empty()) {
    connect_request_ = SecretBytes(head + "\r\n");
    return {};
  }
  auto value = basic_credentials(proxy.user, proxy.password);
  if (!value) return base::input_error("proxy: " + value.error().text);
  connect_request_ = SecretBytes({head, "proxy-authorization: ", value->view(), "\r\n\r\n"});
  shows_proxy_user_ = true;
  return {};
}

base::Result<AddressRules::Addresses> HttpTarget::admit(
    const AddressRules::Addresses& found) const {
  auto admitted = rules_.admit(host(), found);
  if (!admitted || url_.tls || insecure_) return admitted;
  for (const auto& address : *admitted) {
    if (address.is_loopback()) continue;
    return base::input_error("http:// goes to this machine only, and " + url_.host + " is " +
                             address.to_string() +
                             ": use https://, or say `insecure: true` in the outlet's webhook");
  }
  return admitted;
}

class HttpConnection::Impl : public std::enable_shared_from_this<Impl> {
 public:
  Impl(asio::any_io_executor executor, const HttpTarget& target, Resolver& resolver)
      : target_(target), resolver_(resolver), plain_(executor), timer_(executor) {}

  asio::awaitable<base::Result<Answer>> post(std::string_view request);
  void end() {
    close();
    timer_.cancel();
  }

 private:
  // How one exchange on an open connection ended.
  struct Exchange {
    error_code error;
    size_t received = 0;
  };

  tcp::socket& socket() { return tls_ ? tls_->next_layer() : plain_; }

  void close();
  bool usable();
  asio::awaitable<base::Result<void>> open(Clock::time_point deadline);
  asio::awaitable<void> end_if_cancelled();
  asio::awaitable<base::Result<void>> connect(const Resolver::Addresses& addresses,
                                              Clock::time_point deadline);
  asio::awaitable<base::Result<void>> begin_tunnel();
  base::Error no_tunnel() const;
  asio::awaitable<base::Result<void>> shake_hands();
  template <class Stream>
  asio::awaitable<Exchange> exchange(Stream& stream, std::string_view request, AnswerParser::To to);
  size_t use(size_t held);
  void watch(Clock::time_point due);
  void rest();
  void arm(Clock::time_point due);
  void on_timer();
  void drop();
  base::Error failed(std::string_view what, const error_code& error) const;
  base::Error no_answer(const Exchange& exchange) const;

  const HttpTarget& target_;
  Resolver& resolver_;
  tcp::socket plain_;
  std::unique_ptr<TlsStream> tls_;  // in place of plain_ when there
  bool connected_ = false;

  // One timer guards every operation: closing the socket ends whatever waits on it. It is set anew
  // only when it must ring earlier than it would, so that a request costs no timer.
  asio::steady_timer timer_;
  Clock::time_point due_ = Clock::time_point::max();
  Clock::time_point rings_at_ = Clock::time_point::max();
  bool timed_out_ = false;
  bool idle_ = true;  // no post() is under way

  AnswerParser parser_;
  bool bad_answer_ = false;
  std::array<char, kBuffer> buffer_;
};

void HttpConnection::Impl::watch(Clock::time_point due) {
  due_ = due;
  timed_out_ = idle_ = false;
  if (due < rings_at_) arm(due);
}

// A connection that nobody uses is closed after a while; then no timer wakes the process any more.
void HttpConnection::Impl::rest() {
  idle_ = true;
  due_ = connected_ ? Clock::now() + kIdle : Clock::time_point::max();
}

void HttpConnection::Impl::arm(Clock::time_point due) {
  rings_at_ = due;
  timer_.expires_at(due);
  timer_.async_wait([weak = weak_from_this()](error_code error) {
    if (error) return;
    if (const auto self = weak.lock()) self->on_timer();
  });
}

void HttpConnection::Impl::on_timer() {
  rings_at_ = Clock::time_point::max();
  if (due_ > Clock::now()) {
    if (due_ != Clock::time_point::max()) arm(due_);
    return;
  }
  due_ = Clock::time_point::max();
  timed_out_ = true;
  if (idle_) {
    close();
  } else {
    drop();
  }
}

// Ends what is under way.
void HttpConnection::Impl::drop() {
  connected_ = false;
  error_code ignored;
  socket().close(ignored);
}

// Nothing may be under way.
void HttpConnection::Impl::close() {
  if (tls_ && connected_) {
    take_leave(std::move(tls_));
  } else {
    drop();
    tls_.reset();
  }
  connected_ = false;
}

// False when a kept connection has bytes that nobody asked for: they would be taken for the next
// answer.
bool HttpConnection::Impl::usable() {
  if (!connected_) return false;
  error_code error;
  return socket().available(error) == 0 && !error;
}

base::Error HttpConnection::Impl::failed(std::string_view what, const error_code& error) const {
  std::string text = target_.name() + ": " + std::string(what) + ": ";
  text += timed_out_ ? "it took too long" : error.message();
  return base::environment_error(std::move(text));
}

asio::awaitable<base::Result<void>> HttpConnection::Impl::connect(
    const Resolver::Addresses& addresses, Clock::time_point deadline) {
  error_code error;
  for (size_t i = 0; i < addresses.size(); ++i) {
    // An address that swallows packets must leave time for the others.
    const auto now = Clock::now();
    watch(now + (deadline - now) / static_cast<int64_t>(addresses.size() - i));
    co_await plain_.async_connect(tcp::endpoint(addresses[i], target_.port()),
                                  asio::redirect_error(asio::use_awaitable, error));
    if (!error) {
      watch(deadline);
      plain_.set_option(tcp::no_delay(true), error);
      co_return base::Result<void>();
    }
    error_code ignored;
    plain_.close(ignored);
  }
  // The name may lead elsewhere by now.
  resolver_.forget(target_.host());
  co_return failed("cannot connect", error);
}

// RFC 9110 9.3.6: any 2xx begins the tunnel, with the first byte after its header.
asio::awaitable<base::Result<void>> HttpConnection::Impl::begin_tunnel() {
  const std::string_view request = target_.connect_request();
  const Exchange result = co_await exchange(plain_, request, AnswerParser::To::kConnect);
  const bool begun = std::exchange(connected_, false);  // not for requests yet
  if (begun) co_return base::Result<void>();
  if (!parser_.has_answer()) co_return no_answer(result);
  co_return no_tunnel();
}

base::Error HttpConnection::Impl::no_tunnel() const {
  const int status = parser_.answer().status;
  std::string text = target_.name() + ": ";
  if (status / 100 == 2) {
    text += "the proxy begins no tunnel that can be used";
  } else if (status == 407) {
    text += target_.shows_proxy_user()
                ? "the proxy does not take this user with this password (407)"
                : "the proxy wants a user and a password (407): name them "
                  "under `proxy` in the outlet's webhook";
  } else {
    text += "the proxy does not connect: it answers " + std::to_string(status);
  }
  return base::environment_error(std::move(text));
}

asio::awaitable<base::Result<void>> HttpConnection::Impl::shake_hands() {
  const Url& url = target_.url();
  TlsClient& client = target_.tls();
  tls_ = std::make_unique<TlsStream>(std::move(plain_), client.context());
  if (!client.prepare(tls_->native_handle(), url)) {
    co_return base::environment_error(target_.name() + ": TLS does not take this name");
  }
  error_code error;
  co_await tls_->async_handshake(asio::ssl::stream_base::client,
                                 asio::redirect_error(asio::use_awaitable, error));
  if (!error) {
    client.shook_hands(tls_->native_handle());
    co_return base::Result<void>();
  }
  const long verified = SSL_get_verify_result(tls_->native_handle());
  if (timed_out_ || verified == X509_V_OK) co_return failed("TLS", error);
  co_return base::environment_error(target_.name() +
                                    ": its certificate is refused: " + certificate_text(verified));
}

asio::awaitable<base::Result<void>> HttpConnection::Impl::open(Clock::time_point deadline) {
  close();
  const auto found = co_await resolver_.resolve(target_.host(), deadline);
  if (!found) co_return found.error();
  const auto addresses = target_.admit(*found);
  if (!addresses) co_return addresses.error();
  auto done = co_await connect(*addresses, deadline);
  if (done && target_.has_proxy()) done = co_await begin_tunnel();
  if (done && target_.url().tls) done = co_await shake_hands();
  if (!done) co_return done;
  connected_ = true;
  co_return base::Result<void>();
}

// Gives the first `held` bytes of the buffer to the parser, and moves what it leaves to the front.
// Returns how many bytes that is.
size_t HttpConnection::Impl::use(size_t held) {
  const auto taken = parser_.take({buffer_.data(), held});
  if (!taken) {
    bad_answer_ = true;
    return 0;
  }
  const size_t left = held - *taken;
  if (left > 0 && *taken > 0) std::memmove(buffer_.data(), buffer_.data() + *taken, left);
  return left;
}

template <class Stream>
asio::awaitable<HttpConnection::Impl::Exchange> HttpConnection::Impl::exchange(
    Stream& stream, std::string_view request, AnswerParser::To to) {
  Exchange result;
  parser_.reset(to);
  bad_answer_ = connected_ = false;
  // A receiver may answer and close before it has read everything: what counts then is its answer,
  // so that an error here is told only when there is none to read.
  error_code write_error;
  co_await asio::async_write(stream, asio::buffer(request),
                             asio::redirect_error(asio::use_awaitable, write_error));
  size_t held = 0;
  while (!parser_.complete() && !bad_answer_) {
    if (result.received > kMostOfAnswer || held == buffer_.size()) {
      result.error = asio::error::message_size;
      break;
    }
    const size_t got =
        co_await stream.async_read_some(asio::buffer(buffer_.data() + held, buffer_.size() - held),
                                        asio::redirect_error(asio::use_awaitable, result.error));
    result.received += got;
    if (got > 0) held = use(held + got);
    if (result.error) break;
  }
  if (result.error) parser_.take_end();
  const bool whole = parser_.complete() && !result.error && !write_error && held == 0;
  connected_ = whole && (to == AnswerParser::To::kConnect ? parser_.answer().status / 100 == 2
                                                          : parser_.keep_alive());
  if (!connected_) {
    // OpenSSL resumes no session whose connection did not end well.
    if (whole && tls_) SSL_set_shutdown(tls_->native_handle(), SSL_SENT_SHUTDOWN);
    drop();
  }
  if (result.received == 0 && write_error) result.error = write_error;
  co_return result;
}

asio::awaitable<base::Result<Answer>> HttpConnection::Impl::post(std::string_view request) {
  const auto deadline = Clock::now() + target_.timeout();
  watch(deadline);
  for (bool reused = usable();; reused = false) {
    if (!reused) {
      auto opened = co_await open(deadline);
      if (!opened) {
        drop();
        rest();
        co_await end_if_cancelled();
        co_return std::move(opened.error());
      }
    }
    Exchange result;
    if (tls_) {
      result = co_await exchange(*tls_, request, AnswerParser::To::kPost);
    } else {
      result = co_await exchange(plain_, request, AnswerParser::To::kPost);
    }
    // The peer closed while the connection was idle: it has not seen the request, and if it has,
    // the id tells.
    if (reused && result.received == 0 && !timed_out_) continue;
    rest();
    if (parser_.has_answer()) co_return parser_.take_answer();
    co_await end_if_cancelled();
    co_return no_answer(result);
  }
}

// An operation that was cancelled is told as an error of the connection, which it is not.
asio::awaitable<void> HttpConnection::Impl::end_if_cancelled() {
  const auto state = co_await asio::this_coro::cancellation_state;
  if (state.cancelled() == asio::cancellation_type::none) co_return;
  throw boost::system::system_error(asio::error::operation_aborted);
}

base::Error HttpConnection::Impl::no_answer(const Exchange& exchange) const {
  if (bad_answer_) return base::environment_error(target_.name() + ": " + parser_.failure());
  if (exchange.error == asio::error::message_size) {
    return base::environment_error(target_.name() + ": the answer's header is longer than 16 KiB");
  }
  return failed("no answer", exchange.error);
}

HttpConnection::HttpConnection(asio::any_io_executor executor, const HttpTarget& target,
                               Resolver& resolver)
    : impl_(std::make_shared<Impl>(std::move(executor), target, resolver)) {}

HttpConnection::~HttpConnection() {
  if (impl_) impl_->end();
}

asio::awaitable<base::Result<Answer>> HttpConnection::post(std::string_view request) {
  return impl_->post(request);
}

}  // namespace girdle::delivery
