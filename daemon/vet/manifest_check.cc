// The manifest by itself: what girdled and people read before any code is loaded.
#include <yaml-cpp/yaml.h>

#include <algorithm>

#include "base/text.h"
#include "vet/checks.h"

namespace girdle::vet {
namespace {

namespace fs = std::filesystem;
using reading::Manifest;
using reading::OptionRule;

constexpr std::string_view kSuffix = ".reader.yaml";
constexpr std::string_view kKeys[] = {"name",   "version", "abi",    "library",
                                      "sparse", "summary", "options"};
constexpr std::string_view kOptionKeys[] = {"name", "type", "default", "choices", "summary"};

class ManifestCheck {
 public:
  ManifestCheck(fs::path file, Check& check) : file_(std::move(file)), check_(check) {}

  void look_at(const Manifest& manifest) {
    look_at_keys();
    look_at_name(manifest);
    if (manifest.abi != GIRDLE_READER_ABI)
      fault("manifest.abi", "abi is " + std::to_string(manifest.abi),
            "abi: " + std::to_string(GIRDLE_READER_ABI) + ", the GIRDLE_READER_ABI of the header");
    if (manifest.summary.empty())
      fault("manifest.summary", "there is no summary", "summary: one line, for lists of readers");
    std::error_code failed;
    if (!fs::is_regular_file(manifest.library, failed))
      fault("manifest.library",
            "the library " + manifest.library.filename().string() + " is not beside it",
            "library is the name of a file in the manifest's folder");
    for (const OptionRule& option : manifest.options) look_at(option);
  }

  void fault(std::string rule, std::string what, std::string right) {
    check_.faults.push_back(
        {std::move(rule), file_.filename().string(), std::move(what), std::move(right), 1, {}});
  }

 private:
  void look_at_keys() {
    const YAML::Node root = YAML::LoadFile(file_.string());
    look_at_keys(root, kKeys, "");
    for (const auto& option : root["options"]) look_at_keys(option, kOptionKeys, "option ");
  }

  void look_at_keys(const YAML::Node& map, std::span<const std::string_view> known,
                    const std::string& of) {
    for (const auto& pair : map) {
      const std::string key = pair.first.IsScalar() ? pair.first.Scalar() : std::string("?");
      if (std::find(known.begin(), known.end(), key) != known.end()) continue;
      const std::string_view near = base::nearest(key, known);
      const std::string whose = of.empty() || !map["name"] ? of : of + map["name"].Scalar() + ": ";
      fault("manifest.key", whose + "there is no key \"" + base::excerpt(key) + '"',
            near.empty() ? "the keys are " + base::listed(known)
                         : "did you mean " + std::string(near) + "?");
    }
  }

  void look_at_name(const Manifest& manifest) {
    const bool good = std::all_of(manifest.name.begin(), manifest.name.end(), [](char c) {
      return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-';
    });
    if (!good)
      fault("manifest.name", "the name \"" + base::excerpt(manifest.name) + "\" will not do",
            "a name has a-z, 0-9 and -");
    if (file_.filename() != manifest.name + std::string(kSuffix))
      fault("manifest.file", "its file is not named as the reader",
            manifest.name + std::string(kSuffix) + ": so it is found by its name");
  }

  void look_at(const OptionRule& option) {
    const std::string whose = "option " + option.name + ": ";
    const bool choice = option.type == OptionRule::Type::kChoice;
    if (option.summary.empty())
      fault("manifest.summary", whose + "there is no summary",
            "one line that says what the option is and what its words mean");
    if (choice && option.choices.empty())
      fault("manifest.choices", whose + "it is a choice among nothing", "choices: [a, b]");
    if (!choice && !option.choices.empty())
      fault("manifest.choices", whose + "it has choices and is of another type", "type: choice");
  }

  const fs::path file_;
  Check& check_;
};

}  // namespace

std::optional<Manifest> check_manifest(const fs::path& file, Check& check) {
  auto manifest = reading::read_manifest(fs::absolute(file));
  ManifestCheck looks(file, check);
  check.tried = 1;
  if (!manifest) {
    std::string why = manifest.error().text;
    if (const size_t end = why.find(": "); end != std::string::npos) why.erase(0, end + 2);
    looks.fault("manifest.unreadable", why, "plugins/sdk/README.md has an example with every key");
    return std::nullopt;
  }
  looks.look_at(*manifest);
  return std::move(manifest).value();
}

}  // namespace girdle::vet
