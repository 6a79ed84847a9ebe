// The texts that delivery reads: addresses, dates of HTTP, secrets, signatures. What is accepted
// must hold what the headers promise.
#include <cstdint>
#include <cstdlib>
#include <string>

#include "delivery/address_rules.h"
#include "delivery/base64.h"
#include "delivery/http_date.h"
#include "delivery/signature.h"
#include "delivery/url.h"

namespace {

using namespace girdle;

void check(bool holds) {
  if (!holds) std::abort();
}

void check_url(std::string_view text) {
  const auto url = delivery::parse_url(text);
  if (!url) return;
  check(url->port != 0 && !url->host.empty() && url->target.starts_with('/'));
  const std::string again = url->text();
  for (const char c : again) check(c > ' ' && c < '\x7f');
  const auto second = delivery::parse_url(again);
  check(second.ok() && second->text() == again && second->host == url->host);
}

void check_date(std::string_view text) {
  const auto now = base::from_millis(1793614530000);
  const auto wait = delivery::parse_retry_after(text, now);
  if (wait) check(*wait >= base::Millis(0) && *wait <= std::chrono::hours(24 * 365));
}

void check_secret(std::string_view text) {
  using Kind = delivery::Secret::Kind;
  const auto secret = delivery::Secret::parse(text);
  if (!secret) return;
  std::string again = secret->kind() == Kind::kShared    ? "whsec_"
                      : secret->kind() == Kind::kPrivate ? "whsk_"
                                                         : "whpk_";
  delivery::append_base64(again, secret->bytes());
  // A private key may be followed by its public half, which is not kept: three bytes in four
  // letters, of 32 the last two in three and a padding.
  const bool has_half = secret->kind() == Kind::kPrivate && text.size() > again.size();
  check(has_half ? text.substr(0, 5 + 42) == again.substr(0, 5 + 42) : again == text);
}

void check_network(std::string_view text) {
  static const std::vector<boost::asio::ip::address> kFound = {
      boost::asio::ip::make_address("169.254.169.254"), boost::asio::ip::make_address("fe80::1"),
      boost::asio::ip::make_address("192.0.2.7")};
  const auto rules = delivery::AddressRules::create({{std::string(text), {}}});
  if (!rules) return;
  const auto admitted = rules->admit("till.example", kFound);
  check(admitted.ok() && !admitted->empty() && admitted->back() == kFound.back());
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  check_url(text);
  check_date(text);
  check_secret(text);
  check_network(text);
  return 0;
}
