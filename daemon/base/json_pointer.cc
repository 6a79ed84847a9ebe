#include "base/json_pointer.h"

#include <charconv>

namespace girdle::base {

std::optional<std::string> pointer_token(std::string_view escaped) {
  std::string token;
  for (size_t i = 0; i < escaped.size(); ++i) {
    if (escaped[i] != '~') {
      token += escaped[i];
      continue;
    }
    if (++i == escaped.size() || (escaped[i] != '0' && escaped[i] != '1')) return std::nullopt;
    token += escaped[i] == '0' ? '~' : '/';
  }
  return token;
}

std::optional<std::vector<std::string>> pointer_tokens(std::string_view pointer) {
  std::vector<std::string> tokens;
  while (!pointer.empty()) {
    if (pointer.front() != '/') return std::nullopt;
    pointer.remove_prefix(1);
    const std::string_view escaped = pointer.substr(0, pointer.find('/'));
    auto token = pointer_token(escaped);
    if (!token) return std::nullopt;
    tokens.push_back(std::move(*token));
    pointer.remove_prefix(escaped.size());
  }
  return tokens;
}

std::optional<size_t> pointer_place(std::string_view token) {
  if (token.empty() || (token.size() > 1 && token.front() == '0')) return std::nullopt;
  size_t place = 0;
  const char* const end = token.data() + token.size();
  const auto read = std::from_chars(token.data(), end, place);
  if (read.ec != std::errc() || read.ptr != end) return std::nullopt;
  return place;
}

}  // namespace girdle::base
