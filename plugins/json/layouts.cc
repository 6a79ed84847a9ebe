#include "json/layouts.h"

#include <algorithm>
#include <numeric>

namespace girdle::json {

namespace {

size_t name_bytes(const std::vector<Member>& members) {
  const auto add = [](size_t sum, const Member& member) { return sum + member.name.size(); };
  return std::accumulate(members.begin(), members.end(), size_t{0}, add);
}

}  // namespace

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
  if (name_bytes(members) > kMaxNames) return {};
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
  layout.members.clear();
  layout.names.reset(new char[name_bytes(members)]);
  char* at = layout.names.get();
  for (const Member& member : members) {
    const std::string_view name(at, member.name.size());
    at = std::copy(member.name.begin(), member.name.end(), at);
    layout.members.push_back({name, member.is_field});
  }
}

}  // namespace girdle::json
