#include "reading/pattern.h"

#include <algorithm>

#include "base/text.h"

namespace girdle::reading {
namespace {

RE2::Options options() {
  RE2::Options options;
  options.set_max_mem(Pattern::kMaxMemory);
  options.set_log_errors(false);  // they are told in the place where they stand
  return options;
}

std::string why_not(const RE2& pattern) {
  if (pattern.error_code() == RE2::ErrorPatternTooLarge) {
    return "it needs more than " + std::to_string(Pattern::kMaxMemory >> 20) +
           " MiB of memory; fewer or shorter repetitions need less";
  }
  return "it is no pattern of RE2: " + base::excerpt(pattern.error(), 200);
}

std::string groups_of(const RE2& pattern) {
  const int count = pattern.NumberOfCapturingGroups();
  if (count == 0) return "the pattern has no groups";
  std::string text =
      "the pattern has " + std::to_string(count) + (count == 1 ? " group" : " groups");
  std::vector<std::string_view> names;
  for (const auto& [name, group] : pattern.NamedCapturingGroups()) names.push_back(name);
  return names.empty() ? text : text + ", by name " + base::excerpt(base::listed(names), 200);
}

}  // namespace

std::unique_ptr<Pattern> Pattern::compile(const model::FieldRule& source, Faults& faults) {
  std::unique_ptr<Pattern> made(new Pattern(source.match, options()));
  if (!made->pattern_.ok()) {
    faults.push_back({source.match_mark, "match: " + why_not(made->pattern_)});
    return nullptr;
  }
  std::string wrong;
  const bool has_take = !source.take.empty();
  if (has_take ? made->set_take(source.take, wrong) : made->take_only_group(wrong)) return made;
  faults.push_back(
      {has_take ? source.take_mark : source.match_mark, (has_take ? "take: " : "match: ") + wrong});
  return nullptr;
}

// Without `take`: the one group, or all of it.
bool Pattern::take_only_group(std::string& wrong) {
  const int count = pattern_.NumberOfCapturingGroups();
  if (count > 1) {
    wrong =
        groups_of(pattern_) + "; say with  take  what is taken of it, such as '\\1' or '\\2-\\1'";
    return false;
  }
  parts_.push_back({"", static_cast<size_t>(count)});
  groups_.resize(parts_.front().group + 1);
  return true;
}

bool Pattern::set_take(std::string_view take, std::string& wrong) {
  while (!take.empty()) {
    const char c = take.front();
    take.remove_prefix(1);
    if (c != '\\') {
      add_text(c);
    } else if (!add_escape(take, wrong)) {
      return false;
    }
  }
  size_t most = 0;
  bool any = false;
  for (const Part& part : parts_) {
    if (part.group == kNoGroup) continue;
    any = true;
    most = std::max(most, part.group);
  }
  groups_.resize(most + 1);
  if (!any) wrong = "nothing is taken of the text; \\1 is its first group, \\0 all that matches";
  return any;
}

// `rest` is what follows a backslash.
bool Pattern::add_escape(std::string_view& rest, std::string& wrong) {
  if (rest.starts_with('\\')) {
    add_text('\\');
    rest.remove_prefix(1);
    return true;
  }
  if (!rest.empty() && rest.front() >= '0' && rest.front() <= '9') {
    const int group = rest.front() - '0';
    if (group <= pattern_.NumberOfCapturingGroups()) {
      parts_.push_back({"", static_cast<size_t>(group)});
      rest.remove_prefix(1);
      return true;
    }
    wrong = "there is no group \\" + std::string(1, rest.front()) + "; " + groups_of(pattern_);
    return false;
  }
  const size_t end = rest.find('>');
  if (rest.starts_with("g<") && end != rest.npos) {
    const std::string name(rest.substr(2, end - 2));
    const auto& named = pattern_.NamedCapturingGroups();
    const auto at = named.find(name);
    if (at != named.end()) {
      parts_.push_back({"", static_cast<size_t>(at->second)});
      rest.remove_prefix(end + 1);
      return true;
    }
    wrong = "there is no group named \"" + base::excerpt(name) + "\"; " + groups_of(pattern_);
    return false;
  }
  wrong =
      "after a backslash comes the number of a group, a name as in \\g<name>, or another backslash";
  return false;
}

void Pattern::add_text(char c) {
  if (parts_.empty() || parts_.back().group != kNoGroup) parts_.emplace_back();
  parts_.back().text += c;
}

std::optional<std::string_view> Pattern::take(std::string_view text, std::string& scratch) {
  if (text.size() > kMaxText) return std::nullopt;
  const re2::StringPiece whole(text.data(), text.size());
  const bool matches = pattern_.Match(whole, 0, whole.size(), RE2::ANCHOR_BOTH, groups_.data(),
                                      static_cast<int>(groups_.size()));
  if (!matches) return std::nullopt;
  const auto group = [&](const Part& part) {
    const re2::StringPiece& found = groups_[part.group];
    return std::string_view(found.data(), found.size());
  };
  if (parts_.size() == 1) return group(parts_.front());
  scratch.clear();
  for (const Part& part : parts_)
    scratch += part.group == kNoGroup ? std::string_view(part.text) : group(part);
  return scratch;
}

}  // namespace girdle::reading
