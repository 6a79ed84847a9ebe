#include "json/context.h"

#include <algorithm>

#include "json/json_pointer.h"
#include "json/value_scanner.h"
#include "kit/text.h"

namespace girdle::json {

namespace {

constexpr size_t kMostWays = 32;
constexpr size_t kMostLevels = 32;
constexpr std::string_view kUp = "../";

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && is_space(text.front())) text.remove_prefix(1);
  while (!text.empty() && is_space(text.back())) text.remove_suffix(1);
  return text;
}

std::optional<ContextWay> context_way(std::string_view text) {
  ContextWay way;
  way.may_lack = text.ends_with('?');
  if (way.may_lack) text.remove_suffix(1);
  for (way.levels_up = 0; text.starts_with(kUp); text.remove_prefix(kUp.size())) ++way.levels_up;
  way.pointer = "/" + std::string(text);
  const std::optional<std::vector<std::string>> tokens = pointer_tokens(way.pointer);
  const bool leads_up = way.levels_up > 0 && way.levels_up <= kMostLevels;
  if (!leads_up || text.empty() || !tokens) return std::nullopt;
  way.member = tokens->front();
  return way;
}

// Whether `pointer` is `whole` or leads on from there.
bool lies_in(std::string_view pointer, std::string_view whole) {
  return pointer.starts_with(whole) &&
         (pointer.size() == whole.size() || pointer[whole.size()] == '/');
}

bool overlap(const ContextWay& a, const ContextWay& b) {
  return a.levels_up == b.levels_up &&
         (lies_in(a.pointer, b.pointer) || lies_in(b.pointer, a.pointer));
}

// A member's name as RecordFields has it, as a pointer.
std::string pointer_of(std::string_view name) {
  if (name.starts_with('/')) return std::string(name);
  std::string pointer;
  append_token(name, pointer);
  return pointer;
}

std::string dots(size_t levels_up) {
  std::string text = "..";
  for (size_t i = 1; i < levels_up; ++i) text += "/..";
  return text;
}

girdle_text lend_text(const std::string& text) { return {text.data(), text.size()}; }

}  // namespace

std::string ContextWay::text() const { return dots(levels_up) + pointer; }

std::optional<std::vector<ContextWay>> context_ways(std::string_view list, std::string& refusal) {
  std::vector<ContextWay> ways;
  while (!list.empty()) {
    const size_t comma = std::min(list.find(','), list.size());
    const std::string_view text = trimmed(list.substr(0, comma));
    list.remove_prefix(std::min(comma + 1, list.size()));
    std::optional<ContextWay> way = context_way(text);
    if (!way || ways.size() == kMostWays) {
      refusal =
          "context: must be at most 32 ways up from a record, with commas between, as in "
          "../device, ../../site";
      return std::nullopt;
    }
    const auto same = std::find_if(ways.begin(), ways.end(),
                                   [&](const ContextWay& one) { return overlap(one, *way); });
    if (same != ways.end()) {
      refusal = "context: " + same->text() + " and " + way->text() + " name the same fields";
      return std::nullopt;
    }
    ways.push_back(std::move(*way));
  }
  return ways;
}

bool Context::wants(std::string_view member) const {
  return std::any_of(ways_.begin(), ways_.end(),
                     [&](const ContextWay& way) { return way.member == member; });
}

bool Context::is_first(size_t level, std::string_view member) {
  const bool again = std::any_of(seen_.begin(), seen_.end(), [&](const Seen& one) {
    return one.level == level && one.member == member;
  });
  if (!again) seen_.push_back({level, std::string(member)});
  return !again;
}

std::optional<std::string> Context::comes_late(size_t level, std::string_view member) const {
  if (level >= given_) return std::nullopt;
  for (const ContextWay& way : ways_) {
    const bool is_it = way.member == member && way.levels_up == given_ - level;
    if (is_it && way.may_lack) return way.text();
  }
  return std::nullopt;
}

bool Context::keep(size_t level, std::string_view member, const RecordFields& fields) {
  lent_for_ = kNothingLent;
  const size_t before = found_.size();
  size_t value = 0;
  for (const Member& one : fields.members()) {
    const std::string pointer = pointer_of(one.name);
    const std::string_view text =
        one.is_field ? kit::view(fields.values()[value++]) : std::string_view();
    for (size_t way = 0; way < ways_.size(); ++way) {
      if (ways_[way].member != member || !lies_in(pointer, ways_[way].pointer)) continue;
      Found& found = found_.emplace_back(Found{level, way, one.is_field, {}, {}});
      found.name = dots(ways_[way].levels_up) + pointer;
      found.value = text;
      kept_ += bytes_of(found);
    }
  }
  if (kept_ <= limit_) return true;
  for (; found_.size() > before; found_.pop_back()) kept_ -= bytes_of(found_.back());
  return false;
}

void Context::leave(size_t objects) {
  given_ = std::min(given_, objects);
  lent_for_ = kNothingLent;
  const auto is_gone = [&](const auto& one) { return one.level >= objects; };
  seen_.erase(std::remove_if(seen_.begin(), seen_.end(), is_gone), seen_.end());
  found_.erase(std::remove_if(found_.begin(), found_.end(), is_gone), found_.end());
  kept_ = 0;
  for (const Found& one : found_) kept_ += bytes_of(one);
}

const GivenFields& Context::at(size_t objects) {
  given_ = std::max(given_, objects);
  if (lent_for_ != objects) lend(objects);
  return lent_;
}

void Context::lend(size_t objects) {
  lent_for_ = objects;
  lacking_ = nullptr;
  names_.clear();
  values_.clear();
  for (size_t way = 0; way < ways_.size(); ++way) {
    const size_t up = ways_[way].levels_up;
    bool is_there = false;
    for (const Found& one : found_) {
      if (one.way != way || up > objects || one.level != objects - up) continue;
      is_there = true;
      if (!one.is_field) continue;
      names_.push_back(lend_text(one.name));
      values_.push_back(lend_text(one.value));
    }
    if (!is_there && !ways_[way].may_lack && lacking_ == nullptr) lacking_ = &ways_[way];
  }
  lent_ = {names_, values_};
}

void Context::save(kit::StateWriter& state) const {
  state.number(given_).number(seen_.size());
  for (const Seen& one : seen_) state.number(one.level).text(one.member);
  state.number(found_.size());
  for (const Found& one : found_) {
    state.number(one.level).number(one.way).number(one.is_field).text(one.name).text(one.value);
  }
}

void Context::take_up(kit::StateParser& state) {
  given_ = state.number(kMostLevels + 1);
  for (uint64_t left = state.number(); left > 0 && state.good(); --left) {
    const uint64_t level = state.number(kMostLevels);
    seen_.push_back({level, std::string(state.text())});
  }
  for (uint64_t left = state.number(); left > 0 && state.good(); --left) {
    Found& one = found_.emplace_back();
    one.level = state.number(kMostLevels);
    one.way = state.number();
    one.is_field = state.flag();
    one.name = state.text();
    one.value = state.text();
    kept_ += bytes_of(one);
    if (one.way >= ways_.size()) state.fail();
  }
}

}  // namespace girdle::json
