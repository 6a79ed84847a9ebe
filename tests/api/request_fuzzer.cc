// A client's bytes, as the server takes them: in one piece and one by one they must come to the same requests; what the
// guard lets through must be sound; and a route is found or not, but looked for in any case.
#include <algorithm>
#include <array>
#include <cstdint>
#include <cstdlib>
#include <string>
#include <variant>
#include <vector>

#include "api/guard.h"
#include "api/host_names.h"
#include "api/request_parser.h"
#include "api/route.h"
#include "base/text.h"

namespace {

using girdle::api::Guarded;
using girdle::api::Method;

constexpr size_t kMostBody = 64;

const std::array<girdle::api::Route, 4> kRoutes = {{
    {.method = Method::kGet, .pattern = "/api/v1/cases"},
    {.method = Method::kGet, .pattern = "/api/v1/cases/{id}"},
    {.method = Method::kPost, .pattern = "/api/v1/intakes/{name}"},
    {.method = Method::kGet, .pattern = "/metrics"},
}};

void must(bool holds) {
  if (!holds) std::abort();
}

void check_text(const std::string& text) {
  must(girdle::base::is_utf8(text));
  must(std::ranges::none_of(text, girdle::base::is_control));
}

// Says in one text what was understood.
std::string look_at(const Guarded& asked, const girdle::api::RequestHead& head) {
  const auto count = [&](std::string_view name) {
    return std::ranges::count(head.fields, name, &girdle::api::RequestHead::Field::name);
  };
  must(count("host") == 1 && count("content-length") + count("transfer-encoding") <= 1 && head.version == 11);
  must(!asked.has_body() || asked.request.method == Method::kPost);
  std::string seen(girdle::api::text(asked.request.method));
  for (const std::string& segment : asked.request.path) {
    check_text(segment);
    // A slash of a name is no way out.
    const std::string path = '/' + segment + '/';
    for (const char* way : {"//", "/./", "/../", "\\"}) must(path.find(way) == std::string::npos);
    seen += '/' + segment;
  }
  for (const auto& [name, value] : asked.request.query) {
    check_text(name);
    check_text(value);
    seen += '?' + name + '=' + value;
  }
  const auto found = girdle::api::find_route(kRoutes, asked.request);
  must((found.route != nullptr) == (found.status == 200));
  girdle::api::parse_authority(asked.host);
  return seen + ' ' + asked.host + ' ' + asked.request.content_type;
}

// The whole requests that are in the bytes. What becomes of one that is not whole is not compared: bytes that can
// become no request any more may be refused at once, or when more have come.
std::vector<std::string> requests_in(std::string_view bytes, size_t step) {
  std::vector<std::string> seen;
  girdle::api::RequestParser parser;
  std::string held, head;
  bool expects_body = false;
  while (true) {
    const auto taken = parser.take(held);
    if (!taken) {
      must(parser.refusal().status >= 400 && parser.refusal().status <= 505 && !parser.refusal().detail.empty());
      return seen;
    }
    must(*taken <= held.size());
    held.erase(0, *taken);
    if (parser.has_head() && !expects_body) {
      const auto checked = girdle::api::guard(parser.head());
      const auto* const asked = std::get_if<Guarded>(&checked);
      if (asked == nullptr) return seen;
      head = look_at(*asked, parser.head());
      parser.expect_body(kMostBody);
      expects_body = true;
    } else if (parser.complete()) {
      const std::string body = parser.take_body();
      must(body.size() <= kMostBody);
      seen.push_back(head + ' ' + body);
      parser.reset();
      expects_body = false;
    } else if (*taken == 0) {
      if (bytes.empty()) return seen;
      held += bytes.substr(0, step);
      bytes.remove_prefix(std::min(step, bytes.size()));
    }
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  const std::string_view bytes(reinterpret_cast<const char*>(data), std::min<size_t>(size, 8'192));
  must(requests_in(bytes, std::max<size_t>(bytes.size(), 1)) == requests_in(bytes, 1));
  return 0;
}
