// The texts that delivery reads: addresses, dates of HTTP, secrets, signatures. What is accepted
// must hold what the headers promise.
#include <cstdint>
#include <cstdlib>
#include <string>

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
  const auto secret = delivery::Secret::parse(text);
  if (!secret) return;
  std::string again = "whsec_";
  delivery::append_base64(again, secret->bytes());
  check(again == text);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  check_url(text);
  check_date(text);
  check_secret(text);
  return 0;
}
