#include "api/message.h"

#include <algorithm>

namespace girdle::api {

std::string_view text(Role role) {
  switch (role) {
    case Role::kNobody: return "nobody";
    case Role::kLook: return "look";
    case Role::kWork: return "work";
    case Role::kAdmin: return "admin";
  }
  return {};
}

std::optional<Role> role_of(std::string_view word) {
  for (const Role role : {Role::kLook, Role::kWork, Role::kAdmin}) {
    if (text(role) == word) return role;
  }
  return std::nullopt;
}

std::string_view text(Method method) {
  switch (method) {
    case Method::kGet: return "GET";
    case Method::kPost: return "POST";
    case Method::kDelete: return "DELETE";
  }
  return {};
}

std::string_view Request::query_value(std::string_view name) const {
  const auto at = std::ranges::find(query, name, [](const auto& one) -> std::string_view { return one.first; });
  return at == query.end() ? std::string_view() : std::string_view(at->second);
}

}  // namespace girdle::api
