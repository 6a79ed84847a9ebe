#include "api/answer_head.h"

#include <algorithm>
#include <array>
#include <chrono>
#include <cstdio>

#include "api/problem.h"
#include "base/digest.h"
#include "base/text.h"

namespace girdle::api {
namespace {

// Fetch Standard 3.7; HTML 7.1; CSP level 3. The console needs nothing from elsewhere, and nobody may frame it. An
// answer of the API is no page at all, but a browser may be made to open it as one.
constexpr std::string_view kGuards =
    "Content-Security-Policy: default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "connect-src 'self'; form-action 'none'; base-uri 'none'; frame-ancestors 'none'\r\n"
    "X-Content-Type-Options: nosniff\r\n"
    "X-Frame-Options: DENY\r\n"
    "Referrer-Policy: no-referrer\r\n"
    "Cross-Origin-Opener-Policy: same-origin\r\n"
    "Cross-Origin-Resource-Policy: same-origin\r\n"
    "Permissions-Policy: camera=(), microphone=(), geolocation=(), payment=(), usb=(), serial=(), hid=()\r\n";
// RFC 6797.
constexpr std::string_view kTlsOnly = "Strict-Transport-Security: max-age=31536000\r\n";

bool is_token_char(char c) {
  return base::is_letter(c) || base::is_digit(c) ||
         std::string_view("!#$%&'*+-.^_`|~").find(c) != std::string_view::npos;
}

bool may_stand(std::string_view name, std::string_view value) {
  static constexpr std::array<std::string_view, 6> kOurs = {
      "content-length", "transfer-encoding", "connection", "content-type", "date", "cache-control"};
  std::string small(name);
  std::ranges::transform(small, small.begin(), base::lower);
  return !name.empty() && std::ranges::all_of(name, is_token_char) && std::ranges::none_of(value, base::is_control) &&
         std::ranges::find(kOurs, small) == kOurs.end();
}

void append_field(std::string& out, std::string_view name, std::string_view value) {
  out += name;
  out += ": ";
  out += value;
  out += "\r\n";
}

void append_framing(std::string& out, const Response& response, const AnswerFraming& framing) {
  const bool has_body = response.status != 204 && response.status != 304;  // RFC 9110 8.6
  if (has_body) append_field(out, "Content-Type", response.content_type);
  if (has_body && !framing.endless) append_field(out, "Content-Length", std::to_string(response.bytes().size()));
  if (!framing.keep_alive || framing.endless) append_field(out, "Connection", "close");
  append_field(out, "Cache-Control", framing.may_be_kept ? "no-cache" : "no-store");
}

// If-None-Match is compared weakly (RFC 9110 13.1.2).
bool names_tag(std::string_view list, std::string_view tag) {
  if (base::trimmed(list) == "*") return true;
  while (!list.empty()) {
    std::string_view one = list.substr(0, list.find(','));
    list.remove_prefix(std::min(list.size(), one.size() + 1));
    one = base::trimmed(one);
    if (one.starts_with("W/")) one.remove_prefix(2);
    if (one == tag) return true;
  }
  return false;
}

}  // namespace

std::string http_date(base::Instant instant) {
  static constexpr std::array<const char*, 7> kDays = {"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"};
  static constexpr std::array<const char*, 12> kMonths = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                                          "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
  const auto day = std::chrono::floor<std::chrono::days>(instant);
  const std::chrono::year_month_day date(day);
  const std::chrono::hh_mm_ss time(std::chrono::floor<std::chrono::seconds>(instant - day));
  std::array<char, 64> text;
  const int size = std::snprintf(text.data(), text.size(), "%s, %02u %s %04d %02d:%02d:%02d GMT",
                                 kDays[std::chrono::weekday(day).c_encoding()], static_cast<unsigned>(date.day()),
                                 kMonths[static_cast<unsigned>(date.month()) - 1], static_cast<int>(date.year()),
                                 static_cast<int>(time.hours().count()), static_cast<int>(time.minutes().count()),
                                 static_cast<int>(time.seconds().count()));
  return {text.data(), static_cast<size_t>(size)};
}

std::optional<std::string> write_head(const Response& response, const AnswerFraming& framing, base::Instant now) {
  std::string out = "HTTP/1.1 " + std::to_string(response.status) + ' ';
  out.reserve(1'280);
  out += reason_phrase(response.status);
  out += "\r\n";
  append_field(out, "Date", http_date(now));  // RFC 9110 6.6.1
  if (!may_stand("x", response.content_type)) return std::nullopt;
  append_framing(out, response, framing);
  for (const auto& [name, value] : response.headers) {
    if (!may_stand(name, value)) return std::nullopt;
    append_field(out, name, value);
  }
  out += kGuards;
  if (framing.tls) out += kTlsOnly;
  out += "\r\n";
  return out;
}

void settle_tag(Response& response, std::string_view if_none_match) {
  if (response.status != 200) return;
  const auto own =
      std::ranges::find(response.headers, "ETag", [](const auto& field) -> std::string_view { return field.first; });
  std::string tag;
  if (own != response.headers.end()) {
    tag = own->second;
  } else {
    tag = '"' + base::hex(base::sha256(response.bytes())).substr(0, 32) + '"';
    response.headers.emplace_back("ETag", tag);
  }
  if (!names_tag(if_none_match, tag)) return;
  response.status = 304;
  response.body.clear();
  response.view = {};
  response.keep.reset();
}

}  // namespace girdle::api
