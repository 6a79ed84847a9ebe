#include "config/section.h"

#include <algorithm>
#include <charconv>
#include <fstream>
#include <set>

#include "base/text.h"
#include "base/time.h"

namespace girdle::config {
namespace {

constexpr uintmax_t kMaxFile = 1 << 20;
constexpr size_t kMaxNodes = 100'000;
constexpr int kMaxDepth = 32;

// Aliases let a small text stand for a giant one: what they expand to is counted.
bool within_bounds(const YAML::Node& node, size_t& nodes, int depth) {
  if (++nodes > kMaxNodes || depth > kMaxDepth) return false;
  if (node.IsSequence()) {
    for (const auto& child : node) {
      if (!within_bounds(child, nodes, depth + 1)) return false;
    }
  } else if (node.IsMap()) {
    for (const auto& entry : node) {
      if (!within_bounds(entry.first, nodes, depth + 1) || !within_bounds(entry.second, nodes, depth + 1)) return false;
    }
  }
  return true;
}

}  // namespace

std::string format(const Problem& problem) {
  if (problem.mark.line == 0) return problem.file + ": " + problem.text;
  return problem.file + ":" + std::to_string(problem.mark.line) + ":" + std::to_string(problem.mark.column) + ": " +
         problem.text;
}

Mark mark_of(const YAML::Node& node) {
  const YAML::Mark mark = node.Mark();
  return mark.line < 0 ? Mark{} : Mark{mark.line + 1, mark.column + 1};
}

Section::Section(const YAML::Node& node, std::string_view what, std::span<const Key> keys, const std::string& file,
                 Problems& problems)
    : node_(node), what_(what), file_(file), problems_(problems), mark_(mark_of(node)) {
  if (!node.IsMap()) {
    problem(mark_, what_ + " must be a map of keys and values");
    return;
  }
  sound_ = true;
  std::vector<std::string_view> names;
  for (const Key& key : keys) names.push_back(key.name);
  std::set<std::string> seen;
  for (const auto& entry : node) {
    if (!entry.first.IsScalar()) {
      problem(mark_of(entry.first), what_ + " has a key that is no text");
      continue;
    }
    const std::string& name = entry.first.Scalar();
    if (!seen.insert(name).second) problem(mark_of(entry.first), what_ + " has the key \"" + name + "\" twice");
    if (std::find(names.begin(), names.end(), name) != names.end()) continue;
    const std::string_view near = base::nearest(name, names);
    problem(mark_of(entry.first), what_ + " has no key \"" + base::excerpt(name) + "\"" +
                                      (near.empty() ? "; it has " + base::listed(names)
                                                    : "; did you mean \"" + std::string(near) + "\"?"));
  }
  for (const Key& key : keys) {
    if (key.required && !seen.contains(std::string(key.name))) {
      problem(mark_, what_ + " needs the key \"" + std::string(key.name) + "\"");
    }
  }
}

bool Section::has(std::string_view key) const { return sound_ && at(key).IsDefined(); }

YAML::Node Section::at(std::string_view key) const {
  if (sound_) {
    for (const auto& entry : node_) {
      if (entry.first.IsScalar() && entry.first.Scalar() == key) return entry.second;
    }
  }
  return YAML::Node(YAML::NodeType::Undefined);
}

Mark Section::mark(std::string_view key) const {
  const YAML::Node node = at(key);
  return node.IsDefined() ? mark_of(node) : mark_;
}

void Section::problem(const Mark& mark, std::string text) { problems_.push_back({file_, mark, std::move(text)}); }

std::optional<std::string> Section::text(std::string_view key) {
  const YAML::Node node = at(key);
  if (!node.IsDefined()) return std::nullopt;
  if (!node.IsScalar()) {
    problem_at(key, node.IsNull() ? "it has no value" : "it must be a single text");
    return std::nullopt;
  }
  return node.Scalar();
}

std::optional<Text> Section::located(std::string_view key) {
  auto value = text(key);
  if (!value) return std::nullopt;
  return Text{std::move(*value), mark(key)};
}

std::optional<bool> Section::boolean(std::string_view key) {
  const auto value = text(key);
  if (!value) return std::nullopt;
  if (*value == "true" || *value == "false") return *value == "true";
  problem_at(key, "it must be true or false, not \"" + base::excerpt(*value) + "\"");
  return std::nullopt;
}

std::optional<int64_t> Section::integer(std::string_view key, int64_t least, int64_t most) {
  const auto value = text(key);
  if (!value) return std::nullopt;
  int64_t number = 0;
  const char* const end = value->data() + value->size();
  const auto [at, error] = std::from_chars(value->data(), end, number);
  if (error == std::errc() && at == end && number >= least && number <= most) return number;
  problem_at(key, "it must be a whole number from " + std::to_string(least) + " to " + std::to_string(most) + ", not \"" +
                      base::excerpt(*value) + "\"");
  return std::nullopt;
}

std::optional<base::Millis> Section::duration(std::string_view key) {
  const auto value = text(key);
  if (!value) return std::nullopt;
  const auto duration = base::parse_duration(*value);
  if (!duration) {
    problem_at(key, "it must be a duration such as 200ms, 45s, 2min, 8h or 30d, not \"" + base::excerpt(*value) + "\"");
  }
  return duration;
}

std::optional<uint64_t> Section::size(std::string_view key) {
  const auto value = text(key);
  if (!value) return std::nullopt;
  uint64_t number = 0;
  const char* const end = value->data() + value->size();
  const auto [at, error] = std::from_chars(value->data(), end, number);
  const std::string_view unit(at, static_cast<size_t>(end - at));
  const int shift = unit.empty() ? 0 : unit == "KiB" ? 10 : unit == "MiB" ? 20 : unit == "GiB" ? 30 : -1;
  if (error == std::errc() && shift >= 0 && number > 0 && number < (uint64_t{1} << 33)) return number << shift;
  problem_at(key, "it must be a size such as 65536, 64KiB, 1MiB or 2GiB, not \"" + base::excerpt(*value) + "\"");
  return std::nullopt;
}

std::optional<size_t> Section::choice(std::string_view key, std::initializer_list<std::string_view> words) {
  const auto value = text(key);
  if (!value) return std::nullopt;
  const auto at = std::find(words.begin(), words.end(), *value);
  if (at != words.end()) return static_cast<size_t>(at - words.begin());
  const std::vector<std::string_view> list(words);
  problem_at(key, "it must be " + base::listed(list, "or") + ", not \"" + base::excerpt(*value) + "\"");
  return std::nullopt;
}

std::optional<YAML::Node> load_yaml(const std::string& text, const std::string& file, Problems& problems) {
  if (!base::is_utf8(text)) {
    problems.push_back({file, {}, "it is not UTF-8 text; save it as UTF-8"});
    return std::nullopt;
  }
  try {
    const std::vector<YAML::Node> documents = YAML::LoadAll(text);
    if (documents.empty() || documents.front().IsNull()) {
      problems.push_back({file, {}, "it is empty"});
      return std::nullopt;
    }
    if (documents.size() > 1) {
      problems.push_back({file, mark_of(documents[1]), "a second YAML document begins here; a file holds one"});
      return std::nullopt;
    }
    size_t nodes = 0;
    if (!within_bounds(documents.front(), nodes, 0)) {
      problems.push_back({file, {}, "it has more than " + std::to_string(kMaxNodes) + " values, or is nested deeper than " +
                                        std::to_string(kMaxDepth) + " levels"});
      return std::nullopt;
    }
    return documents.front();
  } catch (const YAML::Exception& failure) {
    const Mark mark = failure.mark.line < 0 ? Mark{} : Mark{failure.mark.line + 1, failure.mark.column + 1};
    problems.push_back({file, mark, "not YAML: " + failure.msg});
  } catch (const std::exception& failure) {
    problems.push_back({file, {}, std::string("not YAML: ") + failure.what()});
  }
  return std::nullopt;
}

std::optional<std::string> read_text(const std::filesystem::path& path, const std::string& named_in, const Mark& mark,
                                     std::string_view what, Problems& problems) {
  std::error_code failed;
  const auto status = std::filesystem::status(path, failed);
  const auto say = [&](const std::string& why) {
    problems.push_back({named_in, mark, std::string(what) + " " + path.string() + " " + why});
    return std::nullopt;
  };
  if (!std::filesystem::exists(status)) return say("does not exist");
  if (!std::filesystem::is_regular_file(status)) return say("is no file");
  if (std::filesystem::file_size(path, failed) > kMaxFile) return say("is larger than 1 MiB: it is no configuration");
  std::ifstream file(path, std::ios::binary);
  std::string text((std::istreambuf_iterator<char>(file)), std::istreambuf_iterator<char>());
  if (!file) return say("cannot be read by this user");
  return text;
}

}  // namespace girdle::config
