#include "reading/manifest.h"

#include <yaml-cpp/yaml.h>

#include <algorithm>
#include <fstream>

#include "base/text.h"

namespace girdle::reading {
namespace {

using base::input_error;
using base::Result;

constexpr std::string_view kTypes[] = {"text", "character", "integer", "boolean", "choice"};

std::string text_of(const YAML::Node& node, const char* key) {
  const YAML::Node value = node[key];
  return value && value.IsScalar() ? value.Scalar() : std::string();
}

Result<OptionRule> read_option(const YAML::Node& node) {
  OptionRule rule;
  rule.name = text_of(node, "name");
  rule.summary = text_of(node, "summary");
  if (rule.name.empty()) return input_error("an option has no name");
  const auto type = std::find(std::begin(kTypes), std::end(kTypes), text_of(node, "type"));
  if (type == std::end(kTypes)) {
    return input_error("option " + rule.name + ": its type must be " + base::listed(kTypes, "or"));
  }
  rule.type = static_cast<OptionRule::Type>(type - std::begin(kTypes));
  if (node["default"] && node["default"].IsScalar()) rule.default_value = node["default"].Scalar();
  for (const auto& choice : node["choices"]) rule.choices.push_back(choice.Scalar());
  return rule;
}

std::string option_problem(const OptionRule& rule, std::string_view value);

Result<void> read_options(const YAML::Node& nodes, Manifest& manifest) {
  for (const auto& node : nodes) {
    auto option = read_option(node);
    if (!option) return option.error();
    const bool again =
        std::any_of(manifest.options.begin(), manifest.options.end(),
                    [&](const OptionRule& known) { return known.name == option->name; });
    if (again) return input_error("option " + option->name + " is there twice");
    if (option->default_value) {
      const std::string problem = option_problem(*option, *option->default_value);
      if (!problem.empty())
        return input_error("option " + option->name + ": its default " + problem);
    }
    manifest.options.push_back(std::move(option).value());
  }
  return {};
}

Result<Manifest> read_nodes(const YAML::Node& root, const std::filesystem::path& file) {
  Manifest manifest;
  manifest.name = text_of(root, "name");
  manifest.version = text_of(root, "version");
  manifest.summary = text_of(root, "summary");
  const std::string library = text_of(root, "library");
  for (const char* key : {"name", "version", "abi", "library"}) {
    if (text_of(root, key).empty()) return input_error(std::string("it has no ") + key);
  }
  // A manifest names a file beside it, and nothing else on the machine.
  if (library.find('/') != std::string::npos)
    return input_error("library must be a file name beside the manifest, without /");
  manifest.library = file.parent_path() / library;
  manifest.abi = root["abi"].as<uint32_t>();
  manifest.sparse = root["sparse"] && root["sparse"].as<bool>();
  if (auto options = read_options(root["options"], manifest); !options) return options.error();
  return manifest;
}

// How many characters a UTF-8 text has.
size_t characters(std::string_view text) {
  return static_cast<size_t>(
      std::count_if(text.begin(), text.end(), [](char c) { return (c & 0xC0) != 0x80; }));
}

std::string option_problem(const OptionRule& rule, std::string_view value) {
  switch (rule.type) {
    case OptionRule::Type::kText:
      return {};
    case OptionRule::Type::kCharacter:
      if (characters(value) == 1 || value == "none" || value == "tab" || value == "\\t") return {};
      return "must be one character, tab, or none, not \"" + base::excerpt(value) + "\"";
    case OptionRule::Type::kInteger: {
      const std::string_view digits = value.starts_with('-') ? value.substr(1) : value;
      const bool whole = !digits.empty() && digits.size() < 18 &&
                         digits.find_first_not_of("0123456789") == std::string_view::npos;
      return whole ? std::string() : "must be a whole number, not \"" + base::excerpt(value) + "\"";
    }
    case OptionRule::Type::kBoolean:
      return value == "true" || value == "false" ? std::string() : "must be true or false";
    case OptionRule::Type::kChoice: {
      if (std::find(rule.choices.begin(), rule.choices.end(), value) != rule.choices.end())
        return {};
      const std::vector<std::string_view> choices(rule.choices.begin(), rule.choices.end());
      return "must be " + base::listed(choices, "or") + ", not \"" + base::excerpt(value) + "\"";
    }
  }
  return {};
}

}  // namespace

Result<Manifest> read_manifest(const std::filesystem::path& file) {
  try {
    const YAML::Node root = YAML::LoadFile(file.string());
    if (!root.IsMap()) return input_error(file.string() + ": it is no manifest of a reader");
    auto manifest = read_nodes(root, file);
    if (!manifest) return input_error(file.string() + ": " + manifest.error().text);
    return manifest;
  } catch (const YAML::Exception& failure) {
    return input_error(file.string() + ":" + std::to_string(failure.mark.line + 1) + ": " +
                       failure.msg);
  }
}

std::vector<std::pair<std::string, std::string>> check_options(const Manifest& manifest,
                                                               const Options& options) {
  std::vector<std::pair<std::string, std::string>> problems;
  std::vector<std::string_view> known;
  for (const OptionRule& rule : manifest.options) known.push_back(rule.name);
  for (const auto& option : options) {
    const std::string &name = option.first, &value = option.second;
    const auto rule =
        std::find_if(manifest.options.begin(), manifest.options.end(),
                     [&](const OptionRule& candidate) { return candidate.name == name; });
    if (rule == manifest.options.end()) {
      const std::string_view near = base::nearest(name, known);
      problems.emplace_back(name, "the reader " + manifest.name + " has no option \"" + name +
                                      "\"" +
                                      (near.empty() ? "; it has " + base::listed(known)
                                                    : "; did you mean " + std::string(near) + "?"));
      continue;
    }
    const std::string problem = option_problem(*rule, value);
    if (!problem.empty()) problems.emplace_back(name, "option " + name + " " + problem);
  }
  return problems;
}

Options with_defaults(const Manifest& manifest, Options options) {
  for (const OptionRule& rule : manifest.options) {
    const bool given = std::any_of(options.begin(), options.end(),
                                   [&](const auto& o) { return o.first == rule.name; });
    if (!given && rule.default_value) options.emplace_back(rule.name, *rule.default_value);
  }
  return options;
}

Catalogue Catalogue::scan(const std::vector<std::filesystem::path>& folders,
                          std::vector<std::string>* problems) {
  Catalogue catalogue;
  for (const auto& folder : folders) {
    std::error_code failed;
    std::vector<std::filesystem::path> files;
    for (std::filesystem::directory_iterator at(folder, failed), end; !failed && at != end;
         at.increment(failed)) {
      if (at->path().string().ends_with(".reader.yaml")) files.push_back(at->path());
    }
    std::sort(files.begin(), files.end());
    for (const auto& file : files) {
      auto manifest = read_manifest(std::filesystem::absolute(file));
      if (!manifest) {
        if (problems) problems->push_back(manifest.error().text);
      } else if (!catalogue.find(manifest->name)) {
        catalogue.manifests_.push_back(std::move(manifest).value());
      }
    }
  }
  return catalogue;
}

const Manifest* Catalogue::find(std::string_view name) const {
  const auto at = std::find_if(manifests_.begin(), manifests_.end(),
                               [&](const Manifest& m) { return m.name == name; });
  return at == manifests_.end() ? nullptr : &*at;
}

std::vector<std::string_view> Catalogue::names() const {
  std::vector<std::string_view> names;
  for (const Manifest& manifest : manifests_) names.push_back(manifest.name);
  return names;
}

}  // namespace girdle::reading
