// Which route a request is for.
#include "api/route.h"

#include <utility>

namespace girdle::api {
namespace {

// The next segment of a pattern, without its slash; takes it off.
std::string_view next_segment(std::string_view& pattern) {
  pattern.remove_prefix(1);
  const std::string_view segment = pattern.substr(0, pattern.find('/'));
  pattern.remove_prefix(segment.size());
  return segment;
}

bool is_name(std::string_view segment) { return segment.size() > 2 && segment.front() == '{' && segment.back() == '}'; }

bool fits(std::string_view pattern, const std::vector<std::string>& path, std::vector<std::string_view>& parts) {
  parts.clear();
  for (const std::string& given : path) {
    if (pattern.empty()) return false;
    const std::string_view segment = next_segment(pattern);
    if (is_name(segment)) {
      parts.push_back(given);
    } else if (segment != given) {
      return false;
    }
  }
  return pattern.empty();
}

}  // namespace

Found find_route(std::span<const Route> routes, const Request& request) {
  Found found;
  std::vector<std::string_view> parts;
  for (const Route& route : routes) {
    if (!fits(route.pattern, request.path, parts)) continue;
    if (route.method == request.method) {
      found.route = &route;
      found.parts = std::move(parts);
      found.status = 200;
      found.allowed.clear();
      return found;
    }
    found.status = 405;
    if (!found.allowed.empty()) found.allowed += ", ";
    found.allowed += text(route.method);
  }
  return found;
}

}  // namespace girdle::api
