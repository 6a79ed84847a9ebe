#include "api/console_files.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <set>
#include <string>

#include "base/digest.h"

namespace girdle::api {
namespace {

using ::testing::HasSubstr;

const std::filesystem::path kFolder = std::filesystem::path(GIRDLE_SOURCE_DIR) / "daemon/api/console";

std::map<std::string, ConsoleFile> by_path() {
  std::map<std::string, ConsoleFile> all;
  for (const ConsoleFile& file : console_files()) all[std::string(file.path)] = file;
  return all;
}

std::string read(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

std::string address_of(const std::filesystem::path& file) {
  const std::string name = std::filesystem::relative(file, kFolder).string();
  return name == "index.html" ? "/" : "/console/" + name;
}

TEST(ConsoleFiles, AreAllThatLieInTheFolderByteForByte) {
  const auto served = by_path();
  std::set<std::string> expected = {"/console/chart.js", "/console/chart-licence.txt"};
  for (const auto& entry : std::filesystem::recursive_directory_iterator(kFolder)) {
    if (!entry.is_regular_file() || entry.path().extension() == ".cmake") continue;
    const std::string address = address_of(entry.path());
    expected.insert(address);
    ASSERT_TRUE(served.contains(address)) << address << " is not listed in daemon/api/console.cmake";
    EXPECT_EQ(served.at(address).bytes, read(entry.path())) << address;
  }
  std::set<std::string> addresses;
  for (const auto& [address, file] : served) addresses.insert(address);
  EXPECT_EQ(addresses, expected);
}

TEST(ConsoleFiles, HaveTheDigestOfTheirBytesAsTag) {
  for (const ConsoleFile& file : console_files()) {
    EXPECT_EQ(file.etag, '"' + base::hex(base::sha256(file.bytes)).substr(0, 32) + '"') << file.path;
  }
}

// A browser that may not guess (nosniff) runs a module only as text/javascript: HTML standard, "fetch a single module
// script".
TEST(ConsoleFiles, SayWhatTheyAre) {
  const std::map<std::string, std::string> types = {{".js", "text/javascript; charset=utf-8"},
                                                    {".css", "text/css; charset=utf-8"},
                                                    {".txt", "text/plain; charset=utf-8"},
                                                    {"", "text/html; charset=utf-8"}};
  for (const ConsoleFile& file : console_files()) {
    EXPECT_EQ(file.content_type, types.at(std::filesystem::path(file.path).extension())) << file.path;
  }
}

// Its licence: "The above copyright notice and this permission notice shall be included in all copies".
TEST(ConsoleFiles, CarryTheLicenceOfTheChartLibrary) {
  const auto served = by_path();
  EXPECT_THAT(std::string(served.at("/console/chart.js").bytes), HasSubstr("Chart"));
  EXPECT_THAT(std::string(served.at("/console/chart-licence.txt").bytes), HasSubstr("Chart.js Contributors"));
  EXPECT_THAT(std::string(served.at("/console/chart-licence.txt").bytes), HasSubstr("Permission is hereby granted"));
}

// Nothing of the console comes from anywhere else: it works without the network, and nobody is told of its use.
TEST(ConsoleFiles, NameNoOtherOrigin) {
  for (const ConsoleFile& file : console_files()) {
    if (file.path.starts_with("/console/chart")) continue;
    std::string text(file.bytes);
    for (const char* name : {"http://www.w3.org/2000/svg"}) {  // a namespace, which nobody fetches
      for (size_t at = 0; (at = text.find(name)) != std::string::npos;) text.erase(at, std::string(name).size());
    }
    EXPECT_EQ(text.find("http:"), std::string::npos) << file.path;
    EXPECT_EQ(text.find("https:"), std::string::npos) << file.path;
    EXPECT_EQ(text.find("innerHTML"), std::string::npos) << file.path;
  }
}

}  // namespace
}  // namespace girdle::api
