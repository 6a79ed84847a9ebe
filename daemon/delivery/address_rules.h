// Which addresses a webhook's name may lead to. Whoever can write a name's records could otherwise
// have the house's outcomes, or its credentials, sent to services of the machine or its host that
// answer whoever asks.
#pragma once

#include <boost/asio/ip/address.hpp>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "config/settings.h"

namespace girdle::delivery {

// What kind of address this is that is refused unless somebody names it: "link-local", …; empty
// where it is none. Addresses of IPv4 inside those of IPv6 (mapped, compatible, NAT64) are what
// they hold.
std::string_view refused_kind(const boost::asio::ip::address& address);

class AddressRules {
 public:
  using Addresses = std::vector<boost::asio::ip::address>;

  // `allowed`: addresses, or networks as in 169.254.0.0/16, in which any address is taken.
  static base::Result<AddressRules> create(const std::vector<config::Text>& allowed);

  // Those of the addresses that may be used; an error where that is none. An address that the url
  // itself names is allowed, since it is the person's word.
  base::Result<Addresses> admit(const std::string& host, const Addresses& found) const;

 private:
  struct Network {
    boost::asio::ip::address first;
    unsigned bits = 0;  // that count
    bool holds(const boost::asio::ip::address& address) const;
  };
  static base::Result<Network> parse(const std::string& text);
  bool allows(const boost::asio::ip::address& address) const;

  std::vector<Network> allowed_;
};

}  // namespace girdle::delivery
