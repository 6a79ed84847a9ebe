#include "json/json_pointer.h"

#include <algorithm>

namespace girdle::json {

namespace {

std::optional<std::string> unescaped(std::string_view token) {
  std::string name;
  for (size_t i = 0; i < token.size(); ++i) {
    if (token[i] != '~') {
      name.push_back(token[i]);
      continue;
    }
    const char code = ++i < token.size() ? token[i] : '\0';
    if (code != '0' && code != '1') return std::nullopt;
    name.push_back(code == '0' ? '~' : '/');
  }
  return name;
}

}  // namespace

std::optional<std::vector<std::string>> pointer_tokens(std::string_view pointer) {
  std::vector<std::string> tokens;
  while (!pointer.empty()) {
    if (pointer[0] != '/') return std::nullopt;
    pointer.remove_prefix(1);
    const size_t size = std::min(pointer.find('/'), pointer.size());
    std::optional<std::string> token = unescaped(pointer.substr(0, size));
    if (!token) return std::nullopt;
    tokens.push_back(std::move(*token));
    pointer.remove_prefix(size);
  }
  return tokens;
}

void append_token(std::string_view name, std::string& pointer) {
  pointer.push_back('/');
  for (const char c : name) {
    if (c == '~') {
      pointer += "~0";
    } else if (c == '/') {
      pointer += "~1";
    } else {
      pointer.push_back(c);
    }
  }
}

}  // namespace girdle::json
