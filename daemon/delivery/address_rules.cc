#include "delivery/address_rules.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cstdint>
#include <optional>
#include <span>

#include "base/text.h"

namespace girdle::delivery {
namespace {

namespace ip = boost::asio::ip;
using Bytes6 = ip::address_v6::bytes_type;

struct Range4 {
  uint32_t first;
  unsigned bits;
  std::string_view kind;
};

constexpr uint32_t v4(uint32_t a, uint32_t b, uint32_t c, uint32_t d) {
  return a << 24 | b << 16 | c << 8 | d;
}

// RFC 6890 for the networks; the metadata services by the documents of those who offer them, from
// memory. What a network holds stands before the network.
constexpr Range4 kRanges4[] = {
    {v4(169, 254, 169, 254), 32, "a metadata service's"},
    {v4(100, 100, 100, 200), 32, "a metadata service's"},
    {v4(168, 63, 129, 16), 32, "a metadata service's"},
    {v4(192, 0, 0, 192), 32, "a metadata service's"},
    {v4(169, 254, 0, 0), 16, "link-local"},
    {v4(224, 0, 0, 0), 4, "multicast"},
    {v4(0, 0, 0, 0), 8, "unspecified"},
    {v4(255, 255, 255, 255), 32, "broadcast"},
};

std::string_view kind_of(const ip::address_v4& address) {
  for (const Range4& range : kRanges4) {
    if (((address.to_uint() ^ range.first) >> (32 - range.bits)) == 0) return range.kind;
  }
  return {};
}

// The address of IPv4 that one of IPv6 stands for.
std::optional<ip::address_v4> embedded(const Bytes6& bytes) {
  static constexpr std::array<uint8_t, 12> kMapped{0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0xff, 0xff};
  static constexpr std::array<uint8_t, 12> kCompatible{};
  static constexpr std::array<uint8_t, 12> kNat64{0, 0x64, 0xff, 0x9b};  // RFC 6052 2.1
  for (const auto& prefix : {kMapped, kCompatible, kNat64}) {
    if (!std::equal(prefix.begin(), prefix.end(), bytes.begin())) continue;
    return ip::address_v4(v4(bytes[12], bytes[13], bytes[14], bytes[15]));
  }
  return std::nullopt;
}

std::string_view kind_of(const ip::address_v6& address) {
  static const Bytes6 kMetadata = ip::make_address_v6("fd00:ec2::254").to_bytes();
  const Bytes6 bytes = address.to_bytes();
  if (address.is_loopback()) return {};
  if (bytes == kMetadata) return "a metadata service's";
  if (address.is_unspecified()) return "unspecified";
  if (bytes[0] == 0xff) return "multicast";
  if (bytes[0] == 0xfe && (bytes[1] & 0xc0) == 0x80) return "link-local";
  const auto inner = embedded(bytes);
  return inner ? kind_of(*inner) : std::string_view();
}

// In one form for both families, so that a mapped address is compared as what it is.
Bytes6 wide(const ip::address& address) {
  if (address.is_v6()) return address.to_v6().to_bytes();
  return ip::make_address_v6(ip::v4_mapped, address.to_v4()).to_bytes();
}

}  // namespace

std::string_view refused_kind(const ip::address& address) {
  return address.is_v4() ? kind_of(address.to_v4()) : kind_of(address.to_v6());
}

bool AddressRules::Network::holds(const ip::address& address) const {
  const Bytes6 ours = wide(first), theirs = wide(address);
  const size_t whole = bits / 8;
  if (!std::equal(ours.begin(), ours.begin() + static_cast<long>(whole), theirs.begin())) {
    return false;
  }
  return bits % 8 == 0 || ((ours[whole] ^ theirs[whole]) >> (8 - bits % 8)) == 0;
}

base::Result<AddressRules::Network> AddressRules::parse(const std::string& text) {
  const auto wrong = [&] {
    return base::input_error(base::in_quotes(text) +
                             " is no address and no network, as in 169.254.10.2 or fe80::/10");
  };
  const size_t slash = std::min(text.find('/'), text.size());
  boost::system::error_code error;
  Network network;
  network.first = ip::make_address(text.substr(0, slash), error);
  if (error) return wrong();
  const unsigned most = network.first.is_v4() ? 32 : 128;
  network.bits = most;
  if (slash < text.size()) {
    const char* const end = text.data() + text.size();
    const auto read = std::from_chars(text.data() + slash + 1, end, network.bits);
    if (read.ec != std::errc() || read.ptr != end || network.bits > most) return wrong();
  }
  if (network.first.is_v4()) network.bits += 96;
  return network;
}

base::Result<AddressRules> AddressRules::create(const std::vector<config::Text>& allowed) {
  AddressRules rules;
  for (const config::Text& one : allowed) {
    auto network = parse(one.text);
    if (!network) return base::input_error("addresses: " + network.error().text);
    rules.allowed_.push_back(*network);
  }
  return rules;
}

bool AddressRules::allows(const ip::address& address) const {
  return std::any_of(allowed_.begin(), allowed_.end(),
                     [&](const Network& network) { return network.holds(address); });
}

base::Result<AddressRules::Addresses> AddressRules::admit(const std::string& host,
                                                          const Addresses& found) const {
  boost::system::error_code error;
  const auto literal = ip::make_address(host, error);
  if (!error && found.size() == 1 && found[0] == literal) return found;
  Addresses admitted;
  std::string refused;
  for (const ip::address& address : found) {
    const std::string_view kind = refused_kind(address);
    if (kind.empty() || allows(address)) {
      admitted.push_back(address);
    } else if (refused.empty()) {
      refused = address.to_string() + ", which is " + std::string(kind);
    }
  }
  if (!admitted.empty()) return admitted;
  return base::environment_error(host + " leads to " + refused +
                                 " and is refused; where that is right, name the address under "
                                 "`addresses` in the outlet's webhook");
}

}  // namespace girdle::delivery
