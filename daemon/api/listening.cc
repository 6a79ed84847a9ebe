#include "api/listening.h"

#include <utility>

#include "base/text.h"

namespace girdle::api {

namespace ip = boost::asio::ip;
using boost::system::error_code;
using ip::tcp;

namespace {

std::string text_of(const tcp::endpoint& endpoint) {
  const std::string address = endpoint.address().to_string();
  return (endpoint.address().is_v6() ? '[' + address + ']' : address) + ':' + std::to_string(endpoint.port());
}

error_code open(tcp::acceptor& acceptor, const tcp::endpoint& endpoint) {
  error_code error;
  acceptor.open(endpoint.protocol(), error);
  if (!error) acceptor.set_option(tcp::acceptor::reuse_address(true), error);
  if (!error) acceptor.bind(endpoint, error);
  if (!error) acceptor.listen(boost::asio::socket_base::max_listen_connections, error);
  return error;
}

// A machine may have no IPv6.
bool is_absent(const error_code& error) {
  return error == boost::system::errc::address_not_available ||
         error == boost::system::errc::address_family_not_supported;
}

}  // namespace

base::Result<std::vector<tcp::acceptor>> listen_at(boost::asio::io_context& context, const std::string& host,
                                                   uint16_t port, bool tls) {
  std::vector<ip::address> addresses;
  if (host == "localhost") {
    addresses = {ip::address_v4::loopback(), ip::address_v6::loopback()};
  } else {
    error_code wrong;
    addresses = {ip::make_address(host, wrong)};
    if (wrong)
      return base::input_error(base::in_quotes(host) + " is no address: write one such as 127.0.0.1, or localhost");
  }
  if (!tls && !addresses.front().is_loopback()) {
    return base::input_error("plain HTTP is for this machine only, and " + host +
                             " is no loopback address: give a certificate and its key, or listen at 127.0.0.1");
  }
  std::vector<tcp::acceptor> acceptors;
  for (const ip::address& address : addresses) {
    tcp::acceptor acceptor(context);
    const tcp::endpoint endpoint(address, port);
    const error_code error = open(acceptor, endpoint);
    if (error && !acceptors.empty() && is_absent(error)) continue;
    if (error) return base::environment_error("cannot listen at " + text_of(endpoint) + ": " + error.message());
    port = acceptor.local_endpoint().port();
    acceptors.push_back(std::move(acceptor));
  }
  return acceptors;
}

}  // namespace girdle::api
