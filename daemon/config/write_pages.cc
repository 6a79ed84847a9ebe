// girdle_config_pages DIR: writes into the source tree DIR what pages.h makes, after a change of a
// key: schemas/*.schema.json, and the part of daemon/config/README.md between its two marks.
#include <cstdio>
#include <fstream>
#include <iterator>
#include <string>

#include "config/pages.h"

namespace {

constexpr std::string_view kBegin = "<!-- keys: made by girdle_config_pages -->\n";
constexpr std::string_view kEnd = "<!-- end of keys -->";

bool write(const std::string& path, const std::string& text) {
  std::ofstream file(path, std::ios::binary);
  file << text;
  file.close();
  if (!file) std::fprintf(stderr, "%s: cannot be written\n", path.c_str());
  return static_cast<bool>(file);
}

bool write_reference(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  std::string page((std::istreambuf_iterator<char>(file)), std::istreambuf_iterator<char>());
  const size_t begin = page.find(kBegin);
  const size_t end = page.find(kEnd);
  if (begin == page.npos || end == page.npos || end < begin) {
    std::fprintf(stderr, "%s: has not the two marks around the keys\n", path.c_str());
    return false;
  }
  const size_t from = begin + kBegin.size();
  return write(path, page.replace(from, end - from, girdle::config::reference()));
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 2) {
    std::fprintf(stderr, "girdle_config_pages DIR, the folder of the sources\n");
    return 2;
  }
  const std::string root = argv[1];
  const bool written =
      write(root + "/schemas/config.schema.json", girdle::config::settings_schema()) &&
      write(root + "/schemas/mapping.schema.json", girdle::config::mapping_schema()) &&
      write(root + "/schemas/policy.schema.json", girdle::config::policy_schema()) &&
      write_reference(root + "/daemon/config/README.md");
  return written ? 0 : 3;
}
