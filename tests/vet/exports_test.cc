#include "vet/exports.h"

#include <gmock/gmock.h>

#include <array>
#include <cstdio>
#include <fstream>
#include <set>
#include <sstream>

namespace girdle::vet {
namespace {

using testing::Contains;
using testing::ElementsAre;

// What binutils' nm says a library defines for others; versions ("@@") are no part of a name.
std::set<std::string> after_nm(const std::string& library) {
  std::string out;
  FILE* const pipe = popen(("nm -D --defined-only --format=posix " + library).c_str(), "r");
  if (!pipe) return {};
  std::array<char, 4096> block;
  for (size_t n; (n = fread(block.data(), 1, block.size(), pipe)) > 0;) out.append(block.data(), n);
  pclose(pipe);
  std::set<std::string> names;
  std::istringstream lines(out);
  for (std::string line; std::getline(lines, line);) {
    const std::string name = line.substr(0, line.find(' '));
    names.insert(name.substr(0, name.find('@')));
  }
  return names;
}

TEST(Exports, AreTheTwoFunctionsOfAReader) {
  const auto names = exported_names(GIRDLE_VET_READERS "/wayward.so");
  ASSERT_TRUE(names) << names.error().text;
  EXPECT_THAT(*names, ElementsAre("girdle_reader_descriptor_at", "girdle_reader_negotiate"));
}

TEST(Exports, AreThoseThatNmTells) {
  for (const char* library : {GIRDLE_VET_READERS "/wayward.so", GIRDLE_VET_READERS "/liar.so",
                              GIRDLE_TEST_READERS "/odd.so", GIRDLE_LIBSTDCXX}) {
    const auto names = exported_names(library);
    ASSERT_TRUE(names) << library;
    EXPECT_EQ(std::set<std::string>(names->begin(), names->end()), after_nm(library)) << library;
  }
}

TEST(Exports, OfWhatIsNoLibraryAreAnError) {
  EXPECT_FALSE(exported_names("/no/such/file"));
  EXPECT_FALSE(exported_names(GIRDLE_VET_READERS "/wayward.reader.yaml"));
}

}  // namespace
}  // namespace girdle::vet
