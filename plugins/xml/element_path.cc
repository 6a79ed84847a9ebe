#include "xml/element_path.h"

#include <algorithm>

#include "xml/characters.h"

namespace girdle::xml {

namespace {

constexpr std::string_view kUp = "../";

// Names with slashes between; the last may be an attribute's, behind an @.
bool is_way(std::string_view way) {
  const size_t slash = way.find('/');
  std::string_view name = way.substr(0, slash);
  if (slash != std::string_view::npos) return is_name(name) && is_way(way.substr(slash + 1));
  if (name.starts_with('@')) name.remove_prefix(1);
  return is_name(name);
}

std::optional<ContextPath> context_path(std::string_view text) {
  ContextPath path{0, {}, {}, text.ends_with('?')};
  if (path.may_be_missing) text.remove_suffix(1);
  path.name = text;
  for (; text.starts_with(kUp); text.remove_prefix(kUp.size())) ++path.levels_up;
  if (!is_way(text)) return std::nullopt;
  if (!text.starts_with('@')) path.element = text.substr(0, text.find('/'));
  return path;
}

bool is_among(const std::vector<ContextPath>& paths, const ContextPath& one) {
  return std::any_of(paths.begin(), paths.end(),
                     [&one](const ContextPath& other) { return other.name == one.name; });
}

}  // namespace

std::string_view local_part(std::string_view name) {
  const size_t colon = name.find(':');
  return colon == std::string_view::npos ? name : name.substr(colon + 1);
}

bool ContextPath::leads_to(std::string_view field) const {
  if (!field.starts_with(name)) return false;
  return field.size() == name.size() || field[name.size()] == '/' || field[name.size()] == '[';
}

bool ElementPath::is(std::string_view written, std::string_view name) const {
  return written == name || (any_prefix && local_part(written) == name);
}

std::optional<std::vector<std::string>> path_names(std::string_view path) {
  std::vector<std::string> names;
  while (!path.empty()) {
    if (path[0] != '/') return std::nullopt;
    path.remove_prefix(1);
    const std::string_view name = path.substr(0, path.find('/'));
    if (!is_name(name) || names.size() == ElementPath::kMostNames) return std::nullopt;
    names.emplace_back(name);
    path.remove_prefix(name.size());
  }
  if (names.empty()) return std::nullopt;
  return names;
}

std::optional<std::vector<ContextPath>> context_paths(std::string_view list, size_t depth) {
  std::vector<ContextPath> paths;
  if (without_leading_space(list).empty()) return paths;
  for (bool more = true; more;) {
    const size_t comma = list.find(',');
    more = comma != std::string_view::npos;
    const std::string_view text =
        without_leading_space(without_trailing_space(list.substr(0, comma)));
    const std::optional<ContextPath> path = context_path(text);
    const bool fits = path && path->levels_up >= 1 && path->levels_up < depth;
    if (!fits || is_among(paths, *path) || paths.size() == ElementPath::kMostNames)
      return std::nullopt;
    paths.push_back(*path);
    list.remove_prefix(more ? comma + 1 : list.size());
  }
  return paths;
}

}  // namespace girdle::xml
