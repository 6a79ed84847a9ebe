// By which names the service may be called. A page of another site whose name was made to lead here (DNS rebinding) is
// told by its Host: that still names the other site.
#pragma once

#include <boost/asio/ip/address.hpp>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace girdle::api {

// A Host field taken apart (RFC 9110 7.2; RFC 3986 3.2.2): a name in small letters without a last dot, or an address.
struct Authority {
  std::string name;
  std::optional<boost::asio::ip::address> address;
  std::optional<uint16_t> port;
};
std::optional<Authority> parse_authority(std::string_view host);

class HostNames {
 public:
  struct Settings {
    bool tls = false;
    uint16_t port = 0;                     // that is listened on
    std::vector<std::string> hosts;        // `name`, at any port (a port may be mapped on the way), or `name:port`
    std::vector<std::string> certificate;  // names of subjectAltName, `*.` included, and addresses
  };
  explicit HostNames(Settings settings);

  // Of a connection to this address of ours. An address that is connected to is always a name for itself, with the
  // port; so is `localhost` for a loopback address.
  bool have(std::string_view host, const boost::asio::ip::address& local) const;

 private:
  bool is_default(uint16_t port) const { return port == (settings_.tls ? 443 : 80); }
  bool names(std::string_view entry, const Authority& asked) const;
  Settings settings_;
};

// Without the form in which IPv6 writes an IPv4 address.
boost::asio::ip::address plain_address(const boost::asio::ip::address& address);

}  // namespace girdle::api
