#include "api/host_names.h"

#include <algorithm>
#include <charconv>
#include <utility>

#include "base/text.h"

namespace girdle::api {

namespace ip = boost::asio::ip;

namespace {

std::optional<uint16_t> parse_port(std::string_view text) {
  uint16_t port = 0;
  if (text.empty() || text.size() > 5 || !std::ranges::all_of(text, base::is_digit)) return std::nullopt;
  const auto end = text.data() + text.size();
  const auto read = std::from_chars(text.data(), end, port);
  if (read.ec != std::errc() || read.ptr != end) return std::nullopt;
  return port;
}

bool is_name(std::string_view text) {
  return !text.empty() && std::ranges::all_of(text, [](char c) { return base::is_unreserved(c) && c != '~'; });
}

// RFC 6125 6.4.3: a star stands for the whole first label, and for one label only.
bool covers(std::string_view pattern, std::string_view name) {
  if (!pattern.starts_with("*.")) return pattern == name;
  const size_t dot = name.find('.');
  return dot != std::string_view::npos && dot > 0 && name.substr(dot) == pattern.substr(1);
}

}  // namespace

ip::address plain_address(const ip::address& address) {
  if (!address.is_v6() || !address.to_v6().is_v4_mapped()) return address;
  return ip::make_address_v4(ip::v4_mapped, address.to_v6());
}

std::optional<Authority> parse_authority(std::string_view host) {
  Authority authority;
  boost::system::error_code wrong;
  std::string_view rest;
  if (host.starts_with('[')) {
    const size_t end = host.find(']');
    if (end == std::string_view::npos) return std::nullopt;
    const auto address = ip::make_address_v6(std::string(host.substr(1, end - 1)), wrong);
    if (wrong || address.scope_id() != 0) return std::nullopt;
    authority.address = plain_address(address);
    rest = host.substr(end + 1);
  } else {
    const std::string_view name = host.substr(0, host.find(':'));
    if (!is_name(name)) return std::nullopt;
    rest = host.substr(name.size());
    authority.name.assign(name.ends_with('.') ? name.substr(0, name.size() - 1) : name);
    std::ranges::transform(authority.name, authority.name.begin(), base::lower);
    if (authority.name.empty()) return std::nullopt;
    const auto address = ip::make_address_v4(authority.name, wrong);
    if (!wrong) authority.address = address;
  }
  if (rest.empty()) return authority;
  if (rest.front() != ':') return std::nullopt;
  authority.port = parse_port(rest.substr(1));
  if (!authority.port) return std::nullopt;
  return authority;
}

HostNames::HostNames(Settings settings) : settings_(std::move(settings)) {}

bool HostNames::names(std::string_view entry, const Authority& asked) const {
  const auto own = parse_authority(entry);
  if (!own) return false;
  if (own->port && own->port != asked.port && !(is_default(*own->port) && !asked.port)) return false;
  return own->address ? own->address == asked.address : own->name == asked.name && !asked.address;
}

bool HostNames::have(std::string_view host, const ip::address& local) const {
  const auto asked = parse_authority(host);
  if (!asked) return false;
  const ip::address own = plain_address(local);
  const bool is_port = asked->port ? *asked->port == settings_.port : is_default(settings_.port);
  if (is_port && asked->address && *asked->address == own) return true;
  if (is_port && own.is_loopback()) {
    if (asked->address ? asked->address->is_loopback() : asked->name == "localhost") return true;
  }
  for (const std::string& entry : settings_.hosts) {
    if (names(entry, *asked)) return true;
  }
  return std::ranges::any_of(settings_.certificate, [&](const std::string& name) {
    return asked->address ? names(name, *asked) : covers(name, asked->name);
  });
}

}  // namespace girdle::api
