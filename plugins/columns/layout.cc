#include "columns/layout.h"

#include <algorithm>
#include <set>
#include <utility>

#include "columns/layout_text.h"

namespace girdle::columns {

namespace {

// The first name that a record would have twice: one of its own, or carried into it.
std::optional<std::string> repeated_name(const std::vector<LineKind>& kinds) {
  std::set<std::string> carried;
  for (const LineKind& kind : kinds) {
    for (const std::string& name : kind.names) {
      if (kind.carried && !carried.insert(name).second) return name;
    }
  }
  for (const LineKind& kind : kinds) {
    for (const std::string& name : kind.names) {
      if (!kind.carried && carried.contains(name)) return name;
    }
  }
  return std::nullopt;
}

std::optional<std::string> repeated_prefix(const Layout& layout) {
  std::set<std::string> prefixes;
  for (const LineKind& kind : layout.kinds) {
    if (!prefixes.insert(kind.prefix).second) return kind.prefix;
  }
  for (const std::string& prefix : layout.ignored) {
    if (!prefixes.insert(prefix).second) return prefix;
  }
  return std::nullopt;
}

// Empty where the kinds go together.
std::string contradiction(const Layout& layout) {
  if (layout.kinds.empty())
    return "fields: say which field is at which positions, as in: run 1-4, result 39, note 40-";
  if (const auto prefix = repeated_prefix(layout)) {
    return prefix->empty()
               ? "fields: two kinds of lines have no beginning; put it before each, as "
                 "in 'H': run 2-5"
               : "fields, ignore: lines that begin with '" + *prefix + "' are there twice";
  }
  if (const auto name = repeated_name(layout.kinds)) {
    return "fields: \"" + *name + "\" would be in a record twice, carried; each name must differ";
  }
  const bool records = std::any_of(layout.kinds.begin(), layout.kinds.end(),
                                   [](const LineKind& kind) { return !kind.carried; });
  return records ? "" : "fields: every kind of line is carried, so none is a record";
}

}  // namespace

std::string LineKind::title() const {
  return prefix.empty() ? "a line without a beginning" : "'" + prefix + "'";
}

std::optional<Layout> Layout::from(std::string_view fields, std::string_view ignore,
                                   uint64_t longest, std::string& refusal) {
  LayoutText text(longest, refusal);
  auto kinds = text.kinds(fields);
  if (!kinds) return std::nullopt;
  auto ignored = text.prefixes(ignore);
  if (!ignored) return std::nullopt;
  Layout layout = {std::move(*kinds), std::move(*ignored)};
  refusal = contradiction(layout);
  if (!refusal.empty()) return std::nullopt;
  return layout;
}

Layout::Match Layout::match(std::string_view line) const {
  Match best;
  size_t length = 0;
  for (size_t i = 0; i < kinds.size(); ++i) {
    const std::string& prefix = kinds[i].prefix;
    const bool longer = best.found == Found::kNothing || prefix.size() > length;
    if (!longer || !line.starts_with(prefix)) continue;
    best = {Found::kKind, i};
    length = prefix.size();
  }
  for (const std::string& prefix : ignored) {
    const bool longer = best.found == Found::kNothing || prefix.size() > length;
    if (!longer || !line.starts_with(prefix)) continue;
    best = {Found::kIgnored, 0};
    length = prefix.size();
  }
  return best;
}

}  // namespace girdle::columns
