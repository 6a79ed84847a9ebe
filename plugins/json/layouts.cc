#include "json/layouts.h"

#include <algorithm>
#include <numeric>

namespace girdle::json {

Layouts::Found Layouts::find(const std::vector<Member>& members) {
  for (size_t i = 0; i < known_.size(); ++i) {
    const size_t at = (last_ + i) % known_.size();
    if (known_[at].members != members) continue;
    last_ = at;
    return {known_[at].number, std::nullopt};
  }
  sorted_.clear();
  for (const Member& member : members) sorted_.push_back(member.name);
  std::sort(sorted_.begin(), sorted_.end());
  const auto twice = std::adjacent_find(sorted_.begin(), sorted_.end());
  if (twice != sorted_.end()) return {0, *twice};
  const auto add = [](size_t sum, const Member& member) { return sum + member.name.size(); };
  if (std::accumulate(members.begin(), members.end(), size_t{0}, add) > kMaxNames) return {};
  if (numbers_ == UINT32_MAX) return {};
  remember(members, ++numbers_);
  return {numbers_, std::nullopt};
}

void Layouts::remember(const std::vector<Member>& members, uint32_t number) {
  if (known_.size() < kRemembered) {
    known_.emplace_back();
    last_ = known_.size() - 1;
  } else {
    last_ = (last_ + 1) % kRemembered;
  }
  Layout& layout = known_[last_];
  layout.number = number;
  layout.as_written = true;
  layout.names.clear();
  for (const Member& member : members) {
    layout.names.append(member.name);
    const bool plain = member.name.find_first_of("\"\\") == std::string_view::npos;
    layout.as_written = layout.as_written && plain && !member.name.starts_with('/');
  }
  layout.members.clear();
  size_t at = 0;
  for (const Member& member : members) {
    layout.members.push_back(
        {std::string_view(layout.names).substr(at, member.name.size()), member.is_field});
    at += member.name.size();
  }
}

}  // namespace girdle::json
