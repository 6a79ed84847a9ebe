// tests/corpus/config/{accept,refuse}/NNN-name/: a house of files. `folders` lists the folders that
// are there, one a line; `expected` the problems, one a line, the paths relative to the house. A
// new case needs no C++.
#include <gtest/gtest.h>

#include <fstream>
#include <iterator>

#include "small_house.h"

namespace girdle::config {
namespace {

using std::filesystem::path;

std::string file_text(const path& file) {
  std::ifstream stream(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(stream), std::istreambuf_iterator<char>()};
}

MemoryFiles house_of(const path& folder) {
  MemoryFiles files;
  for (const auto& entry : std::filesystem::recursive_directory_iterator(folder)) {
    if (!entry.is_regular_file()) continue;
    const std::string name = entry.path().lexically_relative(folder).string();
    files.file("/house/" + name, file_text(entry.path()));
  }
  std::istringstream folders(file_text(folder / "folders"));
  for (std::string line; std::getline(folders, line);) files.folder("/house/" + line);
  return files;
}

std::string told(const path& folder) {
  std::string out;
  for (std::string line : problems_in(house_of(folder))) {
    for (size_t at; (at = line.find("/house/")) != line.npos;) line.erase(at, 7);
    out += line + '\n';
  }
  return out;
}

std::vector<path> cases(const char* kind) {
  std::vector<path> out;
  const path root = path(GIRDLE_SOURCE_DIR) / "tests/corpus/config" / kind;
  for (const auto& entry : std::filesystem::directory_iterator(root)) out.push_back(entry.path());
  std::sort(out.begin(), out.end());
  return out;
}

TEST(ConfigCorpus, AcceptsWhatIsRight) {
  const auto all = cases("accept");
  EXPECT_GE(all.size(), 4u);
  for (const path& folder : all) EXPECT_EQ(told(folder), "") << folder;
}

TEST(ConfigCorpus, TellsWhatIsWrong) {
  const auto all = cases("refuse");
  EXPECT_GE(all.size(), 6u);
  for (const path& folder : all) {
    const std::string expected = file_text(folder / "expected");
    EXPECT_NE(expected, "") << folder;
    EXPECT_EQ(told(folder), expected) << folder;
  }
}

}  // namespace
}  // namespace girdle::config
