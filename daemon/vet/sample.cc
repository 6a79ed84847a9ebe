#include "vet/sample.h"

#include <simdjson.h>
#include <yaml-cpp/yaml.h>

#include <algorithm>
#include <fstream>
#include <iterator>

namespace girdle::vet {
namespace {

namespace fs = std::filesystem;
using base::input_error;
using base::Result;

constexpr uint64_t kMostBytes = uint64_t{64} << 20;
constexpr std::string_view kOptions = ".options.yaml";
constexpr std::string_view kExpected = ".expected.json";

bool is_document(const fs::path& file) {
  const std::string name = file.filename();
  return !name.starts_with('.') && !name.starts_with("README") && !name.ends_with(kOptions) &&
         !name.ends_with(kExpected);
}

Result<std::vector<fs::path>> documents_in(const fs::path& folder) {
  std::error_code failed;
  std::vector<fs::path> files;
  for (fs::recursive_directory_iterator at(folder, failed), end; !failed && at != end;
       at.increment(failed)) {
    if (at->is_regular_file(failed) && is_document(at->path())) files.push_back(at->path());
  }
  if (failed)
    return input_error("the samples " + folder.string() + " cannot be read: " + failed.message());
  if (files.empty())
    return input_error(
        "the folder " + folder.string() +
        " has no sample: put documents of the instrument into it, as it writes them");
  std::sort(files.begin(), files.end());
  return files;
}

Result<std::string> contents(const fs::path& file) {
  std::error_code failed;
  if (fs::file_size(file, failed) > kMostBytes && !failed)
    return input_error("the sample " + file.string() + " is larger than 64 MiB; a part will do");
  std::ifstream stream(file, std::ios::binary);
  std::string bytes((std::istreambuf_iterator<char>(stream)), std::istreambuf_iterator<char>());
  if (!stream) return input_error("the sample " + file.string() + " cannot be read");
  return bytes;
}

Result<reading::Options> options_in(const fs::path& file) {
  try {
    reading::Options options;
    for (const auto& option : YAML::LoadFile(file.string()))
      options.emplace_back(option.first.as<std::string>(), option.second.as<std::string>());
    return options;
  } catch (const YAML::Exception& failure) {
    return input_error(file.string() + ":" + std::to_string(failure.mark.line + 1) + ": " +
                       failure.msg + "; it is a map of options, name: value");
  }
}

Fields fields_of(const simdjson::dom::object& record) {
  Fields fields;
  for (const auto& [name, value] : record) fields.emplace_back(name, std::string_view(value));
  return fields;
}

Result<Expected> expected_in(const fs::path& file) {
  try {
    simdjson::dom::parser parser;
    const simdjson::dom::element root = parser.load(file.string());
    Expected expected;
    for (const simdjson::dom::object record : root["records"].get_array())
      expected.records.push_back(fields_of(record));
    for (const simdjson::dom::object aside : root["asides"].get_array()) {
      expected.asides.push_back({aside["offset"], aside["length"], aside["line"],
                                 std::string(std::string_view(aside["reason"]))});
    }
    return expected;
  } catch (const simdjson::simdjson_error& failure) {
    return input_error(file.string() + ": " + failure.what() +
                       R"(; it is {"records": [{"name": "value"}], "asides": [{"offset": 0, )" +
                       R"("length": 0, "line": 0, "reason": "a part of it"}]})");
  }
}

Result<Sample> load(const fs::path& folder, const fs::path& file, const reading::Options& options) {
  Sample sample{fs::relative(file, folder).string(), {}, options, {}};
  auto bytes = contents(file);
  if (!bytes) return bytes.error();
  sample.bytes = std::move(bytes).value();
  const std::string base = (file.parent_path() / file.stem()).string();
  if (const fs::path beside = base + std::string(kOptions); fs::exists(beside)) {
    auto own = options_in(beside);
    if (!own) return own.error();
    sample.options = std::move(own).value();
  }
  if (const fs::path beside = base + std::string(kExpected); fs::exists(beside)) {
    auto expected = expected_in(beside);
    if (!expected) return expected.error();
    sample.expected = std::move(expected).value();
  }
  return sample;
}

}  // namespace

Result<std::vector<Sample>> load_samples(const std::vector<fs::path>& folders,
                                         const reading::Options& options) {
  std::vector<Sample> samples;
  for (const fs::path& folder : folders) {
    auto files = documents_in(folder);
    if (!files) return files.error();
    const fs::path from =
        folders.size() > 1 ? fs::absolute(folder).lexically_normal() / ".." : folder;
    for (const fs::path& file : *files) {
      auto sample = load(from, file, options);
      if (!sample) return sample.error();
      samples.push_back(std::move(sample).value());
    }
  }
  return samples;
}

}  // namespace girdle::vet
