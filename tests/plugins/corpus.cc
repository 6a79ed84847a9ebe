#include "plugins/corpus.h"

#include <gtest/gtest.h>
#include <simdjson.h>
#include <yaml-cpp/yaml.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>

namespace girdle::plugins_test {

namespace fs = std::filesystem;

namespace {

void read_expected(const std::string& path, Case& into) {
  simdjson::dom::parser parser;
  const simdjson::dom::element expected = parser.load(path);
  for (const simdjson::dom::object record : expected["records"].get_array()) {
    auto& fields = into.records.emplace_back();
    for (const auto& [name, value] : record) fields.emplace_back(name, std::string_view(value));
  }
  for (const simdjson::dom::object aside : expected["asides"].get_array()) {
    into.asides.push_back({aside["offset"], aside["length"], aside["line"],
                           std::string(std::string_view(aside["reason"]))});
  }
}

}  // namespace

std::string file_bytes(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  EXPECT_TRUE(file.good()) << path;
  return {std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
}

std::vector<Case> corpus(const std::string& folder, const std::string& extension) {
  std::vector<Case> cases;
  for (const auto& entry : fs::directory_iterator(GIRDLE_SOURCE_DIR "/tests/corpus/" + folder)) {
    const fs::path& path = entry.path();
    if (path.extension() != "." + extension || path.string().ends_with(".expected.json")) continue;
    Case& one = cases.emplace_back();
    one.name = path.stem();
    one.bytes = file_bytes(path);
    const std::string base = path.parent_path() / path.stem();
    read_expected(base + ".expected.json", one);
    if (!fs::exists(base + ".options.yaml")) continue;
    for (const auto& option : YAML::LoadFile(base + ".options.yaml")) {
      one.options[option.first.as<std::string>()] = option.second.as<std::string>();
    }
  }
  std::sort(cases.begin(), cases.end(),
            [](const Case& a, const Case& b) { return a.name < b.name; });
  return cases;
}

}  // namespace girdle::plugins_test
