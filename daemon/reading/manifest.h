// What a reader says of itself before any of its code is loaded: NAME.reader.yaml beside its
// library.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/result.h"

namespace girdle::reading {

struct OptionRule {
  std::string name;
  enum class Type { kText, kCharacter, kInteger, kBoolean, kChoice } type = Type::kText;
  std::optional<std::string> default_value;
  std::vector<std::string> choices;
  std::string summary;
};

struct Manifest {
  std::string name, version, summary;
  uint32_t abi = 0;
  std::filesystem::path library;  // absolute
  // A field that a record leaves out is a value that it does not give (JSON); otherwise every
  // column that the mapping names has to be there.
  bool sparse = false;
  std::vector<OptionRule> options;
};

base::Result<Manifest> read_manifest(const std::filesystem::path& file);

using Options = std::vector<std::pair<std::string, std::string>>;

// Every option that is wrong, with what would be right: unknown (the nearest known one is named),
// of another type, not among the choices.
std::vector<std::pair<std::string, std::string>> check_options(const Manifest& manifest,
                                                               const Options& options);
// These, and the manifest's defaults of those that are not given.
Options with_defaults(const Manifest& manifest, Options options);

// Readers by name. Found by their manifests; of two with one name the one in the earlier folder
// counts.
class Catalogue {
 public:
  // Folders that are not there are passed over; manifests that cannot be read are told in
  // `problems`.
  static Catalogue scan(const std::vector<std::filesystem::path>& folders,
                        std::vector<std::string>* problems);

  const Manifest* find(std::string_view name) const;
  std::vector<std::string_view> names() const;

 private:
  std::vector<Manifest> manifests_;
};

}  // namespace girdle::reading
