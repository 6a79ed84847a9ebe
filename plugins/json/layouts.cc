#include "json/layouts.h"

#include <algorithm>
#include <cstring>
#include <numeric>

namespace girdle::json {

namespace {

uint32_t mark_of(const Member& member) {
  return static_cast<uint32_t>(member.name.size() << 1 | (member.is_field ? 1 : 0));
}

}  // namespace

bool Layouts::equal(const Layout& layout, const std::vector<Member>& members) {
  if (layout.marks.size() != members.size()) return false;
  const char* names = layout.names.data();
  for (size_t i = 0; i < members.size(); ++i) {
    const std::string_view name = members[i].name;
    if (layout.marks[i] != mark_of(members[i])) return false;
    if (std::memcmp(names, name.data(), name.size()) != 0) return false;
    names += name.size();
  }
  return true;
}

Layouts::Found Layouts::find(const std::vector<Member>& members) {
  for (size_t i = 0; i < known_.size(); ++i) {
    const size_t at = (last_ + i) % known_.size();
    if (!equal(known_[at], members)) continue;
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
  layout = {number, {}, {}};
  for (const Member& member : members) {
    layout.names.append(member.name);
    layout.marks.push_back(mark_of(member));
  }
}

}  // namespace girdle::json
