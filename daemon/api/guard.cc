#include "api/guard.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <optional>
#include <utility>

#include "base/text.h"

namespace girdle::api {
namespace {

constexpr size_t kMostSegments = 16;
constexpr size_t kMostParameters = 32;
constexpr size_t kMostHost = 300;  // a name of 255 bytes (RFC 1035 2.3.4), a port, and some
constexpr size_t kMostType = 128;
constexpr size_t kLongestLength = 18;  // digits that fit into 64 bits

using Maybe = std::optional<Refusal>;

Refusal bad(std::string detail) { return {400, std::move(detail)}; }

std::string in_small_letters(std::string_view text) {
  std::string out(text);
  std::ranges::transform(out, out.begin(), base::lower);
  return out;
}

// How often a field stands there, and its last value.
struct Found {
  size_t count = 0;
  std::string_view value;
};

Found find(const RequestHead& head, std::string_view name) {
  Found found;
  for (const auto& field : head.fields) {
    if (field.name != name) continue;
    ++found.count;
    found.value = field.value;
  }
  return found;
}

Maybe take_method(const RequestHead& head, Guarded& out) {
  out.is_head = head.method == "HEAD";
  if (head.method == "GET" || out.is_head) {
    out.request.method = Method::kGet;
  } else if (head.method == "POST") {
    out.request.method = Method::kPost;
  } else if (head.method == "DELETE") {
    out.request.method = Method::kDelete;
  } else {
    // RFC 9110 15.6.2: of no resource here. Methods are case-sensitive (9.1).
    return Refusal{501, "the methods here are GET, HEAD, POST and DELETE"};
  }
  return std::nullopt;
}

// RFC 9112 3.2: a server must refuse a request without Host, with several, or with one that is none.
Maybe take_host(const RequestHead& head, Guarded& out) {
  const Found host = find(head, "host");
  if (host.count != 1) return bad("a request has one Host field");
  if (host.value.empty() || host.value.size() > kMostHost || !std::ranges::all_of(host.value, base::is_visible)) {
    return bad("the Host field does not name a host");
  }
  out.host = in_small_letters(host.value);
  return std::nullopt;
}

// Where the body ends (RFC 9112 6.1, 6.2, 6.3), said once and in one way. Beast 1.81 lets through what 6.1 and 6.3 call
// an error or a likely attack: several codings, a coding on HTTP/1.0, a coding beside a length.
Maybe take_framing(const RequestHead& head, Guarded& out) {
  const Found coding = find(head, "transfer-encoding");
  const Found length = find(head, "content-length");
  if (coding.count > 0) {
    if (coding.count > 1 || in_small_letters(coding.value) != "chunked") {
      return bad("the one Transfer-Encoding here is chunked");
    }
    if (length.count > 0) return bad("a request has a Transfer-Encoding or a Content-Length, not both");
    out.chunked = true;
    return std::nullopt;
  }
  if (length.count == 0) return std::nullopt;
  // RFC 9110 8.6: lists of equal lengths may be refused.
  if (length.count > 1) return bad("a request has one Content-Length");
  if (length.value.empty() || length.value.size() > kLongestLength ||
      !std::ranges::all_of(length.value, base::is_digit)) {
    return bad("a Content-Length is digits");
  }
  std::from_chars(length.value.data(), length.value.data() + length.value.size(), out.length);
  return std::nullopt;
}

Maybe take_body_rules(const RequestHead& head, Guarded& out) {
  // RFC 9110 9.3.1, 9.3.2, 9.3.5: such a body means nothing, and is how requests are smuggled.
  if (out.has_body() && out.request.method != Method::kPost) return bad("a GET, HEAD or DELETE has no body");
  if (find(head, "content-encoding").count > 0) {
    return Refusal{415, "a body is sent as it is, without Content-Encoding"};  // RFC 9110 8.4
  }
  const Found expect = find(head, "expect");
  if (expect.count == 0) return std::nullopt;
  if (expect.count > 1 || in_small_letters(expect.value) != "100-continue") {
    return Refusal{417, "the one expectation that is met here is 100-continue"};  // RFC 9110 10.1.1
  }
  out.wants_continue = out.has_body();
  return std::nullopt;
}

std::string media_type(std::string_view value) {
  std::string type = in_small_letters(base::trimmed(value.substr(0, value.find(';'))));
  const bool is_one = type.size() <= kMostType && std::ranges::all_of(type, base::is_visible);
  return is_one ? type : std::string();
}

// Fields of which a second one would be another answer to the same question.
Maybe take_singletons(const RequestHead& head, Guarded& out) {
  std::string content_type;
  const std::array<std::pair<std::string_view, std::string*>, 7> singletons = {{
      {"authorization", &out.authorization},
      {"cookie", &out.cookie},  // RFC 6265bis 5.8.3: one
      {"origin", &out.origin},
      {"sec-fetch-site", &out.fetch_site},
      {"girdle-console", &out.console},
      {"content-type", &content_type},
      {"last-event-id", &out.request.last_event_id},
  }};
  for (const auto& [name, place] : singletons) {
    const Found found = find(head, name);
    if (found.count > 1) return bad("a request has one " + std::string(name) + " field");
    *place = found.value;
  }
  out.request.content_type = media_type(content_type);
  for (const std::string_view name : {"forwarded", "via", "x-forwarded-for", "x-forwarded-host", "x-real-ip"}) {
    out.is_forwarded = out.is_forwarded || find(head, name).count > 0;
  }
  // One list, though it may stand in several fields (RFC 9110 5.3).
  for (const auto& field : head.fields) {
    if (field.name != "if-none-match") continue;
    if (!out.request.if_none_match.empty()) out.request.if_none_match += ", ";
    out.request.if_none_match += field.value;
  }
  return std::nullopt;
}

// RFC 3986 3.3 and 3.4, but for "%", which stands for another.
bool may_stand_in_target(char c) {
  return base::is_unreserved(c) || std::string_view("!$&'()*+,;=:@/?%").find(c) != std::string_view::npos;
}

int digit_value(char c) { return base::is_digit(c) ? c - '0' : base::lower(c) - 'a' + 10; }

// Nothing where a "%" is not followed by two digits, or where what comes out is no text for a name: control characters,
// NUL among them, and what is not UTF-8.
std::optional<std::string> decoded(std::string_view text, bool plus_is_space) {
  std::string out;
  out.reserve(text.size());
  for (size_t i = 0; i < text.size(); ++i) {
    char c = text[i];
    if (c == '%') {
      if (i + 2 >= text.size() || !base::is_hex(text[i + 1]) || !base::is_hex(text[i + 2])) return std::nullopt;
      c = static_cast<char>(digit_value(text[i + 1]) * 16 + digit_value(text[i + 2]));
      i += 2;
    } else if (c == '+' && plus_is_space) {
      c = ' ';
    }
    if (base::is_control(c)) return std::nullopt;
    out += c;
  }
  if (!base::is_utf8(out)) return std::nullopt;
  return out;
}

// Whoever stands before us may have taken such a path for another one (RFC 3986 5.2.4). An encoded slash by itself is part
// of a name, such as that of the stone R1042/2.
bool leads_elsewhere(std::string_view segment) {
  for (;;) {
    const size_t slash = segment.find('/');
    const std::string_view part = segment.substr(0, slash);
    if (part.empty() || part == "." || part == ".." || part.find('\\') != std::string_view::npos) return true;
    if (slash == std::string_view::npos) return false;
    segment.remove_prefix(slash + 1);
  }
}

Maybe take_path(std::string_view path, Request& request) {
  if (path == "/") return std::nullopt;
  while (!path.empty()) {
    path.remove_prefix(1);  // its slash
    const std::string_view segment = path.substr(0, path.find('/'));
    path.remove_prefix(segment.size());
    auto text = decoded(segment, false);
    if (!text) return bad("the path has a percent-encoding that is none, or that stands for no text");
    if (leads_elsewhere(*text)) return bad("the path has an empty segment, one of dots, or a backslash");
    if (request.path.size() == kMostSegments) return bad("the path has more than 16 segments");
    request.path.push_back(std::move(*text));
  }
  return std::nullopt;
}

// As browsers write it (application/x-www-form-urlencoded).
Maybe take_query(std::string_view query, Request& request) {
  while (!query.empty()) {
    const std::string_view pair = query.substr(0, query.find('&'));
    query.remove_prefix(std::min(query.size(), pair.size() + 1));
    if (pair.empty()) continue;
    const size_t sign = pair.find('=');
    auto name = decoded(pair.substr(0, sign), true);
    auto value = decoded(sign == std::string_view::npos ? std::string_view() : pair.substr(sign + 1), true);
    if (!name || !value || name->empty()) {
      return bad("the query has a percent-encoding that is none, or that stands for no text");
    }
    if (request.query.size() == kMostParameters) return bad("the query has more than 32 parameters");
    request.query.emplace_back(std::move(*name), std::move(*value));
  }
  return std::nullopt;
}

}  // namespace

std::variant<std::monostate, Refusal> read_target(std::string_view target, Request& request) {
  if (!target.starts_with('/')) return bad("the target is a path that begins with a slash");
  if (!std::ranges::all_of(target, may_stand_in_target)) {
    return bad("the target holds a character that must be percent-encoded, or a fragment");
  }
  const size_t mark = target.find('?');
  Maybe wrong = take_path(target.substr(0, mark), request);
  if (!wrong && mark != std::string_view::npos) wrong = take_query(target.substr(mark + 1), request);
  if (wrong) return std::move(*wrong);
  return std::monostate();
}

std::variant<Guarded, Refusal> guard(const RequestHead& head) {
  Guarded out;
  if (head.version != 11) return Refusal{505, "this server speaks HTTP/1.1"};
  out.keep_alive = head.keep_alive;
  for (const auto check : {take_host, take_framing, take_method, take_body_rules, take_singletons}) {
    if (Maybe wrong = check(head, out)) return std::move(*wrong);
  }
  auto target = read_target(head.target, out.request);
  if (auto* const wrong = std::get_if<Refusal>(&target)) return std::move(*wrong);
  return out;
}

}  // namespace girdle::api
