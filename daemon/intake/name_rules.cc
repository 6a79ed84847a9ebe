#include "intake/name_rules.h"

#include <fnmatch.h>

#include <algorithm>

namespace girdle::intake {
namespace {

// `ending` in small letters.
bool ends_with(std::string_view name, std::string_view ending) {
  return name.size() >= ending.size() &&
         std::equal(ending.begin(), ending.end(), name.end() - ending.size(),
                    [](char a, char b) { return a == (b >= 'A' && b <= 'Z' ? b - 'A' + 'a' : b); });
}

}  // namespace

bool NameRules::is_document(std::string_view name) const {
  if (name.empty() || name.front() == '.' || name.back() == '~') return false;
  if (ends_with(name, ".tmp") || ends_with(name, ".part")) return false;
  return match_ == "*" || ::fnmatch(match_.c_str(), name.data(), 0) == 0;
}

std::string numbered_name(std::string_view name, unsigned number) {
  const size_t dot = name.rfind('.');
  const size_t stem = dot == std::string_view::npos || dot == 0 ? name.size() : dot;
  std::string out(name.substr(0, stem));
  out += '-';
  out += std::to_string(number);
  out += name.substr(stem);
  return out;
}

}  // namespace girdle::intake
